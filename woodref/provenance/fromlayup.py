"""The plies of a layup file taken to lots of the book, and the pack of them pressed."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, echo
from woodref.layup.asked import Layup, PlyAsk
from woodref.layup.pack import material_of
from woodref.layup.saying import plies_called, plural
from woodref.provenance import joining, moistures
from woodref.provenance.amounts import Amount
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.book import Held
from woodref.provenance.canonical import digest
from woodref.provenance.faults import NotWhole, NoUnit
from woodref.provenance.latest import NOTHING, Reading, noted, reading_for, shelf_of
from woodref.provenance.serving import as_thick, is_of, lots_for
from woodref.provenance.store import Store
from woodref.provenance.working import Done, fits_in

#: name of a mould that the file gives a radius of and nobody a name
NOT_NAMED = "not named"
_NUMBERS = re.compile(r"(?P<one>[0-9]{1,2})(?:-(?P<last>[0-9]{1,2}))?")


@dataclass(frozen=True)
class Laid:
    """A ply of the file and the lot it is taken from. reading: the moisture that speaks of the lot."""

    number: int
    ask: PlyAsk
    material: Material | None
    held: Held
    shelf: str | None
    reading: Reading | None

    @property
    def name(self) -> str:
        return self.material.name if self.material else self.ask.said

    def stacked(self) -> dict[str, Any]:
        """As the panel's event keeps it; degrees in words, for they may be no whole number."""
        return {"ply": self.number, "material": self.material.id if self.material else self.ask.said,
                "lot": self.held.lot.id, "grain_deg": f"{self.ask.grain:g}"}  # fmt: skip


@dataclass(frozen=True)
class Pressing:
    """What would be pressed. done: its event, to be recorded when the maker agrees."""

    layup: Layup
    panel: str
    made: Amount
    laid: Sequence[Laid]
    done: Done

    def table(self) -> tuple[list[str], list[list[str]]]:
        """One row a ply, face to back."""
        head = ["ply", "asked", "mm", "grain", "lot", "wood of the lot", "moisture", "shelf"]
        rows = [
            [
                str(p.number), p.name, f"{p.ask.thickness:g}", f"{p.ask.grain:g}", p.held.lot.id,
                p.held.lot.wood, p.reading.said if p.reading else "-", p.shelf or "-",
            ]
            for p in self.laid
        ]  # fmt: skip
        return head, rows

    def plan(self) -> list[str]:
        """What it takes and leaves, before it is recorded."""
        title = (
            f"{plural(len(self.laid), 'ply', 'plies')} of the layup {echo(self.layup.title)}, face to back"
        )
        return [f"To press as {self.panel}: {self.made.echo()}, {title}.", *self.done.sentences[1:]]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `stock press --layup`, but for whether it was recorded."""
        return {
            "panel": self.panel, "qty": self.made.qty, "layup": dict(self.done.event.more["layup"]),
            "plies": [
                p.stacked() | {"thickness_mm": p.ask.thickness, "shelf": p.shelf,
                               "moisture": p.reading.as_dict() if p.reading else None}
                for p in self.laid
            ],
            "sentences": self.plan(),
        }  # fmt: skip


def pressing(
    store: Store, catalogue: Catalogue, layup: Layup, body: bytes, panel: str, size: str, on: dt.date,
    plies: Sequence[str] = (), glue: Sequence[str] = (), taken: Sequence[str] = (),
    more: Mapping[str, Any] | None = None, region: str | None = None, time: str | None = None,
    note: str | None = None,
) -> Pressing:  # fmt: skip
    """body: the bytes of the file, whose hash is kept; plies: N=LOT, N-M=LOT where lots are named; more: what
    is kept beside what the file says (mould, set_moisture_permille); the rest as `joining.press` takes it.

    LotUnclear tells every ply that no lot serves, or several; else the fault of the name, the amount, or what
    the book refuses.
    """
    made = read_amount(size)
    if made.unit != "mm2":
        raise NoUnit(f"{echo(size)} is no area", where=panel, expected="such as 1 sheet of 490 x 460 mm")
    book, known = store.book(), noted(store)
    chosen = {n: book.lot(lot, "--ply") for n, lot in named_plies(plies, len(layup.plies)).items()}
    woods = [
        None if ply.material is None else material_of(ply.material, ply.where, catalogue, on, region)
        for ply in layup.plies
    ]
    found = chosen | lots_for(store, layup, woods, chosen, made, known)
    counts: dict[str, int] = {}
    for held in (found[n] for n in sorted(found)):
        counts[held.lot.id] = counts.get(held.lot.id, 0) + 1
    readings = {lot: reading_for(store, book.lot(lot, "--ply")) for lot in counts}
    laid = [
        Laid(n, ply, woods[n - 1], found[n], shelf_of(found[n], known.get(found[n].lot.id, NOTHING)),
             readings[found[n].lot.id])
        for n, ply in enumerate(layup.plies, 1)
    ]  # fmt: skip
    kept = {**_kept(layup, body), **{k: v for k, v in (more or {}).items() if v}}
    if layup.mould.radius is not None:
        radius = round(layup.mould.radius * 1000)
        kept["mould"] = {"name": NOT_NAMED, "radius_um": radius} | dict(kept.get("mould") or {})
    kept["stack"] = [p.stacked() for p in laid]
    done = joining.press(
        lambda lot: book.lot(lot, "stock press"), panel, size, [f"{lot}={n}" for lot, n in counts.items()],
        glue, taken, kept, time, note,
    )  # fmt: skip
    book.work_out(done.event)
    notices = [*odd_lots(store, laid, made.leaf_mm), *_moist(laid, done.event.at.utc), *done.notices]
    return Pressing(layup, panel, made, laid, Done(done.event, done.sentences, notices))


def named_plies(said: Sequence[str], count: int) -> dict[int, str]:
    """'1=FACE-S', '2-6=BIRCH', '1,7=W-7' -> {ply: lot}; BadRequest for a ply not there, or told twice."""
    example = "PLY=LOT, such as 1=FACE-S or 2-6=BIRCH"
    out: dict[int, str] = {}
    for entry in said:
        numbers, equals, lot = (part.strip() for part in entry.partition("="))
        matches = [_NUMBERS.fullmatch(part.strip()) for part in numbers.split(",")]
        if not equals or not lot or None in matches:
            raise BadRequest(
                f"{echo(entry)} is not understood beside --layup", where="--ply", expected=example
            )
        for match in (m for m in matches if m):
            first, last = int(match["one"]), int(match["last"] or match["one"])
            if last < first:
                raise BadRequest(f"{match.group()} runs backwards", where="--ply", expected=example)
            for number in range(first, last + 1):
                if not 1 <= number <= count:
                    raise BadRequest(f"there is no ply {number}", where="--ply", expected=f"1 to {count}")
                if number in out:
                    raise BadRequest(f"ply {number} is told twice", where="--ply")
                out[number] = lot
    return out


def _kept(layup: Layup, body: bytes) -> dict[str, Any]:
    """What the panel keeps of the file: its title and hash, and the moisture at set where it says one."""
    out: dict[str, Any] = {"layup": {"title": layup.title, "sha256": digest(body)}}
    if layup.press.at_set is not None:
        value = Decimal(str(layup.press.at_set)) * 10
        if value != value.to_integral_value():
            raise NotWhole(
                f"press: at_set {layup.press.at_set:g} % is finer than a tenth of a percent", where=layup.file
            )
        out["set_moisture_permille"] = int(value)
    return out


def odd_lots(store: Store, laid: Sequence[Laid], piece: Sequence[int] | None) -> list[Notice]:
    """Where a lot that was named is not what the file asks for: told, for the maker may know better. piece:
    length and width of what is laid [mm], None where leaves may be smaller."""
    found: dict[tuple[str, str, str], list[int]] = {}
    for ply in laid:
        lot = ply.held.lot
        if not as_thick(ply.held, ply.ask):
            thick = "not known" if lot.thickness_um is None else f"{lot.thickness_um / 1000:g} mm"
            says = f"its thickness is {thick}, the layup says {ply.ask.thickness:g} mm. Check the pack again"
            found.setdefault(("other-thickness", lot.id, says), []).append(ply.number)
        if ply.material is not None and not is_of(store, ply.held, ply.material):
            says = f"on record as {lot.wood}, the layup says {ply.name}. The panel is told as its lots are"
            found.setdefault(("other-wood", lot.id, says), []).append(ply.number)
        cut = lot.told.get("cut")
        if ply.ask.cut and cut and cut != ply.ask.cut:
            says = f"it is {cut} cut, the layup says {ply.ask.cut}"
            found.setdefault(("other-cut", lot.id, says), []).append(ply.number)
        if not fits_in(piece, lot.told.get("leaf_mm")):
            says = "its leaves are smaller than the panel. Joint them first"
            found.setdefault(("small-leaves", lot.id, says), []).append(ply.number)
    return [
        Notice(code, f"{plies_called(numbers)}, {lot}: {says}.")
        for (code, lot, says), numbers in found.items()
    ]


def _moist(laid: Sequence[Laid], at: str) -> list[Notice]:
    """One notice a lot whose last reading is missing, old, or off."""
    out: list[Notice] = []
    seen: set[tuple[str, float | None]] = set()
    for ply in laid:
        lot, read, asked = ply.held.lot.id, ply.reading, ply.ask.moisture
        if (lot, asked) in seen:
            continue
        fresh = lot not in {name for name, _ in seen}
        seen.add((lot, asked))
        if read is None:
            out += [moistures.missing(lot)] if fresh else []
            continue
        if fresh:
            out += moistures.old(lot, read.at[:10], read.days_before(at))
        if asked is None:
            out += moistures.off_usual(lot, read.permille)
        else:
            out += moistures.off_asked(lot, read.permille, round(asked * 10))
    return out


def kept_by_hand(mould: str | None, set_moisture: str | None) -> dict[str, Any]:
    """--mould and --set-moisture as the event keeps them."""
    out: dict[str, Any] = {}
    if mould is not None:
        if not mould.strip():
            raise BadRequest("the name of the mould is empty", where="--mould", expected="words")
        out["mould"] = {"name": " ".join(mould.split())}
    if set_moisture is not None:
        out["set_moisture_permille"] = moistures.permille(set_moisture, "--set-moisture")
    return out
