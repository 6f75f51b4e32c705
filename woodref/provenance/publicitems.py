"""What a public copy of a book tells of its items: woods, origins, proof, papers by kind and day."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.errors import Candidate, echo
from woodref.provenance.faults import UnknownLot
from woodref.provenance.publiccopy import Basis, Copy, Names, basis_of
from woodref.selection.words import joined

#: column -> what the state of an item means to a reader
STATES = {"closed": "finished and still in the shop", "shipped": "finished and handed over"}
STANDS = {
    "plantation": "in a plantation", "managed-natural": "in a managed natural forest",
    "primary": "in a primary forest",
}  # fmt: skip
USED = {"adhesive": "Glue", "finish": "Finish", "hardware": "Hardware"}
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip
#: what stands between the woods of a lot that holds or may be several
_BETWEEN = re.compile(r", | or | and/or ")


def woods_named(wood: str) -> list[str]:
    """The botanical names in the wood of a lot as it is written."""
    return [] if wood in ("-", "not identified") else _BETWEEN.split(wood)


def _month(text: str | None) -> str | None:
    """'October 2025' of '2025-10'."""
    if text is None:
        return None
    year, _, month = text.partition("-")
    return f"{_MONTHS[int(month) - 1]} {year}"


def _safe(item: str) -> bool:
    return bool(re.fullmatch(r"[A-Za-z0-9_-]{1,80}", item))


@dataclass(frozen=True)
class PublicItem:
    """An item in the list. name: for a link, its id or, where that does not fit into one, its random name."""

    item: str
    name: str
    state: str
    made: str
    closed: str | None
    label: str | None
    woods: Sequence[str]

    @property
    def made_of(self) -> str:
        """'Fagus sylvatica and Betula pendula'."""
        return joined(list(self.woods)) if self.woods else "no wood on record"

    @property
    def when(self) -> str:
        """'Made in October 2025, finished and handed over.'"""
        closed = _month(self.closed)
        on = f" (closed in {closed})" if closed and self.closed != self.made else ""
        return f"Made in {_month(self.made)}, {STATES.get(self.state, self.state)}{on}."

    def as_dict(self) -> dict[str, Any]:
        return {
            "item": self.item, "name": self.name, "state": self.state, "made": self.made,
            "closed": self.closed, "label": self.label, "woods": list(self.woods),
        }  # fmt: skip


@dataclass(frozen=True)
class PublicItems:
    """All published items, the last made first."""

    rows: Sequence[PublicItem]
    basis: Basis

    @property
    def sentence(self) -> str:
        if not self.rows:
            return "No item is closed yet, so none is published."
        return "1 item is published." if len(self.rows) == 1 else f"{len(self.rows):,} items are published."

    def as_dict(self) -> dict[str, Any]:
        return {
            "query": {}, "count": len(self.rows), "rows": [row.as_dict() for row in self.rows],
            "basis": self.basis.as_dict(), "notices": [],
        }  # fmt: skip


@dataclass(frozen=True)
class Part:
    """A received lot of wood in a part of an item."""

    part: str
    lot: str
    form: str
    wood: str
    words: str | None
    countries: Sequence[str]
    forest: str
    wood_mg: int | None
    proof: str

    @property
    def weight(self) -> str:
        """'950.4 g'."""
        if self.wood_mg is None:
            return "weight not known"
        whole, rest = divmod(self.wood_mg, 1000)
        return f"{whole:,}.{rest:03}".rstrip("0").rstrip(".") + " g"

    def grown(self, names: Names) -> str:
        """'Slovenia, in a managed natural forest'."""
        told = [names.get(code, code) for code in self.countries]
        where = " or ".join(told) if told else "country not known"
        return f"{where}, {STANDS.get(self.forest, 'kind of forest not known')}"

    def as_dict(self) -> dict[str, Any]:
        return {
            "part": self.part, "lot": self.lot, "form": self.form, "wood": self.wood, "words": self.words,
            "countries": list(self.countries), "forest": self.forest, "wood_mg": self.wood_mg,
            "proof": self.proof,
        }  # fmt: skip


@dataclass(frozen=True)
class ItemTold:
    """One published item. used: (lot, form, glue or finish of the catalogue); papers: (lot, kind, day)."""

    item: PublicItem
    parts: Sequence[Part]
    used: Sequence[tuple[str, str, str | None]]
    papers: Sequence[tuple[str, str, str | None]]
    basis: Basis
    slug: str

    @property
    def label(self) -> str | None:
        return f'On its label: "{self.item.label}".' if self.item.label else None

    def proofs(self) -> list[str]:
        """What the words of proof in the table mean."""
        found = [p.proof for p in self.parts]
        return [
            f"{word[:1].upper()}{word[1:]}: {says}."
            for word, says in self.basis.proofs.items()
            if word in found
        ]

    def used_lines(self, named: Mapping[str, str]) -> list[str]:
        """'Glue: hide glue, of lot G-1.' named: id of a glue -> its name."""
        return [
            f"{USED.get(form, form.capitalize())}: {named.get(material, material)}, of lot {lot}."
            if material else f"{USED.get(form, form.capitalize())} of lot {lot}."
            for lot, form, material in self.used
        ]  # fmt: skip

    def paper_lines(self) -> list[str]:
        """'L-A: phytosanitary certificate of 2025-08-30.'"""
        out = []
        for lot, kind, issued in self.papers:
            day = f" of {issued}" if issued else ", its day not told"
            what = kind.replace("-", " ").replace("eudr", "EUDR")
            out.append(f"{what[:1].upper()}{what[1:]}{day}, for {lot}.")
        return out or ["No paper of it is public. That says nothing of the papers the maker holds."]

    def as_dict(self) -> dict[str, Any]:
        return {
            "query": {"item": self.item.item}, **self.item.as_dict(), "slug": self.slug,
            "parts": [part.as_dict() for part in self.parts],
            "used": [{"lot": lot, "form": form, "material": material} for lot, form, material in self.used],
            "papers": [{"lot": lot, "kind": kind, "issued_on": on} for lot, kind, on in self.papers],
            "basis": self.basis.as_dict(), "caution": self.basis.advice, "notices": [],
        }  # fmt: skip


def _item(row: sqlite3.Row, woods: Sequence[str]) -> PublicItem:
    name = row["item"] if _safe(row["item"]) else row["slug"]
    return PublicItem(row["item"], name, row["state"], row["made"], row["closed"], row["label"], woods)


def items(copy: Copy) -> PublicItems:
    """All items of a copy."""
    with copy.opened() as connection:
        woods: dict[str, dict[str, None]] = {}
        for row in connection.execute("SELECT item, wood FROM part ORDER BY part, lot"):
            woods.setdefault(row["item"], {})[row["wood"]] = None
        rows = connection.execute("SELECT * FROM item ORDER BY made DESC, item").fetchall()
        return PublicItems(
            [_item(row, list(woods.get(row["item"], ()))) for row in rows], basis_of(connection)
        )


def item_told(copy: Copy, name: str) -> ItemTold:
    """An item by its id or its random name. UnknownLot, with near ids, when none answers."""
    with copy.opened() as connection:
        row = connection.execute(
            "SELECT * FROM item WHERE item = :name OR slug = :name ORDER BY item <> :name LIMIT 1",
            {"name": name},
        ).fetchone()
        if row is None:
            raise _no_such(connection, name)
        of = (row["item"],)
        parts = [
            Part(
                r["part"], r["lot"], r["form"], r["wood"], r["words"],
                r["countries"].split(", ") if r["countries"] else [], r["forest"], r["wood_mg"], r["proof"],
            )
            for r in connection.execute("SELECT * FROM part WHERE item = ? ORDER BY part, lot", of)
        ]  # fmt: skip
        used = connection.execute("SELECT lot, form, material FROM used WHERE item = ? ORDER BY lot", of)
        papers = connection.execute(
            "SELECT lot, kind, issued FROM paper WHERE item = ? ORDER BY lot, kind, issued, n", of
        )
        woods = list(dict.fromkeys(part.wood for part in parts))
        return ItemTold(
            _item(row, woods), parts, [tuple(r) for r in used], [tuple(r) for r in papers],
            basis_of(connection), row["slug"],
        )  # fmt: skip


def _no_such(connection: sqlite3.Connection, name: str) -> UnknownLot:
    from difflib import get_close_matches

    known = [str(row["item"]) for row in connection.execute("SELECT item FROM item ORDER BY item")]
    near = get_close_matches(name, known, 5, 0.5)
    return UnknownLot(
        f"no published item is called {echo(name)}",
        next="Only items that are closed or shipped are published.",
        candidates=[Candidate(None, item) for item in near],
    )
