"""The worked-out tables of a book against what its events say: balances, lots with their facts, moves, items,
papers, reservations, uses and what each lot is made of.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from woodref.provenance.book import Book
from woodref.provenance.canonical import canonical
from woodref.provenance.lots import Knows, Lot
from woodref.provenance.rows import LOTS, held_from
from woodref.provenance.store import Store

#: of more differences of one kind the first few are told
MOST = 10


def differences(store: Store, book: Book) -> list[str]:
    """Sentences, one a difference; empty when every table follows from the events. book: the state after all
    of them, worked out without a catalogue."""
    rows = [held_from(row) for row in store.rows(LOTS)]
    stored = {held.lot.id: held for held in rows}
    out = _differ(
        {k: (h.qty, h.reserved) for k, h in stored.items()},
        {k: (h.qty, h.reserved) for k, h in book.lots.items()},
        lambda lot, was, want: f"Lot {lot}: the table says {_amounts(was)}, its events say {_amounts(want)}.",
    )
    same = _same_wood(store.knows)
    for lot, held in book.lots.items():
        if lot in stored:
            told = _told_apart(stored[lot].lot, held.lot, same)
            if told:
                out.append(f"Lot {lot}: {told} in the table is not what its events say.")
    out += _differ(
        {row[0]: tuple(row[1:]) for row in store.rows("SELECT id, state, label, serial FROM item")},
        {k: (i.state, i.label, i.serial) for k, i in book.items.items()},
        lambda item, was, want: (
            f"Item {item}: the table says {was[0] if was else 'nothing'}, its events say "
            f"{want[0] if want else 'nothing'}{_and_more(was, want)}."
        ),
    )
    out += _history(store, book)
    out += _papers(store, book)
    out += _differ(
        {row[0]: tuple(row[1:]) for row in store.rows("SELECT id, lot, qty, until FROM reservation")},
        {k: (r.lot, r.qty, r.until) for k, r in book.reservations.items()},
        lambda name, was, want: f"Reservation {name} does not follow from the events.",
    )
    return out + _edges(store, book)


def _amounts(pair: tuple[int, int] | None) -> str:
    if pair is None:
        return "there is none"
    return f"{pair[0]:,} on hand, {pair[1]:,} of it reserved"


def _and_more(was: Any, want: Any) -> str:
    return " of its state, label and serial" if was and want and was[0] == want[0] else ""


def _differ(stored: Mapping[str, Any], meant: Mapping[str, Any], says: Callable[..., str]) -> list[str]:
    off = [k for k in sorted(stored.keys() | meant.keys()) if stored.get(k) != meant.get(k)]
    return _few([says(k, stored.get(k), meant.get(k)) for k in off])


def _few(told: list[str]) -> list[str]:
    more = len(told) - MOST
    return told if more <= 0 else [*told[:MOST], f"And {more:,} more of these."]


def _same_wood(knows: Knows | None) -> Callable[[Iterable[str], Iterable[str]], bool]:
    """Whether two lists mean the same woods: the events keep the names as they were told, the table the
    accepted ones of the day, and what is accepted may change with the catalogue."""

    def accepted(name: str) -> str:
        return (knows(name)[0] if knows else None) or name

    def same(one: Iterable[str], other: Iterable[str]) -> bool:
        return {*map(accepted, one)} == {*map(accepted, other)}

    return same


def _told_apart(stored: Lot, meant: Lot, same: Callable[[Iterable[str], Iterable[str]], bool]) -> str | None:
    """The first fact of a lot that differs, in words; None when all hold."""
    facts = (
        ("form", stored.form, meant.form), ("unit", stored.unit, meant.unit),
        ("country", stored.countries, meant.countries),
        ("thickness", stored.thickness_um, meant.thickness_um),
        ("density", stored.density, meant.density), ("share of wood", stored.wood_share, meant.wood_share),
        ("shares", [c[1:] for c in stored.composition], [c[1:] for c in meant.composition]),
        ("what was written of it", canonical(_words(stored)), canonical(_words(meant))),
    )  # fmt: skip
    for name, was, want in facts:
        if was != want:
            return name
    woods = (
        ([stored.species or ""], [meant.species or ""]), (stored.may_be, meant.may_be),
        ([c[0] for c in stored.composition], [c[0] for c in meant.composition]),
    )  # fmt: skip
    return None if all(same(was, want) for was, want in woods) else "wood"


def _words(lot: Lot) -> dict[str, Any]:
    """What was told of a lot, but for the name of its wood, which a closer identification writes as
    accepted."""
    return {key: value for key, value in lot.told.items() if key != "species"}


def _history(store: Store, book: Book) -> list[str]:
    stored: dict[str, list[tuple[str, int]]] = {}
    for lot, at, qty in store.rows("SELECT lot, at, qty FROM move"):
        stored.setdefault(lot, []).append((at, int(qty)))
    return _differ(
        {lot: sorted(moves) for lot, moves in stored.items()},
        {lot: sorted(moves) for lot, moves in book.history.items() if moves},
        lambda lot, was, want: f"The moves of lot {lot} in the table are not those of its events.",
    )


def _papers(store: Store, book: Book) -> list[str]:
    stored = store.rows("SELECT id, kind, sha256, told FROM paper")
    out = _differ(
        {name: (kind, sha, told) for name, kind, sha, told in stored},
        {
            k: (p.kind, p.sha256, canonical(dict(p.told) | {"sha256": p.sha256}).decode())
            for k, p in book.papers.items()
        },
        lambda name, was, want: f"Document {name} in the table is not what its event says.",
    )  # fmt: skip
    linked = {(lot, paper) for lot, paper in store.rows("SELECT lot, paper FROM paper_lot")}
    meant = {(lot, p.id) for p in book.papers.values() for lot in p.lots}
    return out + _few(
        [
            f"Whether document {paper} is of lot {lot} does not follow from the events."
            for lot, paper in sorted(linked ^ meant)
        ]
    )


def _edges(store: Store, book: Book) -> list[str]:
    stored = {
        (c, p, f"{int(nn)}/{int(nd)}", f"{int(gn)}/{int(gd)}", int(plies))
        for c, p, nn, nd, gn, gd, plies in store.rows(
            "SELECT child, parent, net_num, net_den, gross_num, gross_den, plies FROM edge"
        )
    }
    worked = {
        (
            e.child, e.parent, f"{e.net.numerator}/{e.net.denominator}",
            f"{e.gross.numerator}/{e.gross.denominator}", e.plies,
        )
        for by_event in book.edges.values()
        for made in by_event.values()
        for e in made
    }  # fmt: skip
    apart = sorted({(row[0], row[1]) for row in stored ^ worked})
    out = [f"What {child} is made of {parent} does not follow from the events." for child, parent in apart]
    used = {(lot, event) for lot, event in store.rows("SELECT lot, event FROM use")}
    meant = {(lot, event) for lot, events in book.users.items() for event in events}
    return _few(out) + _few(
        [
            f"Whether event {event} uses lot {lot} does not follow from the events."
            for lot, event in sorted(used ^ meant)
        ]
    )
