"""An older event put right, as people say it -> the event of it: it did not occur, or its figures were wrong.
The older event stays as it was written; what it was, what it is now and what changes is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from woodref.errors import BadRequest, echo
from woodref.provenance.amounts import ended, plainly
from woodref.provenance.book import Book, Change
from woodref.provenance.faults import Unbalanced
from woodref.provenance.moistures import percent
from woodref.provenance.receiving import named_by_content
from woodref.provenance.shapes import KINDS, Event, Share
from woodref.provenance.working import Done, amount_of, pairs

#: said in place of an amount: the lot has no part in it
NONE = "none"
_WHERE = "stock correct"
#: words of an event that moves nothing, as they are told
_WORDS = (("shelf", "shelf"), ("species", "wood"), ("note", "note"), ("item", "item"), ("label", "label"))


def correct(
    book: Book, event_id: str, undo: bool, in_: Sequence[str] = (), out: Sequence[str] = (),
    waste: Sequence[str] = (), note: str | None = None, time: str | None = None,
) -> Done:  # fmt: skip
    """undo: it did not occur; else in_, out, waste: LOT=AMOUNT as it was in truth, or LOT=none; lots not
    named keep their figures. note: why.

    BadRequest when neither or both are told; else what the book refuses.
    """
    old = book.event(event_id, _WHERE)
    figures = [*in_, *out, *waste]
    if undo and figures:
        raise BadRequest(
            "what did not occur has no figures", where="--did-not-occur", expected="one of the two"
        )
    if not undo and not figures:
        raise BadRequest(
            "nothing is told to put right",
            where=_WHERE,
            expected="--did-not-occur, or --went-in, --came-out or --waste",
        )
    told: dict[str, Any] = {"corrects": old.id, "reason": "did_not_occur" if undo else "incorrect_data"}
    if not undo:
        mended = (
            ("in", _mended(book, old.in_, in_, "--went-in")),
            ("out", _mended(book, old.out, out, "--came-out")),
            ("waste", _mended(book, old.waste, waste, "--waste")),
        )
        told |= {key: [s.as_dict() for s in shares] for key, shares in mended if shares}
    event = named_by_content("correct", old.id, told, time, note)
    try:
        change = book.work_out(event)
    except Unbalanced as fault:
        fault.next = fault.next or "Tell the waste too: --waste LOT=AMOUNT."
        raise
    return Done(event, _sentences(book, old, change))


def _mended(book: Book, shares: Sequence[Share], said: Sequence[str], option: str) -> list[Share]:
    """The shares with those put right that are told. BadRequest for none of a lot that has no part in it."""
    out = {s.lot: s for s in shares}
    for lot, words in pairs(said, option, 'LOT=AMOUNT, such as "W-7=3 leaves", or LOT=none').items():
        if words == NONE:
            if lot not in out:
                raise BadRequest(f"{lot} has no part in it", where=option, expected=", ".join(out) or None)
            del out[lot]
            continue
        held = book.lot(lot, option)
        plies = out[lot].plies if lot in out else 1
        out[lot] = Share(lot, amount_of(words, held).qty, held.lot.unit, plies)
    return list(out.values())


def _sentences(book: Book, old: Event, change: Change) -> list[str]:
    says = [f"Corrected {old.id} ({KINDS[old.kind]} on {old.at.local[:10]}).", f"It was: {_shares(old)}."]
    right = change.effective
    undone = right is not None and "did_not_occur" in right.more
    says.append("Now: it did not occur." if undone or right is None else f"Now: {_shares(right)}.")
    net: dict[str, int] = {}
    for move in change.moves:
        net[move.lot] = net.get(move.lot, 0) + move.qty
    for lot, qty in net.items():
        if lot in change.undone or not qty:
            continue
        held = book.lot(lot, _WHERE)
        unit, left = held.lot.unit, held.qty + qty
        more = f"{abs(qty):,} {unit} {'more' if qty > 0 else 'less'}"
        says.append(f"{lot}: {more}; on hand now {plainly(left, unit)} ({left:,} {unit}).")
    if change.undone:
        says.append(f"Struck from the book: {', '.join(change.undone)}.")
    says += [f"{item.id} is {item.state} again." for item in change.items]
    says += [f"{lot.id} is told as {ended(lot.wood)}" for lot in change.narrowed]
    if change.withdrawn:
        says.append(f"Papers that are gone with it: {', '.join(change.withdrawn)}.")
    if not net:
        says.append("No amount changes.")
    return says


def _shares(event: Event) -> str:
    parts = [
        f"{role} " + ", ".join(f"{s.lot} {s.qty:,} {s.unit}{_plies(s)}" for s in shares)
        for role, shares in (("in", event.in_), ("out", event.out), ("waste", event.waste))
        if shares
    ]
    return "; ".join(parts or _noted(event)) or "no amounts"


def _noted(event: Event) -> list[str]:
    """What an event without amounts said of a lot."""
    more, out = event.more, []
    if isinstance(more.get("moisture"), Mapping):
        out.append(f"moisture {percent(int(more['moisture']['permille']))}")
    out += [f"{what} {echo(str(more[key]))}" for key, what in _WORDS if more.get(key)]
    return [f"of {more['lot']} {', '.join(out)}"] if out and more.get("lot") else out


def _plies(share: Share) -> str:
    return "" if share.plies == 1 else f" in {share.plies} plies"
