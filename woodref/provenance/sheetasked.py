"""What a customer sheet takes from the catalogue: what people call a wood, names of listings and countries,
and what each destination wants of the item."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from woodref.catalogue.reader import Catalogue
from woodref.provenance.naming import names_of
from woodref.provenance.proof import evidence_of
from woodref.provenance.proofwords import Sale
from woodref.provenance.sheetdata import Asked
from woodref.provenance.store import Store
from woodref.selection.status import law_caution
from woodref.trade.requirements import DESTINATIONS


def asked_of(
    store: Store, catalogue: Catalogue, item: str, on: dt.date, maker: str | None = None,
    sale: Sale | None = None,
) -> Asked:  # fmt: skip
    """Everything beside the book that a sheet of an item says on a day. sale: what it is in law and where it
    is made; BadRequest for a word of that which is not known."""
    store.book().item(item, "sheet")  # told before anything else is asked
    law = catalogue.law
    found = [evidence_of(store, catalogue.rules, item, where, on, sale=sale) for where in DESTINATIONS]
    return Asked(
        maker=maker,
        verdicts=[(proof.destination, proof.verdict, proof.brief(), proof.wanting()) for proof in found],
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
