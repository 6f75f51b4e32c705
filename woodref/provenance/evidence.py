"""What is proven of an item: requirements by destination, dated, and the gaps that are left.

A verdict is a pure function of the book, the papers recorded by a moment, the rule set and the day. A gap
names the received lot, what is wanting, why, the mass it touches and what would close it; each lot and key
once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from woodref.provenance.questions import TESTS, Case, closes
from woodref.provenance.trace import Root
from woodref.trade.requirements import KEYS, WHOLE, Asked, RuleSet

__all__ = [
    "PART", "PROVEN", "STATED", "UNPROVEN", "Asked", "Case", "Gap", "Line", "RuleSet", "Verdict", "judge",
    "worst",
]  # fmt: skip

PROVEN, PART, STATED, UNPROVEN = "proven", "part proven", "stated only", "unproven"
#: the rules of the day asked about are not known: never a pass
EXPIRED = "rule out of date"
#: worst first
LINE_WORDS = (UNPROVEN, STATED, PART, PROVEN)
#: gaps that a supplier's word half closes
STATED_KEYS = ("DOCUMENT", "ACQUISITION")


@dataclass(frozen=True)
class Gap:
    """What is wanting of a lot. ng: mass it touches, None where not known; asked: the rule behind it."""

    root: str
    key: str
    why: str
    ng: Fraction | None
    closes: str
    wood: str = ""
    asked: Asked | None = None

    def sentence(self) -> str:
        """'68 g of Dalbergia latifolia from L-C: L-C has no paper of its purchase.'"""
        mass = "" if self.ng is None else f"{grams(self.ng)} of "
        return f"{mass}{self.wood or 'wood'} from {self.root}: {self.why}."

    def as_dict(self) -> dict[str, Any]:
        asked = self.asked
        return {
            "lot": self.root,
            "key": self.key,
            "why": self.why,
            "mass_g": None if self.ng is None else round(float(self.ng) / 1e9, 4),
            "closes": self.closes,
            "rule": (asked.words or None) if asked else None,
            "citation": asked.citation if asked else None,
            "evidence": asked.evidence if asked else None,
        }


@dataclass(frozen=True)
class Line:
    """One species of the item. proven_ng of ng is without a gap."""

    wood: str
    status: str
    ng: Fraction | None
    proven_ng: Fraction | None
    roots: tuple[str, ...]

    def sentence(self) -> str:
        """'Dalbergia latifolia: part proven, 34 g of 102 g (33.3 %)'."""
        if self.status != PART or not self.ng or self.proven_ng is None:
            return f"{self.wood}: {self.status}."
        share = 100 * self.proven_ng / self.ng
        return (
            f"{self.wood}: part proven, {grams(self.proven_ng)} of {grams(self.ng)} ({float(share):.1f} %)."
        )


@dataclass(frozen=True)
class Verdict:
    """status: the worst line; expired: no rule set of the destination stands on the day."""

    rules: RuleSet
    on: dt.date
    lines: tuple[Line, ...]
    gaps: tuple[Gap, ...]
    expired: bool = False

    @property
    def status(self) -> str:
        if self.expired:
            return EXPIRED
        return min((line.status for line in self.lines), key=LINE_WORDS.index, default=UNPROVEN)

    def as_dict(self) -> dict[str, Any]:
        return {
            "destination": self.rules.destination,
            "rules": {
                "id": self.rules.id,
                "version": self.rules.version,
                "source": self.rules.source,
                "valid_from": None if self.rules.valid_from is None else self.rules.valid_from.isoformat(),
                "valid_to": None if self.rules.valid_to is None else self.rules.valid_to.isoformat(),
                "followed_to": None if self.rules.followed_to is None else self.rules.followed_to.isoformat(),
            },
            "on": self.on.isoformat(),
            "status": self.status,
            "lines": [
                {
                    "wood": line.wood,
                    "status": line.status,
                    "mass_g": None if line.ng is None else round(float(line.ng) / 1e9, 4),
                    "proven_g": None if line.proven_ng is None else round(float(line.proven_ng) / 1e9, 4),
                    "lots": list(line.roots),
                    "sentence": line.sentence(),
                }
                for line in self.lines
            ],
            "gaps": [gap.as_dict() for gap in self.gaps],
        }


def judge(case: Case, rules: RuleSet, on: dt.date) -> Verdict:
    """Every requirement of a rule set on every wooden root of an item."""
    if not rules.stands(on):
        return Verdict(rules, on, (), (), expired=True)
    gaps: dict[tuple[str, str], Gap] = {}
    for root in case.wooden():
        for asked in rules.asks:
            if not case.reached(root, asked):
                continue
            why = TESTS[asked.test](case, root, asked)
            if why is not None:
                key = root.held.lot.id, asked.key
                mends = closes(case, root, asked)
                gaps.setdefault(key, Gap(*key, why, root.ng, mends, _wood(root), asked))
    ordered = sorted(gaps.values(), key=lambda g: (KEYS.index(g.key), -(g.ng or 0), g.root))
    return Verdict(rules, on, tuple(_lines(case, gaps, rules)), tuple(ordered))


def _wood(root: Root) -> str:
    lot = root.held.lot
    return lot.wood if lot.may_be else f'wood that nobody has identified ("{lot.trade}")'


def _called(root: Root) -> str:
    lot = root.held.lot
    return lot.wood if lot.may_be else f"not identified ({lot.trade})"


def _lines(case: Case, gaps: Mapping[tuple[str, str], Gap], rules: RuleSet) -> list[Line]:
    """One line a species, in the order of the roots."""
    groups: dict[str, list[Root]] = {}
    for root in case.wooden():
        groups.setdefault(_called(root), []).append(root)
    wanting: dict[str, set[str]] = {}
    for lot, key in gaps:
        wanting.setdefault(lot, set()).add(key)
    out = []
    for wood, roots in groups.items():
        bare = [r for r in roots if r.held.lot.id in wanting]
        good = [r for r in roots if r.held.lot.id not in wanting]
        status = _status(case, good, bare, wanting, rules)
        total = _mass(roots)
        proven = None if total is None else _mass(good)
        out.append(Line(wood, status, total, proven, tuple(r.held.lot.id for r in roots)))
    return out


def _status(
    case: Case, good: Sequence[Root], bare: Sequence[Root], wanting: Mapping[str, set[str]], rules: RuleSet
) -> str:
    if not bare:
        return PROVEN
    if good:
        return UNPROVEN if rules.mixing == WHOLE else PART
    stated = all(
        "supplier-declaration" in case.kinds(r) and wanting[r.held.lot.id] <= set(STATED_KEYS) for r in bare
    )
    return STATED if stated else UNPROVEN


def _mass(roots: Sequence[Root]) -> Fraction | None:
    masses = [r.ng for r in roots]
    return None if None in masses else sum((m for m in masses if m is not None), Fraction(0))


def worst(verdict: Verdict) -> str:
    """The item as its worst line says: one part proven is not a proven item."""
    return UNPROVEN if verdict.status in (PART, UNPROVEN) else verdict.status


def grams(ng: Fraction) -> str:
    """'34 g', '950.4 g', '0.05 g': a mass for reading, never for reckoning."""
    mass = float(ng) / 1e9
    if 0 < mass < 0.05:
        return f"{mass:.3g} g"
    return f"{mass:,.1f}".removesuffix(".0") + " g"
