"""Labels: what stands on them, a box for each leaf, a code that holds the lot's id, and never a price."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from typing import Any

import pytest
import segno
from bs4 import BeautifulSoup
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import WoodrefError
from woodref.provenance.book import Held
from woodref.provenance.labels import (
    A4,
    LISTED,
    NOT_KNOWN,
    PAPERS,
    Paper,
    height,
    label_of,
    labels_of,
    marks_of,
    placed,
    sheet_of,
)
from woodref.provenance.lots import TEXTS, Lot, lot_of
from woodref.provenance.noting import move
from woodref.provenance.pages import MODULE, QUIET, code, cut_to
from woodref.provenance.store import Store
from woodref.trade import Law

ON = dt.date(2026, 6, 1)
NO_LAW = Law.of((), ON)
HOSTILE = "<script>alert(1)</script> \"quoted\" 'so' & <img src=x onerror=y>"
STAMP = {"version": "0", "digest": "0"}


def held(lot_id: str = "W-7", qty: int | None = None, **told: Any) -> Held:
    facts = {"form": "veneer", "thickness_um": 600, "leaf_mm": [1800, 200], "leaves": 12} | told
    lot = lot_of(lot_id, {k: v for k, v in facts.items() if v is not None}, "test")
    return Held(lot, "E1", "2026-01-05T09:00:00Z", facts["leaves"] * 360_000 if qty is None else qty)


def page(found: Held, paper: Paper = A4, law: Law = NO_LAW) -> BeautifulSoup:
    html = sheet_of([label_of(found, [found.lot], law, ON, "A2")], paper, ON, STAMP)
    return BeautifulSoup(html, "html.parser")


def boxes(soup: BeautifulSoup) -> list[str]:
    return [li.get_text(strip=True) for li in soup.select("ol.leaves > li")]


@pytest.mark.parametrize("paper", PAPERS.values(), ids=list(PAPERS))
@settings(max_examples=60, deadline=None)
@given(first=st.integers(1, 400), count=st.integers(1, 130), words=st.text("abc M&<", max_size=80))
def test_every_leaf_has_its_box_or_is_told(paper: Paper, first: int, count: int, words: str) -> None:
    found = held(leaves=count, first_leaf=first, trade=words.strip() or None, shelf="A2", flitch="F 1")
    soup = page(found, paper)
    drawn = [int(text) for text in boxes(soup)]
    assert drawn == list(range(first, first + len(drawn)))
    rest, last = soup.select_one(".rest"), first + count - 1
    if len(drawn) == count:
        assert rest is None
    else:
        after = first + len(drawn)
        assert rest is not None
        named = re.findall(r"[0-9]+", rest.get_text())
        assert named == ([str(after), str(last)] if after < last else [str(last)])
    out = placed(label_of(found, [found.lot], NO_LAW, ON, "A2"), paper)
    rows = -(-len(drawn) // paper.boxes)
    assert height(out, paper) + rows * 6.6 + max(rows - 1, 0) * 0.45 <= paper.down


@pytest.mark.parametrize("paper", PAPERS.values(), ids=list(PAPERS))
def test_a_label_of_which_everything_is_long_keeps_its_size(paper: Paper) -> None:
    long = "WORDS OF THE CHALK " * 20
    told = {key: long for key in ("trade", "cut", "flitch", "bundle")}
    label = label_of(held("LOT-OF-A-LONG-NAME-" * 4, 0, leaf_notes={"1": long}, **told), [], NO_LAW, ON, long)
    label = replace(label, marks=(NOT_KNOWN, LISTED))
    out = placed(label, paper)
    assert height(out, paper) <= paper.down and out["lot"] == "LOT-OF-A-LONG-NAME-" * 4
    assert all(value.endswith("…") for what, value in out["facts"] if what not in ("Thickness", "Leaf"))


def test_twelve_leaves_on_either_paper() -> None:
    for paper in PAPERS.values():
        assert boxes(page(held(), paper)) == [str(n) for n in range(1, 13)]


def test_leaves_without_a_number_count_from_the_top() -> None:
    heads = [page(held(first_leaf=n)).select_one(".head").get_text() for n in (None, 1)]  # type: ignore[union-attr]
    assert heads == ["Leaves, from the top: cross out what is taken", "Leaves: cross out what is taken"]


def test_the_shelf_is_the_last_that_was_noted(full: Store, catalogue: Catalogue) -> None:
    full.record([move(full.book().lot("L-A", "test"), "C 9", None).event])
    (label,) = labels_of(full, ["L-A"], catalogue.law, ON)
    assert ("Shelf", "C 9") in label.facts


def test_leaves_that_are_gone_and_leaves_with_a_note() -> None:
    found = held(qty=10 * 360_000 + 5, first_leaf=5, leaf_notes={"7": "sap edge", "16": "knot", "5": "split"})
    soup = page(found)
    assert boxes(soup)[:3] == ["5*", "6", "7*"] and boxes(soup)[-1] == "16*"
    assert "10 of 12 left on 2026-06-01" in soup.select_one(".head").get_text()  # type: ignore[union-attr]
    assert soup.select_one(".notes").get_text() == "5*: split; 7*: sap edge; 16*: knot"  # type: ignore[union-attr]


def test_numbers_too_long_for_a_box_are_told_in_words() -> None:
    soup = page(held(first_leaf=10**12, leaves=3))
    assert not boxes(soup) and "Leaves 1000000000000 to 1000000000002" in soup.get_text()


@pytest.mark.parametrize("paper", PAPERS.values(), ids=list(PAPERS))
def test_hostile_words_are_words(paper: Paper) -> None:
    told = {key: HOSTILE for key in TEXTS if key not in ("country", "forest", "genus")}
    told["leaf_notes"] = {HOSTILE: HOSTILE}
    found = held(HOSTILE, **told)
    html = sheet_of([label_of(found, [found.lot], NO_LAW, ON, HOSTILE)], paper, ON, STAMP)
    soup = BeautifulSoup(html, "html.parser")
    assert not soup.find_all(["script", "img", "link", "iframe"]) and "<script" not in html
    assert soup.select_one("h2").get_text() == HOSTILE  # type: ignore[union-attr]
    assert not soup.find_all(
        lambda tag: any(key.startswith("on") or key in ("src", "href") for key in tag.attrs)
    )


@pytest.mark.parametrize("paper", PAPERS.values(), ids=list(PAPERS))
def test_price_and_supplier_stay_in_the_office(paper: Paper) -> None:
    told = {"price": "98765", "currency": "QQD", "supplier": "Marrowgate", "as_received": "4 bundles, 98765"}
    assert not re.search("98765|QQD|Marrowgate", str(page(held(**told), paper)))


def test_the_size_of_the_page_and_of_its_labels() -> None:
    a4, strip = (str(page(held(), paper)) for paper in PAPERS.values())
    assert (
        "@page { size: 210mm 297mm; margin: 0; }" in a4 and "@page { size: 62mm 120mm; margin: 0; }" in strip
    )
    # three rows of 93 mm and twice 8.9 mm are 296.8 mm; two labels of 95 mm and twice 10 mm are 210 mm
    assert "repeat(3, 93mm) / repeat(2, 95mm)" in a4
    for html in (a4, strip):
        soup = BeautifulSoup(html, "html.parser")
        assert soup.html["lang"] == "en" and soup.title.get_text() == "Label of W-7"  # type: ignore[union-attr,index]
        assert "break-inside: avoid" in html and "@import" not in html and "url(" not in html


def test_seven_labels_take_two_pages() -> None:
    label = label_of(held(), [], NO_LAW, ON)
    soup = BeautifulSoup(sheet_of([label] * 7, A4, ON, STAMP), "html.parser")
    assert [len(p.select(".label")) for p in soup.select(".page")] == [6, 1]


def matrix(svg: str) -> list[list[int]]:
    """The modules that a code's drawing paints, quiet zone included."""
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', svg)[1])  # type: ignore[index]
    out = [[0] * side for _ in range(side)]
    path = re.search(r'<path stroke="#000"[^>]* d="([^"]+)"', svg)
    assert path is not None, svg[:300]
    x, y = 0.0, 0.0
    for kind, numbers in re.findall(r"([Mmh])([-0-9. ]+)", path[1]):
        values = [float(n) for n in re.findall(r"-?[0-9.]+", numbers)]
        if kind == "M":
            x, y = values
        elif kind == "m":
            x, y = x + values[0], y + values[1]
        else:
            for k in range(int(values[0])):
                out[int(y)][int(x) + k] = 1
            x += values[0]
    return out


@pytest.mark.parametrize("lot", ["W-7", "STRIP 1/2026", "Büro-É", "x" * 80, "木" * 80])
def test_the_code_holds_the_id_of_the_lot(lot: str) -> None:
    svg, side = code(lot)
    wanted = segno.make(lot, micro=False, error="m", encoding=None if lot.isascii() else "utf-8").matrix
    drawn = matrix(svg)
    assert [row[QUIET:-QUIET] for row in drawn[QUIET:-QUIET]] == [list(row) for row in wanted]
    assert not any(any(row) for row in drawn[:QUIET])  # the quiet zone is quiet
    modules = len(wanted)
    symbol = side * modules / (modules + 2 * QUIET)
    assert symbol >= 17.99 and symbol / modules >= MODULE - 0.01 and side <= 56


def lot(**told: Any) -> Lot:
    return held(**({"leaves": 1} | told)).lot


def test_marks_follow_the_law_of_the_catalogue(catalogue: Catalogue) -> None:
    law = catalogue.law

    def marks(*lots: Lot) -> list[str]:
        return marks_of(lots, law, ON)

    assert marks(lot(species="Dalbergia latifolia", countries=["IN"])) == [LISTED]
    assert marks(lot(species="Juglans nigra", countries=["US"])) == []
    assert marks(lot()) == [NOT_KNOWN]
    assert marks(lot(genus="Dalbergia")) == ["Only the genus is known.", LISTED]
    assert marks(lot(one_of=["Quercus robur", "Quercus alba"])) == [
        "Which of these it is nobody has settled."
    ]
    # one part of several that is listed, or not identified, marks the whole
    both = lot(species="Juglans nigra"), lot(species="Dalbergia latifolia")
    assert marks(*both) == [LISTED]
    assert marks(both[0], lot()) == ["Part of it not identified: judged as the strictest it may be."]
    # the day of printing decides: in 1990 no list held it
    assert marks_of([lot(species="Dalbergia latifolia")], law, dt.date(1990, 1, 1)) == []


def test_the_population_counts(catalogue: Catalogue) -> None:
    rows = [
        r
        for r in catalogue.law.rows
        if r.countries and r.restricts() and r.rank != "genus" and r.in_force(ON)
    ]
    assert rows, "the catalogue lists no population"
    row = next(
        r for r in rows if not marks_of([lot(species=r.accepted, countries=["JP"])], catalogue.law, ON)
    )
    there = sorted(row.countries or ())[0]
    assert marks_of([lot(species=row.accepted, countries=[there])], catalogue.law, ON) == [LISTED]
    assert marks_of([lot(species=row.accepted)], catalogue.law, ON) == [LISTED]


def test_a_sheet_made_of_listed_wood_is_marked_too(full: Store, catalogue: Catalogue) -> None:
    made = {label.lot: label for label in labels_of(full, ["L-H2", "P-1", "L-A"], catalogue.law, ON)}
    assert LISTED in made["L-H2"].marks and LISTED in made["P-1"].marks and not made["L-A"].marks
    assert ("Made of", "L-B, L-C") in made["L-H2"].facts


def test_an_item_and_an_unknown_lot_get_no_label(full: Store, catalogue: Catalogue) -> None:
    with pytest.raises(WoodrefError, match="is an item"):
        labels_of(full, ["STOOL-001"], catalogue.law, ON)
    with pytest.raises(WoodrefError, match="no lot NOPE"):
        labels_of(full, ["L-A", "NOPE"], catalogue.law, ON)


@given(st.text(max_size=300), st.integers(1, 3))
@settings(deadline=None)
def test_a_text_is_cut_to_its_room(text: str, lines: int) -> None:
    from woodref.layup.drawtext import readable, wrapped

    found = cut_to(text, 40, 3.6, lines)
    assert len(wrapped(found, 40, 3.6)) <= lines
    whole = " ".join(readable(text).split())
    assert found == whole or (found.endswith("…") and whole.startswith(found[:-1]))
