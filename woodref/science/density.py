"""Density at a moisture content, and what an engineered sheet weighs.

Wood Handbook (FPL-GTR-190) Eq. 4-9 and 4-12 to 4-14; fibre saturation taken as 30 %, as the
handbook does. All densities in kg/m3, moisture in percent of oven-dry mass.
"""

from __future__ import annotations

#: average fibre saturation point [%]; single woods lie several points either way (handbook p. 4-2)
FIBRE_SATURATION = 30.0
#: the most volumetric shrinkage [%] that is guessed for a wood: heavy woods shrink less than 26.5 Gb
#: says. Of 22 woods here above 700 kg/m3 basic, density at about 12 % is 1.21 times the basic one,
#: where 26.5 Gb would make it 1.28 (own comparison)
MOST_GUESSED = 14.0


def volumetric_from_basic(basic: float) -> float:
    """Total shrinkage in volume [%] guessed from basic density [kg/m3]: 26.5 Gb (Eq. 4-12)."""
    return 26.5 * basic / 1000


def partial_shrinkage(total: float, mc: float) -> float:
    """Shrinkage [%] from green down to mc [%], 0 <= mc; none above fibre saturation (Eq. 4-9)."""
    return total * (1 - min(mc, FIBRE_SATURATION) / FIBRE_SATURATION)


def specific_gravity_at(basic: float, mc: float, shrinkage_volumetric: float | None = None) -> float:
    """Specific gravity on the volume at mc [%], from basic density [kg/m3] (Eq. 4-13).

    shrinkage_volumetric: green to oven-dry [%]; None takes 26.5 Gb.
    """
    total = volumetric_from_basic(basic) if shrinkage_volumetric is None else shrinkage_volumetric
    return basic / 1000 / (1 - partial_shrinkage(total, mc) / 100)


def density_at(basic: float, mc: float, shrinkage_volumetric: float | None = None) -> float:
    """Density [kg/m3] with the water in it, at mc [%], from basic density [kg/m3] (Eq. 4-14)."""
    gravity = specific_gravity_at(basic, mc, shrinkage_volumetric)
    return 1000 * gravity * (1 + mc / 100)


def density_from_12(at_12: float, mc: float, shrinkage_volumetric: float | None = None) -> float:
    """Density [kg/m3] at mc [%] of a wood known at 12 % [kg/m3].

    shrinkage_volumetric: green to oven-dry [%]; None takes 26.5 Gb with Gb from the weight at 12 %
    (Eq. 4-12 and 4-13 solved for Gb).
    """
    gravity = at_12 / 1120
    if shrinkage_volumetric is None:
        shrinkage_volumetric = volumetric_from_basic(
            1000 * gravity / (1 + 0.265 * gravity * (1 - 12 / FIBRE_SATURATION))
        )
    there = 1 - partial_shrinkage(shrinkage_volumetric, mc) / 100
    return at_12 * (1 + mc / 100) / 1.12 * (1 - partial_shrinkage(shrinkage_volumetric, 12) / 100) / there


def engineered_density(
    base: float,
    dye_uptake: float,
    compression: float = 0.0,
    glue_solids: float = 0.0,
    sheet_mm: float | None = None,
) -> float:
    """Density [kg/m3] of a reconstituted or dyed sheet from that of its base wood [kg/m3].

    dye_uptake: share of the wood's mass; compression: share of thickness lost in the press (0..0.5);
    glue_solids: dry glue per line [g/m2], one line a sheet; sheet_mm: sheet thickness before
    pressing. A rule of ours, no published figure: the wood keeps its mass in a smaller volume and
    each line adds its solids.
    """
    wood = base * (1 + dye_uptake) / (1 - compression)
    if not glue_solids or sheet_mm is None:
        return wood
    return wood + glue_solids / (sheet_mm * (1 - compression))
