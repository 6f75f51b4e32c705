"""Which lot is what in an item: face, crossband, core, back, leg; as it keeps it, else as it was pressed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from woodref.provenance.balance import Edge
from woodref.provenance.book import Book
from woodref.provenance.kept import Kept, in_order
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.trace import edges_back


def lots_in(store: Store, item: str) -> dict[str, list[Edge]]:
    """Every lot that an item is made of, roots included, each with what it is itself made of."""
    edges = edges_back(store, item)
    parents = {edge.parent for made in edges.values() for edge in made}
    return {lot: edges.get(lot, []) for lot in parents}


def roles_of(store: Store, item: str, kept: Kept | None = None) -> dict[str, list[str]]:
    """Which lot is what in an item: as it keeps it, else as the press recorded it with each ply (`stack`)."""
    if kept is not None and kept.roles:
        return {role: list(lots) for role, lots in kept.roles.items()}
    return pressed_roles(store.book(), lots_in(store, item))


def pressed_roles(book: Book, lots: Iterable[str]) -> dict[str, list[str]]:
    """Which lot is what in the panels among these lots, by the stack that the press recorded."""
    out: dict[str, list[str]] = {}
    for lot in sorted(lots):
        for ply in stacked(book.event(book.lot(lot, lot).by, lot)):
            named = out.setdefault(ply.role, []) if ply.role else []
            if ply.lot not in named:
                named.append(ply.lot)
    return out


@dataclass(frozen=True)
class Laid:
    """One ply of a pressing as recorded. grain: degrees from the length, as written; role: as recorded, else
    by its place, None in a pack of one lot alone, such as a leg."""

    number: int
    lot: str
    grain: str | None
    role: str | None


def stacked(event: Event) -> list[Laid]:
    """The plies of a pressing from the face to the back; empty where it recorded no stack. A ply without a
    role is the face when it lies first, the back when last, else a crossband when its grain runs across that
    of the face, and a core when it does not (common practice)."""
    listed = event.more.get("stack")
    plies: list[Mapping[str, Any]] = []
    if isinstance(listed, list | tuple):
        plies = [ply for ply in listed if isinstance(ply, Mapping) and ply.get("lot")]
    several = len({str(p["lot"]) for p in plies}) > 1
    along = _degrees(plies[0].get("grain_deg")) if plies else None
    out = []
    for n, ply in enumerate(plies, 1):
        role, grain = ply.get("role"), ply.get("grain_deg")
        if role is None and several:
            role = "face" if n == 1 else "back" if n == len(plies) else _inner(along, _degrees(grain))
        said = None if grain is None else str(grain)
        out.append(Laid(n, str(ply["lot"]), said, None if role is None else str(role)))
    return out


def _degrees(value: object) -> Fraction | None:
    try:
        return Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        return None


def _inner(along: Fraction | None, grain: Fraction | None) -> str | None:
    """crossband or core, None where a grain is not told."""
    if along is None or grain is None:
        return None
    turn = (grain - along) % 180
    return "crossband" if 45 < turn < 135 else "core"


def role_of(roles: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Lot -> what it is; a lot that is several things is told with all of them."""
    out: dict[str, str] = {}
    for role in in_order(roles):
        for lot in roles[role]:
            out[lot] = f"{out[lot]} and {role}" if lot in out else role
    return out
