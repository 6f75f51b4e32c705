"""Sound in a plate or bar, along one direction, from stiffness [Pa] and density [kg/m3].

Definitions as in Wegst 2006, American Journal of Botany 93:1439.
"""

from __future__ import annotations

import math


def speed(e: float, density: float) -> float:
    """Speed of sound sqrt(E/rho) [m/s]."""
    return math.sqrt(e / density)


def impedance(e: float, density: float) -> float:
    """Characteristic impedance sqrt(E rho) [kg/(m2 s)]."""
    return math.sqrt(e * density)


def radiation_ratio(e: float, density: float) -> float:
    """sqrt(E/rho^3) [m4/(kg s)]: also the inverse of the mass of a plate of the same pitch."""
    return math.sqrt(e / density**3)


def same_stiffness(e: float, other_e: float) -> float:
    """Thickness of another plate over this one's for the same bending stiffness: (E/E')^(1/3)."""
    return float((e / other_e) ** (1 / 3))


def same_pitch(e: float, density: float, other_e: float, other_density: float) -> float:
    """Thickness of another plate over this one's for the same pitch: sqrt(E rho' / (E' rho))."""
    return math.sqrt(e * other_density / (other_e * density))
