"""The arithmetic of a ranking: a hand-worked case with every number, and what must hold of any.

Method: Derringer and Suich 1980 (desirability), Derringer 1994 (weighted geometric mean); variation within
a species: Wood Handbook Table 5-6. The overall desirability of check value "d 0.8, 0.5, unknown, 1.0 at
weights 2, 1, 3, 1" is 0.7521206186 (computed, missing skipped).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.science.colour import ciede2000
from woodref.selection.certainty import order_holds, share_between, share_within, undominated
from woodref.selection.columns import columns
from woodref.selection.criteria import detail
from woodref.selection.ranking import FLOOR, Ranking, rank
from woodref.selection.roles import Profile
from woodref.selection.wanted import of_material

MakeWood = Callable[..., Material]
OPEN = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
NUMBERS = ("density", "moe", "side_hardness")
LOW = {"density": 300.0, "moe": 5.0, "side_hardness": 1500.0}

woods = st.lists(
    st.fixed_dictionaries({name: st.one_of(st.none(), st.floats(0.6, 2.5)) for name in NUMBERS}),
    min_size=2,
    max_size=8,
)
weights = st.fixed_dictionaries({name: st.floats(0.1, 5) for name in NUMBERS})


def made(wood: MakeWood, rows: list[dict[str, float | None]]) -> list[Material]:
    return [
        wood(f"W{i}", **{name: LOW[name] * f for name, f in row.items() if f is not None})
        for i, row in enumerate(rows)
    ]


def ranked(materials: list[Material], target: Material, profile: Profile, bench: Catalogue) -> Ranking:
    return rank(columns(materials, bench), of_material(target), profile)


def test_the_overall_desirability_of_the_check_value(wood: MakeWood, bench: Catalogue) -> None:
    # uses of 0.8, 0.5 and 1.0: (2.5 - steps) / 1.5, so 1.3 and 1.75 tolerances off, and none
    target = wood("Target", density=100.0, moe=10.0, side_hardness=1000.0, mor=100.0)
    other = wood("Other", density=113.0, moe=11.75, mor=100.0)
    keep = {"density": 10.0, "moe": 10.0, "side_hardness": 10.0, "mor": 10.0}
    profile = Profile("none", {"density": 2, "moe": 1, "side_hardness": 3, "mor": 1}, keep)
    found = ranked([other], target, profile, bench)
    assert found.likeness[0] == pytest.approx(0.7521206186, abs=1e-9)
    assert found.coverage[0] == pytest.approx(4 / 7)


def test_three_woods_with_every_number_shown(wood: MakeWood, bench: Catalogue) -> None:
    """Target: 800 kg/m3, 12 GPa, dark brown. Weights: colour 2, density 1, moe 1."""
    target = wood("Target", density=800.0, moe=12.0, colour_class="dark-brown")
    first = wood("First", density=840.0, moe=11.0, colour_class="dark-brown")
    second = wood("Second", density=640.0, moe=12.0, colour_class="mid-brown")
    third = wood("Third", moe=4.0, colour_class="cream")
    profile = Profile("none", {"colour": 2, "density": 1, "moe": 1})
    found = ranked([first, second, third], target, profile, bench)
    # first: 5 % heavier (variation 10 %): 1; 8.3 % less stiff (22 %): 1; the same class: 1
    assert found.likeness[0] == 1.0
    # second: 20 % lighter is 2 steps of 10 %: (2.5 - 2) / 1.5 = 1/3; the class beside it: 0.5
    # (0.5^2 * 1/3 * 1)^(1/4) = 0.537285
    assert found.likeness[1] == pytest.approx(0.537285, abs=5e-7)
    # third: weight not known; two thirds less stiff is 3.03 steps: 0.01, outside; cream is two classes
    # off: 0.01, outside. (0.01^2 * 0.01)^(1/3) = 0.01; 3 of 4 of the weight known
    assert found.likeness[2] == pytest.approx(0.01)
    assert found.coverage.tolist() == [1.0, 1.0, 0.75]
    # unknown weight at its worst: 0.01 still; at its best: (0.01^3)^(1/4) = 0.031623
    assert (found.low[2], found.high[2]) == (pytest.approx(0.01), pytest.approx(0.031623, abs=5e-7))
    assert found.outside.tolist() == [[False] * 3, [False] * 3, [True, False, True]]


@pytest.mark.parametrize(
    ("target", "value", "tolerance", "share"),
    [
        # variation 10 %: 540 to 660 about 600 is one deviation either way: 0.6827 (normal table)
        (600.0, 600.0, 10.0, 0.6827),
        # about 660 with a deviation of 66: z from -1.8182 to 0: 0.5 - 0.0345
        (600.0, 660.0, 10.0, 0.4655),
        (600.0, 1200.0, 10.0, 0.0000),
    ],
)
def test_share_of_pieces_within(target: float, value: float, tolerance: float, share: float) -> None:
    assert share_within("density", target, value, tolerance) == pytest.approx(share, abs=5e-5)


def test_strength_scatters_by_its_logarithm() -> None:
    # hardness, variation 20 %: sigma = sqrt(ln 1.04) = 0.198042, mean of the log ln 5000 - 0.019610
    # ln 4000 and ln 6000 stand at z = (-0.223144 + 0.019610) / 0.198042 = -1.02773 and
    # (0.182322 + 0.019610) / 0.198042 = 1.01964: 0.84603 - 0.15204 = 0.69399
    assert share_within("side_hardness", 5000, 5000, 20) == pytest.approx(0.69399, abs=5e-5)


def test_the_shares_of_the_check_values() -> None:
    # p_within_normal and p_within_lognormal (independent computation): 11,000 with 22 %, between 0.9 and 1.1
    # times 12,000
    assert share_between(10800, 13200, 11000, 0.22, lognormal=False) == pytest.approx(0.3512818723, abs=1e-9)
    assert share_between(10800, 13200, 11000, 0.22, lognormal=True) == pytest.approx(0.3185696053, abs=1e-9)
    assert share_within("moe", 12000, 11000, 10) == pytest.approx(0.3512818723, abs=1e-9)


@OPEN
@given(
    one=st.tuples(*[st.floats(-60, 100)] * 3),
    many=st.lists(st.tuples(*[st.floats(-60, 100)] * 3), min_size=1, max_size=6),
)
def test_many_colours_at_once_as_one_by_one(
    one: Any, many: list[Any], wood: MakeWood, bench: Catalogue
) -> None:
    def swatch(lab: Any) -> list[dict[str, Any]]:
        return [
            {"part": "ground", "state": "planed", "lab": list(lab), "light": "D65/2", "evidence": "recalled"}
        ]

    woods = [wood(f"W{i}", swatches=swatch(lab)) for i, lab in enumerate(many)]
    found = ranked(woods, wood("Target", swatches=swatch(one)), Profile("none", {"colour": 1.0}), bench)
    assert found.difference[:, 0] == pytest.approx([ciede2000(one, other) for other in many], abs=1e-9)


@OPEN
@given(rows=woods, weight=weights)
def test_rows_do_not_hang_on_each_other(
    rows: list[dict[str, float | None]], weight: dict[str, float], wood: MakeWood, bench: Catalogue
) -> None:
    materials = made(wood, rows)
    target, profile = wood("Target", **LOW), Profile("none", weight)
    whole, less = (ranked(m, target, profile, bench) for m in (materials, materials[:-1]))
    for name in ("likeness", "low", "high", "coverage"):
        assert getattr(whole, name)[:-1].tolist() == getattr(less, name).tolist()


@OPEN
@given(rows=woods, weight=weights, scale=st.floats(0.01, 100))
def test_scaling_all_weights_changes_no_likeness(
    rows: list[dict[str, float | None]],
    weight: dict[str, float],
    scale: float,
    wood: MakeWood,
    bench: Catalogue,
) -> None:
    materials, target = made(wood, rows), wood("Target", **LOW)
    one = ranked(materials, target, Profile("none", weight), bench)
    two = ranked(materials, target, Profile("none", {k: scale * v for k, v in weight.items()}), bench)
    assert one.likeness == pytest.approx(two.likeness)
    assert one.coverage == pytest.approx(two.coverage)


@OPEN
@given(rows=woods, weight=weights, name=st.sampled_from(NUMBERS), more=st.floats(1, 20))
def test_a_greater_weight_never_lowers_the_best_at_it(
    rows: list[dict[str, float | None]],
    weight: dict[str, float],
    name: str,
    more: float,
    wood: MakeWood,
    bench: Catalogue,
) -> None:
    full = [{k: v or 1.0 for k, v in row.items()} for row in rows]  # the same things known of all
    materials, target = made(wood, full), wood("Target", **LOW)
    before = ranked(materials, target, Profile("none", weight), bench)
    after = ranked(materials, target, Profile("none", {**weight, name: weight[name] * more}), bench)
    best = int(np.argmax(before.use[:, before.names.index(name)]))
    ahead = [int((r.likeness > r.likeness[best] + 1e-9).sum()) for r in (before, after)]
    assert ahead[1] <= ahead[0]


@OPEN
@given(rows=woods, weight=weights)
def test_filling_a_gap_moves_nobody_else(
    rows: list[dict[str, float | None]], weight: dict[str, float], wood: MakeWood, bench: Catalogue
) -> None:
    filled = [{k: v or 1.1 for k, v in rows[0].items()}, *rows[1:]]
    target, profile = wood("Target", **LOW), Profile("none", weight)
    before, after = (ranked(made(wood, r), target, profile, bench) for r in (rows, filled))
    for name in ("use", "likeness", "low", "high"):
        np.testing.assert_array_equal(getattr(before, name)[1:], getattr(after, name)[1:])


@OPEN
@given(rows=woods, weight=weights)
def test_the_likeness_lies_in_its_interval(
    rows: list[dict[str, float | None]], weight: dict[str, float], wood: MakeWood, bench: Catalogue
) -> None:
    target = wood("Target", **LOW)
    found = ranked(made(wood, rows), target, Profile("none", weight), bench)
    known = found.coverage > 0
    assert (found.low <= found.likeness + 1e-9)[known].all()
    assert (found.likeness <= found.high + 1e-9)[known].all()
    assert (found.likeness >= FLOOR).all() and (found.likeness <= 1).all()


def test_an_added_error_widens_the_interval_alone(wood: MakeWood, bench: Catalogue) -> None:
    target, sure = wood("Target", density=600.0), wood("Sure", density=690.0)
    figure = sure.figures["density"].preferred
    assert figure is not None
    unsure = replace(
        sure,
        id="unsure",
        figures={"density": replace(sure.figures["density"], preferred=replace(figure, added_error=10.0))},
    )
    found = ranked([sure, unsure], target, Profile("none", {"density": 1.0}), bench)
    # 690 is 1.5 steps off: 2/3; with 10 % either way 621 (1) and 759 (2.65 steps: 0.01)
    assert found.likeness == pytest.approx([2 / 3, 2 / 3])
    assert found.low == pytest.approx([2 / 3, FLOOR])
    assert found.high == pytest.approx([2 / 3, 1.0])


def test_one_side_may_be_free(wood: MakeWood, bench: Catalogue) -> None:
    target = wood("Target", movement_tangential=0.25)
    still, lively = (wood(n, movement_tangential=m) for n, m in (("Still", 0.10), ("Lively", 0.40)))
    free = ranked([still, lively], target, Profile("crossband", {"movement": 1.0}), bench)
    assert free.use[:, 0].tolist() == [1.0, FLOOR]
    held = Profile("crossband", {"movement": 1.0}, {"movement": 10.0})  # --keep holds both ways
    assert ranked([still, lively], target, held, bench).use[:, 0].tolist() == [FLOOR, FLOOR]


def test_nothing_beats_an_unbeaten_row(wood: MakeWood, bench: Catalogue) -> None:
    target = wood("Target", **LOW)
    rows = [
        {"density": 1.2, "moe": 1.3, "side_hardness": 1.0},
        {"density": 1.0, "moe": 1.5, "side_hardness": 1.0},
        {"density": 1.22, "moe": 1.5, "side_hardness": 1.0},  # beaten by both
        {"density": 1.22, "moe": None, "side_hardness": 1.0},  # its stiffness may yet be the best
    ]
    found = ranked(made(wood, rows), target, Profile("none", dict.fromkeys(NUMBERS, 1.0)), bench)
    assert undominated(found, np.arange(4)).tolist() == [True, True, False, True]


def test_the_front_of_the_check_value() -> None:
    # pareto_mask: costs (1,4) (2,2) (3,3) (4,1) (2,2); equal rows are both kept
    costs = np.array([[1, 4], [2, 2], [3, 3], [4, 1], [2, 2]], dtype=float)
    blank = np.zeros(5)
    ranking = Ranking(
        ("a", "b"), np.ones(2), 1 / costs, costs, costs > 9, blank, blank, blank, blank, blank > 1
    )
    assert undominated(ranking, np.arange(5)).tolist() == [True, True, False, True, True]


def test_the_order_of_neighbours_is_drawn_the_same_every_time(wood: MakeWood, bench: Catalogue) -> None:
    target, profile = wood("Target", **LOW), Profile("none", dict.fromkeys(NUMBERS, 1.0))
    rows = [dict.fromkeys(NUMBERS, f) for f in (1.0, 1.02, 2.4)]
    materials = made(wood, rows)
    table, wanted = columns(materials, bench), of_material(target)
    found = rank(table, wanted, profile)
    one, two = (order_holds(table, wanted, profile, np.arange(3), found) for _ in range(2))
    assert one == two
    assert one[2] is None and one[0] is not None and one[1] is not None
    assert 0.3 < one[0] < 0.7 < one[1], "2 % apart is a toss-up, twice as heavy is not"
    # the draws of a wood hang on its id, not on who else is there
    fewer = columns([materials[0], materials[2]], bench)
    again = order_holds(fewer, wanted, profile, np.arange(2), rank(fewer, wanted, profile))
    assert again[0] is not None and again[0] > 0.9


def test_stain_lets_a_paler_wood_compete_and_never_a_darker(wood: MakeWood, bench: Catalogue) -> None:
    dark, pale = wood("Dark", colour_class="black"), wood("Pale", colour_class="cream")
    profile = Profile("face", {"colour": 1.0})
    for target, other, stained in ((dark, pale, True), (pale, dark, False)):
        found = rank(columns([other], bench), of_material(target), profile, stain_ok=True)
        assert bool(found.stained[0]) is stained
        assert found.likeness[0] == (0.7 if stained else FLOOR)
    ring = wood("Ring", colour_class="cream", pores="ring")
    wanted = of_material(wood("Other", colour_class="black", pores="diffuse"))
    both = Profile("face", {"colour": 1.0, "pores": 1.0})
    assert not rank(columns([ring], bench), wanted, both, stain_ok=True).stained[0]


def test_the_rows_people_read_are_the_numbers_ranked(catalogue: Catalogue) -> None:
    materials = catalogue.materials()
    table, wanted = columns(materials, catalogue), of_material(catalogue.material("juglans-nigra"))
    profile = Profile("face", {"colour": 2.0, "density": 1.0, "moe": 1.0, "movement": 1.0})
    found = rank(table, wanted, profile)
    for i, material in enumerate(materials):
        row = detail(found, table, i, wanted, material, catalogue, profile)
        known = [c for c in row.criteria if c.use is not None]
        worked = math.exp(sum(c.weight * math.log(c.use or 1) for c in known) / sum(c.weight for c in known))
        assert row.likeness == pytest.approx(worked)
