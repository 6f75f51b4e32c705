"""Rows of a user's own lists found by name or within limits, as sentences, tables, JSON and CSV."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from woodref.catalogue.material import Figure, Material, shown
from woodref.catalogue.ownknown import Known, Link
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.ownstore import OwnList, holding, rows_of
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadList, echo
from woodref.selection import status
from woodref.selection.cells import LEGEND as MARKED
from woodref.selection.cells import MARKS, unit_head
from woodref.selection.find import within_limits
from woodref.selection.ownlists import BRACKETS, figure_of, own_figure, row_dict
from woodref.selection.ownstatus import own_status
from woodref.units import Range

#: rows of lists that a search for a name shows, unless more are asked for
FOUND = 10
#: rows of a list that are printed when it is asked for alone, unless more are
MOST = 50
LEGEND = f"{MARKED} {BRACKETS}"


@dataclass(frozen=True)
class Hit:
    """A row found, the wood of the catalogue that it is, and what of its law is known."""

    row: OwnRow
    link: Link
    material: Material | None
    law: str
    trade_status: str | None

    def as_dict(self) -> dict[str, Any]:
        """The row as the JSON contract shows it."""
        return row_dict(self.row, self.link, self.material) | {"trade_status": self.trade_status}


#: a row's law in a cell of a table
_LAW = {"closed": "closed", "papers": "with papers", "maybe": "may be listed", "not-known": "not known"}


@dataclass
class OwnFinds:
    """Rows of lists that answer a search; count: how many do, shown or not."""

    lists: list[OwnList]
    rows: list[Hit]
    count: int
    query: dict[str, Any]
    asked: tuple[str, ...]
    closing: list[str]
    notices: list[Notice]
    stamp: dict[str, str]

    @property
    def apart(self) -> Notice:
        """That rows of lists are not in the CSV of a search of the catalogue, whose columns are others."""
        rows = "1 row of your lists is" if self.count == 1 else f"{self.count:,} rows of your lists are"
        return Notice("rows-of-lists", f"{rows} called so too and not in this CSV: ask with --among LIST.")

    def as_rows(self) -> list[dict[str, Any]]:
        """The rows as the JSON contract shows them."""
        return [hit.as_dict() for hit in self.rows]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `find --among LIST`."""
        return {
            "query": self.query,
            "count": self.count,
            "rows": self.as_rows(),
            "lists": [held.as_dict() for held in self.lists],
            "closing": self.closing,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }

    def flat(self) -> list[dict[str, Any]]:
        """One line a row for CSV."""
        out = []
        for hit in self.rows:
            row, material = hit.row, hit.material
            figures = {f.property: figure_of(f, row) for f in row.figures}
            out.append(
                {
                    "id": row.id,
                    "name": row.called,
                    "botanical_name": row.botanical,
                    "known_as": material.id if material else None,
                    "line": row.line,
                    "density_kg_m3": _typical(figures.get("density")),
                    "basic_density_kg_m3": _typical(figures.get("basic_density")),
                    "moe_gpa": _typical(figures.get("moe")),
                    "moisture": next((str(f.condition.get("mc", "")) for f in figures.values()), None),
                    "price": row.price.amount if row.price else None,
                    "currency": row.price.currency if row.price else None,
                    "per": row.price.per if row.price else None,
                    "thickness_mm": row.thickness,
                    "cut": row.cut,
                    "notes": [f"{column}: {text}" for column, text in row.notes],
                    "trade_status": hit.trade_status,
                    "checked": "no",
                }
            )
        return out


def _typical(figure: Figure | None) -> float | None:
    return figure.typical if figure else None


def find_rows(
    text: str,
    lists: Iterable[str],
    limits: dict[str, Range],
    catalogue: Catalogue,
    on: dt.date,
    most: int | None,
) -> OwnFinds:
    """Rows of lists one of whose names holds every word typed (all without words), within the limits by the
    list's own figures. A list that cannot be read is told and stops no other."""
    known: Known | None = None
    notices: list[Notice] = []
    held_lists: list[OwnList] = []
    hits: list[OwnRow] = []
    for list_id in lists:
        try:
            held, rows = holding(list_id, text) if text.strip() else rows_of(list_id)
        except BadList as fault:
            notices.append(Notice("list-unreadable", str(fault)))
            continue
        held_lists.append(held)
        hits += rows
    silent: dict[str, int] = {}
    fitting = [row for row in hits if within_limits(partial(own_figure, row), limits, silent)]
    if limits:
        first = next(iter(limits))
        fitting.sort(key=lambda row: (_typical(own_figure(row, first)) or 0.0, row.id))
    kept = fitting if most is None else fitting[:most]
    out = []
    for row in kept:
        known = known or Known(catalogue)
        link = known.link(row)
        out.append(_hit(row, link, catalogue, known, on))
    for name, count in silent.items():
        notices.append(
            Notice(
                "figure-not-known",
                f"Of {count:,} more row{'' if count == 1 else 's'} the list does not tell the "
                f"{PROPERTIES[name].asks} at the usual moisture: not shown, not refused.",
            )
        )
    query = {"text": text or None, "with": {n: str(v) for n, v in limits.items()}, "rows": most}
    asked = tuple(limits) or ("density", "moe")
    return OwnFinds(
        held_lists, out, len(fitting), query, asked, [], [*catalogue.notices, *notices], catalogue.stamp
    )


def _hit(row: OwnRow, link: Link, catalogue: Catalogue, known: Known, on: dt.date) -> Hit:
    if link.material_id is None:
        kind = own_status(row, catalogue, known, on).kind
        return Hit(row, link, None, _LAW[kind], kind)
    material = catalogue.material(link.material_id)
    return Hit(row, link, material, status.origins(material, on, catalogue).share(material), None)


def find_among(
    text: str,
    list_id: str,
    limits: dict[str, Range],
    catalogue: Catalogue,
    on: dt.date,
    most: int | None,
) -> OwnFinds:
    """`find --among LIST`: its rows alone. BadList when there is no such list."""
    held, _ = holding(list_id, "")
    found = find_rows(text, [list_id], limits, catalogue, on, most)
    found.query |= {"among": list_id}
    if not found.rows:
        what = f" holds {echo(text)} and" if text and limits else f" holds {echo(text)}" if text else ""
        limit = " lies within the limits" if limits else ""
        found.closing.append(f"No row of {held.words}{what}{limit}.")
    elif found.count > len(found.rows):
        found.closing.append(f"{len(found.rows):,} of {found.count:,} rows shown; --rows for more.")
    found.closing.append(_marked(held))
    found.closing.append(
        "Where a row was harvested no list tells: origins are those of the wood as known here. More on one: "
        "woodref show and the id of its row."
    )
    found.closing.append(status.law_caution(catalogue))
    found.notices += status.law_notices(on, catalogue)
    return found


def _marked(held: OwnList) -> str:
    return f"From your list {held.id} ({held.title}, of {held.date}), not checked here."


def beside(found: OwnFinds, refused: Sequence[str]) -> list[str]:
    """What a search of the catalogue says of the rows of lists it found too. refused: options that ask what
    no list tells."""
    if not found.count:
        return []
    if refused:
        rows = f"{found.count:,} row{' is' if found.count == 1 else 's are'}"
        return [f"{rows} called so on your lists, which do not tell what {' and '.join(refused)} asks."]
    held_by = {hit.row.list_id for hit in found.rows}
    out = [_marked(held) for held in found.lists if held.id in held_by]
    if found.count > len(found.rows):
        out.append(f"{len(found.rows):,} of {found.count:,} rows of lists shown; more with --among LIST.")
    return out


def own_table(found: OwnFinds, system: str) -> tuple[list[str], list[list[str]], set[int]]:
    """Rows of lists as a table: head, cells, columns set flush right."""
    head = ["on your list", "botanical name", "id", *(unit_head(name, system) for name in found.asked),
            "price", "known here as", "origins not listed"]  # fmt: skip
    lines = []
    for hit in found.rows:
        row = hit.row
        own = {f.property: figure_of(f, row) for f in row.figures}
        cells = [_cell(own.get(name), system) for name in found.asked]
        lines.append(
            [
                row.called, row.botanical or "-", row.id, *cells, row.price.words if row.price else "-",
                hit.material.name if hit.material else "not known",
                hit.law,
            ]
        )  # fmt: skip
    return head, lines, set(range(3, 3 + len(found.asked)))


def _cell(figure: Figure | None, system: str) -> str:
    """'640 r'; a figure at another moisture than the usual one stands in brackets."""
    from woodref.catalogue.properties import in_reference

    if figure is None:
        return "-"
    text = f"{shown(figure.name, figure.typical, system)[0]} {MARKS[figure.evidence]}"
    return text if in_reference(figure.name, figure.condition) else f"({text})"
