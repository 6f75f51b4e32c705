"""A state of the book that fetches from the tables what is asked of it, piece by piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from woodref.provenance import corrections, documents
from woodref.provenance.book import Book, Held, Item, Reservation
from woodref.provenance.rows import LOTS, event_from, held_from, paper_from
from woodref.provenance.shapes import Event

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from woodref.provenance.store import Store


class Fetched:
    """Loaders of a Book over a connection. pending: called before a query, so that nothing unwritten is
    missed."""

    def __init__(
        self, store: Store, connection: Connection | None, pending: Any = None, prove: Any = None
    ) -> None:
        self.store, self.connection, self.pending = store, connection, pending
        self.book = Book(
            store.knows, self.lot, self.item, self.event, self.history, self.users, self.reservation,
            self.paper, self.papers, self.ids, self.ties, self.key, prove,
        )  # fmt: skip

    def rows(self, sql: str, **values: Any) -> list[Any]:
        from sqlalchemy import text

        if self.connection is None:
            return self.store.rows(sql, **values)
        if self.pending:
            self.pending()
        return list(self.connection.execute(text(sql), values).all())

    def lot(self, lot_id: str) -> Held | None:
        rows = self.rows(f"{LOTS} WHERE l.id = :id", id=lot_id)
        return held_from(rows[0]) if rows else None

    def ids(self) -> list[str]:
        return [lot for (lot,) in self.rows("SELECT id FROM lot ORDER BY made DESC LIMIT 5000")]

    def item(self, item_id: str) -> Item | None:
        rows = self.rows(
            "SELECT id, state, made_by, closed_by, label, serial FROM item WHERE id = :id", id=item_id
        )
        return Item(*rows[0]) if rows else None

    def event(self, event_id: str) -> Event | None:
        rows = self.rows("SELECT payload FROM event WHERE id = :id", id=event_id)
        if not rows:
            return None
        found = event_from(rows[0][0])
        for (payload,) in self.rows(
            "SELECT payload FROM event WHERE corrects = :id ORDER BY seq", id=event_id
        ):
            found = corrections.corrected(found, event_from(payload))
        return found

    def history(self, lot_id: str) -> list[tuple[str, int]]:
        rows = self.rows("SELECT at, qty FROM move WHERE lot = :lot ORDER BY seq, n", lot=lot_id)
        return [(at, int(qty)) for at, qty in rows]

    def users(self, lot_id: str) -> list[str]:
        return [
            event for (event,) in self.rows("SELECT event FROM use WHERE lot = :lot ORDER BY seq", lot=lot_id)
        ]

    def ties(self, lot_id: str) -> list[str]:
        rows = self.rows(
            "SELECT event FROM edge WHERE child = :lot UNION SELECT id FROM reservation WHERE lot = :lot "
            "UNION SELECT p.event FROM paper p JOIN paper_lot l ON l.paper = p.id WHERE l.lot = :lot",
            lot=lot_id,
        )
        return sorted(str(name) for (name,) in rows)

    def key(self) -> str | None:
        rows = self.rows("SELECT payload FROM event WHERE kind = 'key' ORDER BY seq DESC LIMIT 1")
        return str(event_from(rows[0][0]).more["public_key"]) if rows else None

    def reservation(self, name: str) -> Reservation | None:
        rows = self.rows("SELECT id, lot, qty, until FROM reservation WHERE id = :id", id=name)
        return Reservation(rows[0][0], rows[0][1], int(rows[0][2]), rows[0][3]) if rows else None

    def paper(self, name: str) -> documents.Paper | None:
        rows = self.rows("SELECT told FROM paper WHERE id = :id", id=name)
        return paper_from(rows[0][0], name) if rows else None

    def papers(self, sha256: str) -> list[documents.Paper]:
        rows = self.rows("SELECT told, id FROM paper WHERE sha256 = :sha", sha=sha256)
        return [paper_from(told_, name) for told_, name in rows]


@dataclass(frozen=True)
class Within:
    """A state read as a store is."""

    fetched: Fetched

    def rows(self, sql: str, **values: Any) -> list[Any]:
        return self.fetched.rows(sql, **values)

    def book(self) -> Book:
        return self.fetched.book
