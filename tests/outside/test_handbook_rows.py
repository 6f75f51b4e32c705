"""The catalogue against byte copies of the Wood Handbook rows that were read.

Source of every number: the table and edition that stand in the row itself (USDA Forest Products
Laboratory, Wood Handbook, 1974 to 2021). Expected values are the printed ones turned into the
catalogue's unit (own computation in Decimal) and rounded to four significant digits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest

from woodref.catalogue.check import DataSet
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.schema import FigureIn

Rows = Callable[[str], list[dict[str, str]]]
Held = Mapping[str, Mapping[str, Sequence[FigureIn]]]

# NIST SP 811, appendix B.8: exact by definition
LBF = Decimal("0.45359237") * Decimal("9.80665")  # N
PSI = LBF / Decimal("25.4") ** 2  # MPa
K = Decimal("0.001")
ONE = Decimal(1)

METRIC = {
    "mor_kPa": ("mor", K),
    "moe_MPa": ("moe", K),
    "work_to_max_load_kJ_m3": ("work_to_maximum_load", ONE),
    "impact_bending_drop_mm": ("impact_bending", ONE),
    "compression_parallel_kPa": ("compression_parallel", K),
    "compression_perp_prop_limit_kPa": ("compression_perpendicular", K),
    "shear_parallel_kPa": ("shear_parallel", K),
    "tension_perp_kPa": ("tension_perpendicular", K),
    "side_hardness_N": ("side_hardness", ONE),
}
INCH_POUND = {
    "mor_lbf_in2": ("mor", PSI),
    "moe_1e6_lbf_in2": ("moe", PSI * 1000),
    "work_to_max_load_inlbf_in3": ("work_to_maximum_load", PSI * 1000),
    "impact_bending_in": ("impact_bending", Decimal("25.4")),
    "compression_parallel_lbf_in2": ("compression_parallel", PSI),
    "compression_perp_lbf_in2": ("compression_perpendicular", PSI),
    "shear_parallel_lbf_in2": ("shear_parallel", PSI),
    "tension_perp_lbf_in2": ("tension_perpendicular", PSI),
    "side_hardness_lbf": ("side_hardness", LBF),
}
SHRINKAGE = {
    "shrinkage_radial_pct_green_to_ovendry": ("shrinkage_radial", ONE),
    "shrinkage_tangential_pct": ("shrinkage_tangential", ONE),
    "shrinkage_volumetric_pct": ("shrinkage_volumetric", ONE),
}
OTHERS = {
    "CR_radial_per_1pct_mc": ("movement_radial", Decimal(100)),
    "CT_tangential_per_1pct_mc": ("movement_tangential", Decimal(100)),
    "ER_over_EL": ("ratio_er_el", ONE),
    "ET_over_EL": ("ratio_et_el", ONE),
    "GLR_over_EL": ("ratio_glr_el", ONE),
    "GLT_over_EL": ("ratio_glt_el", ONE),
    "GRT_over_EL": ("ratio_grt_el", ONE),
    "mu_LR": ("poisson_lr", ONE),
    "mu_LT": ("poisson_lt", ONE),
    "mu_RT": ("poisson_rt", ONE),
    "heartwood_mc_pct": ("green_moisture", ONE),
    "sapwood_mc_pct": ("green_moisture", ONE),
    "Mp_pct": ("intersection_moisture", ONE),
}
COLUMNS = METRIC | INCH_POUND | SHRINKAGE | OTHERS
GRAVITY = ("specific_gravity", "specific_gravity_as_printed")

FILES = {
    "wood_handbook_4-1_green_moisture_content_PART.csv": "species",
    "wood_handbook_4-3_shrinkage_domestic.csv": "common_name",
    "wood_handbook_4-4_shrinkage_imported_PART.csv": "common_name",
    "wood_handbook_5-1_elastic_ratios.csv": "species",
    "wood_handbook_5-2_poisson_ratios.csv": "species",
    "wood_handbook_5-3a_domestic_strength_metric.csv": "common_name",
    "wood_handbook_5-3b_domestic_strength_inchpound_PART.csv": "common_name",
    "wood_handbook_5-5a_imported_strength_metric_PART.csv": "common_name",
    "wood_handbook_5-5a_imported_MEMORY_ONLY.csv": "common_name",
    "wood_handbook_5-5b_imported_strength_inchpound_PART.csv": "common_name",
    "wood_handbook_5-13_intersection_moisture_content.csv": "species",
    "wood_handbook_13-5_dimensional_change_coefficients.csv": "common_name",
    "wood_handbook_1974_boatwoods_strength_inchpound.csv": "common_name",
}
MARKS = {"AH-72": "fpl-ah-72", "GTR-113": "fpl-gtr-113", "GTR-190": "fpl-gtr-190", "GTR-282": "fpl-gtr-282"}
#: columns that say where a row comes from, and hold no figure
WORDS = {
    "group", "species", "common_name", "botanical_name", "botanical_name_added",
    "binomial_added_not_in_table", "moisture_condition", "location_as_printed", "sample_origin",
    "table", "edition", "table_and_edition", "seen", "seen_in", "seen_ET_ER",
    "seen_GLR_GLT_GRT", "seen_mu_LR", "seen_other_ratios", "check_against_table_13-5",
}  # fmt: skip

# Exceptions, each by name with its reason.
COLUMNS_LEFT_OUT = {
    name: "minor Poisson ratio: follows from the major one and the stiffnesses (reciprocity)"
    for name in ("mu_TR", "mu_RL", "mu_TL")
}
ROWS_LEFT_OUT = {"any other species (default)": "Table 5-13: no figure of a wood, a default"}
#: rows of a whole genus that are not carried by every species of ours in it
GENUS_ROW_NOT_OURS = {
    ("Khaya spp.", "khaya-senegalensis"): "denser than the row: its own sheet has 0.55 to 0.65",
    ("Guibourtia spp.", "guibourtia-ehie"): "the table has a row of its own, ovangkol",
    ("Diospyros spp.", "diospyros-celebica"): "Asian: takes the East Indian row only",
    ("Diospyros spp.", "diospyros-ebenum"): "Asian: takes the East Indian row only",
    ("Diospyros spp.", "diospyros-crassiflora"): "African: takes the African row only",
}
#: Table 4-4: name and value were paired by order, and the sheets read later print the same values
SECOND_READING = {"Mahogany, true", "Macawood"}
#: names that mean a group although the table gives no botanical name
GROUPS = {
    ("5-1", "Oak, red"), ("5-1", "Oak, white"), ("5-1", "Mahogany, African"),
    ("5-2", "Oak, red"), ("5-2", "Oak, white"), ("5-2", "Mahogany, African"),
    ("13-5", "Oak, red, commercial"), ("13-5", "Oak, white, commercial"),
}  # fmt: skip
#: imported woods: the volume behind a specific gravity beside "12 %" is not stated
IMPORTED_1974 = {"Teak"}


@dataclass(frozen=True)
class Wanted:
    """One printed cell as the catalogue must hold it."""

    where: str
    material: str
    property: str
    value: Decimal
    condition: Mapping[str, Any]
    source: str
    table: str
    evidence: str
    of_group: bool

    def held_by(self, figure: FigureIn) -> bool:
        """Whether this figure is that cell."""
        return (
            Decimal(str(figure.value)) == self.value
            and figure.low is None
            and figure.unit == PROPERTIES[self.property].unit
            and figure.condition.model_dump(by_alias=True, exclude_none=True) == self.condition
            and figure.source == self.source
            and (figure.locator or "").split(",")[0] == self.table
            and figure.evidence == self.evidence
            and (figure.for_taxon is not None) == self.of_group
        )


def rounded(value: Decimal) -> Decimal:
    """Four significant digits, as the catalogue writes a converted figure."""
    return Decimal(f"{value:.4g}")


def botanical(row: Mapping[str, str]) -> str:
    """The botanical name of a row, whatever its column is called; empty where there is none."""
    for column in ("botanical_name", "botanical_name_added", "binomial_added_not_in_table"):
        if row.get(column):
            return row[column]
    return ""


def cell(row: Mapping[str, str], column: str, name: str, table: str) -> tuple[str, Decimal, dict[str, Any]]:
    """Property, value and condition of one filled cell."""
    printed, moist = Decimal(row[column]), row.get("moisture_condition", "")
    if column in GRAVITY:
        dry = {"mass": "oven-dry"}
        if moist == "green":
            return "basic_density", printed * 1000, dry | {"volume": "green"}
        if table.startswith(("5-5", "4-5")) or name in IMPORTED_1974:
            return "basic_density", printed * 1000, dry | {"volume": "not-stated"}
        return "density", printed * 1120, {"mc": 12.0}
    prop, factor = COLUMNS[column]
    condition: dict[str, Any] = {}
    if moist:
        condition = {"mc": "green" if moist == "green" else float(moist.rstrip("%"))}
    elif prop.startswith("shrinkage"):
        condition = {"from": "green", "to": "oven-dry"}
    elif prop.startswith("movement"):
        condition = {"within": "service"}
    elif prop.startswith(("ratio", "poisson")):
        condition = {"mc": 12.0}
    elif prop == "green_moisture":
        condition = {"part": column.split("_")[0]}
    return prop, printed * factor, condition


def evidence(row: Mapping[str, str], column: str, name: str, table: str) -> str:
    """read -> quoted; memory, inferred, second hand -> recalled; named second readings quoted."""
    key = "seen"
    if column.startswith(("ER_", "ET_")):
        key = "seen_ET_ER"
    elif column.startswith("G") and column.endswith("_EL"):
        key = "seen_GLR_GLT_GRT"
    elif column.startswith("mu_"):
        key = "seen_mu_LR" if column == "mu_LR" else "seen_other_ratios"
    if table == "4-4" and name in SECOND_READING:
        return "quoted"
    return "quoted" if row[key] == "read" else "recalled"


def wanted_of(rows: Rows, names: Mapping[str, list[str]]) -> Iterator[Wanted]:
    """Every printed cell that concerns a wood of the catalogue."""
    for file, key in FILES.items():
        for row in rows(file):
            name = row[key]
            edition = row.get("edition") or row["table_and_edition"]
            source = next(s for mark, s in MARKS.items() if mark in edition)
            table = row.get("table", "1974").split(" ")[0]
            locator = "pp. 4-7 to 4-17" if table == "1974" else f"Table {table}"
            group = "spp." in botanical(row) or " and " in botanical(row) or (table, name) in GROUPS
            for material in names.get(name, []):
                for column in (*COLUMNS, *GRAVITY):
                    if row.get(column):
                        prop, value, condition = cell(row, column, name, table)
                        grade = evidence(row, column, name, table)
                        where = f"{file}: {name} {row.get('moisture_condition', '')} {column} {row[column]}"
                        yield Wanted(
                            where, material, prop, rounded(value), condition, source, locator, grade, group
                        )


def missing(wanted: Sequence[Wanted], held: Held) -> list[str]:
    """The cells that no figure of the catalogue holds."""
    return [
        f"{w.where}: no {w.property} {w.value} ({w.source}, {w.table}, {w.evidence}) in {w.material}"
        for w in wanted
        if not any(w.held_by(f) for f in held.get(w.material, {}).get(w.property, []))
    ]


def unfounded(wanted: Sequence[Wanted], held: Held) -> list[str]:
    """The figures that cite a handbook table, and that no copied cell gives."""
    return [
        f"{material} {prop} {figure.value} ({figure.source}, {figure.locator}): no such cell"
        for material, figures in held.items()
        for prop, many in figures.items()
        for figure in many
        if figure.source in MARKS.values()
        and not any(
            w.material == material and w.property == prop and w.held_by(figure) for w in wanted
        )
    ]
