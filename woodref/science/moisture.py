"""How far wood moves across the grain when its moisture changes.

Wood Handbook (FPL-GTR-190) Eq. 13-2 and the coefficients of Table 13-5, which are the total
shrinkages of Table 4-3 put through C = 1 / (100 MCfs/S0 - MCfs + M) at M = 10 %. Valid for 6 to 14 %.
"""

from __future__ import annotations

from woodref.science.density import FIBRE_SATURATION


def coefficient(total_shrinkage: float, at: float = 10.0) -> float:
    """Change per 1 % moisture (a share, not percent) near moisture `at` [%] from the total
    shrinkage green to oven-dry [%]."""
    return 1 / (100 * FIBRE_SATURATION / total_shrinkage - FIBRE_SATURATION + at)


def movement(size: float, total_shrinkage: float, mc_from: float, mc_to: float) -> float:
    """Change of a size (same unit) across the grain from mc_from to mc_to [%], 6..14 % (Eq. 13-2).

    Positive: it grows.
    """
    return size * coefficient(total_shrinkage) * (mc_to - mc_from)
