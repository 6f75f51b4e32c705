"""Whether each ply follows the mould: a class in the trade's words, with the radius as a band.

Along the grain a dry ply's limit comes from its own strength over stiffness, where both are known (outer
strain about MOR/MOE), else from 50 thicknesses; across it from 20 thicknesses. Twice the limit is easy,
half of it wants damp or heat. The multiples are common practice, no source; `limits:` in the file sets
others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

from woodref.layup import geometry
from woodref.layup.asked import ACROSS_GIVEN, apart
from woodref.layup.findings import Finding
from woodref.layup.pack import NOT_IDENTIFIED, Pack, Sheet
from woodref.layup.saying import Say, plies_called
from woodref.science import bending

#: classes, easiest first
EASY, LIMIT, DAMP, SPLIT, TRY, UNKNOWN = (
    "easy",
    "at the dry limit",
    "damp or heat it",
    "thinner or split it",
    "try a strip first",
    "not known",
)
CLASSES = (EASY, LIMIT, DAMP, SPLIT, TRY, UNKNOWN)
#: radius over thickness at which a dry ply is at its limit along the grain (common practice, no source)
ALONG = 50.0
#: how much easier, and how much tighter when damp or hot (common practice, no source)
CAUTIOUS, SOFTENED = 2.0, 0.5
#: a grain within this of the way the bend runs is bent along, beyond the rest to 90 across
SLANT = 45.0
#: direction of a bend: the one of radius, and the one of second_radius
FIRST, SECOND = "bend", "second bend"


@dataclass(frozen=True)
class Bend:
    """One ply in one direction. radius: of its hollow side there [mm]; limit: band of radii [mm] from the dry
    limit to easy, None where no number is given."""

    ply: int
    name: str
    direction: str
    grain: str
    radius: float
    thickness: float
    limit: tuple[float, float] | None
    found: str
    basis: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "ply": self.ply,
            "name": self.name,
            "direction": self.direction,
            "grain": self.grain,
            "radius_mm": round(self.radius, 2),
            "dry_limit_mm": None if self.limit is None else [round(r, 1) for r in self.limit],
            "class": self.found,
            "basis": self.basis,
        }


def bends(pack: Pack) -> tuple[Bend, ...]:
    """Every ply in every direction it is bent; empty for a flat part."""
    layup = pack.layup
    out = []
    for sheet in pack.sheets:
        radius = geometry.inner_radius(layup, sheet.number)
        if radius is None:
            return ()
        out.append(_bend(pack, sheet, FIRST, radius, layup.mould.bend))
        if layup.mould.second_radius is not None:
            out.append(_bend(pack, sheet, SECOND, layup.mould.second_radius, layup.mould.bend + 90))
    return tuple(out)


def _bend(pack: Pack, sheet: Sheet, direction: str, radius: float, way: float) -> Bend:
    along = apart(sheet.ask.grain, way) < SLANT
    grain = "along the grain" if along else "across the grain"
    made = partial(Bend, sheet.number, sheet.name, direction, grain, radius, sheet.thickness)
    if sheet.material is None:
        return made(None, UNKNOWN, NOT_IDENTIFIED)
    if sheet.no_direction:
        return made(None, TRY, "a figured leaf")
    multiple, basis = _multiple(pack, sheet, along)
    dry = multiple * sheet.thickness
    limit = (dry, CAUTIOUS * dry)
    if radius >= CAUTIOUS * dry:
        found = EASY
    elif radius >= dry:
        found = LIMIT
    else:
        found = DAMP if radius >= SOFTENED * dry else SPLIT
    return made(limit, found, basis)


def _multiple(pack: Pack, sheet: Sheet, along: bool) -> tuple[float, str]:
    limits = pack.layup.limits
    if not along and not sheet.is_board:
        said = "as the file says" if ACROSS_GIVEN in pack.layup.given else "a shop rule"
        return limits.across, f"{limits.across:g} thicknesses, {said}"
    if limits.along is not None:
        return limits.along, f"{limits.along:g} thicknesses, as the file says"
    moe = next((u.value for u in sheet.used if u.name == "moe"), None)
    if sheet.mor is None or moe is None:
        return ALONG, f"{ALONG:g} thicknesses, a shop rule"
    strain = sheet.mor / (1000 * moe)
    return bending.smallest_radius(1.0, strain), "its strength over its stiffness"


def bend_sentences(found: tuple[Bend, ...], say: Say) -> list[str]:
    """The classes in words, plies of one kind together."""
    groups: dict[tuple[Any, ...], list[Bend]] = {}
    for b in found:
        rounded = None if b.limit is None else (round(b.limit[0]), round(b.limit[1]))
        key = (b.direction, b.name, b.grain, b.found, rounded)
        groups.setdefault(key, []).append(b)
    out = []
    for (direction, name, grain, word, limit), rows in groups.items():
        plies = plies_called([b.ply for b in rows])
        where = f" round the second radius, {say.mm(rows[0].radius)}" if direction == SECOND else ""
        told = f"{plies}, {name}, bent {grain}{where}: {word}"
        if limit is not None:
            told += (
                f" (dry limit about {say.mm(limit[0])}, easy from {say.mm(limit[1])}; here "
                f"{say.mm(min(b.radius for b in rows), 0)})"
            )
        elif word == UNKNOWN:
            told += f", since {rows[0].basis}"
        out.append(f"{told}.")
    return out


def bend_findings(found: tuple[Bend, ...], say: Say) -> list[Finding]:
    """Plies that do not take the mould dry."""
    out = []
    for b in found:
        if b.found == DAMP and b.limit:
            out.append(
                Finding(
                    "too-tight",
                    "mend",
                    f"Ply {b.ply}, {b.name}, is bent tighter than it takes dry: {say.mm(b.radius, 0)} "
                    f"{b.grain}, "
                    f"limit about {say.mm(b.limit[0], 0)}.",
                    "Damp or heat it and let it dry on the former before gluing, or take "
                    f"{say.mm(b.radius / b.limit[0] * b.thickness)} at most.",
                    b.ply,
                )
            )
        elif b.found == SPLIT and b.limit:
            out.append(
                Finding(
                    "too-tight",
                    "stop",
                    f"Ply {b.ply}, {b.name}, breaks or splits on this mould: {say.mm(b.radius, 0)} "
                    f"{b.grain}, less "
                    f"than half of its dry limit of about {say.mm(b.limit[0], 0)}.",
                    f"Lay it in {_split(b)} thinner sheets, or take a larger radius.",
                    b.ply,
                )
            )
        elif b.found == TRY and b.direction == FIRST:
            out.append(
                Finding(
                    "try-first",
                    "mind",
                    f"Ply {b.ply}, {b.name}, is figured: no number says how tight it bends.",
                    "Damp and press it flat first, and try a strip on the mould.",
                    b.ply,
                )
            )
    return out


def _split(b: Bend) -> int:
    assert b.limit is not None
    return max(2, math.ceil(b.limit[0] / b.radius))
