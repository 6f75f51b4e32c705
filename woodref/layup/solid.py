"""Thickness, weight and stiffness of the pack, as pressed and as finished, beside a solid plate of its
face."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from woodref.layup import geometry
from woodref.layup.asked import Layup
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, Sheet, bottom_first, solids_of, unweighed
from woodref.layup.saying import Say
from woodref.science import laminate

PRESSED, FINISHED = "pressed", "finished"


def thicknesses(layup: Layup, state: str) -> list[float]:
    """Thickness of each ply [mm], show face first: as laid, or with the faces sanded."""
    out = [p.thickness for p in layup.plies]
    if state == FINISHED:
        out[0] -= layup.sanding[0]
        out[-1] -= layup.sanding[1]
    return out


def ply_of(sheet: Sheet, thickness: float, turned: float = 0.0) -> laminate.Ply:
    """A sheet as the science room takes it: turned degrees are taken off its grain, betas left at 0."""
    leaf = sheet.leaf
    assert leaf is not None
    return laminate.Ply(leaf.e1, leaf.e2, leaf.nu12, leaf.g12, sheet.ask.grain - turned, thickness / 1000)


def stack_of(pack: Pack, state: str, turned: float = 0.0) -> laminate.Stack:
    """The laminate of a pack whose stiffness is known."""
    thick = thicknesses(pack.layup, state)
    plies = [ply_of(s, t, turned) for s, t in zip(pack.sheets, thick, strict=True)]
    return laminate.stack(bottom_first(plies))


def glue_solids(pack: Pack) -> float:
    """Dry glue of all lines [g/m2], from the middle of each glue's solids."""
    return sum(spread * solids_of(glue) for glue, spread in pack.glues)


def areal_mass(pack: Pack, state: str, mc: float) -> float | None:
    """Weight of an area [g/m2] at a moisture [%], glue included; None when a ply's weight is not known."""
    if not pack.weighs:
        return None
    total = glue_solids(pack)
    for sheet, thick in zip(pack.sheets, thicknesses(pack.layup, state), strict=True):
        total += (sheet.dry_mass or 0.0) * thick / sheet.thickness * (1 + mc / 100)
    return total


@dataclass(frozen=True)
class Solid:
    """One state of the pack. areal_mass [g/m2]; beside: bending stiffness along and across over that of a
    solid plate of the face wood of the same thickness; sag [mm] under the target's load."""

    state: str
    thickness: float
    areal_mass: float | None
    stack: laminate.Stack | None
    moduli: laminate.Moduli | None
    flat: laminate.Moduli | None
    beside: tuple[float, float] | None
    sag: float | None
    span: float | None

    def as_dict(self) -> dict[str, Any]:
        """The JSON of one state: A in N/mm, B in N, D in N mm, moduli in GPa."""
        s = self.stack
        return {
            "thickness_mm": round(self.thickness, 4),
            "areal_mass_g_m2": None if self.areal_mass is None else round(self.areal_mass, 2),
            "A": _matrix(s.A / 1e3) if s else None,
            "B": _matrix(s.B) if s else None,
            "D": _matrix(s.D * 1e3) if s else None,
            "moduli": _moduli(self.moduli),
            "moduli_held_flat": _moduli(self.flat),
            "bending_beside_solid_face": {
                "along": round(self.beside[0], 4),
                "across": round(self.beside[1], 4),
            }
            if self.beside
            else None,
            "sag_mm": None if self.sag is None else round(self.sag, 3),
            "span_mm": self.span,
        }


def _matrix(values: Any) -> list[list[float]]:
    """Rounded to ten figures of the largest entry, so that nothing shows as 1e-13."""
    largest = float(np.abs(values).max()) or 1.0
    digits = 9 - int(np.floor(np.log10(largest)))
    return [[round(float(v), digits) + 0.0 for v in row] for row in values]


def _moduli(m: laminate.Moduli | None) -> dict[str, Any] | None:
    if m is None:
        return None
    names = ("Ex", "Ey", "Gxy", "Efx", "Efy")
    return {name: round(getattr(m, name) / 1e9, 6) for name in names} | {"definition": m.definition}


def solid(pack: Pack, state: str, moist: Moist) -> Solid:
    """Weigh and stiffen the pack in one state; weight at the middle of its service."""
    layup = pack.layup
    thick = sum(thicknesses(layup, state))
    mass = areal_mass(pack, state, moist.middle)
    if not pack.stiff:
        return Solid(state, thick, mass, None, None, None, None, None, None)
    stack = stack_of(pack, state)
    free = laminate.moduli(stack)
    face = pack.sheets[0].leaf
    assert face is not None
    # the plate lies with its own grain along and across, however the face lies on the part
    beside = (free.Efx / face.e1, free.Efy / face.e2)
    sag, span = _sag(layup, stack)
    return Solid(state, thick, mass, stack, free, laminate.moduli(stack, laminate.FLAT), beside, sag, span)


def _sag(layup: Layup, stack: laminate.Stack) -> tuple[float | None, float | None]:
    """Sag [mm] of a strip as wide as the panel on two supports, load in the middle: F L^3 / (48 EI), EI =
    b/d11."""
    span = layup.target.span or layup.panel.length
    width, load = layup.panel.width, layup.target.load
    if load is None or span is None or width is None:
        return None, span
    stiff = width / 1000 / np.linalg.inv(stack.full)[3, 3]
    return float(1000 * load * (span / 1000) ** 3 / (48 * stiff)), span


def wood_mass(pack: Pack, sheets: Sequence[Sheet], mc: float) -> float | None:
    """Weight of some of the plies in one trimmed part [g] at a moisture [%], each at its own length; None
    when the size or a weight is not known."""
    areas = geometry.net_areas(pack.layup)
    if areas is None:
        return None
    thick, total = thicknesses(pack.layup, FINISHED), 0.0
    for sheet in sheets:
        if sheet.dry_mass is None:
            return None
        k = sheet.number - 1
        total += sheet.dry_mass * thick[k] / sheet.thickness * (1 + mc / 100) * areas[k]
    return total


def part_mass(pack: Pack, mc: float) -> float | None:
    """Weight of one trimmed part [g] at a moisture [%], glue included."""
    wood, areas = wood_mass(pack, pack.sheets, mc), geometry.net_areas(pack.layup)
    return None if wood is None or areas is None else wood + glue_solids(pack) * sum(areas) / len(areas)


def weight_sentences(pack: Pack, pressed: Solid, finished: Solid, moist: Moist, say: Say) -> list[str]:
    """What it weighs and how stiff it is, in words."""
    layup = pack.layup
    out = []
    sanded = any(layup.sanding)
    thick = f"{say.mm(finished.thickness)} thick"
    if sanded:
        thick = f"{say.mm(pressed.thickness)} thick as pressed, {say.mm(finished.thickness)} as finished"
    out.append(f"It is {thick}, sheets alone: dry glue adds a few hundredths of a millimetre a line.")
    if finished.areal_mass is None:
        out.append(f"Its weight is left out: that of {unweighed(pack)} is not known.")
    else:
        told = f"It weighs {say.kg_m2(finished.areal_mass)} at {moist.middle:.0f} % moisture"
        told += (
            f", {say.grams(glue_solids(pack))} of dry glue a square metre in it"
            if pack.glues and not say.us
            else ""
        )
        mass = part_mass(pack, moist.middle)
        out.append(f"{told}; a trimmed part {say.grams(mass)}." if mass is not None else f"{told}.")
        if not pack.glues and len(pack.sheets) > 1:
            out.append("No glue is weighed, since the file names none.")
    if finished.beside is None:
        out.append(f"Its stiffness is left out: {pack.lacking()}.")
        return out
    face = pack.sheets[0].name
    along, across = finished.beside
    out.append(
        f"Bent along its length it is {_times(along)} as stiff as a solid plate of {face} of its "
        "thickness is "
        f"along its grain; bent across, {_times(across)} as stiff as that plate is across its grain."
    )
    if finished.sag is not None and layup.target.load is not None and finished.span is not None:
        bent = "" if layup.mould.radius is None else " A curved part is stiffer than that."
        out.append(
            f"Under {say.newton(layup.target.load)} in the middle of a span of "
            f"{say.mm(finished.span)} it sags about "
            f"{say.mm(finished.sag)}, reckoned as a flat simple beam as wide as the part.{bent} This "
            "is no proof of "
            "strength: load-bearing parts want a test or an engineer."
        )
    return out


def _times(share: float) -> str:
    return f"{100 * share:.0f} %" if share < 1.5 else f"{share:.1f} times"


def weight_findings(pack: Pack, finished: Solid, say: Say) -> list[Finding]:
    """Targets missed, and figures that are missing."""
    out = []
    target = pack.layup.target
    mass, most = finished.areal_mass, target.areal_mass_max
    if mass is not None and most is not None and mass > 1000 * most:
        heavy = max(pack.sheets, key=lambda s: (s.dry_mass or 0) / s.thickness)
        out.append(
            Finding(
                "too-heavy",
                "mend",
                f"It weighs {say.kg_m2(mass)}, {say.kg_m2(mass - 1000 * most)} more than the target.",
                f"Thinner inner plies, or a lighter wood for {heavy.name}.",
            )
        )
    if finished.sag is not None and target.sag_max is not None and finished.sag > target.sag_max:
        thicker = finished.thickness * (finished.sag / target.sag_max) ** (1 / 3)
        out.append(
            Finding(
                "sags",
                "mend",
                f"It sags {say.mm(finished.sag)} as a flat beam, more than the "
                f"{say.mm(target.sag_max)} of the target.",
                f"About {say.mm(thicker)} of the same build would do; or turn more plies along the span.",
            )
        )
    for sheet in pack.sheets:
        if sheet.missing:
            out.append(_missing(sheet, pack))
    return out


def _missing(sheet: Sheet, pack: Pack) -> Finding:
    message = f"Ply {sheet.number}, {sheet.name}: not known: {', '.join(sheet.missing)}."
    if sheet.material is None:
        message = f"Ply {sheet.number}, {sheet.name}: nothing is known of it."
        mend = "Name the wood when you know it: this is a check without law and figures."
    elif sheet.no_direction:
        mend = "Give it a layer of its own strength below: what bends and moves is the pack under it."
    elif pack.estimates:
        mend = "Nothing can be worked out for it: name a wood with figures, or measure yours."
    else:
        mend = "--estimates works it out, marked, where a rule for it is known."
    return Finding(
        "missing-figure",
        "mind",
        message,
        mend,
        sheet.number,
        sheet.ask.where or None,
    )
