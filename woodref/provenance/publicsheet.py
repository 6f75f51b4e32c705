"""Customer sheets in the public copy, when they are asked for: the one given out last of each item.

A sheet is copied as the file that its customer has, letter for letter, so that its signature can be checked
by whoever reads the copy. It tells more than the public table of parts: the serial, exact days, flitches, and
the papers that a customer may see. Never parties or prices: no sheet holds them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from woodref.provenance.sheets import kept
from woodref.provenance.store import Store

TABLE = "sheet"
CREATE = (
    "CREATE TABLE sheet (item TEXT PRIMARY KEY REFERENCES item, version INTEGER NOT NULL, "
    "body TEXT NOT NULL) STRICT"
)


def sheet_rows(store: Store, items: Sequence[str]) -> list[tuple[Any, ...]]:
    """(item, version, text of sheet.json) of those items that have a sheet, in the order of the columns."""
    found = [(item, kept(store, item)) for item in items]
    return [(item, sheet.version, sheet.main()) for item, sheet in found if sheet is not None]
