"""The press: whether its pressure suits the glue and holds the plies to the mould."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from woodref.layup import geometry
from woodref.layup.cure import Cure, cure_findings, cure_of, cure_sentences
from woodref.layup.curve import modulus_at
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack
from woodref.layup.saying import Say
from woodref.layup.solid import ply_of
from woodref.science import gluing
from woodref.selection.glues import press_at

#: sheets up to this are thin enough for light pressure [mm] (the glue's file says for which work)
LIGHT_SHEET = 1.0
HOLDS, ENDS_LIFT, LETS_GO = "holds", "ends lift", "does not hold"


@dataclass(frozen=True)
class Pressing:
    """pressure: MPa, lowest and highest; verdict: what it is to the glue; holds, lifted: whether it keeps the
    dry plies on the mould, and how much of each end stays up [mm]."""

    pressure: tuple[float, float] | None
    verdict: str | None
    holds: str | None
    lifted: float | None
    cure: Cure | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """What the glue object of the JSON says of the press."""
        return {
            "pressure_mpa": None if self.pressure is None else [round(p, 4) for p in self.pressure],
            "pressure": self.verdict,
            "holds_to_mould": self.holds,
            "ends_lifted_mm": None if self.lifted is None else round(self.lifted, 1),
        }


def pressing(pack: Pack, moist: Moist, say: Say) -> Pressing:
    """Pressure and time of a pack whose glue is named; nothing for a single sheet or a pack without glue."""
    if not pack.glues:
        return Pressing(None, None, None, None, None, (), ())
    pressure, verdict = _pressure(pack)
    lifted, holds = _holding(pack, pressure)
    cure = cure_of(pack, moist)
    said = [
        *_pressure_sentences(pack, pressure, verdict, holds, lifted, say),
        *cure_sentences(pack, cure, moist, say),
    ]
    found = [
        *_pressure_findings(pack, pressure, verdict, holds, lifted, say),
        *cure_findings(pack, cure, say),
    ]
    return Pressing(pressure, verdict, holds, lifted, cure, tuple(said), tuple(found))


def _pressure(pack: Pack) -> tuple[tuple[float, float] | None, str | None]:
    press = pack.layup.press
    if press.bag:
        pressed = gluing.bag_pressure(press.altitude)
    elif press.pressure is not None:
        pressed = (press.pressure, press.pressure)
    else:
        return None, None
    worst = ("enough", "light", "too-little", "too-much")
    verdicts = [press_at(glue, pressed[0]) for glue, _ in pack.glues]
    return pressed, max(verdicts, key=worst.index)


def _holding(pack: Pack, pressure: tuple[float, float] | None) -> tuple[float | None, str | None]:
    """How much of each end the press leaves lifted [mm], and the class. The wet plies slide, so each bends on
    its own: moment sum(E t3/12)/R a width; pressure p brings an end down over sqrt(2 M / p)."""
    layup = pack.layup
    if pressure is None or layup.mould.radius is None or layup.mould.closed or not pack.stiff:
        return None, None
    moment = 0.0
    for sheet in pack.sheets:
        radius = geometry.inner_radius(layup, sheet.number) or layup.mould.radius
        e = modulus_at(ply_of(sheet, sheet.thickness, layup.mould.bend))
        moment += e * (sheet.thickness / 1000) ** 3 / 12 / (radius / 1000)
    lifted = 1000 * math.sqrt(2 * moment / (pressure[0] * 1e6))
    trim = max(layup.panel.trim, 1.0)
    if lifted <= trim:
        return lifted, HOLDS
    return lifted, ENDS_LIFT if lifted <= 3 * trim else LETS_GO


def _pressure_sentences(
    pack: Pack,
    pressure: tuple[float, float] | None,
    verdict: str | None,
    holds: str | None,
    lifted: float | None,
    say: Say,
) -> list[str]:
    if pressure is None:
        return ["Pressure is left out: the file gives none (press: pressure, or bag: yes)."]
    press = pack.layup.press
    size = say.mpa(pressure[0])
    if press.bag:
        size = f"{say.mpa(pressure[0])} to {say.mpa(pressure[1])}, as good as the pump"
        size += f", at {press.altitude:g} m above the sea" if press.altitude else ""
    words = {
        "enough": "enough for this glue",
        "light": "light for this glue, which is for close-lying thin sheets only",
        "too-little": "too little for this glue",
        "too-much": "more than this glue wants",
    }
    out = [f"{'The bag presses' if press.bag else 'The press gives'} {size}: {words[verdict or 'enough']}."]
    if holds is not None and lifted is not None:
        told = {
            HOLDS: "they go with the trim",
            ENDS_LIFT: "strap or clamp them down over a caul",
            LETS_GO: "it does not hold the dry plies to the mould: pre-bend them or use a second mould",
        }
        out.append(
            "Against the spring of the dry plies that closes the mould but for the last "
            f"{say.mm(lifted, 0)} at each end: {told[holds]}."
        )
    return out


def _pressure_findings(
    pack: Pack,
    pressure: tuple[float, float] | None,
    verdict: str | None,
    holds: str | None,
    lifted: float | None,
    say: Say,
) -> list[Finding]:
    out = []
    thick = max((s.thickness for s in pack.sheets if not s.is_board), default=0.0)
    too_thick = verdict == "light" and (thick > LIGHT_SHEET or any(s.no_direction for s in pack.sheets))
    if pressure is not None and (verdict == "too-little" or too_thick):
        wanted = max(glue["pressure_mpa"]["low"] for glue, _ in pack.glues)
        why = (
            "less holds for thin plain sheets that lie close by themselves, and these are not"
            if too_thick
            else "the lines stay thick and weak"
        )
        out.append(
            Finding(
                "pressure-low",
                "mend",
                f"{say.mpa(pressure[0])} is little for this glue, which asks {say.mpa(wanted)} and "
                f"more: {why}.",
                "Clamp between two moulds, or take a glue that asks less, such as epoxy or white glue.",
            )
        )
    if verdict == "too-much":
        most = min(glue["pressure_mpa"]["high"] for glue, _ in pack.glues)
        out.append(
            Finding(
                "pressure-high",
                "mend",
                "The pressure is above the glue's band: it is squeezed out and the lines starve.",
                f"Press with {say.mpa(most)} at most.",
            )
        )
    if holds in (ENDS_LIFT, LETS_GO) and lifted is not None:
        out.append(
            Finding(
                "springs-off",
                "mind" if holds == ENDS_LIFT else "mend",
                f"The press leaves about {say.mm(lifted, 0)} of each end off the mould, more than the trim.",
                "Straps over a caul at the ends, more trim, thinner plies, or plies bent damp and "
                "dried on the "
                "former.",
            )
        )
    return out
