"""Which lots on hand serve the plies of a layup.

A lot serves a ply when it is of its wood (or is the sheet of the catalogue that the file names), as thick,
not known to be of another cut, free in the amount, and its leaves are not known to be smaller than the panel.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from woodref.catalogue.material import Material
from woodref.errors import Candidate
from woodref.layup.asked import Layup, PlyAsk
from woodref.layup.saying import plies_called
from woodref.provenance.amounts import Amount, plainly
from woodref.provenance.book import Held
from woodref.provenance.faults import LotUnclear
from woodref.provenance.latest import MOST_STEPS, NOTHING, Noted, shelf_of, worked_from
from woodref.provenance.rows import LOTS, held_from
from woodref.provenance.store import Store
from woodref.provenance.working import fits_in

#: how near a thickness has to be to be the same [um]: 1/42 in is no whole number of them
SAME = 1


def lots_for(
    store: Store, layup: Layup, woods: Sequence[Material | None], chosen: Mapping[int, Held], made: Amount,
    known: Mapping[str, Noted],
) -> dict[int, Held]:  # fmt: skip
    """A lot for each ply that none is named for. Plies alike are taken from one lot."""
    groups: dict[tuple[str, float, str | None], list[int]] = {}
    for number, ply in enumerate(layup.plies, 1):
        if number not in chosen:
            groups.setdefault((ply.said, ply.thickness, ply.cut), []).append(number)
    if not groups:
        return {}
    shelf = [
        held_from(row)
        for row in store.rows(f"{LOTS} WHERE b.qty > 0 AND l.unit = 'mm2' ORDER BY l.made, l.id")
    ]
    drawn: dict[str, int] = {}
    for held in chosen.values():
        drawn[held.lot.id] = drawn.get(held.lot.id, 0) + made.qty
    out: dict[int, Held] = {}
    unclear: list[Candidate] = []
    for numbers in groups.values():
        ply, wood, need = layup.plies[numbers[0] - 1], woods[numbers[0] - 1], len(numbers) * made.qty
        serve = [h for h in shelf if wood is not None and _serves(store, h, ply, wood)]
        free = {h.lot.id: h.qty - h.reserved - drawn.get(h.lot.id, 0) for h in serve}
        fit = [
            h for h in serve if free[h.lot.id] >= need and fits_in(made.leaf_mm, h.lot.told.get("leaf_mm"))
        ]
        if len(fit) == 1:
            out |= dict.fromkeys(numbers, fit[0])
            drawn[fit[0].lot.id] = drawn.get(fit[0].lot.id, 0) + need
            continue
        name = f"{plies_called(numbers)}, {wood.name if wood else ply.said}, {ply.thickness:g} mm"
        unclear.append(Candidate(None, name, _why(ply, need, serve, fit, free, made, known)))
    if unclear:
        raise LotUnclear(
            "not every ply can be taken to one lot", where="stock press",
            next="Name the lots: --ply PLY=LOT, such as --ply 1=FACE-S --ply 2-6=BIRCH.", candidates=unclear,
        )  # fmt: skip
    return out


def _why(
    ply: PlyAsk, need: int, serve: Sequence[Held], fit: Sequence[Held], free: Mapping[str, int], made: Amount,
    known: Mapping[str, Noted],
) -> str:  # fmt: skip
    """Why no lot, or more than one, serves a group of plies."""

    def told(held: Held) -> str:
        shelf = shelf_of(held, known.get(held.lot.id, NOTHING))
        cut = "" if ply.cut is None or held.lot.told.get("cut") else "; its cut is not told"
        small = (
            ""
            if fits_in(made.leaf_mm, held.lot.told.get("leaf_mm"))
            else "; its leaves are smaller than the panel"
        )
        left = plainly(max(free[held.lot.id], 0), "mm2")
        return f"{held.lot.id} ({'shelf ' + shelf if shelf else 'no shelf told'}; {left} free{cut}{small})"

    if ply.material is None:
        return "it is not identified, so no lot can be looked for"
    if fit:
        return "any of these could: " + ", ".join(map(told, fit))
    wants = f"it takes {plainly(need, 'mm2')}"
    if not serve:
        return f"{wants}, and no lot of it is on hand in this thickness"
    return f"{wants}, and no one lot serves: " + ", ".join(map(told, serve))


def _serves(store: Store, held: Held, ply: PlyAsk, wood: Material) -> bool:
    if not as_thick(held, ply) or (ply.cut and held.lot.told.get("cut") not in (None, ply.cut)):
        return False
    return is_of(store, held, wood)


def as_thick(held: Held, ply: PlyAsk) -> bool:
    """Whether a lot has the thickness that the file says."""
    thick = held.lot.thickness_um
    return thick is not None and abs(thick - ply.thickness * 1000) < SAME


def is_of(store: Store, held: Held, wood: Material) -> bool:
    """Whether a lot is of a material of the catalogue: a sheet by the name it was taken in under, or a plain
    leaf by its one wood."""
    lot = held.lot
    if wood.kind == "species" and (lot.form == "engineered-veneer" or lot.species != wood.botanical_name):
        return False
    named = _named(store, held)
    return lot.wooden and bool(named == wood.id or (named is None and wood.kind == "species"))


def _named(store: Store, held: Held, steps: int = MOST_STEPS) -> str | None:
    """The material of the catalogue that a lot, or all it was cut or jointed from, was taken in as."""
    if held.lot.told.get("material"):
        return str(held.lot.told["material"])
    book, parents = store.book(), worked_from(store, held.lot.id) if steps else []
    found = {_named(store, book.lot(parent, "stock press"), steps - 1) for parent in parents}
    return found.pop() if len(found) == 1 else None
