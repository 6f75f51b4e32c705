"""A ranking among the rows of a user's own list alone.

A row that is a wood of the catalogue is ranked by the figures of that wood, once a wood, with all its rows
and prices beside it. A row not known here stands as a wood of its own with what the list tells: its law is
never assumed, and what no list tells is not known of it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.ownknown import Known, taxon
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.ownstore import OwnList, row_at, rows_of
from woodref.catalogue.properties import in_reference
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.selection import gates
from woodref.selection.answer import beside_sentence
from woodref.selection.ownlists import figure_of
from woodref.selection.ownstatus import own_status
from woodref.selection.request import Request
from woodref.selection.roles import VENEER_ROLES

#: kind of a wood that stands on a list and not in the catalogue
LIST_ROW = "list-row"
#: a sheet that is thicker is no leaf [mm]
LEAF = 10
#: rows under a listing that are named at the end
MOST_FLAGGED = 12


@dataclass(frozen=True)
class Among:
    """A list taken apart. beside: id of a wood of the catalogue -> its rows; unknown: id of a row -> the row;
    materials: the unknown rows as woods."""

    held: OwnList
    known: Known
    beside: Mapping[str, tuple[OwnRow, ...]] = field(default_factory=dict)
    unknown: Mapping[str, OwnRow] = field(default_factory=dict)
    materials: tuple[Material, ...] = ()

    def rows(self, material: Material) -> tuple[OwnRow, ...]:
        """The rows of the list that are this wood."""
        own = self.unknown.get(material.id)
        return (own,) if own else self.beside.get(material.id, ())

    def cautions(self, material: Material, role: str) -> tuple[str, ...]:
        """What the list's own rows of a wood give to mind."""
        return tuple(boards_only(self.rows(material), role))

    def wood(self, own_id: str, catalogue: Catalogue) -> Material:
        """The wood that a row's id stands for in this ranking: of a row known here the wood of the
        catalogue. UnknownName when the list has no such row."""
        _, row = row_at(own_id)
        for material in self.materials:
            if material.id == row.id:
                return material
        if row.list_id != self.held.id:
            raise BadRequest(f"{row.id} does not stand on {self.held.words}", next="Name a row of it.")
        return catalogue.material(next(name for name, rows in self.beside.items() if row in rows))

    def opening(self, target: Material | None) -> list[str]:
        """What stands on the list, and the target's own rows where it does."""
        woods, rows = len(self.beside), sum(len(held) for held in self.beside.values())
        told = f"{rows:,} row{' is' if rows == 1 else 's are'} {_woods(woods)} known here"
        other = len(self.unknown)
        told += f", {other:,} {'is' if other == 1 else 'are'} not" if other else ""
        out = [f"Only what stands on {self.held.words}: {told}. The list was not checked here."]
        mine = self.beside.get(target.id, ()) if target else ()
        if target and mine:
            out.append(f"{target.name} stands on it itself. {beside_sentence(mine)}")
        return [f"{text[0].upper()}{text[1:]}" for text in out]

    def closing(self, on: dt.date, catalogue: Catalogue) -> list[str]:
        """Which rows a listing covers or may cover, whatever their place; which figures went into it; what
        was never assumed."""
        flagged = [
            row
            for row in self.unknown.values()
            if own_status(row, catalogue, self.known, on).kind != "not-known"
        ]
        out = []
        if flagged:
            told = [_named(row) for row in flagged[:MOST_FLAGGED]]
            rest = len(flagged) - len(told)
            more = f" and {rest:,} more (all of them with --json)" if rest else ""
            head = "1 row" if len(flagged) == 1 else f"{len(flagged):,} rows"
            out.append(
                f"A listing covers or may cover {head} not known here: {', '.join(told)}{more}. None of them "
                "is ranked."
            )
        out.append(
            "Woods known here are ranked by the figures of the catalogue, not by those of the list; rows not "
            "known here by what the list tells. The list does not say where any of it was harvested: ask for "
            "the botanical name and the country of harvest before you buy."
        )
        return out


def _named(row: OwnRow) -> str:
    latin = (row.botanical or "").rstrip(".")
    return f"{row.called} ({latin})" if latin and row.botanical != row.called else row.called


def _woods(count: int) -> str:
    return "of 1 wood" if count == 1 else f"of {count:,} woods"


def among(list_id: str, catalogue: Catalogue) -> Among:
    """A kept list taken apart for ranking. BadList when there is none of that id."""
    held, rows = rows_of(list_id)
    known = Known(catalogue)
    beside: dict[str, list[OwnRow]] = {}
    unknown: dict[str, OwnRow] = {}
    for row in rows:
        link = known.link(row)
        if link.material_id:
            beside.setdefault(link.material_id, []).append(row)
        else:
            unknown[row.id] = row
    made = tuple(as_material(row) for row in unknown.values())
    return Among(held, known, {name: tuple(mine) for name, mine in beside.items()}, unknown, made)


#: what no list tells; the values are shared and never changed
_LIGHT = {"change": "unknown", "words": None}
_LOOK: dict[str, Any] = {
    "words": "not told", "oiled": None, "class": None, "also": [], "swatches": [], "light": _LIGHT,
    "pores": "unknown", "texture": "unknown", "grain": "unknown", "figures": [], "evidence": None,
}  # fmt: skip
_WORKING: dict[str, Any] = {
    "bending": {"class": "unknown"}, "gluing": {"class": "unknown"}, "bleed_through": {"risk": "unknown"},
    "dust": {"risk": "no-record"}, "tannin": "unknown", "oily": "unknown", "evidence": None,
}  # fmt: skip
_GROWS: dict[str, Any] = {
    "countries": [], "plantation": {"grown": "unknown", "countries": [], "sold_as_veneer": "not-known"},
}  # fmt: skip


def boards_only(rows: tuple[OwnRow, ...], role: str) -> list[str]:
    """That a list has a wood in no thickness of a leaf, where a leaf is wanted."""
    sizes = [float(row.thickness) for row in rows if row.thickness]
    if role not in VENEER_ROLES or role == "core" or len(sizes) < len(rows) or not sizes:
        return []
    thinnest = min(sizes)
    return [f"The list has it no thinner than {thinnest:g} mm: no leaf."] if thinnest > LEAF else []


def as_material(row: OwnRow) -> Material:
    """A row that the catalogue does not know as a wood of which nothing is known but what the list tells."""
    held: dict[str, list[Figure]] = {}
    for own in row.figures:
        held.setdefault(own.property, []).append(figure_of(own, row))
    figures = {}
    for name, all_of in held.items():
        first = next((f for f in all_of if in_reference(name, f.condition)), None)
        figures[name] = Figures(first, tuple(f for f in all_of if f is not first))
    thick = [float(row.thickness)] if row.thickness else []
    return Material(
        id=row.id,
        kind=LIST_ROW,
        hardness_group="unknown",
        name=row.called,
        botanical_name=row.botanical,
        family=None,
        synonyms=(),
        names=(),
        woods=(taxon(row.botanical),) if row.botanical else (),
        grows=_GROWS,
        look=_LOOK,
        veneer={
            "sold": "not-known",
            "cuts": [],
            "thickness_mm": thick,
            "leaf_width_mm": {},
            "treatments": None,
            "evidence": None,
        },
        working=_WORKING,
        red_list={"category": "unknown"},
        made_from=None,
        cautions=(),
        figures=figures,
    )


def standing(
    material: Material, row: OwnRow, found: Among, request: Request, catalogue: Catalogue
) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    """The group of an answer that a row not known here belongs to by law and by what was asked ('' where
    neither keeps it from being ranked), why, and what to say of its law."""
    law = own_status(row, catalogue, found.known, request.on)
    if law.kind == "closed":
        return "left_out", law.sentences[:1], law.sentences
    outside = gates.outside_limits(material, request)
    if request.kind:
        outside.append(f"It is not known to be {request.kind}, and only that was asked for.")
    if outside:
        return "left_out", tuple(outside), law.sentences
    if law.kind == "papers":
        return "with_papers", law.sentences[:1], law.sentences
    missing = list(law.sentences[:1]) if law.kind == "maybe" else []
    if request.origin or request.route.home or request.route.veneer_from or request.route.sell_to:
        missing.append("Where it was harvested is not told by the list, so the journey cannot be judged.")
    if request.plantation or request.natural:
        missing.append("Whether it is planted for timber is not known.")
    if request.piece:
        missing.append("How wide its leaves come is not known, so the piece cannot be judged.")
    missing += gates.unknown_limits(material, request)
    return ("cannot_say" if missing else ""), tuple(missing), law.sentences
