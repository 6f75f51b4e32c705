"""Corrections: an older event did not occur, or has wrong figures. The older event stays as it was written;
what follows from it is worked out anew, and later events that rest on it are never left hanging.

Imported for what it registers with `book.special`.
"""

from __future__ import annotations

from dataclasses import replace

from woodref.errors import echo
from woodref.provenance import faults
from woodref.provenance.balance import edges_of
from woodref.provenance.book import MAKES, Book, Change, Held, Item, Move, moves_of, special
from woodref.provenance.documents import paper_of
from woodref.provenance.lots import Lot, lot_of
from woodref.provenance.shapes import CREATES, REASONS, Event
from woodref.provenance.special import narrowed, repaired

GONE = ("scrap", "sample", "loss")
#: kinds whose amounts can be corrected
AMOUNTS = (*MAKES, *GONE, "repair")
#: what to do instead where a correction has no meaning
INSTEAD = {
    "reserve": "Give it free again with stock release.",
    "release": "Reserve it again with stock reserve.",
    "key": "Replace the key instead: woodref book key.",
    "correct": "Correct the event itself once more.",
    "dismantle": "What was taken apart for good is gone: receive its parts as stock found on the shelf.",
}
#: facts that lots made of this one take over: they change only while nothing is made of it
INHERITED = (
    "species", "one_of", "genus", "composition", "wood_share_permille", "thickness_um", "density_kg_m3",
)  # fmt: skip


@special("correct")
def correct(book: Book, event: Event) -> Change:
    """An older event did not occur, or has wrong figures: the net difference, dated when that happened."""
    old = book.event(event.more.get("corrects"), event.id)
    reason = event.more.get("reason")
    if reason not in REASONS:
        raise faults.BadShape(
            f"reason {echo(str(reason))} is not known", where=event.id, expected=" or ".join(REASONS)
        )
    if "did_not_occur" in old.more:
        raise faults.BadState(
            f"{old.id} did not occur, says {old.more['did_not_occur']}", where=event.id,
            next="If it did after all, record it anew under another id.",
        )  # fmt: skip
    if old.kind in INSTEAD:
        raise faults.BadShape(
            f"{old.id}: of {old.kind} nothing can be corrected", where=event.id, next=INSTEAD[old.kind]
        )
    if reason == "did_not_occur":
        return _undone(book, event, old)
    return _amended(book, event, old)


def corrected(old: Event, event: Event) -> Event:
    """An event as it counts after a correction of it."""
    if event.more.get("reason") == "did_not_occur":
        return replace(old, in_=(), out=(), waste=(), more={**old.more, "did_not_occur": event.id})
    return replace(
        old,
        in_=event.in_ or old.in_,
        out=event.out or old.out,
        waste=event.waste or (() if event.in_ else old.waste),
        lots={**old.lots, **event.lots},
        more={**old.more, "corrected_by": event.id},
    )


# --- wrong figures


def _amended(book: Book, event: Event, old: Event) -> Change:
    if old.kind not in AMOUNTS:
        raise faults.BadShape(
            f"{old.id} ({old.kind}) has no amounts to correct", where=event.id,
            next="Say that it did not occur, and record what did.",
        )  # fmt: skip
    right = corrected(old, event)
    if {s.lot for s in right.out} != {s.lot for s in old.out}:
        raise faults.BadShape("a correction makes no other lots than the event made", where=event.id)
    if (right.in_, right.out, right.waste, dict(right.lots)) == (old.in_, old.out, old.waste, dict(old.lots)):
        raise faults.BadShape(f"nothing in it differs from {old.id}", where=event.id)
    lots = {s.lot: book.lot(s.lot, event.id).lot for s in (*right.in_, *right.out)}
    retold = [_retold(book, event, old, right, lot_id) for lot_id in event.lots]
    lots |= {lot.id: lot for lot in retold}
    told_as = replace(right, id=event.id)
    book.in_order(told_as)
    for share in (*right.in_, *right.out, *right.waste):
        if lots[share.lot].unit != share.unit:
            raise faults.NoUnit(
                f"{share.lot} is counted in {lots[share.lot].unit}, not {share.unit}", where=event.id
            )
    if old.kind == "repair":
        edges = repaired(book, told_as, str(old.more.get("item")))
    else:
        edges = edges_of(told_as, lots)
    return Change(event, _difference(old, right), edges=edges, narrowed=retold, effective=right, old=old)


def _retold(book: Book, event: Event, old: Event, right: Event, lot_id: str) -> Lot:
    """A received lot with its facts as they are told now."""
    if old.kind not in CREATES:
        raise faults.BadShape(
            f"what is known of lot {lot_id} follows from the lots it was made of", where=event.id,
            next="Correct the event that received those.",
        )  # fmt: skip
    held = book.lot(lot_id, event.id)
    if held.lot.told.get("narrowed"):
        raise faults.InUse(
            f"{', '.join(held.lot.told['narrowed'])} named the wood of {lot_id} more closely", where=event.id,
            next="Correct that first.",
        )  # fmt: skip
    lot = lot_of(lot_id, right.lots[lot_id], event.id, book.knows)
    if (lot.form, lot.unit) != (held.lot.form, held.lot.unit):
        raise faults.BadShape(
            f"lot {lot_id} stays a lot of {held.lot.form} in {held.lot.unit}", where=event.id,
            next="Say that it was not received, and receive it anew.",
        )  # fmt: skip
    changed = [key for key in INHERITED if lot.told.get(key) != held.lot.told.get(key)]
    users = book.dependents([lot_id])
    if changed and users:
        raise faults.InUse(
            f"{_use(users)}, and {', '.join(changed)} of {lot_id} went on into what was made", where=event.id,
            next="Correct those first, the last of them first.",
        )  # fmt: skip
    return lot


def _difference(old: Event, right: Event) -> list[Move]:
    before: dict[tuple[str, str], int] = {}
    for move in moves_of(old):
        before[move.lot, move.role] = before.get((move.lot, move.role), 0) - move.qty
    for move in moves_of(right):
        before[move.lot, move.role] = before.get((move.lot, move.role), 0) + move.qty
    at = old.at.utc
    return [Move(lot, qty, role, at) for (lot, role), qty in before.items() if qty]


# --- what did not occur


def _undone(book: Book, event: Event, old: Event) -> Change:
    if event.in_ or event.out or event.waste or event.lots:
        raise faults.BadShape("did_not_occur takes no figures", where=event.id)
    change = Change(event, effective=corrected(old, event), old=old, withdrawn=_papers(old))
    if old.kind in ("close", "ship", "return"):
        return _state_back(book, change, old)
    if old.kind == "narrow":
        held = book.lot(str(old.more.get("lot")), event.id)
        change.narrowed = [_as_received(book, held, old)]
        return change
    change.moves = [replace(m, qty=-m.qty) for m in moves_of(old)]
    if old.kind in MAKES:
        _unmade(book, change, old)
    return change


def _papers(old: Event) -> list[str]:
    """Ids of the documents that an event brought."""
    listed = [*old.more.get("documents", ()), *filter(None, [old.more.get("document")])]
    return [paper_of(value, old.id).id for value in listed]


def _unmade(book: Book, change: Change, old: Event) -> None:
    """The lots of an event go; an item that was there before it stays, without what went into it then."""
    event = change.event
    if old.kind.startswith("assemble"):
        item = book.item(old.out[0].lot, event.id)
        if item.made_by != old.id:
            _taken_out(change, item, old)
            return
        if item.state != "open" and (item.state != "closed" or item.closed_by != old.id):
            raise _since(item, event)
    made = [s.lot for s in old.out]
    users = book.dependents(made)
    if users:
        raise faults.InUse(
            f"{_use(users)} its output", where=f"{event.id} on {old.id}",
            next="Correct those first, the last of them first.",
        )  # fmt: skip
    for lot_id in made:
        tied = [name for name in book.ties(lot_id) if name != old.id]
        if tied:
            raise faults.InUse(
                f"{', '.join(tied)} {'is' if len(tied) == 1 else 'are'} about {lot_id}",
                where=f"{event.id} on {old.id}", next="Correct or release those first.",
            )  # fmt: skip
    change.undone = made


def _taken_out(change: Change, item: Item, old: Event) -> None:
    """Parts that did not go into an item that is there already."""
    change.moves = [m for m in change.moves if m.role == "in"]
    if item.closed_by == old.id and item.state == "closed":
        change.items = [replace(item, state="open", closed_by=None, label=None)]
    elif item.state != "open":
        raise _since(item, change.event)


def _since(item: Item, event: Event) -> faults.BadState:
    by = f", closed by {item.closed_by}" if item.closed_by else ""
    return faults.BadState(
        f"{item.id} is {item.state} since then{by}", where=event.id,
        next="Correct what came later first.",
    )  # fmt: skip


def _state_back(book: Book, change: Change, old: Event) -> Change:
    """An item was not closed, did not leave, did not come back."""
    name = old.in_[0].lot if old.kind == "ship" else old.more.get("item")
    item = book.item(name, change.event.id)
    meant, before = {
        "close": ("closed", "open"),
        "ship": ("shipped", "closed"),
        "return": ("returned", "shipped"),
    }[old.kind]
    if item.state != meant or (old.kind == "close" and item.closed_by != old.id):
        raise _since(item, change.event)
    if old.kind == "close":
        if any(qty < 0 for _, qty in book.moves_of(item.id)):  # it was closed again after it came back
            before = "returned"
        change.items = [replace(item, state=before, closed_by=None, label=None)]
        return change
    change.items = [replace(item, state=before)]
    change.moves = (
        [replace(m, qty=-m.qty) for m in moves_of(old)]
        if old.kind == "ship"
        else [Move(item.id, -1, "out", old.at.utc)]
    )
    return change


def _as_received(book: Book, held: Held, without: Event) -> Lot:
    """A lot as it was received, with every closer name but one."""
    received = book.event(held.by, without.id)
    lot = lot_of(held.lot.id, received.lots[held.lot.id], held.by, book.knows)
    for name in held.lot.told.get("narrowed", ()):
        if name != without.id:
            lot = narrowed(book, lot, book.event(name, without.id))
    return lot


def _use(users: list[str]) -> str:
    return f"{', '.join(users)} use" if len(users) > 1 else f"{users[0]} uses"
