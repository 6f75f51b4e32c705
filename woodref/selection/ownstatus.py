"""What may be said of the law of a row of a user's own list whose wood the catalogue does not hold.

Nothing is assumed: the list says neither where a wood was harvested nor whether its name is right. A listing
that may reach it is told, by species, by genus, and by the names of listed woods in its trade name; where
none does, its trade status is not known here.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from woodref.catalogue.names import ASK_THE_SELLER, shared_meanings
from woodref.catalogue.ownknown import Known, taxon
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.reader import Catalogue
from woodref.errors import echo
from woodref.selection import status
from woodref.selection.words import joined
from woodref.trade import ListingRow, listings_for, restricting, said_of

#: how alike the spelling of a genus has to be to one that is listed (rapidfuzz ratio, 0..100)
_ALIKE = 85
#: the same in short, where many rows are told
NOT_KNOWN_SHORT = "Its trade status is not known here."
NOT_KNOWN = (
    "Its trade status is not known here: this wood is not in the catalogue, and the list does not say where "
    f"it was harvested. {ASK_THE_SELLER.removeprefix('I do not know. ')}"
)


@dataclass(frozen=True)
class OwnStatus:
    """kind: closed (listed wherever it grew, and closed to ordinary trade), papers (listed wherever it
    grew), maybe (a listing may reach it), not-known (no listing found, which is no leave)."""

    kind: str
    sentences: tuple[str, ...]
    rows: tuple[ListingRow, ...] = ()


def own_status(row: OwnRow, catalogue: Catalogue, known: Known, on: dt.date) -> OwnStatus:
    """What the listings say of a row that is no wood of the catalogue, on a day."""
    asked = ("own status", row.botanical, row.name, on)
    return catalogue.remembered(asked, lambda: _status(row, catalogue, known, on))


def _status(row: OwnRow, catalogue: Catalogue, known: Known, on: dt.date) -> OwnStatus:
    law = catalogue.law
    woods = _taxa(row, catalogue)
    found = {r.id: r for wood in woods for r in restricting([wood], None, on, law)}
    sure = [
        r
        for wood in woods[:1]
        if _one_species(wood)
        for r in listings_for(wood, on, law)
        if r.restricts() and r.countries is None and not r.leaves
    ]
    if sure:
        closed = any((r.regime, r.category) in status.BARRED for r in sure)
        verb = "Closed to ordinary trade" if closed else "Lawful only with papers"
        told = [f"{verb}, wherever it was harvested: {status.categories(tuple(sure))}."]
        told += [said_of(r) for r in found.values()]
        return OwnStatus("closed" if closed else "papers", (*told, NOT_KNOWN), tuple(found.values()))
    if found:
        told = [
            f"A listing may cover it: {status.categories(tuple(found.values()))}. Until its species and "
            "country of harvest are proved I treat it as listed."
        ]
        told += [said_of(r) for r in found.values()]
        return OwnStatus("maybe", (*told, NOT_KNOWN), tuple(found.values()))
    if row.botanical is None:
        named, rows = _by_names(row, catalogue, known, on)
        if named:
            return OwnStatus("maybe", (*named, NOT_KNOWN), rows)
    return OwnStatus("not-known", (*_beside(woods, catalogue, on), NOT_KNOWN))


def _one_species(wood: str) -> bool:
    words = wood.split()
    return len(words) == 2 and words[1] != "spp." and "×" not in words


def _taxa(row: OwnRow, catalogue: Catalogue) -> list[str]:
    """What the law is asked: the accepted name first, then every further genus that the words name and the
    law speaks of."""
    text = row.botanical or row.name or ""
    genera = catalogue.law.by_genus
    first = taxon(row.botanical) if row.botanical else None
    out = [catalogue.law_synonyms.get(first.casefold(), first)] if first else []
    if first and first != out[0]:
        out.append(first)  # the older name may be listed too
    heads = {wood.split()[0] for wood in out}
    for word in text.replace("/", " ").replace("-", " ").replace("(", " ").split():
        genus = word.strip(".,;)").capitalize()
        if genus in genera and genus not in heads:
            heads.add(genus)
            out.append(f"{genus} spp.")
    return out


def _by_names(
    row: OwnRow, catalogue: Catalogue, known: Known, on: dt.date
) -> tuple[list[str], tuple[ListingRow, ...]]:
    """Listed woods whose names stand in a trade name: 'pommele bubinga', 'rosewood'."""
    told: list[str] = []
    rows: dict[str, ListingRow] = {}
    for part, shared in known.within(row.called):
        if shared:
            listed = [m for m in shared_meanings(part, catalogue, on) if m.listed]
            if listed:
                of = joined([f"{m.taxon} ({m.status})" for m in listed])
                told.append(f"{echo(part)} in its name is also said of {of}.")
            continue
        for material_id in sorted(known.ids(part)):
            material = catalogue.material(material_id)
            found = status.origins(material, on, catalogue)
            if found.listed:
                told.append(
                    f"{echo(part)} in its name stands here for {material.name}: "
                    f"{status.origin_sentence(material, found, catalogue)}"
                )
                rows |= {r.id: r for r in found.restricting}
    if told:
        told.append("Until another wood is proved I treat it as listed.")
    return told, tuple(rows.values())


def _beside(woods: list[str], catalogue: Catalogue, on: dt.date) -> list[str]:
    """Other species of its genus that are listed, or a listed genus spelt nearly like its own."""
    from rapidfuzz import fuzz, process

    out = []
    for genus in dict.fromkeys(wood.split()[0] for wood in woods):
        rows = [r for r in catalogue.law.by_genus.get(genus, ()) if r.in_force(on) and r.restricts()]
        if rows:
            names = list(dict.fromkeys(r.taxon for r in rows))
            more = f" and {len(names) - 3} more" if len(names) > 3 else ""
            are = "is" if len(names) == 1 else "are"
            out.append(
                f"Of its genus {', '.join(names[:3])}{more} {are} listed: make sure that the name is right."
            )
            continue
        near = process.extractOne(genus, list(catalogue.law.by_genus), scorer=fuzz.ratio, score_cutoff=_ALIKE)
        if near and near[0] != genus:
            out.append(
                f"{genus} is spelt nearly like {near[0]}, of which woods are listed: make sure of the name."
            )
    return out
