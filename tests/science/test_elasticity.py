"""Leaves by their cut, worked by hand.

Sitka spruce, Wood Handbook (FPL-GTR-190): bending 10,800 MPa and E_L 11,880 (note to Table 5-1); ratios of
Table 5-1 as equations of the trade books give them: ET 0.043, ER 0.078, GLR 0.064, GLT 0.061, GRT 0.003;
Poisson LR 0.372, LT 0.467, RT 0.435 (Table 5-2).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.science.elasticity import Wood, along_grain, leaf

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
