"""Bent parts: what springs back, how the bend moves with the air, the mould to make; rings; double curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.layup import geometry
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, bottom_first
from woodref.layup.rounds import double_findings, double_of, double_sentences, ring_of, ring_sentences
from woodref.layup.saying import Say, pct
from woodref.layup.shape import swollen, through
from woodref.layup.solid import PRESSED, ply_of, thicknesses
from woodref.science import bending, laminate

#: glues that give under a steady load: no figure for what they open (their files say how far they creep)
GIVES = ("some", "much")
#: change of an angle that rounds to nothing [degrees]
UNSEEN = 0.05
HOLDS_ANGLE = "holds to a tenth of a degree"


@dataclass(frozen=True)
class Turned:
    """The bend in one air. by_formula: change of its angle [degrees] by movement round and through; by_curl:
    what an unbalanced pack adds; None where the turn or the movement is not known. round_, through: change of
    size round the bend and through the thickness as shares; curl [1/m], closing positive."""

    name: str
    by_formula: float | None
    by_curl: float | None
    round_: float | None = None
    through: float | None = None
    curl: float | None = None

    @property
    def total(self) -> float | None:
        if self.by_formula is None or self.by_curl is None:
            return None
        return self.by_formula + self.by_curl


@dataclass(frozen=True)
class Curve:
    """angle [degrees]; lost: share of the curvature that springs back, None where it is not known or the ring
    is closed; mould: radius [mm] of the working surface to make for the drawn one, by cause."""

    angle: float | None
    lost: float | None
    gives: bool
    dry: Turned
    damp: Turned
    middle: Turned
    mould: dict[str, float | None]
    ring: dict[str, Any] | None
    double: dict[str, float] | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """bend_angle_change_deg, springback_pct, mould_radius_mm and the rest of the JSON."""

        def deg(read: Any) -> dict[str, Any]:
            return {t.name: None if read(t) is None else round(read(t), 4) for t in (self.dry, self.damp)}

        return {
            "bend_angle_deg": None if self.angle is None else round(self.angle, 4),
            "bend_angle_change_deg": deg(lambda t: t.by_formula),
            "bend_curl_deg": deg(lambda t: t.by_curl),
            "springback_pct": None if self.lost is None else round(100 * self.lost, 4),
            "springback_grows": self.gives,
            "mould_radius_mm": {k: None if v is None else round(v, 2) for k, v in self.mould.items()},
            "ring": self.ring,
            "double_curve_too_long_mm": self.double,
        }


def modulus_at(ply: laminate.Ply) -> float:
    """Stiffness [Pa] of a ply pulled along x: 1/Ex = c4/E1 + s4/E2 + (1/G - 2 nu/E1) s2 c2 (Kaw Eq.
    2.112)."""
    c2, s2 = math.cos(math.radians(ply.theta)) ** 2, math.sin(math.radians(ply.theta)) ** 2
    soft = c2**2 / ply.e1 + s2**2 / ply.e2 + (1 / ply.g12 - 2 * ply.nu12 / ply.e1) * s2 * c2
    return 1 / soft


def curve(pack: Pack, moist: Moist, say: Say) -> Curve | None:
    """Everything about the bend; None for a flat part."""
    layup = pack.layup
    if layup.mould.radius is None:
        return None
    turn = geometry.turn(layup)
    angle = None if turn is None else math.degrees(turn)
    lost = None
    if pack.stiff and not layup.mould.closed:
        thick = thicknesses(layup, PRESSED)
        plies = [ply_of(s, t, layup.mould.bend) for s, t in zip(pack.sheets, thick, strict=True)]
        lost = bending.springback(
            [p.t for p in bottom_first(plies)], [modulus_at(p) for p in bottom_first(plies)]
        )
    gives = any(glue["creep"] in GIVES for glue, _ in pack.glues)
    dry, damp, middle = (
        _turned(pack, moist, name, mc, angle)
        for name, mc in (("dry", moist.dry), ("damp", moist.damp), ("middle", moist.middle))
    )
    mould = _mould(pack, lost, middle)
    ring = (
        ring_of(pack, (dry.round_, dry.through), (damp.round_, damp.through)) if layup.mould.closed else None
    )
    double = double_of(pack)
    said = [
        *_bend_sentences(pack, moist, angle, lost, gives, (dry, damp, middle), mould, say),
        *ring_sentences(ring, say),
        *double_sentences(pack, double, say),
    ]
    found = [*_creep(gives, layup.mould.closed), *double_findings(pack, double, say)]
    return Curve(angle, lost, gives, dry, damp, middle, mould, ring, double, tuple(said), tuple(found))


def _turned(pack: Pack, moist: Moist, name: str, mc: float, angle: float | None) -> Turned:
    if not pack.moves:
        return Turned(name, None, None)
    layup = pack.layup
    panel = swollen(pack, moist, mc, layup.mould.bend)
    strain, curl = laminate.free_shape(panel, [1.0] * len(panel.plies))
    round_, thicker = float(strain[0]), through(pack, moist, mc)
    # show face round is what a curl counts positive; on a part whose show face is hollow it opens the bend
    sign = 1 if layup.mould.show_outside else -1
    closes = sign * float(curl[0]) if abs(float(curl[0])) * panel.h > 1e-9 else 0.0
    if layup.mould.closed:
        return Turned(name, None, None, round_, thicker, 0.0)
    if angle is None:
        return Turned(name, None, None, round_, thicker, closes)
    changed = bending.angle_change(angle, round_, thicker)
    size = geometry.curved_size(layup) or geometry.arc_length(layup) or 0.0
    return Turned(name, changed, math.degrees(closes * size / 1000), round_, thicker, closes)


def _mould(pack: Pack, lost: float | None, turned: Turned) -> dict[str, float | None]:
    """Radius of the working surface to make, so that the part ends at the drawn one: for the spring alone,
    for drying to the middle of service alone, for both."""
    layup = pack.layup
    assert layup.mould.radius is not None
    half = layup.thickness / 2
    out = layup.mould.convex
    centre = layup.mould.radius + (half if out else -half)

    def surface(dry: bool, spring: float) -> float | None:
        """1/R(mould) (1 - spring)/(1 + e_thickness) + curl = 1/R(drawn), at the middle of the pack."""
        curl, grown = (turned.curl, turned.through) if dry else (0.0, 0.0)
        if curl is None or grown is None:
            return None
        left = 1 / centre - curl / 1000
        if left <= 0:
            return None
        radius = (1 - spring) / (left * (1 + grown)) - (half if out else -half)
        return radius if radius > 0 else None

    return {
        "drawn": layup.mould.radius,
        "for_springback": None if lost is None else surface(False, lost),
        "for_drying": None if layup.mould.closed else surface(True, 0.0),
        "for_both": None if lost is None else surface(True, lost),
    }


def moves(dry: float, damp: float) -> str:
    """'opens by 1.2 degrees in dry air and by 0.4 degrees in damp air', or each its own way."""
    one, two = move_words(dry), move_words(damp)
    if one == two == HOLDS_ANGLE:
        return f"{one} in dry and in damp air"
    if HOLDS_ANGLE not in (one, two) and dry * damp > 0:
        two = two.partition(" ")[2]
    return f"{one} in dry air and {two} in damp air"


def move_words(degrees: float) -> str:
    """'closes by 1.2 degrees', or that it holds."""
    if abs(degrees) < UNSEEN:
        return HOLDS_ANGLE
    return f"{'closes' if degrees > 0 else 'opens'} by {abs(degrees):.1f} degrees"


def _bend_sentences(
    pack: Pack,
    moist: Moist,
    angle: float | None,
    lost: float | None,
    gives: bool,
    turns: Sequence[Turned],
    mould: dict[str, float | None],
    say: Say,
) -> list[str]:
    layup = pack.layup
    if layup.mould.closed:
        return ["A closed ring holds its own bend: nothing springs back."]
    out = []
    dry, damp, middle = turns
    if angle is None:
        out.append(
            "How the bend moves is left out: the file gives neither its angle nor the panel's size along it."
        )
    elif dry.total is None or damp.total is None or middle.total is None:
        out.append(f"How the bend moves is left out: {pack.lacking()}.")
    else:
        out.append(f"The bend of {angle:.0f} degrees {moves(dry.total, damp.total)}, counted from the press.")
        if abs(dry.by_curl or 0) >= UNSEEN:
            out.append(
                "Plies without an equal opposite have their share: by them alone it "
                f"{move_words(dry.by_curl or 0)} "
                "in dry air."
            )
        if max(abs(t.by_formula or 0) for t in (dry, damp)) >= 2 * UNSEEN:
            out.append(
                "A mirrored pack keeps a flat panel flat, but it does not hold a bend: wood shrinks "
                "more through its "
                "thickness than round the curve."
            )
    if lost is None:
        out.append(f"What springs back is left out: {pack.lacking()}.")
        return out
    out.append(
        f"Out of the press it springs back {pct(100 * lost, 2 if lost < 0.01 else 1)} of its curve "
        "(rigid lines, "
        "elastic plies)."
        + (
            " This glue gives under load: the bend opens further over months, and for how far there "
            "is no figure."
            if gives
            else ""
        )
    )
    out += _mould_sentences(mould, moist, say)
    return out


def _mould_sentences(mould: dict[str, float | None], moist: Moist, say: Say) -> list[str]:
    drawn, spring, dried, both = (mould[k] for k in ("drawn", "for_springback", "for_drying", "for_both"))
    if spring is None or drawn is None:
        return []
    if dried is None or both is None:
        return [f"For a part of the drawn radius make the mould {say.mm(spring)} instead of {say.mm(drawn)}."]
    if abs(both - drawn) < 0.005 * drawn:
        return ["Spring and drying cancel to within half a percent: make the mould as drawn."]
    return [
        f"For a part that ends at the drawn {say.mm(drawn)} at {moist.middle:.0f} %, make the mould "
        f"{say.mm(both)}: {say.mm(spring)} would do for the spring alone, {say.mm(dried)} for the "
        "drying alone."
    ]


def _creep(gives: bool, closed: bool) -> list[Finding]:
    if not gives or closed:
        return []
    return [
        Finding(
            "creeps",
            "mend",
            "The glue gives under load, and the spring of a bend is a load that never ends: it opens "
            "over months.",
            "A rigid glue (urea resin, epoxy, resorcinol), or more and thinner plies, which spring less.",
        )
    ]
