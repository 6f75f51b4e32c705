"""The closed list of figures a material may carry.

Each has one unit, one plausible range and one reference condition: only a figure taken in the
reference condition can be the preferred one; all others are shown beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Property:
    """One kind of figure.

    unit: the science room's; low, high: plausible range in that unit; reference: the condition keys
    and values a figure must state to be preferred; us: the unit printed for --units us;
    cv: coefficient of variation between pieces of one species in percent (None where unknown),
    from FPL-GTR-190 Table 5-6 unless the note says otherwise; asks: the trade's words for it.
    """

    name: str
    asks: str
    unit: str
    us: str
    low: float
    high: float
    reference: Mapping[str, Any] = field(default_factory=dict)
    cv: float | None = None
    digits: int = 0


_AT_12 = {"mc": 12.0}
#: boards and treated wood come to their own moisture, and no document states another: as sold
_AS_SOLD = {"mc": (12.0, "as-sold")}
_GREEN_TO_DRY = {"from": "green", "to": "oven-dry"}

#: density's 10 % is the table's figure for specific gravity; shrinkage about 15 % is from memory
_LIST = [
    Property("density", "weight", "kg/m3", "lb/ft3", 60, 1450, _AS_SOLD, 10),
    Property(
        "basic_density",
        "dry weight on green volume",
        "kg/m3",
        "lb/ft3",
        50,
        1300,
        {"mass": "oven-dry", "volume": "green"},
        10,
    ),
    Property("moe", "stiffness in bending", "GPa", "10^6 psi", 1, 35, _AS_SOLD, 22, 1),
    Property("mor", "strength in bending", "MPa", "psi", 10, 300, _AS_SOLD, 16),
    Property("compression_parallel", "crushing along the grain", "MPa", "psi", 5, 150, _AT_12, 18, 1),
    Property(
        "compression_perpendicular",
        "crushing across the grain",
        "MPa",
        "psi",
        0.3,
        60,
        _AT_12,
        28,
        1,
    ),
    Property("shear_parallel", "shear along the grain", "MPa", "psi", 1, 35, _AT_12, 14, 1),
    Property("tension_parallel", "pull along the grain", "MPa", "psi", 10, 350, _AT_12, 25),
    Property("tension_perpendicular", "pull across the grain", "MPa", "psi", 0.5, 20, _AT_12, None, 1),
    # Janka figures are often printed "dry" with no number: air-dry stock, near enough to 12 % for a
    # property that varies by a fifth between pieces
    Property(
        "side_hardness",
        "hardness (Janka, side)",
        "N",
        "lbf",
        200,
        25000,
        {"mc": (12.0, "dry")},
        20,
    ),
    Property(
        "brinell_hardness",
        "hardness (Brinell, side)",
        "MPa",
        "MPa",
        3,
        150,
        {"mc": 12.0, "direction": "side"},
        None,
    ),
    Property("work_to_maximum_load", "toughness in bending", "kJ/m3", "in-lbf/in3", 5, 400, _AT_12, 34),
    Property("impact_bending", "drop height to break", "mm", "in", 100, 3500, _AT_12, 25),
    Property("shrinkage_radial", "shrinkage radial", "%", "%", 0.5, 15, _GREEN_TO_DRY, 15, 1),
    Property("shrinkage_tangential", "shrinkage tangential", "%", "%", 1, 20, _GREEN_TO_DRY, 15, 1),
    Property("shrinkage_volumetric", "shrinkage in volume", "%", "%", 2, 30, _GREEN_TO_DRY, 15, 1),
    Property(
        "movement_radial",
        "movement radial",
        "% per %",
        "% per %",
        0.03,
        0.6,
        {"within": "service"},
        15,
        3,
    ),
    Property(
        "movement_tangential",
        "movement tangential",
        "% per %",
        "% per %",
        0.05,
        0.8,
        {"within": "service"},
        15,
        3,
    ),
    Property("ratio_er_el", "ER/EL", "1", "1", 0.02, 0.4, _AT_12, None, 3),
    Property("ratio_et_el", "ET/EL", "1", "1", 0.01, 0.3, _AT_12, None, 3),
    Property("ratio_glr_el", "GLR/EL", "1", "1", 0.01, 0.4, _AT_12, None, 3),
    Property("ratio_glt_el", "GLT/EL", "1", "1", 0.01, 0.4, _AT_12, None, 3),
    Property("ratio_grt_el", "GRT/EL", "1", "1", 0.001, 0.1, _AT_12, None, 3),
    Property("poisson_lr", "Poisson LR", "1", "1", 0.05, 0.9, _AT_12, None, 3),
    Property("poisson_lt", "Poisson LT", "1", "1", 0.05, 0.9, _AT_12, None, 3),
    Property("poisson_rt", "Poisson RT", "1", "1", 0.1, 1.0, _AT_12, None, 3),
    Property("loss_tangent", "damping along the grain", "1", "1", 0.001, 0.1, _AT_12, None, 4),
    Property(
        "intersection_moisture",
        "moisture where strength stops changing",
        "%",
        "%",
        15,
        35,
        {},
        None,
    ),
    Property("green_moisture", "moisture when felled", "%", "%", 20, 250, {"part": "heartwood"}, None),
]

PROPERTIES: dict[str, Property] = {p.name: p for p in _LIST}


def in_reference(name: str, condition: Mapping[str, Any]) -> bool:
    """Whether a figure of this condition may be the preferred one for its property.

    A method named in the condition (ultrasound, compression test ...) is another test than the
    reference one, and so is a measured set outside static bending, Janka or Brinell side.
    """
    if condition.get("method") is not None:
        return False
    wanted = PROPERTIES[name].reference
    return all(
        condition.get(key) in (value if isinstance(value, tuple) else (value,))
        for key, value in wanted.items()
    )


_UNIT_IN_COLUMN = {
    "kg/m3": "kg_m3", "GPa": "gpa", "MPa": "mpa", "N": "n", "%": "pct", "% per %": "pct_per_pct",
    "kJ/m3": "kj_m3", "mm": "mm", "1": "",
}  # fmt: skip


def wide_column(name: str) -> str:
    """density -> density_kg_m3: the column of a property in material_wide."""
    unit = _UNIT_IN_COLUMN[PROPERTIES[name].unit]
    return f"{name}_{unit}" if unit else name
