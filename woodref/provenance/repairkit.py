"""What is needed to remake a part of an item years later, and what of it is still there. No prices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.amounts import plainly
from woodref.provenance.balance import USED
from woodref.provenance.book import Book, Held
from woodref.provenance.closing import last_closing, roles_of
from woodref.provenance.documents import Paper
from woodref.provenance.kept import Kept
from woodref.provenance.lots import Lot
from woodref.provenance.repairs import Step, kept_for, life
from woodref.provenance.shapes import Event
from woodref.provenance.stock import leaves_of
from woodref.provenance.store import Store
from woodref.provenance.trace import contents, edges_back, went_into, whence

_TEMPLATES = Path(__file__).resolve().parent / "templates"
#: role of a ply -> the role `substitute` weighs it by; others are asked without one
STANDS_IN = {"face": "face", "back": "back", "core": "core", "crossband": "crossband", "leg": "solid",
             "rail": "solid", "arm": "solid"}  # fmt: skip


@dataclass(frozen=True)
class Section:
    """A heading with its sentences. verbatim: lines of a file, to be set as they are."""

    heading: str
    sentences: Sequence[str]
    verbatim: bool = False


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
        role = STANDS_IN.get(self.role or "")
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
    first of them, in the order they were told."""

    lot: Lot
    count: int | None
    number: int
    role: str | None
    sources: Sequence[Source]

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
        out = [f"{self.number}. {role}{lot.id}: {lot.wood}, {thick}{plies}{of}{used}."]
        for source in self.sources:
            out += source.sentences()
        return out

    def as_dict(self) -> dict[str, Any]:
        lot = self.lot
        return {
            "lot": lot.id, "number": self.number, "role": self.role, "plies": self.count, "wood": lot.wood,
            "thickness_um": lot.thickness_um, "leaf_mm": lot.told.get("leaf_mm"),
            "first_leaf": lot.told.get("first_leaf"), "leaves": lot.told.get("leaves"),
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
        out.append(f"Its mould: {mould.get('name')}" + (f", radius {radius / 1000:g} mm." if radius else "."))
    elif mould:
        out.append(f"Its mould: {mould}.")
    if isinstance(moisture, int):
        out.append(f"Moisture of the wood at set: {moisture / 10:g} %.")
    return out


@dataclass(frozen=True)
class Kit:
    """Everything to remake a part of an item by."""

    item: str
    state: str
    made: str
    serial: str | None
    kept: Kept
    report: Paper | None
    panels: Sequence[Panel]
    used: Sequence[Held]
    life: Sequence[Step]

    def sections(self) -> list[Section]:
        """The page, in the order it is read at the bench."""
        number = f", serial {self.serial}" if self.serial else ""
        head = [f"{self.item}{number}: {self.state}, put together on {self.made[:10]}."]
        head += [step.sentence() for step in self.life if step.event.kind == "repair"]
        out = [Section("The item", head), Section("As it was made", self._made())]
        out += [Section(panel.heading, panel.sentences()) for panel in self.panels]
        out.append(Section("Glue and finish used", [_used(held) for held in self.used] or ["None is told."]))
        if gone := self.gone():
            out.append(Section("No longer there", gone))
        text = (self.kept.layup or {}).get("text")
        if text:
            out.append(Section("The layup, word for word", text.splitlines(), True))
        return out

    def _made(self) -> list[str]:
        kept = self.kept
        wanting = [
            word
            for word, is_kept in (
                ("the layup", kept.layup), ("the mould", kept.mould), ("the glue lot", kept.glues),
                ("the finish", kept.finish), ("the moisture at set", kept.moisture_permille),
            )
            if not is_kept
        ]  # fmt: skip
        out = kept.making()
        if wanting:
            listed = " and ".join(filter(None, [", ".join(wanting[:-1]), wanting[-1]]))
            out.append(f"Not kept with the item: {listed}.")
        return out + kept.sentences(self.report)[len(kept.making()) :]

    def gone(self) -> list[str]:
        """What is used up, each lot once, with what would stand in."""
        out = {}
        for panel in self.panels:
            for ply in panel.plies:
                for source in ply.sources:
                    if source.stand_in:
                        lot = source.held.lot
                        out[lot.id] = f"{lot.id}, {lot.wood}. What would stand in: {source.stand_in}"
        for held in self.used:
            if held.qty == 0:
                ask = " Another of its class: woodref find --kind glue" if held.lot.form == "adhesive" else ""
                out[held.lot.id] = f"{held.lot.id}, {held.lot.form}.{ask}"
        return list(out.values())

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `item repair-kit`."""
        return {
            "query": {"item": self.item}, "item": self.item, "state": self.state, "made": self.made,
            "serial": self.serial, "kept": self.kept.as_dict(),
            "panels": [panel.as_dict() for panel in self.panels],
            "used": [
                {"lot": h.lot.id, "form": h.lot.form, "name": h.lot.told.get("trade"), "on_hand": h.qty,
                 "unit": h.lot.unit, "shelf": h.lot.told.get("shelf")}
                for h in self.used
            ],
            "gone": self.gone(),
            "sections": [
                {"heading": part.heading, "sentences": list(part.sentences)} for part in self.sections()
            ],
            "notices": [],
        }  # fmt: skip


def _used(held: Held) -> str:
    """'G-1, adhesive, "polyvinyl acetate": 9.08 kg on hand, shelf 4.'"""
    lot = held.lot
    name = next((str(lot.told[k]) for k in ("trade", "material") if lot.told.get(k)), None)
    called = f'"{name}"' if name else "its name is not told"
    left = f"{plainly(held.qty, lot.unit)} on hand" if held.qty else "none left"
    shelf = f", shelf {lot.told['shelf']}" if lot.told.get("shelf") else ""
    return f"{lot.id}, {lot.form}, {called}: {left}{shelf}."


def kit_of(store: Store, item: str) -> Kit:
    """UnknownLot when there is no item of that id; BadRequest when it is a lot."""
    book = store.book()
    held = book.lot(item, "item repair-kit")
    if held.lot.form != "item":
        raise BadRequest(f"{item} is a lot, no item", next=f"woodref stock show {item}")
    state = book.item(item, "item repair-kit")
    kept = Kept.of(last_closing(store, item))
    report = None if kept.report is None else book.paper(kept.report)
    gatherer = _Gatherer(store, book, item, kept)
    used = [root.held for root in whence(store, item) if root.used]
    named = [book.lot(lot, item) for lot in (*kept.glues, *kept.finish_lots)]
    used += [held for held in named if held.lot.id not in {h.lot.id for h in used}]
    return Kit(
        item, state.state, held.made, state.serial, kept, report, gatherer.panels(), used, life(store, item)
    )


class _Gatherer:
    """Walks down from an item to its pressings and their plies."""

    def __init__(self, store: Store, book: Book, item: str, kept: Kept) -> None:
        self.store, self.book, self.item = store, book, item
        self.edges = edges_back(store, item)
        self.roles = {
            lot: role for role, lots in roles_of(store, item, kept).items() for lot in lots
        }  # fmt: skip
        self.reserved: dict[str, int] = {}
        for reservation in kept_for(store, item):
            self.reserved[reservation.lot] = self.reserved.get(reservation.lot, 0) + reservation.qty
        self.found: list[Panel] = []
        self.seen: set[str] = set()

    def panels(self) -> list[Panel]:
        solid = [e.parent for e in self.edges.get(self.item, ()) if not self._walk(e.parent)]
        plies: list[Ply] = []
        for lot_id in dict.fromkeys(solid):
            lot = self.book.lot(lot_id, self.item).lot
            if lot.form not in USED:
                plies.append(self._ply(lot_id, None, len(plies) + 1))
        if plies:
            self.found.append(Panel(None, None, plies))
        return self.found

    def _walk(self, lot_id: str) -> bool:
        """Whether something was pressed on the way down from a lot; what was is found."""
        if lot_id in self.seen:
            return True
        made = self.edges.get(lot_id, ())
        if not made:
            return False
        held = self.book.lot(lot_id, self.item)
        event = self.book.event(held.by, self.item)
        if event.kind != "laminate":
            return any([self._walk(edge.parent) for edge in made])
        self.seen.add(lot_id)
        plies, number = [], 1
        for share in event.in_:
            if self.book.lot(share.lot, self.item).lot.form in USED:
                continue
            plies.append(self._ply(share.lot, share.plies, number))
            number += share.plies
        self.found.append(Panel(held.lot, event, plies))
        for share in event.in_:
            self._walk(share.lot)
        return True

    def _ply(self, lot_id: str, count: int | None, number: int) -> Ply:
        lot, role = self.book.lot(lot_id, self.item).lot, self.roles.get(lot_id)
        sources = [
            self._source(root, role)
            for root in contents(self.edges, lot_id)
            if self.book.lot(root, self.item).lot.form not in USED
        ]
        return Ply(lot, count, number, role, sources)

    def _source(self, root: str, role: str | None) -> Source:
        """A root with what is left of it: itself, and leaves cut or jointed from it alone."""
        held = self.book.lot(root, self.item)
        left = [Left(held, self.reserved.get(root, 0))]
        for child in went_into(self.store, root):
            if child.lot.wooden and child.qty:
                left.append(Left(child, self.reserved.get(child.lot.id, 0)))
        return Source(held, left, role)


def kit_page(kit: Kit) -> str:
    """One page to print, HTML without script or anything from outside."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    return environment.get_template("repair-kit.html").render(kit=kit, sections=kit.sections())
