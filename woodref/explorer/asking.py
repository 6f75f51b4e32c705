"""What a browser asks of a page: words of the path, fields of a form, and how the answer is wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

if TYPE_CHECKING:
    import datetime as dt

    from woodref.catalogue.reader import Catalogue
    from woodref.errors import WoodrefError

#: letters of one field, and of all of them, that are read
FIELD, ALL = 2_000, 60_000
#: fields that may be longer: a whole layup, pasted, each end of line two letters
LONG = {"paste": 20_000}
UNITS = ("metric", "us")
#: the word that opens the door from a phone, which every page may carry
WORD = "word"


@dataclass
class Shop:
    """What every page reads from. book_copy: the public copy of a stock book, where one was named; public:
    whether others than this machine may reach it."""

    catalogue: Catalogue
    book_copy: Path | None = None
    public: bool = False

    @property
    def today(self) -> dt.date:
        from woodref.units import today

        return today()


@dataclass
class Ask:
    """path: named words of the path; fields: of the query, in order; form: html, json or csv. wrong: field ->
    sentence, filled by whoever reads a field that cannot be read; unknown: those of them that the page
    does not have."""

    shop: Shop
    path: Mapping[str, str] = field(default_factory=dict)
    fields: Mapping[str, Sequence[str]] = field(default_factory=dict)
    form: str = "html"
    here: str = "/"
    wrong: dict[str, str] = field(default_factory=dict)
    unknown: set[str] = field(default_factory=set)

    @property
    def catalogue(self) -> Catalogue:
        return self.shop.catalogue

    def one(self, name: str, usual: str = "") -> str:
        """A field, trimmed; the usual value when it is empty or absent."""
        for value in self.fields.get(name, ()):
            if value.strip():
                return value.strip()
        return usual

    def many(self, name: str) -> list[str]:
        """Every filled value of a field."""
        return [value.strip() for value in self.fields.get(name, ()) if value.strip()]

    def flag(self, name: str) -> bool:
        """Whether a box was ticked."""
        return bool(self.one(name)) and self.one(name) not in ("0", "no", "off")

    def choice(self, name: str, choices: Sequence[str], usual: str) -> str:
        """One of some words; anything else is told at the field, and the usual one stands in."""
        found = self.one(name, usual)
        if found in choices:
            return found
        self.wrong[name] = f"{_short(found)} is not one of {', '.join(filter(None, choices))}."
        return usual

    def whole(self, name: str, low: int, high: int, usual: int) -> int:
        """A whole number within bounds; anything else is told at the field."""
        text = self.one(name)
        if not text:
            return usual
        if text.isascii() and text.isdigit() and len(text) < 10 and low <= int(text) <= high:
            return int(text)
        self.wrong[name] = f"{_short(text)} is no whole number from {low} to {high}."
        return usual

    def told(self, name: str, fault: WoodrefError) -> None:
        """A fault that belongs to a field, in words of the form."""
        from woodref.explorer.formwords import USUAL

        self.wrong[name] = USUAL.sentence(fault)

    @cached_property
    def units(self) -> str:
        return self.choice("units", UNITS, "metric")

    @property
    def empty(self) -> bool:
        """Whether nothing was filled in; the word at the door asks nothing."""
        return not any(self.many(name) for name in self.fields if name != WORD)

    def link(self, form: str = "", **changed: str | None) -> str:
        """This very question as a link that lasts; form: '.json' or '.csv'; changed: fields put or (None)
        left out."""
        kept = [
            (name, value)
            for name, values in self.fields.items()
            if name not in changed
            for value in values
            if value
        ]
        kept += [(name, value) for name, value in changed.items() if value is not None]
        query = urlencode(kept)
        return f"{self.here}{form}{'?' + query if query else ''}"


def _short(text: str) -> str:
    return f'"{text[:40]}..."' if len(text) > 40 else f'"{text}"'


def fields_of(pairs: Sequence[tuple[str, str]]) -> dict[str, list[str]]:
    """Fields by name; what is longer than a field or a form can be is cut off, so that no page is kept
    busy."""
    out: dict[str, list[str]] = {}
    left = ALL
    for name, value in pairs:
        left -= len(name) + len(value)
        if left < 0:
            break
        out.setdefault(name[:80], []).append(value[: LONG.get(name, FIELD)].replace("\x00", ""))
    return out


def ask_of(shop: Shop, path: Mapping[str, Any], pairs: Sequence[tuple[str, str]], here: str) -> Ask:
    """What was asked, from the matched path (with its `format`) and the query."""
    form = str(path.get("format") or "").lstrip(".") or "html"
    words = {name: str(value) for name, value in path.items() if name != "format" and value is not None}
    bare = here.removesuffix(f".{form}") if form != "html" else here
    return Ask(shop, words, fields_of(pairs), form, bare)
