"""A book is worked out anew the same way whether much or nothing of it is held at once."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

import pytest

from woodref.provenance import replaying
from woodref.provenance.faults import StorageFault
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

Make = Callable[..., Event]
WHEN = "2026-01-05T09:00:00+01:00"


@pytest.fixture(params=[1, 2, 7, 10_000])
def batch(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    """Events after which nothing is held any more."""
    monkeypatch.setattr(replaying, "BATCH", request.param)
    return int(request.param)


def test_everything_that_later_events_ask_for_is_fetched_again(full: Store, make: Make, batch: int) -> None:
    """Corrections of old events, papers with the same file, reservations given free, older dates."""
    paper = {"id": "D-90", "kind": "invoice", "lot": "L-N", "sha256": "a" * 64}
    lot = {"L-N": {"form": "veneer", "thickness_um": 600, "species": "Fagus sylvatica"}}
    full.record([
        make("N1", "receive", time=WHEN, out=[("L-N", 9000)], lots=lot, documents=[paper]),
        make("N2", "scrap", time="2026-01-09T09:00:00+01:00", in_=[("L-N", 1000)]),
        make("N3", "reserve", time="2026-01-09T10:00:00+01:00", lot="L-N", qty=500),
        # before the last move, so that the moves are asked for
        make("N4", "scrap", time="2026-01-07T09:00:00+01:00", in_=[("L-N", 700)]),
        make("N5", "correct", time="2026-01-10T09:00:00+01:00", corrects="N2", reason="incorrect_data",
             in_=[("L-N", 1200)]),
        make("N6", "correct", time="2026-01-10T10:00:00+01:00", corrects="N2", reason="did_not_occur"),
        make("N7", "release", time="2026-01-10T11:00:00+01:00", reservation="N3"),
        make("N8", "correct", time="2026-01-10T12:00:00+01:00", corrects="N4", reason="did_not_occur"),
        make("N9", "correct", time="2026-01-10T13:00:00+01:00", corrects="N1", reason="did_not_occur"),
    ])  # fmt: skip
    found = check_book(full)
    assert found.sound and found.events == found.trusted == 29, found.sentences()


def test_without_room_for_the_working_file_it_says_so(full: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def full_disk(self: replaying.Replay) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(replaying.Replay, "_write", full_disk)
    monkeypatch.setattr(replaying, "BATCH", 5)
    with pytest.raises(StorageFault, match="working file") as told:
        check_book(full)
    assert "TMPDIR" in str(told.value.next)
