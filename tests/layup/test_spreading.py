"""Glue: which surface of each line is spread, how many grams, how long it stays open, what comes through."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup, UnknownName, WoodrefError
from woodref.layup.findings import Finding
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def ply(wood: str = "Betula pendula", cut: str = "rotary", mm: float = 1.5, grain: float = 0) -> str:
    return f"{{material: {wood}, cut: {cut}, thickness: {mm} mm, grain: {grain}, moisture: 7 %}}"


FACE = ply("Juglans regia", "crown", 0.6)
CROSS, LONG = ply(grain=90), ply()
BOARD = "{material: medium-density-fibreboard, thickness: 12 mm, grain: 0, moisture: 7 %}"
UREA = "glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}\n"
SIZE = "panel: {length: 400 mm, width: 300 mm, trim: 10 mm}\n"


def of(catalogue: Catalogue, plies: list[str], rest: str = UREA) -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + rest
    return report(load_layup(body.encode(), "x.yaml"), catalogue, ON)


def told(found: Report, code: str) -> list[Finding]:
    return [f for f in found.findings if f.code == code]


def spread_on(found: Report) -> list[int]:
    return [line.spread_on for line in found.spreading.lines]


# --- which surface


@pytest.mark.parametrize("show", ["away", "against-mould"])
def test_the_long_grain_ply_of_each_line_is_spread(catalogue: Catalogue, show: str) -> None:
    # common practice, no source: long-grain plies are spread, cross-grain ones roll up under the roller
    mould = f"mould: {{radius: 900 mm, show_side: {show}}}\n"
    found = of(catalogue, [FACE, CROSS, LONG, CROSS, FACE], UREA + mould)
    assert spread_on(found) == [1, 3, 3, 5]
    assert [line.side for line in found.spreading.lines] == [
        "its inner side", "the side towards the show face", "the side towards the back", "its inner side"
    ]  # fmt: skip
    assert not told(found, "spread-cross")
    assert (
        "Spread plies 1 and 5 on their inner sides; ply 3 on both sides; the others stay dry. "
        "Roll along the grain." in found.spreading.sentences
    )


def test_a_pack_that_begins_across_spreads_its_inner_long_plies(catalogue: Catalogue) -> None:
    found = of(catalogue, [CROSS, LONG, CROSS])
    assert spread_on(found) == [2, 2]
    assert [line.side for line in found.spreading.lines] == [
        "the side towards the show face", "the side towards the back"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("mould", "spread"),
    [
        ("", [2, 3]),  # flat: the show face lies up, so the lower of each two has the greater number
        ("mould: {radius: 900 mm, face: convex, show_side: away}\n", [2, 3]),
        ("mould: {radius: 900 mm, face: concave, show_side: away}\n", [2, 3]),
        ("mould: {radius: 900 mm, face: convex, show_side: against-mould}\n", [1, 2]),
        ("mould: {radius: 900 mm, face: concave, show_side: against-mould}\n", [1, 2]),
    ],
)
def test_of_two_long_plies_the_lower_as_they_lie(catalogue: Catalogue, mould: str, spread: list[int]) -> None:
    found = of(catalogue, [FACE, LONG, FACE], UREA + mould)
    assert spread_on(found) == spread
    assert {line.why for line in found.spreading.lines} == {"both are long-grain: the lower one as they lie"}


def test_two_cross_plies_are_a_finding(catalogue: Catalogue) -> None:
    # common practice, no source
    found = of(catalogue, [FACE, CROSS, CROSS, FACE])
    (finding,) = told(found, "spread-cross")
    assert finding.severity == "mend" and finding.ply == 2
    assert finding.message.startswith("Plies 2 and 3 are both cross-grain:")
    assert spread_on(found) == [1, 3, 4]
    three = of(catalogue, [FACE, CROSS, CROSS, CROSS, FACE])
    assert told(three, "spread-cross")[0].message.startswith("Plies 2 to 4 are cross-grain")
    two_places = of(catalogue, [CROSS, CROSS, LONG, CROSS, CROSS])
    assert told(two_places, "spread-cross")[0].message.startswith("Plies 1 and 2 and 4 and 5 are cross-grain")


def test_the_board_is_spread_not_the_leaf(catalogue: Catalogue) -> None:
    # common practice, no source: a leaf rolls up, a board does not
    for leaf in (FACE, ply(grain=90, mm=0.6)):
        found = of(catalogue, [leaf, BOARD, leaf])
        assert spread_on(found) == [2, 2] and not told(found, "spread-cross")


@COMMON
@given(
    grains=st.lists(st.integers(-90, 90), min_size=1, max_size=9),
    show=st.sampled_from(["away", "against-mould"]),
)
def test_each_line_has_one_spread_surface(catalogue: Catalogue, grains: list[int], show: str) -> None:
    rest = UREA + f"mould: {{radius: 900 mm, show_side: {show}}}\n"
    found = of(catalogue, [ply(grain=g) for g in grains], rest)
    lines = found.spreading.lines
    assert [line.number for line in lines] == list(range(1, len(grains)))
    for line in lines:
        pair = (line.upper.number, line.lower.number)
        assert pair == (line.number, line.number + 1) and line.spread_on in pair
        # 45 degrees and beyond counts as across (our rule)
        long = [n for n in pair if abs(grains[n - 1]) < 45]
        lower = max(pair) if show == "away" else min(pair)
        assert line.spread_on == (long[0] if len(long) == 1 else lower)
    # no surface is spread twice: a ply has two sides
    assert all(spread_on(found).count(n) <= 2 for n in range(1, len(grains) + 1))
    crossed = any(abs(a) >= 45 and abs(b) >= 45 for a, b in pairwise(grains))
    assert bool(told(found, "spread-cross")) is crossed


# --- grams


def test_grams_are_spread_times_area(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, CROSS, FACE], UREA + SIZE.replace("trim", "count: 5, trim"))
    # by hand: 420 x 320 mm with the trim is 0.1344 m2, at 110 g/m2 14.784 g a line, two lines
    assert [line.grams for line in found.spreading.lines] == pytest.approx([14.784, 14.784])
    assert found.spreading.total == pytest.approx(29.568)
    assert (
        "That is 15 g a line, 30 g a part, 148 g for 5 parts, wet glue and nothing for the pot."
        in found.spreading.sentences
    )
    assert found.as_dict()["glue"]["total_g"] == 29.6


def test_a_bent_pack_is_spread_by_its_longest_ply(catalogue: Catalogue) -> None:
    # by hand: show face inside at 300 - 2.7 = 297.3 mm, 400 mm of it turn 400/297.3; the last ply's middle
    # lies 2.4 mm deeper, so it is 400 x (1 + 2.4/297.3) = 403.229 mm long
    rest = UREA + SIZE + "mould: {radius: 300 mm, face: concave, show_side: away}\n"
    found = of(catalogue, [FACE, CROSS, FACE], rest)
    assert found.spreading.lines[0].area == pytest.approx((0.400 * (1 + 2.4 / 297.3) + 0.020) * 0.320)


def test_a_ring_is_spread_all_round(catalogue: Catalogue) -> None:
    rest = UREA + "mould: {radius: 180 mm, closed: true}\npanel: {width: 90 mm, trim: 10 mm}\n"
    found = of(catalogue, [LONG, LONG], rest)
    # by hand: round a plug of 180 mm the outer ply's middle lies at 182.25 mm
    assert found.spreading.lines[0].area == pytest.approx(2 * 3.14159265 * 0.18225 * 0.110)


def test_the_middle_of_the_band_is_taken_where_no_spread_is_given(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, CROSS, FACE], "glue: {adhesive: urea-formaldehyde}\n")
    assert {line.spread for line in found.spreading.lines} == {130.0}  # its file: 100 to 160
    assert found.spreading.total is None
    assert "How many grams is left out: the file gives no panel size." in found.spreading.sentences


def test_two_glues_line_by_line(catalogue: Catalogue) -> None:
    lines = "glue: {lines: [{adhesive: epoxy, spread: 180 g/m2}, {adhesive: PVA D3, spread: 120 g/m2}]}\n"
    found = of(catalogue, [FACE, CROSS, FACE], lines + SIZE)
    first, last = found.spreading.lines
    assert (first.glue["id"], last.glue["id"]) == ("epoxy", "pva-d3")
    assert (first.grams, last.grams) == pytest.approx((180 * 0.1344, 120 * 0.1344))
    assert found.spreading.total == pytest.approx(300 * 0.1344)
    assert "epoxy and PVA glue D3, 180 g/m2 and 120 g/m2 on one surface of each line." in (
        found.spreading.sentences
    )
    # the quicker of the two rules the time: white glue, five to ten minutes
    assert found.spreading.open_min == pytest.approx((5, 10))
    # only the white glue's line brings water: half of 120 g/m2
    white = of(catalogue, [FACE, CROSS, FACE], lines.replace("epoxy, spread: 180", "PVA D3, spread: 120"))
    assert found.moist.points == pytest.approx((white.moist.points or 0) / 2)


def test_a_glue_named_once_serves_lines_that_name_none(catalogue: Catalogue) -> None:
    some = "glue: {adhesive: epoxy, spread: 200 g/m2, lines: [{spread: 150 g/m2}, {adhesive: PVA D3}]}\n"
    first, last = of(catalogue, [FACE, CROSS, FACE], some).spreading.lines
    assert (first.glue["id"], first.spread) == ("epoxy", 150)
    assert (last.glue["id"], last.spread) == ("pva-d3", 200)


def test_as_many_lines_as_the_pack_has(catalogue: Catalogue) -> None:
    with pytest.raises(BadLayup, match="1 glue lines for 3 plies"):
        of(catalogue, [FACE, CROSS, FACE], "glue: {lines: [{adhesive: epoxy}]}\n")
    with pytest.raises(WoodrefError) as caught:
        of(catalogue, [FACE, CROSS, FACE], "glue: {adhesive: porridge}\n")
    assert isinstance(caught.value, UnknownName) and caught.value.where == "x.yaml:5"


# --- time and water


def test_it_stays_open_for_less_time_when_it_is_warmer(catalogue: Catalogue) -> None:
    times = []
    for warm in (12, 16, 20, 25, 30):
        found = of(catalogue, [FACE, CROSS, FACE], UREA + f"press: {{cold: {warm} C}}\n")
        assert found.spreading.open_min is not None
        times.append(found.spreading.open_min)
    assert times == sorted(times, reverse=True) and len(set(times)) == 5
    assert times[2] == pytest.approx((10, 20))  # its file, at 20 C
    # common practice, no source: six hours at 20 C and ten minutes at 60 C are 36 to 1 over forty degrees,
    # some 2.4 to 1 for each ten, more of it at the cold end
    assert 2.4 < times[2][0] / times[4][0] < 3


def test_a_heated_mould_is_spread_for_in_the_room(catalogue: Catalogue) -> None:
    hot = of(catalogue, [FACE, CROSS, FACE], UREA + "press: {heated: 90 C}\nroom: {temperature: 20 C}\n")
    assert hot.spreading.open_min == pytest.approx((10, 20))


def test_more_than_a_hand_can_spread_in_time(catalogue: Catalogue) -> None:
    big = "panel: {length: 2400 mm, width: 1200 mm, trim: 0 mm}\n"
    plies = [FACE, CROSS, LONG, CROSS, LONG, CROSS, LONG, CROSS, FACE]
    found = of(catalogue, plies, UREA + big)
    # by hand: 8 lines of 2.88 m2 are 23 m2; a practised hand spreads one a minute, the glue has 20 minutes
    (finding,) = told(found, "open-time")
    assert "8 lines of 2.88 m2 take 23 min" in finding.message and "20 min at most" in finding.message
    assert not told(of(catalogue, plies[:3] + plies[-2:], UREA + big), "open-time")  # 4 lines, 11.5 min


@pytest.mark.parametrize(("glue", "water"), [("epoxy", False), ("polyurethane-one-part", False),
                                             ("urea-formaldehyde", True), ("PVA D3", True),
                                             ("hide glue", True)])  # fmt: skip
def test_which_glues_bring_water(catalogue: Catalogue, glue: str, water: bool) -> None:
    # published: one-part polyurethane takes water from the wood (Wood Handbook ch. 10); epoxy has no solvent
    found = of(catalogue, [FACE, CROSS, FACE], f"glue: {{adhesive: {glue}, spread: 150 g/m2}}\n")
    points = found.moist.points
    assert points is not None and (points > 1) is water
    assert found.moist.mean == pytest.approx(7 + points) and (points == 0) is not water


def test_water_points_by_hand(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG, LONG])
    dry = sum(s.dry_mass or 0 for s in found.pack.sheets)
    # by hand: 110 g/m2 at 65 % solids bring 38.5 g/m2 of water
    assert found.moist.points == pytest.approx(100 * 38.5 / dry)
    assert 1500 < dry < 2000  # 3 mm of birch, some 600 kg/m3 oven-dry


# --- what comes through


@pytest.mark.parametrize(
    ("face", "cut", "mm", "glue", "severity"),
    [
        # common practice, no source: open-pored thin leaves let glue through, thick and close ones do not
        ("Quercus robur", "crown", 0.6, "epoxy", "mend"),
        ("Fraxinus excelsior", "crown", 0.7, "urea-formaldehyde", "mend"),
        ("Fraxinus excelsior", "crown", 0.8, "urea-formaldehyde", None),
        ("Acer pseudoplatanus", "crown", 0.6, "urea-formaldehyde", None),
    ],
)
def test_glue_comes_through_thin_faces_of_open_woods_alone(
    catalogue: Catalogue, face: str, cut: str, mm: float, glue: str, severity: str | None
) -> None:
    leaf = ply(face, cut, mm)
    close = ply("Acer pseudoplatanus", "crown", 1.0)
    rest = f"glue: {{adhesive: {glue}}}\n"
    as_face = told(of(catalogue, [leaf, CROSS, close], rest), "bleed-through")
    assert [(f.severity, f.ply) for f in as_face] == ([(severity, 1)] if severity else [])
    as_back = told(of(catalogue, [close, CROSS, leaf], rest), "bleed-through")
    assert [(f.severity, f.ply) for f in as_back] == ([("mind", 3)] if severity else [])
    # inside a pack nobody sees it
    assert not told(of(catalogue, [close, leaf, close], rest), "bleed-through")


def test_nothing_to_spread(catalogue: Catalogue) -> None:
    assert of(catalogue, [FACE]).spreading.sentences == ("A single sheet has no glue line.",)
    bare = of(catalogue, [FACE, CROSS], "")
    assert bare.spreading.lines == () and "the file names no glue" in bare.spreading.sentences[0]
