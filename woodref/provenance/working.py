"""Work on a lot as people say it -> the event of it, and what to tell: cut, scrap, reserve, release."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.reader import Notice
from woodref.errors import BadRequest, echo
from woodref.provenance.amounts import Amount, plainly
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.book import Held
from woodref.provenance.faults import BadThickness, NoUnit, Unbalanced
from woodref.provenance.receiving import named_by_content
from woodref.provenance.shapes import Event
from woodref.provenance.yields import low_yield, may_hold_offcut, small_offcut

_WHOLE_LEAVES = re.compile(r"(?P<count>[0-9]+)\s*(?:leaf|leaves|sheets?)", re.IGNORECASE)


@dataclass(frozen=True)
class Done:
    """An event to record, and the sentences to say when it stands in the book. notices: what to mind; told:
    keys of its JSON beside those that all work has."""

    event: Event
    sentences: Sequence[str]
    notices: Sequence[Notice] = ()
    told: Mapping[str, Any] = field(default_factory=dict)


def pairs(entries: Sequence[str], option: str, example: str) -> dict[str, str]:
    """{LOT: what is said after the equals sign}; BadRequest when one is not told so, or told twice."""
    out: dict[str, str] = {}
    for entry in entries:
        lot, equals, said = (part.strip() for part in entry.partition("="))
        if not lot or not equals or not said:
            raise BadRequest(f"{echo(entry)} is not understood", where=option, expected=example)
        if lot in out:
            raise BadRequest(f"{lot} is told twice", where=option)
        out[lot] = said
    return out


def amount_of(text: str, held: Held) -> Amount:
    """An amount of a lot: as `amounts.amount` reads it, or '2 leaves' of the size the lot has.

    NoUnit when the lot is counted in another unit or has no leaf size, BadThickness when the amount tells
    another thickness than the lot has.
    """
    lot = held.lot
    leaves = _WHOLE_LEAVES.fullmatch(" ".join(text.split()))
    if leaves:
        size = lot.told.get("leaf_mm")
        if not size:
            raise NoUnit(
                f"{lot.id}: the size of its leaves is not told", where="amount",
                expected="the size with it, such as 2 leaves of 1800 x 200 mm",
            )  # fmt: skip
        word = "leaf" if int(leaves["count"]) == 1 else "leaves"
        text = f"{leaves['count']} {word} of {size[0]} x {size[1]} mm"
    said = read_amount(text)
    if said.unit != lot.unit:
        raise NoUnit(f"{lot.id} is counted in {lot.unit}, {echo(text)} is in {said.unit}", where="amount")
    if said.thickness_um not in (None, lot.thickness_um):
        raise BadThickness(
            f"{lot.id} is {(lot.thickness_um or 0) / 1000:g} mm thick, the amount says "
            f"{(said.thickness_um or 0) / 1000:g} mm",
            where="amount",
        )
    return said


def keeps(held: Held, taken: int) -> str:
    """What is left of a lot when some of it is taken."""
    left = held.qty - taken
    if left <= 0:
        return f"{held.lot.id} is used up."
    return f"{held.lot.id} keeps {plainly(left, held.lot.unit)} ({left:,} {held.lot.unit})."


#: facts of a lot that hold of its parts too
_SAME = ("cut", "flitch", "bundle")


def carried(*held: Held) -> dict[str, Any]:
    """Facts that what is made of lots keeps of them: the cut, the flitch, the bundle, where all agree."""
    out = {}
    for key in _SAME:
        values = {h.lot.told.get(key) for h in held}
        if len(values) == 1 and (value := values.pop()):
            out[key] = value
    return out


def lots_told(pieces: Mapping[str, Mapping[str, Any]], *held: Held) -> dict[str, dict[str, Any]]:
    """Facts of new lots, {LOT: its own}, with those that are carried; lots without any are left out."""
    facts = {name: carried(*held) | dict(own) for name, own in pieces.items()}
    return {name: own for name, own in facts.items() if own}


def kept_and_lost(taken: int, parts: Iterable[int], unit: str) -> list[str]:
    """'Waste: 0.259 m2, 36 % of it.'"""
    wasted = taken - sum(parts)
    share = f"{100 * wasted / taken:.0f} %" if wasted else "nothing"
    return [f"Waste: {plainly(wasted, unit)}, {share} of it." if wasted else "Waste: nothing."]


def fits_in(piece: Sequence[int] | None, size: Sequence[int] | None) -> bool:
    """Whether a piece is no longer and no wider than a leaf [mm], along or across; True where either is not
    known."""
    if not size or not piece:
        return True
    return max(piece) <= max(size) and min(piece) <= min(size)


def _fits(piece: Amount, held: Held) -> None:
    """BadRequest when a piece is longer or wider than the leaves it is to be cut from, along or across."""
    size = held.lot.told.get("leaf_mm")
    if size and not fits_in(piece.leaf_mm, size):
        raise BadRequest(
            f"{piece.said} cannot be cut from leaves of {size[0]} x {size[1]} mm", where=held.lot.id,
            next="Joint leaves first, or mend the size.",
        )  # fmt: skip


def cut(
    held: Held, text: str, into: Sequence[str], offcut: Sequence[str] = (), no_offcut: bool = False,
    time: str | None = None, note: str | None = None,
) -> Done:  # fmt: skip
    """A lot cut into new ones, 'LOT=AMOUNT' each; the rest of what was taken is waste. offcut: pieces that
    are left and kept, told likewise; no_offcut: what is left is waste and nobody need ask.

    Unbalanced when the pieces are more than was taken; BadRequest when one is not told as LOT=AMOUNT.
    """
    if offcut and no_offcut:
        raise BadRequest("an offcut is named, and --no-offcut says there is none", expected="one of the two")
    taken = amount_of(text, held)
    example = 'LOT=AMOUNT, such as "FACE-1=4 leaves of 490 x 180 mm"'
    cuts = pairs(into, "--into", example)
    left = pairs(offcut, "--offcut", 'LOT=AMOUNT, such as "OFF-1=1 leaf of 600 x 180 mm"')
    if twice := cuts.keys() & left.keys():
        raise BadRequest(f"{', '.join(sorted(twice))} is told as piece and as offcut", where="--offcut")
    pieces = {name: amount_of(said, held) for name, said in (cuts | left).items()}
    for piece in pieces.values():
        _fits(piece, held)
    made = sum(piece.qty for piece in pieces.values())
    wasted, unit = taken.qty - made, held.lot.unit
    if wasted < 0:
        raise Unbalanced(
            f"the pieces are {-wasted:,} {unit} more than the {taken.qty:,} {unit} taken", where=held.lot.id,
            next="Take more of the lot, or mend a piece.",
        )  # fmt: skip
    told: dict[str, Any] = {
        "in": [{"lot": held.lot.id, "qty": taken.qty, "unit": unit}],
        "out": [{"lot": name, "qty": piece.qty, "unit": unit} for name, piece in pieces.items()],
        "lots": lots_told({name: piece.sheets for name, piece in pieces.items()}, held),
    }
    if wasted:
        told["waste"] = [{"lot": held.lot.id, "qty": wasted, "unit": unit}]
    says = [f"Cut {taken.echo()} of {held.lot.id}."]
    says += [f"{'Offcut ' if name in left else ''}{name}: {piece.echo()}." for name, piece in pieces.items()]
    says += kept_and_lost(taken.qty, [piece.qty for piece in pieces.values()], unit)
    notices = low_yield("cut", taken.qty, made)
    notices += [n for name in left for n in small_offcut(name, pieces[name])]
    if not left and not no_offcut:
        notices += may_hold_offcut(wasted, taken.qty, unit)
    event = named_by_content("cut", held.lot.id, told, time, note)
    return Done(event, [*says, keeps(held, taken.qty)], notices)


def scrap(held: Held, text: str, time: str | None = None, note: str | None = None) -> Done:
    """Some of a lot is spoilt and thrown away."""
    taken = amount_of(text, held)
    told = {"in": [{"lot": held.lot.id, "qty": taken.qty, "unit": held.lot.unit}]}
    says = [f"Scrapped {taken.echo()} of {held.lot.id}.", keeps(held, taken.qty)]
    return Done(named_by_content("scrap", held.lot.id, told, time, note), says)


def reserve(
    held: Held, text: str, until: str | None = None, time: str | None = None, note: str | None = None
) -> Done:
    """Keeps some of a lot back, such as following leaves for a repair."""
    kept = amount_of(text, held)
    told = {"lot": held.lot.id, "qty": kept.qty} | ({"until": until} if until else {})
    event = named_by_content("reserve", held.lot.id, told, time, note)
    free = held.qty - held.reserved - kept.qty
    says = [
        f"Reserved {kept.echo()} of {held.lot.id}; {plainly(max(free, 0), held.lot.unit)} stay free.",
        *([f"To be looked at again on {until}: it stays kept back till it is released."] if until else []),
        f"To give it free again: woodref stock release {event.id}",
    ]
    return Done(event, says)


def release(reservation: str, time: str | None = None, note: str | None = None) -> Done:
    """Frees what was reserved. reservation: the id that `reserve` told."""
    event = named_by_content("release", reservation, {"reservation": reservation}, time, note)
    return Done(event, [f"Released {reservation}."])
