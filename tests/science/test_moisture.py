"""Moisture in air and strength at a moisture, against the handbook's own numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.errors import BadQuantity
from woodref.science.moisture import equilibrium, humidity_for, strength_at


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
