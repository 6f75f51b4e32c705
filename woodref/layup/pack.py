"""The pack: each ply of a layup with its wood and the constants it brings, and where each of them is from.

Plies stand in the file's order, show face first; `bottom_first` is the one place that turns the order for the
science room. Stiffness in Pa, thickness in m there; mm and percent here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from woodref.catalogue.material import Material
from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import UnknownName, WoodrefError
from woodref.layup.asked import FIGURED, PLY_MOISTURE, Layup, LineAsk, PlyAsk
from woodref.layup.constants import Used, leaf_of, take
from woodref.science import density as weight
from woodref.science import elasticity, moisture
from woodref.selection.estimates import estimated
from woodref.selection.glues import Glue, glue_named
from woodref.selection.words import joined

T = TypeVar("T")
NOT_IDENTIFIED = "it is not identified"
#: cuts looked for where the file names none: outer plies, and those under them
OUTER_CUTS = ("crown", "half-round", "quarter", "rift", "rotary", "block-sliced", "burr")
INNER_CUTS = ("rotary", "crown", "half-round", "quarter", "rift", "block-sliced", "burr")


@dataclass(frozen=True)
class Sheet:
    """One ply. leaf: in-plane stiffness [Pa] with total shrinkages [%, green to oven-dry] in place of betas,
    None where they are not known; density [kg/m3] at 12 %; moisture [%] as it goes into the press."""

    number: int
    ask: PlyAsk
    material: Material | None
    cut: str
    moisture: float
    density: float | None
    leaf: elasticity.Leaf | None
    moves: bool
    mor: float | None
    pull_across: float | None
    used: tuple[Used, ...] = ()
    missing: tuple[str, ...] = ()
    volumetric: float | None = None

    @property
    def name(self) -> str:
        return self.material.name if self.material else self.ask.said

    @property
    def thickness(self) -> float:
        return self.ask.thickness

    @property
    def is_board(self) -> bool:
        return self.cut == "board"

    @property
    def no_direction(self) -> bool:
        """A burr, a crotch or a figured leaf: no numbers are given for it."""
        return self.ask.figured or self.cut in FIGURED

    @property
    def dry_mass(self) -> float | None:
        """Oven-dry mass of an area [g/m2] of the sheet at its thickness and moisture when it is laid."""
        if self.density is None:
            return None
        there = self.density
        if not self.is_board:
            there = weight.density_from_12(self.density, self.moisture, self.volumetric)
        return there * self.thickness / (1 + self.moisture / 100)

    def strains(self, mc_from: float, mc_to: float) -> tuple[float, float, float]:
        """Free change along the grain, across it and through the thickness, as shares."""
        assert self.leaf is not None
        totals = (self.leaf.beta1, self.leaf.beta2, self.leaf.beta3)
        along, across, through = (moisture.strain(s, mc_from, mc_to) for s in totals)
        return along, across, through

    def as_dict(self) -> dict[str, Any]:
        m, leaf = self.material, self.leaf
        return {
            "ply": self.number,
            "id": m.id if m else None,
            "name": self.name,
            "botanical_name": m.botanical_name if m else None,
            "cut": self.cut,
            "thickness_mm": self.thickness,
            "grain_deg": self.ask.grain,
            "moisture_pct": self.moisture,
            "density_kg_m3": self.density,
            "E_along_GPa": round(leaf.e1 / 1e9, 4) if leaf else None,
            "E_across_GPa": round(leaf.e2 / 1e9, 4) if leaf else None,
            "G_GPa": round(leaf.g12 / 1e9, 4) if leaf else None,
            "poisson": round(leaf.nu12, 4) if leaf else None,
            "shrinkage_pct": {
                "along": round(leaf.beta1, 4),
                "across": round(leaf.beta2, 4),
                "through": round(leaf.beta3, 4),
            }
            if leaf and self.moves
            else None,
            "figures": [u.as_dict() for u in self.used],
            "missing": list(self.missing),
        }


@dataclass(frozen=True)
class Pack:
    """A layup with its sheets and glues. glues: one a line from the show face inward, or empty."""

    layup: Layup
    sheets: tuple[Sheet, ...]
    glues: tuple[tuple[Glue, float], ...]
    notices: tuple[Notice, ...]
    shared: tuple[tuple[int, str], ...]
    estimates: bool

    @property
    def stiff(self) -> bool:
        """Whether the stiffness of every ply is known."""
        return all(s.leaf is not None for s in self.sheets)

    @property
    def moves(self) -> bool:
        """Whether stiffness and movement of every ply are known."""
        return self.stiff and all(s.moves for s in self.sheets)

    @property
    def weighs(self) -> bool:
        return all(s.density is not None for s in self.sheets)

    def lacking(self, *properties: str) -> str:
        """'not known of ply 2 (iroko): stiffness', for a section that is left out."""
        told = []
        for s in self.sheets:
            names = [name for name in s.missing if not properties or name in properties]
            if names:
                what = "" if s.material is None else f": {', '.join(names)}"
                told.append(f"ply {s.number} ({s.name}){what}")
        return f"not known of {'; '.join(told)}"


def unweighed(pack: Pack) -> str:
    """'ply 2 (burr elm)': the plies whose weight is not known."""
    return joined([f"ply {s.number} ({s.name})" for s in pack.sheets if s.density is None])


def solids_of(glue: Glue) -> float:
    """Share of a glue that stays when it is dry, the middle of its band."""
    band = glue["solids_share"]
    return float(band["low"] + band["high"]) / 2


def bottom_first(values: Sequence[T]) -> list[T]:
    """Values in the file's order (show face first) -> in the science room's (bottom first)."""
    return list(reversed(values))


def pack_of(
    layup: Layup, catalogue: Catalogue, on: dt.date, region: str | None = None, guess: bool = False
) -> Pack:
    """The pack of a layup. guess: work out from its weight what is not known of a wood (--estimates).

    Raises SharedName or UnknownName with the ply's line when a name means several woods or none.
    """
    sheets: list[Sheet] = []
    notices: list[Notice] = []
    shared: list[tuple[int, str]] = []
    held: dict[str, Material] = {}
    for number, ask in enumerate(layup.plies, 1):
        material = None
        if ask.material is not None:
            material, told = _material(ask.material, ask.where, catalogue, on, region, held)
            notices += [n for n in told if n not in notices]
            shared += [(number, n.message) for n in told if n.code == "shared-name"]
        sheets.append(sheet_of(number, ask, material, len(layup.plies), catalogue, guess, layup))
    named = {line: _glue(line, catalogue, notices) for line in dict.fromkeys(layup.glue_lines)}
    glues = tuple(named[line] for line in layup.glue_lines)
    return Pack(layup, tuple(sheets), glues, tuple(notices), tuple(shared), guess)


def _material(
    text: str, where: str, catalogue: Catalogue, on: dt.date, region: str | None, held: dict[str, Material]
) -> tuple[Material, tuple[Notice, ...]]:
    try:
        matched = resolve(text, catalogue, on, region)
    except WoodrefError as fault:
        fault.where = where
        if isinstance(fault, UnknownName) and not fault.candidates:
            fault.next = f"{fault.next or ''} For a wood you cannot name: unidentified: <words>.".strip()
        raise
    if matched.id not in held:
        held[matched.id] = catalogue.material(matched.id)
    return held[matched.id], matched.notices


def material_of(
    text: str, where: str, catalogue: Catalogue, on: dt.date, region: str | None = None
) -> Material:
    """The wood of a name in the file; a fault names its line."""
    return _material(text, where, catalogue, on, region, {})[0]


def _glue(line: LineAsk, catalogue: Catalogue, notices: list[Notice]) -> tuple[Glue, float]:
    """The glue of a line and its spread [g/m2], the middle of the glue's band where none is given."""
    try:
        found = glue_named(line.adhesive, catalogue)
    except WoodrefError as fault:
        fault.where = line.where
        raise
    notices += [n for n in found.notices if n not in notices]
    glue = catalogue.adhesives[found.id]
    band = glue["spread_g_m2"]
    return glue, line.spread if line.spread is not None else (band["low"] + band["high"]) / 2


def default_cut(material: Material, outer: bool) -> str:
    """The cut taken where the file names none: one it is sold in, peeled inside and crown outside first."""
    if material.kind == "core":
        return "board"
    order = OUTER_CUTS if outer else INNER_CUTS
    sold = material.veneer["cuts"]
    return next((cut for cut in order if cut in sold), "crown" if outer else "rotary")


def sheet_of(
    number: int,
    ask: PlyAsk,
    material: Material | None,
    count: int,
    catalogue: Catalogue,
    guess: bool,
    layup: Layup,
) -> Sheet:
    wet = PLY_MOISTURE if ask.moisture is None else ask.moisture
    if material is None:
        unknown = (NOT_IDENTIFIED,)
        return Sheet(number, ask, None, ask.cut or "crown", wet, None, None, False, None, None, (), unknown)
    cut = ask.cut or default_cut(material, number in (1, count))
    if material.kind == "core":
        cut = "board"
    told = estimated(material) if guess else material
    used: list[Used] = []
    missing: list[str] = []
    density = take(told, "density", used, missing)
    leaf, moves = leaf_of(told, cut, ask, used, missing, catalogue, guess)
    if leaf is not None:
        leaf = _warmed(leaf, layup)
    mor, pull, swell = (
        take(told, name, used, None) for name in ("mor", "tension_perpendicular", "shrinkage_volumetric")
    )
    return Sheet(
        number,
        ask,
        told,
        cut,
        wet,
        density,
        leaf,
        moves,
        mor,
        pull,
        tuple(used),
        tuple(missing),
        swell,
    )


def _warmed(leaf: elasticity.Leaf, layup: Layup) -> elasticity.Leaf:
    """The leaf at the room's temperature."""
    along, across = warmth(layup)
    return replace(leaf, e1=leaf.e1 * along, e2=leaf.e2 * across)


def warmth(layup: Layup) -> tuple[float, float]:
    """Stiffness along and across at the room's temperature over that at 20 C, at the moisture of its middle
    air (Table 5-15)."""
    t = layup.room.temperature
    if t == elasticity.NORMAL:
        return 1.0, 1.0
    mc = moisture.equilibrium((layup.room.rh_low + layup.room.rh_high) / 200, t)
    return elasticity.warmth_factor(t, mc), elasticity.warmth_factor(t, mc, across=True)
