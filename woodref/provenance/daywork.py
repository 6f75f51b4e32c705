"""A day's slips worked out one after the other, each against what those before it leave, and then recorded:
all or none."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from woodref.catalogue.reader import Notice
from woodref.errors import WoodrefError
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.canonical import canonical
from woodref.provenance.dayfile import Slip
from woodref.provenance.faults import EventConflict, Unbalanced
from woodref.provenance.importing import record_placed, refused
from woodref.provenance.joining import Find, joint, press
from woodref.provenance.personal import refuse_personal
from woodref.provenance.splitting import split
from woodref.provenance.stock import leaves_of
from woodref.provenance.store import Store
from woodref.provenance.working import Done, amount_of, cut, release, reserve, scrap
from woodref.provenance.writer import Recorded


@dataclass(frozen=True)
class Worked:
    """A slip with its event. again: the event stood in the book before."""

    slip: Slip
    done: Done
    again: bool

    def sentences(self) -> list[str]:
        if self.again:
            return [f"{self.done.event.id} stood in the book already; nothing of it is changed."]
        return list(self.done.sentences)

    def notices(self) -> list[Notice]:
        """What to mind of it, with the keys of a slip in place of options."""
        if self.again:
            return []
        return [replace(n, message=f"{self.slip.where}: {_keys(n.message)}") for n in self.done.notices]


@dataclass
class Day:
    """Slips worked out so far against a book that is only read. lots: those they touch, as they then stand;
    before: what was on hand of each, None where the day makes it."""

    store: Store
    worked: list[Worked] = field(default_factory=list)
    lots: dict[str, Held] = field(default_factory=dict)
    before: dict[str, int | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._book = self.store.book()

    @property
    def fresh(self) -> list[Worked]:
        """Those that are not in the book yet."""
        return [worked for worked in self.worked if not worked.again]

    def add(self, slip: Slip) -> Worked:
        """Work out one slip more. BadImport with its place when it cannot be; the day is then as before."""
        try:
            worked = self._worked(slip)
        except WoodrefError as fault:
            raise refused(slip.where, _in_a_file(fault)) from fault
        self.worked.append(worked)
        return worked

    def _worked(self, slip: Slip) -> Worked:
        done = event_of_slip(slip, lambda lot: self._book.lot(lot, slip.where))
        event = done.event
        twice = next((w for w in self.worked if w.done.event.id == event.id), None)
        if twice is not None:
            raise EventConflict(
                f"this is the very same slip as {twice.slip.where}",
                next="If it was done twice, give it its own time; else leave it out.",
            )
        there = self.store.event(event.id)
        if there is not None:
            if canonical(there.as_dict() | {"actor": None}) != canonical(event.as_dict() | {"actor": None}):
                raise EventConflict(f"{event.id} is in the book with another content")
            return Worked(slip, done, again=True)
        refuse_personal(event, slip.who)
        change = self._book.work_out(event)
        touched = [m.lot for m in change.moves] + [r.lot for r in (*change.reserves, *change.releases)]
        for lot in dict.fromkeys(touched):
            # the moves that the book holds are fetched before those of this slip are put with them
            self._book.moves_of(lot)
            held = self._book.maybe(lot)
            self.before.setdefault(lot, None if held is None else held.qty)
        self._book.take(change)
        for lot in touched:
            self.lots[lot] = replace(self._book.lot(lot, slip.where))
        return Worked(slip, done, again=False)

    def record(self, store: Store, actor: str | None = None) -> list[Recorded]:
        """Record the slips, all or none, each with who did it. store: the book, open to write; actor: who
        records those slips on which nobody is told."""
        who = {w.done.event.id: w.slip.who or actor for w in self.worked}
        placed = [(w.slip.where, w.done.event) for w in self.worked]
        return record_placed(store, placed, {event: name for event, name in who.items() if name})

    # --- telling

    def table(self) -> tuple[list[str], list[list[str]]]:
        """What is left of every lot that was touched."""
        rows = [_row(held, self.before[lot]) for lot, held in self.lots.items()]
        return ["lot", "before", "now", "free", "leaves", "exactly"], rows

    def sentences(self) -> list[str]:
        """What was recorded, when it stands in the book."""
        new, again = len(self.fresh), len(self.worked) - len(self.fresh)
        said = [f"Recorded {_slips(new)}." if new else "Nothing was recorded."]
        if again:
            said.append(f"{_slips(again)} stood in the book already.".capitalize())
        return said

    def notices(self) -> list[Notice]:
        """What to mind of the slips, each with its place."""
        return [notice for worked in self.worked for notice in worked.notices()]

    def as_dict(self, recorded: Sequence[Recorded]) -> dict[str, Any]:
        """The JSON of `stock day`; amounts in whole units of the lot."""
        numbers = {r.event.id: r.seq or None for r in recorded}
        return {
            "count": len(self.fresh),
            "again": len(self.worked) - len(self.fresh),
            "rows": [
                {"slip": w.slip.where, "kind": w.slip.kind, "event": w.done.event.id,
                 "number": numbers.get(w.done.event.id), "again": w.again, "who": w.slip.who,
                 "time": w.done.event.at.local, "sentences": w.sentences()}
                for w in self.worked
            ],
            "balances": [
                {"lot": lot, "unit": held.lot.unit, "before": self.before[lot], "on_hand": held.qty,
                 "free": held.qty - held.reserved, "leaves": leaves_of(held)}
                for lot, held in self.lots.items()
            ],
            "notices": [notice.as_dict() for notice in self.notices()],
        }  # fmt: skip


def day_of(store: Store, slips: Iterable[Slip]) -> Day:
    """A whole day; the first slip that cannot be is told with its place, and nothing has been written."""
    day = Day(store)
    for slip in slips:
        day.add(slip)
    return day


def event_of_slip(slip: Slip, find: Find) -> Done:
    """The event of a slip, by the same functions as the command of that name."""
    told, when = slip.told, {"time": slip.time, "note": slip.note}
    if slip.kind == "cut":
        held = find(told["lot"])
        offcut = _pairs(told.get("offcut", {}))
        done = cut(held, told["amount"], _pairs(told["into"]), offcut, "waste" in told and not offcut, **when)
        if "waste" in told:
            _same_waste(amount_of(told["waste"], held).qty, done, held.lot.unit)
        return done
    if slip.kind == "split":
        return split(find(told["lot"]), told["amount"], _pairs(told["into"]), **when)
    if slip.kind == "scrap":
        return scrap(find(told["lot"]), told["amount"], **when)
    if slip.kind == "joint":
        waste = _pairs(told.get("waste", {}))
        return joint(find, told["sheet"], told["size"], _pairs(told["of"]), waste, **when)
    if slip.kind == "press":
        plies, glue, taken = (_pairs(told.get(key, {})) for key in ("plies", "glue", "taken"))
        return press(find, told["panel"], told["size"], plies, glue, taken, None, **when)
    if slip.kind == "reserve":
        return reserve(find(told["lot"]), told["amount"], told.get("until"), **when)
    return release(told["reservation"], **when)


def _pairs(lots: dict[str, str]) -> list[str]:
    return [f"{lot}={said}" for lot, said in lots.items()]


def _same_waste(told: int, done: Done, unit: str) -> None:
    """Unbalanced when the waste on the slip is not what is left of what was taken."""
    rest = sum(share.qty for share in done.event.waste)
    if told != rest:
        raise Unbalanced(
            f"the slip says {told:,} {unit} of waste, and {rest:,} {unit} are left of what was taken",
            next="Mend the slip, or leave waste out: the rest is waste.",
        )


def _in_a_file(fault: WoodrefError) -> WoodrefError:
    """A fault whose advice names options, with the keys of a slip in their place."""
    fault.expected = fault.expected and _keys(fault.expected)
    fault.next = fault.next and _keys(fault.next)
    return fault


def _keys(words: str) -> str:
    words = words.replace("say --no-offcut", "write waste: and how much it is")
    return re.sub(r"--([a-z]+) LOT=AMOUNT", r"\1: {LOT: AMOUNT}", words)


def _row(held: Held, before: int | None) -> list[str]:
    unit, leaves = held.lot.unit, leaves_of(held)
    return [
        held.lot.id, "-" if before is None else plainly(before, unit), plainly(held.qty, unit),
        plainly(held.qty - held.reserved, unit), "-" if leaves is None else str(leaves),
        f"{held.qty:,} {unit}",
    ]  # fmt: skip


def _slips(number: int) -> str:
    return f"{number} slip" + ("" if number == 1 else "s")
