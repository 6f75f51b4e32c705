"""Which listings stand on a day, and what changed since another."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.trade.listings import Law, ListingRow, said_of


@dataclass(frozen=True)
class Change:
    """A row that began, or ended without another one of the same taxon and regime following it."""

    row: ListingRow
    what: str
    day: dt.date

    @property
    def sentence(self) -> str:
        """What changed, in words."""
        recalled = " (date from memory)" if self.row.date_evidence in ("recalled", "not-known") else ""
        return f"{self.day.isoformat()}{recalled} {self.what}: {said_of(self.row)}"

    def as_dict(self) -> dict[str, Any]:
        return self.row.as_dict() | {"what": self.what, "day": self.day.isoformat()}


def in_force(law: Law, on: dt.date) -> list[ListingRow]:
    """Rows standing on a day that ask for something, by accepted name."""
    rows = [r for r in law.rows if r.in_force(on) and r.category != "not-listed"]
    return sorted(rows, key=lambda r: (r.accepted, r.regime, r.id))


def changes(law: Law, since: dt.date, on: dt.date) -> list[Change]:
    """What began after `since` up to `on`, and what ended in that span; oldest first."""
    out = []
    for row in law.rows:
        if row.category == "not-listed":
            continue
        if row.valid_from is not None and since < row.valid_from <= on:
            out.append(Change(row, "began", row.valid_from))
        if row.valid_to is not None and since <= row.valid_to < on:
            out.append(Change(row, "ended", row.valid_to))
    return sorted(out, key=lambda c: (c.day, c.row.accepted, c.row.id))
