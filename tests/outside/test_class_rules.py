"""The rules of a class of wood against byte copies of the Wood Handbook rows they are means of."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import mean, stdev

import pytest

from woodref.science.estimates import RATIOS, SCATTER, from_weight

Rows = Callable[[str], list[dict[str, str]]]

COLUMNS = {
    "ratio_er_el": "ER_over_EL", "ratio_et_el": "ET_over_EL", "ratio_glr_el": "GLR_over_EL",
    "ratio_glt_el": "GLT_over_EL", "ratio_grt_el": "GRT_over_EL",
    "poisson_lr": "mu_LR", "poisson_lt": "mu_LT", "poisson_rt": "mu_RT",
}  # fmt: skip
#: lighter than half of the next one, and no wood of a leaf
LEFT_OUT = "Balsa"


@pytest.mark.parametrize("name", RATIOS)
@pytest.mark.parametrize("group", ["hardwood", "softwood"])
def test_a_class_ratio_is_the_mean_of_the_rows(name: str, group: str, rows: Rows) -> None:
    ratios = rows("wood_handbook_5-1_elastic_ratios.csv")
    of_group = {row["species"]: row["group"] for row in ratios}
    table = ratios if name.startswith("ratio") else rows("wood_handbook_5-2_poisson_ratios.csv")
    values = [
        float(row[COLUMNS[name]])
        for row in table
        if row[COLUMNS[name]] and of_group[row["species"]] == group and row["species"] != LEFT_OUT
    ]
    value, scatter = RATIOS[name][group]
    assert len(values) >= 6
    digits = 3 if name.startswith("ratio") else 2
    assert value == pytest.approx(mean(values), abs=0.51 * 10**-digits)
    assert scatter == pytest.approx(100 * stdev(values) / mean(values), abs=1)


@pytest.mark.parametrize(
    ("name", "column", "factor"),
    [
        ("moe", "moe_MPa", 0.001),
        ("mor", "mor_kPa", 0.001),
        ("compression_parallel", "compression_parallel_kPa", 0.001),
        ("compression_perpendicular", "compression_perp_prop_limit_kPa", 0.001),
        ("shear_parallel", "shear_parallel_kPa", 0.001),
        ("side_hardness", "side_hardness_N", 1),
    ],
)
@pytest.mark.parametrize("group", ["hardwood", "softwood"])
def test_the_domestic_woods_scatter_about_the_regression_no_more_than_we_say(
    name: str, column: str, factor: float, group: str, rows: Rows
) -> None:
    gaps = []
    for row in rows("wood_handbook_5-3a_domestic_strength_metric.csv"):
        if row["moisture_condition"] != "12%" or row["group"] != group:
            continue
        if not (row[column] and row["specific_gravity"]):
            continue
        density = 1120 * float(row["specific_gravity"])
        gaps.append(math.log(float(row[column]) * factor / from_weight(name, density, group)))
    assert len(gaps) > 15
    assert math.sqrt(mean(gap**2 for gap in gaps)) < 1.05 * SCATTER[name][group] / 100
    assert abs(mean(gaps)) < 0.1
