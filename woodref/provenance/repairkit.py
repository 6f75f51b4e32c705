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
from woodref.provenance.closing import last_closing
from woodref.provenance.documents import Paper
from woodref.provenance.kept import Kept
from woodref.provenance.kitparts import Left, Panel, Ply, Source
from woodref.provenance.partroles import Laid, role_of, roles_of, stacked
from woodref.provenance.repairs import Step, kept_for, life
from woodref.provenance.store import Store
from woodref.provenance.trace import contents, edges_back, went_into, whence

_TEMPLATES = Path(__file__).resolve().parent / "templates"


@dataclass(frozen=True)
class Section:
    """A heading with its sentences. verbatim: lines of a file, to be set as they are."""

    heading: str
    sentences: Sequence[str]
    verbatim: bool = False


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
        pressed = {
            key: any(p.event is not None and p.event.more.get(key) for p in self.panels)
            for key in ("layup", "mould", "set_moisture_permille")
        }
        wanting = [
            word
            for word, is_kept in (
                ("the layup", kept.layup or pressed["layup"]),
                ("the mould", kept.mould or pressed["mould"]),
                ("the glue lot", kept.glues or any(h.lot.form == "adhesive" for h in self.used)),
                ("the finish", kept.finish or any(h.lot.form == "finish" for h in self.used)),
                ("the moisture at set", kept.moisture_permille or pressed["set_moisture_permille"]),
            )
            if not is_kept
        ]  # fmt: skip
        out = kept.making()
        if wanting:
            listed = " and ".join(filter(None, [", ".join(wanting[:-1]), wanting[-1]]))
            out.append(f"Not written down with the item: {listed}.")
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
        self.roles = role_of(roles_of(store, item, kept))
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
            laid = [ply for ply in stacked(event) if ply.lot == share.lot]
            plies.append(self._ply(share.lot, share.plies, number, laid))
            number += share.plies
        self.found.append(Panel(held.lot, event, plies))
        for share in event.in_:
            self._walk(share.lot)
        return True

    def _ply(self, lot_id: str, count: int | None, number: int, laid: Sequence[Laid] = ()) -> Ply:
        lot, role = self.book.lot(lot_id, self.item).lot, self.roles.get(lot_id)
        sources = [
            self._source(root, role)
            for root in contents(self.edges, lot_id)
            if self.book.lot(root, self.item).lot.form not in USED
        ]
        return Ply(lot, count, number, role, sources, laid)

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
