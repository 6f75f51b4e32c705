"""Properties guessed from weight, against numbers worked by hand.

Sources: Wood Handbook (FPL-GTR-190) Table 5-11a for the coefficients (from memory), Table 5-3a for the
measured values beside them, Eq. 4-12 for shrinkage.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.properties import PROPERTIES
from woodref.errors import BadQuantity
from woodref.science import estimates
from woodref.science.estimates import REGRESSIONS, WEIGHTS, from_weight

GROUPS = ("hardwood", "softwood")


@pytest.mark.parametrize(
    ("name", "density", "group", "worked", "printed"),
    [
        # black walnut, G 0.55: 16500 * 0.55^0.70 = 16500 * 0.658042; Table 5-3a prints 11.6 GPa
        ("moe", 616, "hardwood", 10.858, 11.6),
        # 171300 * 0.55^1.13 = 171300 * 0.508873 kPa; the table prints 101 MPa
        ("mor", 616, "hardwood", 87.17, 101),
        # 76000 * 0.55^0.89 = 76000 * 0.587385 kPa; the table prints 52.3 MPa
        ("compression_parallel", 616, "hardwood", 44.641, 52.3),
        # 15300 * 0.55^2.09 = 15300 * 0.286654; the table prints 4,500 N
        ("side_hardness", 616, "hardwood", 4385.8, 4500),
        # Sitka spruce, G 0.40: 20500 * 0.40^0.84 = 20500 * 0.463160; the table prints 10.8 GPa
        ("moe", 448, "softwood", 9.4948, 10.8),
        # 16500 * 0.40^1.57 = 16500 * 0.237265 kPa; the table prints 4.0 MPa
        ("compression_perpendicular", 448, "softwood", 3.9149, 4.0),
        # 16600 * 0.40^0.85 = 16600 * 0.458935 kPa; the table prints 7.9 MPa
        ("shear_parallel", 448, "softwood", 7.6183, 7.9),
    ],
)
def test_a_regression_by_hand_and_beside_the_table(
    name: str, density: float, group: str, worked: float, printed: float
) -> None:
    value = from_weight(name, density, group)
    assert value == pytest.approx(worked, rel=1e-4)
    # the measured wood lies within two standard deviations of the rule
    assert abs(math.log(printed / value)) < 2 * estimates.SCATTER[name][group] / 100


@pytest.mark.parametrize(("density", "group"), [(199, "hardwood"), (1301, "hardwood"), (680, "softwood")])
def test_a_weight_that_no_wood_stands_behind_is_refused(density: float, group: str) -> None:
    with pytest.raises(BadQuantity, match=f"no {group} of {density} kg/m3"):
        from_weight("moe", density, group)


@given(st.data(), st.sampled_from(GROUPS), st.sampled_from(sorted(REGRESSIONS)))
def test_what_is_worked_out_is_what_wood_can_have(data: st.DataObject, group: str, name: str) -> None:
    density = data.draw(st.floats(*WEIGHTS[group]))
    assert PROPERTIES[name].low <= from_weight(name, density, group) <= PROPERTIES[name].high


@given(st.sampled_from(GROUPS), st.sampled_from(sorted(REGRESSIONS)))
def test_the_heavier_wood_is_the_stronger_one(group: str, name: str) -> None:
    low, high = WEIGHTS[group]
    steps = [from_weight(name, low + (high - low) * k / 20, group) for k in range(21)]
    assert steps == sorted(steps) and steps[0] < steps[-1]


def test_an_error_of_the_weight_counts_as_often_as_the_exponent_says() -> None:
    # hardness of a hardwood: scatter 20 %, exponent 2.09, weight known to 5 %: hypot(20, 10.45) = 22.57
    assert estimates.weight_error("side_hardness", "hardwood", 5) == pytest.approx(22.565, abs=1e-3)
    assert estimates.weight_error("moe", "softwood") == 17


def test_shrinkage_guessed_from_weight() -> None:
    # Eq. 4-12: 26.5 * 0.40 = 10.6 %; of it 0.36 radial and 0.61 tangential (own comparison): 3.816, 6.466
    assert estimates.volumetric_guess(400) == pytest.approx(10.6)
    assert estimates.axis_guess("radial", 400, "hardwood") == pytest.approx(3.816)
    assert estimates.axis_guess("tangential", 400, "hardwood") == pytest.approx(6.466)
    # 26.5 * 0.90 = 23.9 %: no wood of that weight shrinks so far, 14 % is the most
    assert estimates.volumetric_guess(900) == 14


def test_shrinkage_in_volume_beside_its_axes() -> None:
    # white ash, Table 4-3: 4.9 and 7.8 %: 1 - 0.951 * 0.922 = 12.318 %, times 1.05 = 12.934; printed 13.3
    assert estimates.volumetric_of_axes(4.9, 7.8) == pytest.approx(12.934, abs=1e-3)


@given(st.sampled_from(GROUPS), st.sampled_from(["radial", "tangential"]), st.floats(1, 15))
def test_one_axis_leads_to_the_volume_and_the_other_axis_and_back(
    group: str, axis: str, value: float
) -> None:
    other = "tangential" if axis == "radial" else "radial"
    volume = estimates.volumetric_of_axis(axis, value, group)
    beside = estimates.axis_of_other(other, value, group)
    assert estimates.axis_of_volume(axis, volume, group) == pytest.approx(value)
    assert estimates.axis_of_volume(other, volume, group) == pytest.approx(beside)
    assert estimates.axis_of_other(axis, beside, group) == pytest.approx(value)
    assert (beside > value) == (other == "tangential")
