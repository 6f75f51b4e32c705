"""How sure a ranking is: shares of pieces, draws of pieces, and what nothing beats.

Pieces of a wood scatter about its figure by the variation within a species (Wood Handbook Table 5-6),
normally, strength-like figures by their logarithm; the added error of a worked-out figure comes on top.
"""

from __future__ import annotations

import math
import zlib
from statistics import NormalDist
from typing import TYPE_CHECKING

from woodref.selection.columns import Columns
from woodref.selection.ranking import FLOOR, Ranking, number_use
from woodref.selection.roles import OWN, WORDS, Profile, variation
from woodref.selection.wanted import Wanted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: strength-like figures scatter by their logarithm
LOGNORMAL = {
    "mor", "compression_parallel", "compression_perpendicular", "shear_parallel", "tension_parallel",
    "tension_perpendicular", "side_hardness", "brinell_hardness", "work_to_maximum_load", "impact_bending",
}  # fmt: skip
DRAWS, SEED = 400, 20110


def undominated(
    ranking: Ranking, rows: NDArray[np.int64], most: int | None = None
) -> NDArray[np.bool_]:  # fmt: skip
    """Which of the rows (of the first so many of them) no row beats on every count. What is not known of a
    wood is taken for as good as can be when it is judged and as bad as can be when it judges another."""
    import numpy as np

    judged = np.nan_to_num(ranking.use[rows[:most]], nan=1.0)
    judging = np.nan_to_num(ranking.use[rows], nan=FLOOR)
    out = np.ones(len(judged), dtype=bool)
    for k in range(len(judged)):
        at_least = (judging >= judged[k]).all(axis=1)
        above = (judging > judged[k]).any(axis=1)
        out[k] = not (at_least & above).any()
    return out


def share_within(name: str, target: float, value: float, tolerance: float, error: float = 0.0) -> float:
    """Share of pieces of a wood whose figure lies within tolerance [percent] of the target.

    Pieces scatter about the wood's own figure by the variation within a species; error: the added error
    of the figure, a share.
    """
    low, high = target * (1 - tolerance / 100), target * (1 + tolerance / 100)
    return share_between(low, high, value, math.hypot(variation(name) / 100, error), name in LOGNORMAL)


def share_between(low: float, high: float, mean: float, spread: float, lognormal: bool) -> float:
    """Share of pieces between two figures; spread: the coefficient of variation, a share."""
    if not lognormal:
        curve = NormalDist(mean, spread * mean)
        return curve.cdf(high) - curve.cdf(low)
    sigma = math.sqrt(math.log(1 + spread**2))
    curve = NormalDist(math.log(mean) - sigma**2 / 2, sigma)
    return curve.cdf(math.log(high)) - (curve.cdf(math.log(low)) if low > 0 else 0.0)


def order_holds(
    columns: Columns,
    wanted: Wanted,
    profile: Profile,
    rows: NDArray[np.int64],
    ranking: Ranking,
) -> list[float | None]:
    """For each row the share of draws in which it stays before the next one; None for the last.

    In each draw every known number of a wood is a piece of its own, scattered as pieces of a species are
    and by the figure's added error. The draws hang on the wood's id and the property alone:
    the same every run, whatever other woods are there and whatever else is asked. Properties are drawn
    apart, although heavy pieces are mostly stiff ones too.
    """
    import numpy as np

    drawn = np.tile(ranking.use[rows][:, None, :], (1, DRAWS, 1))
    numbers = [(j, name) for j, name in enumerate(ranking.names) if name not in WORDS and name not in OWN]
    for k, i in enumerate(rows):
        for j, name in numbers:
            value, target = columns.numbers[name][i], wanted.numbers[name]
            if np.isnan(value):
                continue
            hangs_on = [SEED, zlib.crc32(columns.ids[i].encode()), zlib.crc32(name.encode())]
            noise = np.random.default_rng(hangs_on).standard_normal(DRAWS)
            cv = variation(name) / 100
            spread = float(np.hypot(cv, np.hypot(columns.errors[name][i], wanted.errors.get(name, 0.0))))
            if name in LOGNORMAL:
                sigma = np.sqrt(np.log(1 + spread**2))
                pieces = value * np.exp(sigma * noise - sigma**2 / 2)
            else:
                pieces = value * (1 + spread * noise)
            drawn[k, :, j] = np.maximum(number_use(pieces, target, profile, name), FLOOR)
    known = ~np.isnan(drawn)
    logs = np.where(known, np.log(np.where(known, drawn, 1.0)), 0.0)
    held = (known * ranking.weights).sum(axis=-1)
    likeness = np.where(
        held > 0, np.exp((logs * ranking.weights).sum(axis=-1) / np.where(held > 0, held, 1.0)), FLOOR
    )
    holds: list[float | None] = [float((likeness[k] >= likeness[k + 1]).mean()) for k in range(len(rows) - 1)]
    return [*holds, None] if len(rows) else []
