"""Opening the database of a book: SQLite in the user's data folder, or PostgreSQL by URL.

SQLite: WAL, synchronous FULL, foreign keys and recursive triggers on, every write begun IMMEDIATE,
triggers that guard what is append-only. PostgreSQL: READ COMMITTED, the single head row locked first, grants
as guard. All guards are rails: what shows tampering is the signed head. `refusals` tells faults in words.
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

from woodref.errors import BadRequest, echo
from woodref.provenance.canonical import START
from woodref.provenance.faults import BookFault, StorageFault
from woodref.provenance.refusals import told as told

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

T = TypeVar("T")
#: how long a writer waits for another [s], and how long PostgreSQL's retries go on
PATIENCE = 30.0
BUSY_MS = 10_000
#: how long a server may take to answer [s]
CONNECT_S = 10
#: lock under which one process makes the tables of a PostgreSQL book
MAKING = 7_720_117
FILE = "book.sqlite"
#: tables that make a database a book
CORE = {"meta", "head", "event"}
ADDRESSES = "a path, or postgresql://USER@HOST/DATABASE"


def book_url(given: str | None = None) -> str:
    """The URL of a book: a path or URL as given, WOODREF_BOOK, or book.sqlite in the user's data folder.
    BadRequest for an address of another kind of database."""
    chosen = given or os.environ.get("WOODREF_BOOK")
    if not chosen:
        from platformdirs import user_data_dir

        chosen = str(Path(user_data_dir("woodref", appauthor=False)) / FILE)
    scheme, mark, rest = chosen.partition("://")
    if mark and scheme.partition("+")[0] in ("postgresql", "postgres"):
        return f"postgresql+psycopg://{rest}"
    if chosen.startswith("sqlite:///"):
        return chosen
    if mark:
        raise BadRequest(f"{echo(scheme)} is no kind of book", where="--book", expected=ADDRESSES)
    return f"sqlite:///{Path(chosen).expanduser().resolve()}"


def is_sqlite(url: str) -> bool:
    return url.startswith("sqlite")


def file_of(url: str) -> Path | None:
    """The file of an SQLite book."""
    return Path(url.removeprefix("sqlite:///")) if is_sqlite(url) else None


def open_engine(url: str, read_only: bool = False) -> Engine:
    """An engine with the settings a book needs. BadRequest when the address cannot be read or the driver is
    not installed."""
    path = file_of(url)
    return _postgres(url, read_only) if path is None else _sqlite(path, read_only)


def _postgres(url: str, read_only: bool) -> Engine:
    from sqlalchemy import create_engine
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        address = make_url(url)
    except (ArgumentError, ValueError):
        address = None
    # where a password is cut off at a sign of its own, its rest passes for the server's name. Nothing of such
    # an address is told
    if address is None or url.count("@") > 1 or ("@" in url and not address.username):
        raise BadRequest(
            "the address cannot be read", where="--book", expected=ADDRESSES,
            next="In a password @ is written %40, / %2F, : %3A, ? %3F and # %23.",
        ) from None  # fmt: skip
    waits = {} if "connect_timeout" in address.query else {"connect_timeout": CONNECT_S}
    try:
        return create_engine(
            address, isolation_level="READ COMMITTED", pool_pre_ping=True, connect_args=waits,
            execution_options={"postgresql_readonly": True} if read_only else {},
        )  # fmt: skip
    except ModuleNotFoundError:
        raise BadRequest(
            "PostgreSQL needs the driver psycopg", next="Install it: pip install 'woodref[postgres]'"
        ) from None


def _sqlite(path: Path, read_only: bool) -> Engine:
    from sqlalchemy import create_engine, event
    from sqlalchemy.pool import QueuePool

    if path.is_dir():
        raise StorageFault(f"{path} is a folder", next="Name the file of the book in it with --book.")
    if not read_only:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise StorageFault(f"{path.parent} cannot be made ({fault.strerror})") from None
    target = str(path)
    if read_only:
        # without a right to the folder there is nowhere to put the files that readers share; while nobody
        # writes none are needed
        still = not os.access(path.parent, os.W_OK) and not path.with_name(f"{path.name}-wal").exists()
        target = f"{path.absolute().as_uri()}?mode=ro{'&immutable=1' if still else ''}"

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(target, uri=read_only, timeout=BUSY_MS / 1000, isolation_level=None)

    engine = create_engine(f"sqlite:///{path}", creator=connect, poolclass=QueuePool)

    @event.listens_for(engine, "connect")
    def settings(connection: Any, _: Any) -> None:
        cursor = connection.cursor()
        for pragma in ("foreign_keys=ON", "recursive_triggers=ON", f"busy_timeout={BUSY_MS}"):
            cursor.execute(f"PRAGMA {pragma}")
        if not read_only:
            # WAL stays in the file: it is set where there is a book or nothing, not in a file of others
            there = {name for (name,) in cursor.execute("SELECT name FROM sqlite_master").fetchall()}
            if not there or there >= CORE:
                cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Any) -> None:
        reads = read_only or connection.get_execution_options().get("reads")
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine


def known_schema(engine: Engine) -> None:
    """StorageFault for a book whose tables a later woodref made: what it holds could be read wrongly. Nothing
    where there is no book yet, or where it cannot be read: that is told when it is asked for something."""
    from sqlalchemy import text
    from sqlalchemy.exc import DBAPIError

    from woodref.provenance.tables import SCHEMA_VERSION

    try:
        with engine.connect() as connection:
            rows = connection.execute(text("SELECT value FROM meta WHERE key = 'schema'")).all()
    except DBAPIError:
        return
    made = str(rows[0][0]) if rows else "0"
    if not (made.isascii() and made.isdigit() and int(made) <= int(SCHEMA_VERSION)):
        raise StorageFault(
            f"{place(engine)} was made by a later woodref (tables {made}, known here up to {SCHEMA_VERSION})",
            next="Install the newer woodref and open it with that.",
        )


def create(engine: Engine) -> None:
    """Make the tables and guards of a new book, whole or not at all; nothing where they are. StorageFault
    when the database holds something else."""
    from sqlalchemy import inspect, text

    from woodref.provenance import tables

    kept = tables.BookTable.metadata
    if set(inspect(engine).get_table_names()) >= CORE:
        return
    with engine.begin() as connection:
        if engine.dialect.name != "sqlite":  # where IMMEDIATE keeps others out already
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": MAKING})
        there = set(inspect(connection).get_table_names())
        if there >= CORE:
            return
        strange = there if engine.dialect.name == "sqlite" else there & kept.tables.keys()
        if strange:
            raise StorageFault(
                f"{place(engine)} is no stock book: it holds {', '.join(sorted(strange)[:3])}",
                next="Name another with --book.",
            )
        kept.create_all(connection)
        meta, head = kept.tables["meta"], kept.tables["head"]
        rows = [("schema", tables.SCHEMA_VERSION), ("book", str(uuid.uuid4()))]
        connection.execute(meta.insert(), [{"key": k, "value": v} for k, v in rows])
        connection.execute(head.insert(), [{"one": 1, "seq": 0, "hash": START.hex()}])
        for statement in guards(engine.dialect.name):
            connection.execute(text(statement))


def place(engine: Engine) -> str:
    """Where a book is, as a person may read it: the path of its file, or the server's address without any
    password."""
    if engine.dialect.name == "sqlite":
        return str(engine.url.database)
    host = engine.url.host or engine.url.query.get("host", "this machine")
    port = f":{engine.url.port}" if engine.url.port else ""
    return f"{engine.url.database or 'the database'} at {host}{port}"


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

    to = '"{}"'.format(role.replace('"', '""'))
    out = [f'GRANT SELECT, INSERT ON "{table}" TO {to}' for table in APPEND_ONLY]
    out += [f'GRANT SELECT, INSERT, UPDATE, DELETE ON "{table}" TO {to}' for table in WORKED_OUT]
    return [*out, f"GRANT SELECT, UPDATE ON head TO {to}", f"GRANT SELECT ON meta TO {to}"]


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One write: begun IMMEDIATE, or with the head row locked; a fault rolls it back and is told plainly."""
    from sqlalchemy import text
    from sqlalchemy.exc import DBAPIError

    try:
        with engine.begin() as connection:
            if engine.dialect.name != "sqlite":
                connection.execute(text(f"SET LOCAL lock_timeout = {BUSY_MS}"))
                connection.execute(text("SELECT seq FROM head WHERE one = 1 FOR UPDATE"))
            yield connection
    except DBAPIError as fault:
        raise told(fault, place(engine)) from fault


def again(work: Callable[[], T]) -> T:
    """Do work, again with jitter after a serialization error or a deadlock, up to 30 s."""
    from sqlalchemy.exc import DBAPIError

    until, wait = time.monotonic() + PATIENCE, 0.01
    while True:
        try:
            return work()
        except BookFault as fault:
            cause = fault.__cause__
            state = getattr(cause.orig, "sqlstate", None) if isinstance(cause, DBAPIError) else None
            if state not in ("40001", "40P01") or time.monotonic() > until:
                raise
        time.sleep(random.uniform(0, wait))  # noqa: S311 - jitter
        wait = min(1.0, wait * 2)
