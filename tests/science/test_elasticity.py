"""Leaves by their cut, worked by hand.

Sitka spruce, Wood Handbook (FPL-GTR-190): bending 10,800 MPa and E_L 11,880 (note to Table 5-1); ratios of
Table 5-1 as equations of the trade books give them: ET 0.043, ER 0.078, GLR 0.064, GLT 0.061, GRT 0.003;
Poisson LR 0.372, LT 0.467, RT 0.435 (Table 5-2).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.science.elasticity import Wood, along_grain, leaf, warmth_factor

SITKA = Wood(11.88, 0.078, 0.043, 0.064, 0.061, 0.003, 0.372, 0.467, 0.435, 0.00148, 0.00263)


def test_the_tenth_is_added_once() -> None:
    assert along_grain(10.8) == pytest.approx(11.88)  # check value el_mpa_from_bending_moe


@pytest.mark.parametrize("cut", ["rotary", "crown", "half-round"])
def test_a_crown_leaf_lies_tangential(cut: str) -> None:
    got = leaf(SITKA, cut)
    assert (got.e1, got.nu12, got.beta2, got.beta3) == (11.88, 0.467, 0.00263, 0.00148)
    assert got.e2 == pytest.approx(0.043 * 11.88)
    assert got.g12 == pytest.approx(0.061 * 11.88)


def test_a_quarter_leaf_lies_radial() -> None:
    got = leaf(SITKA, "quarter")
    assert got.e2 == pytest.approx(0.078 * 11.88)
    assert got.g12 == pytest.approx(0.064 * 11.88)
    assert (got.nu12, got.beta2, got.beta3) == pytest.approx((0.372, 0.00148, 0.00263))


def test_rings_at_45_degrees_make_a_leaf_soft_across() -> None:
    # 1/E = 0.25/0.51084 + 0.25/0.92664 + 0.25 (1/0.03564 - 2 * 0.435/0.92664) = 0.48939 + 0.26979 + 6.77985
    # = 7.53903, so 0.13264 GPa: a quarter of ET
    got = leaf(SITKA, "rift", 45)
    assert got.e2 == pytest.approx(0.13264, abs=5e-6)
    # shear: 0.5/0.72468 + 0.5/0.76032 = 1.34758, so 0.74207
    assert got.g12 == pytest.approx(0.74207, abs=5e-5)
    assert got.beta2 == pytest.approx((0.00148 + 0.00263) / 2)


@given(st.floats(0, 90))
def test_rift_runs_from_crown_to_quarter(rings: float) -> None:
    low, high = leaf(SITKA, "crown"), leaf(SITKA, "quarter")
    got = leaf(SITKA, "rift", rings)
    assert min(low.g12, high.g12) - 1e-12 <= got.g12 <= max(low.g12, high.g12) + 1e-12
    assert 0 < got.e2 <= high.e2 + 1e-12
    # what swells across the face and through it add up to the same
    assert got.beta2 + got.beta3 == pytest.approx(SITKA.beta_r + SITKA.beta_t)
    assert leaf(replace(SITKA, grt=1.0), "rift", rings).e2 > got.e2 - 1e-12


@pytest.mark.parametrize(("cut", "rings"), [("burr", 45), ("crotch", 45), ("rift", 100)])
def test_a_leaf_without_directions_is_refused(cut: str, rings: float) -> None:
    with pytest.raises(ValueError, match=r"no directions|0 to 90"):
        leaf(SITKA, cut, rings)


@pytest.mark.parametrize(
    ("celsius", "mc", "change"),
    # Wood Handbook Table 5-15, stiffness along the grain, change from 20 C [%]
    [(50, 0, -6), (50, 12, -7), (-50, 0, 11), (-50, 12, 17), (-50, 30, 50), (20, 0, 0), (20, 12, 0)],
)
def test_stiffness_along_the_grain_in_table_5_15(celsius: float, mc: float, change: float) -> None:
    assert warmth_factor(celsius, mc) == pytest.approx(1 + change / 100, rel=1e-12)


@pytest.mark.parametrize(("mc", "change"), [(6, -20), (12, -35), (20, -38), (30, -38), (3, -20)])
def test_stiffness_across_the_grain_in_table_5_15(mc: float, change: float) -> None:
    assert warmth_factor(50, mc, across=True) == pytest.approx(1 + change / 100, rel=1e-12)
    # the table gives no colder side across the grain
    assert warmth_factor(-50, mc, across=True) == 1


def test_between_the_rows_and_temperatures_it_runs_straight() -> None:
    # 35 C lies half way to 50: -3.5 % (own computation)
    assert warmth_factor(35, 12) == pytest.approx(0.965, rel=1e-9)
    # 6 % lies half way from 0 to 12: -6.5 % warm, +14 % cold; 21 % half way from 12 to 30: +33.5 %
    assert warmth_factor(50, 6) == pytest.approx(0.935, rel=1e-9)
    assert warmth_factor(-50, 6) == pytest.approx(1.14, rel=1e-9)
    assert warmth_factor(-50, 21) == pytest.approx(1.335, rel=1e-9)
    # -15 C is half way to -50: +8.5 % at 12 %
    assert warmth_factor(-15, 12) == pytest.approx(1.085, rel=1e-9)
    # across, 9 % lies half way from 6 to 12 and 16 % from 12 to 20: -27.5 and -36.5 %; a third of it at 30 C
    assert warmth_factor(50, 9, across=True) == pytest.approx(0.725, rel=1e-9)
    assert warmth_factor(50, 16, across=True) == pytest.approx(0.635, rel=1e-9)
    assert warmth_factor(30, 9, across=True) == pytest.approx(1 - 0.275 / 3, rel=1e-9)
    # wetter than its last row the table stands still
    assert warmth_factor(50, 25) == warmth_factor(50, 12)
    assert warmth_factor(-50, 60) == warmth_factor(-50, 30)


@given(st.floats(-50, 49.9), st.floats(0, 40), st.booleans())
def test_the_warmer_the_softer(celsius: float, mc: float, across: bool) -> None:
    assert warmth_factor(celsius + 0.1, mc, across) <= warmth_factor(celsius, mc, across) + 1e-15
    assert 0.62 <= warmth_factor(celsius, mc, across) <= 1.5


@pytest.mark.parametrize("celsius", [-50.1, 50.1, 200, float("nan")])
def test_a_temperature_outside_the_table_is_refused(celsius: float) -> None:
    with pytest.raises(ValueError, match=r"is outside the table: -50 to 50 C"):
        warmth_factor(celsius, 12)


def test_what_stress_in_the_plane_presses_out_of_the_thickness() -> None:
    # by reciprocity nu_TR/E_T = nu_RT/E_R (Wood Handbook ch. 5): through a crown leaf lies R, S13 =
    # -nu_LR/E_L
    # = -0.372/11.88 = -0.031313 and S23 = -nu_RT/E_R = -0.435/0.92664 = -0.469438; through a quarter leaf T,
    # S13 = -nu_LT/E_L = -0.467/11.88 = -0.039310, S23 the same
    crown, quarter = leaf(SITKA, "crown"), leaf(SITKA, "quarter")
    assert (crown.s13, crown.s23) == pytest.approx((-0.031313, -0.469438), abs=1e-6)
    assert (quarter.s13, quarter.s23) == pytest.approx((-0.039310, -0.469438), abs=1e-6)


@pytest.mark.parametrize("rings", [10.0, 45.0, 70.0])
def test_the_thickness_of_a_rift_leaf_turns_with_its_rings(rings: float) -> None:
    # the same compliance by turning the 2 x 2 x 2 x 2 tensor of the R-T plane in plain loops: axis 0 in the
    # face, axis 1 through it; S of T, R and their shear as the only entries
    er, et, grt = (share * SITKA.el for share in (SITKA.er, SITKA.et, SITKA.grt))
    s: dict[tuple[int, ...], float] = {(0, 0, 0, 0): 1 / et, (1, 1, 1, 1): 1 / er}
    s |= dict.fromkeys([(0, 0, 1, 1), (1, 1, 0, 0)], -SITKA.nu_rt / er)
    s |= dict.fromkeys([(0, 1, 0, 1), (0, 1, 1, 0), (1, 0, 0, 1), (1, 0, 1, 0)], 1 / (4 * grt))
    c, n = math.cos(math.radians(rings)), math.sin(math.radians(rings))
    turn = [[c, n], [-n, c]]
    across = sum(
        turn[0][a] * turn[0][b] * turn[1][k] * turn[1][m] * value for (a, b, k, m), value in s.items()
    )
    assert leaf(SITKA, "rift", rings).s23 == pytest.approx(across, rel=1e-12)
