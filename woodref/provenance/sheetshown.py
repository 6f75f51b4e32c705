"""A customer sheet that a public copy holds, with both of its signatures checked each time it is shown."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.provenance.faults import BadSheet, UnknownSheet
from woodref.provenance.keys import fingerprint
from woodref.provenance.publiccopy import Copy, tables_of
from woodref.provenance.publicitems import PublicItem, item_told
from woodref.provenance.publicsheet import TABLE
from woodref.provenance.sheetcheck import body_of, broken_signatures
from woodref.provenance.sheetlines import part_row
from woodref.provenance.sheetpage import words_of


@dataclass(frozen=True)
class SheetShown:
    """item: as published; body: the sheet.json its customer has, read; words: what its page says; flaws: a
    sentence for each signature that does not hold."""

    item: PublicItem
    body: Mapping[str, Any]
    words: Mapping[str, Any]
    flaws: Sequence[str]

    @property
    def mark(self) -> str:
        """The fingerprint of its key."""
        return fingerprint(str(self.body["sheet"]["key"]))

    def signed(self) -> list[str]:
        """Whether it is as it was signed, and what that shows."""
        if self.flaws:
            return ["This sheet is not to be trusted.", *self.flaws]
        return [
            f"Unchanged since it was signed with key {self.mark}: both signatures were checked as this page "
            "was made.",
            "Whose key that is the page cannot tell: take the fingerprint from the maker by another way.",
        ]

    def checking(self) -> list[str]:
        """How a reader checks it without believing this page."""
        return [
            "The explorer gives this page as JSON too, which is the file sheet.json of its customer, letter "
            f"for letter. Saved, it is checked with `woodref book check --sheet - --key '{self.mark}' < "
            "sheet.json`.",
            f"It was given out on {self.body['sheet']['made_at'][:10]}. What came to be known later stands "
            "on the page of the item.",
        ]

    def rows(self) -> list[dict[str, str]]:
        """Its table of parts, in words."""
        return [dict(part_row(part)) for part in self.body["sheet"]["parts"]]


def sheet_told(copy: Copy, name: str) -> SheetShown:
    """The sheet of an item by its id or its random name. UnknownLot when no such item is published;
    UnknownSheet when the copy holds no sheet of it; BadSheet when what it holds is none."""
    item = item_told(copy, name).item
    with copy.opened() as connection:
        held = TABLE in tables_of(connection)
        text = _held(connection, item.item) if held else None
    if text is None:
        why = "was published of it" if held else "is in this copy of the book"
        raise UnknownSheet(
            f"{item.item}: no customer sheet {why}",
            next="Ask the maker for it. The maker gives one out with `woodref sheet ITEM`, and publishes "
            "what was given out with `woodref book publish FILE --customer-sheets`.",
        )
    body = body_of(text, f"the sheet of {item.item} in this copy")
    try:
        words = words_of(body["sheet"], str(body["signature"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        raise BadSheet(f"the sheet of {item.item} in this copy cannot be read") from None
    return SheetShown(item, body, words, broken_signatures(body))


def has_sheet(copy: Copy, item: str) -> bool:
    """Whether the copy holds a sheet of an item, by its id."""
    with copy.opened() as connection:
        return TABLE in tables_of(connection) and _held(connection, item) is not None


def _held(connection: sqlite3.Connection, item: str) -> str | None:
    """The text of an item's sheet.json, where the copy has sheets."""
    row = connection.execute(f"SELECT body FROM {TABLE} WHERE item = ?", (item,)).fetchone()
    return row and str(row["body"])
