"""A book that somebody wrote into past its guards, cut short or wrote anew, a lock that is held and a clock
that is wrong: named, and told with what to do. On both databases."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from sqlalchemy import Connection, text

from woodref.provenance import engine
from woodref.provenance.canonical import START, canonical, digest, link
from woodref.provenance.engine import writing
from woodref.provenance.faults import BadOrder, Busy, InFuture, Overdrawn
from woodref.provenance.shapes import Event
from woodref.provenance.signing import deposit, signer_of
from woodref.provenance.store import Store
from woodref.provenance.times import moment
from woodref.provenance.verify import check_book

Begin = Callable[[str, int], None]
Scrap = Callable[..., Event]
Run = Callable[..., Result]
EACH = 1_000_000
#: the event that is changed
HIT = 8


@pytest.fixture
def book(url: str, begin: Begin, scrap: Scrap, tmp_path: Path) -> Any:
    """Thirteen events: lots A and B received, a key made, eleven times something scrapped, each with a
    note."""
    begin(url, EACH)
    with Store(url) as store:
        signer_of(store, tmp_path / "key")
        store.record([scrap(f"X{k}", 10 + k, note=f"note {k}") for k in range(3, 14)])
        yield store


def unguarded(store: Store) -> Connection:
    """A connection of one who has the whole database in hand."""
    connection = store.engine.connect()
    if store.engine.dialect.name == "sqlite":
        for (name,) in connection.execute(
            text("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        ).all():
            connection.execute(text(f"DROP TRIGGER {name}"))
    return connection


def signed(store: Store, tmp_path: Path) -> str:
    """A signed head of now, kept in the book; its time."""
    return str(deposit(store, signer_of(store, tmp_path / "key")[0]).told["at"])


def rewritten(store: Store) -> None:
    """Change one note and reckon every hash after it anew, as one would who knows how."""
    hash_ = START
    with unguarded(store) as connection:
        for seq, payload in store.rows("SELECT seq, payload FROM event ORDER BY seq"):
            told = json.loads(payload)
            if seq == HIT:
                told["note"] = "found rotten"
            body = canonical(told)
            before, hash_ = hash_, link(hash_, body)
            bare = {key: value for key, value in told.items() if key not in ("recorded", "actor")}
            connection.execute(
                text("UPDATE event SET payload=:p, content=:c, before=:b, hash=:h WHERE seq=:s"),
                {"p": body.decode(), "c": digest(canonical(bare)), "b": before.hex(), "h": hash_.hex(),
                 "s": seq},
            )  # fmt: skip
        connection.execute(text("UPDATE head SET hash = :h"), {"h": hash_.hex()})
        connection.commit()


@pytest.mark.parametrize(
    "change",
    [
        "SET payload = replace(payload, 'note 8', 'note 9')", "SET hash = 'x' || substr(hash, 2)",
        "SET before = 'x' || substr(before, 2)", "SET content = 'x' || substr(content, 2)",
    ],
)  # fmt: skip
def test_f8_an_event_changed_past_the_guards(book: Store, change: str) -> None:
    with unguarded(book) as connection:
        assert connection.execute(text(f"UPDATE event {change} WHERE seq = {HIT}")).rowcount == 1
        connection.commit()
    found = check_book(book)
    assert found.flaws[0].seq == HIT and found.trusted == HIT - 1 and found.events == 13
    assert f"Event {HIT}" in found.sentences()[0]
    assert found.sentences()[-1] == f"Still trustworthy: events 1 to {HIT - 1}."


def test_f8_an_event_taken_out_of_the_middle(book: Store) -> None:
    with unguarded(book) as connection:
        connection.execute(text(f"DELETE FROM event WHERE seq = {HIT}"))
        connection.commit()
    assert f"Event {HIT} is missing: the next one here is number {HIT + 1}." in check_book(book).sentences()


def test_f9_a_book_rewritten_with_all_its_hashes(book: Store, tmp_path: Path) -> None:
    """The chain alone finds nothing; a head that was signed before does."""
    signed(book, tmp_path)
    rewritten(book)
    found = check_book(book)
    assert not found.sound
    assert any("the book was written anew" in told for told in found.sentences()), found.sentences()
    with unguarded(book) as connection:
        connection.execute(text("DELETE FROM deposit"))
        connection.commit()
    assert check_book(book).sound  # which is why deposits are made, and kept elsewhere too


def test_f10_the_last_events_cut_off(book: Store, tmp_path: Path) -> None:
    """With everything that was worked out from them; the signed head alone knows of them."""
    at = signed(book, tmp_path)
    qty = sum(s.qty for k in (12, 13) for s in (book.event(f"X{k}") or pytest.fail()).in_)
    with unguarded(book) as connection:
        for table in ("event", "move", "use"):
            assert connection.execute(text(f"DELETE FROM {table} WHERE seq > 11")).rowcount == 2
        connection.execute(text(f"UPDATE balance SET qty = qty + {qty} WHERE lot = 'A'"))
        connection.execute(text("UPDATE head SET seq = 11, hash = (SELECT hash FROM event WHERE seq = 11)"))
        connection.commit()
    found = check_book(book)
    assert [f.code for f in found.flaws] == ["cut-short"]
    assert f"13 events were signed for on {at}, 11 are found." in found.sentences()


def test_f11_another_writer_holds_the_book(
    book: Store, url: str, scrap: Scrap, woodref: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_MS", 200)
    take = ("stock", "scrap", "A", "5 mm2", "--time", "2026-01-02T09:00:00Z", "--book", url)
    with Store(url) as other, Store(url) as own:
        with writing(other.engine):
            with pytest.raises(Busy):
                own.record([scrap("Y1")])
            result = woodref(*take)
            assert result.exit_code == 1, result.output
            assert "Try again in a moment: nothing was lost." in " ".join(result.output.split())
            assert woodref("stock", "list", "--book", url).exit_code == 0  # reading goes on
        assert book.head()[0] == 13
        assert not own.record([scrap("Y1")])[0].again and own.record([scrap("Y1")])[0].again
    assert woodref(*take).exit_code == 0
    assert "stood there already" in woodref(*take).output
    assert book.head()[0] == 15 and check_book(book).sound


def test_f14_the_clock_of_the_machine_goes_back(book: Store, scrap: Scrap) -> None:
    """Events stand in the order in which they came; when each happened and when it was recorded are both
    kept."""
    one, two = moment("2026-03-01T10:00:00Z"), moment("2026-03-01T09:00:00Z")
    book.record([scrap("Y1", time="2026-03-01T10:00:00Z")], recorded=one)
    book.record([scrap("Y2", time="2026-03-01T09:59:00Z")], recorded=two)
    rows = book.rows("SELECT id, at FROM event WHERE seq > 13 ORDER BY seq")
    assert [tuple(row) for row in rows] == [("Y1", "2026-03-01T10:00:00Z"), ("Y2", "2026-03-01T09:59:00Z")]
    assert check_book(book).sound
    with pytest.raises(InFuture, match=r"2026-03-01T10:00:00Z lies in the future\..*2026-01-05T00:00:00Z"):
        book.record([scrap("Y3", time="2026-03-01T10:00:00Z")], recorded=moment("2026-01-05T00:00:00Z"))


def test_f14_the_hour_that_comes_twice(book: Store, scrap: Scrap) -> None:
    """Half past two in summer time is an hour before half past two in winter time."""
    late, early = (scrap(f"Y{k}", time=f"2026-10-25T02:30:00+0{k}:00") for k in (1, 2))
    recorded = moment("2026-10-26T00:00:00Z")
    book.record([late, early], recorded=recorded)
    rows = dict(book.rows("SELECT id, at FROM event WHERE seq > 13"))  # type: ignore[arg-type]
    assert rows == {"Y1": "2026-10-25T01:30:00Z", "Y2": "2026-10-25T00:30:00Z"}
    held = book.event("Y2")
    assert held is not None and held.at.local == "2026-10-25T02:30:00+02:00"
    assert check_book(book).sound


@pytest.mark.parametrize(
    ("time", "good"),
    [
        ("2026-01-01T14:00:00+14:00", True), ("2026-01-01T13:59:59+14:00", False),
        ("2025-12-31T12:00:00-12:00", True), ("2025-12-31T23:59:59Z", False),
    ],
)  # fmt: skip
def test_f14_an_offset_is_reckoned_with(book: Store, scrap: Scrap, time: str, good: bool) -> None:
    """Lot A is there from 2026-01-01T00:00:00Z: what counts is the moment, not the clock on the wall."""
    if good:
        book.record([scrap("Y1", time=time)])
        return
    head = book.head()
    with pytest.raises(BadOrder, match="A exists from 2026-01-01T00:00:00Z"):
        book.record([scrap("Y1", time=time)])
    assert book.head() == head


def test_an_event_told_late_may_not_empty_an_earlier_moment(book: Store, scrap: Scrap) -> None:
    """By UTC, though the wall clocks of the three say another order."""
    left = book.balance("A")
    assert left is not None
    book.record([scrap("Y1", left - 1, time="2026-01-03T00:00:00+10:00")])
    with pytest.raises(Overdrawn):
        book.record([scrap("Y2", 2, time="2026-01-02T23:00:00+00:00")])
    with pytest.raises(Overdrawn):
        book.record([scrap("Y3", 2, time="2026-01-02T01:00:00+02:00")])
    book.record([scrap("Y4", 1, time="2026-01-02T01:00:00+02:00")])
    assert book.balance("A") == 0 and check_book(book).sound
