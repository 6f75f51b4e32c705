"""Moisture when the glue sets, and the bend: what springs back, how air turns it, rings, double curves."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.layup.findings import Finding
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def ply(
    wood: str = "Betula pendula",
    cut: str = "rotary",
    mm: float = 1.5,
    grain: float = 0,
    wet: float | None = 7,
) -> str:
    moisture = "" if wet is None else f", moisture: {wet} %"
    return f"{{material: {wood}, cut: {cut}, thickness: {mm} mm, grain: {grain}{moisture}}}"


FACE = ply("Juglans regia", "crown", 0.6)
CROSS, LONG = ply(grain=90), ply()
PACK = [FACE, CROSS, FACE]
UREA = "glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}\n"
EPOXY = "glue: {adhesive: epoxy, spread: 180 g/m2}\n"
BENT = "mould: {radius: 300 mm, angle: 60}\n"
DOUBLE = "mould: {radius: 1200 mm, second_radius: 1200 mm}\n"
SIZE = "panel: {length: 400 mm, width: 300 mm}\n"


def of(catalogue: Catalogue, plies: list[str], rest: str = "") -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + rest
    return report(load_layup(body.encode(), "x.yaml"), catalogue, ON)


def told(found: Report, code: str) -> list[Finding]:
    return [f for f in found.findings if f.code == code]


def stay(found: Report) -> list[str]:
    heading, lines = found.page()[0]
    assert heading in ("Will it keep its bend?", "Will it stay flat?")
    return lines


# --- moisture


@pytest.mark.parametrize("rest", ["", UREA, EPOXY + BENT, UREA + "press: {heated: 70 C}\n", UREA + SIZE])
def test_moisture_is_the_first_thing_told(catalogue: Catalogue, rest: str) -> None:
    found = of(catalogue, PACK, rest)
    first = stay(found)[0]
    assert first.startswith("The part sets at ") and "will live at 6 to 12 %" in first
    # published: WH Eq. 4-5 gives 6.2 % at 30 % and 12.0 % at 65 % humidity and 20 C
    assert (found.moist.dry, found.moist.damp) == pytest.approx((6.2, 12.0), abs=0.1)


def test_cold_it_sets_at_its_own_moisture_and_the_water_of_the_glue(catalogue: Catalogue) -> None:
    found = of(catalogue, PACK, UREA)
    dry = sum(s.dry_mass or 0 for s in found.pack.sheets)
    # by hand: two lines of 110 g/m2, 35 % of it water
    points = 100 * 2 * 110 * 0.35 / dry
    assert found.moist.points == pytest.approx(points) and found.moist.mean == pytest.approx(7 + points)
    assert found.moist.at_set == pytest.approx((7 + points,) * 3)
    assert (
        f"about {7 + points:.0f} % moisture (laid at 7 %, the glue adds {points:.0f} points)"
        in stay(found)[0]
    )


def test_much_glue_on_a_thin_pack(catalogue: Catalogue) -> None:
    thin = [ply(mm=0.5, grain=90 * (k % 2)) for k in range(9)]
    found = of(catalogue, thin, "glue: {adhesive: PVA D3, spread: 180 g/m2}\n")
    assert found.moist.points is not None and found.moist.points > 15
    (wet,) = told(found, "wet-set")
    (water,) = told(found, "glue-water")
    assert wet.severity == water.severity == "mend"
    assert f"{found.moist.mean - found.moist.middle:.0f} points wetter than the middle" in wet.message
    assert f"wets the pack by {found.moist.points:.0f} points" in water.message
    lean = of(catalogue, PACK, UREA.replace("110", "30"))
    assert not told(lean, "wet-set") and not told(lean, "glue-water")
    # epoxy brings none, however thin
    dry = of(catalogue, thin, EPOXY)
    assert not told(dry, "wet-set") and not told(dry, "glue-water")
    # in the heat it dries again, but the sheets were wet while they were pressed
    hot = of(catalogue, thin, "glue: {adhesive: PVA D3, spread: 180 g/m2}\npress: {heated: 70 C}\n")
    assert not told(hot, "wet-set") and told(hot, "glue-water")
    assert "Before the heat drives it off the glue wets the pack by" in stay(hot)[1]


def test_a_heated_mould_with_and_without_its_moisture(catalogue: Catalogue) -> None:
    # common practice, no source: a heated pack comes down to 5 to 8 %
    taken = of(catalogue, PACK, UREA + "press: {heated: 70 C}\n")
    assert taken.moist.at_set == (6.5,) * 3 and taken.moist.mean == 6.5 and not taken.moist.stated
    assert taken.moist.band is not None and (taken.moist.band.low, taken.moist.band.high) == (5, 8)
    assert "about 6.5 % moisture (usual for a heated mould is 5 to 8 %, a shop rule)" in stay(taken)[0]
    given_ = of(catalogue, PACK, UREA + "press: {heated: 70 C, at_set: 9 %}\n")
    assert given_.moist.at_set == (9,) * 3 and given_.moist.stated and given_.moist.band is None
    assert "about 9 % moisture (as the file states)" in stay(given_)[0]
    assert taken.as_dict()["moisture_at_set_stated"] is False
    assert given_.as_dict()["moisture_at_set_stated"] is True


@pytest.mark.parametrize(
    ("wet", "rest", "plies"),
    [(10, UREA, None), (10.5, UREA, [1, 3]), (10.5, EPOXY, None), (10.5, "", None), (15, UREA, [1, 3])],
)
def test_leaves_too_wet_for_glue_with_water(
    catalogue: Catalogue, wet: float, rest: str, plies: list[int] | None
) -> None:
    face = ply("Juglans regia", "crown", 0.6, wet=wet)
    found = of(catalogue, [face, CROSS, face], rest)
    hits = told(found, "wet-plies")
    assert bool(hits) is (plies is not None)
    if plies:
        assert hits[0].ply == 1 and f"Plies 1 and 3: laid at up to {wet:g} %" in hits[0].message


def test_moisture_that_nobody_gave_is_said_to_be_taken(catalogue: Catalogue) -> None:
    bare = of(catalogue, [ply(wet=None)] * 3, EPOXY)
    assert bare.moist.mean == pytest.approx(8)
    assert "8 % is taken for all plies, since the file gives no moisture: measure it." in stay(bare)
    one = of(catalogue, [LONG, ply(wet=None), LONG], EPOXY)
    assert one.moist.at_set == pytest.approx((7, 8, 7))
    assert "8 % is taken for ply 2, since the file gives no moisture: measure it." in stay(one)
    assert not any("is taken for" in s for s in stay(of(catalogue, PACK, EPOXY)))


# --- at rest


@pytest.mark.parametrize("mould", ["", BENT])
def test_a_balanced_pack_that_sets_as_it_lives_neither_moves_nor_turns(
    catalogue: Catalogue, mould: str
) -> None:
    probe = of(catalogue, PACK, "room: {rh_low: 40 %, rh_high: 40 %}\n").moist.dry
    rest = UREA + "room: {rh_low: 40 %, rh_high: 40 %}\n" + mould
    found = of(
        catalogue, PACK, rest + f"press: {{heated: 70 C, at_set: {probe!r} %}}\n" + ("" if mould else SIZE)
    )
    dry, damp = found.shape.dry, found.shape.damp
    assert dry is not None and damp is not None
    for air in (dry, damp):
        assert max(abs(float(v)) for v in (*air.strain, *air.curvature, air.through)) < 1e-9
        assert not mould or air.bow is None
    if mould:
        assert found.curve is not None and found.curve.dry.total == pytest.approx(0, abs=1e-9)
        assert found.curve.damp.total == pytest.approx(0, abs=1e-9)
        assert found.curve.mould["for_drying"] == pytest.approx(300)
    # elsewhere it does move
    other = of(catalogue, PACK, UREA + mould + "press: {heated: 70 C, at_set: 15 %}\n").shape.dry
    assert other is not None and abs(other.through) > 0.001


def test_a_bend_closes_as_it_dries(catalogue: Catalogue) -> None:
    # published: a change of angle is the angle times (round less through) over (1 + through), the way curved
    # laminates spring in; wood shrinks more through its thickness than along, so drying closes the bend
    found = of(catalogue, [LONG] * 3, EPOXY + BENT + "press: {heated: 40 C, at_set: 12 %}\n")
    assert found.curve is not None and found.curve.angle == pytest.approx(60)
    turned = found.curve.dry
    assert turned.round_ is not None and turned.through is not None and turned.by_formula is not None
    assert turned.by_formula == pytest.approx(60 * (turned.round_ - turned.through) / (1 + turned.through))
    assert turned.by_formula > 0.5 and turned.by_curl == pytest.approx(0, abs=1e-9)


# --- spring


@pytest.mark.parametrize("n", [1, 2, 3, 5, 7, 12])
def test_equal_plies_spring_back_by_one_over_their_number_squared(catalogue: Catalogue, n: int) -> None:
    # published: n plies that slid while they were bent keep all but 1/n2 of their curve (bent lamination,
    # beam theory: each bends alone, n I1, and the glued part springs with n3 I1)
    found = of(catalogue, [LONG] * n, EPOXY + BENT)
    assert found.curve is not None and found.curve.lost == pytest.approx(1 / n**2)
    assert found.as_dict()["springback_pct"] == pytest.approx(100 / n**2, abs=1e-4)
    if n == 5:
        # by hand: the middle lies at 303.75 mm; a mould with 1/(1 - 1/25) of the curve has 0.96 of it
        assert found.curve.mould["for_springback"] == pytest.approx(0.96 * 303.75 - 3.75)


@COMMON
@given(t=st.lists(st.floats(0.3, 4), min_size=2, max_size=9))
def test_more_plies_spring_less_than_one_of_their_thickness(catalogue: Catalogue, t: list[float]) -> None:
    found = of(catalogue, [ply(mm=round(v, 2)) for v in t], EPOXY + BENT)
    sizes = [round(v, 2) for v in t]
    assert found.curve is not None and found.curve.lost is not None
    # by hand for one wood: sum of cubes over the cube of the sum
    assert found.curve.lost == pytest.approx(sum(v**3 for v in sizes) / sum(sizes) ** 3)
    assert 0 < found.curve.lost < 1


@pytest.mark.parametrize(
    ("glue", "gives"),
    [
        ("PVA D2", True), ("PVA D3", True), ("PVA D4", True), ("hide glue", True),
        ("urea-formaldehyde", False), ("resorcinol", False), ("epoxy", False),
        ("melamine-urea-formaldehyde", False),
    ],
)  # fmt: skip
def test_a_glue_that_gives_lets_the_bend_open(catalogue: Catalogue, glue: str, gives: bool) -> None:
    # common practice, no source: white glue and hide glue creep under a lasting load, urea resin does not
    found = of(catalogue, PACK, f"glue: {{adhesive: {glue}}}\n" + BENT)
    assert [f.severity for f in told(found, "creeps")] == (["mend"] if gives else [])
    text = " ".join(stay(found))
    assert ("the bend opens further over months" in text) is gives
    assert found.as_dict()["springback_grows"] is gives
    # a flat part has no spring to hold
    assert not told(of(catalogue, PACK, f"glue: {{adhesive: {glue}}}\n"), "creeps")


@pytest.mark.parametrize("glue", ["PVA D3", "urea-formaldehyde"])
def test_a_ring_does_not_spring_back(catalogue: Catalogue, glue: str) -> None:
    rest = f"glue: {{adhesive: {glue}}}\nmould: {{radius: 180 mm, closed: true}}\npanel: {{width: 90 mm}}\n"
    found = of(catalogue, [LONG] * 3, rest)
    assert found.curve is not None and found.curve.lost is None and not told(found, "creeps")
    assert "A closed ring holds its own bend: nothing springs back." in stay(found)
    assert not any("springs back " in s for s in stay(found))
    ring = found.as_dict()["ring"]
    # by hand: round a plug of 180 mm, 4.5 mm of wall
    assert ring["diameter_pressed_mm"] == {"outer": 369.0, "inner": 360.0}
    assert ring["ply_length_mm"] == pytest.approx(
        [2 * math.pi * r for r in (183.75, 182.25, 180.75)], abs=0.01
    )
    assert ring["scarf_length_mm"] == [12.0] * 3  # one in eight (common practice, no source)


# --- two curves


def test_a_double_curve_by_hand(catalogue: Catalogue) -> None:
    rest = DOUBLE + "panel: {length: 450 mm, width: 420 mm, trim: 20 mm}\n"
    found = of(catalogue, PACK, rest)
    (finding,) = told(found, "double-curve")
    assert finding.severity == "mend"
    assert found.curve is not None and found.curve.double is not None
    # by hand: a flat sheet that lies on both curves is too long at the edges, by L w2/(8 R1 R2)
    double = found.curve.double
    assert double["long_edge"] == pytest.approx(450 * 420**2 / (8 * 1200**2), abs=0.05)
    assert round(double["long_edge"], 1) == 6.9
    assert double["cross_edge"] == pytest.approx(420 * 450**2 / (8 * 1200**2), abs=0.05)
    assert double["blank_long_edge"] == pytest.approx(490 * 460**2 / (8 * 1200**2), abs=0.05)
    text = " ".join(stay(found))
    assert "about 6.9 mm too long along the long edges" in text and "It curves both ways" in text
    assert "up to 9.6 mm too long" in finding.message


def test_a_small_part_of_a_double_curve_lies_down(catalogue: Catalogue) -> None:
    rest = DOUBLE + "panel: {length: 100 mm, width: 80 mm, trim: 0 mm}\n"
    (finding,) = told(of(catalogue, PACK, rest), "double-curve")
    assert finding.severity == "mind"  # a tenth of a millimetre
    (bare,) = told(of(catalogue, PACK, "mould: {radius: 1200 mm, second_radius: 1200 mm}\n"), "double-curve")
    assert bare.severity == "mend" and "too long" not in bare.message
    assert not told(of(catalogue, PACK, "mould: {radius: 1200 mm}\n"), "double-curve")
