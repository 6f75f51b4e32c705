"""Backs that would balance a face: every leaf of the catalogue tried as the last ply, and the part's warp
reckoned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.errors import CannotAnswer
from woodref.layup.asked import PlyAsk
from woodref.layup.leaves import Leaves, leaves
from woodref.layup.mirror import ALIKE
from woodref.layup.pack import Pack, Sheet, bottom_first, sheet_of, warmth
from woodref.layup.report import Report
from woodref.layup.solid import FINISHED, ply_of, thicknesses
from woodref.science import laminate, moisture
from woodref.selection import status
from woodref.selection.words import SOLD_WORDS

Floats = NDArray[np.float64]
#: panel taken where the file gives none [mm]
PANEL = 400.0
#: a back is no more than so many times thicker or thinner than the face (our rule)
ABOUT_AS_THICK = 2.0
#: backs named
MOST = 8
#: how easily a leaf is had, best first
_SOLD = ("common", "to-order", "rare")


@dataclass(frozen=True)
class Back:
    """One leaf as the back. warp: the largest of bow, cup and twist in dry air [mm]; pull: stiffness times
    movement times thickness across, over that of the face; free: countries of harvest without a listing."""

    sheet: Sheet
    warp: float
    pull: float
    free: str
    sold: str

    @property
    def equal(self) -> bool:
        """Whether it pulls and is as thick as the face within the rules of balanced construction."""
        return abs(self.pull - 1) <= ALIKE

    def as_dict(self) -> dict[str, Any]:
        m = self.sheet.material
        return {
            "id": m.id if m else None,
            "name": self.sheet.name,
            "cut": self.sheet.cut,
            "thickness_mm": self.sheet.thickness,
            "warp_dry_mm": round(self.warp, 3),
            "pull_beside_face": round(self.pull, 4),
            "free_origins": self.free,
            "sold": self.sold,
        }


@dataclass(frozen=True)
class Backs:
    rows: tuple[Back, ...]
    tried: int
    now: float
    sentences: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """The JSON key backs."""
        return {
            "query": {"tried": self.tried, "warp_now_dry_mm": round(self.now, 3)},
            "count": len(self.rows),
            "rows": [row.as_dict() for row in self.rows],
        }


def suggest_backs(shown: Report, catalogue: Catalogue, on: dt.date) -> Backs:
    """Leaves sold as veneer that hold the finished part flat in dry air, those easily had first. Woods whose
    every origin is listed are no candidates. CannotAnswer when the pack's own figures are not known."""
    pack = shown.pack
    if not pack.moves or len(pack.sheets) < 2:
        why = pack.lacking() if not pack.moves else "a single ply has no back"
        raise CannotAnswer(f"no back can be told: {why}", next="Try --estimates.")
    woods = catalogue.materials()
    tried = _tried(pack, woods, catalogue, on)
    warps = _warps(shown, tried)
    pulls = tried.constants["e2"] * tried.constants["beta2"] * tried.thickness / _pull(pack.sheets[0])
    # the flattest leaf of each wood, the first of those alike
    order = np.lexsort((np.arange(len(tried)), warps[1:], tried.wood))
    firsts = order[np.flatnonzero(np.diff(tried.wood[order], prepend=-1))]
    least = max(0.5, shown.finished.thickness * 0.05)
    kept = [int(k) for k in firsts if warps[k + 1] <= least]

    def best_first(k: int) -> tuple[int, float, float, str]:
        wood = woods[tried.wood[k]]
        warp, pull = float(warps[k + 1]), float(pulls[k])
        return _SOLD.index(wood.veneer["sold"]), round(warp, 1), abs(pull - 1), wood.name

    kept.sort(key=best_first)
    rows = tuple(
        Back(
            sheet := _sheet(pack, woods[tried.wood[k]], tried.cuts[k], float(tried.thickness[k]), catalogue),
            float(warps[k + 1]),
            _pull(sheet) / _pull(pack.sheets[0]),
            status.origins(woods[tried.wood[k]], on, catalogue).share(woods[tried.wood[k]]),
            woods[tried.wood[k]].veneer["sold"],
        )
        for k in kept[:MOST]
    )
    return Backs(rows, len(tried), float(warps[0]), tuple(_sentences(shown, rows, len(kept), warps[0])))


def _tried(pack: Pack, woods: Sequence[Material], catalogue: Catalogue, on: dt.date) -> Leaves:
    """Every leaf that may be the back: about as thick as the face and thicker than what is sanded off, of a
    wood that is sold as veneer and free from some country of harvest, in the warmth of the room."""
    every = leaves(catalogue, pack.estimates)
    free = catalogue.remembered_large(
        ("free as veneer", on),
        lambda: np.array(
            [m.veneer["sold"] in _SOLD and bool(status.origins(m, on, catalogue).free) for m in woods],
            dtype=bool,
        ),
    ).copy()
    face = pack.sheets[0]
    if face.material is not None:
        for k, wood in enumerate(woods):
            if wood.id == face.material.id:
                free[k] = False
    lowest, highest = face.thickness / ABOUT_AS_THICK, face.thickness * ABOUT_AS_THICK
    fits = (every.thickness > pack.layup.sanding[1]) & (lowest <= every.thickness)
    found = every.only(fits & (every.thickness <= highest) & free[every.wood])
    along, across = warmth(pack.layup)
    held = found.constants
    return replace(found, constants={**held, "e1": held["e1"] * along, "e2": held["e2"] * across})


def _sheet(pack: Pack, wood: Material, cut: str, thick: float, catalogue: Catalogue) -> Sheet:
    """A leaf as the last ply, lying as the face does."""
    last = pack.sheets[-1]
    ask = PlyAsk(wood.name, None, thick, pack.sheets[0].ask.grain, cut, last.moisture)
    return sheet_of(last.number, ask, wood, len(pack.sheets), catalogue, pack.estimates, pack.layup)


def _pull(sheet: Sheet) -> float:
    assert sheet.leaf is not None
    return sheet.leaf.e2 * sheet.leaf.beta2 * sheet.thickness


def _warps(shown: Report, tried: Leaves) -> Floats:
    """The part's own warp in dry air and that with each leaf as its back [mm], all in one call."""
    pack, moist = shown.pack, shown.moist
    thick = thicknesses(pack.layup, FINISHED)
    many = len(tried) + 1
    grain = pack.sheets[0].ask.grain

    def column(own: float, others: Floats | float) -> Floats:
        out = np.empty(many)
        out[0], out[1:] = own, others
        return out

    def whole(read: Callable[[Sheet, float], float], others: Floats | float) -> Floats:
        """A number of every ply, (packs, plies) bottom first; others: of the leaves tried."""
        own = [read(s, t) for s, t in zip(pack.sheets, thick, strict=True)]
        inner = [np.full(many, value) for value in own[:-1]]
        return np.stack(bottom_first([*inner, column(own[-1], others)]), axis=1)

    held = tried.constants
    five = [
        whole(lambda s, t, f=name: float(getattr(ply_of(s, t), f)), held.get(name, grain))  # type: ignore[misc]
        for name in ("e1", "e2", "nu12", "g12", "theta")
    ]
    off = pack.layup.sanding[1]
    high = whole(lambda s, t: t / 1000, (tried.thickness - off) / 1000)
    free = _free_strains(pack, moist.at_set, moist.dry, tried, whole)
    _, curvature = laminate.shapes(laminate.rotated(*five), high, free)
    length, width = ((size or PANEL) / 1000 for size in (pack.layup.panel.length, pack.layup.panel.width))
    lifts = np.stack(
        [
            curvature[:, 0] * length**2 / 8,
            curvature[:, 1] * width**2 / 8,
            curvature[:, 2] * length * width / 2,
        ],
        axis=1,
    )
    found: Floats = 1000 * np.abs(lifts).max(axis=1)
    return found


def _free_strains(
    pack: Pack, at_set: Sequence[float], dry: float, tried: Leaves,
    whole: Callable[[Callable[[Sheet, float], float], Floats | float], Floats],
) -> Floats:  # fmt: skip
    """What every ply would do alone from its moisture at set to dry air, (packs, plies, 3) in the panel's
    axes."""
    start = {sheet.number: mc for sheet, mc in zip(pack.sheets, at_set, strict=True)}

    def swollen(b1: Floats | float, b2: Floats | float, grain: float) -> Floats:
        return laminate.swelling(laminate.Ply(1, 1, 0, 1, grain, 1, b1, b2))  # type: ignore[arg-type]

    def own(sheet: Sheet, axis: int) -> float:
        along, across, _ = sheet.strains(start[sheet.number], dry)
        return float(swollen(along, across, sheet.ask.grain)[axis])

    b1, b2 = (moisture.strains(tried.constants[name], at_set[-1], dry) for name in ("beta1", "beta2"))
    others = swollen(b1, b2, pack.sheets[0].ask.grain)
    return np.stack([whole(lambda s, _, k=axis: own(s, k), others[axis]) for axis in range(3)], axis=-1)  # type: ignore[misc]


def _free(share: str) -> str:
    return "not listed from any origin held" if share == "all held" else f"not listed from {share}"


def _sentences(shown: Report, rows: tuple[Back, ...], found: int, now: float) -> list[str]:
    say, face = shown.say, shown.pack.sheets[0]
    sized = (
        "" if shown.layup.panel.length and shown.layup.panel.width else f" (a panel of {say.mm(PANEL)} taken)"
    )
    out = [
        f"As it is it warps up to {say.mm(now, 1)} in dry air{sized}. Its own face wood, {face.name} "
        f"{face.cut} cut, "
        f"{say.mm(face.thickness)}, on the back would balance it by rule."
    ]
    if not rows:
        return [
            *out,
            "No other leaf held here does; a back is also made of two thinner leaves, or sanded to fit.",
        ]
    for row in rows:
        fit = "pulls alike" if row.equal else f"pulls {row.pull:.2f} times as hard"
        out.append(
            f"{row.sheet.name}, {row.sheet.cut} cut, {say.mm(row.sheet.thickness)}: warp "
            f"{say.mm(row.warp, 1)}, {fit} "
            f"across; {SOLD_WORDS[row.sold]}; {_free(row.free)}."
        )
    if found > len(rows):
        out.append(f"{found - len(rows)} more would do.")
    out.append("Reckoned with mean figures: press a trial panel before the run.")
    return out
