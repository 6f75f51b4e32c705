"""The shape of the law files that say which wood is listed and what a listing reaches.

Law is dated data; the trade room only reasons. A docstring below a field says what it means, as in
`figureschema`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from woodref.catalogue.figureschema import Cited, Country, Day, Evidence, Slug, Strict, Words

Form = Literal[
    "logs", "sawn-wood", "veneer", "reconstituted-veneer", "plywood", "panel-veneered", "fibreboard",
    "particleboard", "transformed-wood", "wood-chips", "powder", "extract", "bow-blank", "furniture",
    "furniture-part", "seat", "seat-part", "turned-ware", "joinery", "other-finished", "retail-packed",
    "beads-or-carving", "musical-instrument", "instrument-part", "instrument-accessory",
]  # fmt: skip


class Dated(Cited):
    """A cited row that stands for a period; open ends are null."""

    valid_from: Day | None
    """First day on which the row stands; null where the beginning is not known."""
    valid_to: Day | None = None
    """Last day; null while it stands."""
    date_evidence: Literal["quoted", "recalled", "estimated", "not-known"]
    """How well these two days are known; evidence speaks of the rest of the row."""

    @field_validator("valid_to")
    @classmethod
    def _after_it_begins(cls, end: str | None, info: ValidationInfo) -> str | None:
        begins = info.data.get("valid_from")
        if end and begins and end < begins:
            raise ValueError("ends before it begins")
        return end


class Population(Strict):
    """Which harvest the row reaches."""

    words: Words
    """The limit as the listing words it."""
    countries: Literal["all"] | Slug | list[Country]
    """Countries of harvest: all, the id of a group in places.yaml, or codes."""


class ListingIn(Dated):
    """One listing of one taxon under one regime over one period. A row never ends by being rewritten: it
    gets valid_to and a new row follows."""

    id: Slug
    """Regime, taxon, category and year."""
    taxon: Words
    """Name as the listing prints it."""
    accepted: Words
    """The same under its accepted name, which materials carry."""
    rank: Literal["species", "genus", "variety"]
    """What the taxon is; a species row goes before one of its genus."""
    regime: Literal["CITES", "EU", "GB", "US-ESA"]
    """Whose list. EU and GB rows stand here only where they differ from CITES or their date was read."""
    category: Literal["I", "II", "III", "A", "B", "C", "D", "threatened", "not-listed"]
    """Appendix, annex or grade; not-listed leaves a wood out that a wider row or another list would reach."""
    population: Population
    """Which harvest it reaches."""
    annotation: Words | None = None
    """The # note that limits the forms, as annotations.yaml calls it."""
    except_taxa: list[Words] = []
    """Species that a genus row does not reach."""
    parties: list[Country] = []
    """Appendix III: the States that asked for the listing. Wood leaving them needs an export permit, from
    elsewhere a certificate of origin."""
    leaves: list[Country] = []
    """The row counts only when the goods leave one of these countries."""


class PlaceGroup(Strict):
    """A named group of countries, such as the Neotropics of a listing."""

    id: Slug
    """What listings name."""
    words: Words
    """The group as printed."""
    countries: Annotated[list[Country], Field(min_length=1)]
    """Its countries."""
    evidence: Evidence
    """How well the list is known."""
    source: Slug | None = None
    """Id of the source in sources.yaml."""
    note: Words | None = None
    """Where the list is our reading: what was counted in and out."""


class Waiver(Strict):
    """A condition under which covered forms pass without paper."""

    forms: Annotated[list[Form], Field(min_length=1)]
    """The forms it can free."""
    movement: Literal["any", "non-commercial", "performance", "re-export"]
    """Which movement: any; not for trade; to be played or shown, with no change of owner; out of another
    country than that of harvest."""
    limit_kg: float | int | None = None
    """Mass of listed wood up to which it holds. [kg]"""
    per: Literal["item", "shipment"] | None = None
    """Whether the limit is for one item or for the whole shipment."""
    since: Day | None = None
    """First day on which the note is read so."""
    until: Day | None = None
    """Last day on which it is read so."""
    words: Words
    """The waiver in a sentence."""


class HandOver(Strict):
    """One species, or wood grown in and exported from one country, goes under another note."""

    taxon: Words | None = None
    """The species."""
    origin: Country | None = None
    """The country."""
    to: Words
    """The note it goes under."""
    words: Words
    """The same in a sentence."""


class AnnotationIn(Dated):
    """One # note in one of its texts, as a rule on forms."""

    id: Slug
    """Note and year of the text."""
    listed_as: Words
    """What listings.yaml calls it."""
    kind: Literal["all", "only", "all-but"]
    """all: every form is covered; only: the forms are covered and all others out; all-but: the forms are
    out and all others covered."""
    forms: list[Form] = []
    """The forms that kind speaks of."""
    waivers: list[Waiver] = []
    """What passes without paper although covered."""
    hand_overs: list[HandOver] = []
    """What goes under another note."""
    words: Words
    """The note in a sentence."""


class FormIn(Cited):
    """One form of goods: how to decide which one a thing is."""

    id: Form
    """What every other file calls it."""
    words: Words
    """The form as printed."""
    hs: list[Words]
    """Usual customs headings, in quotes. The customs agent decides."""
    test: Words
    """How to decide that a thing is this form."""
    finished: bool
    """Whether it is a product that needs no further work."""


class MirrorIn(Cited):
    """EU and GB annexes repeat the CITES Appendices unless a row of their own says otherwise."""

    id: Slug
    """Annex and Appendix."""
    regime: Literal["EU", "GB"]
    """Whose annex."""
    of: Literal["I", "II", "III"]
    """The Appendix repeated."""
    category: Literal["A", "B", "C"]
    """The annex it is repeated in."""
    valid_from: Day
    """First day on which it is so."""
    words: Words
    """The same in a sentence."""


class SynonymIn(Cited):
    """An older botanical name under which listings and papers may still speak of a wood."""

    name: Words
    """The older name."""
    accepted: Words
    """The accepted name."""

    @property
    def id(self) -> str:
        """The name is what must not stand twice."""
        return self.name
