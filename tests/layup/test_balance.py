"""Balanced construction: which packs have an equal opposite for every ply, and what each odd pair is told."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.layup.findings import Finding
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
SIZE = "panel: {length: 400 mm, width: 300 mm}\n"


def ply(
    wood: str = "Juglans regia", cut: str = "crown", mm: float = 0.6, grain: float = 0, wet: float = 7
) -> str:
    return f"{{material: {wood}, cut: {cut}, thickness: {mm} mm, grain: {grain}, moisture: {wet} %}}"


FACE = ply()
CROSS = ply("Betula pendula", "rotary", 1.5, 90)
LONG = ply("Betula pendula", "rotary", 1.5, 0)
BOARD = "{material: medium-density-fibreboard, thickness: 12 mm, grain: 0, moisture: 7 %}"


def of(catalogue: Catalogue, plies: list[str], rest: str = "") -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + rest
    return report(load_layup(body.encode(), "x.yaml"), catalogue, ON)


def odd(found: Report) -> list[tuple[int, int, list[str]]]:
    """The pairs that differ, each with the first word of what it differs in."""
    return [(p.upper, p.lower, [d.split(" (")[0] for d in p.differ]) for p in found.mirror.pairs if p.differ]


def told(found: Report, code: str) -> list[Finding]:
    return [f for f in found.findings if f.code == code]


WOODS = st.sampled_from([
    ("Juglans regia", "crown"), ("Juglans regia", "quarter"), ("Betula pendula", "rotary"),
    ("Fagus sylvatica", "rift"), ("Picea abies", "quarter"), ("Populus nigra", "half-round"),
])  # fmt: skip
LEAF = st.builds(
    lambda wood, mm, grain, wet: ply(wood[0], wood[1], mm, grain, wet),
    WOODS,
    st.floats(0.1, 5).map(lambda v: round(v, 2)),
    st.integers(-90, 90),
    st.integers(0, 25),
)


# --- mirrored packs


@COMMON
@given(half=st.lists(LEAF, min_size=0, max_size=4), middle=st.none() | LEAF, glue=st.booleans())
def test_a_mirrored_pack_is_balanced_and_stays_flat(
    catalogue: Catalogue, half: list[str], middle: str | None, glue: bool
) -> None:
    pack = [*half, *([middle] if middle else []), *reversed(half)]
    if not pack:
        pack = [FACE]
    rest = SIZE + ("glue: {adhesive: PVA D3, spread: 150 g/m2}\n" if glue else "")
    found = of(catalogue, pack, rest)
    assert found.mirror.balanced is True and found.mirror.pressed is True
    assert odd(found) == [] and len(found.mirror.pairs) == len(pack) // 2
    assert not [f for f in found.findings if f.code in ("unbalanced", "unbalanced-after-sanding", "warps")]
    stack, dry, damp = found.finished.stack, found.shape.dry, found.shape.damp
    assert stack is not None and dry is not None and damp is not None
    assert np.abs(stack.B).max() <= 1e-9 * np.abs(stack.A).max() * stack.h
    for air in (dry, damp):
        for rise in (air.bow, air.cup, air.twist):
            assert rise == pytest.approx(0, abs=1e-9)


def test_a_pack_without_mirror_does_warp(catalogue: Catalogue) -> None:
    # guards the property above: the same reckoning on an odd pack gives a rise
    found = of(catalogue, [FACE, CROSS], SIZE)
    assert found.mirror.balanced is False and found.finished.stack is not None
    assert found.finished.stack.coupled and found.shape.dry is not None
    assert abs(found.shape.dry.cup or 0) > 1 and told(found, "warps")


def test_one_ply_has_nothing_to_balance(catalogue: Catalogue) -> None:
    found = of(catalogue, [ply(grain=30)])
    assert found.mirror.balanced is True and found.mirror.pairs == ()
    assert found.mirror.sentences[0] == "A single ply: there is nothing to balance."


# --- each way of failing


@pytest.mark.parametrize(
    ("back", "thing", "says"),
    [
        (ply("Betula pendula"), "wood", "European walnut and"),
        (ply(cut="quarter"), "cut", "cut (crown, quarter)"),
        (ply(cut="rift"), "cut", "cut (crown, rift)"),
        (ply(mm=0.7), "thickness", "thickness (0.6 mm, 0.7 mm)"),
        (ply(grain=90), "grain", "grain (0 and 90 degrees)"),
        (ply(grain=-15), "grain", "grain (0 and -15 degrees)"),
        (ply(wet=10), "moisture when laid", "moisture when laid (7 and 10 %)"),
    ],
)
@pytest.mark.parametrize("inside", [False, True])
def test_the_odd_pair_and_its_fault_are_named(
    catalogue: Catalogue, back: str, thing: str, says: str, inside: bool
) -> None:
    plies = [FACE, CROSS, back]
    pair = (1, 3)
    if inside:
        plies, pair = [LONG, FACE, CROSS, LONG, CROSS, back, LONG], (2, 6)
    found = of(catalogue, plies, SIZE)
    assert odd(found) == [(*pair, [thing])]
    assert found.mirror.balanced is False and found.mirror.pressed is False
    (finding,) = told(found, "unbalanced")
    assert finding.ply == pair[0] and finding.severity == "mend"
    assert f"ply {pair[0]} and its opposite, ply {pair[1]}" in finding.message and says in finding.message


def test_two_odd_pairs_are_two_findings(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, CROSS, LONG, LONG, ply(mm=0.9)])
    assert odd(found) == [(1, 5, ["thickness"]), (2, 4, ["grain"])]
    assert [f.ply for f in told(found, "unbalanced")] == [1, 2]
    assert "2 pairs have no equal opposite" in found.mirror.sentences[0]


def test_one_ply_that_differs_in_everything_is_told_all_of_it(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, CROSS, ply("Picea abies", "quarter", 2, 45, 12)])
    assert odd(found) == [(1, 3, ["wood", "thickness", "grain", "moisture when laid"])]


@pytest.mark.parametrize(("back", "balanced"), [(ply(mm=0.625), True), (ply(mm=0.64), False),
                                                (ply(wet=8.5), True), (ply(wet=8.6), False),
                                                (ply(grain=2), True), (ply(grain=3), False)])  # fmt: skip
def test_small_differences_pass(catalogue: Catalogue, back: str, balanced: bool) -> None:
    # one twentieth of thickness, a point and a half of moisture, two degrees: shop rules, no source
    assert of(catalogue, [FACE, CROSS, back]).mirror.balanced is balanced


@pytest.mark.parametrize(("one", "two"), [(-90, 90), (90, -90), (89, -90), (-89.5, 89.5)])
def test_grain_has_no_head_and_no_tail(catalogue: Catalogue, one: float, two: float) -> None:
    assert of(catalogue, [ply(grain=one), LONG, ply(grain=two)]).mirror.balanced is True


@pytest.mark.parametrize(("one", "two"), [("rotary", "crown"), ("crown", "half-round"),
                                          ("rotary", "half-round")])  # fmt: skip
def test_peeled_and_crown_leaves_of_one_wood_are_alike(catalogue: Catalogue, one: str, two: str) -> None:
    # both lie tangential in the log (common practice, no source)
    assert of(catalogue, [ply(cut=one), CROSS, ply(cut=two)]).mirror.balanced is True
    assert of(catalogue, [ply(cut=one), CROSS, ply(cut="quarter")]).mirror.balanced is False


# --- what is not known, and boards


def test_an_unidentified_leaf_pairs_with_its_like_alone(catalogue: Catalogue) -> None:
    attic = "{unidentified: attic leaf, thickness: 0.6 mm, grain: 0, moisture: 7 %}"
    barn = attic.replace("attic", "barn")
    assert of(catalogue, [attic, CROSS, attic]).mirror.balanced is True
    assert odd(of(catalogue, [attic, CROSS, barn])) == [(1, 3, ["wood"])]
    assert odd(of(catalogue, [attic, CROSS, FACE])) == [(1, 3, ["wood"])]


def test_a_burr_does_not_balance_a_plain_leaf(catalogue: Catalogue) -> None:
    found = of(catalogue, [ply(cut="burr"), CROSS, FACE])
    assert odd(found)[0][:2] == (1, 3) and "figure" in odd(found)[0][2]
    assert of(catalogue, [ply(cut="burr"), CROSS, ply(cut="burr")]).mirror.balanced is True


def test_a_board_with_a_leaf_on_one_side(catalogue: Catalogue) -> None:
    # common practice, no source: what is laid on one side of a board is laid on the other
    bare = of(catalogue, [FACE, BOARD], SIZE)
    assert bare.mirror.balanced is False
    (finding,) = told(bare, "unbalanced")
    assert finding.mend == "Lay the like of each leaf on the other side of the board."
    assert told(bare, "warps") or (bare.shape.dry is not None and abs(bare.shape.dry.cup or 0) > 0.1)
    both = of(catalogue, [FACE, BOARD, FACE], SIZE)
    assert both.mirror.balanced is True and not told(both, "unbalanced")


# --- sanding


@pytest.mark.parametrize(
    ("sanding", "balanced"),
    [("{face: 0.15 mm}", False), ("{back: 0.15 mm}", False), ("{face: 0.15 mm, back: 0.15 mm}", True)],
)
def test_sanding_one_side_takes_the_balance_away(catalogue: Catalogue, sanding: str, balanced: bool) -> None:
    found = of(catalogue, [FACE, CROSS, FACE], f"sanding: {sanding}\n" + SIZE)
    assert found.mirror.pressed is True and found.mirror.balanced is balanced
    named = [(f.ply, f.severity) for f in told(found, "unbalanced-after-sanding")]
    assert named == ([] if balanced else [(1, "mend")])
    assert not told(found, "unbalanced")
    assert found.shape.dry is not None
    assert (abs(found.shape.dry.cup or 0) > 0.01) is not balanced
    if not balanced:
        assert "ply 1 and ply 3 then differ in thickness" in found.mirror.sentences[0]


def test_sanding_can_bring_the_balance(catalogue: Catalogue) -> None:
    # a face laid thicker by what comes off: what counts is the finished part
    found = of(catalogue, [ply(mm=0.75), CROSS, FACE], "sanding: {face: 0.15 mm}\n")
    assert found.mirror.pressed is False and found.mirror.balanced is True
    assert not told(found, "unbalanced") and not told(found, "unbalanced-after-sanding")


# --- angles


@pytest.mark.parametrize(
    ("grains", "paired"),
    [
        ([0], True), ([0, 90, 0], True), ([30], False), ([30, -30], True), ([30, 0, 30], False),
        ([45, -45, -45, 45], True), ([30, -45], False), ([30, 150 - 180], True), ([60, -60, 90, 0], True),
        ([30, -30, 30], False),
    ],
)  # fmt: skip
def test_angles_are_paired_by_their_opposite(catalogue: Catalogue, grains: list[int], paired: bool) -> None:
    found = of(catalogue, [ply(grain=g) for g in grains])
    assert found.mirror.angles_paired is paired
    # the definition: paired angles leave no shear when the panel is pulled
    stack = found.finished.stack
    assert stack is not None
    shear = max(abs(stack.A[0, 2]), abs(stack.A[1, 2])) / stack.A[0, 0]
    assert bool(shear < 1e-9) is paired


def test_an_angle_pairs_with_its_own_wood_and_thickness_alone(catalogue: Catalogue) -> None:
    assert not of(catalogue, [ply(grain=30), ply(grain=-30, mm=0.9)]).mirror.angles_paired
    assert not of(catalogue, [ply(grain=30), ply("Picea abies", grain=-30)]).mirror.angles_paired
    # two thin ones carry a thick one
    assert of(
        catalogue, [ply(grain=30, mm=0.9), ply(grain=-30, mm=0.4), ply(grain=-30, mm=0.5)]
    ).mirror.angles_paired


def test_a_middle_ply_aslant_is_told(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, ply(grain=30), FACE])
    assert found.mirror.balanced is True and found.mirror.angles_paired is False
    assert "Its middle ply lies aslant (30 degrees)." in found.mirror.sentences
    assert not any("aslant" in s for s in of(catalogue, [FACE, CROSS, FACE]).mirror.sentences)
