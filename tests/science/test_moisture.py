"""Moisture in air and strength at a moisture, against the handbook's own numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.errors import BadQuantity
from woodref.science.moisture import (
    coefficient,
    equilibrium,
    humidity_for,
    movement,
    strain,
    strength_at,
    total_of,
)


@pytest.mark.parametrize(
    ("celsius", "rh", "printed"),
    # Wood Handbook Table 4-2 (30, 50, 70, 70, 90, 110, 130, 30 deg F), as reproduced on a public page
    [(-1.1111, 0.5, 9.5), (10.0, 0.8, 16.4), (21.1111, 0.4, 7.7), (21.1111, 0.65, 12.0),
     (32.2222, 0.7, 12.6), (43.3333, 0.6, 10.0), (54.4444, 0.5, 7.9), (-1.1111, 0.8, 16.5)],
)  # fmt: skip
def test_table_4_2(celsius: float, rh: float, printed: float) -> None:
    assert equilibrium(rh, celsius) == pytest.approx(printed, abs=0.06)


def test_own_computation_to_many_digits() -> None:
    # independent computation of Eq. 4-5 at 20 C and 65 %
    assert equilibrium(0.65, 20) == pytest.approx(11.99626722, rel=1e-9)


@given(st.floats(0.01, 0.95), st.floats(-1, 60))
def test_there_and_back(rh: float, celsius: float) -> None:
    assert humidity_for(equilibrium(rh, celsius), celsius) == pytest.approx(rh, abs=1e-9)


@given(st.floats(0, 0.94), st.floats(-1, 60))
def test_damper_air_damper_wood(rh: float, celsius: float) -> None:
    assert equilibrium(rh + 0.01, celsius) > equilibrium(rh, celsius)


@pytest.mark.parametrize(("rh", "celsius"), [(1.0, 20), (-0.1, 20), (0.5, 200), (0.96, 20)])
def test_air_outside_the_table_is_refused(rh: float, celsius: float) -> None:
    with pytest.raises(BadQuantity, match="outside the table"):
        equilibrium(rh, celsius)
    with pytest.raises(BadQuantity, match="no air of the table"):
        humidity_for(40, 20)


def test_the_handbooks_worked_example() -> None:
    # Eq. 5-3, white ash MOR: 103 MPa at 12 %, 66 green, Mp 24 -> 119.5 MPa at 8 % (p. 5-34)
    assert strength_at(103, 66, 8, 24) == pytest.approx(119.5, abs=0.06)
    assert strength_at(103, 66, 12, 24) == 103
    assert strength_at(103, 66, 30, 24) == 66


def test_a_glue_wet_size_dries_by_equation_13_3() -> None:
    # Wood Handbook Eq. 13-3: 200 mm, S0 4.0 %, 35 -> 8 %. Above 30 % nothing moves, so it is 30 -> 8:
    # 200 (8 - 30) / (100 * 30 / 4 - 30 + 30) = 200 * -22 / 750 = -5.866666667 mm (own computation)
    assert 200 * strain(4.0, 35, 8) == pytest.approx(-5.866666667, rel=1e-9)
    assert strain(4.0, 35, 8) == strain(4.0, 30, 8) == strain(4.0, 90, 8)
    # and back: 22 / (750 - 22) of the dry size
    assert strain(4.0, 8, 35) == strain(4.0, 8, 30) == pytest.approx(22 / 728, rel=1e-12)
    assert strain(4.0, 35, 60) == 0
    assert strain(0, 30, 0) == 0


@given(st.floats(0.1, 20))
def test_from_green_to_oven_dry_it_is_the_whole_shrinkage(total: float) -> None:
    assert strain(total, 30, 0) == pytest.approx(-total / 100, rel=1e-12)


@given(st.floats(0.1, 20), st.floats(0, 30), st.floats(0, 30), st.floats(0, 30))
def test_a_size_does_not_remember_its_way(total: float, a: float, b: float, c: float) -> None:
    there = (1 + strain(total, a, b)) * (1 + strain(total, b, c))
    assert there == pytest.approx(1 + strain(total, a, c), abs=1e-12)


@given(st.floats(0.5, 15), st.floats(6, 14), st.floats(6, 14))
def test_the_short_way_stays_near_the_long_one(total: float, start: float, end: float) -> None:
    # C of Eq. 13-2 is the slope of Eq. 13-3 at 10 %, so from there they are one; from 6 or 14 % the two
    # denominators differ by 4 of 3000/S0 - 20: 2.3 % at S0 15, less for calmer wood
    assert movement(1, total, 10, end) == pytest.approx(strain(total, 10, end), rel=1e-9, abs=1e-15)
    long = strain(total, start, end)
    assert movement(1, total, start, end) == pytest.approx(long, rel=0.023, abs=1e-15)


@pytest.mark.parametrize(
    ("total", "printed"),
    # Wood Handbook Table 4-3 beside Table 13-5: white ash R and T, black cherry R and T, sugar maple R and T,
    # red alder R and T
    [(4.9, 0.00169), (7.8, 0.00274), (3.7, 0.00126), (7.1, 0.00248), (4.8, 0.00165), (9.9, 0.00353),
     (4.4, 0.00151), (7.3, 0.00256)],
)  # fmt: skip
def test_the_shrinkage_behind_a_coefficient_of_table_13_5(total: float, printed: float) -> None:
    # 3000 / (1/C + 20); half of the last printed digit of C is 5e-6, which is 0.0145 % of shrinkage at the
    # most, and Table 4-3 prints tenths
    assert total_of(printed) == pytest.approx(total, abs=0.02)
    assert round(total_of(printed), 1) == total


def test_a_coefficient_turned_round_by_hand() -> None:
    # 0.0025: 3000 / (400 + 20) = 7.142857 %
    assert total_of(0.0025) == pytest.approx(7.142857143, rel=1e-9)


@given(st.floats(0.01, 25))
def test_coefficient_and_total_undo_each_other(total: float) -> None:
    assert total_of(coefficient(total)) == pytest.approx(total, rel=1e-9)
