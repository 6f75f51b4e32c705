"""Engineered veneers: recipe to sentences, pattern to outlines, and their pages."""

from __future__ import annotations

import json
import math
import re

import numpy as np
import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.explorer.asking import Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.drawn import leaf as drawn
from woodref.explorer.drawn.outlines import path, rings, simpler
from woodref.explorer.page import Answered
from woodref.science.pattern import levels, line_width, sheet_seen
from woodref.selection.madesheets import SKETCH, Block, made_sheet, made_sheets

ZEBRANO = "reconstituted-zebrano-figure"


def page(catalogue: Catalogue, name: str, form: str = "html", **fields: str) -> Answered:
    suffix = "" if form == "html" else f".{form}"
    where = f"/engineered/{name}" if name else "/engineered"
    asked = ask_of(Shop(catalogue), {"name": name, "format": suffix}, list(fields.items()), where + suffix)
    return answer("sheets:sheet" if name else "sheets:sheets", asked)


def block_of(catalogue: Catalogue, name: str, leaf: int = 1) -> Block:
    block = made_sheet(catalogue.material(name), catalogue, leaf).block
    assert block is not None
    return block


# outlines


def area(ring: list[tuple[float, float]]) -> float:
    """Of a ring, by the shoelace."""
    return (
        abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True))) / 2
    )


def test_a_half_of_the_grid_is_outlined_with_its_edge() -> None:
    field = np.tile(np.arange(11.0), (6, 1))
    (ring,) = rings(field, 4.5, 10)
    assert area(ring) == pytest.approx(55 * 50)
    assert min(x for x, _ in ring) == pytest.approx(45)


def test_a_round_hill_gives_one_ring_and_a_crater_two() -> None:
    y, x = np.mgrid[-20:21, -20:21]
    r = np.hypot(x, y)
    (hill,) = rings(-r, -10, 1)
    assert area(hill) == pytest.approx(math.pi * 100, rel=0.01)
    crater = rings(-np.abs(r - 10), -3, 1)
    assert sorted(round(area(ring)) for ring in crater) == pytest.approx(
        [math.pi * 49, math.pi * 169], rel=0.02
    )


@pytest.mark.parametrize("field", [[[1.0, 0.0], [0.0, 1.0]], [[0.0, 1.0], [1.0, 0.0]]])
def test_two_corners_of_a_saddle_join_when_its_middle_lies_inside(field: list[list[float]]) -> None:
    """Apart, each corner is a triangle of sides 0.4 of the cell; joined, all of the cell but two such."""
    (joined,) = rings(np.array(field), 0.4, 1)
    assert area(joined) == pytest.approx(1 - 0.4**2)
    apart = rings(np.array(field), 0.6, 1)
    assert [area(ring) for ring in apart] == pytest.approx([0.4**2 / 2] * 2)


def test_all_inside_is_the_frame_and_nothing_inside_is_nothing() -> None:
    field = np.ones((4, 5))
    (ring,) = rings(field, 0.0, 2)
    assert area(ring) == pytest.approx(8 * 6)
    assert rings(field, 2.0, 2) == []


def test_a_simpler_ring_stays_near() -> None:
    circle = [
        (100 + 50 * math.cos(t / 100 * math.tau), 50 * math.sin(t / 100 * math.tau)) for t in range(100)
    ]
    fewer = simpler(circle, 0.5)
    assert 8 < len(fewer) < 40 and set(fewer) <= set(circle)
    assert area(fewer) == pytest.approx(area(circle), rel=0.03)


def test_a_path_can_be_walked_back() -> None:
    d = path([[(0, 0), (10, 0), (10, 5.5), (0.5, -0.5)]])
    assert d == "M0 0l10 0 0 5.5-9.5-6z"
    assert path([[(0, 0), (1, 1)]]) == ""


# recipes


def test_every_engineered_veneer_is_there_and_says_whether_it_is_drawn(catalogue: Catalogue) -> None:
    found = made_sheets(catalogue)
    assert len(found) == sum(m.kind == "engineered" for m in catalogue.materials())
    for sheet in found:
        has = bool((sheet.material.made_from or {}).get("recipe"))
        assert (sheet.block is not None) is has and bool(sheet.why) is not has
        assert (SKETCH in sheet.sentences) is has
        for line in sheet.sentences:
            assert line[0].isupper() and line.endswith(".") and "1 degrees" not in line


def test_a_repeat_agrees_with_the_leaves_held(catalogue: Catalogue) -> None:
    """The files count repeat over leaf thickness; the slant of the cut makes it fewer, never more."""
    for sheet in made_sheets(catalogue):
        if sheet.block:
            held = (sheet.material.made_from or {})["repeat_leaves"]
            assert round(sheet.block.period / sheet.block.leaf_mm) == held
            assert sheet.block.leaves <= sheet.block.period / sheet.block.leaf_mm + 1e-9


def test_the_zebra_by_hand(catalogue: Catalogue) -> None:
    """Five sheets of 0.7 mm, 8 % thinner in the press, cut at 25 degrees: 0.644 / sin 25 = 1.52 mm a line;
    the next leaf of 0.6 mm moves them by (0.6 / cos 25) / sin 25 = 1.57 mm."""
    sheet = made_sheet(catalogue.material(ZEBRANO), catalogue)
    told = " ".join(sheet.sentences)
    assert "a sheet of 0.64 mm shows 1.5 mm wide" in told and "the lines move 1.6 mm across" in told
    block = block_of(catalogue, ZEBRANO)
    v = np.linspace(0, 5 * 0.644 / math.sin(math.radians(25)), 5001)[:-1]
    seen = sheet_seen(levels(block.mould, block.cut, v * 0, v), block.thicknesses)
    assert [int(np.sum(seen == k)) for k in range(5)] == pytest.approx([1000] * 5, abs=2)


def test_a_leaf_lies_higher_by_its_slant(catalogue: Catalogue) -> None:
    first, third = block_of(catalogue, ZEBRANO), block_of(catalogue, ZEBRANO, 3)
    assert first.z0 == 0 and third.z0 == pytest.approx(2 * 0.6 / math.cos(math.radians(25)))
    assert drawn.pattern(first) != drawn.pattern(third)


def test_other_woods_and_other_leaves_are_refused(catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="no engineered veneer"):
        made_sheet(catalogue.material("tectona-grandis"), catalogue)
    for leaf in (0, 501):
        with pytest.raises(BadRequest):
            made_sheet(catalogue.material(ZEBRANO), catalogue, leaf)


# the drawing


def colour_at(svg: str, x: float, y: float) -> str:
    """The colour painted last over a point, by the even-odd rule."""
    found = re.findall(r'<(rect|path)[^>]*? fill="(#[0-9a-f]{6})"(?: d="([^"]*)")?', svg)
    colour = ""
    for kind, fill, d in found:
        if kind == "rect" or _inside(d, x, y):
            colour = fill
    return colour


def _inside(d: str, x: float, y: float) -> bool:
    crossings = 0
    for part in re.findall(r"M([^z]*)z", d):
        start, _, steps = part.partition("l")
        px, py = map(float, start.split())
        points = [(px, py)]
        numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", steps)]
        for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
            px, py = px + dx, py + dy
            points.append((px, py))
        for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                crossings += 1
    return crossings % 2 == 1


@pytest.mark.parametrize(
    "name",
    [ZEBRANO, "reconstituted-walnut-figure", "reconstituted-rosewood-figure", "reconstituted-pear-figure",
     "reconstituted-birds-eye-figure", "reconstituted-maple-fiddleback-figure"],
)  # fmt: skip
@pytest.mark.parametrize("leaf", [1, 2])
def test_the_picture_shows_the_sheet_that_the_formula_gives(
    catalogue: Catalogue, name: str, leaf: int
) -> None:
    block = block_of(catalogue, name, leaf)
    svg = drawn.pattern(block)
    long, wide = block.window
    rng = np.random.default_rng(7)
    points = rng.uniform((2, 2), (drawn.WIDE - 2, drawn.HIGH - 2), (150, 2))
    u, v = points[:, 0] / drawn.WIDE * long, points[:, 1] / drawn.HIGH * wide
    level = levels(block.mould, block.cut, u, v, block.z0)
    seen = sheet_seen(level, block.thicknesses)
    right = sum(
        colour_at(svg, float(x), float(y)) == block.sheets[k].colour
        for (x, y), k in zip(points, seen.tolist(), strict=True)
    )
    # a point within a pixel of a line may fall on its other side
    assert right >= 0.94 * len(points)


def test_every_drawing_is_small_and_its_lines_can_be_told_apart(catalogue: Catalogue) -> None:
    for sheet in made_sheets(catalogue):
        if sheet.block is None:
            continue
        svg = drawn.leaf(sheet.block, sheet.material.name, " ".join(sheet.sentences))
        assert len(svg.encode()) < 60_000, sheet.material.id
        assert set(re.findall(r'(?<=fill=")#[0-9a-f]{6}', svg)) <= {s.colour for s in sheet.block.sheets}
        long, wide = sheet.block.window
        assert 0 < wide <= 650 and long == pytest.approx(1.5 * wide)
        slope = max(map(abs, (*sheet.block.cut.slopes, *sheet.block.mould.steepest)))
        if slope and not sheet.block.plain:
            assert line_width(min(sheet.block.thicknesses), slope) * drawn.HIGH / wide >= 3.9


@pytest.mark.parametrize(("long", "bar"), [(90, 20), (150, 20), (975, 200), (40, 10), (15, 5)])
def test_the_scale_bar_is_round_and_true(long: float, bar: int) -> None:
    found, length = drawn.scale_bar(long)
    assert found == bar and length == pytest.approx(bar * drawn.WIDE / long)
    assert length <= drawn.WIDE / 3


def test_the_edge_is_as_wide_as_the_repeat(catalogue: Catalogue) -> None:
    block = block_of(catalogue, "reconstituted-wenge-figure")
    rects = BeautifulSoup(drawn.edge(block), "html.parser").find_all("rect", fill=re.compile("#"))
    widths = [float(r["width"]) - 0.4 for r in rects]
    assert sum(widths) == pytest.approx(220, abs=0.5) and len(rects) == len(block.sheets)
    assert widths[0] / widths[1] == pytest.approx(block.thicknesses[0] / block.thicknesses[1], rel=0.02)


# the pages


def test_the_list_leads_to_each(catalogue: Catalogue) -> None:
    answered = page(catalogue, "")
    soup = BeautifulSoup(answered.body, "html.parser")
    told = json.loads(page(catalogue, "", "json").body)
    assert answered.status == 200 and len(soup.find_all("h1")) == 1
    assert {a["href"] for a in soup.select(".blocks a")} == {
        f"/engineered/{row['id']}" for row in told["rows"]
    }
    assert len(answered.body.encode()) < 150_000


def test_a_page_draws_the_leaf_asked_for(catalogue: Catalogue) -> None:
    answered = page(catalogue, ZEBRANO, leaf="2")
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == 200 and len(soup.find_all("h1")) == 1
    assert soup.find("a", rel="next")["href"] == f"/engineered/{ZEBRANO}?leaf=3"
    assert soup.find("a", rel="prev")["href"] == f"/engineered/{ZEBRANO}?leaf=1"
    assert SKETCH in soup.get_text() and soup.select_one("svg.leaf title").get_text().endswith("leaf 2")
    told = json.loads(page(catalogue, ZEBRANO, "json", leaf="2").body)
    assert told["leaf"] == 2 and len(told["sheets"]) == len(soup.select("tbody tr")) == 5
    assert not soup.select("[style]") and not soup.find_all("style")
    first = BeautifulSoup(page(catalogue, ZEBRANO).body, "html.parser")
    assert first.find("a", rel="prev") is None


def test_a_dyed_leaf_is_not_drawn_and_says_why(catalogue: Catalogue) -> None:
    answered = page(catalogue, "dyed-red-sycamore")
    soup = BeautifulSoup(answered.body, "html.parser")
    assert "No pattern is drawn" in soup.get_text() and not soup.find_all("svg")


def test_sheets_of_one_colour_offer_no_next_leaf(catalogue: Catalogue) -> None:
    soup = BeautifulSoup(page(catalogue, "reconstituted-plain-red").body, "html.parser")
    assert soup.find("svg", class_="leaf") and soup.find("a", rel="next") is None


@pytest.mark.parametrize("leaf", ["0", "501", "two", "-1", "1e3", "<b>"])
def test_a_wrong_leaf_is_told_at_the_field(catalogue: Catalogue, leaf: str) -> None:
    answered = page(catalogue, ZEBRANO, leaf=leaf)
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == 400 and soup.find(id="leaf-fault") and "<b>" not in answered.body


def test_a_wood_that_grew_so_and_an_unknown_name(catalogue: Catalogue) -> None:
    answered = page(catalogue, "teak")
    assert answered.status == 400 and "/wood/tectona-grandis" in answered.body
    assert page(catalogue, "reconstituted-zebrono-figure").status == 404


def test_a_long_list_of_sheets_turns_its_pages(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    own = [m for m in catalogue.materials() if m.kind == "engineered"]
    copies = [
        replace(m, id=f"{m.id}-{n}", name=f"{m.name} {n:03}") for m in own for n in range(200 // len(own))
    ]
    monkeypatch.setattr("woodref.explorer.pages.sheets.made_of", lambda _: copies)
    hrefs, path = [], "1"
    while path:
        soup = BeautifulSoup(
            answer("sheets:sheets", ask_of(Shop(catalogue), {}, [("page", path)], "/engineered")).body,
            "html.parser",
        )
        found = [str(a["href"]) for a in soup.select(".blocks a")]
        assert 0 < len(found) <= 50
        hrefs += found
        after = soup.select_one('a[rel="next"]')
        path = str(after["href"]).rpartition("page=")[2] if after else ""
    assert sorted(hrefs) == sorted(f"/engineered/{m.id}" for m in copies)
