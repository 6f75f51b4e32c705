"""The public copy of a book: a new SQLite file that holds what anybody may see and not one word more.

Nothing is copied and then cut away: each value is named here and written into an empty file. The same book
gives the same bytes.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.bookname import book_id
from woodref.provenance.documents import Paper
from woodref.provenance.engine import told
from woodref.provenance.faults import Busy, StorageFault
from woodref.provenance.lots import Lot
from woodref.provenance.paperfiles import papers_of
from woodref.provenance.proofwords import DOCUMENTED, NOT_KNOWN, STATED_BY, purchase
from woodref.provenance.publicsheet import CREATE as SHEETS
from woodref.provenance.publicsheet import TABLE as SHEETS_TABLE
from woodref.provenance.publicsheet import sheet_rows
from woodref.provenance.publicshelf import CREATE as SHELF
from woodref.provenance.publicshelf import TABLE as SHELF_TABLE
from woodref.provenance.publicshelf import shelf_rows
from woodref.provenance.store import Store
from woodref.provenance.times import Moment
from woodref.provenance.trace import Root, contents, edges_back

#: marks the file as a public copy ('wood'), so that only such a file is ever written over
MARK = 0x776F6F64
#: of the shape of its tables
VERSION = "1"
#: states of an item that the public copy holds
SHOWN = ("closed", "shipped")
_WORDS = {
    DOCUMENTED: "a paper of its purchase is held",
    STATED_BY: "its supplier declares it; no other paper is held",
    NOT_KNOWN: "no paper of its purchase is held",
}
ADVICE = (
    "What the papers say, quoted; no advice on law. Ask the authority of your country before you sell an "
    "item or carry it over a border."
)

_TABLES = (
    "CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    "CREATE TABLE item (item TEXT PRIMARY KEY, slug TEXT NOT NULL UNIQUE, state TEXT NOT NULL, "
    "made TEXT NOT NULL, closed TEXT, label TEXT) STRICT",
    "CREATE TABLE part (item TEXT NOT NULL REFERENCES item, part TEXT NOT NULL, lot TEXT NOT NULL, "
    "form TEXT NOT NULL, wood TEXT NOT NULL, words TEXT, countries TEXT NOT NULL, forest TEXT NOT NULL, "
    "wood_mg INTEGER, proof TEXT NOT NULL, PRIMARY KEY (item, part, lot)) STRICT",
    "CREATE TABLE used (item TEXT NOT NULL REFERENCES item, lot TEXT NOT NULL, form TEXT NOT NULL, "
    "material TEXT, PRIMARY KEY (item, lot)) STRICT",
    "CREATE TABLE wood (wood TEXT PRIMARY KEY, countries TEXT NOT NULL, items INTEGER NOT NULL) STRICT",
    "CREATE TABLE paper (item TEXT NOT NULL REFERENCES item, lot TEXT NOT NULL, kind TEXT NOT NULL, "
    "issued TEXT, n INTEGER NOT NULL, PRIMARY KEY (item, lot, kind, n)) STRICT",
)  # fmt: skip
#: tables in the order they are written
_NAMES = ("about", "item", "part", "used", "wood", "paper")
_ITEMS = """SELECT i.id, i.state, i.label, m.payload, c.payload FROM item i
JOIN event m ON m.id = i.made_by LEFT JOIN event c ON c.id = i.closed_by
WHERE i.state IN ('closed', 'shipped') ORDER BY i.id"""

#: field of `Published` -> a table that is written only when asked for
MORE = {"lots": SHELF_TABLE, "sheets": SHEETS_TABLE}

#: how often it is read anew when somebody records meanwhile
_TRIES = 5

Row = tuple[Any, ...]


@dataclass(frozen=True)
class Published:
    """What a public copy holds. lots: on the shelf, sheets: of customers; None where they were not asked
    for."""

    path: Path
    items: int
    woods: int
    papers: int
    not_shown: int
    events: int
    head: str
    lots: int | None = None
    sheets: int | None = None

    def sentences(self) -> list[str]:
        many = f"{self.items:,} item{'' if self.items == 1 else 's'}"
        woods = f"{self.woods:,} wood{'' if self.woods == 1 else 's'}"
        papers = f"{self.papers:,} public paper{'' if self.papers == 1 else 's'}"
        out = [f"Written: {self.path}, with {many}, {woods} and {papers} (kind and date)."]
        if self.not_shown:
            verb = "1 item is" if self.not_shown == 1 else f"{self.not_shown:,} items are"
            out.append(f"{verb} not in it: only what is closed or shipped is shown.")
        if self.sheets is not None:
            sheets = "1 customer sheet is" if self.sheets == 1 else f"{self.sheets:,} customer sheets are"
            out.append(
                f"{sheets} in it, word for word as given out last: with serial, days, what is open, and the "
                "papers that a customer sees."
            )
        if self.lots is None:
            out.append("No prices, suppliers, shelves, notes, persons or other papers are in it.")
        else:
            lots = "1 lot" if self.lots == 1 else f"{self.lots:,} lots"
            out.append(
                f"The shelf is in it too: {lots} with what is free and where they lie. Keep this copy to "
                "yourself; the one to give away is written without --shelf."
            )
            out.append("No prices, suppliers, notes, persons or other papers are in it.")
        return [*out, f"It stands for the book of {self.events:,} events with head {self.head}."]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `book publish`."""
        return {
            "file": str(self.path), "items": self.items, "woods": self.woods, "papers": self.papers,
            "not_shown": self.not_shown, "lots": self.lots, "sheets": self.sheets, "events": self.events,
            "head": self.head,
            "sentences": self.sentences(), "notices": [],
        }  # fmt: skip


def publish(store: Store, path: Path, shelf: bool = False, sheets: bool = False) -> Published:
    """Write the public copy, by temp file and rename. shelf: the lots on hand too, for the maker's own phone;
    sheets: the customer sheet given out last of each item in it. BadRequest when something else is at the
    path."""
    _may_write(path)
    for _ in range(_TRIES):
        seq, head = store.head()
        papers = papers_of(store)
        tables = _filled(store, papers)
        if shelf:
            tables[SHELF_TABLE] = shelf_rows(store)
        if sheets:
            tables[SHEETS_TABLE] = sheet_rows(store, [row[0] for row in tables["item"]])
        if store.head() == (seq, head):
            break
    else:
        raise Busy("the book grows while it is copied", next="Try again when nobody records.")
    lots = {row[1] for row in tables["paper"]}
    shown = [p for p in papers if p.told.get("tier") == "public" and lots & set(p.lots)]
    last = store.rows("SELECT payload FROM event WHERE seq = :seq", seq=seq)
    as_of = str(json.loads(last[0][0])["recorded"])[:10] if last else ""
    tables["about"] = [
        ("advice", ADVICE), ("as_of", as_of), ("events", str(seq)), ("head", head),
        *((f"proof: {word}", says) for word, says in sorted(_WORDS.items())), ("version", VERSION),
    ]  # fmt: skip
    _write(path, tables)
    hidden = int(store.rows("SELECT count(*) FROM item WHERE state NOT IN ('closed', 'shipped')")[0][0])
    more = {key: len(tables[name]) if name in tables else None for key, name in MORE.items()}
    return Published(path, len(tables["item"]), len(tables["wood"]), len(shown), hidden, seq, head, **more)


def _may_write(path: Path) -> None:
    if not path.exists():
        if not path.parent.is_dir():
            raise BadRequest(f"there is no folder {path.parent}", where=str(path))
        return
    try:
        with path.open("rb") as file:
            start = file.read(72)
    except OSError as fault:
        raise BadRequest(f"{path} cannot be read ({fault.strerror})") from None
    if not start.startswith(b"SQLite format 3\0") or int.from_bytes(start[68:72], "big") != MARK:
        raise BadRequest(
            f"{path} is there and is no public copy of a book", next="Name another file, or move it away."
        )


def _filled(store: Store, listed: Sequence[Paper]) -> dict[str, list[Row]]:
    papers: dict[str, list[Paper]] = {}
    for paper in listed:
        for of in dict.fromkeys(paper.lots):
            papers.setdefault(of, []).append(paper)
    secret = book_id(store).encode()
    out: dict[str, list[Row]] = {name: [] for name in ("item", "part", "used", "wood", "paper")}
    woods: dict[str, tuple[set[str], set[str]]] = {}
    for item, state, label, made, closed in store.rows(_ITEMS):
        slug = hmac.new(secret, item.encode(), hashlib.sha256).hexdigest()[:32]
        out["item"].append((item, slug, state, _month(made), closed and _month(closed), label))
        lots: dict[str, Lot] = {}
        for part, root in _parts(store, item):
            lot = root.held.lot
            lots[lot.id] = lot
            if root.used:
                used = (item, lot.id, lot.form, lot.told.get("material"))
                if used not in out["used"]:
                    out["used"].append(used)
            elif lot.wooden:
                out["part"].append(_part(item, part, root, papers.get(lot.id, ())))
                for wood in lot.may_be or ("not identified",):
                    held = woods.setdefault(wood, (set(), set()))
                    held[0].update(_countries(lot))
                    held[1].add(item)
        for lot_id in (item, *sorted(lots)):
            shown = [p for p in papers.get(lot_id, ()) if p.told.get("tier") == "public"]
            shown.sort(key=lambda p: (p.kind, p.issued_on or "", p.id))
            out["paper"] += [(item, lot_id, p.kind, p.issued_on, n) for n, p in enumerate(shown, 1)]
    for wood, (countries, items) in sorted(woods.items()):
        out["wood"].append((wood, ", ".join(sorted(countries)), len(items)))
    return out


def _month(payload: str) -> str:
    """The month an event happened where it happened: 2025-10."""
    value = json.loads(payload)
    return str(Moment(value["time"], value.get("offset") or "Z").day)[:7]


def _parts(store: Store, item: str) -> list[tuple[str, Root]]:
    """(part, a received lot in it) of an item, in order; a part that is itself a received lot is its own."""
    edges = edges_back(store, item)
    book = store.book()
    out: dict[tuple[str, str], Root] = {}
    for edge in edges.get(item, ()):
        for lot, (net, gross) in contents(edges, edge.parent).items():
            root = Root(book.lot(lot, item), edge.net * net, edge.gross * gross)
            had = out.get((edge.parent, lot))
            if had:
                root = replace(root, net=root.net + had.net, gross=root.gross + had.gross)
            out[edge.parent, lot] = root
    return sorted(
        ((part, root) for (part, _), root in out.items()), key=lambda pair: (pair[0], pair[1].held.lot.id)
    )


def _countries(lot: Lot) -> tuple[str, ...]:
    return lot.countries or tuple(dict.fromkeys(c for _, _, several in lot.composition for c in several))


def _part(item: str, part: str, root: Root, papers: Sequence[Paper]) -> Row:
    lot = root.held.lot
    return (
        item, part, lot.id, lot.form, lot.wood, lot.told.get("trade"), ", ".join(_countries(lot)),
        str(lot.told.get("forest") or "unknown"), _mg(root.wood_ng), purchase(papers),
    )  # fmt: skip


def _mg(ng: Fraction | None) -> int | None:
    """Whole milligrams, half of one up."""
    return None if ng is None else int(ng / 1_000_000 + Fraction(1, 2))


def _write(path: Path, tables: dict[str, list[Row]]) -> None:
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        connection = sqlite3.connect(part, isolation_level=None)
        try:
            for pragma in ("page_size=4096", "journal_mode=OFF", f"application_id={MARK}"):
                connection.execute(f"PRAGMA {pragma}")
            connection.execute("BEGIN")
            more = [
                create for name, create in ((SHELF_TABLE, SHELF), (SHEETS_TABLE, SHEETS)) if name in tables
            ]
            for statement in (*_TABLES, *more):
                connection.execute(statement)
            for name in [n for n in (*_NAMES, *MORE.values()) if n in tables]:
                for row in sorted(tables[name], key=lambda row: [str(cell) for cell in row]):
                    marks = ", ".join("?" * len(row))
                    connection.execute(f"INSERT INTO {name} VALUES ({marks})", row)
            connection.execute("COMMIT")
        finally:
            connection.close()
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.chmod(0o600 if SHELF_TABLE in tables else 0o644)
        os.replace(part, path)
    except sqlite3.Error as fault:
        raise told(fault) from fault
    except OSError as fault:
        raise StorageFault(f"{path} cannot be written ({fault.strerror})") from None
    finally:
        part.unlink(missing_ok=True)
