"""Where a material may come from: which countries of harvest are listed, which are not, in words."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue, Notice
from woodref.selection.words import joined
from woodref.trade import ListingRow, caution, listings_for, restricting, said_of

#: categories under which wood of that origin cannot be bought and sold in the ordinary way
BARRED = {
    ("CITES", "I"),
    ("EU", "A"),
    ("GB", "A"),
    ("US-ESA", "threatened"),
    ("US-ESA", "endangered"),
}

PLANTED_SENTENCE = "Planted wood of this species can be had; yours is planted wood only if a paper says so."
PLANTED_IN_IT = "The wood in it is planted wood only if a paper says so."
OTHER_LAWS = "No listing is not the same as free to trade: timber, plant-import and export laws still apply."


@dataclass(frozen=True)
class Origins:
    """Countries of harvest split by the law of one day.

    free: not listed there; listed: country -> the rows that restrict it; notified: rows that only ask
    for an import notification (EU Annex D); rows: every row in force for its woods; on_hand: whether the
    countries are those of lots on hand alone.
    """

    free: tuple[str, ...]
    listed: dict[str, tuple[ListingRow, ...]]
    notified: tuple[ListingRow, ...]
    rows: tuple[ListingRow, ...]
    on_hand: bool = False

    def share(self, material: Material) -> str:
        """'all held', '4 of 20', 'GH': from how many of the countries of harvest it is free; of wood on hand
        from which."""
        if self.on_hand:
            return ", ".join(self.free) or "none"
        held = len(material.countries)
        if not held:
            return "not known"
        if len(self.free) == held:
            return "all held" if held != 1 else self.free[0]
        return f"{len(self.free)} of {held}"

    @property
    def barred(self) -> bool:
        """Whether no origin is free and every listed one is closed to ordinary trade."""
        return (
            not self.free
            and bool(self.listed)
            and all(
                any((row.regime, row.category) in BARRED for row in rows) for rows in self.listed.values()
            )
        )

    @property
    def restricting(self) -> tuple[ListingRow, ...]:
        """The rows that restrict any origin, each once."""
        found = {row.id: row for rows in self.listed.values() for row in rows}
        return tuple(found.values())


def origins(
    material: Material, on: dt.date, catalogue: Catalogue, countries: tuple[str, ...] | None = None
) -> Origins:
    """Split a material's countries of harvest by whether its woods are listed there on the day. countries:
    those of the wood on hand, in place of all it is harvested in."""
    if countries is None:
        asked = ("origins", material.woods, material.countries, on)
        return catalogue.remembered(asked, lambda: _origins(material, on, catalogue, None))
    return _origins(material, on, catalogue, countries)


def _origins(
    material: Material, on: dt.date, catalogue: Catalogue, countries: tuple[str, ...] | None
) -> Origins:
    law = catalogue.law
    rows = {row.id: row for wood in material.woods for row in listings_for(wood, on, law)}
    free: list[str] = []
    listed: dict[str, tuple[ListingRow, ...]] = {}
    for country in material.countries if countries is None else countries:
        found = restricting(material.woods, country, on, law)
        if found:
            listed[country] = tuple(found)
        else:
            free.append(country)
    notified = tuple(r for r in rows.values() if not r.restricts() and r.category == "D")
    return Origins(tuple(free), listed, notified, tuple(rows.values()), countries is not None)


def only_from(found: Origins, country: str) -> Origins:
    """The same, with one country of harvest alone."""
    return Origins(
        tuple(c for c in found.free if c == country),
        {c: rows for c, rows in found.listed.items() if c == country},
        found.notified,
        found.rows,
        found.on_hand,
    )


def without(found: Origins, stopped: set[str]) -> Origins:
    """The same, less the countries from which the wood cannot take the route."""
    if not stopped:
        return found
    return Origins(
        tuple(c for c in found.free if c not in stopped),
        {c: rows for c, rows in found.listed.items() if c not in stopped},
        found.notified,
        found.rows,
        found.on_hand,
    )


def only_planted(found: Origins, material: Material) -> Origins:
    """The same, with the countries alone where it is planted for timber."""
    planted = set(material.grows["plantation"]["countries"])
    return without(found, set(material.countries) - planted)


def country_names(codes: tuple[str, ...] | list[str], catalogue: Catalogue, most: int = 6) -> str:
    """'Gabon, Cameroon and 3 more' from ISO codes."""
    names = sorted((catalogue.countries.get(code, code) for code in codes), key=fold)
    if len(names) > most:
        return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"
    return joined(names) if names else "no country known"


def categories(rows: tuple[ListingRow, ...]) -> str:
    """'CITES Appendix II, with the EU and GB annexes that follow it' of the rows, each once."""
    treaty = [row for row in rows if row.regime == "CITES"]
    others = [row for row in rows if row.regime not in ("CITES", "EU", "GB")]
    if not treaty:
        return ", ".join(dict.fromkeys(row.category_words for row in rows))
    told = ", ".join(dict.fromkeys(row.category_words for row in (*treaty, *others)))
    return f"{told}, with the EU and GB annexes that follow it"


def origin_sentence(material: Material, found: Origins, catalogue: Catalogue) -> str:
    """May I buy and sell it? One sentence on where it is listed and where not."""
    if not material.countries:
        return "No country of harvest is known, so nothing can be said about its listing."
    whole = {*found.free, *found.listed} == set(material.countries)
    if not found.listed and not any(row.restricts() for row in found.rows):
        return f"No listing that we hold covers it, wherever it was harvested. {OTHER_LAWS}"
    if not found.listed:
        return f"No listing that we hold covers it from {country_names(found.free, catalogue)}. " + OTHER_LAWS
    papers = f"{categories(found.restricting)}"
    if not found.free:
        verb = "Closed to ordinary trade" if found.barred else "Lawful only with papers"
        there = country_names(list(found.listed), catalogue)
        where = "wherever it was harvested" if whole else f"if it was harvested in {there}"
        return f"{verb}, {where}: {papers}."
    return (
        f"Not listed if harvested in {country_names(found.free, catalogue)}. "
        f"Needs papers if harvested in {country_names(list(found.listed), catalogue)} ({papers})."
    )


def listing_sentences(material: Material, found: Origins) -> list[str]:
    """One sentence a row in force, restrictions first, notifications last; a row that reaches none of
    the countries of harvest says so, one for goods leaving a certain country is left to `trade`."""
    held = set(material.countries)
    out = []
    for row in found.rows:
        if not row.restricts() or row.leaves:
            continue
        if row.countries is not None and not row.countries & held:
            out.append(f"{row.taxon}: {row.category_words} reaches {row.population_words}, not this wood.")
        else:
            out.append(said_of(row))
    return out + notification_sentences(found)


def notification_sentences(found: Origins) -> list[str]:
    """What EU Annex D asks for: no permit, but a form at the border."""
    return [
        f"{row.taxon}: {row.category_words}: an import notification when it enters the EU, no permit."
        for row in found.notified
    ]


def law_caution(catalogue: Catalogue) -> str:
    """What every answer that touches the law ends with."""
    return caution(catalogue.law.as_of, dt.date.fromisoformat(catalogue.meta["law_read_in_full"]))


def law_notices(on: dt.date, catalogue: Catalogue) -> list[Notice]:
    """Doubts about the rules themselves on the day asked about."""
    behind = catalogue.law.behind(on)
    return [Notice("rules-older-than-date", behind)] if behind else []


def planted(material: Material) -> bool:
    """Whether the species is planted for timber (fully or in part)."""
    return material.grows["plantation"]["grown"] in ("yes", "some")


def plantation_sentence(material: Material, catalogue: Catalogue) -> str:
    """What is known of planted wood; every yes ends with the same warning."""
    block = material.grows["plantation"]
    where = country_names(block["countries"], catalogue) if block["countries"] else ""
    sheets = {
        "yes": "planted wood is met as veneer",
        "some": "planted wood is now and then met as veneer",
        "no": "as sheets it is not met",
        "not-known": "whether planted wood is sold as veneer is not known",
    }[block["sold_as_veneer"]]
    if block["grown"] in ("yes", "some"):
        much = "Planted for timber" if block["grown"] == "yes" else "Planted here and there"
        place = f" in {where}" if where else ""
        return f"{much}{place}; {sheets}. {PLANTED_SENTENCE}"
    if block["grown"] == "no":
        return "Not planted for timber to speak of."
    return "Whether it is planted for timber is not known."


def natural_figures_caution(material: Material) -> str | None:
    """Beside a plantation candidate: figures from natural-grown wood may flatter planted wood."""
    known = [f.preferred for f in material.figures.values() if f.preferred]
    natural = [f for f in known if f.condition.get("stand", "not-stated") != "planted"]
    if not known or not natural:
        return None
    return (
        "The figures are not known to come from planted wood: fast-grown planted wood may be "
        "lighter, paler and weaker."
    )
