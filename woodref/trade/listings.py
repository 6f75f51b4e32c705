"""Listings: which row is in force for a taxon on a day, and whom it reaches.

Pure functions of the rows given; nothing is read here. A wood is an accepted Latin name: a
binomial, or a genus alone ("Dalbergia" or "Dalbergia spp.") when no more is known.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

#: categories that make a wood "listed": papers or a bar. Annex D only asks for a notification.
LISTED = {
    "CITES": {"I", "II", "III"},
    "EU": {"A", "B", "C"},
    "GB": {"A", "B", "C"},
    "US-ESA": {"threatened", "endangered"},
}
#: answers kept at most
ANSWERED = 50_000
_CATEGORY_WORDS = {
    "CITES": "CITES Appendix {}",
    "EU": "EU Annex {}",
    "GB": "GB Annex {}",
    "US-ESA": "US Endangered Species Act, {}",
}


def stands(valid_from: dt.date | None, valid_to: dt.date | None, on: dt.date) -> bool:
    """Whether a row of law stands on a day, ends included; an unknown start counts as long past."""
    return (valid_from is None or valid_from <= on) and (valid_to is None or on <= valid_to)


@dataclass(frozen=True)
class ListingRow:
    """One taxon under one regime over one period. countries None: every population."""

    id: str
    taxon: str
    accepted: str
    rank: str
    regime: str
    category: str
    countries: frozenset[str] | None
    population_words: str
    annotation: str | None
    except_taxa: tuple[str, ...]
    valid_from: dt.date | None
    valid_to: dt.date | None
    source: str | None
    locator: str | None
    evidence: str
    date_evidence: str
    note: str | None = None
    parties: frozenset[str] = frozenset()
    leaves: frozenset[str] = frozenset()

    @property
    def genus(self) -> str:
        """First word of the accepted name."""
        return self.accepted.split()[0]

    @property
    def category_words(self) -> str:
        """The category as people say it: CITES Appendix II."""
        return _CATEGORY_WORDS[self.regime].format(self.category)

    def in_force(self, on: dt.date) -> bool:
        """Whether the row stands on that day."""
        return stands(self.valid_from, self.valid_to, on)

    def reaches(self, country: str | None) -> bool:
        """Whether wood harvested there falls under it; an unknown country may always do."""
        return self.countries is None or country is None or country in self.countries

    def restricts(self) -> bool:
        """Whether it makes a wood listed."""
        return self.category in LISTED[self.regime]

    def as_dict(self) -> dict[str, Any]:
        """The row as the JSON contract shows it."""
        return {
            "id": self.id,
            "taxon": self.taxon,
            "regime": self.regime,
            "category": self.category,
            "population": self.population_words,
            "countries": sorted(self.countries) if self.countries is not None else None,
            "annotation": self.annotation,
            "valid_from": self.valid_from.isoformat() if self.valid_from else None,
            "valid_to": self.valid_to.isoformat() if self.valid_to else None,
            "source": self.source,
            "locator": self.locator,
            "evidence": self.evidence,
            "date_evidence": self.date_evidence,
            "note": self.note,
        }


@dataclass(frozen=True)
class Law:
    """The rows of the catalogue, by genus, with the day the newest of them speaks for."""

    rows: tuple[ListingRow, ...]
    as_of: dt.date
    by_genus: dict[str, list[ListingRow]] = field(default_factory=dict, compare=False)
    #: answers of listings_for, which is asked of each wood for each of its countries
    answered: dict[tuple[str, dt.date], tuple[ListingRow, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def behind(self, on: dt.date) -> str | None:
        """What to say when the rules are older than the day asked about, else None."""
        age = (on - self.as_of).days
        if age <= 0:
            return None
        return (
            f"The trade rules here go up to {self.as_of.isoformat()}, {age} days before {on.isoformat()}: "
            "look for changes since."
        )

    @classmethod
    def of(cls, rows: Iterable[ListingRow], as_of: dt.date) -> Law:
        law = cls(tuple(rows), as_of)
        for row in law.rows:
            law.by_genus.setdefault(row.genus, []).append(row)
        return law


def is_hybrid(taxon: str) -> bool:
    """Whether a name is that of a hybrid: Swietenia x aubrevilleana, Populus × canadensis."""
    return "×" in taxon or "x" in taxon.split()


def _covers(row: ListingRow, taxon: str) -> bool:
    """Whether the row speaks of this taxon at all (population and date apart)."""
    words = taxon.replace(" spp.", "").split()
    if len(words) == 1 or is_hybrid(taxon):  # any row of the genus may be meant
        return row.genus == words[0]
    if row.rank == "genus":
        return taxon not in row.except_taxa
    return row.accepted == taxon


def _sets_aside(species: ListingRow, genus: ListingRow) -> bool:
    """A species has its own entry: the genus row falls away wherever that entry reaches."""
    if species.regime != genus.regime:
        return False
    if species.countries is None:
        return True
    return genus.countries is not None and genus.countries <= species.countries


def listings_for(taxon: str, on: dt.date, law: Law) -> list[ListingRow]:
    """Rows in force for an accepted name on a day, species rows before genus rows.

    Within a regime the species' own entry sets the genus entry aside where it reaches as far; a
    genus row whose except_taxa names the species never reaches it.
    """
    found = law.answered.get((taxon, on))
    if found is None:
        found = tuple(_listings_for(taxon, on, law))
        if len(law.answered) >= ANSWERED:
            law.answered.clear()
        law.answered[taxon, on] = found
    return list(found)


def _listings_for(taxon: str, on: dt.date, law: Law) -> list[ListingRow]:
    genus = taxon.split()[0]
    found = [row for row in law.by_genus.get(genus, ()) if _covers(row, taxon) and row.in_force(on)]
    own = [row for row in found if row.rank != "genus" and row.accepted == taxon]
    if len(taxon.replace(" spp.", "").split()) > 1:
        found = [
            row for row in found if row.rank != "genus" or not any(_sets_aside(mine, row) for mine in own)
        ]
    return sorted(found, key=lambda row: (row.rank == "genus", row.regime, row.category, row.id))


def restricting(woods: Sequence[str], country: str | None, on: dt.date, law: Law) -> list[ListingRow]:
    """Rows that make any of these woods, harvested in that country, listed on that day."""
    return [
        row
        for wood in woods
        for row in listings_for(wood, on, law)
        if row.restricts() and row.reaches(country)
    ]


def is_listed(woods: Sequence[str], country: str | None, on: dt.date, law: Law) -> bool:
    """Whether any of the woods from that country is listed (CITES I-III, EU and GB A-C, US-ESA).

    Planted wood of a listed population is still listed: how it grew plays no part here.
    """
    return bool(restricting(woods, country, on, law))


def caution(as_of: dt.date, read_in_full: dt.date) -> str:
    """What every answer that touches the law ends with."""
    return (
        "Not legal advice: confirm with the authority of each country on the journey. Rules as of "
        f"{as_of.isoformat()}; species lists last read in full as of {read_in_full.isoformat()}."
    )


def said_of(row: ListingRow) -> str:
    """One sentence for a row: what, whom, since when, how well known."""
    since = f" since {row.valid_from.isoformat()}" if row.valid_from else ""
    if since and row.date_evidence in ("recalled", "not-known"):
        since += " (date from memory)"
    who = "" if row.countries is None else f" ({row.population_words})"
    note = f", note {row.annotation}" if row.annotation else ""
    memory = " This row is from memory." if row.evidence == "recalled" else ""
    return f"{row.taxon}: {row.category_words}{who}{note}{since}.{memory}"
