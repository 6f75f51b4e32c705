"""What clear wood of a weight is likely to be: properties guessed from density, each with its scatter.

Regressions: Wood Handbook (FPL-GTR-190) Table 5-11a, 12 % moisture, G = oven-dry mass on volume at 12 %;
the coefficients are from memory and agree with the rows of Table 5-3a that were read. Elastic ratios:
means of the hardwood and softwood rows of Tables 5-1 and 5-2 (balsa left out). Shrinkage: Wood Handbook
Eq. 4-12 for the volume, shares of the axes by own comparison. Every scatter is one standard deviation in
percent of the value, as the figures held in the catalogue or the rows of the table lie about the rule
(own comparison): it is the error of a species' mean, single pieces scatter by Table 5-6 beside it.
"""

from __future__ import annotations

import math

from woodref.errors import BadQuantity
from woodref.science.density import MOST_GUESSED, volumetric_from_basic

#: density at 12 % [kg/m3] of the woods that the rules were compared with; nothing is guessed outside:
#: hardwoods held here, balsa to grenadilla; softwoods of Table 5-3a, specific gravity 0.31 to 0.59
WEIGHTS = {"hardwood": (200.0, 1300.0), "softwood": (340.0, 670.0)}
#: property -> group -> (factor, exponent): factor x G^exponent in GPa (moe), MPa or N (Table 5-11a)
REGRESSIONS: dict[str, dict[str, tuple[float, float]]] = {
    "moe": {"hardwood": (16.5, 0.70), "softwood": (20.5, 0.84)},
    "mor": {"hardwood": (171.3, 1.13), "softwood": (170.7, 1.01)},
    "compression_parallel": {"hardwood": (76.0, 0.89), "softwood": (93.7, 0.97)},
    "compression_perpendicular": {"hardwood": (21.6, 2.09), "softwood": (16.5, 1.57)},
    "shear_parallel": {"hardwood": (21.9, 1.13), "softwood": (16.6, 0.85)},
    "side_hardness": {"hardwood": (15300.0, 2.09), "softwood": (8590.0, 1.49)},
}
#: property -> group -> scatter of species about the regression [%]: root mean square over the woods held
#: here or, where that is more, over the rows of Table 5-3a
SCATTER: dict[str, dict[str, float]] = {
    "moe": {"hardwood": 16, "softwood": 17},
    "mor": {"hardwood": 14, "softwood": 11},
    "compression_parallel": {"hardwood": 17, "softwood": 10},
    "compression_perpendicular": {"hardwood": 20, "softwood": 12},
    "shear_parallel": {"hardwood": 16, "softwood": 17},
    "side_hardness": {"hardwood": 20, "softwood": 15},
}
#: elastic ratio -> group -> (mean, scatter between species [%]); G and E over EL
RATIOS: dict[str, dict[str, tuple[float, float]]] = {
    "ratio_er_el": {"hardwood": (0.119, 30), "softwood": (0.096, 31)},
    "ratio_et_el": {"hardwood": (0.060, 28), "softwood": (0.057, 33)},
    "ratio_glr_el": {"hardwood": (0.092, 28), "softwood": (0.082, 50)},
    "ratio_glt_el": {"hardwood": (0.069, 20), "softwood": (0.077, 47)},
    "ratio_grt_el": {"hardwood": (0.020, 28), "softwood": (0.009, 50)},
    "poisson_lr": {"hardwood": (0.38, 16), "softwood": (0.36, 12)},
    "poisson_lt": {"hardwood": (0.48, 17), "softwood": (0.39, 22)},
    "poisson_rt": {"hardwood": (0.67, 10), "softwood": (0.43, 15)},
}
#: group -> share of the shrinkage in volume that falls to an axis, and the scatter of that share [%]
SHARES = {
    "hardwood": {"radial": (0.36, 15.0), "tangential": (0.61, 10.0)},
    "softwood": {"radial": (0.35, 15.0), "tangential": (0.66, 7.0)},
}
#: scatter of tangential over radial shrinkage between species [%]
AXES_SCATTER = 18.0
#: measured shrinkage in volume over what its axes give, and the scatter of that [%]
VOLUME_OVER_AXES, VOLUME_SCATTER = 1.05, 8.0
#: scatter of a shrinkage guessed from weight alone [%]
SHRINKAGE_SCATTER = {"hardwood": 33.0, "softwood": 22.0}


def from_weight(name: str, density: float, group: str) -> float:
    """Property `name` (a key of REGRESSIONS) in its unit, at 12 % moisture, from density at 12 % [kg/m3].

    group: hardwood or softwood. Its scatter is SCATTER[name][group]. BadQuantity outside WEIGHTS.
    """
    low, high = WEIGHTS[group]
    if not low <= density <= high:
        raise BadQuantity(
            f"no {group} of {density:g} kg/m3 stands behind the rule for {name}",
            expected=f"{low:g} to {high:g} kg/m3 at 12 %",
        )
    factor, exponent = REGRESSIONS[name][group]
    return factor * math.pow(density / 1120, exponent)


def weight_error(name: str, group: str, density_error: float = 0.0) -> float:
    """Error [%] of what from_weight gives: the scatter of the regression, and the error of the density [%]
    as often as the exponent says."""
    return math.hypot(SCATTER[name][group], density_error * REGRESSIONS[name][group][1])


def volumetric_guess(basic: float) -> float:
    """Shrinkage in volume, green to oven-dry [%], guessed from basic density [kg/m3]: 26.5 Gb (Eq. 4-12),
    but no more than MOST_GUESSED. Its scatter is SHRINKAGE_SCATTER."""
    return min(volumetric_from_basic(basic), MOST_GUESSED)


def axis_guess(axis: str, basic: float, group: str) -> float:
    """Radial or tangential shrinkage [%] guessed from basic density [kg/m3]; scatter SHRINKAGE_SCATTER."""
    return axis_of_volume(axis, volumetric_guess(basic), group)


def axis_of_volume(axis: str, volumetric: float, group: str) -> float:
    """Radial or tangential shrinkage [%] from that in volume [%]; scatter SHARES[group][axis][1]."""
    return SHARES[group][axis][0] * volumetric


def axis_of_other(axis: str, other: float, group: str) -> float:
    """Radial shrinkage [%] from tangential, or tangential from radial [%]; scatter AXES_SCATTER."""
    shares = SHARES[group]
    beside = "tangential" if axis == "radial" else "radial"
    return other * shares[axis][0] / shares[beside][0]


def volumetric_of_axis(axis: str, shrinkage: float, group: str) -> float:
    """Shrinkage in volume [%] from that of one axis [%]; scatter SHARES[group][axis][1]."""
    return shrinkage / SHARES[group][axis][0]


def volumetric_of_axes(radial: float, tangential: float) -> float:
    """Shrinkage in volume [%] to expect beside radial and tangential shrinkage [%]: 1 - (1 - R)(1 - T),
    times VOLUME_OVER_AXES. Its scatter is VOLUME_SCATTER."""
    return 100 * (1 - (1 - radial / 100) * (1 - tangential / 100)) * VOLUME_OVER_AXES
