"""The public copy of a book, read: what was published of its items, and the shelf where the copy holds it.

Only a file that `book publish` wrote is opened, and anew for each answer: a copy that was published again is
seen at once.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from woodref.errors import BadRequest
from woodref.provenance.publicsheet import TABLE as SHEETS
from woodref.provenance.publicshelf import TABLE as SHELF
from woodref.provenance.publish import MARK, VERSION

TABLES = frozenset(("about", "item", "part", "used", "wood", "paper"))
PUBLISH = "woodref book publish public.sqlite"
HOW_TO_PUBLISH = f"Write one with `{PUBLISH}`"

Names = Mapping[str, str]


class NoShelf(BadRequest):
    """The copy was written without the shelf."""

    code = "no-shelf"
    exit_code = 3


def open_here(path: Path) -> Copy:
    """The copy at a path, looked at once. BadRequest, with what it is instead, when it is no public copy."""
    found = Copy(path)
    with found.opened():
        return found


@dataclass(frozen=True)
class Copy:
    """A public copy by its path."""

    path: Path

    @contextmanager
    def opened(self) -> Iterator[sqlite3.Connection]:
        """Read-only. BadRequest when the file is not there, cannot be read or is no public copy."""
        _must_be_public(self.path)
        try:
            with closing(_connect(self.path)) as connection:
                connection.row_factory = sqlite3.Row
                yield connection
        except sqlite3.Error as fault:
            raise BadRequest(f"{self.path} cannot be read ({fault})", next=f"{HOW_TO_PUBLISH}.") from None

    @property
    def has_shelf(self) -> bool:
        with self.opened() as connection:
            return SHELF in tables_of(connection)


def _connect(path: Path) -> sqlite3.Connection:
    # immutable: nobody writes into a copy, it is only ever replaced; and no file is laid beside it
    return sqlite3.connect(f"file:{quote(str(path))}?mode=ro&immutable=1", uri=True)


def tables_of(connection: sqlite3.Connection) -> set[str]:
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type IN ('table', 'view', 'trigger')")
    return {str(row[0]) for row in rows}


def _must_be_public(path: Path) -> None:
    try:
        with path.open("rb") as file:
            start = file.read(72)
    except OSError as fault:
        raise BadRequest(f"{path} cannot be read ({fault.strerror})", next=f"{HOW_TO_PUBLISH}.") from None
    database, tables, version = start.startswith(b"SQLite format 3\0"), set[str](), None
    if database:
        try:
            with closing(_connect(path)) as connection:
                tables = tables_of(connection)
                if "about" in tables:
                    row = connection.execute("SELECT value FROM about WHERE key = 'version'").fetchone()
                    version = row and row[0]
        except sqlite3.Error:
            tables = set()
    marked = database and int.from_bytes(start[68:72], "big") == MARK
    if marked and version == VERSION and TABLES <= tables <= TABLES | {SHELF, SHEETS}:
        return
    if {"event", "lot"} <= tables:
        raise BadRequest(
            f"{path} is a stock book itself, with prices, suppliers and notes in it, and no public copy",
            next=f"Write one with `{PUBLISH} --book {path}`, and name that file instead.",
        )
    if {"party", "salt"} <= tables:
        raise BadRequest(
            f"{path} holds the parties, with persons' data in it, and is never opened here",
            next=f"{HOW_TO_PUBLISH}, and name that file instead.",
        )
    raise BadRequest(f"{path} is no public copy of a stock book", next=f"{HOW_TO_PUBLISH}.")


def countries_told(codes: str, names: Names) -> list[str]:
    return [names.get(code, code) for code in codes.split(", ")] if codes else []


@dataclass(frozen=True)
class Basis:
    """What a copy stands for: number of events and hash of the last one, the day of it, the words of proof,
    what it is no advice on."""

    events: int
    head: str
    as_of: str
    proofs: Mapping[str, str]
    advice: str

    def sentences(self) -> list[str]:
        events = "1 event" if self.events == 1 else f"{self.events:,} events"
        day = f", the last one recorded on {self.as_of}" if self.as_of else ""
        return [f"It stands for the book of {events}{day}.", f"Its head is {self.head}."]

    def checking(self) -> list[str]:
        """How a reader can find out whether it is true."""
        return [
            "This page is not signed. The customer sheet of the item is: ask the maker for it.",
            "A signed sheet is checked with `woodref book check --sheet FOLDER --key FINGERPRINT`. Take the "
            "fingerprint from the maker by another way than the sheet.",
            "Whoever holds the book works all its events out anew with `woodref book check`; a signed head "
            "that somebody kept (`--deposit FILE`) shows that nothing before it was changed since.",
        ]

    def as_dict(self) -> dict[str, Any]:
        return {"events": self.events, "head": self.head, "as_of": self.as_of or None}


def basis_of(connection: sqlite3.Connection) -> Basis:
    about = {row["key"]: row["value"] for row in connection.execute("SELECT key, value FROM about")}
    proofs = {k.removeprefix("proof: "): v for k, v in about.items() if k.startswith("proof: ")}
    return Basis(int(about["events"]), about["head"], about["as_of"], proofs, about["advice"])
