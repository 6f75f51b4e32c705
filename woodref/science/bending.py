"""Bending leaves round a mould: strain, the smallest radius, what springs back, how an angle moves.

Elastic rules of beams; trade bands are marked where they are used. Lengths in m, moduli in Pa unless said.
"""

from __future__ import annotations

from collections.abc import Sequence


def outer_strain(thickness: float, inner_radius: float) -> float:
    """Strain of the outer face of a leaf bent to an inner radius, neutral axis in its middle."""
    return (thickness / 2) / (inner_radius + thickness / 2)


def smallest_radius(thickness: float, strain: float) -> float:
    """Inner radius at which the outer face reaches a strain (about MOR/MOE for dry wood)."""
    return thickness / 2 * (1 / strain - 1)


def springback(thicknesses: Sequence[float], moduli: Sequence[float]) -> float:
    """Share of the curvature lost when plies bent one by one are glued rigidly and let go.

    phi = sum(E t^3/12) / EI of the glued stack about its elastic middle; 1/n^2 for n equal plies. moduli:
    each ply's stiffness in the direction of the bend. Creeping glues open further: no figure.
    """
    total = sum(e * t for e, t in zip(moduli, thicknesses, strict=True))
    middles, z = [], 0.0
    for t in thicknesses:
        middles.append(z + t / 2)
        z += t
    centre = sum(e * t * m for e, t, m in zip(moduli, thicknesses, middles, strict=True)) / total
    own = sum(e * t**3 / 12 for e, t in zip(moduli, thicknesses, strict=True))
    moved = sum(e * t * (m - centre) ** 2 for e, t, m in zip(moduli, thicknesses, middles, strict=True))
    return own / (own + moved)


def mould_radius(wanted: float, lost: float) -> float:
    """Radius to make the mould so that the part springs to the wanted one: R (1 - lost)."""
    return wanted * (1 - lost)


def angle_change(angle: float, along_the_round: float, through: float) -> float:
    """Change of a bend's angle [the unit of angle] when the part swells by strains along the round and
    through its thickness: d(theta)/theta = (e_round - e_thickness) / (1 + e_thickness). Kinematics of a
    curved shell; a mirrored pack keeps a flat panel flat, but does not hold a bend."""
    return angle * (along_the_round - through) / (1 + through)


def too_long(length: float, width: float, radius_1: float, radius_2: float) -> float:
    """How much longer [m] a flat sheet's edge is than a doubly curved mould gives it room for:
    about L w^2 / (8 R1 R2)."""
    return length * width**2 / (8 * radius_1 * radius_2)
