"""The book as a state: what each event does to lots, items and reservations, refused before anything is
changed.

`work_out` reads the state and gives a Change, or raises; `take` puts a Change in. The state may be whole
(a replay) or fetched lot by lot from a store: then the loaders find what is not yet here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from woodref.errors import echo
from woodref.provenance import documents, faults, kept
from woodref.provenance.balance import Edge, edges_of
from woodref.provenance.lots import OF_ITS_OWN, Knows, Lot, facts_hold, lot_of
from woodref.provenance.shapes import CREATES, FORMS, Event, Share, named, whole

#: kinds that make their output lots anew, from nothing or from what goes in
MAKES = (
    "receive", "open-stock", "split", "merge", "cut", "slice", "sand", "edge-join", "laminate", "assemble",
    "assemble-close",
)  # fmt: skip
ROLES = ("in", "out", "waste")


@dataclass(frozen=True)
class Move:
    """A change of one balance. at: UTC text of when it happened; role: in, out, or waste (part of an in)."""

    lot: str
    qty: int
    role: str
    at: str
    plies: int = 1


@dataclass
class Held:
    """A lot as it stands. last: UTC text of its latest move; by: id of the event that made it."""

    lot: Lot
    by: str
    made: str
    qty: int
    reserved: int = 0
    last: str = ""


@dataclass
class Item:
    """An item: open, closed, shipped, returned or destroyed; label: what its sheet says of the unproven."""

    id: str
    state: str
    made_by: str
    closed_by: str | None = None
    label: str | None = None
    serial: str | None = None


@dataclass(frozen=True)
class Reservation:
    id: str
    lot: str
    qty: int
    until: str | None


@dataclass
class Change:
    """What an event does. narrowed: lots of which more or else is known. Of a correction besides: old, the
    event as it counted till now; effective, as it counts from now on; withdrawn, papers that go with it."""

    event: Event
    moves: list[Move] = field(default_factory=list)
    lots: list[Lot] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    reserves: list[Reservation] = field(default_factory=list)
    releases: list[Reservation] = field(default_factory=list)
    narrowed: list[Lot] = field(default_factory=list)
    papers: list[documents.Paper] = field(default_factory=list)
    undone: list[str] = field(default_factory=list)
    withdrawn: list[str] = field(default_factory=list)
    key: str | None = None
    effective: Event | None = None
    old: Event | None = None

    def uses(self) -> tuple[list[str], list[str]]:
        """(lots that are drawn on no more, lots that are drawn on now) by this."""
        before = [s.lot for s in self.old.in_] if self.old else []
        now = [s.lot for s in (self.effective or self.event).in_]
        return [lot for lot in before if lot not in now], [lot for lot in now if lot not in before]


class Book:
    """The state. find_*: loaders of what is not here yet, None for a whole state; prove: what keeps an
    item from the claim that all its wood is proven, in sentences."""

    def __init__(
        self,
        knows: Knows | None = None,
        find_lot: Callable[[str], Held | None] | None = None,
        find_item: Callable[[str], Item | None] | None = None,
        find_event: Callable[[str], Event | None] | None = None,
        find_history: Callable[[str], list[tuple[str, int]]] | None = None,
        find_users: Callable[[str], list[str]] | None = None,
        find_reservation: Callable[[str], Reservation | None] | None = None,
        find_paper: Callable[[str], documents.Paper | None] | None = None,
        find_papers: Callable[[str], list[documents.Paper]] | None = None,
        find_ids: Callable[[], list[str]] | None = None,
        find_ties: Callable[[str], list[str]] | None = None,
        find_key: Callable[[], str | None] | None = None,
        prove: Callable[[str], list[str]] | None = None,
    ) -> None:
        self.knows, self.prove = knows, prove
        self._find_lot, self._find_item = find_lot, find_item
        self._find_event, self._find_history = find_event, find_history
        self._find_users, self._find_reservation = find_users, find_reservation
        self._find_paper, self._find_papers, self._find_ids = find_paper, find_papers, find_ids
        self._find_ties, self._find_key, self._key = find_ties, find_key, ""
        self.lots: dict[str, Held] = {}
        #: ids known not to be there, so that nobody asks for them again
        self.absent: set[str] = set()
        self.items: dict[str, Item] = {}
        self.events: dict[str, Event] = {}
        #: lot -> event -> what the lot is made of by that event
        self.edges: dict[str, dict[str, list[Edge]]] = {}
        self.made_by: dict[str, list[str]] = {}
        self.users: dict[str, list[str]] = {}
        self.history: dict[str, list[tuple[str, int]]] = {}
        self.reservations: dict[str, Reservation] = {}
        self.papers: dict[str, documents.Paper] = {}
        #: digest of a file -> papers that have or had it: a long book would else be searched for each paper
        self.by_file: dict[str, dict[str, None]] = {}
        #: lot -> papers that are or were of it, likewise
        self.by_lot: dict[str, dict[str, None]] = {}
        #: paper -> event that brought it
        self.brought: dict[str, str] = {}

    # --- reading

    def lot(self, lot_id: str, where: str) -> Held:
        """A lot; UnknownLot names the nearest ids."""
        held = self.maybe(lot_id)
        if held is None:
            near = _near(lot_id, self._find_ids() if self._find_ids else self.lots)
            raise faults.UnknownLot(
                f"there is no lot {lot_id}",
                where=where,
                expected=f"a known lot{', such as ' + ', '.join(near) if near else ''}",
            )
        return held

    def maybe(self, lot_id: str) -> Held | None:
        if lot_id not in self.lots and lot_id not in self.absent and self._find_lot is not None:
            found = self._find_lot(lot_id)
            if found is not None:
                self.lots[lot_id] = found
        return self.lots.get(lot_id)

    def item(self, item_id: object, where: str) -> Item:
        name = named(item_id, "item", where)
        if name not in self.items and self._find_item is not None:
            found = self._find_item(name)
            if found is not None:
                self.items[name] = found
        if name not in self.items:
            raise faults.UnknownLot(f"there is no item {name}", where=where)
        return self.items[name]

    def event(self, event_id: object, where: str) -> Event:
        """An event as it counts now, corrections included."""
        name = named(event_id, "event", where)
        if name not in self.events and self._find_event is not None:
            found = self._find_event(name)
            if found is not None:
                self.events[name] = found
        if name not in self.events:
            raise faults.UnknownEvent(f"there is no event {name}", where=where)
        return self.events[name]

    def moves_of(self, lot_id: str) -> list[tuple[str, int]]:
        """(when, how much) of every move of a lot."""
        if lot_id not in self.history and self._find_history is not None:
            self.history[lot_id] = self._find_history(lot_id)
        return self.history.setdefault(lot_id, [])

    def reservation(self, name: str) -> Reservation | None:
        """A reservation that stands."""
        if name not in self.reservations and self._find_reservation is not None:
            found = self._find_reservation(name)
            if found is not None:
                self.reservations[name] = found
        return self.reservations.get(name)

    def known_name(self, name: object, lot_id: str, where: str) -> str:
        """An accepted botanical name; UnknownSpecies with near ones."""
        return str(lot_of(lot_id, {"form": "sawn", "species": name}, where, self.knows).species)

    def dependents(self, lots: Iterable[str]) -> list[str]:
        """Events that use these lots or what was made of them, in the order of the book."""
        found: dict[str, None] = {}
        todo = list(lots)
        while todo:
            lot_id = todo.pop(0)
            for event_id in self.uses(lot_id):
                if event_id not in found:
                    found[event_id] = None
                    todo += [s.lot for s in self.event(event_id, event_id).out]
        return sorted(found, key=self.order)

    def uses(self, lot_id: str) -> list[str]:
        """Ids of the events that draw on a lot; those that did not occur draw on none."""
        if lot_id not in self.users and self._find_users is not None:
            self.users[lot_id] = self._find_users(lot_id)
        return self.users.get(lot_id, [])

    def ties(self, lot_id: str) -> list[str]:
        """Ids of the events that put parts into it, keep some of it back or brought a paper of it."""
        if self._find_ties is not None:
            return self._find_ties(lot_id)
        held = (self.papers.get(name) for name in self.by_lot.get(lot_id, ()))
        papers = [self.brought[p.id] for p in held if p is not None and lot_id in p.lots]
        kept = [r.id for r in self.reservations.values() if r.lot == lot_id]
        return sorted({*self.edges.get(lot_id, {}), *papers, *kept})

    def key(self) -> str | None:
        """The public key in use, None before the first."""
        if not self._key and self._find_key is not None:
            self._key = self._find_key() or ""
        return self._key or None

    def order(self, event_id: str) -> tuple[str, str]:
        """Sorts events as they happened."""
        return self.event(event_id, event_id).at.utc, event_id

    def check_paper(
        self,
        paper: documents.Paper,
        where: str,
        on: dt.date,
        fresh: Mapping[str, tuple[int, str]] | None = None,
    ) -> None:
        """A paper is new, in date, and with its like covers no more than it says. fresh: lots that the same
        event makes, with their amounts."""
        if self.paper(paper.id) is not None:
            raise faults.EventConflict(f"document {paper.id} is on the record already", where=where)
        made = fresh or {}
        for lot in paper.lots:
            if lot not in made:
                self.lot(lot, where)
        same = self.papers_of(paper.sha256)
        documents.check_amount(paper, same, lambda lot: made.get(lot) or self.received(lot), where)
        documents.check_date(paper, on, where)

    def paper(self, name: str) -> documents.Paper | None:
        """A document on the record."""
        if name not in self.papers and self._find_paper is not None:
            found = self._find_paper(name)
            if found is not None:
                self._keep_paper(found)
        return self.papers.get(name)

    def papers_of(self, sha256: str | None) -> list[documents.Paper]:
        """Documents on the record whose file is the very same."""
        if not sha256:
            return []
        found = {p.id: p for p in (self._find_papers(sha256) if self._find_papers else ())}
        held = (self.papers.get(name) for name in self.by_file.get(sha256, ()))
        return [*(found | {p.id: p for p in held if p is not None and p.sha256 == sha256}).values()]

    def _keep_paper(self, paper: documents.Paper) -> None:
        self.papers[paper.id] = paper
        if paper.sha256:
            self.by_file.setdefault(paper.sha256, {})[paper.id] = None
        for lot_id in paper.lots:
            self.by_lot.setdefault(lot_id, {})[paper.id] = None

    def received(self, lot_id: str) -> tuple[int, str]:
        """What a lot was when it was made, and its unit."""
        held = self.lot(lot_id, lot_id)
        first = [qty for _, qty in self.moves_of(lot_id) if qty > 0]
        return (first[0] if first else held.qty), held.lot.unit

    # --- working out

    def work_out(self, event: Event) -> Change:
        """What an event would do; raises the fault that refuses it. The state stays as it is."""
        special = _SPECIAL.get(event.kind)
        change = special(self, event) if special else self._moved(event)
        self._amounts(change)
        if event.kind in kept.CLOSES:
            kept.stands(self, event)
        return change

    def _moved(self, event: Event) -> Change:
        lots = {s.lot: self.lot(s.lot, event.id).lot for s in event.in_}
        adds = event.kind.startswith("assemble") and self._adds_to_item(event)
        for share in event.out:
            held = self.maybe(share.lot)
            if held is not None and not adds:
                raise faults.LotExists(f"lot {share.lot} exists since {held.by}", where=event.id)
            lots[share.lot] = held.lot if held is not None else self._new_lot(event, share, lots)
        self.in_order(event)
        self._amounts(Change(event, [m for m in moves_of(event) if m.role == "in"]))
        edges = edges_of(event, lots)
        change = Change(event, moves_of(event), [lots[s.lot] for s in event.out if not adds], edges)
        if adds:
            change.moves = [m for m in change.moves if m.role != "out"]
            if event.kind == "assemble-close":
                item = self.items[event.out[0].lot]
                change.items.append(replace(item, state="closed", closed_by=event.id, label=_label(event)))
        elif event.kind.startswith("assemble"):
            closed = event.kind == "assemble-close"
            state, by = ("closed", event.id) if closed else ("open", None)
            serial = event.more.get("serial")
            change.items.append(Item(event.out[0].lot, state, event.id, by, _label(event), serial))
            if closed:
                self.claimed(event, event.out[0].lot)
        self._units(event, lots)
        fresh = {s.lot: (s.qty, s.unit) for s in event.out}
        for value in event.more.get("documents", ()):
            paper = documents.paper_of(value, event.id)
            self.check_paper(paper, event.id, event.at.day, fresh)
            change.papers.append(paper)
        return change

    def _adds_to_item(self, event: Event) -> bool:
        """Whether parts go into an item that is there already; ItemClosed when it is closed."""
        if len(event.out) != 1 or self.maybe(event.out[0].lot) is None:
            return False
        item = self.item(event.out[0].lot, event.id)
        if item.state != "open":
            raise faults.ItemClosed(
                f"{item.id} is closed by {item.closed_by}",
                where=event.id,
                next="Record a correction or a repair instead.",
            )
        return True

    def _new_lot(self, event: Event, share: Share, lots: Mapping[str, Lot]) -> Lot:
        told = dict(event.lots.get(share.lot, {}))
        if event.kind in CREATES:
            if not told:
                raise faults.BadShape(
                    f"nothing is said of lot {share.lot}", where=event.id, expected="lots: {form, ...}"
                )
            return lot_of(share.lot, told, event.id, self.knows)
        return derived(event, share, told, [lots[s.lot] for s in event.in_])

    def _units(self, event: Event, lots: Mapping[str, Lot]) -> None:
        for share in (*event.in_, *event.out, *event.waste):
            unit = lots[share.lot].unit
            if share.unit != unit:
                raise faults.NoUnit(f"{share.lot} is counted in {unit}, not {share.unit}", where=event.id)

    def in_order(self, event: Event) -> None:
        """BadOrder when an event uses a lot before there is one."""
        for share in event.in_:
            held = self.lot(share.lot, event.id)
            if event.at.utc < held.made:
                raise faults.BadOrder(
                    f"{share.lot} exists from {held.made} ({held.by}), and this happened at {event.at.utc}",
                    where=event.id,
                    expected="a time not before that of the lot",
                )

    def _amounts(self, change: Change) -> None:
        """No lot below zero: now, and at any moment between the event and now."""
        asked: dict[str, int] = {}
        for move in change.moves:
            asked[move.lot] = asked.get(move.lot, 0) + move.qty
        drawn = {r.lot: r.qty for r in change.releases}
        fresh = {lot.id for lot in change.lots}
        for lot_id, qty in asked.items():
            if lot_id in fresh:
                continue
            held = self.lot(lot_id, change.event.id)
            free = held.qty - held.reserved + drawn.get(lot_id, 0)
            most = held.qty if change.event.kind == "correct" else free
            if qty < 0 and most + qty < 0:
                raise _overdrawn(change.event, held, -qty, free)
            at = min(m.at for m in change.moves if m.lot == lot_id)
            if at < held.last and qty < 0:
                self._past(change, held)

    def _past(self, change: Change, held: Held) -> None:
        moves = [*self.moves_of(held.lot.id), *((m.at, m.qty) for m in change.moves if m.lot == held.lot.id)]
        left = 0
        for at, qty in sorted(moves, key=lambda m: (m[0], -m[1])):
            left += qty
            if left < 0:
                raise faults.Overdrawn(
                    f"lot {held.lot.id}: at {at} {-left:,} {held.lot.unit} would be missing",
                    where=change.event.id,
                    expected="an amount that was there at the time",
                )  # fmt: skip

    def claimed(self, event: Event, item_id: str) -> None:
        """NotProven when the event claims that all wood is proven and the record does not carry it."""
        claim = event.more.get("claim")
        if claim is None:
            return
        if claim != "all-proven":
            raise faults.BadShape(
                f"claim {echo(str(claim))} is not known", where=event.id, expected="all-proven"
            )
        if self.prove is None:
            return
        missing = self.prove(item_id)
        if missing:
            raise faults.NotProven(
                f"{item_id}: {'; '.join(missing)}",
                where=event.id,
                next="Close it with a label that says so, or add the papers.",
            )

    # --- putting in

    def take(self, change: Change) -> None:
        """Put a change into the state."""
        event = change.event
        for lot in change.lots:
            self.lots[lot.id] = Held(lot, event.id, event.at.utc, 0)
        for move in change.moves:
            held = self.lot(move.lot, event.id)
            held.qty += move.qty
            held.last = max(held.last, move.at)
            if move.lot in self.history or self._find_history is None:
                self.history.setdefault(move.lot, []).append((move.at, move.qty))
        for lot in change.narrowed:
            self.lots[lot.id].lot = lot
        target = change.effective or event
        self._used(change, target)
        for child in {e.child for e in change.edges}:
            made = [e for e in change.edges if e.child == child]
            self.edges.setdefault(child, {})[target.id] = made
        for item in change.items:
            self.items[item.id] = item
        for reservation in change.reserves:
            self.reservations[reservation.id] = reservation
            self.lot(reservation.lot, event.id).reserved += reservation.qty
        for reservation in change.releases:
            self.reservations.pop(reservation.id, None)
            self.lot(reservation.lot, event.id).reserved -= reservation.qty
        for paper in change.papers:
            self._keep_paper(paper)
            self.brought[paper.id] = event.id
        for name in change.withdrawn:
            self.papers.pop(name, None)
        for lot_id in change.undone:
            self.lots.pop(lot_id, None)
            self.edges.pop(lot_id, None)
            self.items.pop(lot_id, None)
        self._key = change.key or self._key
        self.events[event.id] = event
        if change.effective is not None:
            self.events[target.id] = target

    def _used(self, change: Change, target: Event) -> None:
        """Which events draw on which lots; of a corrected one, as it counts now."""
        gone, come = change.uses()
        for lot_id in come:
            # a list that is not fetched yet is fetched whole when somebody asks
            if lot_id in self.users or self._find_users is None:
                self.users.setdefault(lot_id, []).append(target.id)
        for lot_id in gone:
            if lot_id in self.users:
                self.users[lot_id] = [name for name in self.users[lot_id] if name != target.id]
        if change.old is not None:
            for made in {s.lot for s in change.old.out} | {str(change.old.more.get("item"))}:
                self.edges.get(made, {}).pop(target.id, None)


def moves_of(event: Event) -> list[Move]:
    """The moves of an event: what goes in leaves its lot, what comes out enters it. Waste is part of what
    went in, so it moves nothing more."""
    at = event.at.utc
    out = [Move(s.lot, -s.qty, "in", at, s.plies) for s in event.in_]
    return out + [Move(s.lot, s.qty, "out", at) for s in event.out]


def derived(event: Event, share: Share, told: dict[str, Any], parents: list[Lot]) -> Lot:
    """The lot that an event makes of others: their wood, form, thickness and density where those agree."""
    wood = [p for p in parents if p.form not in ("adhesive", "finish")]
    first = wood[0] if wood else None
    form = {"laminate": "panel", "assemble": "item", "assemble-close": "item", "slice": "veneer"}.get(
        event.kind, first.form if first else "part"
    )
    facts: dict[str, Any] = {"form": told.get("form", form), "unit": share.unit}
    if first is not None and form not in ("panel", "item"):
        for key, values in (
            ("thickness_um", {p.thickness_um for p in wood}),
            ("density_kg_m3", {p.density for p in wood}),
        ):
            if len(values) == 1 and None not in values:
                facts[key] = values.pop()
    strange = told.keys() - set(OF_ITS_OWN)
    if strange:
        raise faults.BadShape(
            f"lot {share.lot} is made of others: {', '.join(sorted(strange))} follows from them",
            where=event.id, expected=", ".join(OF_ITS_OWN),
        )  # fmt: skip
    if told.get("unit", share.unit) != share.unit:
        raise faults.NoUnit(f"lot {share.lot} comes out in {share.unit}, not {told['unit']}", where=event.id)
    facts |= {k: v for k, v in told.items() if v is not None}
    if facts["form"] not in FORMS:
        raise faults.BadShape(
            f"lot {share.lot}: form {echo(str(facts['form']))} is not known", where=event.id,
            expected=", ".join(FORMS),
        )  # fmt: skip
    facts_hold(share.lot, facts, event.id)
    if facts["form"] == "veneer" and facts.get("thickness_um") is None:
        raise faults.NoUnit(f"lot {share.lot}: thickness or its unit missing (mm or um)", where=event.id)
    may_be = tuple(dict.fromkeys(name for p in wood for name in p.may_be))
    species = wood[0].species if wood and len({p.species for p in wood}) == 1 else None
    thick = facts.get("thickness_um")
    return Lot(
        share.lot, facts["form"], share.unit, species, may_be, (), 1000, (),
        None if thick is None else whole(thick, f"lot {share.lot}: thickness", 1, event.id),
        facts.get("density_kg_m3"), facts,
    )  # fmt: skip


def _label(event: Event) -> str | None:
    label = event.more.get("label")
    return None if label is None else str(label)


def _overdrawn(event: Event, held: Held, asked: int, free: int) -> faults.BookFault:
    lot, unit = held.lot.id, held.lot.unit
    kept = f", {held.reserved:,} of it reserved" if held.reserved else ""
    return faults.Overdrawn(
        f"lot {lot}: asked {asked:,} {unit}; on hand {held.qty:,}{kept}", where=event.id,
        expected=f"at most {max(free, 0):,} {unit}", next=f"{max(free, 0):,} left.",
    )  # fmt: skip


def _near(name: str, known: Iterable[str]) -> list[str]:
    from rapidfuzz import process

    return [found for found, _, _ in process.extract(name, list(known), limit=3)]


_SPECIAL: dict[str, Callable[[Book, Event], Change]] = {}


def special(kind: str) -> Callable[[Callable[[Book, Event], Change]], Callable[[Book, Event], Change]]:
    """Registers how an event of a kind is worked out that is no plain move."""

    def register(function: Callable[[Book, Event], Change]) -> Callable[[Book, Event], Change]:
        _SPECIAL[kind] = function
        return function

    return register
