"""The catalogue as pandas frames: one wide row a material, or one long row a figure."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from woodref.catalogue.properties import PROPERTIES, wide_column

if TYPE_CHECKING:
    import pandas as pd

    from woodref.catalogue.reader import Catalogue

LONG = (
    "material_id", "property", "preferred", "value", "low", "high", "typical", "unit", "printed", "condition",
    "source_id", "locator", "evidence", "for_taxon", "worked_from", "added_error", "n", "note",
)  # fmt: skip


def wide_rows(catalogue: Catalogue) -> list[dict[str, Any]]:
    """One dict a material: names, preferred figures under unit names, look, status of planting."""
    out = []
    for m in catalogue.materials():
        row: dict[str, Any] = {
            "id": m.id,
            "kind": m.kind,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "family": m.family,
            "woods": "; ".join(m.woods),
        }
        for name in PROPERTIES:
            figure = m.figure(name)
            row[wide_column(name)] = figure.typical if figure else None
        row |= {
            "colour_class": m.look["class"],
            "pores": m.look["pores"],
            "texture": m.look["texture"],
            "grain": m.look["grain"],
            "sold_as_veneer": m.veneer["sold"],
            "planted": m.grows["plantation"]["grown"],
            "countries": "; ".join(m.countries),
            "dust": m.working["dust"]["risk"],
            "red_list": m.red_list["category"],
        }
        out.append(row)
    return out


def units_row(columns: list[str]) -> dict[str, str]:
    """The unit of each column of the wide table ('' where it has none)."""
    units = {wide_column(name): prop.unit for name, prop in PROPERTIES.items()}
    return {column: units.get(column, "") for column in columns}


def long_rows(catalogue: Catalogue) -> list[dict[str, Any]]:
    """One dict a figure, in file order, condition as JSON text."""
    rows = catalogue.rows("SELECT * FROM figure ORDER BY material_id, property, key")
    return [{key: row[key] for key in LONG} for row in rows]


def frame(catalogue: Catalogue) -> pd.DataFrame:
    """Wide DataFrame indexed by id, units in the column names."""
    import pandas as pd

    return pd.DataFrame(wide_rows(catalogue)).set_index("id")


def figures(catalogue: Catalogue) -> pd.DataFrame:
    """Long DataFrame, one row a figure; condition as a dict."""
    import pandas as pd

    out = pd.DataFrame(long_rows(catalogue), columns=list(LONG))
    out["condition"] = out["condition"].map(json.loads)
    return out
