"""Books for the fault tests: a small one that is known by heart, and its address on either database."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store

Scrap = Callable[..., Event]


@pytest.fixture(params=["sqlite", "postgres"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a book that is not there yet, on either database."""
    if request.param == "postgres":
        return str(request.getfixturevalue("postgres_url"))
    return f"sqlite:///{tmp_path / 'book.sqlite'}"


@pytest.fixture
def begin() -> Callable[[str, int], None]:
    """Makes a book with two lots, A and B, of `each` mm2."""

    def begun(url: str, each: int) -> None:
        lots = {name: {"form": "veneer", "thickness_um": 600, "species": "Fagus sylvatica"} for name in "AB"}
        out = [{"lot": name, "qty": each, "unit": "mm2"} for name in "AB"]
        told = {"id": "R", "kind": "receive", "time": "2026-01-01T00:00:00Z", "out": out, "lots": lots}
        with Store(url) as store:
            store.record([event_of(told)])

    return begun


@pytest.fixture
def scrap() -> Scrap:
    """An event that takes from a lot."""

    def made(
        name: str, qty: int = 1, lot: str = "A", time: str = "2026-01-02T00:00:00Z", **more: Any
    ) -> Event:
        shares = [{"lot": lot, "qty": qty, "unit": "mm2"}]
        return event_of({"id": name, "kind": "scrap", "time": time, "in": shares, **more})

    return made


@pytest.fixture
def woodref(catalogue: object) -> Callable[..., Result]:
    """Runs a command; a traceback fails the test."""
    from woodref.cli.main import main

    def run(*arguments: str) -> Result:
        result = CliRunner().invoke(main, list(arguments))
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result

    return run
