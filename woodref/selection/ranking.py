"""The arithmetic of likeness, on columns.

Each criterion gives a desirability between 0.01 and 1 (Derringer and Suich 1980: full use within one
tolerance of the target, none beyond two and a half); a desirability that would be 0 is 0.01 and marked
outside. The likeness is the weighted geometric mean over what is known of both (Derringer 1994). The
tolerance of a number is how much pieces of one species vary (Wood Handbook Table 5-6), times the slack of
the role, unless one is given.
Nothing is scaled by the range of the woods at hand, so a further wood changes no other's likeness.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodref.science.colour import ciede2000
from woodref.selection.columns import Columns
from woodref.selection.matching import paler, step
from woodref.selection.roles import OUTRIGHT, OWN, WORDS, Profile
from woodref.selection.wanted import Wanted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: a missed criterion keeps this much, so that one miss does not wipe out all the rest
FLOOR = 0.01
#: full use within this many tolerances, no use beyond the second
WITHIN, BEYOND = 1.0, 2.5
#: CIEDE2000 of measured colours: no difference to speak of, another colour
COLOUR_SAME, COLOUR_OTHER = 2.0, 15.0
#: what a pale wood stained to the colour keeps of its use (shop rule)
STAINED = 0.7


@dataclass
class Ranking:
    """n woods, p criteria. use, difference (n, p): nan where not known; low, high (n,): the likeness if the
    unknown were worst or best, widened by the added error of worked-out figures; coverage: share of the
    weight that is known; stained (n,): ranked as stained to the colour."""

    names: tuple[str, ...]
    weights: Floats
    use: Floats
    difference: Floats
    outside: NDArray[np.bool_]
    likeness: Floats
    coverage: Floats
    low: Floats
    high: Floats
    stained: NDArray[np.bool_]


def asked_of(wanted: Wanted, weights: Mapping[str, float]) -> dict[str, float]:
    """The criteria that can be asked: what is not known of the target is not compared."""
    look = wanted.look
    asked = {}
    for name, weight in weights.items():
        if name in OWN:
            can = True
        elif name == "colour":
            can = look["class"] is not None
        elif name == "figure":
            can = bool(look["figures"])
        elif name in WORDS:
            can = look[name] != "unknown"
        else:
            can = name in wanted.numbers
        if can:
            asked[name] = weight
    return asked


def rank(
    columns: Columns,
    wanted: Wanted,
    profile: Profile,
    stain_ok: bool = False,
) -> Ranking:
    """Likeness of every wood to what is wanted, in the order of the columns."""
    import numpy as np

    asked = asked_of(wanted, profile.weights)
    n, names = len(columns), tuple(asked)
    shape = (n, len(names))
    use, difference = np.full(shape, np.nan), np.full(shape, np.nan)
    worst, best = np.full(shape, FLOOR), np.ones(shape)
    stained = np.zeros(n, dtype=bool)
    for j, name in enumerate(names):
        if name in OWN:
            use[:, j] = _own(columns, wanted, name)
        elif name in WORDS:
            use[:, j] = _word(columns, wanted, name)
            if name == "colour":
                gap = difference[:, j] = _measured(columns, wanted)
                near = 1 - (gap - COLOUR_SAME) / (COLOUR_OTHER - COLOUR_SAME)
                use[:, j] = np.where(np.isnan(gap), use[:, j], np.clip(near, 0.0, 1.0))
        else:
            value, target = columns.numbers[name], wanted.numbers[name]
            difference[:, j] = 100 * (value - target) / target
            use[:, j] = number_use(value, target, profile, name)
            error = np.hypot(columns.errors[name], wanted.errors.get(name, 0.0)) * value
            ends = np.stack([number_use(v, target, profile, name) for v in (value - error, value + error)])
            spans = (value - error <= target) & (target <= value + error)
            best[:, j] = np.where(spans, 1.0, ends.max(axis=0))
            worst[:, j] = ends.min(axis=0)
            continue
        told = ~np.isnan(use[:, j])
        worst[told, j] = best[told, j] = use[told, j]
    if stain_ok and "colour" in names:
        stained = _stain(columns, wanted, names, use)
        j = names.index("colour")
        use[stained, j] = worst[stained, j] = best[stained, j] = STAINED
    known: NDArray[np.bool_] = ~np.isnan(use)
    outside = known & (use <= FLOOR)
    use = np.where(known, np.maximum(use, FLOOR), np.nan)
    low = np.where(known, np.maximum(np.nan_to_num(worst, nan=FLOOR), FLOOR), FLOOR)
    high = np.where(known, np.maximum(np.nan_to_num(best, nan=1.0), FLOOR), 1.0)
    weight = np.array([asked[name] for name in names], dtype=np.float64)
    # summed row by row, not by a matrix product, whose last digit hangs on how many rows there are
    held = (known * weight).sum(axis=1)
    total = float(weight.sum()) or 1.0
    logs = np.where(known, np.log(np.where(known, use, 1.0)), 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        likeness = np.where(held > 0, np.exp((logs * weight).sum(axis=1) / held), FLOOR)
    return Ranking(
        names,
        weight,
        use,
        difference,
        outside,
        np.asarray(np.round(likeness, 12), dtype=np.float64),
        np.asarray(np.round(held / total, 12), dtype=np.float64),
        np.round(np.exp((np.log(low) * weight).sum(axis=1) / total), 12),
        np.round(np.exp((np.log(high) * weight).sum(axis=1) / total), 12),
        stained,
    )


def number_use(value: Floats, target: float, profile: Profile, name: str) -> Floats:
    """Use of numbers beside the target: 1 up to WITHIN tolerances, falling to 0 at BEYOND; 1 all along
    the side that is free."""
    off = value - target
    free = profile.freely(name)
    if free == "less":
        off = off.clip(min=0)
    elif free == "more":
        off = off.clip(max=0)
    return steps_use(abs(off) / (profile.tolerance(name) / 100 * target))


def steps_use(steps: Floats) -> Floats:
    """Use of a number so many tolerances off: 1 up to WITHIN, falling to 0 at BEYOND."""
    import numpy as np

    return np.clip((BEYOND - steps) / (BEYOND - WITHIN), 0.0, 1.0)


def _word(columns: Columns, wanted: Wanted, name: str) -> Floats:
    """The step of every wood in one word of the look, worked out once for each distinct look."""
    import numpy as np

    steps = [step(name, wanted, one, columns.catalogue) for one in columns.looks]
    return np.array([np.nan if s is None else s for s in steps], dtype=np.float64)[columns.look]


def _measured(columns: Columns, wanted: Wanted) -> Floats:
    """CIEDE2000 to every wood whose colour is measured, nan for the others: ground with ground, and where
    both have one line with line, both counting alike."""
    import numpy as np

    gap = np.full(len(columns), np.nan)
    if wanted.lab is None:
        return gap
    for i in np.flatnonzero(~np.isnan(columns.labs[:, 0])):
        gaps = [ciede2000(wanted.lab, tuple(columns.labs[i]))]
        if wanted.line is not None and not np.isnan(columns.lines[i, 0]):
            gaps.append(ciede2000(wanted.line, tuple(columns.lines[i])))
        gap[i] = sum(gaps) / len(gaps)
    return gap


def _own(columns: Columns, wanted: Wanted, name: str) -> Floats:
    """As good as the target in it, or better: 1; a step less: 0.5; else 0. A description asks for the
    best, and so does everyone who wants to buy: what is rare is no nearer for the target being
    rare, and a crossband must be even whatever it replaces."""
    import numpy as np

    held, place = columns.own[name], columns.place.get(wanted.id)
    mine = 1.0 if place is None or name in OUTRIGHT or np.isnan(held[place]) else float(held[place])
    found: Floats = np.where(np.isnan(held), np.nan, np.clip(1.0 - (mine - held), 0.0, 1.0))
    if place is not None:
        found[place] = 1.0
    return found


def _stain(columns: Columns, wanted: Wanted, names: tuple[str, ...], use: Floats) -> NDArray[np.bool_]:
    """Paler woods of right figure and pores for a darker target; never the reverse."""
    import numpy as np

    pale = [paler(wanted, one, columns.catalogue) and not one.made for one in columns.looks]
    j = names.index("colour")
    fits: NDArray[np.bool_] = np.array(pale, dtype=bool)[columns.look] & (use[:, j] < STAINED)
    for name in ("figure", "pores"):
        if name in names:
            fits &= np.nan_to_num(use[:, names.index(name)], nan=0.0) >= 0.5
    return fits
