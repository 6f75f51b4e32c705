"""Stiffness of a leaf in its own plane, from the constants of the wood and the way it was cut.

Wood Handbook (FPL-GTR-190) Table 5-1: ratios refer to E_L, which is 1.10 times the bending stiffness, whose
test span lets shear in. Stiffnesses in one unit throughout; angles in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

#: E_L over the static bending stiffness (note to Table 5-1); never applied twice, nor to other tests
E_L_OVER_BENDING = 1.10
#: cuts whose face lies tangential or radial; rift lies between, at the angle of its rings to the face
TANGENTIAL, RADIAL, BETWEEN = ("rotary", "crown", "half-round"), ("quarter",), ("rift",)


def along_grain(bending: float) -> float:
    """E_L from a static bending stiffness."""
    return E_L_OVER_BENDING * bending


@dataclass(frozen=True)
class Wood:
    """Constants of one wood: el in any unit, the others as ratios of it and major Poisson ratios."""

    el: float
    er: float
    et: float
    glr: float
    glt: float
    grt: float
    nu_lr: float
    nu_lt: float
    nu_rt: float
    beta_r: float
    beta_t: float
    beta_l: float = 0.0


@dataclass(frozen=True)
class Leaf:
    """In-plane constants of a leaf: e1 along, e2 across, g12, nu12; beta1 and beta2 in the plane and
    beta3 through the thickness, strain per percent point of moisture. s13, s23: strain through the
    thickness per stress along and across (below 0; 0 where it is not known)."""

    e1: float
    e2: float
    g12: float
    nu12: float
    beta1: float
    beta2: float
    beta3: float
    s13: float = 0.0
    s23: float = 0.0


def leaf(wood: Wood, cut: str, rings: float = 45.0) -> Leaf:
    """Constants of a leaf by its cut; rings: angle between the rings and the face of a rift leaf, 0 (as
    crown) to 90 (as quarter).

    Across a rift leaf 1/E = cos4/ET + sin4/ER + (1/GRT - 2 nuRT/ER) sin2 cos2: rolling shear makes it far
    softer than either pure cut. Raises ValueError for a cut without directions, such as burr.
    """
    if cut in TANGENTIAL:
        angle = 0.0
    elif cut in RADIAL:
        angle = 90.0
    elif cut in BETWEEN:
        if not 0 <= rings <= 90:
            raise ValueError(f"rings at {rings:g} degrees to the face: 0 to 90 is possible")
        angle = rings
    else:
        raise ValueError(f"a {cut} leaf has no directions of its own")
    c2, s2 = math.cos(math.radians(angle)) ** 2, math.sin(math.radians(angle)) ** 2
    er, et, grt = wood.er * wood.el, wood.et * wood.el, wood.grt * wood.el
    across = c2**2 / et + s2**2 / er + (1 / grt - 2 * wood.nu_rt / er) * s2 * c2
    shear = c2 / (wood.glt * wood.el) + s2 / (wood.glr * wood.el)
    # through a crown leaf lies R, through a quarter leaf T; between them the compliances turn with the rings
    through_along = -(wood.nu_lr * c2 + wood.nu_lt * s2) / wood.el
    plain = -wood.nu_rt / er
    through_across = plain + (1 / et + 1 / er - 2 * plain - 1 / grt) * s2 * c2
    return Leaf(
        wood.el,
        1 / across,
        1 / shear,
        wood.nu_lt * c2 + wood.nu_lr * s2,
        wood.beta_l,
        wood.beta_t * c2 + wood.beta_r * s2,
        wood.beta_r * c2 + wood.beta_t * s2,
        through_along,
        through_across,
    )


#: change of stiffness [%] from 20 C to +50 C and to -50 C by moisture [%], along and across the grain (Wood
#: Handbook Table 5-15; across it gives +50 C alone, and the colder side of it is left as it is)
_WARM_ALONG, _COLD_ALONG = ((0.0, -6.0), (12.0, -7.0)), ((0.0, 11.0), (12.0, 17.0), (30.0, 50.0))
_WARM_ACROSS = ((6.0, -20.0), (12.0, -35.0), (20.0, -38.0))
#: temperatures that the table spans [C]
COLDEST, NORMAL, WARMEST = -50.0, 20.0, 50.0


def _between(points: tuple[tuple[float, float], ...], at: float) -> float:
    """Straight between the points, level outside them."""
    if at <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


def warmth_factor(temperature: float, mc: float, across: bool = False) -> float:
    """Stiffness at a temperature [C, -50 to 50] and moisture [%] over that at 20 C (Table 5-15, straight
    between its temperatures). A passing change; ValueError outside the table."""
    if not COLDEST <= temperature <= WARMEST:
        raise ValueError(f"{temperature:g} C is outside the table: {COLDEST:g} to {WARMEST:g} C")
    if temperature >= NORMAL:
        change = _between(_WARM_ACROSS if across else _WARM_ALONG, mc)
        share = (temperature - NORMAL) / (WARMEST - NORMAL)
    else:
        change = 0.0 if across else _between(_COLD_ALONG, mc)
        share = (NORMAL - temperature) / (NORMAL - COLDEST)
    return 1 + change / 100 * share
