"""The pack drawn: to scale, in words, safe with any title."""

from __future__ import annotations

import datetime as dt
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from woodref.catalogue.reader import Catalogue
from woodref.layup.drawing import draw, in_words
from woodref.layup.edgedrawing import THINNEST
from woodref.layup.reader import load_layup, read_layup
from woodref.layup.report import Report, report
from woodref.science.colour import lab_to_hex

ON = dt.date(2026, 6, 1)
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
SVG = "{http://www.w3.org/2000/svg}"
DEMOS = ["seat-shell", "tray-unbalanced", "drum-shell", "lamp-shade-two-radii"]


def demo(catalogue: Catalogue, name: str, system: str = "metric") -> Report:
    return report(read_layup(DEMO / f"{name}.yaml"), catalogue, ON, system=system)


def of(catalogue: Catalogue, text: str, system: str = "metric") -> Report:
    return report(load_layup(text.encode(), "drawn.yaml"), catalogue, ON, system=system)


def drawn(found: Report) -> ET.Element:
    return ET.fromstring(draw(found))


def texts(root: ET.Element) -> list[str]:
    return [t.text or "" for t in root.iter(f"{SVG}text")]


def kind(element: ET.Element) -> list[str]:
    return element.attrib.get("class", "").split()


def plies(root: ET.Element) -> list[ET.Element]:
    return [r for r in root.iter(f"{SVG}rect") if "pd-ply" in kind(r)]


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", DEMOS)
def test_every_ply_is_drawn_to_the_stated_scale_and_told(
    catalogue: Catalogue, name: str, system: str
) -> None:
    found = demo(catalogue, name, system)
    root = drawn(found)
    rects, sheets = plies(root), found.pack.sheets
    assert len(rects) == len(sheets)
    # the viewBox over the width on paper is what a millimetre is drawn as
    wide = float(root.attrib["viewBox"].split()[2])
    per_mm = wide / float(root.attrib["width"].removesuffix("mm"))
    (said,) = [re.search(r"Thickness (\d+) times life size at 160 mm wide", t) for t in texts(root)[1:2]]
    assert said is not None and root.attrib["width"] == "160mm"
    for rect, sheet in zip(rects, sheets, strict=True):
        assert float(rect.attrib["height"]) == pytest.approx(
            sheet.thickness * per_mm * int(said[1]), abs=0.006
        )
    # one lies on the other
    for upper, lower in pairwise(rects):
        assert float(upper.attrib["y"]) + float(upper.attrib["height"]) == pytest.approx(
            float(lower.attrib["y"]), abs=0.02
        )
    labels = [t.text for t in root.iter(f"{SVG}text") if float(t.attrib["x"]) > 100 and not kind(t)]
    assert labels == [f"{s.number} {s.name}, {found.say.mm(s.thickness)}" for s in sheets]
    desc = root.findtext(f"{SVG}desc") or ""
    for sheet in sheets:
        assert f"Ply {sheet.number}: {sheet.name}, {found.say.mm(sheet.thickness)}, " in desc
    assert root.attrib["role"] == "img" and root.findtext(f"{SVG}title") == found.headline()
    ids = {e.attrib["id"] for e in root.iter() if "id" in e.attrib}
    assert set(root.attrib["aria-labelledby"].split()) == ids


@pytest.mark.parametrize("name", DEMOS)
def test_no_words_lie_over_one_another(catalogue: Catalogue, name: str) -> None:
    found = drawn(demo(catalogue, name))
    lines = [t for t in found.iter(f"{SVG}text") if "text-anchor" not in t.attrib]
    at = [float(t.attrib["y"]) for t in lines]
    assert all(below - above >= 15 for above, below in pairwise(at))
    assert at[-1] < float(found.attrib["viewBox"].split()[3])


def test_a_ply_too_thin_to_be_seen_is_drawn_thicker_and_said(catalogue: Catalogue) -> None:
    found = drawn(
        of(
            catalogue,
            "plies: [{unidentified: foil, thickness: 0.1 mm, grain: 0},"
            " {material: birch plywood, thickness: 50 mm, grain: 0}]",
        )
    )
    thin, board = (float(r.attrib["height"]) for r in plies(found))
    assert thin == THINNEST and board == pytest.approx(50 * 2.5, abs=0.006)
    assert "Ply 1 is thinner than drawn, or would not be seen." in texts(found)
    assert "Thickness life size at 160 mm wide" in texts(found)


def test_grain_is_told_without_colour(catalogue: Catalogue) -> None:
    text = "plies:\n" + "".join(
        f"  - {{material: Betula pendula, thickness: 1.5 mm, grain: {grain}{more}}}\n"
        for grain, more in ((0, ""), (90, ""), (30, ""), (-30, ""), (0, ", cut: burr"))
    )
    root = drawn(of(catalogue, text + "  - {material: birch plywood, thickness: 4 mm, grain: 90}\n"))
    paths = [p.attrib["d"] for p in root.iter(f"{SVG}path") if "pd-grain" in kind(p)]
    assert len(paths) == 5 and len(set(paths)) == 5  # nothing on the board
    long, cross, up, down, burr = paths
    assert "H" in long and "a" not in long
    assert "a0.6" in cross and "a0.6" not in burr and "a" in burr
    for path, rises in ((up, True), (down, False)):
        (x1, y1), (x2, y2) = (tuple(map(float, p)) for p in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", path)[:2])
        assert (x2 > x1) == rises and y2 < y1
    words = " ".join(texts(root))
    for told in ("long grain", "cross grain", "grain at 30 degrees", "grain at -30 degrees",
                 "board laid crosswise", "Lines: long grain. Dots: cross grain."):  # fmt: skip
        assert told in words


def test_the_wedges_point_into_the_spread_plies(catalogue: Catalogue) -> None:
    # seat shell: long plies 1, 3, 5 and 7 are spread (common practice, no source); lines from the show face
    found = demo(catalogue, "seat-shell")
    root, into = drawn(found), []
    rects = [(float(r.attrib["y"]), float(r.attrib["height"])) for r in plies(root)]
    for wedge in root.iter(f"{SVG}polygon"):
        (_, line), _, (_, tip) = (tuple(map(float, p.split(","))) for p in wedge.attrib["points"].split())
        middle = (line + tip) / 2
        into.append(next(k + 1 for k, (y, tall) in enumerate(rects) if y < middle < y + tall))
    assert into == [1, 3, 3, 5, 5, 7] == sorted(line.spread_on for line in found.spreading.lines)
    words = in_words(found)
    assert "Ply 1: black walnut, 0.6 mm, long grain, inner side spread." in words
    assert "Ply 3: yellow poplar, 1.5 mm, long grain, both sides spread." in words
    assert "Ply 2: yellow poplar, 1.5 mm, cross grain, stays dry." in words


def arcs(root: ET.Element) -> list[list[float]]:
    """Numbers of the arcs of a flat part."""
    found = [p.attrib["d"] for p in root.iter(f"{SVG}path") if "pd-part" in kind(p)]
    return [[float(n) for n in re.findall(r"-?[\d.]+", d)] for d in found]


def test_a_flat_part_is_drawn_with_its_bow_and_cup(catalogue: Catalogue) -> None:
    tray = demo(catalogue, "tray-unbalanced")
    dry, root = tray.shape.dry, drawn(tray)
    assert dry is not None and dry.bow is not None and dry.cup is not None
    bow, cup = ((-numbers[3], numbers[4]) for numbers in arcs(root))
    # twice the rise is the height of a quadratic curve's handle: both rises to one scale, signs kept
    assert bow[0] / dry.bow == pytest.approx(cup[0] / dry.cup, rel=0.01)
    for rise, size, line in ((dry.bow, 450, "Length"), (dry.cup, 320, "Width")):
        high = abs(bow[0] / dry.bow) / 2 * size / bow[1]
        told = next(t for t in texts(root) if t.startswith(f"{line} {size} mm: about {abs(rise):.1f} mm"))
        times = re.search(r"drawn (\d+) times too high", told)
        assert times is not None and float(times[1]) == pytest.approx(high, abs=0.52)
    assert any("show face hollow" in s for s in in_words(tray))
    # no size: the way of the curl alone
    two = of(
        catalogue,
        "plies: [{material: red alder, thickness: 0.6 mm, grain: 0},"
        " {material: yellow-poplar, thickness: 1.5 mm, grain: 90}]",
    )
    assert [numbers[3] < 0 for numbers in arcs(drawn(two))] == [True, False]
    assert "Length not given: show face round" in texts(drawn(two))
    assert any("so no rise" in s for s in in_words(two))


def test_a_bend_is_drawn_as_pressed_and_in_dry_air(catalogue: Catalogue) -> None:
    seat = demo(catalogue, "seat-shell")
    assert seat.curve is not None and seat.curve.dry.total is not None
    lines = [p for p in drawn(seat).iter(f"{SVG}polyline")]
    assert [kind(p) for p in lines] == [["pd-part"], ["pd-part", "pd-dry", "pd-thin"]]
    ends = []
    for line in lines:
        points = [tuple(map(float, p.split(","))) for p in line.attrib["points"].split()]
        # hollow show face up: the middle lies lowest
        assert max(points, key=lambda p: p[1]) == points[len(points) // 2]
        ends.append(points[-1][0] - points[0][0])
    assert (ends[1] < ends[0]) == (seat.curve.dry.total > 0)
    words = in_words(seat)
    assert seat.curve.sentences[0] in words and "The show face is on the hollow side." in words
    lamp = demo(catalogue, "lamp-shade-two-radii")
    assert len(list(drawn(lamp).iter(f"{SVG}polyline"))) == 1  # holds to a tenth of a degree
    assert "It is round the other way too, which is not drawn." in in_words(lamp)


def test_a_ring_is_drawn_with_its_joints_round(catalogue: Catalogue) -> None:
    drum = demo(catalogue, "drum-shell")
    root = drawn(drum)
    rounds = [p for p in root.iter(f"{SVG}path") if "pd-part" in kind(p)]
    assert len(rounds) == 6
    radii = [float(re.findall(r"A([\d.]+)", p.attrib["d"])[0]) for p in rounds]
    # show face against a hollow mould: ply 1 is the outermost
    assert radii == sorted(radii, reverse=True)
    numbers = [t.text for t in root.iter(f"{SVG}text") if "text-anchor" in t.attrib]
    assert numbers == ["1", "2", "3", "4", "5", "6"]
    assert any(s.startswith("Spread the closing joints") for s in in_words(drum))


@pytest.mark.parametrize("count", [1, 2, 3, 60])
@pytest.mark.parametrize("mould", ["{flat: true}", "{radius: 900 mm}", "{radius: 900 mm, closed: true}"])
def test_any_number_of_plies_is_drawn(catalogue: Catalogue, count: int, mould: str) -> None:
    found = of(
        catalogue,
        f"plies: [{{repeat: {count}, material: Betula pendula, thickness: 0.9 mm, grain: 0}}]\n"
        f"mould: {mould}\nglue: {{adhesive: epoxy}}\n",
    )
    root = drawn(found)
    assert len(plies(root)) == count == (root.findtext(f"{SVG}desc") or "").count("Ply ")
    assert "nan" not in draw(found) and "inf" not in draw(found).replace("info", "")


@pytest.mark.parametrize("wrong", ["\\0", "\\x1b", "\\uFFFE"])
def test_a_hostile_title_and_name_stay_text(catalogue: Catalogue, wrong: str) -> None:
    found = of(
        catalogue,
        f'title: "</title><script>alert(1)</script>{wrong}"\n'
        "plies: [{unidentified: '\"><svg onload=x>', thickness: 0.1 mm, grain: 30},"
        f" {{unidentified: {'long' * 30}, thickness: 50 mm, grain: 0}}]",
        "us",
    )
    text = draw(found)
    root = ET.fromstring(text.encode("utf-8"))
    tags = {e.tag.removeprefix(SVG) for e in root.iter()}
    assert tags <= {"svg", "title", "desc", "style", "text", "rect", "path", "polyline", "polygon"}
    keys = {key for e in root.iter() for key in e.attrib}
    assert not any(key.startswith("on") or "href" in key or key == "style" for key in keys)
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "") and "url(" not in text
    assert "</title><script>alert(1)</script>" in (root.findtext(f"{SVG}title") or "")
    assert "long" * 30 in "".join(texts(root))  # broken, not cut


def test_wood_is_drawn_in_the_colour_of_its_class(catalogue: Catalogue) -> None:
    found = demo(catalogue, "drum-shell")
    look = found.pack.sheets[0].material.look["class"]  # type: ignore[union-attr]
    assert 'fill="#abcdef"' in draw(found, {look: "#abcdef"})
    assert "url(" not in draw(found, {look: "url(x)"})
    assert all("fill" not in r.attrib for r in plies(drawn(found)))
    # marks on a dark wood are pale, on a pale one dark
    seat = demo(catalogue, "seat-shell")
    colours = {name: lab_to_hex(c.lab) for name, c in catalogue.colour_classes.items()}
    marks = [kind(p) for p in ET.fromstring(draw(seat, colours)).iter(f"{SVG}path") if "pd-grain" in kind(p)]
    assert ["pd-pale" in m for m in marks] == [True, *[False] * 5, True]
