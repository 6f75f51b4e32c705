"""The shape of the law files below data/trade/: listings, notes, forms, papers, other laws, export
bans and trade suspensions. Law is dated data; the trade room only reasons."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from woodref.catalogue.schema import Cited, Country, Day, Evidence, Slug, Strict, Words

Form = Literal[
    "logs", "sawn-wood", "veneer", "reconstituted-veneer", "plywood", "panel-veneered", "fibreboard",
    "particleboard", "transformed-wood", "wood-chips", "powder", "extract", "bow-blank", "furniture",
    "furniture-part", "seat", "seat-part", "turned-ware", "joinery", "other-finished", "retail-packed",
    "beads-or-carving", "musical-instrument", "instrument-part", "instrument-accessory",
]  # fmt: skip


class Dated(Cited):
    """A cited row that stands for a period; open ends are null."""

    valid_from: Day | None
    valid_to: Day | None = None
    date_evidence: Literal["quoted", "recalled", "estimated", "not-known"]

    @field_validator("valid_to")
    @classmethod
    def _after_it_begins(cls, end: str | None, info: ValidationInfo) -> str | None:
        begins = info.data.get("valid_from")
        if end and begins and end < begins:
            raise ValueError("ends before it begins")
        return end


class Population(Strict):
    """Which harvest the row reaches: all, a named group of places.yaml, or ISO codes."""

    words: Words
    countries: Literal["all"] | Slug | list[Country]


class ListingIn(Dated):
    """One listing of one taxon under one regime over one period. parties: the States that asked for an
    Appendix III listing: wood leaving them needs an export permit, from elsewhere a certificate of
    origin. leaves: the row counts only when the goods leave one of these countries."""

    id: Slug
    taxon: Words
    accepted: Words
    rank: Literal["species", "genus", "variety"]
    regime: Literal["CITES", "EU", "GB", "US-ESA"]
    category: Literal["I", "II", "III", "A", "B", "C", "D", "threatened", "not-listed"]
    population: Population
    annotation: Words | None = None
    except_taxa: list[Words] = []
    parties: list[Country] = []
    leaves: list[Country] = []


class PlaceGroup(Strict):
    """A named group of countries, such as the Neotropics of a listing."""

    id: Slug
    words: Words
    countries: Annotated[list[Country], Field(min_length=1)]
    evidence: Evidence
    source: Slug | None = None
    note: Words | None = None


class LawAsOf(Strict):
    """How far the law was followed. as_of: changes known up to that day."""

    as_of: Day
    read_in_full: Day
    words: Words


class Countries(Strict):
    """ISO 3166-1 codes and the names printed for them."""

    countries: dict[Country, Words]


class Waiver(Strict):
    """A condition under which covered forms pass without paper.

    forms: the forms it can free. movement: any; non-commercial; performance (non-commercial, no
    change of owner); re-export (not from the country of harvest). limit_kg: mass of listed wood up
    to which it holds, per item or per shipment. since, until: days on which it is read so.
    """

    forms: Annotated[list[Form], Field(min_length=1)]
    movement: Literal["any", "non-commercial", "performance", "re-export"]
    limit_kg: float | int | None = None
    per: Literal["item", "shipment"] | None = None
    since: Day | None = None
    until: Day | None = None
    words: Words


class HandOver(Strict):
    """One species, or wood grown in and exported from one country, goes under another note."""

    taxon: Words | None = None
    origin: Country | None = None
    to: Words
    words: Words


class AnnotationIn(Dated):
    """One # note in one of its texts. listed_as is how listings.yaml names it.

    kind all: every form; only: forms are covered, all others out; all-but: forms are out, all others
    covered.
    """

    id: Slug
    listed_as: Words
    kind: Literal["all", "only", "all-but"]
    forms: list[Form] = []
    waivers: list[Waiver] = []
    hand_overs: list[HandOver] = []
    words: Words


class FormIn(Cited):
    """One form of goods. hs: usual customs headings as text; test: how to decide; finished: whether
    it is a product that needs no further work."""

    id: Form
    words: Words
    hs: list[Words]
    test: Words
    finished: bool
    note_forms: list[Form] = []


class PaperIn(Strict):
    """One document by its code, and who issues it."""

    id: Literal[
        "export-permit", "re-export-certificate", "import-permit", "import-notification",
        "certificate-of-origin", "pre-convention-certificate", "instrument-certificate",
        "sale-certificate",
    ]  # fmt: skip
    name: Words
    issued_by: Words
    words: Words


class PaperRuleIn(Cited):
    """Which documents a step of a journey needs for a category.

    step: export (out of the country of harvest), re-export (out of another country), import, sale
    (inside the territory). verdict: what the step amounts to when commercial (prohibited where no
    paper can be had). place: EU, GB, US, or CITES for every other Party.
    """

    id: Slug
    place: Literal["CITES", "EU", "GB", "US"]
    category: Literal["I", "II", "III", "A", "B", "C", "D"]
    step: Literal["export", "re-export", "import", "sale"]
    commercial: Literal["any", "yes", "no"] = "any"
    documents: list[Words]
    prohibited: bool = False
    words: Words


class MirrorIn(Cited):
    """EU and GB annexes repeat the CITES Appendices unless a row of their own says otherwise."""

    id: Slug
    regime: Literal["EU", "GB"]
    of: Literal["I", "II", "III"]
    category: Literal["A", "B", "C"]
    valid_from: Day
    words: Words


class OtherLawIn(Dated):
    """A law beside the listings that a movement meets.

    code: several rows (phases, sizes of business) may share one. when: import into, sale inside, or
    export from one of places. forms: all or a list. Every further condition narrows the row. reaches
    false: the row says that the law leaves such goods out, and `do` says why.
    """

    id: Slug
    code: Slug
    law: Words
    when: Literal["import", "sale", "export"]
    places: Annotated[list[Country | Literal["EU"]], Field(min_length=1)]
    forms: Literal["all"] | Annotated[list[Form], Field(min_length=1)]
    commercial_only: bool = False
    business: list[Literal["large", "medium", "small", "micro"]] = []
    shape: Literal["flat", "curved", "any"] = "any"
    harvested_before: Day | None = None
    harvested_from: Day | None = None
    reaches: bool = True
    composite_only: bool = False
    limit: Words | None = None
    listing_papers_satisfy: bool = False
    do: Words
    citation: Words


class BanIn(Dated):
    """A national rule on export. effect ban: the forms may not leave; permit: only with a paper of
    that country. taxa: accepted names, genera, or all."""

    id: Slug
    country: Country
    taxa: Literal["all"] | Annotated[list[Words], Field(min_length=1)]
    forms: Annotated[list[Form], Field(min_length=1)]
    effect: Literal["ban", "permit"]
    natural_forest_only: bool = False
    words: Words


class SuspensionIn(Dated):
    """Trade with a country in a taxon stopped by a recommendation or by an importing bloc."""

    id: Slug
    by: Literal["CITES", "EU", "GB"]
    country: Country
    taxon: Words
    forms: Literal["all"] | Annotated[list[Form], Field(min_length=1)] = "all"
    words: Words


class MemberIn(Cited):
    """A member of the EU with the days its rules for goods began and ended there."""

    id: Country
    joined: Day
    left: Day | None = None


class SynonymIn(Cited):
    """An older botanical name under which listings and papers may still speak of a wood."""

    name: Words
    accepted: Words

    @property
    def id(self) -> str:
        """The name is what must not stand twice."""
        return self.name


#: file -> model of the whole file, as in schema.DOCUMENTS
LAW_DOCUMENTS: dict[str, type[Strict]] = {
    "trade/asof.yaml": LawAsOf,
    "trade/countries.yaml": Countries,
}

#: list files with tables or uses of their own, in the form schema.LISTS uses
LISTING_LISTS: dict[str, tuple[str, type[Strict]]] = {
    "trade/listings.yaml": ("listings", ListingIn),
    "trade/places.yaml": ("places", PlaceGroup),
}

#: all others: their rows go into the built file as they are
LAW_LISTS: dict[str, tuple[str, type[Strict]]] = {
    "trade/annotations.yaml": ("annotations", AnnotationIn),
    "trade/forms.yaml": ("forms", FormIn),
    "trade/papers.yaml": ("papers", PaperIn),
    "trade/paper_rules.yaml": ("rules", PaperRuleIn),
    "trade/mirrors.yaml": ("mirrors", MirrorIn),
    "trade/other_laws.yaml": ("laws", OtherLawIn),
    "trade/bans.yaml": ("bans", BanIn),
    "trade/suspensions.yaml": ("suspensions", SuspensionIn),
    "trade/eu_members.yaml": ("members", MemberIn),
    "trade/synonyms.yaml": ("synonyms", SynonymIn),
}
