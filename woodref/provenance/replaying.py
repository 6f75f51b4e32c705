"""A book worked out anew from its events without holding all of it at once: what was not touched of late lies
in a working file, and is fetched again when an event asks for it.

The working file is SQLite's own temporary one, beside no book, and gone when the replay is closed.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import astuple
from typing import Any

from woodref.provenance import documents, faults
from woodref.provenance.book import Book, Change, Held, Item, Reservation
from woodref.provenance.canonical import canonical
from woodref.provenance.corrections import corrected
from woodref.provenance.lots import Lot
from woodref.provenance.rows import FACTS, event_from, held_from, paper_from
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store

#: events after which all is put into the working file
BATCH = 10_000
#: what of the working file is held in memory [KiB]
CACHE = 64 * 1024
#: rows fetched at a time
_ROWS = 1000
_TABLES = """
CREATE TABLE lot (id TEXT PRIMARY KEY, form TEXT, unit TEXT, facts TEXT, made_by TEXT, made TEXT,
    qty INTEGER, reserved INTEGER, last TEXT) WITHOUT ROWID;
CREATE TABLE item (id TEXT PRIMARY KEY, state TEXT, made_by TEXT, closed_by TEXT, label TEXT, serial TEXT)
    WITHOUT ROWID;
CREATE TABLE reservation (id TEXT PRIMARY KEY, lot TEXT, qty INTEGER, until TEXT) WITHOUT ROWID;
CREATE INDEX reservation_lot ON reservation (lot);
CREATE TABLE paper (id TEXT PRIMARY KEY, kind TEXT, sha256 TEXT, event TEXT, told TEXT) WITHOUT ROWID;
CREATE INDEX paper_sha ON paper (sha256);
CREATE TABLE paper_lot (lot TEXT, paper TEXT, PRIMARY KEY (lot, paper)) WITHOUT ROWID;
CREATE INDEX paper_lot_paper ON paper_lot (paper);
CREATE TABLE move (seq INTEGER, lot TEXT, at TEXT, qty INTEGER);
CREATE INDEX move_lot ON move (lot);
CREATE TABLE use (lot TEXT, event TEXT, PRIMARY KEY (lot, event)) WITHOUT ROWID;
CREATE TABLE edge (child TEXT, event TEXT, parent TEXT, net TEXT, gross TEXT, plies INTEGER);
CREATE INDEX edge_child ON edge (child, parent);
"""
#: lots of the working file, a row as `held_from` takes it
LOTS_HELD = "SELECT id, form, unit, facts, made_by, made, qty, reserved, last FROM lot"


class Replay:
    """The state after the events taken so far. store: where the events stand, of which older ones are read
    again; each of them was found whole before it was taken.

    StorageFault when there is no room for the working file.
    """

    def __init__(self, store: Store) -> None:
        self.store, self.seq, self.since = store, 0, 0
        self.book = Book(
            find_lot=self._lot, find_item=self._item, find_event=self._event, find_history=self._history,
            find_users=self._users, find_reservation=self._reservation, find_paper=self._paper,
            find_papers=self._papers, find_ids=self._ids, find_ties=self._ties,
        )  # fmt: skip
        self.waiting: dict[str, list[tuple[Any, ...]]] = {}
        with _room():
            self.file = sqlite3.connect("", isolation_level=None)
            for setting in ("journal_mode=OFF", "synchronous=OFF", f"cache_size=-{CACHE}"):
                self.file.execute(f"PRAGMA {setting}")
            self.file.executescript(_TABLES)
            self.file.execute("BEGIN")

    def close(self) -> None:
        self.file.close()

    def take(self, seq: int, event: Event) -> None:
        """Work an event out and put what it does into the state; raises the fault that refuses it."""
        with _room():
            change = self.book.work_out(event)
            self.seq = seq
            self._keep(change)
            self.book.take(change)
            self.since += 1
            if self.since >= BATCH:
                self.put_away()

    def rows(self, sql: str, *values: Any) -> Iterator[tuple[Any, ...]]:
        """Rows of the working file, a few at a time. All that was taken is in it."""
        with _room():
            self.put_away()
            found = self.file.execute(sql, values)
            while some := found.fetchmany(_ROWS):
                yield from some

    # --- what an event does

    def _add(self, table: str, *row: Any) -> None:
        self.waiting.setdefault(table, []).append(row)

    def _keep(self, change: Change) -> None:
        event, target = change.event, change.effective or change.event
        for move in change.moves:
            self._add("move", self.seq, move.lot, move.at, move.qty)
        gone, come = change.uses()
        for lot in gone:
            self._drop("DELETE FROM use WHERE lot = ? AND event = ?", lot, target.id)
        for lot in come:
            self._add("use", lot, target.id)
        if change.old is not None:
            for child in {s.lot for s in change.old.out} | {str(change.old.more.get("item"))}:
                self._drop("DELETE FROM edge WHERE child = ? AND event = ?", child, target.id)
        for e in change.edges:
            net, gross = (f"{f.numerator}/{f.denominator}" for f in (e.net, e.gross))
            self._add("edge", e.child, target.id, e.parent, net, gross, e.plies)
        for kept in change.reserves:
            self._add("reservation", *astuple(kept))
        for kept in change.releases:
            self._drop("DELETE FROM reservation WHERE id = ?", kept.id)
        for paper in change.papers:
            told = canonical(dict(paper.told) | {"sha256": paper.sha256}).decode()
            self._add("paper", paper.id, paper.kind, paper.sha256, event.id, told)
            for lot in paper.lots:
                self._add("paper_lot", lot, paper.id)
        for name in change.withdrawn:
            self._drop("DELETE FROM paper_lot WHERE paper = ?", name)
            self._drop("DELETE FROM paper WHERE id = ?", name)
        for lot in change.undone:
            self._drop("DELETE FROM edge WHERE child = ?", lot)
            self._drop("DELETE FROM item WHERE id = ?", lot)
            self._drop("DELETE FROM lot WHERE id = ?", lot)

    def _drop(self, sql: str, *values: str) -> None:
        self._write()
        self.file.execute(sql, values)

    def _write(self) -> None:
        waiting, self.waiting = self.waiting, {}
        for table, rows in waiting.items():
            # in the order of the keys, which neighbours share a page of
            rows.sort() if table in ("use", "paper_lot") else None
            marks = ", ".join("?" * len(rows[0]))
            self.file.executemany(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", rows)

    def put_away(self) -> None:
        """Put everything into the working file and hold nothing."""
        book, self.since = self.book, 0
        lots = (
            (k, h.lot.form, h.lot.unit, _facts(h.lot), h.by, h.made, h.qty, h.reserved, h.last)
            for k, h in sorted(book.lots.items())
        )
        self.file.executemany("INSERT OR REPLACE INTO lot VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", lots)
        items = (astuple(item) for item in book.items.values())
        self.file.executemany("INSERT OR REPLACE INTO item VALUES (?, ?, ?, ?, ?, ?)", items)
        self._write()
        for held in (
            book.lots, book.items, book.events, book.edges, book.users, book.history, book.reservations,
            book.papers, book.by_file, book.by_lot, book.brought,
        ):  # fmt: skip
            held.clear()

    # --- what an event asks for

    def _one(self, sql: str, *values: str) -> Any:
        return self.file.execute(sql, values).fetchone()

    def _all(self, sql: str, *values: str) -> list[Any]:
        self._write()
        return self.file.execute(sql, values).fetchall()

    def _lot(self, lot: str) -> Held | None:
        row = self._one(f"{LOTS_HELD} WHERE id = ?", lot)
        return held_from(row) if row else None

    def _item(self, item: str) -> Item | None:
        row = self._one("SELECT id, state, made_by, closed_by, label, serial FROM item WHERE id = ?", item)
        return Item(*row) if row else None

    def _event(self, name: str) -> Event | None:
        """An event as it counted at this place of the book."""
        sql = "SELECT payload FROM event WHERE {} = :id AND seq <= :seq ORDER BY seq"
        told = self.store.rows(sql.format("id"), id=name, seq=self.seq)
        if not told:
            return None
        found = event_from(told[0][0])
        for (payload,) in self.store.rows(sql.format("corrects"), id=name, seq=self.seq):
            found = corrected(found, event_from(payload))
        return found

    def _history(self, lot: str) -> list[tuple[str, int]]:
        return self._all("SELECT at, qty FROM move WHERE lot = ? ORDER BY rowid", lot)

    def _users(self, lot: str) -> list[str]:
        return [event for (event,) in self._all("SELECT event FROM use WHERE lot = ?", lot)]

    def _reservation(self, name: str) -> Reservation | None:
        row = self._one("SELECT id, lot, qty, until FROM reservation WHERE id = ?", name)
        return Reservation(*row) if row else None

    def _paper(self, name: str) -> documents.Paper | None:
        row = self._one("SELECT told FROM paper WHERE id = ?", name)
        return paper_from(row[0], name) if row else None

    def _papers(self, sha256: str) -> list[documents.Paper]:
        # those that wait to be written the book holds itself
        rows = self.file.execute("SELECT told, id FROM paper WHERE sha256 = ?", (sha256,)).fetchall()
        return [paper_from(told, name) for told, name in rows]

    def _ids(self) -> list[str]:
        """Lots that a name nobody knows may mean: those of late."""
        return [
            *self.book.lots,
            *(lot for (lot,) in self._all("SELECT id FROM lot ORDER BY made DESC LIMIT 5000")),
        ]

    def _ties(self, lot: str) -> list[str]:
        rows = self._all(
            "SELECT event FROM edge WHERE child = ?1 UNION SELECT id FROM reservation WHERE lot = ?1 "
            "UNION SELECT p.event FROM paper_lot l JOIN paper p ON p.id = l.paper WHERE l.lot = ?1", lot,
        )  # fmt: skip
        return sorted(name for (name,) in rows)


def _facts(lot: Lot) -> str:
    """A lot's facts as text; not as `rows.lot_facts` writes it, which takes its time to put keys in order."""
    facts = {key: getattr(lot, key) for key in FACTS}
    return json.dumps(facts | {"told": dict(lot.told)}, ensure_ascii=False)


@contextmanager
def _room() -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as fault:
        raise faults.StorageFault(
            f"the check cannot keep its working file ({fault})",
            next="Make room in the temporary folder, or name another in TMPDIR.",
        ) from None
