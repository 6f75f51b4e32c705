"""A row of a user's own list as plain values: what is kept of it and read again, without YAML or CSV."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

#: what a list may be called
LIST_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
LONGEST_ID = 40


@dataclass(frozen=True)
class OwnFigure:
    """One figure of a row in the property's unit, as plain digits; printed: as the list has it."""

    property: str
    value: str | None
    low: str | None
    high: str | None
    condition: dict[str, Any]
    evidence: str
    printed: str


@dataclass(frozen=True)
class OwnPrice:
    """What a row costs, as plain digits, per m2, m3, leaf or kg."""

    amount: str
    currency: str
    per: str

    @property
    def words(self) -> str:
        """'14.20 EUR per m2'."""
        return f"{self.amount} {self.currency} per {self.per}"


@dataclass(frozen=True)
class OwnRow:
    """One row of a list. line: where its record begins in the file; notes: (column, text) pairs;
    thickness in mm."""

    list_id: str
    slug: str
    line: int
    name: str | None
    botanical: str | None
    figures: tuple[OwnFigure, ...] = ()
    price: OwnPrice | None = None
    thickness: str | None = None
    cut: str | None = None
    notes: tuple[tuple[str, str], ...] = ()

    @property
    def id(self) -> str:
        return f"my/{self.list_id}/{self.slug}"

    @property
    def called(self) -> str:
        """The name printed first."""
        return self.name or self.botanical or self.slug
