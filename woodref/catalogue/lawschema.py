"""The shape of the other law files below data/trade/: papers, laws beside the listings, export bans and
trade suspensions; and which file holds what, with those of `listingschema` and `evidenceschema`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from woodref.catalogue.evidenceschema import EvidenceSetIn
from woodref.catalogue.figureschema import Cited, Country, Day, Slug, Strict, Words
from woodref.catalogue.listingschema import (
    AnnotationIn,
    Dated,
    Form,
    FormIn,
    ListingIn,
    MirrorIn,
    PlaceGroup,
    SynonymIn,
)


class LawAsOf(Strict):
    """How far the law was followed."""

    as_of: Day
    """Changes are known up to this day."""
    read_in_full: Day
    """Day of the last list read in full."""
    words: Words
    """The same as printed under an answer."""


class Countries(Strict):
    """Countries by their ISO 3166-1 codes, and GB-NIR for Northern Ireland, which keeps the EU's rules for
    goods."""

    countries: dict[Country, Words]
    """Code, in quotes -> the name printed."""


class PaperIn(Strict):
    """One document by its code, and who issues it."""

    id: Literal[
        "export-permit", "re-export-certificate", "import-permit", "import-notification",
        "certificate-of-origin", "pre-convention-certificate", "instrument-certificate",
        "sale-certificate",
    ]  # fmt: skip
    """What the rules call it."""
    name: Words
    """Its name as printed."""
    issued_by: Words
    """Who issues it, in general: each State names its own authority."""
    words: Words
    """What it shows and when it is due."""


class PaperRuleIn(Cited):
    """Which documents a step of a journey needs for a category."""

    id: Slug
    """Place, category and step."""
    place: Literal["CITES", "EU", "GB", "US"]
    """Whose rule; CITES for every Party without rules of its own here."""
    category: Literal["I", "II", "III", "A", "B", "C", "D"]
    """Appendix or annex of the wood."""
    step: Literal["export", "re-export", "import", "sale"]
    """export out of the country of harvest, re-export out of another, import, or sale inside."""
    commercial: Literal["any", "yes", "no"] = "any"
    """Whether the rule is for trade, for private movements, or for both."""
    documents: list[Words]
    """Ids of papers.yaml; an empty list means none beside the foreign paper."""
    prohibited: bool = False
    """Whether no paper can be had."""
    words: Words
    """The rule in a sentence."""


class OtherLawIn(Dated):
    """A law beside the listings that a movement meets. Every condition given narrows the row."""

    id: Slug
    """Law, phase and step."""
    code: Slug
    """The law; its phases, sizes of business and shapes share one code, the narrower row first."""
    law: Words
    """Its name as printed."""
    when: Literal["import", "sale", "export"]
    """The step that meets it: import into, sale inside or export from one of the places."""
    places: Annotated[list[Country | Literal["EU"]], Field(min_length=1)]
    """Where it holds."""
    forms: Literal["all"] | Annotated[list[Form], Field(min_length=1)]
    """The forms it reaches."""
    commercial_only: bool = False
    """Whether private movements are left out."""
    business: list[Literal["large", "medium", "small", "micro"]] = []
    """Sizes of business it reaches; empty for all."""
    shape: Literal["flat", "curved", "any"] = "any"
    """For formaldehyde law: flat or curved parts only."""
    harvested_before: Day | None = None
    """Only wood felled before this day."""
    harvested_from: Day | None = None
    """Only wood felled on or after this day."""
    reaches: bool = True
    """false: the row says that the law leaves such goods out, and do says why."""
    composite_only: bool = False
    """Only goods with plywood, board or glued sheets in them."""
    limit: Words | None = None
    """The limit it sets, as printed."""
    listing_papers_satisfy: bool = False
    """Whether goods with listing papers count as lawful here."""
    do: Words
    """What has to be done."""
    citation: Words
    """The place in the law."""


class BanIn(Dated):
    """A national rule on export."""

    id: Slug
    """Country, what, and year."""
    country: Country
    """Whose rule."""
    taxa: Literal["all"] | Annotated[list[Words], Field(min_length=1)]
    """Accepted names or genera, or all woods."""
    forms: Annotated[list[Form], Field(min_length=1)]
    """The forms it reaches."""
    effect: Literal["ban", "permit"]
    """ban: they may not leave; permit: only with a paper of that country."""
    natural_forest_only: bool = False
    """Whether planted wood is left out."""
    words: Words
    """The rule in a sentence."""


class SuspensionIn(Dated):
    """Trade with a country in a taxon stopped by a recommendation or by an importing bloc. Such tables
    change often: look at the current list before every purchase."""

    id: Slug
    """Who, country, taxon and year."""
    by: Literal["CITES", "EU", "GB"]
    """Who stopped it."""
    country: Country
    """The country of harvest."""
    taxon: Words
    """Accepted name or genus."""
    forms: Literal["all"] | Annotated[list[Form], Field(min_length=1)] = "all"
    """The forms it reaches."""
    words: Words
    """What is asked."""


class MemberIn(Cited):
    """A member of the EU with the days its rules for goods began and ended there."""

    id: Country
    """Code of the country, in quotes."""
    joined: Day
    """First day on which the rules held there."""
    left: Day | None = None
    """Last day; null for a member."""


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
    "trade/evidence.yaml": ("sets", EvidenceSetIn),
}
