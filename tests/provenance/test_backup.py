"""Backups: whole though the book is in use, checked before they count, and the way back told before it is
gone."""

from __future__ import annotations

import shutil
import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from woodref.errors import BadRequest, WoodrefError
from woodref.provenance import backup as backups
from woodref.provenance.backup import backup
from woodref.provenance.faults import Busy, StorageFault
from woodref.provenance.paperfiles import with_files
from woodref.provenance.restoring import plan, restore
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.times import Moment
from woodref.provenance.verify import check_book

Make = Callable[..., Event]


def file_of(store: Store) -> Path:
    return Path(store.url.removeprefix("sqlite:///"))


def scrap(make: Make, name: str) -> Event:
    return make(name, "scrap", in_=[("L-A", 1000)])


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return tmp_path / "stick"


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Sets the hour that backups are made at."""

    def at(hour: int) -> None:
        monkeypatch.setattr(backups, "now", lambda: Moment(f"2026-01-05T{hour:02}:00:00Z"))

    return at


def test_a_backup_holds_what_is_still_in_the_log(full: Store, stick: Path) -> None:
    assert file_of(full).with_name("book.sqlite-wal").stat().st_size > 0  # open, and not yet in the file
    done = backup(full.url, stick)
    assert (done.events, done.head) == full.head()
    assert [p.name for p in stick.iterdir()] == [done.path.name]  # one file, no log beside it
    assert f"-0000020-{done.head[:12]}.sqlite" in done.path.name
    assert stat.S_IMODE(done.path.stat().st_mode) == 0o600
    with Store(f"sqlite:///{done.path}", read_only=True) as copy:
        assert copy.head() == full.head() and check_book(copy).sound


def test_f13_a_plain_copy_without_its_log_is_seen(full: Store, stick: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(file_of(full))) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    from woodref.provenance.shapes import event_of

    for n in range(5):
        told = {"id": f"X{n}", "kind": "scrap", "time": "2025-11-03T09:00:00+01:00",
                "in": [{"lot": "L-A", "qty": 1, "unit": "mm2"}]}  # fmt: skip
        full.record([event_of(told)])
    backup(full.url, stick)
    plain = tmp_path / "plain.sqlite"
    shutil.copy(file_of(full), plain)
    with Store(f"sqlite:///{plain}", read_only=True) as copy:
        # the copy is whole by itself: chain, balances, tables
        alone = check_book(copy)
        assert alone.sound and alone.events == 20
        found = with_files(alone, copy)
        assert [flaw.code for flaw in found.flaws] == ["cut-short"]
        assert (
            "25 events were backed up on" in found.flaws[0].message
            and "20 are found" in found.flaws[0].message
        )
    # nor is it taken for a backup's source
    with pytest.raises(StorageFault, match="No backup was made"):
        backup(f"sqlite:///{plain}", tmp_path / "other")
    assert with_files(check_book(full), full).sound


def test_a_book_written_anew_since_the_backup_is_seen(full: Store, stick: Path) -> None:
    backup(full.url, stick)
    from woodref.provenance.heads import book_id, remember

    remember(book_id(full), 20, "0" * 64, "2026-01-05")
    found = with_files(check_book(full), full)
    assert [(f.code, f.seq) for f in found.flaws] == [("chain-broken", 20)]


def test_a_spoilt_record_of_heads_is_told(
    full: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "heads.json").write_text("[]")
    monkeypatch.setenv("WOODREF_HEADS", str(tmp_path / "heads.json"))
    found = with_files(check_book(full), full)
    assert not found.sound and "cannot be read" in found.flaws[0].message


def test_only_the_latest_are_kept_and_only_of_this_book(
    full: Store, stick: Path, clock: Callable[[int], None], make: Make
) -> None:
    stick.mkdir()
    others = ["book-00000000-20200101T000000Z-0000001-000000000000.sqlite", "letter.txt", "book.sqlite"]
    for name in others:
        (stick / name).touch()
    made = []
    for hour in range(5):
        clock(hour)
        full.record([scrap(make, f"S{hour}")])
        made.append(backup(full.url, stick, keep=2))
    assert [d.dropped for d in made] == [0, 0, 1, 1, 1] and made[-1].kept == 2
    left = {p.name for p in stick.iterdir()}
    assert left == {*others, made[-1].path.name, made[-2].path.name}


def test_a_damaged_book_takes_no_backup_away(full: Store, stick: Path, clock: Callable[[int], None]) -> None:
    clock(1)
    first = backup(full.url, stick, keep=1)
    with full.engine.begin() as connection:
        connection.execute(text("UPDATE balance SET qty = qty + 1 WHERE lot = 'L-B'"))
    clock(2)
    with pytest.raises(StorageFault, match="the copy does not hold: Lot L-B"):
        backup(full.url, stick, keep=1)
    assert [p.name for p in stick.iterdir()] == [first.path.name]


def test_refused_folders_and_books(full: Store, tmp_path: Path) -> None:
    with pytest.raises(BadRequest, match="is lost with it"):
        backup(full.url, tmp_path)
    with pytest.raises(BadRequest, match="is on PostgreSQL"):
        backup("postgresql+psycopg://x/y", tmp_path / "stick")
    (tmp_path / "file").touch()
    with pytest.raises(StorageFault):
        backup(full.url, tmp_path / "file")
    with pytest.raises(StorageFault, match="there is no book"):
        backup(f"sqlite:///{tmp_path / 'none.sqlite'}", tmp_path / "stick")


def test_a_full_disk_leaves_the_older_ones(
    full: Store, stick: Path, clock: Callable[[int], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    clock(1)
    first = backup(full.url, stick, keep=1)

    def full_disk(source: Path, target: Path) -> None:
        target.write_bytes(b"half")
        raise OSError(28, "No space left on device", str(target))

    monkeypatch.setattr(backups, "copy_of", full_disk)
    with pytest.raises(StorageFault, match="No space left"):
        backup(full.url, stick, keep=1)
    assert [p.name for p in stick.iterdir()] == [first.path.name]


def test_put_back_where_nothing_is(full: Store, stick: Path, tmp_path: Path) -> None:
    done = backup(full.url, stick)
    place = tmp_path / "new" / "book.sqlite"
    planned = plan(done.path, str(place))
    assert not planned.asks
    restore(planned)
    with Store(f"sqlite:///{place}") as back:
        assert back.head() == full.head() and with_files(check_book(back), back).sound


def test_what_would_be_lost_is_told_and_the_book_set_aside(full: Store, stick: Path, make: Make) -> None:
    done = backup(full.url, stick)
    full.record([scrap(make, f"S{n}") for n in range(7)])
    head, place = full.head(), file_of(full)
    planned = plan(done.path, str(place))
    assert planned.asks and planned.lost == tuple(f"S{n}" for n in range(7))
    assert any(
        "7 events in it would be lost: S2, S3, S4, S5, S6 and 2 before them." in s
        for s in planned.sentences()
    )
    assert full.head() == head  # a plan changes nothing
    full.close()
    after = restore(planned)
    assert after.done is not None and after.done != place
    with Store(f"sqlite:///{place}") as back, Store(f"sqlite:///{after.done}", read_only=True) as aside:
        assert back.head() == (done.events, done.head)
        # what was set aside is whole, its log taken into it
        assert aside.head() == head and check_book(aside).sound
        # going back on purpose is no fault
        assert with_files(check_book(back), back).sound
        back.record([scrap(make, "S0")])


def test_a_later_copy_beside_it_is_named(
    full: Store, stick: Path, make: Make, clock: Callable[[int], None]
) -> None:
    clock(1)
    old = backup(full.url, stick)
    clock(2)
    full.record([scrap(make, "S")])
    new = backup(full.url, stick)
    told = plan(old.path, str(file_of(full))).sentences()
    assert f"A later copy of the same book lies beside it: {new.path.name}." in told
    assert not any("later copy" in s for s in plan(new.path, str(file_of(full))).sentences())


def test_a_book_in_use_is_not_taken_away(full: Store, stick: Path) -> None:
    done = backup(full.url, stick)
    head = full.head()
    other = sqlite3.connect(file_of(full))
    other.execute("BEGIN")
    other.execute("SELECT * FROM head").fetchall()
    with pytest.raises(Busy):
        restore(plan(done.path, str(file_of(full))))
    other.close()
    assert full.head() == head
    assert not list(file_of(full).parent.glob("*aside*")) and not list(file_of(full).parent.glob(".*.part"))


def test_a_damaged_book_makes_way_with_its_log(full: Store, stick: Path, make: Make) -> None:
    done = backup(full.url, stick)
    with closing(sqlite3.connect(file_of(full))) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    full.record([scrap(make, "S")])  # a log with a few pages, from which the book cannot be read alone
    place, log = file_of(full), file_of(full).with_name("book.sqlite-wal")
    kept = log.read_bytes()
    full.close()
    place.write_bytes(b"no database at all" * 100)
    log.write_bytes(kept)
    planned = plan(done.path, str(place))
    assert planned.damaged and planned.asks
    after = restore(planned)
    assert after.done is not None and after.done.with_name(after.done.name + "-wal").read_bytes() == kept
    with Store(f"sqlite:///{place}") as back:
        assert back.head() == (done.events, done.head) and check_book(back).sound


def test_a_log_left_alone_is_not_taken_into_the_book_put_back(full: Store, stick: Path, make: Make) -> None:
    done = backup(full.url, stick)
    place, log = file_of(full), file_of(full).with_name("book.sqlite-wal")
    full.record([scrap(make, "S")])
    kept = log.read_bytes()
    full.close()
    place.unlink()
    log.write_bytes(kept)
    restore(plan(done.path, str(place)))
    with Store(f"sqlite:///{place}") as back:
        assert back.head() == (done.events, done.head) and check_book(back).sound


def test_what_is_no_backup_is_refused(full: Store, stick: Path, tmp_path: Path) -> None:
    done = backup(full.url, stick)
    target = str(tmp_path / "new.sqlite")
    text_file = tmp_path / "letter.txt"
    text_file.write_text("a letter " * 200)
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as opened:
        opened.execute("CREATE TABLE meta (key, value)")
    for file, says in (
        (text_file, "damaged"), (other, "is no stock book"), (tmp_path / "none", "there is no file"),
        (file_of(full), "is the book itself"),
    ):  # fmt: skip
        given = str(file_of(full)) if file == file_of(full) else target
        with pytest.raises(WoodrefError, match=says):
            plan(file, given)
    with Store(f"sqlite:///{tmp_path / 'second.sqlite'}"):
        pass
    with pytest.raises(BadRequest, match="is another one"):
        plan(done.path, str(tmp_path / "second.sqlite"))
    # one that was changed after it was made
    with closing(sqlite3.connect(done.path)) as opened:
        opened.execute("UPDATE balance SET qty = qty + 1 WHERE lot = 'L-B'")
        opened.commit()
    with pytest.raises(StorageFault, match="does not hold"):
        plan(done.path, target)
