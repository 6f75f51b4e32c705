"""How far a leaf moves across the grain between two rooms, and on which figure that rests."""

from __future__ import annotations

from woodref.catalogue.material import Figure, Material
from woodref.science import moisture

#: a dry heated room and a damp one, in percent of moisture: 30 % and 65 % relative humidity (rule of
#: thumb that agrees with the handbook's Table 4-2)
DRY, DAMP = 6.0, 12.0


def movement_per_100(
    material: Material, axis: str, mc_from: float = DRY, mc_to: float = DAMP
) -> tuple[float, Figure] | None:
    """Movement [mm per 100 mm] from one moisture to another [%] and the figure it rests on, or None.

    axis: radial (a quarter cut leaf) or tangential (a crown or peeled one). A measured movement
    coefficient goes before one worked out from the total shrinkage; both give the handbook's Table 13-5
    way of reckoning, good from 6 to 14 %. Negative: it shrinks.
    """
    direct = material.figure(f"movement_{axis}")
    if direct is not None:
        return direct.typical * (mc_to - mc_from), direct
    total = material.figure(f"shrinkage_{axis}")
    if total is not None:
        return moisture.movement(100, total.typical, mc_from, mc_to), total
    return None


def leaf_words(mm_per_100: float, system: str) -> tuple[str, str]:
    """The size of leaf spoken of and its change without sign: '100 mm', '1.6 mm' or '4 in', '0.064 in'."""
    if system == "us":
        return "4 in", f"{abs(mm_per_100) * 4 / 100:.3f} in"
    return "100 mm", f"{abs(mm_per_100):.1f} mm"
