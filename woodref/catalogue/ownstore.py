"""Where lists of the user's own are kept: one SQLite file a list beside the catalogue, never in it.

A file holds the rows, where the list is from, and a digest over the very bytes of CSV and map. It is written
whole or not at all, readable by its owner alone (prices are nobody else's business), and read without
anything heavy.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref import paths
from woodref.catalogue.fold import fold
from woodref.catalogue.ownfaults import near
from woodref.catalogue.ownrow import LIST_ID, LONGEST_ID, OwnFigure, OwnPrice, OwnRow
from woodref.errors import BadList, UnknownName, echo

if TYPE_CHECKING:
    from woodref.catalogue.ownmap import ListMap

#: raised when the tables of a list's file change shape
LISTS_VERSION = "1"
_TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE row (key INTEGER PRIMARY KEY, slug TEXT NOT NULL UNIQUE, data TEXT NOT NULL) STRICT;
CREATE TABLE name (folded TEXT NOT NULL, row INTEGER NOT NULL) STRICT;
CREATE INDEX name_folded ON name (folded);
"""


@dataclass(frozen=True)
class OwnList:
    """What is known of a kept list, its rows apart."""

    id: str
    title: str
    source: str
    licence: str
    date: str
    got: str
    file: str
    imported: str
    digest: str
    rows: int
    left_out: int
    path: Path

    def as_dict(self) -> dict[str, Any]:
        """The list as the JSON contract shows it."""
        return asdict(self) | {"path": str(self.path)}

    @property
    def words(self) -> str:
        """'the list harrow-veneers (Veneers of the Harrowmere yard, of 2026-03-01)'."""
        return f"the list {self.id} ({self.title}, of {self.date})"


def digest_of(csv_body: bytes, map_body: bytes) -> str:
    """16 hex digits over the bytes of a CSV and of its map."""
    total = hashlib.sha256(f"list {LISTS_VERSION} {len(csv_body)}\n".encode())
    total.update(csv_body)
    total.update(map_body)
    return total.hexdigest()[:16]


def place_of(list_id: str) -> Path:
    """The file of a list. BadList for what is no id, so that no name leads out of the folder."""
    if not LIST_ID.fullmatch(list_id) or len(list_id) > LONGEST_ID:
        raise BadList(f"{echo(list_id)} is no id of a list", next="All of them: woodref data lists")
    return paths.lists_dir() / f"{list_id}.sqlite"


def list_ids() -> list[str]:
    """The ids of all lists kept, sorted; [] where there is none."""
    try:
        found = os.listdir(paths.lists_dir())
    except OSError:
        return []
    ids = (name.removesuffix(".sqlite") for name in found if name.endswith(".sqlite"))
    return sorted(name for name in ids if LIST_ID.fullmatch(name))


@contextmanager
def _opened(list_id: str) -> Iterator[sqlite3.Connection]:
    path = place_of(list_id)
    if not path.is_file():
        raise BadList(
            f"no list of your own is called {echo(list_id)}{near(list_id, list_ids())}",
            next="All of them: woodref data lists",
        )
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
        try:
            found = connection.execute("SELECT value FROM meta WHERE key = 'tables'").fetchone()
            if found != (LISTS_VERSION,):
                raise sqlite3.DatabaseError("written by another version")
            yield connection
        finally:
            connection.close()
    except sqlite3.DatabaseError as fault:
        raise BadList(
            f"the list {list_id} in {path} cannot be read ({fault})",
            next="Bring it in again: woodref data import FILE.csv --map MAP.yaml --replace",
        ) from None


def described(list_id: str) -> OwnList:
    """What is known of a kept list. BadList when there is none, or its file is spoilt."""
    with _opened(list_id) as connection:
        return _described(connection, list_id)


def _described(connection: sqlite3.Connection, list_id: str) -> OwnList:
    meta = dict(connection.execute("SELECT key, value FROM meta"))
    return OwnList(
        list_id,
        meta["title"],
        meta["source"],
        meta["licence"],
        meta["date"],
        meta["got"],
        meta["file"],
        meta["imported"],
        meta["digest"],
        int(meta["rows"]),
        int(meta["left_out"]),
        place_of(list_id),
    )


def keep(
    rows: list[OwnRow], by: ListMap, file: str, digest: str, today: str, left_out: int, replace: bool
) -> OwnList:
    """Put a list into its file. BadList when one of that id is there and is not to be replaced."""
    path = place_of(by.list_id)
    if path.exists() and not replace:
        raise BadList(
            f"a list {by.list_id} is kept already", next="Add --replace to put this one in its place, or "
            "give this one another id in its map.",
        )  # fmt: skip
    meta = {
        "tables": LISTS_VERSION, "title": by.title, "source": by.source.title, "licence": by.source.licence,
        "date": by.source.date.isoformat(), "got": by.source.got, "file": file, "imported": today,
        "digest": digest, "rows": str(len(rows)), "left_out": str(left_out),
    }  # fmt: skip
    part = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # of mode 600
        os.close(handle)
        _write(Path(part), rows, meta)
        os.replace(part, path)
    except (OSError, sqlite3.OperationalError) as fault:
        if part:
            Path(part).unlink(missing_ok=True)
        why = getattr(fault, "strerror", None) or fault
        raise BadList(
            f"the list cannot be kept in {path.parent} ({why})",
            next="Make room, or set WOODREF_LISTS to a folder that can be written.",
        ) from None
    return described(by.list_id)


def _write(path: Path, rows: list[OwnRow], meta: dict[str, str]) -> None:
    connection = sqlite3.connect(path)
    try:
        connection.execute("PRAGMA synchronous = OFF")  # a file of its own, put in place when it is whole
        connection.executescript(_TABLES)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())
        connection.executemany(
            "INSERT INTO row VALUES (?, ?, ?)",
            ((key, row.slug, json.dumps(_packed(row), ensure_ascii=False)) for key, row in enumerate(rows)),
        )
        connection.executemany(
            "INSERT INTO name VALUES (?, ?)",
            ((fold(text), key) for key, row in enumerate(rows) for text in {row.name, row.botanical} if text),
        )
        connection.commit()
    finally:
        connection.close()


def _packed(row: OwnRow) -> dict[str, Any]:
    held = asdict(row)
    del held["list_id"]
    return {key: value for key, value in held.items() if value}


def _row(list_id: str, data: str) -> OwnRow:
    held = json.loads(data)
    price = held.get("price")
    return OwnRow(
        list_id, held["slug"], held["line"], held.get("name"), held.get("botanical"),
        tuple(OwnFigure(**figure) for figure in held.get("figures", ())),
        OwnPrice(**price) if price else None, held.get("thickness"), held.get("cut"),
        tuple((column, text) for column, text in held.get("notes", ())),
    )  # fmt: skip


def drop(list_id: str) -> OwnList | None:
    """Remove a list; what it was, or None where its file could not be read any more."""
    path = place_of(list_id)
    try:
        held = described(list_id)
    except BadList:
        if not path.is_file():
            raise
        held = None
    try:
        path.unlink()
    except OSError as fault:
        raise BadList(f"{path} cannot be removed ({fault.strerror})") from None
    return held


def rows_of(list_id: str) -> tuple[OwnList, list[OwnRow]]:
    """A list with all its rows, in the order of the file."""
    with _opened(list_id) as connection:
        found = connection.execute("SELECT data FROM row ORDER BY key").fetchall()
        return _described(connection, list_id), [_row(list_id, data) for (data,) in found]


def holding(list_id: str, text: str) -> tuple[OwnList, list[OwnRow]]:
    """A list, and its rows one of whose names holds every word, as a beginning of a word."""
    words = [f" {word}" for word in fold(text).split()]
    if not words:
        return described(list_id), []
    asked = " AND ".join("instr(' ' || n.folded, ?)" for _ in words)
    sql = f"SELECT data FROM row WHERE key IN (SELECT n.row FROM name n WHERE {asked}) ORDER BY key"
    with _opened(list_id) as connection:
        found = connection.execute(sql, words).fetchall()
        return _described(connection, list_id), [_row(list_id, data) for (data,) in found]


def called(list_id: str, text: str) -> tuple[OwnList, list[OwnRow]]:
    """A list, and its rows that are called exactly so."""
    sql = "SELECT data FROM row WHERE key IN (SELECT row FROM name WHERE folded = ?) ORDER BY key"
    with _opened(list_id) as connection:
        found = connection.execute(sql, (fold(text),)).fetchall()
        return _described(connection, list_id), [_row(list_id, data) for (data,) in found]


def row_at(own_id: str) -> tuple[OwnList, OwnRow]:
    """The row of an id such as my/harrow-veneers/american-walnut. UnknownName with near ids otherwise."""
    _, _, rest = own_id.strip().partition("/")
    list_id, _, slug = rest.partition("/")
    with _opened(list_id) as connection:
        held = _described(connection, list_id)
        found = connection.execute("SELECT data FROM row WHERE slug = ?", (slug,)).fetchone()
        if found:
            return held, _row(list_id, found[0])
        slugs = [name for (name,) in connection.execute("SELECT slug FROM row LIMIT 20000")]
    raise UnknownName(
        f"{held.words} has no row {echo(slug)}{near(slug, slugs)}",
        next=f"Its rows: woodref find --among {list_id}",
    )


@dataclass(frozen=True)
class Kept:
    """All lists kept; unreadable: a sentence for each that cannot be read."""

    lists: list[OwnList]
    unreadable: list[str]

    @property
    def sentences(self) -> list[str]:
        """One for each list."""
        if not self.lists:
            return ["No list of your own is kept. Bring one in: woodref data import FILE.csv --map MAP.yaml"]
        return [
            f"{held.id}: {held.title}, {held.rows:,} row{'' if held.rows == 1 else 's'}"
            + (f" ({held.left_out:,} left out for faults)" if held.left_out else "")
            + f". {held.source}, of {held.date}, {held.got}; licence: {held.licence}. From {held.file}, "
            f"brought in on {held.imported}, digest {held.digest}. Not checked here."
            for held in self.lists
        ]

    def notices_as_dicts(self) -> list[dict[str, str]]:
        """What cannot be read, as notices of the JSON contract."""
        return [{"code": "list-unreadable", "message": text} for text in self.unreadable]


def kept_lists() -> Kept:
    """Every list kept, by id."""
    out = Kept([], [])
    for list_id in list_ids():
        try:
            out.lists.append(described(list_id))
        except BadList as fault:
            out.unreadable.append(str(fault))
    return out


def dropped_words(list_id: str, held: OwnList | None) -> str:
    """What is said of a list that was removed."""
    if held is None:
        return f"The list {list_id}, which could not be read any more, is removed."
    rows = f"{held.rows:,} row{'' if held.rows == 1 else 's'}"
    return f"Removed: {held.words}, {rows}. The CSV it was read from stays where it is."
