"""What glue does to a pack: the water it brings, how long it takes, what a bag or clamps press.

Balances are exact; cure and heat are bands from two anchors of the trade (common practice, no source): the
glue maker's sheet decides. SI units unless said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

#: kJ/mol that six hours at 20 C and ten minutes at 60 C ask for (common practice, the two anchors)
ACTIVATION = 73.0
GAS = 8.314e-3  # kJ/(mol K)
#: nothing is offered below [C]
COLDEST = 10.0
#: heat's way across the grain of wood [m2/s] (from memory); moist and dense wood differ by a third
DIFFUSIVITY = 1.5e-7
#: air at sea level [MPa], what a pump leaves in the bag, and what 100 m of height take off
AIR, LEFT_IN_BAG, PER_100_M = 0.1013, (0.006, 0.021), 0.0012


def water_points(plies: Sequence[tuple[float, float, float]], lines: Sequence[tuple[float, float]]) -> float:
    """How many percent points of moisture the glue adds to the whole pack.

    plies: (thickness [m], density [kg/m3], moisture [%]) each; lines: (spread [g/m2], solids as a share).
    """
    dry = sum(t * rho / (1 + mc / 100) for t, rho, mc in plies)
    water = sum(spread * (1 - solids) / 1000 for spread, solids in lines)
    return 100 * water / dry


def cure_time(at: float, anchor: float, anchor_time: float) -> float | None:
    """Time to set at a temperature [C] from the time at another, in the anchor's unit; None below 10 C.

    t = t0 exp(Ea/R (1/T - 1/T0)): between 10 and 60 C about 0.35 to 0.45 of it for ten degrees more. A
    band of a third either way at best.
    """
    if at < COLDEST:
        return None
    return anchor_time * math.exp(ACTIVATION / GAS * (1 / (at + 273.15) - 1 / (anchor + 273.15)))


def heat_up(depth: float) -> tuple[float, float]:
    """Seconds until heat has gone so deep [m] into the pack, soonest and latest: x2/(4 a) to x2/a."""
    soonest = depth**2 / (4 * DIFFUSIVITY)
    return soonest, 4 * soonest


def bag_pressure(altitude: float = 0.0) -> tuple[float, float]:
    """What a vacuum bag presses [MPa], worst and best pump, at a height [m] above the sea."""
    air = AIR - PER_100_M * altitude / 100
    return air - LEFT_IN_BAG[1], air - LEFT_IN_BAG[0]
