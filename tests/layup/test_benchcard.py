"""The bench card: plies in the order they go down, grams, times, and what must be settled first."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Tag

from woodref.catalogue.reader import Catalogue
from woodref.layup.benchcard import BODY, bench_card, going_down
from woodref.layup.drawing import draw
from woodref.layup.reader import load_layup, read_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
DEMOS = ["seat-shell", "tray-unbalanced", "drum-shell", "lamp-shade-two-radii"]
PACK = """
plies:
  - {material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}
  - {material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}
  - {material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}
panel: {length: 400 mm, width: 300 mm, count: 2}
"""
BENT = PACK + "mould: {radius: 300 mm}\n"


def of(catalogue: Catalogue, text: str, system: str = "metric") -> Report:
    return report(load_layup(text.encode(), "card.yaml"), catalogue, ON, system=system)


def demo(catalogue: Catalogue, name: str) -> Report:
    return report(read_layup(DEMO / f"{name}.yaml"), catalogue, ON)


def page(found: Report) -> BeautifulSoup:
    return BeautifulSoup(bench_card(found, draw(found)), "html.parser")


def words(tag: Tag) -> str:
    return " ".join(tag.get_text(" ", strip=True).split())


def items(soup: BeautifulSoup, section: str) -> list[str]:
    head = soup.find(id=section)
    assert isinstance(head, Tag) and isinstance(head.parent, Tag)
    return [words(li) for li in head.parent.find_all("li")]


def rows(soup: BeautifulSoup) -> list[str]:
    return [words(li) for li in soup.select("ol.plies > li")]


@pytest.mark.parametrize(
    ("mould", "order", "told"),
    [
        ("{radius: 300 mm, show_side: away}", [3, 2, 1], "on the former: back first, against it"),
        ("{radius: 300 mm, show_side: against-mould}", [1, 2, 3], "on the former: show face first"),
        ("{radius: 300 mm, face: concave, show_side: away}", [3, 2, 1], "on the hollow mould: back first"),
        ("{flat: true}", [3, 2, 1], "on the lower caul: back first"),
    ],
)
def test_plies_stand_as_they_go_down(catalogue: Catalogue, mould: str, order: list[int], told: str) -> None:
    found = of(catalogue, PACK + f"mould: {mould}\nglue: {{adhesive: urea-formaldehyde}}")
    soup = page(found)
    assert [int(n.get_text()) for n in soup.select("ol.plies .number")] == order
    assert len(soup.select("ol.plies .tick")) == 3
    sides = [s.get_text() for s in soup.select("ol.plies .side")]
    assert sides == (["(show face)", "(back)"] if order[0] == 1 else ["(back)", "(show face)"])
    assert told in words(soup)
    # the lowest sheet is spread on top, the last one below
    spread = [d.spread.split(",")[0] for d in going_down(found)]
    assert spread == ["on top (inner side)", "stays dry", "below (inner side)"]


def test_each_ply_has_its_wood_size_moisture_and_grams(catalogue: Catalogue) -> None:
    found = demo(catalogue, "seat-shell")
    grams = {line.number: f"{line.grams:.0f} g" for line in found.spreading.lines}
    assert rows(page(found)) == [
        f"7 black walnut, crown (back) 0.6 mm, long grain blank 499 x 460 mm moisture 6 % found spread: "
        f"on top (inner side), {grams[6]}",
        "6 yellow poplar, rotary 1.5 mm, cross grain blank 498 x 460 mm moisture 6 % found spread: stays dry",
        f"5 yellow poplar, rotary 1.5 mm, long grain blank 497 x 460 mm moisture 6 % found spread: "
        f"both sides, {grams[4]} each",
        "4 yellow poplar, rotary 1.5 mm, cross grain blank 495 x 460 mm moisture 6 % found spread: stays dry",
        f"3 yellow poplar, rotary 1.5 mm, long grain blank 493 x 460 mm moisture 6 % found spread: "
        f"both sides, {grams[2]} each",
        "2 yellow poplar, rotary 1.5 mm, cross grain blank 492 x 460 mm moisture 6 % found spread: stays dry",
        f"1 black walnut, crown (show face) 0.6 mm, long grain blank 491 x 460 mm moisture 6 % found spread: "
        f"below (inner side), {grams[1]}",
    ]
    soup = page(found)
    for sentence in found.spreading.sentences:
        assert sentence in items(soup, "glue")
    for sentence in found.pressing.sentences:
        assert sentence in items(soup, "press")
    before = " ".join(items(soup, "before"))
    for told in ("release film", "grit", "outer sides only", "Lay the loose side", "lay the centre joint on",
                 "Lay the pack centred", "blue-black on iron"):  # fmt: skip
        assert told in before
    assert any(s.startswith("Every edge carries 20 mm to trim") for s in items(soup, "after"))


def test_the_numbers_follow_the_units(catalogue: Catalogue) -> None:
    text = words(page(of(catalogue, BENT + "glue: {adhesive: epoxy}\npress: {cold: 20 C, bag: yes}", "us")))
    for told in ("0.024 in", " x 13.39 in", "lb per 1000 sq ft", "68 F", "oz"):
        assert told in text
    # words of a wood's own file keep their units, and paper is 160 mm wide everywhere
    told = re.sub("at 0.5 mm, burr|160 mm wide", "", text)
    assert not re.search(r"\d (mm|g|g/m2|C|MPa)\b", told)
    assert "film between the pack and the bag" in text


def test_glues_are_told_apart(catalogue: Catalogue) -> None:
    # common practice, no source: six hours cold in the clamps, till next day on the former; cold water washes
    # urea resin from the spreader, hot water sets it
    cold = page(of(catalogue, BENT + "glue: {adhesive: urea-formaldehyde}\npress: {cold: 20 C}"))
    assert any("6 to 12 h" in s for s in items(cold, "press"))
    assert any("strapped to its former till next day" in s for s in items(cold, "press"))
    assert any("cold water" in s for s in items(cold, "after"))
    assert any("powder and water" in s for s in items(cold, "glue"))
    assert "That time holds at 20 C: warmer is shorter." in items(cold, "glue")
    hot = page(of(catalogue, BENT + "glue: {adhesive: urea-formaldehyde}\npress: {heated: 104 C}"))
    assert any("slowly" in s and "steam" in s for s in items(hot, "press"))
    assert not any("till next day" in s for s in items(hot, "press"))
    assert any("cold water" in s for s in items(hot, "after"))
    white = page(of(catalogue, BENT + "glue: {adhesive: PVA D3}\npress: {cold: 20 C}"))
    assert "Wash the spreader before the glue dries on it." in items(white, "after")
    assert "It comes ready to spread: nothing is mixed in." in items(white, "glue")
    assert "cold water" not in words(white)
    epoxy = page(of(catalogue, BENT + "glue: {adhesive: epoxy}\npress: {cold: 20 C}"))
    assert any("both parts" in s for s in items(epoxy, "glue"))
    assert not any("Wash" in s for s in items(epoxy, "after"))


def test_two_glues_in_one_pack_are_named_line_by_line(catalogue: Catalogue) -> None:
    two = "glue: {lines: [{adhesive: epoxy, spread: 180 g/m2}, {adhesive: PVA D3, spread: 120 g/m2}]}\n"
    found = of(catalogue, BENT + two)
    first, last = found.spreading.lines
    told = [d.spread for d in going_down(found)]
    assert told[0] == f"on top (inner side), {last.grams:.0f} g of PVA glue D3"
    assert told[2] == f"below (inner side), {first.grams:.0f} g of epoxy"
    soup = page(found)
    assert "PVA glue D3: wash the spreader before the glue dries on it." in items(soup, "after")
    assert any(s.startswith("epoxy: weigh both parts") for s in items(soup, "glue"))


def test_a_wet_pack_dries_before_it_is_trimmed(catalogue: Catalogue) -> None:
    wet = of(catalogue, BENT + "glue: {adhesive: PVA D3, spread: 200 g/m2}")
    assert wet.moist.mean > wet.moist.middle + 1
    assert any(
        "let it dry on its former, air on both sides, before it is trimmed" in s
        for s in items(page(wet), "after")
    )


def test_what_stops_or_wants_mending_stands_first(catalogue: Catalogue) -> None:
    cold = page(of(catalogue, BENT + "glue: {adhesive: urea-formaldehyde}\npress: {cold: 5 C}"))
    box = cold.select_one("main > :first-child")
    assert box is not None and "Do not press before this is settled" in box.get_text()
    assert items(cold, "halt")[0].startswith("Stop: At 5 C the glue does not set soundly.")
    tray = demo(catalogue, "tray-unbalanced")
    soup = page(tray)
    assert "To mend before it is pressed" in words(soup)
    told = " ".join(items(soup, "halt"))
    for found in tray.findings:
        assert (found.message in told) == (found.severity != "mind")
    assert page(demo(catalogue, "seat-shell")).find(id="halt") is None
    # what is mended alike stands together
    cross = PACK.replace("grain: 0", "grain: 90") + "glue: {adhesive: epoxy}\n"
    (one,) = [s for s in items(page(of(catalogue, cross)), "halt") if "splinters" in s]
    assert "Plies 1 to 3 are cross-grain" in one and one.count("Lay a long-grain") == 1


@pytest.mark.parametrize("name", DEMOS)
def test_the_page_is_whole_and_quiet(catalogue: Catalogue, name: str) -> None:
    found = demo(catalogue, name)
    text = bench_card(found, draw(found))
    soup = BeautifulSoup(text, "html.parser")
    assert len(soup.find_all("h1")) == 1 and soup.html is not None and soup.html["lang"] == "en"
    assert all(len(soup.find_all(mark)) == 1 for mark in ("header", "main", "footer"))
    assert not soup.find_all(["script", "link", "img", "iframe"])
    assert not re.search(r"\son\w+=|None|nan\b", text)
    assert set(re.findall(r"https?://\S+?(?=[\"' ])", text)) <= {"http://www.w3.org/2000/svg"}
    blanks = [str(d.get_text()) for d in soup.select("dl.write dt")]
    assert {"Date", "Initials", "Press shut at", "Press opened at"} <= set(blanks)
    ids = [str(tag["id"]) for tag in soup.find_all(id=True)]
    assert len(ids) == len(set(ids))
    for heading in soup.find_all("h2"):
        assert soup.find(attrs={"aria-labelledby": heading["id"]}) is not None
    # what can hurt the body is told, what the report alone tells is said to be there
    mind = words(soup.find(id="mind").parent)  # type: ignore[union-attr, arg-type]
    for caution in found.cautions:
        assert (caution in mind) == (
            any(word in caution for word in BODY) and not caution.startswith("Wash the spreader")
        )
    assert mind.endswith("The report of this pack has more to mind.")


def test_the_drawing_stands_beside_the_words_or_on_a_sheet_of_its_own(catalogue: Catalogue) -> None:
    seat = demo(catalogue, "seat-shell")
    assert page(seat).select_one(".rest > figure > svg[role=img]") is not None
    assert BeautifulSoup(bench_card(seat), "html.parser").find("figure") is None
    many = of(catalogue, "plies: [{repeat: 15, material: Betula pendula, thickness: 0.9 mm, grain: 0}]")
    apart = page(many).select_one("main > figure.apart")
    assert apart is not None
    high = float(page(many).svg["viewbox"].split()[3])  # type: ignore[index, union-attr]
    wide = float(re.search(r"^(\d+)mm$", str(apart.svg["width"]))[1])  # type: ignore[index]
    assert wide * high / 400 < 281  # a sheet of A4 within its margins


def test_what_is_left_out_is_said(catalogue: Catalogue) -> None:
    found = of(catalogue, PACK.replace("panel:", "#") + "mould: {radius: 300 mm}")
    soup = page(found)
    assert found.cutting.left_out in items(soup, "before")
    assert "Lay the loose side of face and back to the glue." in items(soup, "before")
    assert items(soup, "glue") == [found.spreading.left_out]
    assert items(soup, "press") == ["Pressing is left out: the file names no glue."]
    assert all("blank left out" in row and "spread: left out" in row for row in rows(soup))
    glued = page(of(catalogue, PACK.replace("panel:", "#") + "glue: {adhesive: epoxy}"))
    assert "How many grams is left out: the file gives no panel size." in items(glued, "glue")
    assert any(s.startswith("Pressure is left out") for s in items(glued, "press"))
    unsaid = page(of(catalogue, PACK.replace(", moisture: 7 %", "") + "glue: {adhesive: epoxy}"))
    assert any("8 % is taken for all plies" in s for s in items(unsaid, "before"))


def test_a_single_sheet_is_neither_glued_nor_pressed(catalogue: Catalogue) -> None:
    found = of(catalogue, "plies: [{material: Juglans regia, thickness: 0.6 mm, grain: 0}]")
    soup = page(found)
    assert rows(soup)[0].startswith("1 European walnut, crown (show face)")
    assert "spread: no glue line" in rows(soup)[0]
    assert items(soup, "glue") == ["A single sheet has no glue line."]
    assert "Press shut at" not in words(soup) and "release film" not in words(soup)


def test_a_hostile_title_and_name_stay_text(catalogue: Catalogue) -> None:
    body = 'title: "<script>alert(1)</script>\\0\\x1b"\n' + PACK.replace(
        "material: Betula pendula", "unidentified: '<img src=x onerror=y>'"
    )
    found = of(catalogue, body)
    text = bench_card(found, draw(found))
    assert "<script" not in text and "<img" not in text and "&lt;script&gt;" in text
    assert "\0" not in text and "\x1b" not in text
    assert "<img src=x onerror=y>" in words(page(found))
