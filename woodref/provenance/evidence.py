"""What is proven of an item: requirements by destination, dated, and the gaps that are left.

A verdict is a pure function of the book, the papers recorded by a moment, the rule set and the day. A gap
names the received lot, what is wanting, why, the mass it touches and what would close it; each lot and key
once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from woodref.provenance.documents import PERMITS, PURCHASE, Paper
from woodref.provenance.trace import Root

#: keys of requirements, worst gap first
KEYS = (
    "NAME", "ACQUISITION", "PERMIT", "DOCUMENT", "COUNTRY", "COMPOSITION", "EUDR-REF", "QUANTITY", "VALUE",
    "HARVEST-DATE", "FOREST", "REGION", "PLOT", "EMISSION", "CLAIM",
)  # fmt: skip
PROVEN, PART, STATED, UNPROVEN = "proven", "part proven", "stated only", "unproven"
#: worst first
LINE_WORDS = (UNPROVEN, STATED, PART, PROVEN)
#: papers that show when and how wood was come by
ACQUIRED = (*PURCHASE, "stock-declaration", "pre-convention-certificate", "affidavit")


@dataclass(frozen=True)
class Asked:
    """One requirement. key: of KEYS; test: of TESTS; closes: what would close a gap."""

    key: str
    test: str
    closes: str
    argument: str | None = None


@dataclass(frozen=True)
class RuleSet:
    """Requirements of a destination, valid from a day to the day before another. source: where they are
    from."""

    id: str
    version: str
    destination: str
    valid_from: dt.date
    valid_to: dt.date | None
    asks: tuple[Asked, ...]
    source: str

    def stands(self, on: dt.date) -> bool:
        return self.valid_from <= on and (self.valid_to is None or on < self.valid_to)


@dataclass(frozen=True)
class Gap:
    root: str
    key: str
    why: str
    ng: Fraction | None
    closes: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "lot": self.root,
            "key": self.key,
            "why": self.why,
            "mass_g": None if self.ng is None else round(float(self.ng) / 1e9, 4),
            "closes": self.closes,
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
        return f"{self.wood}: part proven, {_g(self.proven_ng)} of {_g(self.ng)} ({float(share):.1f} %)."


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
            return "rule out of date"
        return min((line.status for line in self.lines), key=LINE_WORDS.index, default=UNPROVEN)

    def as_dict(self) -> dict[str, Any]:
        return {
            "destination": self.rules.destination,
            "rules": {"id": self.rules.id, "version": self.rules.version, "source": self.rules.source},
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


@dataclass(frozen=True)
class Case:
    """What a verdict looks at. papers: by lot, those recorded by the moment; listed: (wood, country) ->
    the day from which its listing holds, or None; value: of the item, as text."""

    roots: Sequence[Root]
    papers: Mapping[str, Sequence[Paper]]
    listed: Callable[[str, str | None], dt.date | None] = lambda wood, country: None
    value: str | None = None
    more: Mapping[str, Any] = field(default_factory=dict)

    def kinds(self, root: Root) -> set[str]:
        return {p.kind for p in self.papers.get(root.held.lot.id, ())}

    def wooden(self) -> list[Root]:
        return [r for r in self.roots if r.held.lot.wooden]

    def listed_roots(self) -> list[Root]:
        """Roots one of whose woods is listed; an unidentified one counts, as the strictest it may be."""
        return [r for r in self.wooden() if self.is_listed(r)]

    def is_listed(self, root: Root) -> bool:
        lot = root.held.lot
        if not lot.may_be:
            return True
        countries: Sequence[str | None] = lot.countries or (None,)
        return any(self.listed(wood, c) is not None for wood in lot.may_be for c in countries)


Test = Callable[[Case, Root, Asked], str | None]


def _name(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    if lot.species or lot.composition:
        return None
    if not lot.may_be:
        return f"nobody knows what wood {lot.id} is"
    return f"{lot.id} is one of {', '.join(lot.may_be)}"


def _document(case: Case, root: Root, _: Asked) -> str | None:
    if case.kinds(root) & set(PURCHASE) - {"supplier-declaration"}:
        return None
    if "supplier-declaration" in case.kinds(root):
        return f"{root.held.lot.id} is stated by its supplier alone"
    return f"{root.held.lot.id} has no paper of its purchase"


def _country(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    known = lot.countries or tuple(c for _, _, cs in lot.composition for c in cs)
    return None if known else f"the country of harvest of {lot.id} is not known"


def _composition(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    if lot.form != "engineered-veneer" or "composition-sheet" in case.kinds(root):
        return None
    return f"{lot.id} is an engineered sheet without a composition sheet"


def _reference(case: Case, root: Root, asked: Asked) -> str | None:
    """A reference of the first placing, or a paper older than the day of the argument."""
    papers = case.papers.get(root.held.lot.id, ())
    if any(p.kind == "eudr-reference" for p in papers):
        return None
    if asked.argument and any(p.issued_on is not None and p.issued_on < asked.argument for p in papers):
        return None
    return f"{root.held.lot.id} has no reference of its first placing on the market"


def _quantity(case: Case, root: Root, _: Asked) -> str | None:
    return None if root.ng is not None else f"the weight of what {root.held.lot.id} gave is not known"


def _value(case: Case, root: Root, _: Asked) -> str | None:
    return None if case.value else "the value of the item is not stated"


def _acquisition(case: Case, root: Root, asked: Asked) -> str | None:
    """A listed wood: a permit; or, in a finished item with no more of it than the argument [g], proof of
    how it was come by."""
    if not case.is_listed(root):
        return None
    kinds = case.kinds(root)
    if kinds & set(PERMITS):
        return None
    masses = [r.ng for r in case.listed_roots()]
    most = Fraction(asked.argument) * 10**9 if asked.argument else Fraction(0)
    light = None not in masses and sum(m for m in masses if m is not None) <= most
    if not light:
        return f"{root.held.lot.id} is of a listed wood and has no permit"
    if kinds & set(ACQUIRED):
        return None
    return f"{root.held.lot.id} is of a listed wood and nothing shows how it was come by"


TESTS: dict[str, Test] = {
    "name": _name, "document": _document, "country": _country, "composition": _composition,
    "reference": _reference, "quantity": _quantity, "value": _value, "acquisition": _acquisition,
}  # fmt: skip


def judge(case: Case, rules: RuleSet, on: dt.date) -> Verdict:
    """Every requirement of a rule set on every wooden root of an item."""
    if not rules.stands(on):
        return Verdict(rules, on, (), (), expired=True)
    gaps: dict[tuple[str, str], Gap] = {}
    for root in case.wooden():
        for asked in rules.asks:
            why = TESTS[asked.test](case, root, asked)
            if why is not None:
                key = root.held.lot.id, asked.key
                gaps.setdefault(key, Gap(*key, why, root.ng, asked.closes))
    ordered = sorted(gaps.values(), key=lambda g: (KEYS.index(g.key), -(g.ng or 0), g.root))
    return Verdict(rules, on, tuple(_lines(case, gaps)), tuple(ordered))


def _lines(case: Case, gaps: Mapping[tuple[str, str], Gap]) -> list[Line]:
    """One line a species, in the order of the roots."""
    groups: dict[str, list[Root]] = {}
    for root in case.wooden():
        lot = root.held.lot
        groups.setdefault(lot.wood if lot.may_be else f"not identified ({lot.trade})", []).append(root)
    bare = {lot for lot, _ in gaps}
    out = []
    for wood, roots in groups.items():
        good = [r for r in roots if r.held.lot.id not in bare]
        masses = [r.ng for r in roots]
        total = None if None in masses else sum((m for m in masses if m is not None), Fraction(0))
        proven = None if total is None else sum((r.ng or Fraction(0) for r in good), Fraction(0))
        if len(good) == len(roots):
            status = PROVEN
        elif good:
            status = PART
        else:
            stated = all("supplier-declaration" in case.kinds(r) for r in roots)
            status = STATED if stated else UNPROVEN
        out.append(Line(wood, status, total, proven, tuple(r.held.lot.id for r in roots)))
    return out


def worst(verdict: Verdict) -> str:
    """The item as its worst line says: one part proven is not a proven item."""
    return UNPROVEN if verdict.status in (PART, UNPROVEN) else verdict.status


def _g(ng: Fraction) -> str:
    grams = float(ng) / 1e9
    return f"{grams:,.1f}".removesuffix(".0") + " g"
