"""The scenario of the Quillbeck Benders as events and as a book. Firms, people, densities and papers in it
are invented; the botanical names are real."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, text

from woodref.provenance.engine import grants
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store

HERE = Path(__file__).resolve().parent
SCENARIO: dict[str, Any] = json.loads((HERE / "data" / "scenario.json").read_text("utf-8"))
LOTS = {lot["id"]: {k: v for k, v in lot.items() if k not in ("id", "qty")} for lot in SCENARIO["lots"]}
#: names that the scenario and the bad inputs know
NAMES = ("Fagus sylvatica", "Dalbergia latifolia", "Populus x canadensis", "Betula pendula")

Make = Callable[..., Event]


def knows(name: str) -> tuple[str | None, tuple[str, ...]]:
    """Botanical names for the tests: those of the scenario, near ones by their first letters."""
    if name in NAMES:
        return name, ()
    return None, tuple(known for known in NAMES if known[:6] == name[:6])


@pytest.fixture(scope="session")
def events() -> list[Event]:
    """E01 to E20."""
    return [event_of(e, LOTS, SCENARIO["documents"]) for e in SCENARIO["events"]]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Every test of a book runs on both databases, but for modules that say why not in SQLITE_ALONE."""
    if "store" in metafunc.fixturenames:
        alone = getattr(metafunc.module, "SQLITE_ALONE", None)
        metafunc.parametrize("store", ["sqlite"] if alone else ["sqlite", "postgres"], indirect=True)


@pytest.fixture
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty book, on either database."""
    if request.param == "postgres":
        url = request.getfixturevalue("postgres_url")
    else:
        url = f"sqlite:///{tmp_path / 'book.sqlite'}"
    with Store(url, knows) as opened:
        yield opened


@pytest.fixture
def full(store: Store, events: list[Event]) -> Store:
    """The book after E20."""
    store.record(events)
    return store


@pytest.fixture
def recorder(store: Store) -> Iterator[Store]:
    """The book of `store` as one opens it who records and keeps nothing else: on PostgreSQL a role of its own
    with no more than `grants`, on SQLite, which knows no roles, the book itself."""
    if store.engine.dialect.name == "sqlite":
        yield store
        return
    role, word = f"bench_{secrets.token_hex(4)}", secrets.token_hex(8)
    schema = store.rows("SELECT current_schema()")[0][0]
    with store.engine.begin() as connection:
        for statement in (
            f"CREATE ROLE {role} LOGIN PASSWORD '{word}'", f"GRANT USAGE ON SCHEMA {schema} TO {role}",
            *grants(role),
        ):  # fmt: skip
            connection.execute(text(statement))
    url = store.engine.url.set(username=role, password=word).render_as_string(hide_password=False)
    with Store(url, knows) as opened:
        yield opened
    with store.engine.begin() as connection:
        connection.execute(text(f"DROP OWNED BY {role}"))
        connection.execute(text(f"DROP ROLE {role}"))


@pytest.fixture
def unguarded(store: Store) -> Iterator[Connection]:
    """A connection of one who has the whole database in hand and has dropped its guards; what it changes
    is in the book once it is committed."""
    with store.engine.connect() as connection:
        if store.engine.dialect.name == "sqlite":
            for (name,) in connection.execute(
                text("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            ).all():
                connection.execute(text(f"DROP TRIGGER {name}"))
            connection.commit()
        yield connection


@pytest.fixture
def make() -> Make:
    """An event of our own, after E20 unless said otherwise."""

    def made(name: str, kind: str, **more: Any) -> Event:
        told = {"id": name, "kind": kind, "time": more.pop("time", "2025-11-03T09:00:00+01:00")}
        shares = {key: more.pop(key) for key in ("out", "waste") if key in more}
        if "in_" in more:
            shares["in"] = more.pop("in_")
        for key, listed in shares.items():
            told[key] = [share(*entry) for entry in listed]
        return event_of(told | more)

    return made


def share(lot: str, qty: Any, unit: str = "mm2", plies: int = 1) -> dict[str, Any]:
    out = {"lot": lot, "qty": qty, "unit": unit}
    return out if plies == 1 else out | {"plies": plies}
