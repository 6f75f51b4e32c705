"""A blank cutting slip: fields to write in at the bench, in the order in which `stock cut` and a file of a
day's slips ask for them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from woodref.errors import BadRequest
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.pages import code, cut_to, largest, page
from woodref.provenance.stock import ITEM, leaves_of

#: lines for new lots
INTO = 5
#: room for the lot's id and its words, letters of the id and of the words [mm]
ROOM, ID_SIZES, WORDS = 110.0, (16.0, 13.0, 10.0, 8.0, 6.0, 4.5), 4.6


def slip(held: Held | None, on: dt.date, shelf: str | None = None) -> str:
    """The slip as HTML. held: the lot it is for, None for one on which the lot is written by hand;
    shelf: where it lies now.

    BadRequest for an item, which is not cut.
    """
    told: dict[str, object] = {"lot": None, "facts": [], "code": "", "side": 0, "id_size": 0}
    title = "Cutting slip"
    if held is not None:
        if held.lot.form == ITEM:
            raise BadRequest(f"{held.lot.id} is an item, and is not cut", where="stock slip")
        svg, side = code(held.lot.id)
        told = {
            "lot": held.lot.id,
            "id_size": largest(held.lot.id, ROOM, ID_SIZES),
            "facts": [cut_to(line, ROOM, WORDS, 2) for line in _facts(held, on, shelf)],
            "code": svg,
            "side": side,
        }
        title = f"Cutting slip for {held.lot.id}"
    return page("slip.html", title=title, into=INTO, **told)


def _facts(held: Held, on: dt.date, shelf: str | None) -> list[str]:
    """What to know of the lot at the saw: its wood, size, place, and what is free of it."""
    lot, told = held.lot, held.lot.told
    wood = lot.wood if lot.may_be else str(told.get("trade") or lot.form)
    size, thick = told.get("leaf_mm"), lot.thickness_um
    sizes = [
        *([f"{thick / 1000:g} mm"] if thick else []),
        *([f"leaves of {size[0]:g} x {size[1]:g} mm"] if size else []),
    ]
    free = held.qty - held.reserved
    whole = _free_leaves(held, free, told)
    return [
        ", ".join([wood, *sizes]),
        *([f"Shelf {shelf}"] if shelf else []),
        f"Free on {on.isoformat()}: {plainly(free, lot.unit)}{whole}",
    ]


def _free_leaves(held: Held, free: int, told: Mapping[str, object]) -> str:
    if leaves_of(held) is None:
        return ""
    number = leaves_of(Held(held.lot, held.by, held.made, free)) or 0
    return f", the area of {number} {'leaf' if number == 1 else 'leaves'}"
