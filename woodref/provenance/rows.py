"""Rows of the book's tables read back as the values they were; a damaged one is told, never guessed."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from woodref.provenance import documents, faults
from woodref.provenance.balance import Edge
from woodref.provenance.book import Held
from woodref.provenance.canonical import canonical
from woodref.provenance.lots import Lot
from woodref.provenance.shapes import Event, event_of

if TYPE_CHECKING:
    from sqlalchemy import Connection


def head_of(connection: Connection) -> tuple[int, str]:
    """Number and hash of the last event; StorageFault when the row that says so is gone."""
    from sqlalchemy import text

    row = connection.execute(text("SELECT seq, hash FROM head WHERE one = 1")).one_or_none()
    if row is None or not re.fullmatch("[0-9a-f]{64}", str(row[1])):
        raise spoilt("the row that names the last event")
    return int(row[0]), str(row[1])


def spoilt(what: str) -> faults.StorageFault:
    """A row that cannot be read as it was written."""
    return faults.StorageFault(
        f"{what} is damaged or gone", next="woodref book check tells what of the book still holds."
    )


def _json(text: str, what: str) -> Any:
    """The mapping that a column keeps as JSON."""
    try:
        value = json.loads(text)
    except (ValueError, RecursionError):
        value = None
    if not isinstance(value, dict):
        raise spoilt(what)
    return value


def paper_from(told_: str, name: str) -> documents.Paper:
    """A document from the JSON of its row."""
    try:
        return documents.paper_of(_json(told_, f"document {name}"), name)
    except faults.BadShape:
        raise spoilt(f"document {name}") from None


def event_from(payload: str) -> Event:
    """An event from its stored payload."""
    told_ = _json(payload, "an event")
    told_.pop("recorded", None)
    return event_of(told_)


def lot_facts(lot: Lot) -> str:
    """A lot's facts as stored text."""
    return canonical({key: getattr(lot, key) for key in FACTS} | {"told": dict(lot.told)}).decode()


#: facts of a lot beside those that have columns of their own
FACTS = tuple(f.name for f in fields(Lot) if f.name not in ("id", "form", "unit"))


def lot_from(lot_id: str, form: str, unit: str, facts: str) -> Lot:
    held = _json(facts, f"lot {lot_id}")
    try:
        return Lot(
            lot_id, form, unit, held["species"], tuple(held["may_be"]),
            tuple((s, p, tuple(c)) for s, p, c in held["composition"]), held["wood_share"],
            tuple(held["countries"]), held["thickness_um"], held["density"], held["told"],
        )  # fmt: skip
    except (KeyError, TypeError, ValueError):
        raise spoilt(f"lot {lot_id}") from None


#: lots as they stand, a row as `held_from` takes it
LOTS = (
    "SELECT l.id, l.form, l.unit, l.facts, l.made_by, l.made, b.qty, b.reserved, b.last FROM lot l "
    "JOIN balance b ON b.lot = l.id"
)


def held_from(row: Any) -> Held:
    """A lot as it stands from a row of LOTS."""
    lot_id, form, unit, facts, by, made, qty, reserved, last = row
    return Held(lot_from(lot_id, form, unit, facts), by, made, int(qty), int(reserved), last)


def edge_from(row: Any) -> Edge:
    """An edge from (child, parent, net_num, net_den, gross_num, gross_den, plies)."""
    child, parent, nn, nd, gn, gd, plies = row
    if not nd or not gd:
        raise spoilt(f"what {child} is made of")
    return Edge(child, parent, Fraction(int(nn), int(nd)), Fraction(int(gn), int(gd)), int(plies))
