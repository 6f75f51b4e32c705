"""The parts of a repair kit: what was pressed, its plies, the lots they came from, what of those is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.lots import Lot
from woodref.provenance.partroles import Laid
from woodref.provenance.shapes import Event
from woodref.provenance.stock import leaves_of

#: role of a ply -> the role `substitute` weighs it by; others are asked without one
STANDS_IN = {"face": "face", "back": "back", "core": "core", "crossband": "crossband", "leg": "solid",
             "rail": "solid", "arm": "solid"}  # fmt: skip


@dataclass(frozen=True)
class Left:
    """A lot that is still there. kept: how much of it is reserved for repairs of this item."""

    held: Held
    kept: int = 0

    def sentence(self) -> str:
        """'L-B: 3.6 m2 on hand, 10 whole leaves of 1800 x 200 mm, shelf R2; 0.36 m2 kept back for this
        item.'"""
        held, lot = self.held, self.held.lot
        out = f"{lot.id}: {plainly(held.qty, lot.unit)} on hand"
        leaves, size = leaves_of(held), lot.told.get("leaf_mm")
        if leaves and size:
            out += f", {leaves} whole {'leaf' if leaves == 1 else 'leaves'} of {size[0]} x {size[1]} mm"
        out += f", shelf {lot.told['shelf']}" if lot.told.get("shelf") else ", shelf not told"
        if self.kept:
            out += f"; {plainly(self.kept, lot.unit)} kept back for this item"
        other = held.reserved - self.kept
        if other > 0:
            out += f"; {plainly(other, lot.unit)} promised to something else"
        return f"{out}."

    def as_dict(self) -> dict[str, Any]:
        lot = self.held.lot
        return {
            "lot": lot.id, "on_hand": self.held.qty, "unit": lot.unit, "leaves": leaves_of(self.held),
            "leaf_mm": lot.told.get("leaf_mm"), "shelf": lot.told.get("shelf"),
            "reserved": self.held.reserved, "kept_for_item": self.kept,
        }  # fmt: skip


@dataclass(frozen=True)
class Source:
    """A received lot that a ply came from, and what of it and of the leaves cut from it is still there."""

    held: Held
    left: Sequence[Left]
    role: str | None

    @property
    def stand_in(self) -> str | None:
        """The command that asks what would stand in; None while something is left."""
        lot = self.held.lot
        if any(left.held.qty for left in self.left):
            return None
        if lot.species is None and not lot.may_be:
            return "woodref find --like-colour COLOUR"
        role = STANDS_IN.get((self.role or "").split(" and ")[0])
        return f'woodref substitute "{lot.may_be[0]}"' + (f" --role {role}" if role else "")

    def sentences(self) -> list[str]:
        """Where it came from, which leaves, what is left, what would stand in."""
        lot, told = self.held.lot, self.held.lot.told
        words = lot.told.get("trade")
        name = f'{lot.wood}, "{words}"' if words and words != lot.wood else lot.wood
        facts = [f"cut {told['cut']}" if told.get("cut") else "cut not told"]
        facts += [f"{key} {told[key]}" for key in ("flitch", "bundle") if told.get(key)]
        if not (told.get("flitch") or told.get("bundle")):
            facts.append("neither flitch nor bundle told")
        out = [f"{lot.id}: {name}; {', '.join(facts)}.", numbers(lot)]
        notes = told.get("leaf_notes")
        if isinstance(notes, dict) and notes:
            out.append(
                "Notes on it: " + "; ".join(f"leaf {leaf}: {note}" for leaf, note in notes.items()) + "."
            )
        elif notes:
            out.append(f"Notes on it: {notes}.")
        out += [left.sentence() for left in self.left if left.held.qty]
        if self.stand_in:
            out.append(f"Nothing of it is left. What would stand in: {self.stand_in}")
        return out

    def as_dict(self) -> dict[str, Any]:
        lot, told = self.held.lot, self.held.lot.told
        keys = ("trade", "cut", "flitch", "bundle", "first_leaf", "leaves", "leaf_notes")
        return {
            "lot": lot.id, "wood": lot.wood, "may_be": list(lot.may_be), **{k: told.get(k) for k in keys},
            "left": [left.as_dict() for left in self.left], "stand_in": self.stand_in,
            "sentences": self.sentences(),
        }  # fmt: skip


def numbers(lot: Lot) -> str:
    """'Leaves 1 to 12 of the bundle; which of them went in was not written down.'"""
    first, count = lot.told.get("first_leaf"), lot.told.get("leaves")
    if count is None:
        return "Leaf numbers were not written down."
    word = "leaf" if count == 1 else "leaves"
    if first is None:
        return f"It came as {count} {word} without numbers: match by the figure."
    which = f"leaf {first}" if count == 1 else f"leaves {first} to {first + count - 1}"
    return f"It came as {which}."


@dataclass(frozen=True)
class Ply:
    """A lot in a panel, or in the item as it is. count: plies of it, None where it is no ply; number: of the
    first of them, in the order they were told; laid: where they lie, as the press recorded it."""

    lot: Lot
    count: int | None
    number: int
    role: str | None
    sources: Sequence[Source]
    laid: Sequence[Laid] = ()

    def sentences(self) -> list[str]:
        lot = self.lot
        thick = "thickness not told" if lot.thickness_um is None else f"{lot.thickness_um / 1000:g} mm"
        plies = "" if self.count is None else ", 1 ply" if self.count == 1 else f", {self.count} plies"
        role = f"{self.role}, " if self.role else ""
        size = lot.told.get("leaf_mm")
        of = f", of {size[0]} x {size[1]} mm" if size else ""
        used = ""
        first, count = lot.told.get("first_leaf"), lot.told.get("leaves")
        if first is not None and count is not None:
            used = f", leaf {first}" if count == 1 else f", leaves {first} to {first + count - 1}"
        place = ", ".join(str(ply.number) for ply in self.laid) or str(self.number)
        out = [f"{place}. {role}{lot.id}: {lot.wood}, {thick}{plies}{of}{used}{self._grain()}."]
        for source in self.sources:
            out += source.sentences()
        return out

    def _grain(self) -> str:
        grains = list(dict.fromkeys(ply.grain for ply in self.laid if ply.grain is not None))
        return f", grain {' and '.join(grains)} degrees" if grains else ""

    def as_dict(self) -> dict[str, Any]:
        lot = self.lot
        return {
            "lot": lot.id, "number": self.number, "role": self.role, "plies": self.count, "wood": lot.wood,
            "thickness_um": lot.thickness_um, "leaf_mm": lot.told.get("leaf_mm"),
            "first_leaf": lot.told.get("first_leaf"), "leaves": lot.told.get("leaves"),
            "laid": [{"ply": ply.number, "grain_deg": ply.grain} for ply in self.laid],
            "sources": [source.as_dict() for source in self.sources],
        }  # fmt: skip


@dataclass(frozen=True)
class Panel:
    """What was pressed, with its plies as they were told; event None: solid parts that were never pressed.
    kept: what the pressing itself kept."""

    lot: Lot | None
    event: Event | None
    plies: Sequence[Ply]

    @property
    def heading(self) -> str:
        if self.lot is None or self.event is None:
            return "Parts that were not pressed"
        return f"{self.lot.id}, pressed on {self.event.at.local[:10]} ({self.event.id})"

    def lead(self) -> list[str]:
        """What holds of the whole panel."""
        out = []
        size = None if self.lot is None else self.lot.told.get("leaf_mm")
        if size:
            out.append(f"Size as pressed: {size[0]} x {size[1]} mm.")
        if self.event is not None:
            out += _pressing(self.event)
        return out

    def sentences(self) -> list[str]:
        return [*self.lead(), *(line for ply in self.plies for line in ply.sentences())]

    def as_dict(self) -> dict[str, Any]:
        return {
            "panel": None if self.lot is None else self.lot.id,
            "event": None if self.event is None else self.event.id,
            "plies": [ply.as_dict() for ply in self.plies],
        }


def _pressing(event: Event) -> list[str]:
    """What the event of a pressing kept of layup, mould and moisture, where it is written as an item's is."""
    out, more = [], event.more
    layup, mould, moisture = more.get("layup"), more.get("mould"), more.get("set_moisture_permille")
    if isinstance(layup, dict):
        title = f'"{layup["title"]}"' if layup.get("title") else "without a title"
        out.append(f"Its layup: {title}, SHA-256 of the file {layup.get('sha256', 'not told')}.")
    elif layup:
        out.append(f"Its layup: {layup}.")
    if isinstance(mould, dict):
        radius = mould.get("radius_um")
        said = [str(mould["name"])] if mould.get("name") else []
        said += [f"radius {radius / 1000:g} mm"] if isinstance(radius, int) else []
        out.append(f"Its mould: {', '.join(said) or 'not told'}.")
    elif mould:
        out.append(f"Its mould: {mould}.")
    if isinstance(moisture, int):
        out.append(f"Moisture of the wood at set: {moisture / 10:g} %.")
    return out
