"""How alike two woods are for a role: limits apart, one number a criterion, nothing filled in.

Method: each criterion gives a desirability between 0.01 and 1 (Derringer and Suich 1980: full use
within one coefficient of variation of the target, none beyond two and a half), the likeness is their
weighted geometric mean over what is known of both woods (Derringer 1994). Weights by role, colour
steps and class steps are shop rules of ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.science.colour import Lab, ciede2000
from woodref.selection.movement import movement_per_100

ROLES = ("face", "back", "core", "crossband", "solid")

#: role -> criterion -> weight (common practice)
WEIGHTS: dict[str, dict[str, float]] = {
    "face": {"colour": 4, "figure": 1.5, "pores": 1, "texture": 1, "movement": 1, "density": 1,
             "moe": 0.5, "side_hardness": 0.5},
    "back": {"movement": 3, "moe": 2, "density": 1, "texture": 0.5, "colour": 0.5,
             "side_hardness": 0.5},
    "core": {"density": 3, "movement": 2, "moe": 1, "texture": 1, "side_hardness": 0.5},
    "crossband": {"movement": 3, "texture": 2, "grain": 1, "moe": 1, "density": 1},
    "solid": {"side_hardness": 3, "moe": 2, "density": 2, "movement": 1.5, "colour": 1,
              "texture": 0.5},
}  # fmt: skip

#: a missed criterion keeps this much, so that one miss does not wipe out all the rest
FLOOR = 0.01
#: full use within this many coefficients of variation, no use beyond the second
WITHIN, BEYOND = 1.0, 2.5
#: CIEDE2000 of measured colours: no difference to speak of, another colour
COLOUR_SAME, COLOUR_OTHER = 2.0, 15.0
COLOUR_WORDS = {1.0: "near", 0.5: "some way off", 0.0: "different"}


@dataclass(frozen=True)
class Criterion:
    """One thing compared. use is None where the candidate's value is not known.

    difference: percent of the target for numbers, CIEDE2000 for measured colours, None for words.
    """

    property: str
    weight: float
    target: Any
    value: Any
    difference: float | None
    use: float | None
    evidence: str | None
    outside: bool = False
    figure: Figure | None = None
    class_difference: str | None = None

    def as_dict(self) -> dict[str, Any]:
        return {
            "property": self.property,
            "weight": self.weight,
            "target": round(self.target, 4) if isinstance(self.target, float) else self.target,
            "value": round(self.value, 4) if isinstance(self.value, float) else self.value,
            "difference": None if self.difference is None else round(self.difference, 2),
            "class_difference": self.class_difference,
            "evidence": self.evidence,
            "source": self.figure.source if self.figure else None,
            "locator": self.figure.locator if self.figure else None,
            "use": None if self.use is None else round(self.use, 4),
            "outside": self.outside,
        }


@dataclass(frozen=True)
class Likeness:
    """likeness 0.01..1 over the known criteria; known and asked count criteria; coverage is the
    share of the weight that is known."""

    likeness: float
    known: int
    asked: int
    coverage: float
    criteria: tuple[Criterion, ...]

    def criterion(self, name: str) -> Criterion | None:
        """The criterion of that name, if it was asked."""
        return next((c for c in self.criteria if c.property == name), None)


def likeness(
    target: Material, candidate: Material, weights: dict[str, float], catalogue: Catalogue
) -> Likeness:
    """Compare two woods. What is not known of the target is not asked."""
    found = [
        c
        for name, weight in weights.items()
        if (c := _compare(name, weight, target, candidate, catalogue)) is not None
    ]
    known = [c for c in found if c.use is not None]
    asked_weight = sum(c.weight for c in found)
    known_weight = sum(c.weight for c in known)
    if not known:
        return Likeness(FLOOR, 0, len(found), 0.0, tuple(found))
    mean = math.exp(sum(c.weight * math.log(c.use or FLOOR) for c in known) / known_weight)
    return Likeness(mean, len(known), len(found), known_weight / asked_weight, tuple(found))


def number_use(target: float, value: float, cv: float) -> tuple[float, bool]:
    """Desirability of a number and whether it lies outside. cv: percent of the target."""
    steps = abs(value - target) / (cv / 100 * target)
    use = 1.0 if steps <= WITHIN else (BEYOND - steps) / (BEYOND - WITHIN)
    return (FLOOR, True) if use <= FLOOR else (use, False)


def _compare(
    name: str, weight: float, target: Material, candidate: Material, catalogue: Catalogue
) -> Criterion | None:
    if name == "colour":
        return _colour(weight, target, candidate, catalogue)
    if name == "figure":
        return _figure_words(weight, target, candidate)
    if name in ("pores", "texture", "grain"):
        return _class(name, weight, target, candidate, catalogue)
    return _number(name, weight, target, candidate)


def value_of(material: Material, name: str) -> tuple[float, Figure] | None:
    """A numeric criterion's value and the figure behind it; movement is mm per 100 mm of crown."""
    if name == "movement":
        return movement_per_100(material, "tangential")
    figure = material.figure(name)
    return None if figure is None else (figure.typical, figure)


def _number(name: str, weight: float, target: Material, candidate: Material) -> Criterion | None:
    mine = value_of(target, name)
    if mine is None:
        return None
    theirs = value_of(candidate, name)
    if theirs is None:
        return Criterion(name, weight, mine[0], None, None, None, None)
    cv = 15.0 if name == "movement" else PROPERTIES[name].cv or 15.0
    use, outside = number_use(mine[0], theirs[0], cv)
    difference = 100 * (theirs[0] - mine[0]) / mine[0]
    return Criterion(
        name, weight, mine[0], theirs[0], difference, use, theirs[1].evidence, outside, theirs[1]
    )


def measured_colour(material: Material) -> tuple[Lab, str] | None:
    """The planed ground's colour under D65 at 2 degrees and its evidence, or None: other lights are
    never compared."""
    for swatch in material.look["swatches"]:
        if (swatch["light"], swatch["state"], swatch["part"]) == ("D65/2", "planed", "ground"):
            lightness, a, b = swatch["lab"]
            return (float(lightness), float(a), float(b)), swatch["evidence"]
    return None


def class_step(one: dict[str, Any], two: dict[str, Any], catalogue: Catalogue) -> float:
    """How near two looks are by word: 1 when most pieces are of one class, 0.5 when the classes are
    neighbours or some pieces of either come in a class the other has too, 0 else."""
    if one["class"] == two["class"]:
        return 1.0
    shared = {one["class"], *one["also"]} & {two["class"], *two["also"]}
    beside = two["class"] in catalogue.colour_classes[one["class"]].near
    return 0.5 if shared or beside else 0.0


def _colour(weight: float, target: Material, candidate: Material, catalogue: Catalogue) -> Criterion:
    mine, theirs = measured_colour(target), measured_colour(candidate)
    if mine and theirs:
        gap = ciede2000(mine[0], theirs[0])
        use = 1 - (gap - COLOUR_SAME) / (COLOUR_OTHER - COLOUR_SAME)
        clipped = min(1.0, max(FLOOR, use))
        return Criterion("colour", weight, mine[0], theirs[0], gap, clipped, theirs[1], use <= FLOOR)
    words = catalogue.colour_classes
    one, two = target.look["class"], candidate.look["class"]
    step = class_step(target.look, candidate.look, catalogue)
    return Criterion(
        "colour",
        weight,
        words[one].words,
        words[two].words,
        None,
        max(FLOOR, step),
        candidate.look["evidence"],
        step == 0,
        class_difference=COLOUR_WORDS[step],
    )


def _figure_words(weight: float, target: Material, candidate: Material) -> Criterion | None:
    mine, theirs = set(target.look["figures"]), set(candidate.look["figures"])
    if not mine:
        return None
    if not theirs:
        return Criterion("figure", weight, sorted(mine), None, None, None, None)
    made_for = candidate.made_from is not None and target.id in candidate.made_from["look_of"]
    shared = 2 * len(mine & theirs) / (len(mine) + len(theirs))
    # figure differs from leaf to leaf: no overlap still keeps a quarter
    use = 1.0 if made_for else 0.25 + 0.75 * shared
    return Criterion("figure", weight, sorted(mine), sorted(theirs), None, use, candidate.look["evidence"])


def _class(
    name: str, weight: float, target: Material, candidate: Material, catalogue: Catalogue
) -> Criterion | None:
    mine, theirs = target.look[name], candidate.look[name]
    if mine == "unknown":
        return None
    if theirs == "unknown":
        return Criterion(name, weight, mine, None, None, None, None)
    order = catalogue.orders[name]
    if mine in order and theirs in order:
        step = {0: 1.0, 1: 0.5}.get(abs(order.index(mine) - order.index(theirs)), 0.0)
    else:  # a softwood has no pores: like another softwood, like nothing else
        step = 1.0 if mine == theirs else 0.0
    return Criterion(
        name,
        weight,
        mine,
        theirs,
        None,
        max(FLOOR, step),
        candidate.look["evidence"],
        step == 0,
    )
