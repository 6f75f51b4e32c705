"""The customer sheet: what it says of the two stools, its versions, its files, and what a stranger finds out
from them. Amounts are those of the scenario; the rest is our own wording."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text

from woodref.provenance import faults, keys
from woodref.provenance.shapes import Event
from woodref.provenance.sheetcheck import check_sheet
from woodref.provenance.sheetdata import Asked, sheet_of, tenths
from woodref.provenance.sheetlines import lines_of, short_lines
from woodref.provenance.sheetpage import page
from woodref.provenance.sheets import Sheet, give_out, kept, older, write
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

Make = Callable[..., Event]
MAKER = "Quillbeck Benders, Harrowmere"
COUNTRIES = {"SI": "Slovenia", "IN": "India", "IT": "Italy", "FI": "Finland"}
ASKED = Asked(
    maker=MAKER, called=lambda name: {"Fagus sylvatica": "European beech"}.get(name),
    country=lambda code: COUNTRIES[code], caution="Not legal advice.", rules_as_of="2026-03-05",
)  # fmt: skip


@pytest.fixture
def signer(tmp_path: Path) -> keys.Signer:
    return keys.new_signer(tmp_path / "maker.key")


def render(told: Any, signature: str) -> dict[str, str]:
    return {"sheet.html": page(told, signature), "declaration.csv": "component\n"}


@pytest.fixture
def said(full: Store, make: Make, signer: keys.Signer) -> Store:
    """The book with STOOL-002 closed under a label, and a key."""
    full.record([
        make("S2", "close", item="STOOL-002", label="contains unproven material"),
        make("K", "key", public_key=signer.public_key, what="first"),
    ])  # fmt: skip
    return full


def sheet(store: Store, signer: keys.Signer, item: str = "STOOL-002", asked: Asked = ASKED) -> Sheet:
    return give_out(store, sheet_of(store, item, asked), signer, render).sheet


def test_an_open_item_has_no_sheet(full: Store) -> None:
    with pytest.raises(faults.BadState, match="STOOL-002 is open"):
        sheet_of(full, "STOOL-002", ASKED)
    with pytest.raises(faults.UnknownLot):
        sheet_of(full, "STOOL-003", ASKED)


def test_what_the_sheet_says_of_the_two_stools(said: Store) -> None:
    """Masses of wood as the scenario has them: 950.4, 34, 68, 55.8 and 768 g, together 1,876.2 g."""
    told = sheet_of(said, "STOOL-002", ASKED)
    rows = {(p["part"], p["lot"]): p for p in told["parts"]}
    assert {k: p["wood_g"] for k, p in rows.items()} == {
        ("LEGS-2", "L-A"): "950.4", ("SEAT-2", "L-B"): "34.0", ("SEAT-2", "L-C"): "68.0",
        ("SEAT-2", "L-D"): "55.8", ("SEAT-2", "L-E"): "768.0",
    }  # fmt: skip
    assert told["wood_g"] == "1876.2" and told["label"] == "contains unproven material"
    assert rows["SEAT-2", "L-B"]["layer"] == "200000/3"
    bare = rows["SEAT-2", "L-C"]
    assert (bare["wood_is"], bare["origin_is"], bare["stand_is"]) == ("not known",) * 3
    assert bare["words"] == "Indian rosewood (as labelled in pencil)" and bare["papers"] == []
    assert rows["LEGS-2", "L-A"]["wood"] == "European beech (Fagus sylvatica)"
    assert rows["SEAT-2", "L-D"]["wood"] == "engineered veneer of Populus x canadensis"
    # an invoice is paper of the purchase, and of the growing no more than the seller's word
    beech = rows["LEGS-2", "L-A"]
    assert (beech["origin_is"], beech["stand_is"]) == ("documented", "stated by supplier")
    assert rows["SEAT-2", "L-D"]["stand_is"] == "documented"  # by its composition sheet
    assert "1/3 from L-B and 2/3 from L-C" in " ".join(told["custody"])
    one = sheet_of(said, "STOOL-001", ASKED)
    assert one["custody"][0].startswith("Every layer can be followed to one received lot")
    assert (
        short_lines(told)[1]
        == "What wood it is: documented for 1,808.2 g of 1,876.2 g, not known for 68.0 g."
    )


def test_a_claim_on_paper_is_no_property_of_the_stool(said: Store) -> None:
    assert "controlled blending 70" not in json.dumps(sheet_of(said, "STOOL-001", ASKED))


WORDS = re.compile(r"\b(sustainab\w*|certified|eco-friendly|green|legal(?! advice)|lawful)\b", re.IGNORECASE)


def test_no_claim_of_our_own(said: Store, signer: keys.Signer) -> None:
    for item in ("STOOL-001", "STOOL-002"):
        html = sheet(said, signer, item).files["sheet.html"]
        assert not WORDS.findall(BeautifulSoup(html, "html.parser").get_text(" "))


def test_versions_say_what_changed_and_the_old_ones_stay(
    said: Store, make: Make, signer: keys.Signer
) -> None:
    first = sheet(said, signer)
    again = give_out(said, sheet_of(said, "STOOL-002", ASKED), signer, render)
    assert not again.fresh and again.sheet == first
    # the adhesive of E13 was told wrong: the sheet shows the new figure, and the old sheet stays
    said.record([make(
        "C1", "correct", corrects="E13", reason="incorrect_data",
        in_=[("L-H2", 270480), ("L-I", 1085600, "mm2", 4), ("L-K", 271400), ("G-1", 320000, "mg")],
        waste=[("L-I", 3680), ("L-K", 920)],
    )])  # fmt: skip
    second = sheet(said, signer)
    assert second.version == 2 and second.told["before"] == first.digest
    assert "No longer: Glue G-1: 460 g used. Paper: safety data sheet." in second.told["changes"]
    assert "Now: Glue G-1: 480 g used. Paper: safety data sheet." in second.told["changes"]
    assert older(said, "STOOL-002", 1).sheet == first and kept(said, "STOOL-002") == second
    with pytest.raises(faults.UnknownSheet, match="version 1, 2"):
        older(said, "STOOL-002", 3)
    with pytest.raises(faults.UnknownSheet, match="woodref sheet STOOL-001"):
        older(said, "STOOL-001", 1)
    assert check_book(said).sound


def test_a_paper_found_later_proves_from_then_on(said: Store, make: Make, signer: keys.Signer) -> None:
    first = sheet(said, signer)
    said.record([make("D", "attach-document", document={"id": "D-12", "kind": "invoice", "lot": "L-C"})])
    second = sheet(said, signer)
    assert any("L-C" in line and "what wood it is" in line for line in first.told["not_proven"])
    assert not any("what wood it is" in line for line in second.told["not_proven"])
    assert any("L-C" in line and "where it grew" in line for line in second.told["not_proven"])
    assert older(said, "STOOL-002", 1).sheet == first


SECRET = ("Marrowgate", "Alderholt", "Brindlewick", "price", "shelf R2")


def test_no_seller_no_price_no_shelf_on_the_sheet(said: Store, make: Make, signer: keys.Signer) -> None:
    lots = {"N-1": {"form": "finish", "trade": "oil", "supplier": "Marrowgate Timber", "price": "48.00",
                    "currency": "GBP", "shelf": "shelf R2"}}  # fmt: skip
    said.record([
        make("R", "receive", out=[("N-1", 900, "mg")], lots=lots, note="Alderholt rang", documents=[
            {"id": "D-P", "kind": "invoice", "lot": "N-1", "tier": "private", "number": "Brindlewick 7"},
            {"id": "D-Q", "kind": "invoice", "lot": "N-1", "tier": "auditor", "number": "Brindlewick 8"}]),
        make("B", "return", item="STOOL-001"),
        make("M", "repair", item="STOOL-001", in_=[("N-1", 900, "mg")]),
        make("Z", "close", item="STOOL-001"),
    ])  # fmt: skip
    made = sheet(said, signer, "STOOL-001")
    everything = "\n".join(made.all_files().values())
    assert "N-1" in everything and "D-Q" in everything and "D-P" not in everything
    (book,) = said.rows("SELECT value FROM meta WHERE key = 'book'")
    for word in (*SECRET, book[0]):
        assert word not in everything


HOSTILE = "<script>alert(1)</script>\"'&{{ 7*7 }}=cmd"


def test_hostile_words_are_text(said: Store, make: Make, signer: keys.Signer) -> None:
    lots = {"N-1": {"form": "finish", "trade": HOSTILE}}
    said.record([
        make("R", "receive", out=[("N-1", 900, "mg")], lots=lots), make("B", "return", item="STOOL-001"),
        make("M", "repair", item="STOOL-001", in_=[("N-1", 900, "mg")]),
        make("Z", "close", item="STOOL-001", label=HOSTILE, care=HOSTILE),
    ])  # fmt: skip
    html = sheet(said, signer, "STOOL-001", Asked(maker=HOSTILE, country=str)).files["sheet.html"]
    soup = BeautifulSoup(html, "html.parser")
    assert not soup.find_all("script") and "49" not in soup.find(class_="label").get_text()  # type: ignore[union-attr]
    assert soup.get_text().count(HOSTILE) == 4


def test_the_page_stands_by_itself_and_can_be_read_aloud(said: Store, signer: keys.Signer) -> None:
    soup = BeautifulSoup(sheet(said, signer).files["sheet.html"], "html.parser")
    assert (
        soup.html is not None
        and soup.html["lang"] == "en"
        and soup.title is not None
        and soup.title.get_text()
    )
    assert not soup.find_all(["script", "link", "img", "iframe", "object"])
    for tag in soup.find_all(True):
        for name, value in tag.attrs.items():
            assert not name.startswith("on") and name not in ("src", "href"), tag
            assert "http" not in str(value) or name == "xmlns"
    assert "url(" not in str(soup.style) and "@import" not in str(soup.style)
    assert all(th.get("scope") in ("col", "row") for th in soup.find_all("th"))
    assert soup.table is not None and soup.table.caption is not None
    assert len(soup.find_all("h1")) == 1
    for section in soup.find_all("section"):
        assert soup.find(id=section["aria-labelledby"]) is not None
    assert soup.find(attrs={"role": "img"})["aria-label"]  # type: ignore[index]


def test_every_sentence_of_the_sheet_is_on_the_page(said: Store, signer: keys.Signer) -> None:
    made = sheet(said, signer)
    words = " ".join(BeautifulSoup(made.files["sheet.html"], "html.parser").get_text(" ").split())
    for line in (*made.told["not_proven"], *made.told["custody"], made.told["caution"], made.signature):
        assert line in words
    assert made.fingerprint in words and made.told["head"]["hash"] in words and made.digest in words
    assert lines_of(made.told)


# --- a stranger


@pytest.fixture
def folder(said: Store, signer: keys.Signer, tmp_path: Path) -> Path:
    write(sheet(said, signer), tmp_path / "out")
    return tmp_path / "out"


def test_a_stranger_checks_it_from_its_files(folder: Path, signer: keys.Signer) -> None:
    for path in (folder, folder / "sheet.json", folder / "sheet.html"):
        found = check_sheet(path)
        assert found.sound, found.sentences()
        told = " ".join(found.sentences())
        assert f"unchanged since it was signed with key {signer.fingerprint}" in told
        assert "by another way" in told
    named = check_sheet(folder, signer.fingerprint.upper().replace(" ", ""))
    assert named.sound and "That is the key you named." in named.sentences()
    other = check_sheet(folder, keys.fingerprint("ab" * 32))
    assert not other.sound and "not with" in " ".join(other.sentences())
    with pytest.raises(faults.BadKey):
        check_sheet(folder, "my friend")


def test_every_changed_letter_of_what_it_says_shows(folder: Path) -> None:
    """A letter or digit anywhere in sheet.json is changed, 150 times: it is never called unchanged."""
    body = (folder / "sheet.json").read_text("utf-8")
    at = [k for k, letter in enumerate(body) if letter.isalnum()]
    rnd = random.Random(7)
    for _ in range(150):
        k = rnd.choice(at)
        other = "1" if body[k] != "1" else "2"
        (folder / "sheet.json").write_text(body[:k] + other + body[k + 1 :], "utf-8")
        try:
            found = check_sheet(folder)
        except faults.BadSheet:
            continue
        assert not found.sound, body[k - 30 : k + 30]


@pytest.mark.parametrize("name", ["sheet.html", "declaration.csv"])
def test_a_changed_or_missing_file_shows(folder: Path, name: str) -> None:
    (folder / name).write_text((folder / name).read_text("utf-8") + " ", "utf-8")
    assert f"{name} was changed since the sheet was signed." in check_sheet(folder).flaws
    (folder / name).unlink()
    assert f"{name} is not beside it." in check_sheet(folder).flaws


@pytest.mark.parametrize(
    "body", ["", "[]", "{}", "7", "{", '{"woodref": "sheet 1"}', "\x00", "[" * 100_000, "1.5"]
)
def test_what_is_no_sheet(tmp_path: Path, body: str) -> None:
    (tmp_path / "sheet.json").write_text(body, "utf-8")
    with pytest.raises(faults.BadSheet, match="is no customer sheet"):
        check_sheet(tmp_path)


def test_a_list_of_files_leads_nowhere_else(folder: Path, signer: keys.Signer) -> None:
    """Even where it is signed, a name that leads out of the folder is not opened."""
    from woodref.provenance.canonical import canonical, digest
    from woodref.provenance.sheets import FILES, manifest

    told = json.loads((folder / "sheet.json").read_text("utf-8"))
    told["files"] = {"../maker.key": "0" * 64}
    told["files_signature"] = signer.sign(FILES, manifest(digest(canonical(told["sheet"])), told["files"]))
    (folder / "sheet.json").write_text(json.dumps(told), "utf-8")
    assert "no plain name" in " ".join(check_sheet(folder).flaws)


def test_the_book_at_hand_knows_its_sheets(
    said: Store, folder: Path, signer: keys.Signer, make: Make, tmp_path: Path
) -> None:
    assert "Its head is event 22 of this book." in check_sheet(folder, store=said).notes
    said.record([make("D", "attach-document", document={"id": "D-12", "kind": "invoice", "lot": "L-C"})])
    sheet(said, signer)
    assert any("newer sheet" in note for note in check_sheet(folder, store=said).notes)
    with Store(f"sqlite:///{tmp_path / 'other.sqlite'}") as other:
        found = check_sheet(folder, store=other)
        assert found.sound and "not the one it is from" in " ".join(found.notes)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            "UPDATE sheet SET payload = replace(payload, '68.0', '67.0')",
            "not as a key of this book signed it",
        ),
        ("UPDATE sheet SET files = replace(files, '68.0', '67.0')", "its files are not as they were signed"),
        ("UPDATE sheet SET version = 2", "does not follow on the version before it"),
        ("UPDATE sheet SET seq = 3", "its head is not on the chain"),
    ],
)
def test_a_kept_sheet_changed_by_hand_is_found(
    said: Store, signer: keys.Signer, change: str, says: str
) -> None:
    sheet(said, signer)
    assert check_book(said).sound
    with said.engine.begin() as connection:
        connection.execute(text("DROP TRIGGER sheet_update"))
        connection.execute(text(change))
    assert says in " ".join(check_book(said).sentences())


@given(st.lists(st.one_of(st.none(), st.fractions(0, 10**5, max_denominator=997)), max_size=12))
def test_printed_tenths_add_up_and_none_is_off_by_a_tenth(grams: list[Any]) -> None:
    printed = tenths(grams)
    known = [(g, p) for g, p in zip(grams, printed, strict=True) if g is not None]
    assert [p is None for p in printed] == [g is None for g in grams]
    total = sum(int(p.replace(".", "")) for _, p in known if p)
    exact = sum(g for g, _ in known) * 10
    assert abs(total - exact) <= 0.5
    for g, p in known:
        assert p is not None and abs(int(p.replace(".", "")) - g * 10) < 1
