"""Events that are no plain moves: items closed and shipped, reservations, papers, closer names, corrections.

Imported for what it registers with `book.special`.
"""

from __future__ import annotations

import re
from dataclasses import replace

from woodref.errors import echo
from woodref.provenance import documents, faults
from woodref.provenance.balance import edges_of
from woodref.provenance.book import Book, Change, Item, Move, Reservation, moves_of, special
from woodref.provenance.lots import noted_holds
from woodref.provenance.shapes import IDENTIFIED_BY, REASONS, Event, named, whole

#: states an item may be in for each thing that is done with it
_STATES = {
    "close": ("open",), "ship": ("closed",), "return": ("shipped",), "repair": ("closed", "returned", "open"),
    "dismantle": ("closed", "returned", "open"),
}  # fmt: skip
_NEEDS = {"ship": "So close it first.", "return": "So ship it first."}


def _in_state(book: Book, event: Event, item_id: object) -> Item:
    item = book.item(item_id, event.id)
    if item.state not in _STATES[event.kind]:
        raise faults.BadState(
            f"{event.kind}: {item.id} is {item.state}",
            where=event.id,
            expected=" or ".join(_STATES[event.kind]),
            next=_NEEDS.get(event.kind),
        )
    made = book.lot(item.id, event.id)
    if event.at.utc < made.made:
        raise faults.BadOrder(f"{item.id} exists from {made.made} ({made.by})", where=event.id)
    return item


def _bare(event: Event) -> None:
    if event.in_ or event.out or event.waste:
        raise faults.BadShape(f"{event.kind} moves nothing", where=event.id, expected="no in, out or waste")


@special("close")
def close(book: Book, event: Event) -> Change:
    """An item is finished: from now on a correction or a repair alone changes it."""
    _bare(event)
    item = _in_state(book, event, event.more.get("item"))
    label = event.more.get("label")
    closed = replace(
        item, state="closed", closed_by=event.id, label=None if label is None else str(label),
        serial=event.more.get("serial", item.serial),
    )  # fmt: skip
    change = Change(event, items=[closed])
    book.claimed(event, item.id)
    return change


@special("ship")
def ship(book: Book, event: Event) -> Change:
    """An item leaves the shop."""
    if len(event.in_) != 1 or event.out or event.waste or event.in_[0].unit != "pcs":
        raise faults.BadShape("ship: one item goes out, in pieces", where=event.id)
    item = _in_state(book, event, event.in_[0].lot)
    return Change(event, moves_of(event), items=[replace(item, state="shipped")])


@special("return")
def come_back(book: Book, event: Event) -> Change:
    """A shipped item is on the bench again."""
    _bare(event)
    item = _in_state(book, event, event.more.get("item"))
    back = Move(item.id, 1, "out", event.at.utc)
    return Change(event, [back], items=[replace(item, state="returned")])


@special("repair")
def repair(book: Book, event: Event) -> Change:
    """New parts go into an item; what comes out is scrapped by an event of its own."""
    if len(event.out) or event.waste or not event.in_:
        raise faults.BadShape(
            "repair: parts go in, and the item is named", where=event.id, expected="item, in"
        )
    item = _in_state(book, event, event.more.get("item"))
    lots = {s.lot: book.lot(s.lot, event.id).lot for s in event.in_}
    book.in_order(event)
    lots[item.id] = book.lot(item.id, event.id).lot
    from woodref.provenance.shapes import Share

    whole_event = replace(event, kind="assemble", out=(Share(item.id, 1, "pcs"),))
    return Change(event, [m for m in moves_of(event)], edges=edges_of(whole_event, lots))


@special("dismantle")
def dismantle(book: Book, event: Event) -> Change:
    """An item is taken apart for good."""
    _bare(event)
    item = _in_state(book, event, event.more.get("item"))
    return Change(event, [Move(item.id, -1, "in", event.at.utc)], items=[replace(item, state="destroyed")])


@special("reserve")
def reserve(book: Book, event: Event) -> Change:
    """Lowers what is free of a lot till it is released. until: the day to look at it again; it frees
    nothing by itself."""
    _bare(event)
    held = book.lot(named(event.more.get("lot"), "lot", event.id), event.id)
    qty = whole(event.more.get("qty"), "amount", 1, event.id)
    free = held.qty - held.reserved
    if qty > free:
        raise faults.Overdrawn(
            f"lot {held.lot.id}: asked {qty:,} {held.lot.unit} to reserve; free {free:,}",
            where=event.id,
            next=f"{free:,} left.",
        )
    until = event.more.get("until")
    if until is not None:
        documents.day(until, "until", event.id)
    return Change(event, reserves=[Reservation(event.id, held.lot.id, qty, until)])


@special("release")
def release(book: Book, event: Event) -> Change:
    """Frees what an earlier event reserved."""
    _bare(event)
    name = named(event.more.get("reservation"), "reservation", event.id)
    if book.reservation(name) is None:
        raise faults.UnknownEvent(f"there is no reservation {name}", where=event.id)
    held = book.reservation(name)
    assert held is not None
    return Change(event, releases=[held])


@special("narrow")
def narrow(book: Book, event: Event) -> Change:
    """The wood of a lot is known more closely: one of those it may have been, or any where nobody knew."""
    _bare(event)
    held = book.lot(named(event.more.get("lot"), "lot", event.id), event.id)
    by = event.more.get("identified_by")
    if by not in IDENTIFIED_BY:
        raise faults.BadShape(
            f"identified_by {echo(str(by))} is not known", where=event.id, expected=", ".join(IDENTIFIED_BY)
        )
    name = book.known_name(event.more.get("species"), held.lot.id, event.id)
    may_be = held.lot.may_be
    if may_be and name not in may_be and f"{name.split()[0]} spp." not in may_be:
        raise faults.BadShape(
            f"lot {held.lot.id} was one of {', '.join(may_be)}: {name} is none of them",
            where=event.id,
            next="If the paper was wrong, correct the event that received it.",
        )
    told = dict(held.lot.told) | {"species": name, "identified_by": by}
    return Change(event, narrowed=[replace(held.lot, species=name, may_be=(name,), told=told)])


@special("attach-document")
def attach(book: Book, event: Event) -> Change:
    """A paper joins lots. Its amount, where it has one, is never drawn on for more."""
    _bare(event)
    listed = event.more.get("documents") or ([event.more["document"]] if event.more.get("document") else [])
    if not listed:
        raise faults.BadShape(
            "attach-document: no document", where=event.id, expected="document: {id, kind, lot}"
        )
    papers = [documents.paper_of(value, event.id) for value in listed]
    for paper in papers:
        book.check_paper(paper, event.id, event.at.day)
    return Change(event, papers=papers)


@special("annotate")
def annotate(book: Book, event: Event) -> Change:
    """A note, a moisture reading, a shelf: changes no amount."""
    _bare(event)
    if event.more.get("lot") is not None:
        book.lot(named(event.more["lot"], "lot", event.id), event.id)
    noted_holds(event.more, event.id)
    return Change(event)


@special("key")
def key(book: Book, event: Event) -> Change:
    """The key that deposits and sheets are signed with, or the one that follows it."""
    _bare(event)
    if not re.fullmatch(r"[0-9a-f]{64}", str(event.more.get("public_key"))):
        raise faults.BadShape("key: public_key is no Ed25519 key", where=event.id, expected="64 hex digits")
    return Change(event)


@special("correct")
def correct(book: Book, event: Event) -> Change:
    """An older event did not occur, or has wrong figures: the net difference, dated when that happened."""
    old = book.event(event.more.get("corrects"), event.id)
    reason = event.more.get("reason")
    if reason not in REASONS:
        raise faults.BadShape(
            f"reason {echo(str(reason))} is not known", where=event.id, expected=" or ".join(REASONS)
        )
    if reason == "did_not_occur":
        return _undo(book, event, old)
    right = corrected(old, event)
    if {s.lot for s in right.out} != {s.lot for s in old.out}:
        raise faults.BadShape("a correction makes no other lots than the event made", where=event.id)
    lots = {s.lot: book.lot(s.lot, event.id).lot for s in (*right.in_, *right.out)}
    book.in_order(replace(right, id=event.id))
    edges = edges_of(replace(right, id=event.id), lots) if old.kind != "ship" else []
    return Change(event, _difference(old, right), edges=edges, effective=right)


def corrected(old: Event, event: Event) -> Event:
    """An event as it counts after a correction of it."""
    if event.more.get("reason") == "did_not_occur":
        return replace(old, in_=(), out=(), waste=(), more={**old.more, "did_not_occur": event.id})
    return replace(
        old,
        in_=event.in_ or old.in_,
        out=event.out or old.out,
        waste=event.waste or (() if event.in_ else old.waste),
        more={**old.more, "corrected_by": event.id},
    )


def _difference(old: Event, right: Event) -> list[Move]:
    before: dict[tuple[str, str], int] = {}
    for move in moves_of(old):
        before[move.lot, move.role] = before.get((move.lot, move.role), 0) - move.qty
    for move in moves_of(right):
        before[move.lot, move.role] = before.get((move.lot, move.role), 0) + move.qty
    at = old.at.utc
    return [Move(lot, qty, role, at) for (lot, role), qty in before.items() if qty]


def _undo(book: Book, event: Event, old: Event) -> Change:
    if event.in_ or event.out or event.waste:
        raise faults.BadShape("did_not_occur takes no figures", where=event.id)
    users = book.dependents([s.lot for s in old.out])
    if users:
        raise faults.InUse(
            f"{', '.join(users)} use its output" if len(users) > 1 else f"{users[0]} uses its output",
            where=f"{event.id} on {old.id}",
            next="Correct those first, the last of them first.",
        )
    gone = corrected(old, event)
    back = [replace(m, qty=-m.qty) for m in moves_of(old)]
    return Change(event, back, undone=[s.lot for s in old.out], effective=gone)
