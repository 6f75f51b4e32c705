"""The shelf of a public copy, told: what lies where, how much of it is free, and what is on record of it."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.layup.saying import Say, plural
from woodref.provenance.amounts import plainly
from woodref.provenance.publiccopy import (
    PUBLISH,
    Basis,
    Copy,
    Names,
    NoShelf,
    basis_of,
    countries_told,
    tables_of,
)
from woodref.provenance.publicshelf import TABLE
from woodref.selection.words import cut_words, joined

FORMS = {"engineered-veneer": "engineered veneer", "adhesive": "glue", "sawn": "sawn wood"}
NO_SHELF = "Where they lie is not told"


@dataclass(frozen=True)
class ShelfLot:
    """A lot on hand. leaves, leaves_free: whole leaves of leaf_mm that its area is; proof: of its
    purchase."""

    lot: str
    form: str
    wood: str
    words: str | None
    cut: str | None
    thickness_um: int | None
    unit: str
    on_hand: int
    free: int
    leaf_mm: tuple[int, int] | None
    leaves: int | None
    leaves_free: int | None
    lies: str | None
    countries: str
    country_unknown: bool
    proof: str

    def what(self, say: Say) -> str:
        """'Veneer, crown cut, 0.6 mm'."""
        form = FORMS.get(self.form, self.form)
        cut = _cut(self.cut) if self.cut else None
        thick = None if self.thickness_um is None else say.mm(self.thickness_um / 1000)
        return ", ".join(filter(None, (f"{form[:1].upper()}{form[1:]}", cut, thick)))

    @property
    def called(self) -> str:
        """The words on its paper where they say more than the wood does."""
        return f'"{self.words}"' if self.words and self.words != self.wood else ""

    def left(self, say: Say) -> str:
        """'8 leaves of 1800 x 200 mm left, 6 of them free; 2.16 m2 free.'"""
        free = f"{plainly(self.free, self.unit)} free"
        if self.leaf_mm is None or self.leaves is None:
            kept = "" if self.free == self.on_hand else f" of {plainly(self.on_hand, self.unit)}"
            return f"{free}{kept}."
        size = f"{say.mm(self.leaf_mm[0]).rpartition(' ')[0]} x {say.mm(self.leaf_mm[1])}"
        many = f"{plural(self.leaves, 'leaf', 'leaves')} of {size} left"
        kept = "" if self.leaves_free == self.leaves else f", {self.leaves_free} of them free"
        return f"{many}{kept}; {free}."

    def proven(self, names: Names) -> str:
        """'Purchase documented; grown in India.'"""
        if self.wood == "-":
            return f"Purchase {self.proof}."
        told = countries_told(self.countries, names)
        if not told:
            grown = "where it grew is not known"
        elif self.country_unknown:
            grown = f"some of it grew in {joined(told)}, of the rest it is not known"
        else:
            grown = f"grown in {joined(told)}"
        return f"Purchase {self.proof}; {grown}."

    def speaks_of(self, words: str) -> bool:
        said = (self.lot, self.form, self.wood, self.words or "", self.cut or "", self.lies or "")
        return words.casefold() in " ".join(said).casefold()

    def as_dict(self) -> dict[str, Any]:
        return {
            "lot": self.lot, "form": self.form, "wood": None if self.wood == "-" else self.wood,
            "words": self.words, "cut": self.cut,
            "thickness_um": self.thickness_um, "unit": self.unit, "on_hand": self.on_hand, "free": self.free,
            "leaf_length_mm": self.leaf_mm and self.leaf_mm[0],
            "leaf_width_mm": self.leaf_mm and self.leaf_mm[1], "leaves": self.leaves,
            "leaves_free": self.leaves_free, "shelf": self.lies, "countries": self.countries,
            "country_unknown": self.country_unknown, "proof": self.proof,
        }  # fmt: skip


@dataclass(frozen=True)
class Shelf:
    """Lots on hand in the order of where they lie. asked: the words looked for."""

    rows: Sequence[ShelfLot]
    asked: str | None
    basis: Basis

    @property
    def sentence(self) -> str:
        among = f' with "{self.asked}" in it' if self.asked else ""
        if not self.rows:
            return f"Nothing is on hand{among}."
        return f"{plural(len(self.rows), 'lot')}{among}, as the book stood on {self.basis.as_of}."

    @property
    def mind(self) -> str | None:
        """What the count of leaves is worth."""
        if any(row.leaves is not None for row in self.rows):
            return "Leaves are counted from the area: count them at the shelf."
        return None

    def as_dict(self) -> dict[str, Any]:
        return {
            "query": {"words": self.asked}, "count": len(self.rows),
            "rows": [row.as_dict() for row in self.rows], "basis": self.basis.as_dict(), "notices": [],
        }  # fmt: skip


def _cut(cut: str) -> str:
    try:
        return cut_words([cut])
    except KeyError:  # the book takes any words
        return cut


def shelf(copy: Copy, words: str | None = None) -> Shelf:
    """The lots on hand. words: looked for in id, wood, words, form, cut and place. NoShelf when the copy was
    written without them."""
    with copy.opened() as connection:
        if TABLE not in tables_of(connection):
            raise NoShelf(
                "this copy of the book was written without the shelf",
                next=f"Write it again with `{PUBLISH} --shelf`; the page is there as soon as the file is.",
            )
        found = [
            _lot(row) for row in connection.execute(f"SELECT * FROM {TABLE} ORDER BY lies IS NULL, lies, lot")
        ]
        kept = [lot for lot in found if words is None or lot.speaks_of(words)]
        return Shelf(kept, words, basis_of(connection))


def _lot(row: sqlite3.Row) -> ShelfLot:
    long, wide = row["leaf_length_mm"], row["leaf_width_mm"]
    return ShelfLot(
        row["lot"], row["form"], row["wood"], row["words"], row["cut"], row["thickness_um"], row["unit"],
        row["on_hand"], row["free"], None if long is None else (long, wide), row["leaves"],
        row["leaves_free"], row["lies"], row["countries"], bool(row["country_unknown"]), row["proof"],
    )  # fmt: skip
