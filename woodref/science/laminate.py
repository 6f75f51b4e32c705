"""Classical laminate theory for packs of veneer: stiffness, moduli, moisture warp, stress in the plies.

Jones, Mechanics of Composite Materials; Kaw, Mechanics of Composite Materials, 2nd ed., chapters 2 and 4.
Plies are given bottom first, z from -h/2 at the bottom of the first. Units: Pa, m, N/m, N, N m; angles in
degrees from x to the grain, counter-clockwise; moisture in percent points, beta in strain per point.
Everything is elastic: wood creeps and yields, so warp and stress are upper bounds, and a rise of more than
about the thickness lies beyond linear theory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
#: a coupling smaller than this share of max|A| h counts as none
NO_COUPLING = 1e-9


@dataclass(frozen=True)
class Ply:
    """One sheet in its own plane: e1 along the grain, e2 across, g12 [Pa], nu12 major Poisson ratio, theta
    [deg], t [m], beta1 and beta2 [strain per percent point of moisture]."""

    e1: float
    e2: float
    nu12: float
    g12: float
    theta: float
    t: float
    beta1: float = 0.0
    beta2: float = 0.0


@dataclass(frozen=True)
class Stack:
    """A (N/m), B (N), D (N m), each (3, 3), and z (n + 1,) of the interfaces [m]."""

    plies: tuple[Ply, ...]
    A: Floats
    B: Floats
    D: Floats
    z: Floats

    @property
    def h(self) -> float:
        """Thickness [m]."""
        return float(self.z[-1] - self.z[0])

    @property
    def full(self) -> Floats:
        """[[A, B], [B, D]], (6, 6)."""
        return np.block([[self.A, self.B], [self.B, self.D]])

    @property
    def coupled(self) -> bool:
        """Whether stretching bends it: B is more than rounding."""
        return bool(np.abs(self.B).max() > NO_COUPLING * np.abs(self.A).max() * self.h)


def reduced(ply: Ply) -> Floats:
    """Q (3, 3) of a ply in its own axes [Pa] (Kaw Eq. 2.93); ValueError when it is no stable material."""
    nu21 = ply.nu12 * ply.e2 / ply.e1
    d = 1 - ply.nu12 * nu21
    if min(ply.e1, ply.e2, ply.g12) <= 0 or d <= 0:
        raise ValueError("a ply needs positive stiffnesses and |nu12| below sqrt(e1/e2)")
    return np.array(
        [[ply.e1 / d, ply.nu12 * ply.e2 / d, 0], [ply.nu12 * ply.e2 / d, ply.e2 / d, 0], [0, 0, ply.g12]]
    )


def turn(theta: float) -> Floats:
    """(3, 3): engineering strains in x, y -> strains along and across grain at theta [deg]."""
    c, s = np.cos(np.radians(theta)), np.sin(np.radians(theta))
    return np.array([[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]])


def rotated(e1: Floats, e2: Floats, nu12: Floats, g12: Floats, theta: Floats) -> Floats:
    """Q in the panel's axes of many plies at once: arrays of one shape (...) -> (..., 3, 3) (Kaw Eq. 2.104).

    No check of the constants: `reduced` is where a single ply is refused.
    """
    d = 1 - nu12**2 * e2 / e1
    q11, q22, q12 = e1 / d, e2 / d, nu12 * e2 / d
    c, s = np.cos(np.radians(theta)), np.sin(np.radians(theta))
    c2, s2, cs = c * c, s * s, c * s
    b11 = q11 * c2**2 + 2 * (q12 + 2 * g12) * s2 * c2 + q22 * s2**2
    b22 = q11 * s2**2 + 2 * (q12 + 2 * g12) * s2 * c2 + q22 * c2**2
    b12 = (q11 + q22 - 4 * g12) * s2 * c2 + q12 * (s2**2 + c2**2)
    b66 = (q11 + q22 - 2 * q12 - 2 * g12) * s2 * c2 + g12 * (s2**2 + c2**2)
    b16 = cs * ((q11 - q12 - 2 * g12) * c2 - (q22 - q12 - 2 * g12) * s2)
    b26 = cs * ((q11 - q12 - 2 * g12) * s2 - (q22 - q12 - 2 * g12) * c2)
    rows = [[b11, b12, b16], [b12, b22, b26], [b16, b26, b66]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def matrices(q: Floats, t: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """A, B, D (..., 3, 3) and z (..., n + 1) of packs of n plies bottom first: q (..., n, 3, 3) as `rotated`
    gives them, t (..., n) (Kaw Eq. 4.28). A thousand packs are one call."""
    z = np.concatenate([np.zeros((*t.shape[:-1], 1)), np.cumsum(t, axis=-1)], axis=-1)
    z = z - z[..., -1:] / 2
    a, b, d = (np.einsum("...nij,...n->...ij", q, np.diff(z**k, axis=-1)) / k for k in (1, 2, 3))
    return a, b, d, z


def shapes(q: Floats, t: Floats, free: Floats) -> tuple[Floats, Floats]:
    """Mid-plane strain and curvature [1/m], (..., 3) each, of many packs left free, from what each ply would
    do alone: free (..., n, 3) in the panel's axes, q and t as for `matrices`."""
    a, b, d, z = matrices(q, t)
    whole = np.concatenate([np.concatenate([a, b], axis=-1), np.concatenate([b, d], axis=-1)], axis=-2)
    push = np.einsum("...nij,...nj->...ni", q, free)
    force = np.einsum("...ni,...n->...i", push, np.diff(z, axis=-1))
    moment = np.einsum("...ni,...n->...i", push, np.diff(z**2, axis=-1)) / 2
    found = np.linalg.solve(whole, np.concatenate([force, moment], axis=-1)[..., None])[..., 0]
    return found[..., :3], found[..., 3:]


def in_panel(ply: Ply) -> Floats:
    """Q of one ply in the panel's axes, (3, 3) [Pa]; ValueError as `reduced`."""
    reduced(ply)
    return rotated(*(np.asarray(v, dtype=np.float64) for v in (ply.e1, ply.e2, ply.nu12, ply.g12, ply.theta)))


def swelling(ply: Ply) -> Floats:
    """Free strain (x, y, xy) per percent point of moisture in the panel's axes."""
    c, s = np.cos(np.radians(ply.theta)), np.sin(np.radians(ply.theta))
    b1, b2 = ply.beta1, ply.beta2
    return np.array([b1 * c * c + b2 * s * s, b1 * s * s + b2 * c * c, 2 * c * s * (b1 - b2)])


def stack(plies: Sequence[Ply]) -> Stack:
    """A, B and D of plies given bottom first (Kaw Eq. 4.28)."""
    if not plies:
        raise ValueError("a stack needs a ply")
    q = np.array([in_panel(p) for p in plies])
    a, b, d, z = matrices(q, np.array([p.t for p in plies]))
    return Stack(tuple(plies), a, b, d, z)


@dataclass(frozen=True)
class Moduli:
    """Of a solid sheet of the same thickness [Pa]: Ex, Ey, Gxy pulled and sheared, Efx, Efy bent."""

    Ex: float
    Ey: float
    Gxy: float
    Efx: float
    Efy: float
    definition: str


FREE, FLAT = "free to curl", "held flat"


def moduli(panel: Stack, definition: str = FREE) -> Moduli:
    """Effective moduli. free to curl: from the inverse of the whole 6 x 6; held flat: from inv(A) and
    inv(D) alone. The two are equal where nothing couples."""
    h = panel.h
    if definition == FREE:
        inverse = np.linalg.inv(panel.full)
        a, d = inverse[:3, :3], inverse[3:, 3:]
    else:
        a, d = np.linalg.inv(panel.A), np.linalg.inv(panel.D)
    bend = 12 / h**3
    return Moduli(
        1 / (h * a[0, 0]), 1 / (h * a[1, 1]), 1 / (h * a[2, 2]), bend / d[0, 0], bend / d[1, 1], definition
    )


def resultants(panel: Stack, change: Sequence[float | tuple[float, float]]) -> Floats:
    """(6,): forces N^H [N/m] and moments M^H [N] of moisture changes, one a ply [percent points]; a pair
    is the change at the ply's bottom and top, linear in between."""
    out = np.zeros(6)
    for ply, bottom, top, given in zip(panel.plies, panel.z[:-1], panel.z[1:], change, strict=True):
        b0, b1 = given if isinstance(given, tuple) else (given, given)
        slope = (b1 - b0) / (top - bottom)
        force = b0 * (top - bottom) + slope * (top - bottom) ** 2 / 2
        moment = (b0 - slope * bottom) * (top**2 - bottom**2) / 2 + slope * (top**3 - bottom**3) / 3
        push = in_panel(ply) @ swelling(ply)
        out[:3] += push * force
        out[3:] += push * moment
    return out


def free_shape(panel: Stack, change: Sequence[float | tuple[float, float]]) -> tuple[Floats, Floats]:
    """Mid-plane strain (3,) and curvature (3,) [1/m] of a free panel after moisture changes."""
    found: Floats = np.asarray(np.linalg.solve(panel.full, resultants(panel, change)), dtype=np.float64)
    return found[:3], found[3:]


def stresses(panel: Stack, change: Sequence[float]) -> Floats:
    """(n, 2, 3): stress along, across and shear [Pa] at the bottom and top of each ply of a free panel."""
    strain, curvature = free_shape(panel, change)
    out = np.zeros((len(panel.plies), 2, 3))
    for k, (ply, moist) in enumerate(zip(panel.plies, change, strict=True)):
        free = np.array([ply.beta1, ply.beta2, 0.0]) * moist
        for side in (0, 1):
            there = turn(ply.theta) @ (strain + panel.z[k + side] * curvature)
            out[k, side] = reduced(ply) @ (there - free)
    return out


def rise(curvature: float, chord: float) -> float | None:
    """Height of an arc [m] over a chord [m]; None where the chord is longer than the arc's diameter."""
    k = abs(curvature)
    if k * chord >= 2:
        return None
    if k * chord < 1e-6:
        return float(np.copysign(k * chord**2 / 8, curvature))
    return float(np.copysign((1 - np.sqrt(1 - (k * chord / 2) ** 2)) / k, curvature))
