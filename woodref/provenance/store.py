"""The write path of a book, and what is read of it. One way in: `record`, all or nothing."""

from __future__ import annotations

import copy
import datetime as dt
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from woodref.provenance import corrections, documents, faults
from woodref.provenance.balance import Edge
from woodref.provenance.book import Book, Change, Held, Item, Reservation
from woodref.provenance.canonical import START, canonical, digest, link
from woodref.provenance.engine import (
    again,
    book_url,
    create,
    file_of,
    known_schema,
    open_engine,
    place,
    writing,
)
from woodref.provenance.lots import Knows, Lot
from woodref.provenance.personal import refuse_personal
from woodref.provenance.refusals import told
from woodref.provenance.shapes import WHO_AND_WHEN, Event, event_of, named
from woodref.provenance.times import Moment, later, now

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine, Table

#: events recorded between two writes of a long list
BATCH = 500
#: how far an event may lie after the recording clock: clocks differ by minutes, a wrong year does not
AHEAD = dt.timedelta(days=1)
#: who records: one id for all events, or the id of an event -> who
Actor = str | Mapping[str, str] | None


@dataclass(frozen=True)
class Recorded:
    """An event in the book. again: it stood there already, with the same content."""

    seq: int
    event: Event
    hash: str
    again: bool = False


class Store:
    """A book on disk. knows: looks botanical names up (None: names are taken as they are)."""

    def __init__(self, url: str, knows: Knows | None = None, read_only: bool = False) -> None:
        self.url, self.knows = url, knows
        path = file_of(url)
        if read_only and path is not None and not path.exists():
            raise faults.StorageFault(
                f"there is no book at {path}", next="Record something first, or name it with --book."
            )
        self.engine: Engine = open_engine(url, read_only)
        self._moment: Connection | None = None
        try:
            if not read_only:
                with _plainly(self.engine):
                    create(self.engine)
            known_schema(self.engine)
        except faults.BookFault:
            self.close()
            raise

    def close(self) -> None:
        self.engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- reading

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection to read with; faults of the database are told plainly."""
        with _plainly(self.engine):
            if self._moment is not None:
                yield self._moment
                return
            with self.engine.connect() as opened:
                connection = opened.execution_options(reads=True)
                yield connection
                connection.rollback()

    @contextmanager
    def at_one_moment(self) -> Iterator[Store]:
        """This book as it stands now, whatever others record meanwhile: all that is read of it is read in one
        transaction."""
        with self.reading() as connection:
            if self._moment is None and self.engine.dialect.name != "sqlite":
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            view = copy.copy(self)
            view._moment = connection
            yield view

    def rows(self, sql: str, **values: Any) -> list[Any]:
        """Rows of a query of our own."""
        from sqlalchemy import text

        with self.reading() as connection:
            return list(connection.execute(text(sql), values).all())

    def head(self) -> tuple[int, str]:
        """Number and hash of the last event."""
        with self.reading() as connection:
            return _head(connection)

    def event(self, event_id: str) -> Event | None:
        """An event as it was recorded."""
        rows = self.rows("SELECT payload FROM event WHERE id = :id", id=event_id)
        return event_from(rows[0][0]) if rows else None

    def balance(self, lot: str) -> int | None:
        rows = self.rows("SELECT qty FROM balance WHERE lot = :lot", lot=lot)
        return int(rows[0][0]) if rows else None

    def book(self, connection: Connection | None = None) -> Book:
        """The state, fetched piece by piece as it is asked for."""
        return _Fetched(self, connection).book

    # --- writing

    def record(
        self,
        events: Iterable[Event],
        actor: Actor = None,
        recorded: Moment | None = None,
        prove: Any = None,
        progress: Any = None,
    ) -> list[Recorded]:
        """Record events, all or none. An event whose id is there with the same content is skipped; with other
        content it is refused. Raises the fault of the first event that is refused."""
        listed = list(events)
        when = recorded or now()
        for who in {actor} if isinstance(actor, str) else set((actor or {}).values()):
            named(who, "actor")

        def work() -> list[Recorded]:
            with writing(self.engine) as connection:
                return _Writer(self, connection, actor, when, prove).record(listed, progress)

        return again(work)


@contextmanager
def _plainly(engine: Engine) -> Iterator[None]:
    from sqlalchemy.exc import DBAPIError

    try:
        yield
    except DBAPIError as fault:
        raise told(fault, place(engine)) from fault


def _head(connection: Connection) -> tuple[int, str]:
    """Number and hash of the last event; StorageFault when the row that says so is gone."""
    from sqlalchemy import text

    row = connection.execute(text("SELECT seq, hash FROM head WHERE one = 1")).one_or_none()
    if row is None or not re.fullmatch("[0-9a-f]{64}", str(row[1])):
        raise spoilt("the row that names the last event")
    return int(row[0]), str(row[1])


def spoilt(what: str) -> faults.StorageFault:
    """A row that cannot be read as it was written."""
    return faults.StorageFault(
        f"{what} is damaged or gone", next="woodref book check tells what of the book still holds."
    )


def _json(text: str, what: str) -> Any:
    """The mapping that a column keeps as JSON."""
    try:
        value = json.loads(text)
    except (ValueError, RecursionError):
        value = None
    if not isinstance(value, dict):
        raise spoilt(what)
    return value


def paper_from(told_: str, name: str) -> documents.Paper:
    """A document from the JSON of its row."""
    try:
        return documents.paper_of(_json(told_, f"document {name}"), name)
    except faults.BadShape:
        raise spoilt(f"document {name}") from None


def open_book(given: str | None = None, knows: Knows | None = None, read_only: bool = False) -> Store:
    """The book at a path or URL, WOODREF_BOOK, or in the user's data folder; made when it is first
    written."""
    return Store(book_url(given), knows, read_only)


def event_from(payload: str) -> Event:
    """An event from its stored payload."""
    told_ = _json(payload, "an event")
    told_.pop("recorded", None)
    return event_of(told_)


def lot_facts(lot: Lot) -> str:
    """A lot's facts as stored text."""
    return canonical({key: getattr(lot, key) for key in _FACTS} | {"told": dict(lot.told)}).decode()


#: facts of a lot beside those that have columns of their own
_FACTS = tuple(f.name for f in fields(Lot) if f.name not in ("id", "form", "unit"))


def lot_from(lot_id: str, form: str, unit: str, facts: str) -> Lot:
    held = _json(facts, f"lot {lot_id}")
    try:
        return Lot(
            lot_id, form, unit, held["species"], tuple(held["may_be"]),
            tuple((s, p, tuple(c)) for s, p, c in held["composition"]), held["wood_share"],
            tuple(held["countries"]), held["thickness_um"], held["density"], held["told"],
        )  # fmt: skip
    except (KeyError, TypeError, ValueError):
        raise spoilt(f"lot {lot_id}") from None


#: lots as they stand, a row as `held_from` takes it
LOTS = (
    "SELECT l.id, l.form, l.unit, l.facts, l.made_by, l.made, b.qty, b.reserved, b.last FROM lot l "
    "JOIN balance b ON b.lot = l.id"
)


def held_from(row: Any) -> Held:
    """A lot as it stands from a row of LOTS."""
    lot_id, form, unit, facts, by, made, qty, reserved, last = row
    return Held(lot_from(lot_id, form, unit, facts), by, made, int(qty), int(reserved), last)


class _Fetched:
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
class _Within:
    """A state read as a store is."""

    fetched: _Fetched

    def rows(self, sql: str, **values: Any) -> list[Any]:
        return self.fetched.rows(sql, **values)

    def book(self) -> Book:
        return self.fetched.book


class _Writer:
    """Works events out against a fetched state and writes what they do, in batches within one transaction."""

    def __init__(self, store: Store, connection: Connection, actor: Actor, when: Moment, prove: Any) -> None:
        from sqlalchemy import text

        from woodref.provenance.tables import BookTable

        self.tables: dict[str, Table] = dict(BookTable.metadata.tables)
        self.connection, self.actor, self.when, self.text = connection, actor, when, text
        self.rows: dict[str, list[dict[str, Any]]] = {}
        self.deltas: dict[str, list[int]] = {}
        self.lasts: dict[str, str] = {}
        self.waiting = 0
        self.fetched = _Fetched(store, connection, self.flush, prove)
        if hasattr(prove, "within"):  # it weighs a claim by what this very transaction has written
            prove.within(_Within(self.fetched))
        self.book = self.fetched.book
        self.seq, found = _head(connection)
        self.hash = bytes.fromhex(found) if self.seq else START
        self.seen: dict[str, str] = {}

    def record(self, events: Sequence[Event], progress: Any) -> list[Recorded]:
        known = self._there("event", [e.id for e in events], "content")
        made = list(dict.fromkeys(s.lot for e in events for s in e.out))
        self.book.absent = set(made) - set(self._there("lot", made, "id"))
        out = []
        for event in events:
            said = {key: value for key, value in event.as_dict().items() if key not in WHO_AND_WHEN}
            content = digest(canonical(said))
            there = self.seen.get(event.id) or known.get(event.id)
            if there is not None:
                if there != content:
                    raise faults.EventConflict(
                        f"{event.id} exists with a different content hash", where=event.id,
                        expected="a new id, or the very same event",
                    )  # fmt: skip
                out.append(Recorded(0, event, "", again=True))
            else:
                out.append(self._one(event, content))
            if progress:
                progress(len(out))
        self.flush()
        self.connection.execute(
            self.text("UPDATE head SET seq = :seq, hash = :hash WHERE one = 1"),
            {"seq": self.seq, "hash": self.hash.hex()},
        )
        return out

    def _there(self, table: str, ids: Sequence[str], column: str) -> dict[str, str]:
        """Those ids that are in a table, each with a column of its row."""
        rows = self.tables[table]
        found: dict[str, str] = {}
        for start in range(0, len(ids), BATCH):
            part = ids[start : start + BATCH]
            query = rows.select().with_only_columns(rows.c.id, rows.c[column]).where(rows.c.id.in_(part))
            found |= {row[0]: row[1] for row in self.connection.execute(query)}
        return found

    def _one(self, event: Event, content: str) -> Recorded:
        if later(event.at, self.when) > AHEAD:
            raise faults.InFuture(
                f"{event.at.local} lies in the future", where=event.id,
                expected=f"a time up to now, which is {self.when.utc} on this machine",
            )  # fmt: skip
        who = self.actor.get(event.id) if isinstance(self.actor, Mapping) else self.actor
        refuse_personal(event, who)
        change = self.book.work_out(event)
        payload = event.as_dict() | {"recorded": self.when.utc}
        if who:
            payload["actor"] = who
        body = canonical(payload)
        before, self.hash = self.hash, link(self.hash, body)
        self.seq += 1
        self._add("event", {
            "seq": self.seq, "id": event.id, "kind": event.kind, "at": event.at.utc,
            "corrects": event.more.get("corrects"), "content": content, "payload": body.decode(),
            "before": before.hex(), "hash": self.hash.hex(),
        })  # fmt: skip
        self._write(event, change)
        self.book.take(change)
        self.seen[event.id] = content
        self.waiting += 1
        if self.waiting >= BATCH:
            self.flush()
        return Recorded(self.seq, event, self.hash.hex())

    def _add(self, table: str, row: dict[str, Any]) -> None:
        self.rows.setdefault(table, []).append(row)

    def _write(self, event: Event, change: Change) -> None:
        for lot in change.lots:
            self._add("lot", {
                "id": lot.id, "made_by": event.id, "made": event.at.utc, "form": lot.form, "unit": lot.unit,
                "facts": lot_facts(lot),
            })  # fmt: skip
            self._add("balance", {"lot": lot.id, "qty": 0, "reserved": 0, "last": event.at.utc})
        for n, move in enumerate(change.moves):
            self._add("move", {
                "seq": self.seq, "n": n, "lot": move.lot, "qty": move.qty, "role": move.role,
                "plies": move.plies,
                "at": move.at,
            })  # fmt: skip
            self._delta(move.lot, move.qty, 0, move.at)
        by = (change.effective or event).id
        gone, come = change.uses()
        for lot_id in gone:
            self.flush()
            self._run("DELETE FROM use WHERE lot = :lot AND event = :event", lot=lot_id, event=by)
        for lot_id in come:
            self._add("use", {"lot": lot_id, "seq": self.seq, "event": by})
        self._edges(event, change)
        for reservation in change.reserves:
            self._add("reservation", asdict(reservation))
            self._delta(reservation.lot, 0, reservation.qty, "")
        for paper in change.papers:
            self._add("paper", {
                "id": paper.id, "kind": paper.kind, "sha256": paper.sha256, "event": event.id,
                "recorded": self.when.utc,
                "told": canonical(dict(paper.told) | {"sha256": paper.sha256}).decode(),
            })  # fmt: skip
            for lot_id in dict.fromkeys(paper.lots):
                self._add("paper_lot", {"lot": lot_id, "paper": paper.id})
        self._rare(change)

    def _delta(self, lot: str, qty: int, reserved: int, at: str) -> None:
        held = self.deltas.setdefault(lot, [0, 0])
        held[0] += qty
        held[1] += reserved
        self.lasts[lot] = max(self.lasts.get(lot, ""), at)

    def _edges(self, event: Event, change: Change) -> None:
        if change.old is not None:
            self.flush()
            for child in {s.lot for s in change.old.out} | {str(change.old.more.get("item"))}:
                self._run(
                    "DELETE FROM edge WHERE child = :child AND event = :event",
                    child=child,
                    event=change.old.id,
                )
        by = change.effective.id if change.effective else event.id
        for n, edge in enumerate(change.edges):
            self._add("edge", {
                "child": edge.child, "parent": edge.parent, "n": self.seq * 100 + n, "event": by,
                "net_num": edge.net.numerator, "net_den": edge.net.denominator,
                "gross_num": edge.gross.numerator, "gross_den": edge.gross.denominator, "plies": edge.plies,
            })  # fmt: skip

    def _run(self, sql: str, **values: Any) -> int:
        return int(self.connection.execute(self.text(sql), values).rowcount)

    def _rare(self, change: Change) -> None:
        """What is written at once, since it changes a row: items, releases, closer names, what did not
        occur."""
        for item in change.items:
            self.flush()
            self._run("DELETE FROM item WHERE id = :id", id=item.id)
            self._add("item", asdict(item))
        for reservation in change.releases:
            self.flush()
            self._run("DELETE FROM reservation WHERE id = :id", id=reservation.id)
            self._delta(reservation.lot, 0, -reservation.qty, "")
        for lot in change.narrowed:
            self.flush()
            self._run("UPDATE lot SET facts = :facts WHERE id = :id", facts=lot_facts(lot), id=lot.id)
        for name in change.withdrawn:
            self.flush()
            self._run("DELETE FROM paper_lot WHERE paper = :id", id=name)
            self._run("DELETE FROM paper WHERE id = :id", id=name)
        for lot_id in change.undone:
            self.flush()
            self._run("DELETE FROM edge WHERE child = :id", id=lot_id)
            self._run("DELETE FROM item WHERE id = :id", id=lot_id)
            self._run("DELETE FROM balance WHERE lot = :id", id=lot_id)
            self._run("DELETE FROM lot WHERE id = :id", id=lot_id)

    def flush(self) -> None:
        """Write what waits. A balance that would fall below zero is refused by the database as well."""
        rows, self.rows, self.waiting = self.rows, {}, 0
        for table in _ORDER:
            if table in rows:
                self.connection.execute(self.tables[table].insert(), rows[table])
        deltas, self.deltas = self.deltas, {}
        lasts, self.lasts = self.lasts, {}
        if deltas:
            self.connection.execute(
                self.text(
                    "UPDATE balance SET qty = qty + :qty, reserved = reserved + :reserved, "
                    "last = CASE WHEN last < :last THEN :last ELSE last END WHERE lot = :lot"
                ),
                [
                    {"lot": lot, "qty": qty, "reserved": reserved, "last": lasts.get(lot, "")}
                    for lot, (qty, reserved) in deltas.items()
                ],
            )


_ORDER = ("event", "lot", "balance", "move", "use", "edge", "item", "reservation", "paper", "paper_lot")


def edge_from(row: Any) -> Edge:
    """An edge from (child, parent, net_num, net_den, gross_num, gross_den, plies)."""
    child, parent, nn, nd, gn, gd, plies = row
    if not nd or not gd:
        raise spoilt(f"what {child} is made of")
    return Edge(child, parent, Fraction(int(nn), int(nd)), Fraction(int(gn), int(gd)), int(plies))
