"""Events that are no plain moves: items closed and shipped, reservations, papers, closer names.

Imported for what it registers with `book.special`.
"""

from __future__ import annotations

import re
from dataclasses import replace

from woodref.errors import echo
from woodref.provenance import documents, faults
from woodref.provenance.balance import Edge, edges_of
from woodref.provenance.book import Book, Change, Item, Move, Reservation, moves_of, special
from woodref.provenance.lots import Lot, noted_holds
from woodref.provenance.shapes import CREATES, IDENTIFIED_BY, Event, Share, named, whole

#: states an item may be in for each thing that is done with it
_STATES = {
    "close": ("open", "returned"), "ship": ("closed",), "return": ("shipped",),
    "repair": ("closed", "returned", "open"), "dismantle": ("closed", "returned", "open"),
}  # fmt: skip
_NEEDS = {
    "ship": "So close it first.", "return": "So ship it first.",
    "repair": "What has left the shop comes back first: woodref item return.",
    "dismantle": "What has left the shop comes back first: woodref item return.",
}  # fmt: skip


def _in_state(book: Book, event: Event, item_id: object) -> Item:
    item = book.item(item_id, event.id)
    if item.state not in _STATES[event.kind]:
        raise faults.BadState(
            f"{event.kind}: {item.id} is {item.state}",
            where=event.id,
            expected=" or ".join(_STATES[event.kind]),
            next=None if item.state == "destroyed" else _NEEDS.get(event.kind),
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
    book.in_order(event)
    return Change(event, moves_of(event), edges=repaired(book, event, item.id))


def repaired(book: Book, event: Event, item_id: str) -> list[Edge]:
    """What an item is made of besides, by a repair."""
    lots = {s.lot: book.lot(s.lot, event.id).lot for s in event.in_}
    lots[item_id] = book.lot(item_id, event.id).lot
    return edges_of(replace(event, kind="assemble", out=(Share(item_id, 1, "pcs"),)), lots)


@special("dismantle")
def dismantle(book: Book, event: Event) -> Change:
    """An item is taken apart for good."""
    _bare(event)
    item = _in_state(book, event, event.more.get("item"))
    return Change(event, [Move(item.id, -1, "in", event.at.utc)], items=[replace(item, state="destroyed")])


@special("reserve")
def reserve(book: Book, event: Event) -> Change:
    """Lowers what is free of a lot till it is released. until: the day to look at it again; it frees
    nothing by itself; item: for whose repairs it is kept."""
    _bare(event)
    held = book.lot(named(event.more.get("lot"), "lot", event.id), event.id)
    if event.more.get("item") is not None:
        book.item(event.more["item"], event.id)
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
    if book.event(held.by, event.id).kind not in CREATES:
        raise faults.BadShape(
            f"lot {held.lot.id} is made of others", where=event.id,
            next="Name the wood of the lots it was made of: woodref whence " + held.lot.id,
        )  # fmt: skip
    return Change(event, narrowed=[narrowed(book, held.lot, event)])


def narrowed(book: Book, lot: Lot, event: Event) -> Lot:
    """A lot after an event that names its wood more closely."""
    name = book.known_name(event.more.get("species"), lot.id, event.id)
    may_be = lot.may_be
    if may_be and name not in may_be and f"{name.split()[0]} spp." not in may_be:
        raise faults.BadShape(
            f"lot {lot.id} was one of {', '.join(may_be)}: {name} is none of them",
            where=event.id,
            next="If the paper was wrong, correct the event that received it.",
        )
    told = dict(lot.told) | {"species": name, "identified_by": event.more.get("identified_by")}
    # what it was told to be before gives way to the one name
    for key in ("genus", "one_of"):
        told.pop(key, None)
    told["narrowed"] = [*told.get("narrowed", ()), event.id]
    return replace(lot, species=name, may_be=(name,), told=told)


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


#: purpose of a signature by which one key hands over to the next
FOLLOWS = "key 1"


@special("key")
def key(book: Book, event: Event) -> Change:
    """The key that deposits and sheets are signed with, or the one that follows it. what: first; replaced,
    with a signature of the old key over both; lost, where the old key cannot sign any more."""
    from woodref.provenance.keys import holds, message

    _bare(event)
    new, what, old = (event.more.get(k) for k in ("public_key", "what", "old_key"))
    if not re.fullmatch(r"[0-9a-f]{64}", str(new)):
        raise faults.BadShape("key: public_key is no Ed25519 key", where=event.id, expected="64 hex digits")
    if what not in ("first", "replaced", "lost"):
        raise faults.BadShape(
            f"key: what {echo(str(what))} is not known", where=event.id, expected="first, replaced or lost"
        )
    now = book.key()
    if (what == "first") != (now is None) or old != now:
        raise faults.BadKey(
            "this book has a key already" if what == "first" else "the key before it is not that of the book",
            where=event.id, next="woodref book key show",
        )  # fmt: skip
    if new == now:
        raise faults.BadKey("that is the key in use", where=event.id)
    signature = event.more.get("signature")
    if what == "replaced" and not holds(str(old), message(FOLLOWS, {"old": old, "new": new}), str(signature)):
        raise faults.BadKey("the old key did not sign the new one", where=event.id)
    if what != "replaced" and signature is not None:
        raise faults.BadShape(f"key: {what} takes no signature", where=event.id)
    return Change(event, key=str(new))
