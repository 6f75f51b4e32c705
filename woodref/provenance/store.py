"""A book on disk: what is read of it, and one way in: `record`, all or nothing."""

from __future__ import annotations

import copy
from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from woodref.provenance import faults
from woodref.provenance.book import Book
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
from woodref.provenance.fetched import Fetched
from woodref.provenance.lots import Knows
from woodref.provenance.refusals import told
from woodref.provenance.rows import event_from, head_of
from woodref.provenance.shapes import Event, named
from woodref.provenance.times import Moment, now
from woodref.provenance.writer import Actor, Recorded, Writer

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine


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

    def stream(self, sql: str, **values: Any) -> Generator[Any]:
        """The same, a few rows at a time, for tables that are longer than memory is wide."""
        from sqlalchemy import text

        with (
            self.reading() as connection,
            connection.execute(text(sql), values, execution_options={"yield_per": 1000}) as found,
        ):
            yield from found

    def head(self) -> tuple[int, str]:
        """Number and hash of the last event."""
        with self.reading() as connection:
            return head_of(connection)

    def event(self, event_id: str) -> Event | None:
        """An event as it was recorded."""
        rows = self.rows("SELECT payload FROM event WHERE id = :id", id=event_id)
        return event_from(rows[0][0]) if rows else None

    def balance(self, lot: str) -> int | None:
        rows = self.rows("SELECT qty FROM balance WHERE lot = :lot", lot=lot)
        return int(rows[0][0]) if rows else None

    def book(self, connection: Connection | None = None) -> Book:
        """The state, fetched piece by piece as it is asked for."""
        return Fetched(self, connection).book

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
                return Writer(self, connection, actor, when, prove).record(listed, progress)

        return again(work)


@contextmanager
def _plainly(engine: Engine) -> Iterator[None]:
    from sqlalchemy.exc import DBAPIError

    try:
        yield
    except DBAPIError as fault:
        raise told(fault, place(engine)) from fault


def open_book(given: str | None = None, knows: Knows | None = None, read_only: bool = False) -> Store:
    """The book at a path or URL, WOODREF_BOOK, or in the user's data folder; made when it is first
    written."""
    return Store(book_url(given), knows, read_only)
