"""What the part does when the air turns: movement, bow along, cup across, twist, and stress in the plies.

Reckoned from the moisture at which the glue set, elastically, so an upper bound: wood creeps.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woodref.layup.asked import Layup
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, bottom_first
from woodref.layup.saying import Say
from woodref.layup.solid import FINISHED, ply_of, thicknesses
from woodref.science import laminate

Floats = NDArray[np.float64]
#: rises of more than so many thicknesses get no number
ROLLS_UP = 3.0
#: a rise that nobody sees on a bench [mm] (our rule)
UNSEEN = 0.5
#: pull across the grain that wood stands [MPa] where no figure is held (Wood Handbook Table 5-3a, 3 to 8)
ACROSS_STRENGTH = (3.0, 8.0)


@dataclass(frozen=True)
class Air:
    """One end of service. strain (3,) and curvature (3,) [1/m] of the middle plane; bow, cup, twist [mm],
    None without a panel size; through: change of thickness as a share; pull: highest tension across the
    grain of each ply [MPa], file order."""

    name: str
    mc: float
    strain: Floats
    curvature: Floats
    bow: float | None
    cup: float | None
    twist: float | None
    through: float
    pull: tuple[float, ...]


@dataclass(frozen=True)
class Shape:
    """dry and damp: None where the figures are not known, with the reason in left_out."""

    dry: Air | None
    damp: Air | None
    left_out: str | None
    beyond: tuple[str, ...]
    thickness: float

    def both(self) -> tuple[Air, ...]:
        return tuple(air for air in (self.dry, self.damp) if air)

    def as_dict(self) -> dict[str, Any]:
        """movement_pct, bow_mm, cup_mm, twist_mm and curvature of the JSON; null where left out."""

        def ends(read: Any) -> dict[str, Any] | None:
            if self.dry is None or self.damp is None:
                return None
            return {"dry": read(self.dry), "damp": read(self.damp)}

        def size(name: str) -> Any:
            return ends(lambda air: _round(getattr(air, name)))

        return {
            "movement_pct": {
                "along": ends(lambda air: round(100 * float(air.strain[0]), 4)),
                "across": ends(lambda air: round(100 * float(air.strain[1]), 4)),
            },
            "bow_mm": size("bow"),
            "cup_mm": size("cup"),
            "twist_mm": size("twist"),
            "curvature_1_per_m": ends(lambda air: [round(float(k), 6) + 0.0 for k in air.curvature]),
            "beyond_linear": list(self.beyond),
            "pull_across_mpa": ends(lambda air: [round(p, 3) for p in air.pull]),
        }


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0


def swollen(pack: Pack, moist: Moist, mc: float, turned: float = 0.0) -> laminate.Stack:
    """The finished pack with each ply's free change from set to mc in place of its betas, in the axes of a
    bend that lies `turned` degrees from the length."""
    plies = []
    for sheet, thick, start in zip(pack.sheets, thicknesses(pack.layup, FINISHED), moist.at_set, strict=True):
        along, across, _ = sheet.strains(start, mc)
        plies.append(replace(ply_of(sheet, thick, turned), beta1=along, beta2=across))
    return laminate.stack(bottom_first(plies))


def through(pack: Pack, moist: Moist, mc: float) -> float:
    """Change of the pack's thickness as a share: each ply's own, and what the plies that hold it in the plane
    press out of it (e_z = own + S13 s1 + S23 s2, at the middle of the ply, elastic)."""
    panel = swollen(pack, moist, mc)
    held = bottom_first(list(laminate.stresses(panel, [1.0] * len(panel.plies)).mean(axis=1)))
    thick, total = thicknesses(pack.layup, FINISHED), 0.0
    for sheet, start, stress, t in zip(pack.sheets, moist.at_set, held, thick, strict=True):
        assert sheet.leaf is not None
        own = sheet.strains(start, mc)[2]
        total += t * (own + sheet.leaf.s13 * float(stress[0]) + sheet.leaf.s23 * float(stress[1]))
    return total / sum(thick)


def shape(pack: Pack, moist: Moist) -> Shape:
    """Movement and warp of the finished part in dry and in damp air."""
    thick = sum(thicknesses(pack.layup, FINISHED))
    if not pack.moves:
        why = f"What the air does to it is left out: {pack.lacking()}."
        return Shape(None, None, why, (), thick)
    ends = [_air(pack, moist, name, mc) for name, mc in (("dry", moist.dry), ("damp", moist.damp))]
    beyond = tuple(
        f"{name} {air.name}"
        for air in ends
        for name in ("bow", "cup", "twist")
        if (rise := getattr(air, name)) is not None and abs(rise) > thick
    )
    return Shape(ends[0], ends[1], None, beyond, thick)


def _air(pack: Pack, moist: Moist, name: str, mc: float) -> Air:
    panel = swollen(pack, moist, mc)
    ones = [1.0] * len(panel.plies)
    strain, curvature = laminate.free_shape(panel, ones)
    # what is left of a mirrored pack's curl is rounding
    curvature = np.where(np.abs(curvature) * panel.h < 1e-9, 0.0, curvature)
    pulls = laminate.stresses(panel, ones)[:, :, 1].max(axis=1) / 1e6
    length, width = _flat_sizes(pack.layup)
    bow = None if length is None else _rise(float(curvature[0]), length)
    cup = None if width is None else _rise(float(curvature[1]), width)
    twist = None
    if length is not None and width is not None:
        # a corner's way out of the plane of the other three: w = -kxy x y / 2
        twist = 1000 * float(curvature[2]) / 2 * length / 1000 * width / 1000
    pull = tuple(float(p) for p in pulls[::-1])
    return Air(name, mc, strain, curvature, bow, cup, twist, through(pack, moist, mc), pull)


def _flat_sizes(layup: Layup) -> tuple[float | None, float | None]:
    """Length and width over which the part is meant to be straight [mm]: neither of a ring, and not the way
    that a bend runs."""
    mould, length, width = layup.mould, layup.panel.length, layup.panel.width
    if mould.radius is None:
        return length, width
    if mould.closed or mould.second_radius is not None:
        return None, None
    return (length, None) if abs(mould.bend) > 45 else (None, width)


def _rise(curvature: float, chord: float) -> float:
    """Rise [mm] over a chord [mm], show face round positive; k c2/8 where the arc would close on itself."""
    found = laminate.rise(curvature, chord / 1000)
    return 1000 * (found if found is not None else curvature * (chord / 1000) ** 2 / 8)


def size(found: Shape, rise: float, say: Say) -> str:
    """A rise in words: a number as far as linear theory goes, the limit it passed beyond that."""
    if abs(rise) <= found.thickness:
        return f"about {say.mm(abs(rise), 1)}"
    if abs(rise) <= ROLLS_UP * found.thickness:
        return f"some {say.mm(abs(rise), 0)}, beyond linear theory"
    return f"more than {say.mm(ROLLS_UP * found.thickness, 0)}: it rolls up"


def _way(name: str, rise: float) -> str:
    if name == "twist":
        return "twists"
    return f"{'bows along its length' if name == 'bow' else 'cups across its width'}, show face " + (
        "round" if rise > 0 else "hollow"
    )


def flat_sentences(pack: Pack, found: Shape, say: Say) -> list[str]:
    """Whether a flat part stays flat, in words."""
    if found.left_out or found.dry is None or found.damp is None:
        return [found.left_out or ""]
    out = []
    sized = pack.layup.panel.length is not None or pack.layup.panel.width is not None
    for air in found.both():
        worst = [
            (name, rise)
            for name in ("bow", "cup", "twist")
            if (rise := getattr(air, name)) is not None and abs(rise) >= UNSEEN
        ]
        head = f"In {air.name} air ({air.mc:.0f} %)"
        if not sized:
            k = air.curvature[:2]
            if np.abs(air.curvature).max() < 1e-6:
                out.append(f"{head} it stays flat.")
            else:
                out.append(
                    f"{head} it curls: radius {_radius(float(k[0]), say)} along and "
                    f"{_radius(float(k[1]), say)} "
                    "across; the panel's size is not given, so no rise."
                )
        elif not worst:
            out.append(f"{head} it stays flat to within {say.mm(UNSEEN)}.")
        else:
            told = "; it ".join(f"{_way(name, rise)}, {size(found, rise, say)}" for name, rise in worst)
            out.append(f"{head} it {told}.")
    out += _limits(found, say)
    out.append(_movement(pack, found, say))
    return out


def across_sentences(found: Shape, say: Say) -> list[str]:
    """How far a curved part leaves the straight across its bend; nothing when it stays straight."""
    out = []
    for air in found.both():
        for name in ("bow", "cup"):
            rise = getattr(air, name)
            if rise is not None and abs(rise) >= UNSEEN:
                told = f"In {air.name} air it {_way(name, rise)}, {size(found, rise, say)}"
                out.append(f"{told}, beside what the bend does.")
    return out


def _radius(curvature: float, say: Say) -> str:
    return "flat" if abs(curvature) < 1e-6 else say.mm(1000 / abs(curvature), 0)


def _limits(found: Shape, say: Say) -> list[str]:
    if not found.beyond:
        return []
    return [
        f"More than about the thickness ({say.mm(found.thickness)}) lies beyond linear theory: a panel that "
        "far from flat rolls up one way or the other. All of it is elastic: wood creeps, and a real panel "
        "moves less."
    ]


def _movement(pack: Pack, found: Shape, say: Say) -> str:
    assert found.dry is not None and found.damp is not None
    along, across = (float(found.damp.strain[i] - found.dry.strain[i]) for i in (0, 1))
    length, width = pack.layup.panel.length, pack.layup.panel.width
    if length is None or width is None:
        return (
            f"From dry to damp it grows {100 * along:.2f} % along and {100 * across:.2f} % across the face."
        )
    return (
        f"From dry to damp it grows {say.mm(along * length, 2)} in its length of {say.mm(length)} and "
        f"{say.mm(across * width, 2)} in its width of {say.mm(width)}: leave that much play."
    )


def shape_findings(pack: Pack, found: Shape, say: Say) -> list[Finding]:
    """Warp that a mend would take away, and faces that may check."""
    out: list[Finding] = []
    dry = found.dry
    if dry is None:
        return out
    for sheet, pull in zip(pack.sheets, dry.pull, strict=True):
        if sheet.number not in (1, len(pack.sheets)) or sheet.is_board:
            continue
        least = sheet.pull_across if sheet.pull_across is not None else ACROSS_STRENGTH[0]
        if pull > least:
            known = (
                f"stands about {say.mpa(least)} (its figure across the grain)"
                if sheet.pull_across is not None
                else f"of most woods stands {ACROSS_STRENGTH[0]:g} to {ACROSS_STRENGTH[1]:g} MPa"
            )
            side = "show face" if sheet.number == 1 else "back"
            out.append(
                Finding(
                    "face-may-check",
                    "mind",
                    f"At the elastic worst, before creep takes most of it, dry air pulls the {side} "
                    "across its "
                    f"grain with {say.mpa(pull)}; a leaf {known}. It may check.",
                    "Set it drier, take a thinner or a quarter cut leaf, or one that moves less; keep the "
                    "loose side in.",
                    sheet.number,
                )
            )
    return out
