"""Long answers in pages: which rows stand on one, and how that is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from woodref.explorer.asking import Ask

T = TypeVar("T")
#: rows on a page
SIZE = 50


@dataclass(frozen=True)
class Leaf(Generic[T]):
    """rows: those of this page; number: which page, from 1; before, after: neighbouring pages or None."""

    rows: Sequence[T]
    number: int
    pages: int
    count: int
    first: int

    @property
    def before(self) -> int | None:
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        return self.number + 1 if self.number < self.pages else None

    @property
    def words(self) -> str:
        """'51 to 100 of 241', 'all 7', 'the one there is', 'none'."""
        if self.count == 0:
            return "none"
        if self.pages == 1:
            return "the one there is" if self.count == 1 else f"all {self.count}"
        return f"{self.first} to {self.first + len(self.rows) - 1} of {self.count}"


def leaf(ask: Ask, rows: Sequence[T], size: int = SIZE) -> Leaf[T]:
    """The page asked for by the field `page`; one that there is not is told at the field."""
    pages = max(1, -(-len(rows) // size))
    number = ask.whole("page", 1, pages, 1)
    begin = (number - 1) * size
    return Leaf(rows[begin : begin + size], number, pages, len(rows), begin + 1)


def turned(ask: Ask, shown: Leaf[T]) -> dict[str, str | None]:
    """The links of a page of a long answer: the page before and after, and the JSON and CSV, which hold
    every row whichever page is shown."""
    links = {
        way: None if page is None else ask.link(page=str(page))
        for way, page in (("before", shown.before), ("after", shown.after))
    }
    return links | {"json_link": ask.link(".json", page=None), "csv_link": ask.link(".csv", page=None)}
