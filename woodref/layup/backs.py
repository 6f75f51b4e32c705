"""Backs that would balance a face: every leaf of the catalogue tried as the last ply, and the part's warp
reckoned."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np

from woodref.catalogue.reader import Catalogue
from woodref.errors import CannotAnswer
from woodref.layup.asked import FIGURED, PlyAsk
from woodref.layup.mirror import ALIKE
from woodref.layup.pack import Pack, Sheet, bottom_first, sheet_of
from woodref.layup.report import Report
from woodref.layup.solid import FINISHED, ply_of, thicknesses
from woodref.science import laminate
from woodref.selection import status
from woodref.selection.words import SOLD_WORDS

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
    candidates = [
        (sheet, origins, sold)
        for material in catalogue.materials()
        if material.id != (pack.sheets[0].material.id if pack.sheets[0].material else None)
        and (sold := material.veneer["sold"]) in _SOLD
        and (origins := status.origins(material, on, catalogue)).free
        for sheet in _leaves(pack, material.name, material, catalogue)
    ]
    warps = _warps(shown, [sheet for sheet, _, _ in candidates])
    face = pack.sheets[0]
    best: dict[str, Back] = {}
    for (sheet, origins, sold), warp in zip(candidates, warps[1:], strict=True):
        assert sheet.material is not None
        row = Back(sheet, float(warp), _pull(sheet) / _pull(face), origins.share(sheet.material), sold)
        had = best.get(sheet.material.id)
        if had is None or row.warp < had.warp:
            best[sheet.material.id] = row
    least = max(0.5, shown.finished.thickness * 0.05)
    rows = [row for row in best.values() if row.warp <= least]
    rows.sort(key=lambda r: (_SOLD.index(r.sold), round(r.warp, 1), abs(r.pull - 1), r.sheet.name))
    kept = tuple(rows[:MOST])
    return Backs(kept, len(candidates), float(warps[0]), tuple(_sentences(shown, kept, len(rows), warps[0])))


def _leaves(pack: Pack, name: str, material: Any, catalogue: Catalogue) -> list[Sheet]:
    """Each cut and sold thickness of a wood as the last ply; none without figures."""
    out = []
    last, face = pack.sheets[-1], pack.sheets[0].thickness
    lowest, highest = face / ABOUT_AS_THICK, face * ABOUT_AS_THICK
    for cut in material.veneer["cuts"]:
        if cut in FIGURED:
            continue
        for thick in material.veneer["thickness_mm"]:
            if thick <= pack.layup.sanding[1] or not lowest <= thick <= highest:
                continue
            ask = PlyAsk(name, None, float(thick), pack.sheets[0].ask.grain, cut, last.moisture)
            sheet = sheet_of(
                last.number, ask, material, len(pack.sheets), catalogue, pack.estimates, pack.layup
            )
            if sheet.leaf is not None and sheet.moves:
                out.append(sheet)
    return out


def _pull(sheet: Sheet) -> float:
    assert sheet.leaf is not None
    return sheet.leaf.e2 * sheet.leaf.beta2 * sheet.thickness


def _warps(shown: Report, candidates: list[Sheet]) -> Any:
    """The part's own warp in dry air and that with each candidate as its back [mm], all in one call."""
    pack, moist = shown.pack, shown.moist
    thick = thicknesses(pack.layup, FINISHED)
    off = pack.layup.sanding[1]
    own = [*zip(pack.sheets[:-1], thick[:-1], moist.at_set[:-1], strict=True)]
    lasts = [(pack.sheets[-1], thick[-1]), *((s, s.thickness - off) for s in candidates)]
    packs = [bottom_first([*own, (s, t, moist.at_set[-1])]) for s, t in lasts]

    def grid(read: Any) -> Any:
        return np.array([[read(s, t, m) for s, t, m in plies] for plies in packs])

    def free(sheet: Sheet, t: float, start: float) -> list[float]:
        along, across, _ = sheet.strains(start, moist.dry)
        ply = laminate.Ply(1, 1, 0, 1, sheet.ask.grain, 1, along, across)
        return [float(v) for v in laminate.swelling(ply)]

    five = [
        grid(lambda s, t, m, f=name: getattr(ply_of(s, t), f))
        for name in ("e1", "e2", "nu12", "g12", "theta")
    ]
    _, curvature = laminate.shapes(laminate.rotated(*five), grid(lambda s, t, m: t / 1000), grid(free))
    length, width = ((size or PANEL) / 1000 for size in (pack.layup.panel.length, pack.layup.panel.width))
    lifts = np.stack(
        [
            curvature[:, 0] * length**2 / 8,
            curvature[:, 1] * width**2 / 8,
            curvature[:, 2] * length * width / 2,
        ],
        axis=1,
    )
    return 1000 * np.abs(lifts).max(axis=1)


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
