"""Moisture of wood in air, and how far wood moves across the grain when it changes.

Wood Handbook (FPL-GTR-190, FPL-GTR-282): Eq. 4-5 for the moisture that wood settles at, Eq. 13-2 and
Table 13-5 for movement. Moisture in percent of oven-dry mass, temperature in degrees Celsius, relative
humidity as a share (0..1).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from woodref.errors import BadQuantity
from woodref.science.density import FIBRE_SATURATION

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: the air for which Eq. 4-5 was fitted (Table 4-2)
RH_RANGE = (0.0, 0.95)
TEMPERATURE_RANGE = (-5.0, 130.0)


def equilibrium(rh: float, temperature: float = 20.0) -> float:
    """Moisture [%] that wood settles at in air of relative humidity rh (0..0.95) and temperature
    [deg C] (Eq. 4-5, two-hydrate Hailwood-Horrobin fit, Simpson 1973).

    A mean of drying and wetting for any wood: single woods lie one or two points either side (from
    memory). BadQuantity outside the data behind the table.
    """
    if not RH_RANGE[0] <= rh <= RH_RANGE[1]:
        raise BadQuantity(f"{100 * rh:g} % relative humidity is outside the table", expected="0 to 95 %")
    if not TEMPERATURE_RANGE[0] <= temperature <= TEMPERATURE_RANGE[1]:
        raise BadQuantity(f"{temperature:g} C is outside the table", expected="-5 to 130 C")
    t = temperature
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * rh
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


def humidity_for(mc: float, temperature: float = 20.0) -> float:
    """Relative humidity (0..0.95) in which wood settles at mc [%]: Eq. 4-5 turned round by halving.

    BadQuantity when no air of the table gives that moisture.
    """
    low, high = RH_RANGE
    if not 0 <= mc <= equilibrium(high, temperature):
        raise BadQuantity(
            f"no air of the table keeps wood at {mc:g} %",
            expected=f"0 to {equilibrium(high, temperature):.1f} % at {temperature:g} C",
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if equilibrium(middle, temperature) < mc else (low, middle)
    return (low + high) / 2


def coefficient(total_shrinkage: float, at: float = 10.0) -> float:
    """Change per 1 % moisture (a share, not percent) near moisture `at` [%] from the total shrinkage
    green to oven-dry [%]: C = 1 / (100 MCfs/S0 - MCfs + M), which is how Table 13-5 follows from 4-3."""
    return 1 / (100 * FIBRE_SATURATION / total_shrinkage - FIBRE_SATURATION + at)


def total_of(coefficient_at_10: float) -> float:
    """Total shrinkage green to oven-dry [%] behind a change per 1 % (a share) near 10 %: `coefficient`
    turned round."""
    return 100 * FIBRE_SATURATION / (1 / coefficient_at_10 + FIBRE_SATURATION - 10)


def strain(total_shrinkage: float, mc_from: float, mc_to: float) -> float:
    """Change of a size as a share of it, from mc_from to mc_to [%], 0 % to fibre saturation (Eq. 13-3):
    the long way, for wood that dries from glue-wet. total_shrinkage: green to oven-dry [%]; above
    fibre saturation nothing moves. Positive: it grows."""
    start, end = min(mc_from, FIBRE_SATURATION), min(mc_to, FIBRE_SATURATION)
    if total_shrinkage == 0:
        return 0.0
    return (end - start) / (100 * FIBRE_SATURATION / total_shrinkage - FIBRE_SATURATION + start)


def strains(totals: Floats, mc_from: float, mc_to: float) -> Floats:
    """`strain` of many total shrinkages [%] at once, in an array of their shape."""
    import numpy as np

    start, end = min(mc_from, FIBRE_SATURATION), min(mc_to, FIBRE_SATURATION)
    moving = np.where(totals == 0, 1.0, totals)
    found = (end - start) / (100 * FIBRE_SATURATION / moving - FIBRE_SATURATION + start)
    return np.where(totals == 0, 0.0, found)


def movement(size: float, total_shrinkage: float, mc_from: float, mc_to: float) -> float:
    """Change of a size (same unit) across the grain from mc_from to mc_to [%], 6..14 % (Eq. 13-2).

    Positive: it grows.
    """
    return size * coefficient(total_shrinkage) * (mc_to - mc_from)


def strength_at(at_12: float, green: float, mc: float, intersection: float = 25.0) -> float:
    """A strength or stiffness at mc [%] from its values at 12 % and green (Eq. 5-3, near 21 deg C).

    P = P12 (P12/Pg)^((12 - M)/(Mp - 12)) below the intersection moisture Mp [%] (25 unless Table 5-13
    says otherwise), the green value above it. Not for toughness and tension across the grain. Below
    about 5 % wood may get weaker again: the caller says so.
    """
    if mc >= intersection:
        return green
    return float(at_12 * (at_12 / green) ** ((12 - mc) / (intersection - 12)))
