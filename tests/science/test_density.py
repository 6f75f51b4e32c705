"""Density at a moisture from that at 12 %, worked by hand.

White ash: specific gravity 0.60 at 12 % (Wood Handbook, FPL-GTR-190, Table 5-3a), which Table 4-6a makes
672 kg/m3; volumetric shrinkage 13.3 % (Table 4-3); basic specific gravity 0.55.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.science.density import density_at, density_from_12

ASH, ASH_SHRINKAGE = 672.0, 13.3


@pytest.mark.parametrize(
    ("mc", "expected"),
    [
        # Eq. 4-9: at 12 % it has shrunk 13.3 * 0.6 = 7.98 %. At 6 % 13.3 * 0.8 = 10.64 %:
        # 672 * 1.06/1.12 * 0.9202/0.8936 = 636 * 1.02976723
        (6, 654.93196),
        # oven-dry all of 13.3 %: 600 * 0.9202/0.867 = 600 * 1.06136101
        (0, 636.81661),
        # above 30 % on the green size, only the water grows: 672 * 1.35/1.12 * 0.9202 = 810 * 0.9202
        (35, 745.362),
        (12, 672.0),
    ],
)
def test_white_ash_with_its_own_shrinkage(mc: float, expected: float) -> None:
    assert density_from_12(ASH, mc, ASH_SHRINKAGE) == pytest.approx(expected, rel=1e-7)


def test_white_ash_with_a_guessed_shrinkage() -> None:
    # Eq. 4-12 and 4-13 solved: Gb = 0.6 / (1 + 0.265 * 0.6 * 0.6) = 0.6/1.0954 = 0.54774512, so
    # S0 = 26.5 Gb = 14.5152456 %. At 12 % 8.7091473 %, at 6 % 11.6121965 %:
    # 636 * 0.912908527/0.883878035 = 636 * 1.03284446
    assert density_from_12(ASH, 6) == pytest.approx(656.88908, rel=1e-7)
    # the printed basic gravity is 0.55, and 0.548 rounds to it
    assert density_from_12(ASH, 30) == pytest.approx(1300 * 0.54774512, rel=1e-7)


def test_white_ash_from_its_basic_density() -> None:
    # Eq. 4-13, Gb 0.55: G at 12 % 0.602706701 (own computation), so 675.0315 kg/m3; taken to 30 % it is green
    # wood again, 550 * 1.3 = 715
    assert density_from_12(1120 * 0.602706701, 30) == pytest.approx(715, rel=1e-8)
    assert density_from_12(1120 * 0.602706701, 0) == pytest.approx(density_at(550, 0), rel=1e-8)


@given(st.floats(80, 1300), st.floats(0, 120), st.none() | st.floats(2, 22))
def test_it_agrees_with_the_basic_density_where_that_is_known(
    basic: float, mc: float, shrinkage: float | None
) -> None:
    at_12 = density_at(basic, 12, shrinkage)
    assert density_from_12(at_12, mc, shrinkage) == pytest.approx(density_at(basic, mc, shrinkage), rel=1e-9)


@given(st.floats(80, 1400), st.none() | st.floats(0, 22))
def test_at_12_it_is_what_was_given(at_12: float, shrinkage: float | None) -> None:
    assert density_from_12(at_12, 12, shrinkage) == pytest.approx(at_12, rel=1e-12)
