"""One wood beside what is wanted, criterion by criterion: the rows that people and JSON read.

The numbers are those of `ranking`; here they get their values, words and sources.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material
from woodref.catalogue.reader import Catalogue
from woodref.selection.certainty import share_within
from woodref.selection.columns import Columns, columns, own_of
from woodref.selection.ranking import FLOOR, Ranking, rank
from woodref.selection.roles import OWN, WORDS, Profile
from woodref.selection.wanted import Wanted, measured, of_material, value_of

COLOUR_WORDS = {1.0: "near", 0.75: "some way off", 0.5: "some way off", 0.0: "different"}
_OWN_WORDS = {
    "even": {1.0: "fine and even", 0.5: "of medium texture", 0.0: "coarse"},
    "straight": {1.0: "straight in the grain", 0.5: "wavy in the grain", 0.0: "crossed in the grain"},
    "clean": {
        1.0: "nothing in it that stains a face",
        0.5: "some tannin",
        0.0: "tannin or oil that may stain a face",
    },
    "quiet": {1.0: "a quiet face", 0.5: "some figure", 0.0: "a lively figure"},
    "glue": {1.0: "glues easily", 0.5: "glues with care", 0.0: "hard to glue"},
    "had": {1.0: "commonly sold", 0.75: "sold to order", 0.5: "rarely sold"},
    "peeled": {1.0: "peeled in full width", 0.0: "not peeled"},
}


@dataclass(frozen=True)
class Criterion:
    """One thing compared. use is None where the candidate's value is not known.

    difference: percent of the target for numbers, CIEDE2000 for measured colours, None for words.
    within: for numbers, the share of pieces that come within `tolerance` percent of the target.
    """

    property: str
    weight: float
    target: Any
    value: Any
    difference: float | None
    use: float | None
    evidence: str | None
    outside: bool = False
    figures: tuple[Figure, ...] = ()
    class_difference: str | None = None
    within: float | None = None
    tolerance: float | None = None

    def as_dict(self) -> dict[str, Any]:
        first = self.figures[0] if self.figures else None
        return {
            "property": self.property,
            "weight": self.weight,
            "target": _plain(self.target),
            "value": _plain(self.value),
            "difference": None if self.difference is None else round(self.difference, 2),
            "class_difference": self.class_difference,
            "evidence": self.evidence,
            "source": first.source if first else None,
            "locator": first.locator if first else None,
            "use": None if self.use is None else round(self.use, 4),
            "outside": self.outside,
        }


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.5g}")
    return [_plain(part) for part in value] if isinstance(value, tuple) else value


@dataclass(frozen=True)
class Likeness:
    """likeness 0.01..1 over the known criteria; known and asked count criteria; coverage is the share of
    the weight that is known; interval the likeness if the unknown were worst or best, widened by the
    added error of worked-out figures; stained: ranked as stained to the colour."""

    likeness: float
    known: int
    asked: int
    coverage: float
    criteria: tuple[Criterion, ...]
    interval: tuple[float, float] = (FLOOR, 1.0)
    stained: bool = False

    def criterion(self, name: str) -> Criterion | None:
        """The criterion of that name, if it was asked."""
        return next((c for c in self.criteria if c.property == name), None)


def detail(
    ranking: Ranking,
    table: Columns,
    index: int,
    wanted: Wanted,
    candidate: Material,
    catalogue: Catalogue,
    profile: Profile,
) -> Likeness:
    """The row of one wood of a ranking, in words and sources."""
    made = []
    for j, name in enumerate(ranking.names):
        use = float(ranking.use[index, j])
        known = use == use  # nan is not
        gap = float(ranking.difference[index, j])
        made.append(
            _criterion(
                name,
                float(ranking.weights[j]),
                use if known else None,
                gap if gap == gap else None,
                bool(ranking.outside[index, j]),
                wanted,
                candidate,
                catalogue,
                profile.tolerance(name) if name not in WORDS and name not in OWN else None,
                float(table.numbers[name][index]) if name in table.numbers else None,
                float(table.errors[name][index]) if name in table.errors else 0.0,
            )
        )
    return Likeness(
        float(ranking.likeness[index]),
        sum(c.use is not None for c in made),
        len(made),
        float(ranking.coverage[index]),
        tuple(made),
        (float(ranking.low[index]), float(ranking.high[index])),
        bool(ranking.stained[index]),
    )


def _criterion(
    name: str,
    weight: float,
    use: float | None,
    gap: float | None,
    outside: bool,
    wanted: Wanted,
    candidate: Material,
    catalogue: Catalogue,
    tolerance: float | None,
    value: float | None = None,
    error: float = 0.0,
) -> Criterion:
    look = candidate.look
    if name == "colour":
        return _colour(weight, use, gap, outside, wanted, candidate, catalogue)
    if name in OWN:
        said = None if use is None else _own_words(name, candidate)
        evidence = None if use is None else (look["evidence"] or "common-practice")
        return Criterion(name, weight, None, said, None, use, evidence, outside)
    if name in WORDS:
        mine, theirs = (
            (sorted(wanted.look["figures"]), sorted(look["figures"]) or None)
            if name == "figure"
            else (wanted.look[name], look[name])
        )
        return Criterion(
            name,
            weight,
            mine,
            None if use is None else theirs,
            None,
            use,
            None if use is None else look["evidence"],
            outside,
        )
    target, held = wanted.numbers[name], value_of(candidate, name)
    if held is None or use is None or tolerance is None or value is None:
        return Criterion(name, weight, target, None, None, None, None, tolerance=tolerance)
    figures = held[1]
    spread = math.hypot(error, wanted.errors.get(name, 0.0))
    share = share_within(name, target, value, tolerance, spread)
    worst = max(
        figures, key=lambda f: ("quoted", "recalled", "estimated", "common-practice").index(f.evidence)
    )
    return Criterion(
        name, weight, target, value, gap, use, worst.evidence, outside, figures, None, share, tolerance
    )


def _colour(
    weight: float,
    use: float | None,
    gap: float | None,
    outside: bool,
    wanted: Wanted,
    candidate: Material,
    catalogue: Catalogue,
) -> Criterion:
    words = catalogue.colour_classes
    seen = measured(candidate, wanted.state)
    if gap is not None and seen is not None:
        return Criterion("colour", weight, wanted.lab, seen[0], gap, use, seen[1], outside)
    made_for = wanted.id in (candidate.made_from or {}).get("look_of", ())
    step = 1.0 if made_for else class_step(wanted.look, candidate.look, catalogue)
    return Criterion(
        "colour",
        weight,
        words[wanted.look["class"]].words,
        words[candidate.look["class"]].words,
        None,
        use,
        candidate.look["evidence"],
        outside,
        class_difference=COLOUR_WORDS[step],
    )


def _own_words(name: str, candidate: Material) -> str:
    held = own_of(candidate, name)
    return _OWN_WORDS[name].get(0.0 if held is None else held, "")


def class_step(one: Mapping[str, Any], two: Mapping[str, Any], catalogue: Catalogue) -> float:
    """How near two looks are by word: 1 when most pieces are of one class, 0.75 when whole pieces of one
    also come in the class most of the other are of, 0.5 when the classes are neighbours or both also come
    in a third, 0 else."""
    if one["class"] == two["class"]:
        return 1.0
    if one["class"] in two["also"] or two["class"] in one["also"]:
        return 0.75
    shared = {one["class"], *one["also"]} & {two["class"], *two["also"]}
    beside = two["class"] in catalogue.colour_classes[one["class"]].near
    return 0.5 if shared or beside else 0.0


def likeness(target: Material, candidate: Material, profile: Profile, catalogue: Catalogue) -> Likeness:
    """Compare two woods. What is not known of the target is not asked."""
    table, wanted = columns([candidate], catalogue), of_material(target)
    return detail(rank(table, wanted, profile), table, 0, wanted, candidate, catalogue, profile)
