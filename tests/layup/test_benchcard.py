"""The bench card: plies in the order they go down, grams, times, and what must be settled first."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Tag

from woodref.catalogue.reader import Catalogue
from woodref.layup.benchcard import bench_card, going_down
from woodref.layup.reader import load_layup, read_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


def of(catalogue: Catalogue, text: str) -> Report:
    return report(load_layup(text.encode(), "card.yaml"), catalogue, ON)


def demo(catalogue: Catalogue, name: str) -> Report:
    return report(read_layup(DEMO / f"{name}.yaml"), catalogue, ON)


def page(found: Report) -> BeautifulSoup:
    return BeautifulSoup(bench_card(found), "html.parser")


def items(soup: BeautifulSoup, section: str) -> list[str]:
    head = soup.find(id=section)
    assert isinstance(head, Tag) and isinstance(head.parent, Tag)
    return [" ".join(li.get_text(" ", strip=True).split()) for li in head.parent.find_all("li")]


PACK = """
plies:
  - {material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}
  - {material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}
  - {material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}
panel: {length: 400 mm, width: 300 mm, count: 2}
"""


@pytest.mark.parametrize(
    ("mould", "order"),
    [
        ("mould: {radius: 300 mm, show_side: away}", [3, 2, 1]),
        ("mould: {radius: 300 mm, show_side: against-mould}", [1, 2, 3]),
        ("mould: {flat: true}", [3, 2, 1]),
    ],
)
def test_plies_stand_as_they_go_down(catalogue: Catalogue, mould: str, order: list[int]) -> None:
    found = of(catalogue, PACK + mould)
    soup = page(found)
    assert [int(n.get_text()) for n in soup.select("ol.plies .number")] == order
    assert len(soup.select("ol.plies .tick")) == 3
    sides = [s.get_text() for s in soup.select("ol.plies .side")]
    assert sides == (["show face", "back"] if order[0] == 1 else ["back", "show face"])
    assert ("against the mould" in soup.get_text()) == ("radius" in mould)


def test_the_grams_are_those_of_the_report(catalogue: Catalogue) -> None:
    found = demo(catalogue, "seat-shell")
    grams = [line.grams or 0.0 for line in found.spreading.lines]
    told = [d.spread for d in going_down(found)]
    assert told == [
        f"spread towards the show face, {grams[5]:.0f} g", "stays dry",
        f"spread both sides, {grams[3]:.0f} g each",
        "stays dry", f"spread both sides, {grams[1]:.0f} g each", "stays dry",
        f"spread towards the back, {grams[0]:.0f} g",
    ]  # fmt: skip
    for sentence in found.spreading.sentences:
        assert sentence in items(page(found), "glue")


def test_urea_resin_cold_and_hot_and_white_glue(catalogue: Catalogue) -> None:
    # common practice, no source: six hours cold in the clamps, till next day on the former; cold water washes
    # urea resin from the spreader, hot water sets it
    bent = PACK + "mould: {radius: 300 mm}\n"
    cold = page(of(catalogue, bent + "glue: {adhesive: urea-formaldehyde}\npress: {cold: 20 C}"))
    assert any("6 to 12 h" in s for s in items(cold, "press"))
    assert any("till next day" in s for s in items(cold, "press"))
    assert any("cold water" in s for s in items(cold, "after"))
    hot = page(of(catalogue, bent + "glue: {adhesive: urea-formaldehyde}\npress: {heated: 104 C}"))
    assert any("slowly" in s and "steam" in s for s in items(hot, "press"))
    assert not any("till next day" in s for s in items(hot, "press"))
    white = page(of(catalogue, bent + "glue: {adhesive: PVA D3}\npress: {cold: 20 C}"))
    assert not any("cold water" in s for s in items(white, "after"))
    assert any("Wash the spreader" in s for s in items(white, "after"))


def test_what_stops_or_wants_mending_stands_first(catalogue: Catalogue) -> None:
    cold = page(
        of(
            catalogue,
            PACK + "glue: {adhesive: urea-formaldehyde}\npress: {cold: 5 C}\nmould: {radius: 300 mm}",
        )
    )
    box = cold.select_one("section.halt")
    assert box is not None and "Do not press before this is settled" in box.get_text()
    assert "does not set soundly" in box.get_text()
    tray = page(demo(catalogue, "tray-unbalanced")).select_one("section.halt")
    assert tray is not None and "To mend before it is pressed" in tray.get_text()
    assert page(demo(catalogue, "seat-shell")).select_one("section.halt") is None


@pytest.mark.parametrize("name", ["seat-shell", "tray-unbalanced", "drum-shell", "lamp-shade-two-radii"])
def test_the_page_is_whole_and_quiet(catalogue: Catalogue, name: str) -> None:
    found = demo(catalogue, name)
    text = bench_card(found)
    soup = BeautifulSoup(text, "html.parser")
    assert len(soup.find_all("h1")) == 1 and soup.html is not None and soup.html["lang"] == "en"
    assert not soup.find_all(["script", "link", "img", "iframe"])
    assert not re.search(r"\son\w+=|https?:|None|nan\b", text)
    assert [str(d.get_text()) for d in soup.select("dl.write dt")][:1] == ["Date"]
    for heading in soup.find_all("h2"):
        assert soup.find(attrs={"aria-labelledby": heading["id"]}) is not None
    for caution in found.cautions:
        assert caution in " ".join(soup.get_text().split())


def test_left_out_sizes_and_a_hostile_title_are_told(catalogue: Catalogue) -> None:
    body = "title: '<script>alert(1)</script>'\n" + PACK.replace("panel:", "#") + "mould: {radius: 300 mm}"
    text = bench_card(of(catalogue, body))
    assert "<script>" not in text and "&lt;script&gt;" in text
    assert "size not given" in text and "the file names no glue" in text
