"""Cells of the table pages as a maker wants them: a chip for a colour, the unit behind a number, a link from
an id to the page of the wood or the source."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from markupsafe import Markup

from woodref.catalogue.material import GRADE_WORDS
from woodref.catalogue.properties import PROPERTIES, wide_column
from woodref.science.colour import lab_to_hex

#: (table, column) that hold the id or the name of the row's own wood, glue or source
_WOODS = {("material_wide", "id"), ("material", "name"), ("material_wide", "name"), ("adhesive", "name")}
_NUMBERS = ("value", "low", "high", "typical")


@cache
def _units() -> dict[str, str]:
    return {wide_column(name): prop.unit for name, prop in PROPERTIES.items()}


def cell(row: Mapping[str, Any], value: Any, column: str, table: str | None) -> Markup | None:
    """A cell drawn, or None for one that stands as it is. row: the whole row; value: of this cell, or {value,
    label} where it names a row of another table."""
    if table is None or value is None or value == "":
        return None
    if (table, column) in _WOODS:
        return _link(f"/wood/{row['id']}", value)
    if column == "material_id":
        label = value["label"] if isinstance(value, dict) else value
        return _link(f"/wood/{_bare(value)}", label)
    if column == "source_id":
        return _link(f"/about/source/{_bare(value)}", _bare(value))
    if column == "l_star":
        return _chip(row, value)
    if column == "evidence":
        return Markup("{} ({})").format(GRADE_WORDS[value], value) if value in GRADE_WORDS else None
    return _number(row, value, column, table)


def _number(row: Mapping[str, Any], value: Any, column: str, table: str) -> Markup | None:
    unit = None
    if table == "material_wide":
        unit = _units().get(column)
    elif table in ("figure", "figure_full") and column in _NUMBERS:
        unit = row["unit"]
    elif column == "added_error":
        unit = "%"
    if unit in (None, "1") or not isinstance(value, (int, float)):
        return None
    return Markup('<span class="right">{:g}&nbsp;{}</span>').format(value, unit)


def _chip(row: Mapping[str, Any], value: Any) -> Markup:
    colour = lab_to_hex((row["l_star"], row["a_star"], row["b_star"]))
    return Markup(
        '<svg class="chip" viewBox="0 0 26 17" role="img" aria-label="{}"><rect width="26" height="17" '
        'fill="{}"/></svg>{:g}'
    ).format(colour, colour, value)


def _bare(value: Any) -> Any:
    return value["value"] if isinstance(value, dict) else value


def _link(href: str, label: Any) -> Markup:
    return Markup('<a href="{}">{}</a>').format(href, label)
