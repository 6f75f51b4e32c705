"""The catalogue against copies of the Wood Handbook rows that were read (remarks on how, reworded).

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

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.schema import FigureIn

Rows = Callable[[str], list[dict[str, str]]]
Held = Mapping[str, Mapping[str, Sequence[FigureIn]]]

# NIST SP 811, appendix B.8: exact by definition
LBF = Decimal("0.45359237") * Decimal("9.80665")  # N
PSI = LBF / Decimal("25.4") ** 2  # MPa
#: how a column is printed (data/handbook_columns.csv) -> factor to the catalogue's unit
FACTORS = {
    "as printed": Decimal(1),
    "kPa": Decimal("0.001"),  # MPa
    "MPa as GPa": Decimal("0.001"),
    "per 1 %": Decimal(100),  # % per %
    "lbf/in2": PSI,
    "10^6 lbf/in2": PSI * 1000,  # GPa
    "in-lbf/in3": PSI * 1000,  # kJ/m3
    "in": Decimal("25.4"),  # mm
    "lbf": LBF,
}
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
MARKS = {
    "AH-72": "fpl-ah-72",
    "GTR-113": "fpl-gtr-113",
    "GTR-190": "fpl-gtr-190",
    "GTR-282": "fpl-gtr-282",
}
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
    ("Diospyros spp.", "diospyros-virginiana"): "American: has rows of its own, persimmon",
    ("Diospyros spp.", "diospyros-perrieri"): "of Madagascar: neither row speaks of that island",
    ("Guibourtia spp.", "guibourtia-arnoldiana"): "the table has a row of its own, benge",
    ("Carya spp.", "carya-illinoinensis"): "the row means the true hickories, not pecan",
    ("Tabebuia spp. (lapacho group)", "tabebuia-rosea"): "of the roble group, far lighter",
    ("Tabebuia spp. (now Handroanthus)", "tabebuia-rosea"): "of the roble group, far lighter",
}
#: printed names that divide one species, and the strength set each makes
SETS = {
    "Douglas fir, Coast": "coast", "Douglas-fir, coast": "coast",
    "Douglas-fir, interior north": "interior north", "Douglas-fir, interior south": "interior south",
    "Douglas-fir, interior west": "interior west",
    "Redwood, old-growth": "old-growth", "Redwood, young-growth": "young-growth",
}  # fmt: skip
#: tables and rows of which no copy was at hand: the figures are recalled, and nothing can be laid beside them
NO_COPY = {"Table 12-1", "Table 5-5b, greenheart"}
#: rows of another wood that the table prints under the same name as one of ours
OTHER_WOODS = {("Sucupira", "Bowdichia spp.")}
#: cells that stand under a wrong heading in the copy that was read
CELLS_LEFT_OUT = {
    ("Ramin", "tension_perp_lbf_in2"): "640 and 1,300 are its hardness in lbf (Table 5-5a: 2,800 and 5,800 N)"
}
#: names that mean a group although the table gives no botanical name
GROUPS = {
    ("5-1", "Oak, red"), ("5-1", "Oak, white"), ("5-1", "Mahogany, African"),
    ("5-2", "Oak, red"), ("5-2", "Oak, white"), ("5-2", "Mahogany, African"),
    ("13-5", "Oak, red, commercial"), ("13-5", "Oak, white, commercial"), ("13-5", "Apple"),
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
            figure.value is not None
            and Decimal(str(figure.value)) == self.value
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


def cell(
    row: Mapping[str, str], column: Mapping[str, str], name: str, table: str
) -> tuple[str, Decimal, dict[str, Any]]:
    """Property, value and condition of one filled cell."""
    printed, moist = Decimal(row[column["column"]]), row.get("moisture_condition", "")
    if column["column"] in GRAVITY:
        dry = {"mass": "oven-dry"}
        if moist == "green":
            return "basic_density", printed * 1000, dry | {"volume": "green"}
        if table.startswith(("5-5", "4-5")) or name in IMPORTED_1974:
            return "basic_density", printed * 1000, dry | {"volume": "not-stated"}
        return "density", printed * 1120, {"mc": 12.0}
    prop, condition = column["property"], dict[str, Any]()
    if moist:
        condition = {"mc": "green" if moist == "green" else float(moist.rstrip("%"))}
    elif prop.startswith("shrinkage"):
        condition = {"from": "green", "to": "oven-dry"}
    elif prop.startswith("movement"):
        condition = {"within": "service"}
    elif prop.startswith(("ratio", "poisson")):
        condition = {"mc": 12.0}
    elif prop == "green_moisture":
        condition = {"part": column["column"].split("_")[0]}
    return prop, printed * FACTORS[column["unit"]], condition


def evidence(row: Mapping[str, str], column: str, name: str, table: str) -> str:
    """read -> quoted; memory, inferred, second hand -> recalled."""
    key = "seen"
    if column.startswith(("ER_", "ET_")):
        key = "seen_ET_ER"
    elif column.startswith("G") and column.endswith("_EL"):
        key = "seen_GLR_GLT_GRT"
    elif column.startswith("mu_"):
        key = "seen_mu_LR" if column == "mu_LR" else "seen_other_ratios"
    return "quoted" if row[key] == "read" else "recalled"


def wanted_of(rows: Rows) -> Iterator[Wanted]:
    """Every printed cell that concerns a wood of the catalogue."""
    columns = rows("handbook_columns.csv")
    names = rows("handbook_names.csv")
    for file, key in FILES.items():
        for row in rows(file):
            name, moist = row[key], row.get("moisture_condition", "")
            if (name, botanical(row)) in OTHER_WOODS:
                continue
            edition = row.get("edition") or row["table_and_edition"]
            source = next(s for mark, s in MARKS.items() if mark in edition)
            table = row.get("table", "1974").split(" ")[0]
            cited = "pp. 4-7 to 4-17" if table == "1974" else f"Table {table}"
            group = "spp." in botanical(row) or " and " in botanical(row) or (table, name) in GROUPS
            for material in [n["material"] for n in names if n["printed_name"] == name]:
                for column in columns:
                    printed = row.get(column["column"])
                    if not printed or (name, column["column"]) in CELLS_LEFT_OUT:
                        continue
                    prop, value, condition = cell(row, column, name, table)
                    if name in SETS:
                        condition = condition | {"set": SETS[name]}
                    grade = evidence(row, column["column"], name, table)
                    where = f"{file}: {name} {moist} {column['column']} {printed}"
                    yield Wanted(
                        where,
                        material,
                        prop,
                        rounded(value),
                        condition,
                        source,
                        cited,
                        grade,
                        group,
                    )


def missing(wanted: Sequence[Wanted], held: Held) -> list[str]:
    """The cells that no figure of the catalogue holds."""
    return [
        f"{w.where}: no {w.property} {w.value} ({w.source}, {w.table}, {w.evidence}) in {w.material}"
        for w in wanted
        if not any(w.held_by(f) for f in held.get(w.material, {}).get(w.property, []))
    ]


def unfounded(wanted: Sequence[Wanted], held: Held) -> list[str]:
    """The figures that cite a handbook table, and that no copied cell gives. One from memory that names no
    table has no cell to stand in."""
    return [
        f"{material} {prop} {figure.value} ({figure.source}, {figure.locator}): no such cell"
        for material, figures in held.items()
        for prop, many in figures.items()
        for figure in many
        if figure.source in MARKS.values()
        and figure.locator not in NO_COPY
        and (figure.evidence, figure.locator) != ("recalled", None)
        and not any(w.material == material and w.property == prop and w.held_by(figure) for w in wanted)
    ]


@pytest.fixture(scope="module")
def wanted(rows: Rows) -> list[Wanted]:
    return list(wanted_of(rows))


@pytest.fixture(scope="module")
def held(dataset: DataSet) -> Held:
    return {key: loaded.model.figures for key, loaded in dataset.materials.items()}


def test_every_printed_cell_stands_in_the_catalogue(wanted: list[Wanted], held: Held) -> None:
    assert len(wanted) >= 1522  # fewer would mean that rows are passed over
    assert not missing(wanted, held), "\n".join(missing(wanted, held))


def test_every_handbook_figure_has_a_printed_cell(wanted: list[Wanted], held: Held) -> None:
    assert not unfounded(wanted, held), "\n".join(unfounded(wanted, held))


def test_the_copies_are_the_bytes_that_were_copied(rows: Rows, digest: Callable[[str], str]) -> None:
    sums = {row["file"]: row["sha256"] for row in rows("copies_sha256.csv")}
    assert set(FILES) < set(sums)
    assert {file: digest(file) for file in sums} == sums


def test_every_column_is_used_or_left_out_by_name(rows: Rows) -> None:
    used = {row["column"] for row in rows("handbook_columns.csv")}
    found = {column for file in FILES for column in rows(file)[0]}
    assert found == used | WORDS | set(COLUMNS_LEFT_OUT)


def test_no_row_of_a_wood_of_ours_is_passed_over(rows: Rows, held: Held, dataset: DataSet) -> None:
    named = {(row["printed_name"], row["material"]) for row in rows("handbook_names.csv")}
    printed, excused = set(ROWS_LEFT_OUT), set()
    for file, key in FILES.items():
        for row in rows(file):
            printed.add(row[key])
            words = botanical(row)
            for material, loaded in dataset.materials.items():
                latin = loaded.model.botanical.name if loaded.model.botanical else "-"
                if words.split(" ")[0] != latin.split(" ")[0] or (row[key], material) in named:
                    continue
                assert latin not in words, (file, row[key], material)
                if "spp." in words:
                    excused.add((words, material))
    assert {name for name, _ in named} <= printed
    assert excused == set(GENUS_ROW_NOT_OURS)


@pytest.mark.parametrize(
    "change",
    [
        {"value": 13.8},
        {"evidence": "recalled"},
        {"source": "fpl-gtr-282"},
        {"locator": "Table 5-3b"},
        {"unit": "MPa"},
        {"for_taxon": "Betula spp."},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_changed_figure_is_caught(wanted: list[Wanted], held: Held, change: dict[str, Any]) -> None:
    """Yellow birch, 13,900 MPa (Table 5-3a, 12 %), spoilt in one place at a time."""
    birch = held["betula-alleghaniensis"]
    spoilt = [birch["moe"][0].model_copy(update=change), *birch["moe"][1:]]
    after = {**held, "betula-alleghaniensis": {**birch, "moe": spoilt}}
    assert set(missing(wanted, after)) - set(missing(wanted, held))
    assert set(unfounded(wanted, after)) - set(unfounded(wanted, held))
