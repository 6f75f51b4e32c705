"""Where a lot or item came from, what it went into, and how much of each root is in it, as fractions.

Sets come from recursive SQL with UNION, so that a mix of mixes costs nothing and a planted circle ends.
Amounts are `Fraction`s: net (contained, waste left out) and gross (used up) of a root in one unit of the lot.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Protocol

from woodref.provenance import faults
from woodref.provenance.balance import USED, Edge
from woodref.provenance.book import Book, Held
from woodref.provenance.rows import edge_from
from woodref.provenance.store import Store

_COLUMNS = "e.child, e.parent, e.net_num, e.net_den, e.gross_num, e.gross_den, e.plies"
BACK = f"""WITH RECURSIVE a(id) AS (
SELECT id FROM lot WHERE id = :id UNION SELECT e.parent FROM edge e JOIN a ON e.child = a.id)
SELECT {_COLUMNS} FROM edge e JOIN a ON e.child = a.id ORDER BY e.n, e.child, e.parent"""
FORTH = """WITH RECURSIVE a(id) AS (
SELECT id FROM lot WHERE id = :id UNION SELECT e.child FROM edge e JOIN a ON e.parent = a.id)
SELECT id FROM a WHERE id <> :id"""


class Reads(Protocol):
    """What is read from: a store, or the state within a transaction that writes."""

    def rows(self, sql: str, **values: Any) -> list[Any]: ...

    def book(self) -> Book: ...


@dataclass(frozen=True)
class Root:
    """A received lot with what of it is in the lot or item asked for, in the root's own unit."""

    held: Held
    net: Fraction
    gross: Fraction

    @property
    def used(self) -> bool:
        """Told as used, not as contained: glue and finish."""
        return self.held.lot.form in USED

    @property
    def layer_mm2(self) -> Fraction:
        """Layer area of it that is contained."""
        return self.net

    @property
    def nl(self) -> Fraction | None:
        """Volume contained [nL], None where it has no thickness."""
        lot = self.held.lot
        if lot.unit == "nL":
            return self.net
        return None if lot.thickness_um is None else self.net * lot.thickness_um

    @property
    def ng(self) -> Fraction | None:
        """Mass contained [ng], None where density or thickness is not known."""
        volume, density = self.nl, self.held.lot.density
        return None if volume is None or density is None else volume * density

    @property
    def wood_ng(self) -> Fraction | None:
        """Mass of its wood alone: without the glue and dye of an engineered sheet."""
        mass = self.ng
        return None if mass is None else mass * self.held.lot.wood_share / 1000


def edges_back(store: Reads, lot_id: str) -> dict[str, list[Edge]]:
    """Every edge below a lot, by child: what was made last stands first, and of each what went in as it was
    told."""
    out: dict[str, list[Edge]] = {}
    for row in store.rows(BACK, id=lot_id):
        edge = edge_from(row)
        out.setdefault(edge.child, []).append(edge)
    return dict(reversed(out.items()))


def contents(edges: dict[str, list[Edge]], lot_id: str) -> dict[str, tuple[Fraction, Fraction]]:
    """Roots of a lot with net and gross amounts in one unit of it. Cycle when a lot is made of itself."""
    known: dict[str, dict[str, tuple[Fraction, Fraction]]] = {}
    open_: set[str] = set()
    todo = [lot_id]
    while todo:
        here = todo[-1]
        made_of = edges.get(here, ())
        if here in known:
            todo.pop()
            continue
        missing = [e.parent for e in made_of if e.parent not in known]
        if missing:
            if here in open_ and any(m in open_ for m in missing):
                raise faults.Cycle(f"{here} is made of itself", next="woodref book check tells where.")
            open_.add(here)
            todo += missing
            continue
        known[here] = _sum(here, made_of, known)
        open_.discard(here)
        todo.pop()
    return known[lot_id]


def _sum(
    here: str, made_of: Any, known: dict[str, dict[str, tuple[Fraction, Fraction]]]
) -> dict[str, tuple[Fraction, Fraction]]:
    if not made_of:
        return {here: (Fraction(1), Fraction(1))}
    out: dict[str, tuple[Fraction, Fraction]] = {}
    for edge in made_of:
        for root, (net, gross) in known[edge.parent].items():
            had = out.get(root, (Fraction(0), Fraction(0)))
            out[root] = (had[0] + edge.net * net, had[1] + edge.gross * gross)
    return out


def whence(store: Reads, lot_id: str) -> list[Root]:
    """The roots of one unit of a lot, or of an item, in the order of the book. UnknownLot when there is
    none."""
    book = store.book()
    book.lot(lot_id, lot_id)
    found = contents(edges_back(store, lot_id), lot_id)
    roots = [Root(book.lot(root, lot_id), net, gross) for root, (net, gross) in found.items()]
    return sorted(roots, key=lambda r: (r.held.made, r.held.lot.id))


def went_into(store: Store, lot_id: str) -> list[Held]:
    """Every lot and item made with some of a lot, in the order of the book."""
    book = store.book()
    book.lot(lot_id, lot_id)
    found = [book.lot(child, lot_id) for (child,) in store.rows(FORTH, id=lot_id)]
    return sorted(found, key=lambda h: (h.made, h.lot.id))


def ways(store: Store, lot_id: str) -> list[tuple[str, ...]]:
    """Each way down from an item to a root, as lots: L-H1 <- L-F <- L-B. At most a thousand."""
    edges = edges_back(store, lot_id)
    out: list[tuple[str, ...]] = []
    todo: list[tuple[str, ...]] = [(lot_id,)]
    while todo and len(out) < 1000:
        way = todo.pop()
        made_of = edges.get(way[-1], ())
        if not made_of:
            out.append(way)
        todo += [(*way, e.parent) for e in made_of if e.parent not in way]
    return sorted(out)
