"""Opening the database of a book: SQLite in the user's data folder, or PostgreSQL by URL.

SQLite: WAL, synchronous FULL, foreign keys and recursive triggers on, every write begun IMMEDIATE,
triggers that guard what is append-only. PostgreSQL: READ COMMITTED, the single head row locked first. All
guards are rails: what shows tampering is the signed head.
"""

from __future__ import annotations

import os
import random
import sqlite3
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from woodref.errors import BadRequest
from woodref.provenance.canonical import START
from woodref.provenance.faults import BookFault, Busy, StorageFault

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

T = TypeVar("T")
#: how long a writer waits for another [s], and how long PostgreSQL's retries go on
PATIENCE = 30.0
BUSY_MS = 10_000
FILE = "book.sqlite"


def book_url(given: str | None = None) -> str:
    """The URL of a book: a path or URL as given, WOODREF_BOOK, or book.sqlite in the user's data folder."""
    chosen = given or os.environ.get("WOODREF_BOOK")
    if not chosen:
        from platformdirs import user_data_dir

        chosen = str(Path(user_data_dir("woodref", appauthor=False)) / FILE)
    if chosen.startswith(("postgresql://", "postgres://")):
        return "postgresql+psycopg://" + chosen.partition("://")[2]
    if chosen.startswith(("postgresql+", "sqlite:")):
        return chosen
    return f"sqlite:///{Path(chosen).expanduser().resolve()}"


def is_sqlite(url: str) -> bool:
    return url.startswith("sqlite")


def file_of(url: str) -> Path | None:
    """The file of an SQLite book."""
    return Path(url.removeprefix("sqlite:///")) if is_sqlite(url) else None


def open_engine(url: str, read_only: bool = False) -> Engine:
    """An engine with the settings a book needs. BadRequest when the driver is not installed."""
    from sqlalchemy import create_engine, event
    from sqlalchemy.pool import QueuePool

    if not is_sqlite(url):
        try:
            return create_engine(url, isolation_level="READ COMMITTED", pool_pre_ping=True)
        except ModuleNotFoundError:
            raise BadRequest(
                "PostgreSQL needs the driver psycopg", next="Install it: pip install 'woodref[postgres]'"
            ) from None
    path = file_of(url)
    assert path is not None
    if not read_only:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise StorageFault(f"{path.parent} cannot be made ({fault.strerror})") from None
    target = f"file:{path}?mode=ro" if read_only else str(path)

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(target, uri=read_only, timeout=BUSY_MS / 1000, isolation_level=None)

    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool)

    @event.listens_for(engine, "connect")
    def settings(connection: Any, _: Any) -> None:
        cursor = connection.cursor()
        pragmas = ["foreign_keys=ON", "recursive_triggers=ON", f"busy_timeout={BUSY_MS}"]
        if not read_only:
            pragmas += ["journal_mode=WAL", "synchronous=FULL"]
        for pragma in pragmas:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Any) -> None:
        reads = read_only or connection.get_execution_options().get("reads")
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine


def create(engine: Engine) -> None:
    """Make the tables and guards of a new book; nothing where they are."""
    from sqlalchemy import inspect, text

    from woodref.provenance import tables

    if inspect(engine).has_table("meta"):
        return
    tables.BookTable.metadata.create_all(engine)
    with engine.begin() as connection:
        meta = tables.BookTable.metadata.tables["meta"]
        rows = [("schema", tables.SCHEMA_VERSION), ("book", str(uuid.uuid4()))]
        connection.execute(meta.insert(), [{"key": k, "value": v} for k, v in rows])
        head = tables.BookTable.metadata.tables["head"]
        connection.execute(head.insert(), [{"one": 1, "seq": 0, "hash": START.hex()}])
        for statement in guards(engine.dialect.name):
            connection.execute(text(statement))


def guards(dialect: str) -> list[str]:
    """Statements that refuse changes to what is append-only: triggers on SQLite, nothing on PostgreSQL, where
    a writer of its own gets no more than `grants`."""
    from woodref.provenance.tables import APPEND_ONLY

    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER {table}_{what.lower()} BEFORE {what} ON {table} BEGIN "
            f"SELECT RAISE(ABORT, '{table} is append-only'); END"
            for table in APPEND_ONLY
            for what in ("UPDATE", "DELETE")
        ]
    return []


def grants(role: str) -> list[str]:
    """What a PostgreSQL role that records may do: add events, keep the worked-out tables, change no event."""
    from woodref.provenance.tables import APPEND_ONLY, WORKED_OUT

    out = [f'GRANT SELECT, INSERT ON "{table}" TO {role}' for table in APPEND_ONLY]
    out += [f'GRANT SELECT, INSERT, UPDATE, DELETE ON "{table}" TO {role}' for table in WORKED_OUT]
    return [*out, f"GRANT SELECT, UPDATE ON head TO {role}", f"GRANT SELECT ON meta TO {role}"]


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One write: begun IMMEDIATE, or with the head row locked; a fault rolls it back and is told plainly."""
    from sqlalchemy import text
    from sqlalchemy.exc import DBAPIError

    try:
        with engine.begin() as connection:
            if engine.dialect.name != "sqlite":
                connection.execute(text("SELECT seq FROM head WHERE one = 1 FOR UPDATE"))
            yield connection
    except DBAPIError as fault:
        raise told(fault) from fault


def told(fault: Any) -> BookFault:
    """A database's fault in plain words."""
    orig = getattr(fault, "orig", fault)
    name = getattr(orig, "sqlite_errorname", "") or type(orig).__name__
    says = str(orig).splitlines()[0] if str(orig) else name
    if "BUSY" in name or "LOCKED" in name or name in ("LockNotAvailable", "QueryCanceled"):
        return Busy("another writer holds the book", next="Try again in a moment: nothing was lost.")
    if "READONLY" in name:
        return StorageFault(
            "the book can be read but not written", next="Look at the rights of its file and folder."
        )
    if "FULL" in name:
        return StorageFault("the disk is full: nothing was recorded", next="Make room and record it again.")
    if "NOTADB" in name or "CORRUPT" in name:
        return StorageFault(
            f"the book's file is damaged ({says})",
            next="Put the last backup in its place: woodref book restore FILE. What still holds: woodref "
            "book check.",
        )
    if "IOERR" in name:
        return StorageFault(
            f"the disk refused ({name}): nothing was recorded", next="Look at the disk, then record it again."
        )
    if "CANTOPEN" in name:
        return StorageFault(
            f"the book cannot be opened ({says})", next="Name its path with --book, or make its folder."
        )
    return StorageFault(f"the database refused: {says}")


def again(work: Callable[[], T]) -> T:
    """Do work, again with jitter after a serialization error or a deadlock, up to 30 s."""
    from sqlalchemy.exc import DBAPIError

    until, wait = time.monotonic() + PATIENCE, 0.01
    while True:
        try:
            return work()
        except BookFault as fault:
            cause = fault.__cause__
            code = (
                getattr(getattr(cause, "orig", None), "sqlstate", None)
                if isinstance(cause, DBAPIError)
                else None
            )
            if code not in ("40001", "40P01") or time.monotonic() > until:
                raise
        time.sleep(random.uniform(0, wait))  # noqa: S311 - jitter
        wait = min(1.0, wait * 2)
