"""One wood beside what is wanted, criterion by criterion: the rows that people and JSON read.

The numbers are those of `ranking`; here they get their values, words and sources.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import EVIDENCE_ORDER, Figure, Material
from woodref.catalogue.reader import Catalogue
from woodref.selection.certainty import share_within
from woodref.selection.columns import Columns, columns, own_of
from woodref.selection.matching import seen, step
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
        use, gap = float(ranking.use[index, j]), float(ranking.difference[index, j])
        cell = _Cell(
            name,
            float(ranking.weights[j]),
            None if math.isnan(use) else use,
            None if math.isnan(gap) else gap,
            bool(ranking.outside[index, j]),
        )
        if name in WORDS or name in OWN:
            made.append(_word(cell, wanted, candidate, catalogue))
        else:
            value, error = float(table.numbers[name][index]), float(table.errors[name][index])
            made.append(_number(cell, wanted, candidate, value, error, profile.tolerance(name)))
    return Likeness(
        float(ranking.likeness[index]),
        sum(c.use is not None for c in made),
        len(made),
        float(ranking.coverage[index]),
        tuple(made),
        (float(ranking.low[index]), float(ranking.high[index])),
        bool(ranking.stained[index]),
    )


@dataclass(frozen=True)
class _Cell:
    """What the ranking says of one wood in one criterion."""

    name: str
    weight: float
    use: float | None
    difference: float | None
    outside: bool

    def told(self, target: Any, value: Any, evidence: str | None, **more: Any) -> Criterion:
        """With values and sources; a wood whose value is not known has neither."""
        if self.use is None:
            value = evidence = None
        return Criterion(
            self.name, self.weight, target, value, self.difference, self.use, evidence, self.outside, **more
        )


def _word(cell: _Cell, wanted: Wanted, candidate: Material, catalogue: Catalogue) -> Criterion:
    """A word of the look, or what is asked of the wood by itself."""
    look = candidate.look
    if cell.name in OWN:
        held = own_of(candidate, cell.name)
        said = _OWN_WORDS[cell.name].get(0.0 if held is None else held, "")
        return cell.told(None, said, _own_evidence(candidate, cell.name) or "common-practice")
    if cell.name == "figure":
        return cell.told(sorted(wanted.look["figures"]), sorted(look["figures"]), look["evidence"])
    if cell.name != "colour":
        return cell.told(wanted.look[cell.name], look[cell.name], look["evidence"])
    seen_colour = measured(candidate, wanted.state)
    if cell.difference is not None and seen_colour is not None:
        return cell.told(wanted.lab, *seen_colour)
    words = catalogue.colour_classes
    if look["class"] is None:  # a wood of a user's own list
        return cell.told(words[wanted.look["class"]].words, None, None)
    near = step("colour", wanted, seen(candidate), catalogue)
    return cell.told(
        words[wanted.look["class"]].words,
        words[look["class"]].words,
        look["evidence"],
        class_difference=COLOUR_WORDS[near or 0.0],
    )


def _own_evidence(candidate: Material, name: str) -> str | None:
    """By what evidence that is known which is asked of a wood by itself."""
    blocks = {
        "glue": candidate.working["gluing"],
        "clean": candidate.working,
        "had": candidate.veneer,
        "peeled": candidate.veneer,
    }
    held: str | None = blocks.get(name, candidate.look).get("evidence")
    return held


def _number(
    cell: _Cell, wanted: Wanted, candidate: Material, value: float, error: float, tolerance: float
) -> Criterion:
    target, held = wanted.numbers[cell.name], value_of(candidate, cell.name)
    if held is None or cell.use is None:
        return cell.told(target, None, None, tolerance=tolerance)
    spread = math.hypot(error, wanted.errors.get(cell.name, 0.0))
    worst = max((f.evidence for f in held[1]), key=EVIDENCE_ORDER.index)
    share = share_within(cell.name, target, value, tolerance, spread)
    return cell.told(target, value, worst, figures=held[1], within=share, tolerance=tolerance)


def likeness(target: Material, candidate: Material, profile: Profile, catalogue: Catalogue) -> Likeness:
    """Compare two woods. What is not known of the target is not asked."""
    table, wanted = columns([candidate], catalogue), of_material(target)
    return detail(rank(table, wanted, profile), table, 0, wanted, candidate, catalogue, profile)
