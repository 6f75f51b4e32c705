"""Sounding plates and shells: stiffness, speed and radiation ratio both ways, beside a solid plate. No
tone words: numbers of bending, by definitions as in Wegst 2006 (see science.sound)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.layup.asked import PLY_MOISTURE, Layup, PlyAsk
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, Sheet, pack_of
from woodref.layup.saying import Say, pct
from woodref.layup.solid import Solid
from woodref.science import sound

#: uses for which this is told
USES = ("sounding-plate", "shell")


@dataclass(frozen=True)
class Way:
    """One direction. e [Pa] in bending; speed [m/s], ratio [m4/(kg s)]; thickness [mm] for the stiffness
    and for the pitch of the solid plate, None without one."""

    e: float
    speed: float
    ratio: float
    same_stiffness: float | None
    same_pitch: float | None

    def as_dict(self) -> dict[str, Any]:
        return {
            "E_GPa": round(self.e / 1e9, 4),
            "speed_m_s": round(self.speed, 1),
            "radiation_ratio": round(self.ratio, 4),
            "same_stiffness_mm": None if self.same_stiffness is None else round(self.same_stiffness, 3),
            "same_pitch_mm": None if self.same_pitch is None else round(self.same_pitch, 3),
        }


@dataclass(frozen=True)
class Sounding:
    along: Way | None
    across: Way | None
    density: float | None
    plate: str | None
    damping: float | None
    sentences: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "along": self.along.as_dict() if self.along else None,
            "across": self.across.as_dict() if self.across else None,
            "density_kg_m3": None if self.density is None else round(self.density, 1),
            "plate": self.plate,
            "loss_tangent": self.damping,
        }


def sounding(
    pack: Pack, finished: Solid, moist: Moist, catalogue: Catalogue, on: dt.date, say: Say, region: str | None
) -> Sounding | None:
    """For a use that sounds; None for all others. Density with its glue, at the middle of service."""
    if pack.layup.use not in USES:
        return None
    if finished.moduli is None or finished.areal_mass is None:
        why = f"How it sounds is left out: {pack.lacking()}."
        return Sounding(None, None, None, None, None, (why,))
    density = finished.areal_mass / finished.thickness
    solid = _plate(pack, catalogue, on, region, moist)
    ways = []
    for e, plate_e in ((finished.moduli.Efx, 0), (finished.moduli.Efy, 1)):
        stiff = pitch = None
        if solid:
            thick, moduli, rho, _ = solid
            stiff = thick * sound.same_stiffness(moduli[plate_e], e)
            pitch = thick * sound.same_pitch(moduli[plate_e], rho, e, density)
        ways.append(Way(e, sound.speed(e, density), sound.radiation_ratio(e, density), stiff, pitch))
    name = solid[3] if solid else None
    return Sounding(
        ways[0], ways[1], density, name, None, tuple(_sentences(pack.layup, ways, density, solid, say))
    )


def plate_sheet(pack: Pack, catalogue: Catalogue, on: dt.date, region: str | None) -> Sheet | None:
    """The solid plate of the file as a sheet with its figures; None where the file names none."""
    plate = pack.layup.plate
    if plate is None:
        return None
    ask = PlyAsk(plate.material, None, plate.thickness, 0.0, plate.cut, where=plate.where)
    alone = Layup("plate", (ask,), room=pack.layup.room)
    return pack_of(alone, catalogue, on, region, pack.estimates).sheets[0]


def _plate(
    pack: Pack, catalogue: Catalogue, on: dt.date, region: str | None, moist: Moist
) -> tuple[float, tuple[float, float], float, str] | None:
    """The solid plate of the file: thickness [mm], stiffness along and across [Pa], density [kg/m3], name."""
    plate, sheet = pack.layup.plate, plate_sheet(pack, catalogue, on, region)
    if plate is None or sheet is None or sheet.leaf is None or sheet.dry_mass is None:
        return None
    density = sheet.dry_mass / sheet.thickness * (1 + moist.middle / 100)
    return plate.thickness, (sheet.leaf.e1, sheet.leaf.e2), density, f"{sheet.name}, {plate.cut} cut"


def _sentences(
    layup: Layup,
    ways: list[Way],
    density: float,
    solid: tuple[float, tuple[float, float], float, str] | None,
    say: Say,
) -> list[str]:
    along, across = ways
    out = [
        f"Bent along the length it is as stiff as a solid of {say.gpa(along.e / 1e9)}, across "
        f"{say.gpa(across.e / 1e9)}; "
        f"it weighs {say.density(density)} with its glue.",
        f"Speed of sound {along.speed:,.0f} m/s along and {across.speed:,.0f} m/s across; radiation ratio "
        f"{along.ratio:.1f} and {across.ratio:.1f} m4/(kg s).",
    ]
    if solid is None:
        if layup.plate is None:
            out.append(
                "Beside a solid plate nothing is said: the file names none (plate: material, cut, thickness)."
            )
        else:
            out.append(f"Beside {layup.plate.material} nothing is said: its figures are not known.")
    elif along.same_stiffness and across.same_stiffness and along.same_pitch and across.same_pitch:
        thick, _, _, name = solid
        out.append(
            f"Beside a solid plate of {name}, {say.mm(thick)} as it is laid at {pct(PLY_MOISTURE)}: "
            f"of the same build {say.mm(along.same_stiffness)} is as "
            f"stiff along ({say.mm(across.same_stiffness)} across), and {say.mm(along.same_pitch)} "
            "has the same pitch "
            f"along ({say.mm(across.same_pitch)} across)."
        )
    out.append("Its damping is not known: no sourced figure is held, and none is guessed.")
    return out
