"""What a customer sheet takes from the catalogue: what people call a wood, names of listings and countries,
and what each destination wants of the item."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from woodref.catalogue.reader import Catalogue
from woodref.provenance.naming import names_of
from woodref.provenance.sheetdata import Asked
from woodref.provenance.store import Store
from woodref.selection.status import law_caution


def asked_of(store: Store, catalogue: Catalogue, item: str, on: dt.date, maker: str | None = None) -> Asked:
    """Everything beside the book that a sheet of an item says on a day."""
    law = catalogue.law
    return Asked(
        maker=maker,
        called=called_in(catalogue),
        listed_as=lambda name: names_of(catalogue, on)(name).older,
        country=lambda code: catalogue.countries.get(code, code),
        caution=law_caution(catalogue),
        rules_as_of=law.as_of.isoformat(),
        catalogue=catalogue.stamp,
    )


def called_in(catalogue: Catalogue) -> Callable[[str], str | None]:
    """Botanical name -> what people call that wood, None where the catalogue does not hold it."""

    def called(name: str) -> str | None:
        rows = catalogue.rows(
            "SELECT id FROM material WHERE botanical_name = ? AND kind = 'species' ORDER BY id", (name,)
        )
        return catalogue.material(rows[0][0]).name if len(rows) == 1 else None

    return called
