"""Likeness: every number here is worked by hand from the rule in the module's own words.

A number counts full within one coefficient of variation (CV) of the target, nothing beyond two and a
half, and falls straight between: use = (2.5 - steps) / 1.5 with steps = |difference| / CV. The
likeness is the weighted geometric mean of the uses that are known.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection.criteria import likeness
from woodref.selection.explain import reasons
from woodref.selection.matching import class_step
from woodref.selection.ranking import FLOOR, number_use
from woodref.selection.roles import Profile
from woodref.selection.wanted import of_material

MakeWood = Callable[..., Material]
#: no role: no slack, no side that is free
WEIGHED = Profile("none", {"colour": 4.0, "density": 2.0, "moe": 1.0, "movement": 1.0})


def only(**weights: float) -> Profile:
    return Profile("none", weights)


def use_of(target: float, value: float, cv: float) -> tuple[float, bool]:
    """The use of one number, floored as the ranking floors it, and whether it lies outside."""
    held = Profile("none", {"density": 1.0}, keep={"density": cv})
    use = float(number_use(np.array([value]), target, held, "density")[0])
    return max(use, FLOOR), use <= FLOOR


@pytest.fixture
def target(wood: MakeWood) -> Material:
    """600 kg/m3, 10 GPa, 0.25 % per % across a crown leaf = 1.5 mm on 100 mm from 6 to 12 %."""
    return wood("Target", density=600.0, moe=10.0, movement_tangential=0.25)


def test_three_woods_by_hand(target: Material, wood: MakeWood, bench: Catalogue) -> None:
    same = wood("Same", density=600.0, moe=10.0, movement_tangential=0.25)
    # density +10 % is one CV (10 %): 1; stiffness +22 % is one CV (22 %): 1; movement the same: 1;
    # colour the class next to it: 0.5. Likeness = 0.5 ** (4 / 8) = 0.7071
    near = wood("Near", density=660.0, moe=12.2, movement_tangential=0.25, colour_class="dark-brown")
    # density +15 % is 1.5 CV: (2.5 - 1.5) / 1.5 = 2/3; stiffness and colour the same: 1; movement
    # not known, so 7 of 8 of the weight count. Likeness = (2/3) ** (2 / 7) = 0.8906
    heavy = wood("Heavy", density=690.0, moe=10.0)
    assert likeness(target, same, WEIGHED, bench).likeness == 1
    assert likeness(target, near, WEIGHED, bench).likeness == pytest.approx(0.7071, abs=5e-5)
    found = likeness(target, heavy, WEIGHED, bench)
    assert found.likeness == pytest.approx(0.8906, abs=5e-5)
    assert (found.known, found.asked, found.coverage) == (3, 4, 0.875)


def test_differences_are_percent_of_the_target_with_their_sign(
    target: Material, wood: MakeWood, bench: Catalogue
) -> None:
    # 540 against 600 is -10 %; 0.30 against 0.25 % per % is +20 % in movement
    other = wood("Other", density=540.0, movement_tangential=0.30)
    found = likeness(target, other, WEIGHED, bench)
    density, movement = found.criterion("density"), found.criterion("movement")
    assert density is not None and movement is not None
    assert density.difference == pytest.approx(-10)
    assert movement.difference == pytest.approx(20)
    assert movement.target == pytest.approx(1.5)
    # movement's CV is 15 %: 20 / 15 = 1.333 steps, (2.5 - 1.333) / 1.5 = 0.7778
    assert movement.use == pytest.approx(0.7778, abs=5e-5)


@pytest.mark.parametrize(
    ("value", "use", "outside"),
    [
        (100.0, 1.0, False),
        (110.0, 1.0, False),  # one CV, the last value that counts full
        (90.0, 1.0, False),
        (117.5, 0.5, False),  # 1.75 CV: half way down
        (82.5, 0.5, False),
        (125.0, FLOOR, True),  # two and a half CV, the first that counts nothing
        (75.0, FLOOR, True),
        (500.0, FLOOR, True),
    ],
)
def test_the_edges_of_a_number(value: float, use: float, outside: bool) -> None:
    got, out = use_of(100.0, value, 10.0)
    assert got == pytest.approx(use)
    assert out is outside


@given(st.floats(1, 2000), st.floats(1, 2000), st.floats(5, 40))
def test_use_lies_between_floor_and_one_and_grows_towards_the_target(
    target: float, value: float, cv: float
) -> None:
    use, outside = use_of(target, value, cv)
    assert FLOOR <= use <= 1
    assert outside is (use == FLOOR)
    nearer, _ = use_of(target, (target + value) / 2, cv)
    assert nearer >= use


def test_a_miss_is_marked_and_costs_much_but_not_everything(
    target: Material, wood: MakeWood, bench: Catalogue
) -> None:
    # twice as heavy: use 0.01. Likeness = 0.01 ** (2 / 8) = 0.3162
    lead = wood("Lead", density=1200.0, moe=10.0, movement_tangential=0.25)
    found = likeness(target, lead, WEIGHED, bench)
    assert found.likeness == pytest.approx(0.3162, abs=5e-5)
    assert [c.property for c in found.criteria if c.outside] == ["density"]
    told = " ".join(reasons(found, of_material(target), lead))
    assert "100 % heavier" in told
    assert "Outside what pieces of the same wood vary by: weight." in told


def test_what_is_not_known_of_the_target_is_not_asked(wood: MakeWood, bench: Catalogue) -> None:
    bare, full = wood("Bare", density=600.0), wood("Full", density=600.0, moe=10.0)
    assert [c.property for c in likeness(bare, full, WEIGHED, bench).criteria] == ["colour", "density"]


def test_a_missing_figure_is_named_and_never_filled_in(
    target: Material, wood: MakeWood, bench: Catalogue
) -> None:
    bare = wood("Bare")
    found = likeness(target, bare, WEIGHED, bench)
    assert [(c.property, c.value) for c in found.criteria if c.use is None] == [
        ("density", None),
        ("moe", None),
        ("movement", None),
    ]
    told = reasons(found, of_material(target), bare)
    # colour 4 of 8 is known and the same: 0.01 ** (4 / 8) = 0.1 at the worst, 1 at the best
    assert (
        "Known for 1 of 4 things asked; not known: weight, stiffness and movement. At worst or "
        "best the likeness would be 0.10 to 1.00." in told
    )


@pytest.mark.parametrize(
    ("one", "two", "step"),
    [
        ({"class": "cream", "also": []}, {"class": "cream", "also": []}, 1.0),
        ({"class": "cream", "also": []}, {"class": "mid-brown", "also": []}, 0.5),  # neighbours
        ({"class": "cream", "also": []}, {"class": "dark-brown", "also": []}, 0.0),
        # some pieces of the one come in the class of the other
        ({"class": "cream", "also": ["dark-brown"]}, {"class": "dark-brown", "also": []}, 0.75),
        # both also come in a third
        ({"class": "cream", "also": ["black"]}, {"class": "dark-brown", "also": ["black"]}, 0.5),
    ],
)
def test_colours_without_a_measurement_are_compared_in_steps(
    one: dict[str, Any], two: dict[str, Any], step: float, bench: Catalogue
) -> None:
    assert class_step(one, two, bench) == step
    assert class_step(two, one, bench) == step


def test_a_colour_word_never_gives_a_number(target: Material, wood: MakeWood, bench: Catalogue) -> None:
    colour = likeness(target, wood("Dark", colour_class="dark-brown"), WEIGHED, bench).criterion("colour")
    assert colour is not None
    assert (colour.difference, colour.class_difference) == (None, "some way off")


@pytest.mark.parametrize(
    ("process", "use", "said"),
    [("reconstituted", 1.0, "near"), ("dyed-through", 1.0, "near"), ("fumed", 0.75, "some way off")],
)
def test_what_passes_for_a_wood_is_ranked_as_it_is_told(
    process: str, use: float, said: str, target: Material, wood: MakeWood, bench: Catalogue
) -> None:
    # dyes are chosen after the target; what treats the wood itself leaves it a colour of its own
    made = {"process": process, "look_of": ["target"], "words": "made to pass"}
    sheet = wood("Sheet", colour_class="cream", made_from=made)
    colour = likeness(target, sheet, only(colour=1.0), bench).criterion("colour")
    assert colour is not None
    assert (colour.use, colour.class_difference) == (use, said)


def test_how_it_takes_glue_is_known_as_surely_as_its_own_line(
    target: Material, wood: MakeWood, bench: Catalogue
) -> None:
    other = wood("Other", density=600.0, working={"gluing": {"class": "easy", "evidence": "quoted"}})
    glue = likeness(target, other, only(density=1.0, glue=1.0), bench).criterion("glue")
    assert glue is not None
    assert glue.evidence == "quoted"  # the look of this wood is common practice


def _swatch(lab: list[float], light: str = "D65/2") -> list[dict[str, Any]]:
    return [
        {"part": "ground", "state": "planed", "lab": lab, "light": light, "evidence": "recalled"},
    ]


def test_two_measured_colours_are_compared_by_ciede2000(wood: MakeWood, bench: Catalogue) -> None:
    # two greys, L* 50 and 60: CIEDE2000 = 10 / SL with mean L* 55,
    # SL = 1 + 0.015 * 25 / sqrt(20 + 25) = 1.0559, so 9.4706;
    # use = 1 - (9.4706 - 2) / (15 - 2) = 0.4253
    one, two = wood("One", swatches=_swatch([50, 0, 0])), wood("Two", swatches=_swatch([60, 0, 0]))
    colour = likeness(one, two, only(colour=1.0), bench).criterion("colour")
    assert colour is not None
    assert colour.difference == pytest.approx(9.4706, abs=5e-5)
    assert colour.evidence == "recalled"  # the candidate's own, never better
    assert colour.use == pytest.approx(0.4253, abs=5e-5)


def test_ground_goes_with_ground_and_line_with_line(wood: MakeWood, bench: Catalogue) -> None:
    # greys: grounds L* 50 and 60 are 9.4706 apart (above); the lines are the same: (9.4706 + 0) / 2
    line = {"part": "line", "state": "planed", "lab": [20, 0, 0], "light": "D65/2", "evidence": "recalled"}
    one = wood("One", swatches=[*_swatch([50, 0, 0]), line])
    two = wood("Two", swatches=[*_swatch([60, 0, 0]), line])
    colour = likeness(one, two, only(colour=1.0), bench).criterion("colour")
    assert colour is not None
    assert colour.difference == pytest.approx(4.7353, abs=5e-5)
    bare = likeness(one, wood("Bare", swatches=_swatch([60, 0, 0])), only(colour=1.0), bench).criterion(
        "colour"
    )
    assert bare is not None
    assert bare.difference == pytest.approx(9.4706, abs=5e-5)  # no line measured: the ground alone


def test_a_colour_under_another_light_is_never_compared(wood: MakeWood, bench: Catalogue) -> None:
    one = wood("One", swatches=_swatch([50, 0, 0]))
    two = wood("Two", swatches=_swatch([50, 0, 0], "not-stated"))
    colour = likeness(one, two, only(colour=1.0), bench).criterion("colour")
    assert colour is not None
    assert colour.difference is None


def test_figure_of_the_leaf_goes_by_the_match_table(wood: MakeWood, bench: Catalogue) -> None:
    one = wood("One", figures=["plain", "stripe"])
    two = wood("Two", figures=["stripe", "mottle"])
    # plain finds stripe beside it: 0.5; stripe finds stripe: 1; their mean 0.75
    assert likeness(one, two, only(figure=1.0), bench).likeness == pytest.approx(0.75)
    # plain and stripe find nothing in fiddleback: 0, kept as 0.01 and marked
    far = likeness(one, wood("Far", figures=["fiddleback"]), only(figure=1.0), bench)
    assert (far.likeness, far.criteria[0].outside) == (FLOOR, True)
    made = wood("Made", figures=["mottle"], made_from={"look_of": ["one"], "words": "dyed and laid up"})
    assert likeness(one, made, only(figure=1.0), bench).likeness == 1
    assert "Made to pass for it: dyed and laid up." in reasons(
        likeness(one, made, only(figure=1.0), bench), of_material(one), made
    )


def test_pores_and_texture_go_by_their_order(wood: MakeWood, bench: Catalogue) -> None:
    ring = wood("Ring", pores="ring", texture="coarse")
    # semi-ring is next to ring: 0.5; fine is two steps from coarse: 0.01
    other = wood("Other", pores="semi-ring", texture="fine")
    found = likeness(ring, other, only(pores=1.0, texture=1.0), bench)
    assert [c.use for c in found.criteria] == [0.5, FLOOR]
    assert found.likeness == pytest.approx(math.sqrt(0.5 * 0.01))
