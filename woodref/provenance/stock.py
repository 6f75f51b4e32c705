"""What is on hand: the lots of a book in the bench's words, and one lot with everything known of it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from typing import Any

from woodref.provenance.amounts import ended, plainly
from woodref.provenance.book import Held
from woodref.provenance.documents import Paper
from woodref.provenance.latest import NOTHING, Noted, Reading, last_reading, noted, reading_for, shelf_of
from woodref.provenance.lots import Lot
from woodref.provenance.rows import LOTS, held_from, paper_from
from woodref.provenance.shapes import KINDS
from woodref.provenance.store import Store

_HISTORY = """SELECT m.at, e.id, e.kind, m.qty FROM move m JOIN event e ON e.seq = m.seq
WHERE m.lot = :lot ORDER BY m.seq, m.n"""
_PAPERS = (
    "SELECT p.id, p.told FROM paper_lot l JOIN paper p ON p.id = l.paper WHERE l.lot = :lot ORDER BY p.id"
)
#: forms that `stock list` leaves to the items
ITEM = "item"
KNOWN_BY = {
    "nobody": "nobody has identified it", "eye": "identified by eye", "paper": "named on the paper",
    "other-test": "identified by a test", "microscopy": "identified under the microscope",
}  # fmt: skip
_GROWN = {"plantation": "in a plantation", "managed-natural": "in a managed natural forest",
          "primary": "in a primary forest"}  # fmt: skip


@dataclass(frozen=True)
class Stock:
    """Lots on hand. asked: the words looked for; empty: lots used up that were left out; noted: what was
    noted of lots later."""

    asked: str | None
    rows: Sequence[Held]
    empty: int
    noted: Mapping[str, Noted] = field(default_factory=dict)

    def table(self) -> tuple[list[str], list[list[str]]]:
        """One row a lot."""
        head = ["lot", "what", "wood", "from", "on hand", "free", "leaves", "moisture", "shelf"]
        return head, [_row(held, self.noted.get(held.lot.id, NOTHING)) for held in self.rows]

    def sentences(self) -> list[str]:
        out = []
        if not self.rows:
            among = f' with "{self.asked}" in it' if self.asked else ""
            out.append(f"Nothing is on hand{among}.")
        if any(leaves_of(h) is not None for h in self.rows):
            out.append(
                "leaves: how many whole leaves of the lot's size the area is; count them at the shelf."
            )
        if any(h.lot.wooden and not h.lot.countries and not taken_in(h) for h in self.rows):
            out.append(
                "from: told of what was taken in; `woodref whence LOT` tells it of what was made of it."
            )
        if self.empty:
            lots = (
                "1 lot that is used up is" if self.empty == 1 else f"{self.empty:,} lots that are used up are"
            )
            out.append(f"{lots} not shown (--all).")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `stock list`; amounts in whole units of the lot."""
        return {
            "query": {"words": self.asked},
            "count": len(self.rows),
            "used_up": self.empty,
            "rows": [_told(held, self.noted.get(held.lot.id, NOTHING)) for held in self.rows],
            "notices": [],
        }


def leaves_of(held: Held) -> int | None:
    """Whole leaves of the lot's size that its area is; None where no size is told."""
    size = held.lot.told.get("leaf_mm")
    if held.lot.unit != "mm2" or not size:
        return None
    return held.qty // (int(size[0]) * int(size[1]))


def taken_in(held: Held) -> bool:
    """Whether it was received or found, and not made of other lots: only then facts of its origin stand in
    it."""
    return any(key in held.lot.told for key in ("species", "one_of", "genus", "trade", "composition"))


def _what(lot: Lot) -> str:
    thick = "" if lot.thickness_um is None else f", {lot.thickness_um / 1000:g} mm"
    return f"{lot.form}{thick}"


def _row(held: Held, known: Noted) -> list[str]:
    lot, leaves, read = held.lot, leaves_of(held), last_reading(held, known)
    return [
        lot.id, _what(lot), lot.wood, ", ".join(lot.countries) or "-", plainly(held.qty, lot.unit),
        plainly(held.qty - held.reserved, lot.unit), "-" if leaves is None else str(leaves),
        "-" if read is None else read.said, shelf_of(held, known) or "-",
    ]  # fmt: skip


def _told(held: Held, known: Noted, behind: Reading | None = None) -> dict[str, Any]:
    lot, read = held.lot, last_reading(held, known) or behind
    return {
        "lot": lot.id, "form": lot.form, "unit": lot.unit, "on_hand": held.qty, "reserved": held.reserved,
        "free": held.qty - held.reserved, "leaves": leaves_of(held), "species": lot.species,
        "may_be": list(lot.may_be), "trade": lot.told.get("trade"), "countries": list(lot.countries),
        "thickness_um": lot.thickness_um, "shelf": shelf_of(held, known), "made": held.made,
        "moisture": None if read is None else read.as_dict(),
    }  # fmt: skip


def on_hand(
    store: Store, words: str | None = None, everything: bool = False, woods: Collection[str] = ()
) -> Stock:
    """Lots with something left, items apart. words: looked for in id, wood, trade name, form, flitch,
    bundle and shelf, whatever their case; woods: botanical names that the words mean besides; everything:
    used-up lots too."""
    known = noted(store)
    rows, empty = list[Held](), 0
    where, values = _may_speak(store, words, woods, [lot for lot, n in known.items() if n.shelf])
    if not words and not everything:  # then those used up are only counted
        where += " AND b.qty <> 0"
        counted = store.rows(
            "SELECT count(*) FROM balance b JOIN lot l ON l.id = b.lot WHERE b.qty = 0 AND l.form <> :item",
            item=ITEM,
        )
        empty = int(counted[0][0])
    with closing(store.stream(f"{LOTS} WHERE {where} ORDER BY l.made, l.id", **values)) as found:
        for held in map(held_from, found):
            shelf = shelf_of(held, known.get(held.lot.id, NOTHING))
            if words and not (_speaks_of(held.lot, words, shelf) or woods_in(held.lot, woods)):
                continue
            if held.qty == 0 and not everything:
                empty += 1
                continue
            rows.append(held)
    return Stock(words, rows, empty, known)


#: as many woods, and lots with a shelf noted later, are looked for by the database; of more, each lot is read
_MOST_SOUGHT = 30


def _may_speak(
    store: Store, words: str | None, woods: Collection[str], moved: Sequence[str]
) -> tuple[str, dict[str, Any]]:  # fmt: skip
    """Where lots are that the words may mean, for the database, which is quick at it: what it finds is read
    and asked once more. moved: lots whose shelf was noted later."""
    where, values = "l.form <> :item", {"item": ITEM}
    # a word within one fact; other letters than these may be written in more than one way
    if not words or not _PLAIN.fullmatch(words) or len(woods) > _MOST_SOUGHT or len(moved) > _MOST_SOUGHT:
        return where, values
    sqlite = store.engine.dialect.name == "sqlite"
    like, strange = ("LIKE", "GLOB '*[^ -~]*'") if sqlite else ("ILIKE", "~ '[^ -~]'")
    sought = {"w": words} | {f"w{n}": wood for n, wood in enumerate(woods)}
    values |= {key: f"%{text}%" for key, text in sought.items()} | {
        f"m{n}": lot for n, lot in enumerate(moved)
    }
    text = "(l.id || ' ' || l.form || ' ' || l.facts)"
    ways = [f"{text} {strange}", *(f"{text} {like} :{key}" for key in sought)]
    ways += [f"l.id = :m{n}" for n in range(len(moved))]
    return f"{where} AND ({' OR '.join(ways)})", values


_PLAIN = re.compile("[A-Za-z0-9.,-]+")


def woods_in(lot: Lot, woods: Collection[str]) -> bool:
    """Whether a lot is or may be one of the woods."""
    return any(name in woods for name in lot.may_be)


def _speaks_of(lot: Lot, words: str, shelf: str | None) -> bool:
    keys = ("trade", "flitch", "bundle", "grade")
    said = [lot.id, lot.form, *lot.may_be, *(str(lot.told[k]) for k in keys if lot.told.get(k)), shelf or ""]
    return words.casefold() in " ".join(said).casefold()


@dataclass(frozen=True)
class OneLot:
    """A lot whole: how it stands, its papers, every move (UTC, event, kind, change), what was noted of it."""

    held: Held
    papers: Sequence[Paper]
    moves: Sequence[tuple[str, str, str, int]]
    noted: Noted = NOTHING
    #: the reading of what it was cut, jointed or sanded from, where it has none of its own
    behind: Reading | None = None

    def sentences(self) -> list[str]:
        """What is known of it and what is not; prices are for the shop alone and not among it."""
        held, lot, told = self.held, self.held.lot, self.held.lot.told
        free = held.qty - held.reserved
        out = [ended("; ".join(filter(None, (f"{lot.id}: {_what(lot)}", self._name()))))]
        kept = f", {_both(held.reserved, lot.unit)} of it reserved, {_both(free, lot.unit)} free"
        left = _both(held.qty, lot.unit) if held.qty else "none left"
        out.append(f"On hand: {left}{kept if held.reserved else ''}.")
        leaves = leaves_of(held) if held.qty else None
        if leaves is not None:
            size = told["leaf_mm"]
            out.append(
                f"That is the area of {leaves} whole {'leaf' if leaves == 1 else 'leaves'} of {size[0]:g} x "
                f"{size[1]:g} mm."
            )
        if lot.wooden and self._received():
            out.append(self._origin())
        elif lot.may_be and not self._received():
            out.append(f"Made of other lots: `woodref whence {lot.id}` tells which, and where they grew.")
        shelf, read = shelf_of(held, self.noted), last_reading(held, self.noted)
        if shelf:
            out.append(ended(f"Shelf: {shelf}"))
        if read:
            out.append(f"Moisture: {read.sentence}.")
        elif self.behind:
            out.append(f"Moisture: {self.behind.sentence}, read on {self.behind.lot}, of which it was made.")
        out += kept_facts(lot)
        out += [ended(f"Noted on {at[:10]}: {words}") for at, words in self.noted.words]
        if self.papers:
            out.append("Papers: " + "; ".join(_paper(p) for p in self.papers) + ".")
        elif self._received():
            out.append("No paper is on record for it.")
        return out

    def _received(self) -> bool:
        return bool(self.moves) and self.moves[0][2] in ("receive", "open-stock")

    def _name(self) -> str:
        lot, wood = self.held.lot, self.held.lot.wood
        words = lot.told.get("trade")
        said = f'"{words}"' if words and words != wood else ""
        if wood == "-":
            return said
        if not lot.may_be:
            wood = "not identified: judged as the strictest it may be"
        return f"{said}, {wood}" if said else wood

    def _origin(self) -> str:
        lot, told = self.held.lot, self.held.lot.told
        known = KNOWN_BY.get(str(told.get("identified_by")), "how the wood is known nobody has said")
        grown = _GROWN.get(str(told.get("forest")), "in what kind of forest is not known")
        where = f"Grown in {', '.join(lot.countries)}" if lot.countries else "Country of harvest not known"
        return f"{where}, {grown}; harvest {told.get('harvest') or 'not known'}; {known}."

    def price(self) -> str:
        """What was paid for it: for the shop alone, so neither in `sentences` nor in the JSON."""
        told = self.held.lot.told
        if not told.get("price"):
            return "No price is on record for it."
        return f"Price: {told['price']} {told.get('currency') or '(no currency told)'}, for the shop alone."

    def table(self) -> tuple[list[str], list[list[str]]]:
        """Every move, oldest first, with what was left after it."""
        rows, left = [], 0
        for at, event, kind, qty in self.moves:
            left += qty
            unit = self.held.lot.unit
            rows.append(
                [at[:16].replace("T", " "), event, KINDS[kind], f"{qty:+,} {unit}", f"{left:,} {unit}"]
            )
        return ["when (UTC)", "event", "what", "change", "left"], rows

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `stock show`."""
        return {
            "query": {"lot": self.held.lot.id},
            "lot": _told(self.held, self.noted, self.behind),
            "notes": [{"at": at, "note": words} for at, words in self.noted.words],
            "papers": [{"id": p.id, "kind": p.kind, "issued_on": p.issued_on} for p in self.papers],
            "moves": [
                {"at": at, "event": event, "kind": kind, "change": qty} for at, event, kind, qty in self.moves
            ],
            "sentences": self.sentences(),
            "notices": [],
        }


#: facts that are told as they were said; prices are for the shop alone and not among them
_KEPT = (
    ("cut", "Cut"), ("flitch", "Flitch"), ("bundle", "Bundle"), ("grade", "Grade"), ("region", "Region"),
    ("stand", "Stand"), ("supplier", "Supplier"), ("acquired", "Acquired"), ("source_code", "Source code"),
    ("claim_words", "Claim on its paper, in its words"), ("material", "In the catalogue"),
)  # fmt: skip


def kept_facts(lot: Lot) -> list[str]:
    """Facts of a lot as it was said to be, one sentence each."""
    told = lot.told
    out = [ended(f"{words}: {told[key]}") for key, words in _KEPT if told.get(key)]
    if told.get("composition"):
        shares = "; ".join(f"{name}, {part} per mille" for name, part, _ in lot.composition)
        out.append(f"Made of: {shares}; the rest is glue and dye.")
    if told.get("first_leaf"):
        out.append(f"Its first leaf is number {told['first_leaf']} of the bundle.")
    notes = told.get("leaf_notes")
    if isinstance(notes, Mapping):
        out.append("Leaves: " + "; ".join(f"{leaf} {note}" for leaf, note in notes.items()) + ".")
    elif notes:
        out.append(f"Leaves: {notes}.")
    return out


def _both(qty: int, unit: str) -> str:
    short, exact = plainly(qty, unit), f"{qty:,} {unit}"
    return short if unit == "pcs" else f"{short} ({exact})"


def _paper(paper: Paper) -> str:
    day = f" of {paper.issued_on}" if paper.issued_on else ""
    return f"{paper.id}, {paper.kind.replace('-', ' ')}{day}"


def one_lot(store: Store, lot_id: str) -> OneLot:
    """UnknownLot, with near ids, when there is none of that id."""
    held = store.book().lot(lot_id, "stock show")
    papers = [paper_from(told, name) for name, told in store.rows(_PAPERS, lot=lot_id)]
    moves = [(at, event, kind, int(qty)) for at, event, kind, qty in store.rows(_HISTORY, lot=lot_id)]
    return OneLot(held, papers, moves, noted(store, lot_id).get(lot_id, NOTHING), reading_for(store, held))
