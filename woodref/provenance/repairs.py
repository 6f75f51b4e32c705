"""What is done to an item after it was closed: it comes back, is repaired or taken apart; its life told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Reservation
from woodref.provenance.canonical import canonical
from woodref.provenance.receiving import named_by_content
from woodref.provenance.shapes import KINDS, Event
from woodref.provenance.store import Store
from woodref.provenance.working import Done, amount_of, keeps, pairs

_LIFE = """SELECT seq, id FROM event WHERE seq IN (SELECT seq FROM move WHERE lot = :item)
OR id IN (SELECT event FROM edge WHERE child = :item)
OR (kind IN ('close', 'return', 'dismantle') AND payload LIKE :told ESCAPE '!') ORDER BY at, seq"""
#: what is asked of a part that goes in
WITH = 'LOT=AMOUNT, such as "PATCH-1=1 leaf of 60 x 40 mm"'


def repair(
    store: Store, item: str, with_: Sequence[str], out_part: str | None = None, time: str | None = None,
    note: str | None = None,
) -> list[Done]:  # fmt: skip
    """New parts into an item that is open, closed or has come back. with_: LOT=AMOUNT each; out_part: what
    came out, in words. What is kept back for this very item is released as far as the repair wants it, and
    the rest is kept back again: record the events together.
    """
    book = store.book()
    said = pairs(with_, "--with", WITH)
    if not said:
        raise BadRequest("no new part is told", where="--with", expected=WITH)
    shares: list[dict[str, Any]] = []
    used: list[str] = []
    before: list[Done] = []
    after: list[Done] = []
    for lot, amount in said.items():
        held = book.lot(lot, "item repair")
        taken = amount_of(amount, held)
        shares.append({"lot": lot, "qty": taken.qty, "unit": held.lot.unit})
        used.append(keeps(held, taken.qty))
        wanting = taken.qty - (held.qty - held.reserved)
        for kept in kept_for(store, item, lot):
            if wanting <= 0:
                break
            freed, again = _drawn(item, kept, wanting, held.lot.unit, time)
            before.append(freed)
            after += again
            wanting -= kept.qty
    told: dict[str, Any] = {"item": item, "in": shares}
    if out_part:
        told["what"] = out_part
    went = ", ".join(f"{plainly(s['qty'], s['unit'])} of {s['lot']}" for s in shares)
    says = [f"Repaired {item}: {went} went in."]
    if out_part:
        says.append(
            f"Came out: {out_part}. The book does not count it: what you keep of it comes in as found stock."
        )
    event = named_by_content("repair", item, told, time, note)
    says += used
    if book.item(item, "item repair").state == "returned":
        says.append(f"When it is done: woodref item close {item}, then woodref item ship {item}.")
    return [*before, Done(event, says), *after]


def _drawn(
    item: str, kept: Reservation, wanting: int, unit: str, time: str | None
) -> tuple[Done, list[Done]]:
    """What was kept back for an item is freed, and kept back again for what the repair does not want."""
    event = named_by_content("release", kept.id, {"reservation": kept.id}, time, f"repair of {item}")
    freed = Done(event, [f"Drew on what was kept back for it ({kept.id})."])
    if kept.qty <= wanting:
        return freed, []
    told = {"lot": kept.lot, "qty": kept.qty - wanting, "item": item}
    told |= {"until": kept.until} if kept.until else {}
    event = named_by_content("reserve", kept.lot, told, time, f"for repairs of {item}")
    left = plainly(kept.qty - wanting, unit)
    return freed, [Done(event, [f"{left} of {kept.lot} stay kept back for it ({event.id})."])]


def kept_for(store: Store, item: str, lot: str | None = None) -> list[Reservation]:
    """Reservations that were made for an item, of one lot or of any."""
    rows = store.rows(
        "SELECT r.id, r.lot, r.qty, r.until, e.payload FROM reservation r JOIN event e ON e.id = r.id "
        "ORDER BY e.seq"
    )
    out = []
    for name, of, qty, until, payload in rows:
        if lot in (None, of) and _told(item) in payload:
            out.append(Reservation(name, of, int(qty), until))
    return out


def _told(item: str) -> str:
    """An item as its events name it in their canonical text."""
    return '"item":' + canonical(item).decode()


def names_item(item: str) -> str:
    """A pattern for LIKE ... ESCAPE '!' that finds the payloads of events about an item."""
    text = _told(item)
    for sign in ("!", "%", "_"):
        text = text.replace(sign, "!" + sign)
    return f"%{text}%"


def come_back(item: str, time: str | None = None, note: str | None = None) -> Done:
    """A shipped item is on the bench again."""
    says = [f"{item} came back: it may be repaired, closed again and shipped, or taken apart."]
    return Done(named_by_content("return", item, {"item": item}, time, note), says)


def dismantle(item: str, time: str | None = None, note: str | None = None) -> Done:
    """An item is taken apart for good."""
    says = [
        f"{item} was taken apart for good.",
        "What of it is kept comes in as found stock: woodref stock receive LOT AMOUNT --found, with the same "
        "words, so that its papers can be looked up.",
    ]
    return Done(named_by_content("dismantle", item, {"item": item}, time, note), says)


@dataclass(frozen=True)
class Step:
    """One thing that was done with an item."""

    event: Event

    def sentence(self) -> str:
        """'2025-11-03 repaired (T3): 1,000 mm2 of PATCH went in; came out: a split corner. Note: ...'"""
        event = self.event
        out = f"{event.at.local[:10]} {KINDS[event.kind]} ({event.id})"
        if event.kind == "repair" and event.in_:
            went = ", ".join(f"{plainly(s.qty, s.unit)} of {s.lot}" for s in event.in_)
            out += f": {went} went in"
            if event.more.get("what"):
                out += f"; came out: {event.more['what']}"
        if "did_not_occur" in event.more:
            out += f": did not occur, says {event.more['did_not_occur']}"
        elif event.more.get("corrected_by"):
            out += f" (corrected by {event.more['corrected_by']})"
        note = event.more.get("note")
        return f"{out}." + (f" Note: {note}" if note else "")

    def as_dict(self) -> dict[str, Any]:
        event = self.event
        return {
            "at": event.at.local, "event": event.id, "kind": event.kind,
            "parts": [s.as_dict() for s in event.in_] if event.kind == "repair" else [],
            "came_out": event.more.get("what"), "note": event.more.get("note"),
            "did_not_occur": "did_not_occur" in event.more,
        }  # fmt: skip


def life(store: Store, item: str) -> list[Step]:
    """Everything that was done with an item, from its making on, as it counts now."""
    book = store.book()
    rows = store.rows(_LIFE, item=item, told=names_item(item))
    found = [book.event(name, item) for _, name in rows]
    return [Step(event) for event in found if event.kind != "correct"]
