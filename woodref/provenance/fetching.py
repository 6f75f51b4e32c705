"""What a layup wants from the shelf, and which lots on hand give it: by accepted name, thickness and cut,
long enough, and free. Leaves are counted as the layup's own cutting counts them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Material
from woodref.layup import leafcount
from woodref.layup.asked import Face, LeafStock, PlyAsk
from woodref.layup.cutting import cutting, is_ring
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.latest import NOTHING, shelf_of
from woodref.provenance.lots import Lot
from woodref.provenance.serving import as_thick, is_of
from woodref.provenance.stock import leaves_of, on_hand
from woodref.provenance.store import Store
from woodref.provenance.trace import whence

#: forms of lots that a ply is cut from
SHEETS = ("veneer", "engineered-veneer", "board")


@dataclass(frozen=True)
class Want:
    """Plies that are cut alike. wood: accepted name, or what the sheet is called; material None: the file
    says that it is not identified, and `wood` is its words; cut None: any; along, across: of the sheet a
    blank is cut from, to the grain [mm]; sheets: how many; those three None where the file gives no size;
    face: how a matched face lies, None for a ply where any leaf may lie beside any other; even: as
    `leafcount.count` takes it."""

    plies: tuple[int, ...]
    wood: str
    material: Material | None
    ask: PlyAsk
    cut: str | None
    along: float | None = None
    across: float | None = None
    sheets: int | None = None
    face: Face | None = None
    even: bool = False

    @property
    def thickness_um(self) -> int:
        return round(self.ask.thickness * 1000)

    @property
    def matched(self) -> bool:
        return self.face is not None and self.face.match != "random"


@dataclass(frozen=True)
class Taken:
    """What of a lot goes to a want: whole leaves, or mm2 where the size of its leaves is not told."""

    want: int
    sheets: int
    leaves: int | None
    area: int


@dataclass
class Fetch:
    """A lot that serves. shelf: where it lies now; cut: as told of it or of what it is made of; wants: which;
    free: what is left of it while the wants take theirs [leaves, or mm2]; taken: by which want."""

    held: Held
    shelf: str | None
    cut: str | None
    wants: list[int] = field(default_factory=list)
    free: int = 0
    taken: list[Taken] = field(default_factory=list)

    @property
    def by_area(self) -> bool:
        return leaves_of(self.held) is None


@dataclass(frozen=True)
class Unfit:
    """A lot of the wanted wood that does not serve, and why."""

    want: int
    lot: str
    why: str


def wants_of(pack: Pack) -> tuple[list[Want], str | None]:
    """What the plies of a pack want, those that are cut alike together; and why their sizes are not known."""
    layup = pack.layup
    cut = cutting(layup, [sheet.name for sheet in pack.sheets], Say())
    rows = {row.number: row for row in cut.rows}
    found: dict[tuple[object, ...], Want] = {}
    for sheet in pack.sheets:
        want, row = _want(sheet), rows.get(sheet.number)
        if row is not None:
            face = layup.face if sheet.number == 1 else None
            even = is_ring(layup) and not sheet.ask.long
            want = replace(want, along=row.along, across=row.across, sheets=row.parts, face=face, even=even)
        size = (
            want.along and round(want.along, 1),
            want.across and round(want.across, 1),
            want.face,
            want.even,
        )
        name = want.material.id if want.material else fold(want.wood)
        key = (want.material is None, name, want.thickness_um, want.cut, *size)
        had = found.get(key)
        if had is not None:
            sheets = None if had.sheets is None or want.sheets is None else had.sheets + want.sheets
            want = replace(had, plies=(*had.plies, *want.plies), sheets=sheets)
        found[key] = want
    return list(found.values()), cut.left_out


def _want(sheet: Sheet) -> Want:
    m = sheet.material
    wood = (
        (m.botanical_name if m.kind == "species" else None) or m.name if m else sheet.ask.unidentified or ""
    )
    cut = None if sheet.is_board else sheet.ask.cut
    return Want((sheet.number,), wood, m, sheet.ask, cut)


def serving(wants: Sequence[Want], store: Store) -> tuple[list[Fetch], list[Unfit]]:
    """Lots on hand that serve, in the order of their shelves, with what each want takes of them; and those of
    the same wood that do not."""
    fetched: list[Fetch] = []
    unfit: list[Unfit] = []
    stock = on_hand(store)
    lots = [(held, shelf_of(held, stock.noted.get(held.lot.id, NOTHING))) for held in stock.rows]
    for held, shelf in sorted(lots, key=lambda lot: shelf_order(*lot)):
        if held.qty <= 0 or held.lot.unit != "mm2" or held.lot.form not in SHEETS:
            continue
        ours = [i for i, want in enumerate(wants) if is_wood(store, held, want)]
        if not ours:
            continue
        row = Fetch(held, shelf, cut_of(store, held.lot), free=held.qty - held.reserved)
        for index in ours:
            why = _unfit(row, wants[index])
            if why:
                unfit.append(Unfit(index, held.lot.id, why))
            else:
                row.wants.append(index)
        if not row.by_area:
            row.free //= _leaf(held.lot)[0] * _leaf(held.lot)[1]
        if row.wants:
            fetched.append(row)
    for index, want in enumerate(wants):
        _give_out(index, want, [row for row in fetched if index in row.wants])
    return fetched, unfit


def cut_of(store: Store, lot: Lot) -> str | None:
    """The cut of a lot: as told of it, else that of every lot it is made of; None where nobody told it."""
    if lot.told.get("cut"):
        return str(lot.told["cut"])
    cuts = {root.held.lot.told.get("cut") for root in whence(store, lot.id) if root.held.lot.wooden}
    found = cuts.pop() if len(cuts) == 1 else None
    return None if found is None else str(found)


def shelf_order(held: Held, shelf: str | None) -> tuple[object, ...]:
    """A2 before A10; lots without a shelf last."""
    return not shelf, _natural(shelf or ""), _natural(held.lot.id)


def _natural(text: str) -> tuple[tuple[bool, int, str], ...]:
    parts = re.split(r"([0-9]+)", fold(text))
    return tuple((not part.isdigit(), int(part) if part.isdigit() else 0, part) for part in parts if part)


def is_wood(store: Store, held: Held, want: Want) -> bool:
    """Whether a lot is, or may be, the wood of a want, as `serving.is_of` takes it; one that nobody has
    identified goes by the words on its paper."""
    lot, m = held.lot, want.material
    if m is None:
        return not lot.may_be and fold(want.wood) == fold(str(lot.told.get("trade") or ""))
    maybe = m.kind == "species" and lot.species is None and m.botanical_name in lot.may_be
    return (maybe and lot.form != "engineered-veneer") or is_of(store, held, m)


def _leaf(lot: Lot) -> tuple[int, int]:
    length, width = lot.told["leaf_mm"]
    return int(length), int(width)


def _unfit(row: Fetch, want: Want) -> str | None:
    """Why a lot of the wood does not serve a want; None when it does."""
    held, lot = row.held, row.held.lot
    if want.material is not None and want.material.kind == "species" and lot.species is None:
        return f"it is {lot.wood}, and nobody has settled which"
    if not as_thick(held, want.ask):
        thick = (
            "its thickness is not told"
            if lot.thickness_um is None
            else f"it is {lot.thickness_um / 1000:g} mm"
        )
        return f"{thick}, not {want.thickness_um / 1000:g} mm"
    if want.cut and row.cut and fold(row.cut) not in (fold(want.cut), f"{fold(want.cut)} cut"):
        return f"it is cut {row.cut}, not {want.cut}"
    if held.qty - held.reserved <= 0:
        return "all of it is reserved"
    if want.along is None or row.by_area:
        return None
    if _count(row, want, 1).needed is None:
        halves = 2 if want.face and want.face.match in ("end", "four-way") else 1
        long = math.ceil(want.along / halves - leafcount.FUZZ)
        return f"its leaves are {_leaf(lot)[0]:,} mm long, and {long:,} mm are wanted"
    return None


def _count(row: Fetch, want: Want, sheets: int) -> leafcount.LeafCount:
    length, width = _leaf(row.held.lot)
    stock = LeafStock(want.plies[0], width, length, row.free)
    return leafcount.count(stock, want.along or 0.0, want.across or 0.0, sheets, want.face, want.even)


def _give_out(index: int, want: Want, rows: Sequence[Fetch]) -> None:
    """Let a want take its sheets: all of one lot where one holds them, else of one after the other."""
    if want.sheets is None or want.along is None:
        return
    whole = next((row for row in rows if _gives(row, want, want.sheets).sheets == want.sheets), None)
    left = want.sheets
    for row in [whole] if whole else rows:
        taken = replace(_gives(row, want, left), want=index)
        if taken.sheets:
            row.taken.append(taken)
            row.free -= taken.area if taken.leaves is None else taken.leaves
            left -= taken.sheets


def _gives(row: Fetch, want: Want, sheets: int) -> Taken:
    """How many of so many sheets a lot gives, with what is left of it."""
    if not sheets or want.along is None or want.across is None:
        return Taken(0, 0, 0, 0)
    if row.by_area:
        each = math.ceil(want.along * want.across - leafcount.FUZZ)
        number = min(sheets, row.free // each)
        return Taken(0, number, None, number * each)
    number = min(sheets, _count(row, want, sheets).parts_from_stock or 0)
    needed = _count(row, want, number).needed if number else 0
    length, width = _leaf(row.held.lot)
    return Taken(0, number, needed or 0, (needed or 0) * length * width)


def taken_words(taken: Sequence[Taken]) -> str:
    """'4 leaves', '0.5 m2', '-' for a lot that can stay where it is."""
    leaves = sum(t.leaves or 0 for t in taken)
    area = sum(t.area for t in taken if t.leaves is None)
    said = [*([f"{leaves} {'leaf' if leaves == 1 else 'leaves'}"] if leaves else []),
            *([plainly(area, "mm2")] if area else [])]  # fmt: skip
    return " and ".join(said) or "-"
