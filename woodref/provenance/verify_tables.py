"""The worked-out tables of a book against what its events say: balances, lots with their facts, moves, items,
papers, reservations, uses and what each lot is made of.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from woodref.provenance.canonical import canonical
from woodref.provenance.lots import Knows, Lot
from woodref.provenance.replaying import LOTS_HELD, Replay
from woodref.provenance.rows import LOTS, held_from
from woodref.provenance.store import Store

#: of more differences of one kind the first few are told
MOST = 10


class Few:
    """Sentences of which the first few are kept and the others counted."""

    def __init__(self) -> None:
        self.kept: list[str] = []
        self.more = 0

    def add(self, told: str) -> None:
        if len(self.kept) < MOST:
            self.kept.append(told)
        else:
            self.more += 1

    def sentences(self) -> list[str]:
        return [*self.kept, f"And {self.more:,} more of these."] if self.more else self.kept


def differences(store: Store, replay: Replay) -> list[str]:
    """Sentences, one a difference; empty when every table follows from the events. replay: the state after
    all of them, worked out without a catalogue. Both are read in the same order and side by side."""
    out = _lots(store, replay)
    out += _differ(
        store, replay, "SELECT id, state, label, serial FROM item ORDER BY id",
        lambda item, was, want: (
            f"Item {item}: the table says {was[0] if was else 'nothing'}, its events say "
            f"{want[0] if want else 'nothing'}{_and_more(was, want)}."
        ),
    )  # fmt: skip
    out += _moves(store, replay)
    out += _differ(
        store, replay, "SELECT id, kind, sha256, told FROM paper ORDER BY id",
        lambda name, was, want: f"Document {name} in the table is not what its event says.",
    )  # fmt: skip
    out += _pairs(
        store, replay, "SELECT lot, paper FROM paper_lot ORDER BY lot",
        "Whether document {1} is of lot {0} does not follow from the events.",
    )  # fmt: skip
    out += _differ(
        store, replay, "SELECT id, lot, qty, until FROM reservation ORDER BY id",
        lambda name, was, want: f"Reservation {name} does not follow from the events.",
    )  # fmt: skip
    out += _edges(store, replay)
    return out + _pairs(
        store, replay, "SELECT lot, event FROM use ORDER BY lot",
        "Whether event {1} uses lot {0} does not follow from the events.",
    )  # fmt: skip


def _beside(
    stored: Iterable[tuple[Any, Any]], meant: Iterable[tuple[Any, Any]]
) -> Iterator[tuple[Any, Any, Any]]:  # fmt: skip
    """(key, value there, value meant) of two that are sorted by their keys; None where there is none."""
    one, other = iter(stored), iter(meant)
    a, b = next(one, None), next(other, None)
    while a is not None or b is not None:
        if b is None or (a is not None and a[0] < b[0]):
            assert a is not None
            yield a[0], a[1], None
            a = next(one, None)
        elif a is None or b[0] < a[0]:
            yield b[0], None, b[1]
            b = next(other, None)
        else:
            yield a[0], a[1], b[1]
            a, b = next(one, None), next(other, None)


def _grouped(rows: Iterable[Any], keys: int = 1) -> Iterator[tuple[Any, set[Any]]]:
    """(first column or columns, set of the others) of rows sorted by the first."""
    for key, some in groupby(rows, key=lambda row: row[0] if keys == 1 else tuple(row[:keys])):
        yield key, {tuple(row[keys:]) for row in some}


def _differ(store: Store, replay: Replay, sql: str, says: Callable[..., str]) -> list[str]:
    """Of a table with the same columns on both sides, the first of them its key."""
    few = Few()
    with closing(store.stream(sql)) as there:
        for key, was, want in _beside(_keyed(there), _keyed(replay.rows(sql))):
            if was != want:
                few.add(says(key, was, want))
    return few.sentences()


def _keyed(rows: Iterable[Any]) -> Iterator[tuple[Any, tuple[Any, ...]]]:
    for key, *told in rows:
        yield key, tuple(told)


def _pairs(store: Store, replay: Replay, sql: str, says: str) -> list[str]:
    """Of a table of pairs, sorted by the first."""
    few = Few()
    with closing(store.stream(sql)) as there:
        for key, was, want in _beside(_grouped(there), _grouped(replay.rows(sql))):
            if was != want:
                for (other,) in sorted((was or set()) ^ (want or set())):
                    few.add(says.format(key, other))
    return few.sentences()


def _lots(store: Store, replay: Replay) -> list[str]:
    same = _same_wood(store.knows)
    amounts, facts = Few(), Few()
    with closing(store.stream(f"{LOTS} ORDER BY l.id")) as there:
        meant = replay.rows(f"{LOTS_HELD} ORDER BY id")
        for lot, was, want in _beside(
            *(((row[0], held_from(row)) for row in rows) for rows in (there, meant))
        ):
            amount = [None if h is None else (h.qty, h.reserved) for h in (was, want)]
            if amount[0] != amount[1]:
                amounts.add(
                    f"Lot {lot}: the table says {_amounts(amount[0])}, its events say {_amounts(amount[1])}."
                )
            told = _told_apart(was.lot, want.lot, same) if was and want else None
            if told:
                facts.add(f"Lot {lot}: {told} in the table is not what its events say.")
    return amounts.sentences() + facts.sentences()


def _moves(store: Store, replay: Replay) -> list[str]:
    sql = "SELECT seq, lot, at, qty FROM move ORDER BY "
    off: set[str] = set()
    with closing(store.stream(f"{sql}seq, n")) as there:
        for _, was, want in _beside(_listed(there), _listed(replay.rows(f"{sql}rowid"))):
            if was != want:
                gone, come = Counter(was or ()), Counter(want or ())
                off |= {lot for lot, _, _ in (gone - come) + (come - gone)}
    few = Few()
    for lot in sorted(off):
        few.add(f"The moves of lot {lot} in the table are not those of its events.")
    return few.sentences()


def _listed(rows: Iterable[Any]) -> Iterator[tuple[int, list[tuple[str, str, int]]]]:
    """(number of an event, its moves in order)."""
    for seq, some in groupby(rows, key=itemgetter(0)):
        yield seq, sorted((lot, at, int(qty)) for _, lot, at, qty in some)


def _amounts(pair: tuple[int, int] | None) -> str:
    if pair is None:
        return "there is none"
    return f"{pair[0]:,} on hand, {pair[1]:,} of it reserved"


def _and_more(was: Any, want: Any) -> str:
    return " of its state, label and serial" if was and want and was[0] == want[0] else ""


def _same_wood(knows: Knows | None) -> Callable[[Iterable[str], Iterable[str]], bool]:
    """Whether two lists mean the same woods: the events keep the names as they were told, the table the
    accepted ones of the day, and what is accepted may change with the catalogue."""

    @lru_cache(maxsize=4096)  # a long book names the same few woods again and again
    def accepted(name: str) -> str:
        return (knows(name)[0] if knows else None) or name

    def same(one: Iterable[str], other: Iterable[str]) -> bool:
        # names that are the same are not looked up
        return {*one} == {*other} or {*map(accepted, one)} == {*map(accepted, other)}

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


def _edges(store: Store, replay: Replay) -> list[str]:
    few = Few()
    there = store.stream(
        "SELECT child, parent, net_num, net_den, gross_num, gross_den, plies FROM edge ORDER BY child, parent"
    )
    meant = replay.rows("SELECT child, parent, net, gross, plies FROM edge ORDER BY child, parent")
    with closing(there):
        fractions = (
            (c, p, f"{int(nn)}/{int(nd)}", f"{int(gn)}/{int(gd)}", int(plies))
            for c, p, nn, nd, gn, gd, plies in there
        )
        for (child, parent), was, want in _beside(_grouped(fractions, 2), _grouped(meant, 2)):
            if was != want:
                few.add(f"What {child} is made of {parent} does not follow from the events.")
    return few.sentences()
