"""The page to fetch by: lots that serve a ply in the order of their shelves, what to take, what is short."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.reader import Catalogue
from woodref.layup.reader import load_layup
from woodref.provenance.noting import move
from woodref.provenance.picking import Pick, pick, pick_page
from woodref.provenance.receiving import received
from woodref.provenance.shapes import event_of
from woodref.provenance.store import Store
from woodref.provenance.working import reserve

ON = dt.date(2026, 6, 1)
WHEN = "2026-01-05T09:00:00+01:00"
LAYUP = """
title: tray
plies:
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 0}
  - {material: Betula pendula, thickness: 1.5 mm, grain: 90}
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 0}
panel: {length: 450 mm, width: 300 mm, count: 4, trim: 20 mm}
face: {match: slip, parts_to_match: 4}
"""
# blanks by hand: 490 x 340 mm; along the grain 490 and across 340 for the walnut, 340 and 490 for the birch
FLAT = LAYUP.replace("face: {match: slip, parts_to_match: 4}", "face: {match: random}")


@pytest.fixture
def book(tmp_path: Path) -> Store:
    return Store(f"sqlite:///{tmp_path / 'book.sqlite'}")


def take_in(book: Store, lot: str, amount: str, species: str | None = "Juglans nigra", **told: Any) -> None:
    form = told.pop("form", "veneer")
    book.record([received(lot, amount, form, time=WHEN, species=species, **told)[0]])


def found(book: Store, catalogue: Catalogue, text: str = LAYUP) -> Pick:
    return pick(load_layup(text.encode(), "tray.yaml"), book, catalogue, ON)


def rows(picked: Pick) -> dict[str, list[str]]:
    return {row[1]: row for row in picked.walk()[1]}


def told(picked: Pick) -> str:
    return " ".join(picked.sentences())


def test_one_walk_in_the_order_of_the_shelves(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-10", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A10")
    take_in(book, "W-2", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="a2")
    take_in(book, "W-0", "8 leaves of 2000 x 180 mm, 0.6 mm")
    take_in(book, "B-1", "8 leaves of 1000 x 500 mm, 1.5 mm", "Betula pendula", shelf="A9")
    take_in(book, "UF", "1 kg", None, form="adhesive", shelf="A1")
    head, listed = found(book, catalogue).walk()
    assert head[:2] == ["shelf", "lot"] and [row[1] for row in listed] == ["W-2", "B-1", "W-10", "W-0"]
    assert [row[0] for row in listed] == ["a2", "A9", "A10", "not told"]


def test_what_to_take_of_each(book: Store, catalogue: Catalogue) -> None:
    # slip matched face: 340 across 180 are 2 leaves; 2000 over 490 are 4 lengths; so 2 leaves give 4 faces.
    # the back, any leaf beside any: 4 x 2 pieces out of 4 lengths each are 2 leaves.
    take_in(book, "W-1", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A1")
    # birch: 490 across 500 is 1; 1000 over 340 are 2 lengths; 4 sheets take 2 leaves
    take_in(book, "B-1", "8 leaves of 1000 x 500 mm, 1.5 mm", "Betula pendula", shelf="A2")
    picked = found(book, catalogue)
    assert [row[-1] for row in picked.walk()[1]] == ["4 leaves", "2 leaves"]
    assert [picked.short(i) for i in range(len(picked.wants))] == [0, 0, 0]
    assert (
        "Nothing is short." in picked.sentences() and picked.summary() == "3 plies, 4 parts; 2 lots to go to."
    )
    # the book is only read
    assert book.balance("W-1") == 8 * 360_000


def test_one_lot_that_is_enough_is_taken_before_two(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "SMALL", "1 leaf of 1000 x 500 mm, 1.5 mm", "Betula pendula", shelf="A1")
    take_in(book, "LARGE", "9 leaves of 1000 x 500 mm, 1.5 mm", "Betula pendula", shelf="A2")
    take = {lot: row[-1] for lot, row in rows(found(book, catalogue)).items()}
    assert take == {"SMALL": "-", "LARGE": "2 leaves"}


def test_several_lots_are_put_together_and_the_rest_is_short(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "B-1", "1 leaf of 700 x 500 mm, 1.5 mm", "Betula pendula", shelf="A1")
    take_in(book, "B-2", "1 leaf of 400 x 500 mm, 1.5 mm", "Betula pendula", shelf="A2")
    picked = found(book, catalogue)
    # 700 over 340 are 2 sheets, 400 over 340 one: 3 of 4
    assert [row[-1] for row in picked.walk()[1]] == ["1 leaf", "1 leaf"]
    assert "Ply 2, Betula pendula 1.5 mm: short of 1 of 4 sheets, 340 x 490 mm each." in picked.sentences()
    assert "Plies 1 and 3, Juglans nigra 0.6 mm: nothing on hand serves." in picked.sentences()


def test_a_matched_face_of_two_lots_is_told(book: Store, catalogue: Catalogue) -> None:
    for lot in ("W-1", "W-2"):
        take_in(book, lot, "4 leaves of 1000 x 180 mm, 0.6 mm", shelf=lot)
    # 2 lengths a leaf, 2 leaves a pair: a lot gives 4 faces and nothing of it is left for the back
    assert "match changes" not in told(found(book, catalogue))
    wider = LAYUP.replace("count: 4", "count: 6")
    assert "no lot alone holds the whole face, and the match changes" in told(found(book, catalogue, wider))


def test_a_lot_serves_only_what_others_leave_of_it(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "3 leaves of 2000 x 180 mm, 0.6 mm")
    picked = found(book, catalogue, FLAT)
    # each ply takes 2 leaves (4 sheets x 2 pieces over 4 lengths); one leaf is left: 4 pieces, 2 sheets
    assert [picked.short(i) for i, w in enumerate(picked.wants) if w.wood == "Juglans nigra"] == [0, 2]
    assert rows(picked)["W-1"][-1] == "3 leaves"


def test_only_what_is_free_counts(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "8 leaves of 2000 x 180 mm, 0.6 mm")
    book.record([reserve(book.book().lot("W-1", "test"), "7 leaves", time="2026-01-06T09:00:00Z").event])
    picked = found(book, catalogue, FLAT)
    assert rows(picked)["W-1"][6:8] == ["0.36 m2", "1"]
    book.record([reserve(book.book().lot("W-1", "test"), "1 leaf", time="2026-01-06T09:00:00Z").event])
    assert not rows(found(book, catalogue, FLAT)) and "W-1: all of it is reserved" in told(
        found(book, catalogue)
    )


def test_what_does_not_serve_says_why(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "THICK", "8 leaves of 2000 x 180 mm, 0.9 mm")
    take_in(book, "SHORT", "8 leaves of 480 x 180 mm, 0.6 mm")
    event, _ = received("QUARTER", "8 leaves of 2000 x 180 mm, 0.6 mm", "veneer", time=WHEN,
                        species="Juglans nigra", cut="quarter")  # fmt: skip
    book.record([event])
    take_in(
        book, "EITHER", "8 leaves of 2000 x 180 mm, 0.6 mm", None, one_of=["Juglans nigra", "Juglans regia"]
    )
    take_in(book, "OTHER", "8 leaves of 2000 x 180 mm, 0.6 mm", "Juglans regia")
    take_in(book, "GONE", "8 leaves of 2000 x 180 mm, 0.6 mm", "Dalbergia latifolia")
    picked, words = found(book, catalogue), told(found(book, catalogue))
    assert not picked.rows
    for why in (
        "THICK: it is 0.9 mm, not 0.6 mm", "SHORT: its leaves are 480 mm long, and 490 mm are wanted",
        "QUARTER: it is cut quarter, not crown",
        "EITHER: it is Juglans nigra or Juglans regia, and nobody has settled which",
    ):  # fmt: skip
        assert why in words
    assert "OTHER" not in words and "GONE" not in words


def test_a_lot_is_fetched_from_where_it_lies_now(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A1")
    take_in(book, "W-2", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A2")
    book.record([move(book.book().lot("W-1", "test"), "B1", "A1").event])
    picked = found(book, catalogue)
    assert [row[:2] for row in picked.walk()[1]] == [["A2", "W-2"], ["B1", "W-1"]]
    assert picked.as_dict()["rows"][1]["shelf"] == "B1"


def test_the_cut_of_what_was_cut_is_that_of_its_lot(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "8 leaves of 2000 x 180 mm, 0.6 mm", cut="Crown cut")
    told_ = {"kind": "cut", "id": "E9", "time": "2026-01-06T09:00:00Z"} | {
        key: [{"lot": lot, "qty": 720_000, "unit": "mm2"}] for key, lot in (("in", "W-1"), ("out", "F-1"))
    }
    # an event that says nothing of what it makes, as books of before have it
    book.record([event_of(told_)])
    picked = rows(found(book, catalogue))
    assert picked["F-1"][4] == picked["W-1"][4] == "Crown cut"
    assert "look at it before you take it" not in told(found(book, catalogue))


def test_what_the_press_takes_by_itself_serves_here_too(book: Store, catalogue: Catalogue) -> None:
    from woodref.layup.reader import load_layup as load
    from woodref.provenance.amounts import amount
    from woodref.provenance.serving import lots_for

    sheet = "3 leaves of 490 x 340 mm"
    take_in(book, "W-1", f"{sheet}, 0.6 mm", cut="crown")
    take_in(book, "W-9", f"{sheet}, 0.61 mm", cut="crown")
    take_in(book, "B-1", f"{sheet}, 1.5 mm", "Betula pendula")
    layup = load(FLAT.replace("count: 4", "count: 1").encode(), "tray.yaml")
    woods = [catalogue.material(m) for m in ("juglans-nigra", "betula-pendula", "juglans-nigra")]
    taken = lots_for(book, layup, woods, {}, amount("1 sheet of 490 x 340 mm"), {})
    assert (
        {held.lot.id for held in taken.values()} == set(rows(found(book, catalogue, FLAT))) == {"W-1", "B-1"}
    )


def test_a_lot_without_a_leaf_size_goes_by_area(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "B-1", "0.5 m2", "Betula pendula", thickness_said="1.5 mm")
    picked = found(book, catalogue)
    # 340 x 490 = 166,600 mm2: three sheets of half a square metre
    assert rows(picked)["B-1"][-1] == "0.5 m2" and picked.rows[0].taken[0].area == 499_800
    assert "short of 1 of 4 sheets" in told(picked) and "by area alone" in told(picked)


def test_a_made_sheet_goes_by_its_name_and_an_unknown_one_by_its_words(
    book: Store, catalogue: Catalogue
) -> None:
    made = "8 leaves of 2500 x 640 mm, 0.6 mm"
    for lot, material in (("R-1", "reconstituted-teak-figure"), ("R-2", "reconstituted-plain-red")):
        take_in(book, lot, made, None, form="engineered-veneer", material=material,
                composition="Populus x canadensis=930")  # fmt: skip
    take_in(book, "C-1", "8 leaves of 900 x 400 mm, 0.9 mm", None, words="the dark one")
    text = FLAT.replace(
        "material: Juglans nigra, cut: crown, thickness: 0.6 mm",
        "material: reconstituted-teak-figure, thickness: 0.6 mm",
        1,
    )
    text = text.replace(
        "material: Betula pendula, thickness: 1.5 mm", "unidentified: the Dark one, thickness: 0.9 mm"
    )
    assert list(rows(found(book, catalogue, text))) == ["C-1", "R-1"]


def test_without_a_panel_size_lots_are_named_and_no_amounts(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "8 leaves of 200 x 180 mm, 0.6 mm")
    picked = found(book, catalogue, LAYUP.replace("length: 450 mm, width: 300 mm, ", ""))
    assert rows(picked)["W-1"][-1] == "not known" and picked.short(0) is None
    assert "no panel size" in told(picked) and "Nothing is short." not in picked.sentences()


HOSTILE = "<script>alert(1)</script>\"'&<b>"


def test_the_page_escapes_everything_and_tells_no_price(book: Store, catalogue: Catalogue) -> None:
    take_in(book, HOSTILE, "8 leaves of 2000 x 180 mm, 0.6 mm", shelf=HOSTILE, words=HOSTILE, cut="crown",
            price=("98765", "QQD"), supplier="Marrowgate")  # fmt: skip
    picked = found(book, catalogue, LAYUP.replace("title: tray", f"title: '{HOSTILE.replace(chr(39), '’')}'"))
    html = pick_page(picked, ON)
    soup = BeautifulSoup(html, "html.parser")
    assert "<script" not in html and not soup.find_all(["script", "img", "link", "b"])
    assert "98765" not in html and "Marrowgate" not in html and "98765" not in str(picked.as_dict())
    assert soup.select_one("th.lot").get_text() == HOSTILE  # type: ignore[union-attr]


def test_the_page_is_a_page(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A1")
    take_in(book, "W-2", "8 leaves of 2000 x 180 mm, 0.6 mm", shelf="A2")
    picked = found(book, catalogue)
    soup = BeautifulSoup(pick_page(picked, ON), "html.parser")
    assert soup.html["lang"] == "en" and soup.title.get_text() == "To fetch: tray"  # type: ignore[union-attr,index]
    assert "@page { size: A4; margin: 10mm; }" in str(soup)
    walk, plies = soup.find_all("table")
    assert [len(tr.find_all(["td", "th"])) for tr in walk.select("tr")] == [10, 10, 10]
    # a box by what is taken alone
    assert [tr.select_one(".box span") is not None for tr in walk.select("tbody tr")] == [True, False]
    assert all(th.get("scope") for table in (walk, plies) for th in table.find_all("th"))
    assert [li.get_text() for li in soup.select("li")] == picked.sentences()


def test_json_adds_up(book: Store, catalogue: Catalogue) -> None:
    take_in(book, "W-1", "3 leaves of 2000 x 180 mm, 0.6 mm", shelf="A1")
    told_ = found(book, catalogue, FLAT).as_dict()
    given = {tuple(t["plies"]): t["sheets"] for row in told_["rows"] for t in row["take"]}
    for want in told_["wants"]:
        assert given.get(tuple(want["plies"]), 0) + want["short"] == want["sheets"]
    assert sum(t["leaves"] for row in told_["rows"] for t in row["take"]) == 3
