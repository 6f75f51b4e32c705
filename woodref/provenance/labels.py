"""Labels for lots: what the bench has to know of a bundle before it is opened, with a box for each leaf.

The code on a label holds the lot's id and nothing else, so that what a scanner types is what every command
takes for LOT. Price and supplier are for the shop's office: no label reads them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.errors import BadRequest
from woodref.layup.drawtext import wide, wrapped
from woodref.provenance.book import Held
from woodref.provenance.latest import NOTHING, noted, shelf_of
from woodref.provenance.lots import Lot
from woodref.provenance.pages import code, cut_to, largest, page
from woodref.provenance.stock import ITEM, leaves_of
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.trade import Law, is_listed

LISTED = "Listed wood: keep its papers with it."
NOT_KNOWN = "Not identified: judged as the strictest it may be."


@dataclass(frozen=True)
class Paper:
    """A size of label [mm]: room across it and down it, facts beside one another and lines of each, least
    lines of the words on the paper, boxes in a row, labels on a page."""

    name: str
    across: float
    down: float
    columns: int
    lines: int
    words: int
    boxes: int
    on_page: int

    @property
    def fact(self) -> float:
        """Room for one fact."""
        return (self.across - GAP * (self.columns - 1)) / self.columns


#: six on an A4 page, 95 x 93 mm each, to cut apart; or one after the other on a roll of 62 mm
A4 = Paper("a4", 87, 85, 3, 1, 2, 12, 6)
STRIP = Paper("strip", 56, 112.4, 2, 2, 1, 8, 1)
PAPERS = {paper.name: paper for paper in (A4, STRIP)}
#: letters [mm]: of the id, the first that fits; of the wood, of words, of facts, of notes; space beside the
#: code
ID_SIZES, HEAD, TEXT, FACT, NOTE, GAP = (12.0, 10.0, 8.0, 6.5, 5.0, 3.6), 4.4, 3.6, 3.3, 2.9, 2.0
#: lines of wood, words and a fact at most, and of notes: the first that leaves the label its room is taken
TIGHTER = ((9, 2), (9, 1), (2, 1), (1, 1), (1, 0))
MORE = "Notes on its leaves stand in the book."
#: side of a box, space between boxes, letters in one, large and small [mm]
BOX, BETWEEN, NUMBER, SMALL_NUMBER = 6.6, 0.45, 3.2, 2.1
#: space between the parts of a label, height of a line over its letters, frame of a mark, what stands over a
#: fact, the line at the foot [mm]; they are those of the template
PART, LINE, FRAME, OVER, FOOT = 1.4, 1.18, 2.6, 3.75, 2.4


@dataclass(frozen=True)
class Label:
    """One label. wood: accepted name, empty where none is known; words: those on the paper; facts: (what,
    value) in the order of the label; marks: what to mind; leaves: numbers of the leaves as it came in;
    numbered: the paper gives them, else they count from the top; left: how many there are still, in words,
    where some are gone; notes: (leaf, what is noted of it), or ('', what is noted of all)."""

    lot: str
    wood: str
    words: str
    facts: tuple[tuple[str, str], ...]
    marks: tuple[str, ...]
    leaves: range
    numbered: bool
    left: str
    notes: tuple[tuple[str, str], ...]


def label_of(held: Held, roots: Sequence[Lot], law: Law, on: dt.date, shelf: str | None = None) -> Label:
    """What a lot's label says. roots: the received lots it is made of, itself when it was received; on: the
    day of printing, whose law counts; shelf: where it lies now."""
    lot, told = held.lot, held.lot.told
    wood = lot.wood if lot.may_be else ""
    words = str(told.get("trade") or "")
    made_of = [root.id for root in roots if root.wooden and root.id != lot.id]
    size = told.get("leaf_mm")
    thick = "" if lot.thickness_um is None else f"{lot.thickness_um / 1000:g} mm"
    facts = (
        ("Form", lot.form.replace("-", " ") if lot.form != "veneer" else ""), ("Cut", told.get("cut")),
        ("Thickness", thick), ("Leaf", f"{size[0]:g} x {size[1]:g} mm" if size else ""),
        ("Flitch", told.get("flitch")), ("Bundle", told.get("bundle")), ("Made of", ", ".join(made_of)),
        ("Shelf", shelf),
    )  # fmt: skip
    count, first = int(told.get("leaves") or 0), int(told.get("first_leaf") or 1)
    there = leaves_of(held)
    left = f"{there} of {count} left on {on.isoformat()}" if there is not None and there < count else ""
    notes = told.get("leaf_notes") or {}
    noted = {"": notes} if isinstance(notes, str) else notes
    return Label(
        lot.id, wood, words, tuple((what, str(value)) for what, value in facts if value),
        tuple(marks_of(roots, law, on)), range(first, first + count),
        told.get("first_leaf") is not None, left,
        tuple((str(leaf), str(note)) for leaf, note in sorted(noted.items(), key=_leaf_order)),
    )  # fmt: skip


def _leaf_order(noted: tuple[object, object]) -> tuple[int, str]:
    name = str(noted[0])
    return (int(name) if name.isascii() and name.isdigit() else 0), name


def marks_of(roots: Iterable[Lot], law: Law, on: dt.date) -> list[str]:
    """What to mind of the woods in a lot: not identified, not settled, listed."""
    woods = [root for root in roots if root.wooden]
    out = []
    if any(not root.may_be for root in woods):
        out.append(NOT_KNOWN if len(woods) == 1 else f"Part of it n{NOT_KNOWN[1:]}")
    open_ = [root for root in woods if root.may_be and not root.species and not root.composition]
    if open_:
        genus = all(len(root.may_be) == 1 for root in open_)
        out.append("Only the genus is known." if genus else "Which of these it is nobody has settled.")
    if any(listed(root, law, on) for root in woods):
        out.append(LISTED)
    return out


def listed(lot: Lot, law: Law, on: dt.date) -> bool:
    """Whether the law of a day lists any wood that a received lot is or may be, from where it was harvested;
    of an unknown country the strictest is taken."""
    woods = [(name, from_) for name, _, from_ in lot.composition] or [(w, lot.countries) for w in lot.may_be]
    return any(is_listed([wood], country, on, law) for wood, from_ in woods for country in from_ or (None,))


def labels_of(store: Store, lots: Sequence[str], law: Law, on: dt.date) -> list[Label]:
    """The labels of lots, in the order they are named. UnknownLot, with near ids, for one that is not there;
    BadRequest for an item, which is no lot on a shelf."""
    book, out = store.book(), []
    for lot_id in lots:
        held = book.lot(lot_id, "stock label")
        if held.lot.form == ITEM:
            raise BadRequest(f"{lot_id} is an item, no lot on a shelf", next=f"woodref item show {lot_id}")
        roots = [root.held.lot for root in whence(store, lot_id)]
        shelf = shelf_of(held, noted(store, lot_id).get(lot_id, NOTHING))
        out.append(label_of(held, roots, law, on, shelf))
    return out


def sentences(labels: Sequence[Label], paper: Paper) -> list[str]:
    """What to know of the page when it is printed."""
    pages = -(-len(labels) // paper.on_page)
    out = [
        f"{len(labels)} {'label' if len(labels) == 1 else 'labels'} on {pages} "
        f"{'page' if pages == 1 else 'pages'}: print at full size, without margins or headers of the browser."
    ]
    marked = [label.lot for label in labels if LISTED in label.marks]
    if marked:
        out.append(f"Marked as listed wood: {', '.join(dict.fromkeys(marked))}.")
    return out


def sheet_of(labels: Sequence[Label], paper: Paper, on: dt.date, stamp: Mapping[str, str]) -> str:
    """The page of labels as HTML. stamp: version and digest of the catalogue that the marks follow."""
    drawn = [placed(label, paper) for label in labels]
    pages = [drawn[i : i + paper.on_page] for i in range(0, len(drawn), paper.on_page)]
    title = f"Label of {labels[0].lot}" if len(labels) == 1 else f"Labels of {len(labels)} lots"
    return page(
        "labels.html", title=title, paper=paper, pages=pages, box=BOX,
        made=f"{on.isoformat()}, woodref {stamp['version']}, catalogue {stamp['digest']}",
    )  # fmt: skip


def placed(label: Label, paper: Paper) -> dict[str, Any]:
    """A label with every text cut to its room, and as many boxes as then have room; the id is never cut, it
    is set smaller."""
    said = PART + NOTE * LINE * paper.lines if label.leaves else 0.0
    for most in TIGHTER:
        out = _set(label, paper, *most)
        if height(out, paper) + said <= paper.down:
            break
    drawn = label.leaves
    if label.leaves:
        free = paper.down - height(out, paper) - PART
        if len(drawn) > _boxes(free, paper):
            drawn = drawn[: _boxes(free - said, paper)]
        if wide(f"{label.leaves[-1]}*", SMALL_NUMBER) > BOX - 0.6:
            drawn = drawn[:0]
        if not drawn:
            out["head"] = ""
    noted = {leaf for leaf, _ in label.notes}
    digits = max((len(str(n)) for n in drawn), default=0)
    return out | {
        "leaves": [(n, str(n) in noted) for n in drawn],
        "number": NUMBER if digits <= 2 else SMALL_NUMBER,
        "rest": _without_box(label.leaves[len(drawn) :], bool(drawn)),
    }


def _set(label: Label, paper: Paper, most: int, notes: int) -> dict[str, Any]:
    """The texts of a label, in at most so many lines for wood, words and a fact, and for the notes."""
    svg, side = code(label.lot)
    across, beside = paper.across, paper.across - side - GAP
    over = beside if paper is A4 else across
    size = largest(label.lot, over, ID_SIZES)
    wood = cut_to(label.wood, beside, HEAD, min(3, most))
    free = side - _text(wood, beside, HEAD) - (_text(label.lot, over, size) + 1 if paper is A4 else 0) - 1
    lines = min(max(int(free / (TEXT * LINE)), paper.words), most)
    told = "; ".join(f"{leaf}*: {note}" if leaf else note for leaf, note in label.notes)
    counted = "" if label.numbered else ", from the top"
    return {
        "lot": label.lot, "id_size": size, "code": svg, "side": side, "wood": wood,
        "words": cut_to(f"“{label.words}”", beside, TEXT, lines) if label.words else "",
        "facts": [(what, cut_to(value, paper.fact, FACT, min(paper.lines, most)))
                  for what, value in label.facts],
        "marks": label.marks,
        "notes": cut_to(told, across, NOTE, notes) if notes else MORE if told else "",
        "head": f"Leaves{counted}{f' ({label.left})' if label.left else ''}: cross out what is taken"
        if label.leaves else "",
    }  # fmt: skip


def _boxes(free: float, paper: Paper) -> int:
    """Boxes that have room in so many mm."""
    return max(int((free + BETWEEN) / (BOX + BETWEEN)), 0) * paper.boxes


def _without_box(leaves: range, more: bool) -> str:
    """What is said of the leaves that have no box."""
    if not leaves:
        return ""
    if len(leaves) == 1:
        return f"No room for leaf {leaves[0]}: tell it on the back."
    told = f"{leaves[0]} to {leaves[-1]}"
    if more:
        return f"No room for leaves {told}: tell those on the back."
    return f"Leaves {told}: tell on the back what is taken."


def _text(words: str, room: float, size: float) -> float:
    """Height of a text [mm]."""
    return len(wrapped(words, room, size)) * size * LINE


def height(placed: Mapping[str, Any], paper: Paper) -> float:
    """Room that a label takes down [mm] but for its boxes and what is said of leaves that have none."""
    side: float = placed["side"]
    across, columns = paper.across, paper.columns
    beside = across - side - GAP
    names = _text(placed["wood"], beside, HEAD) + 1 + _text(placed["words"], beside, TEXT)
    if paper is A4:
        taken = max(side, _text(placed["lot"], beside, placed["id_size"]) + 1 + names)
    else:
        taken = _text(placed["lot"], across, placed["id_size"]) + PART + max(side, names)
    if placed["marks"]:
        taken += PART + FRAME + sum(_text(mark, across - 4, TEXT) for mark in placed["marks"])
    facts = [_text(value, paper.fact, FACT) for _, value in placed["facts"]]
    taken += PART + sum(OVER + max(facts[i : i + columns]) for i in range(0, len(facts), columns))
    taken += sum(PART + _text(placed[part], across, NOTE) for part in ("head", "notes") if placed[part])
    return taken + PART + FOOT
