"""The values the verdict works on: goods, a movement, the rules of a day, and what comes out."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any

from woodref.trade.listings import Law, ListingRow
from woodref.trade.requirements import RuleSet

MODES = ("cargo", "post", "hand-luggage", "household-move", "instrument-travel", "sale-inside")
SOURCE_CODES = ("W", "A", "Y", "D", "O", "U", "I")
INSTRUMENT_FORMS = ("musical-instrument", "instrument-part", "instrument-accessory")

#: strictest first
ANSWERS = ("stop", "check", "papers", "no-listing-paper")
CITES_WORDS = (
    "prohibited", "check", "permit", "pre-convention-certificate", "instrument-certificate",
    "certificate-of-origin", "sale-certificate", "form-exempt", "no-border", "population-not-covered",
    "not-yet-listed", "not-listed",
)  # fmt: skip


@dataclass(frozen=True)
class Item:
    """Goods as plain taxa. kg: mass of listed wood in one item (upper end; exact where it is a fraction),
    items: how many.

    woods: accepted botanical names, or a genus ("Dalbergia spp."), or a hybrid ("Swietenia x ...").
    origin: ISO code of the country of harvest. acquired: when the wood was taken from the wild, or the
    first provable day of possession. shape: flat or curved, for formaldehyde law.
    """

    woods: tuple[str, ...]
    form: str
    kg: float | Fraction | None = None
    items: int = 1
    origin: str | None = None
    source_code: str | None = None
    acquired: dt.date | None = None
    shape: str | None = None
    state: str | None = None
    planted: bool | None = None


@dataclass(frozen=True)
class Movement:
    """from and to are ISO codes, or GB-NIR. shipped: day of sailing, if before `on`."""

    start: str
    to: str
    on: dt.date
    mode: str = "cargo"
    commercial: bool = True
    business: str | None = None
    shipped: dt.date | None = None


@dataclass(frozen=True)
class Waiver:
    forms: frozenset[str]
    movement: str
    limit_kg: float | None
    per: str | None
    since: dt.date | None
    until: dt.date | None
    words: str


@dataclass(frozen=True)
class HandOver:
    taxon: str | None
    origin: str | None
    to: str
    words: str


@dataclass(frozen=True)
class Annotation:
    """One # note in one of its texts."""

    id: str
    listed_as: str
    kind: str
    forms: frozenset[str]
    waivers: tuple[Waiver, ...]
    hand_overs: tuple[HandOver, ...]
    words: str
    source: str | None
    evidence: str
    locator: str | None


@dataclass(frozen=True)
class PaperRule:
    id: str
    place: str
    category: str
    step: str
    commercial: str
    documents: tuple[str, ...]
    prohibited: bool
    words: str
    source: str | None
    evidence: str
    locator: str | None


@dataclass(frozen=True)
class Mirror:
    id: str
    regime: str
    of: str
    category: str
    valid_from: dt.date
    words: str
    source: str | None
    evidence: str
    locator: str | None


@dataclass(frozen=True)
class OtherLaw:
    id: str
    code: str
    law: str
    when: str
    places: frozenset[str]
    forms: frozenset[str] | None
    commercial_only: bool
    business: frozenset[str]
    shape: str
    harvested_before: dt.date | None
    harvested_from: dt.date | None
    reaches: bool
    composite_only: bool
    limit: str | None
    listing_papers_satisfy: bool
    do: str
    citation: str
    valid_from: dt.date | None
    valid_to: dt.date | None
    date_evidence: str
    source: str | None
    evidence: str
    note: str | None


@dataclass(frozen=True)
class Ban:
    id: str
    country: str
    taxa: frozenset[str] | None
    forms: frozenset[str]
    effect: str
    natural_forest_only: bool
    words: str
    valid_from: dt.date | None
    valid_to: dt.date | None
    source: str | None
    evidence: str


@dataclass(frozen=True)
class Suspension:
    id: str
    by: str
    country: str
    taxon: str
    forms: frozenset[str] | None
    words: str
    valid_from: dt.date | None
    valid_to: dt.date | None
    source: str | None
    evidence: str


@dataclass(frozen=True)
class Paper:
    code: str
    name: str
    issued_by: str
    words: str


@dataclass(frozen=True)
class FormWords:
    """A form of goods: what it is, how to decide, usual customs headings."""

    id: str
    words: str
    hs: tuple[str, ...]
    test: str
    finished: bool


@dataclass(frozen=True)
class Rules:
    """All law of the catalogue. eu: member -> (from, to) of membership; names: ISO code -> name; evidence:
    what a record has to carry, by destination."""

    law: Law
    version: str
    read_in_full: dt.date
    annotations: dict[str, Annotation]
    papers: dict[str, Paper]
    paper_rules: tuple[PaperRule, ...]
    mirrors: tuple[Mirror, ...]
    other_laws: tuple[OtherLaw, ...]
    bans: tuple[Ban, ...]
    suspensions: tuple[Suspension, ...]
    forms: dict[str, FormWords]
    eu: dict[str, tuple[dt.date, dt.date | None]]
    names: dict[str, str] = field(default_factory=dict)
    evidence: tuple[RuleSet, ...] = ()

    @cached_property
    def bans_of(self) -> dict[str, tuple[Ban, ...]]:
        """The bans of each country that has any."""
        found: dict[str, tuple[Ban, ...]] = {}
        for ban in self.bans:
            found[ban.country] = (*found.get(ban.country, ()), ban)
        return found

    def name(self, code: str) -> str:
        """A country's printed name."""
        return self.names.get(code, code)


@dataclass(frozen=True)
class Reason:
    """One sentence with what it rests on."""

    sentence: str
    citation: str | None
    source: str | None
    evidence: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "sentence": self.sentence,
            "citation": self.citation,
            "source": self.source,
            "evidence": self.evidence,
        }


@dataclass(frozen=True)
class Doubt:
    code: str
    sentence: str

    def as_dict(self) -> dict[str, str]:
        return {"code": self.code, "sentence": self.sentence}


@dataclass(frozen=True)
class Document:
    """A paper due. held: it must exist abroad already, the importer only shows it."""

    code: str
    name: str
    issued_by: str

    def as_dict(self) -> dict[str, str]:
        return {"code": self.code, "name": self.name, "issued_by": self.issued_by}


@dataclass(frozen=True)
class Leg:
    start: str
    to: str
    cites: str
    documents: tuple[Document, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "from": self.start,
            "to": self.to,
            "cites": self.cites,
            "documents": [d.as_dict() for d in self.documents],
        }


@dataclass(frozen=True)
class Applies:
    """One other law and whether this movement meets it (None: a deciding fact is missing)."""

    code: str
    law: str
    applies: bool | None
    do: str
    limit: str | None
    since: dt.date | None
    citation: str
    source: str | None
    evidence: str
    date_evidence: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "code": self.code,
            "law": self.law,
            "applies": self.applies,
            "do": self.do,
            "limit": self.limit,
            "from": self.since.isoformat() if self.since else None,
            "citation": self.citation,
            "source": self.source,
            "evidence": self.evidence,
            "date_evidence": self.date_evidence,
        }


@dataclass(frozen=True)
class Considered:
    """A listing row looked at: applied, or why not."""

    row: ListingRow
    applied: bool
    why: str

    def as_dict(self) -> dict[str, Any]:
        return self.row.as_dict() | {"applied": self.applied, "why": self.why}


@dataclass(frozen=True)
class WoodVerdict:
    """What one wood of the item meets on the movement."""

    wood: str
    answer: str
    cites: str
    leg: Leg
    listings: tuple[Considered, ...]
    reasons: tuple[Reason, ...]
    doubts: tuple[Doubt, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "wood": self.wood,
            "answer": self.answer,
            "cites": self.cites,
            "legs": [self.leg.as_dict()],
            "listings": [c.as_dict() for c in self.listings],
            "reasons": [r.as_dict() for r in self.reasons],
            "doubts": [d.as_dict() for d in self.doubts],
        }


@dataclass(frozen=True)
class Verdict:
    """The whole: strictest wood first. answer is the strictest of all woods and laws."""

    item: Item
    movement: Movement
    answer: str
    cites: str
    woods: tuple[WoodVerdict, ...]
    other_laws: tuple[Applies, ...]
    reasons: tuple[Reason, ...]
    doubts: tuple[Doubt, ...]
    headings: tuple[str, ...]
    as_of: dt.date
    rules_version: str
    caution: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "answer": self.answer,
            "cites": self.cites,
            "legs": [w.leg.as_dict() for w in self.woods],
            "listings": [c.as_dict() for w in self.woods for c in w.listings],
            "reasons": [r.as_dict() for r in self.reasons],
            "other_laws": [a.as_dict() for a in self.other_laws],
            "doubts": [d.as_dict() for d in self.doubts],
            "woods": [w.as_dict() for w in self.woods],
            "customs_headings": list(self.headings),
            "as_of": self.as_of.isoformat(),
            "rules_version": self.rules_version,
            "caution": self.caution,
        }
