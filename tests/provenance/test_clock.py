"""A clock that went back: the order of the book holds, and whoever records is told."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from click.testing import CliRunner

from woodref.cli.main import main
from woodref.provenance import clock, times
from woodref.provenance.store import open_book


def at(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """The clock of this machine stands so."""
    stands = dt.datetime.fromisoformat(times.moment(text).utc)

    class Clock(dt.datetime):
        @classmethod
        def now(cls, tz: Any = None) -> dt.datetime:
            return stands.astimezone(tz)

    room = ModuleType("datetime")
    room.__dict__.update(dt.__dict__)
    room.__dict__["datetime"] = Clock
    monkeypatch.setattr(times, "dt", room)


def run(book: Path, *words: str) -> Any:
    return CliRunner().invoke(main, [*words, "--book", str(book)])


@pytest.mark.parametrize(
    "then, told",
    [
        ("2026-03-29T00:30:00+00:00", True), ("2026-03-29T01:59:00Z", False), ("2026-03-29T01:57:00Z", True),
        ("2026-03-29T02:00:00Z", False), ("2026-03-29T16:00:00+14:00", False),
        ("2026-03-29T03:00:00+02:00", True),
    ],
)  # fmt: skip
def test_a_clock_before_the_last_event_is_told(
    then: str, told: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    book = tmp_path / "book.sqlite"
    at(monkeypatch, "2026-03-29T02:00:00Z")
    first = run(book, "stock", "receive", "W-1", "4 leaves of 500 x 300 mm, 0.6 mm", "--words", "oak")
    assert first.exit_code == 0 and "clock" not in first.stderr, first.output
    at(monkeypatch, then)
    second = run(book, "stock", "note", "W-1", "smells of tannin", "--time", "2026-03-29T02:10:00Z")
    assert second.exit_code == 0, second.output
    assert ("The clock of this machine says" in second.stderr) == told, second.stderr
    with open_book(str(book), read_only=True) as held:
        kinds = [kind for (kind,) in held.rows("SELECT kind FROM event ORDER BY seq")]
    assert kinds == ["receive", "annotate"]
    assert run(book, "book", "check").exit_code == 0


def test_json_stays_whole_beside_the_note(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import json

    book = tmp_path / "book.sqlite"
    at(monkeypatch, "2026-03-29T02:00:00Z")
    run(book, "stock", "receive", "W-1", "4 leaves of 500 x 300 mm, 0.6 mm", "--words", "oak")
    at(monkeypatch, "2026-03-29T01:00:00Z")
    told = run(book, "stock", "note", "W-1", "dry", "--time", "2026-03-29T02:10:00Z", "--json")
    assert json.loads(told.stdout)["event"] and "2026-03-29T02:00:00Z" in told.stderr


def test_an_empty_book_has_no_clock_to_be_behind(tmp_path: Path) -> None:
    with open_book(str(tmp_path / "book.sqlite")) as held:
        assert clock.gone_back(held) == []
