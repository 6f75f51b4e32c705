"""The listings of the catalogue as values of the trade room. Apart from the rest of the law, since most
questions ask for no more and need not load it."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from woodref.trade.listings import Law, ListingRow

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue


def day(text: str | None) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def law_of(catalogue: Catalogue) -> Law:
    """The listings of the catalogue."""
    rows = [listing_of(r) for r in catalogue.rows("SELECT * FROM law_row ORDER BY id")]
    return Law.of(rows, dt.date.fromisoformat(catalogue.meta["law_as_of"]))


def listing_of(r: Mapping[str, Any] | sqlite3.Row) -> ListingRow:
    """A row of the table of listings as a value."""
    return ListingRow(
        id=r["id"],
        taxon=r["taxon"],
        accepted=r["accepted"],
        rank=r["rank"],
        regime=r["regime"],
        category=r["category"],
        countries=None if r["countries"] is None else frozenset(json.loads(r["countries"])),
        population_words=r["population_words"],
        annotation=r["annotation"],
        except_taxa=tuple(json.loads(r["except_taxa"])),
        valid_from=day(r["valid_from"]),
        valid_to=day(r["valid_to"]),
        source=r["source_id"],
        locator=r["locator"],
        evidence=r["evidence"],
        date_evidence=r["date_evidence"],
        note=r["note"],
        parties=frozenset(json.loads(r["parties"])),
        leaves=frozenset(json.loads(r["leaves"])),
    )
