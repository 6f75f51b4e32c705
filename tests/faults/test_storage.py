"""A disk that is full, refuses, loses or changes bytes: what was recorded stays whole or is named as damaged,
in plain words, with what to do."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from sqlalchemy import text

from woodref.provenance.canonical import START
from woodref.provenance.faults import StorageFault
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

Begin = Callable[[str, int], None]
Scrap = Callable[..., Event]
Run = Callable[..., Result]
EACH = 1_000_000


@pytest.fixture
def path(tmp_path: Path, begin: Begin) -> Path:
    """The file of a book with two lots, on SQLite."""
    begin(f"sqlite:///{tmp_path / 'book.sqlite'}", EACH)
    return tmp_path / "book.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with Store(f"sqlite:///{path}") as opened:
        yield opened


def bulky(scrap: Scrap, name: str) -> Event:
    """An event that takes room."""
    return scrap(name, note="x" * 40_000)


def plain(result: Result) -> str:
    return " ".join(result.output.split())


def test_f3_a_full_disk(store: Store, scrap: Scrap) -> None:
    before = store.head()
    with store.reading() as connection:
        pages = int(connection.execute(text("PRAGMA page_count")).scalar_one())
        connection.execute(text(f"PRAGMA max_page_count = {pages + 3}"))
    with pytest.raises(StorageFault, match=r"disk is full: nothing was recorded\..*Make room") as caught:
        store.record([scrap("X1"), bulky(scrap, "X2")])
    assert getattr(caught.value.__cause__.orig, "sqlite_errorname", "") == "SQLITE_FULL"  # type: ignore[union-attr]
    assert store.head() == before and check_book(store).sound
    with store.reading() as connection:
        connection.execute(text("PRAGMA max_page_count = 1000000"))
    assert not any(r.again for r in store.record([scrap("X1"), bulky(scrap, "X2")]))
    assert store.head()[0] == before[0] + 2 and check_book(store).sound


LIMITED = """
import resource, signal, sys
from woodref.cli.main import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), int(sys.argv[1])))
main(sys.argv[2:])
"""


def test_f4_a_disk_that_refuses_to_write(path: Path, tmp_path: Path, catalogue: Any) -> None:
    """The command in a process that may write no file beyond a size."""
    with Store(f"sqlite:///{path}") as store:
        before = store.head()
    day = tmp_path / "day.csv"
    lines = [f"X{k},2026-01-02T00:00:00Z,scrap,A 1 mm2,,,{'x' * 300}" for k in range(2000)]
    day.write_text("\n".join(["id,time,kind,in,out,waste,note", *lines]), "utf-8")
    command = ["book", "record", str(day), "--book", str(path)]
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, "200000", *command], capture_output=True, text=True, timeout=60
    )
    told = " ".join(done.stderr.split())
    assert done.returncode == 1 and "Traceback" not in told, told
    assert "the disk refused (SQLITE_IOERR_WRITE): nothing was recorded. Look at the disk" in told
    with Store(f"sqlite:///{path}") as store:
        assert store.head() == before and check_book(store).sound


def states(store: Store) -> dict[str, int]:
    """Every head the book has had, with its number."""
    rows = store.rows("SELECT seq, hash FROM event ORDER BY seq")
    return {START.hex(): 0} | {hash_: int(seq) for seq, hash_ in rows}


@pytest.mark.parametrize("how", ["cut", "zeroed"])
def test_f5_the_end_of_what_was_written_last_is_lost(
    how: str, path: Path, scrap: Scrap, tmp_path: Path
) -> None:
    """Cut at any byte, or a sector of 512 bytes zeroed, 150 times each: what is left is what had been
    recorded up to some event, whole."""
    kept = tmp_path / "kept"
    kept.mkdir()
    with Store(f"sqlite:///{path}") as store:
        for k in range(60):
            store.record([scrap(f"X{k}", 1 + k, "AB"[k % 2])])
        heads = states(store)
        for part in ("", "-wal"):  # as they lie while the book is open
            shutil.copy(f"{path}{part}", kept / f"book.sqlite{part}")
    whole = (kept / "book.sqlite-wal").read_bytes()
    random_, found = random.Random(5), set()
    for k in range(150):
        at = random_.randrange(len(whole))
        if how == "cut":
            bytes_ = whole[:at]
        else:
            at -= at % 512
            bytes_ = whole[:at] + bytes(512) + whole[at + 512 :]
        torn = tmp_path / f"torn{k}" / "book.sqlite"
        torn.parent.mkdir()
        shutil.copy(kept / "book.sqlite", torn)
        torn.with_name("book.sqlite-wal").write_bytes(bytes_)
        with Store(f"sqlite:///{torn}") as store:
            if not store.rows("SELECT 1 FROM event"):
                continue  # before the first event: an empty book
            seq, hash_ = store.head()
            assert heads[hash_] == seq
            report = check_book(store)
            assert report.sound, report.sentences()
            on_hand = sum(store.balance(lot) or 0 for lot in "AB")
            assert on_hand == 2 * EACH - sum(1 + n for n in range(seq - 1))
            found.add(seq)
    assert len(found) > 10 and max(found) <= 61


def damage(path: Path, how: str) -> None:
    size = path.stat().st_size
    with path.open("r+b") as file:
        if how == "cut in half":
            file.truncate(size // 2)
        elif how == "overwritten":
            file.write(random.Random(6).randbytes(100))
        else:
            file.seek(20)
            file.write(random.Random(6).randbytes(8))


@pytest.mark.parametrize("how", ["overwritten", "header changed", "cut in half"])
@pytest.mark.parametrize(
    "command", [("stock", "list"), ("book", "check"), ("stock", "scrap", "A", "1 mm2")], ids=" ".join
)
def test_f6_a_file_that_is_no_database_any_more(
    path: Path, how: str, command: tuple[str, ...], woodref: Run, scrap: Scrap
) -> None:
    with Store(f"sqlite:///{path}") as store:
        store.record([scrap(f"X{k}") for k in range(300)])
    kept = path.parent / "backups"
    made = woodref("book", "backup", str(kept), "--book", str(path))
    assert made.exit_code == 0, made.output
    damage(path, how)
    bytes_ = path.read_bytes()
    result = woodref(*command, "--book", str(path))
    told = plain(result)
    assert result.exit_code == 1, told
    assert "damaged" in told and f"woodref book restore BACKUP --book {path}" in told, told
    assert path.read_bytes() == bytes_  # nothing makes it worse
    (backup,) = kept.glob("book-*.sqlite")
    back = woodref("book", "restore", str(backup), "--book", str(path), "--yes")
    assert back.exit_code == 0, back.output
    assert "301 events hold" in plain(woodref("book", "check", "--book", str(path)))


def in_an_event(path: Path, seq: int) -> int:
    """Where the note of an event stands in the file."""
    return path.read_bytes().index(f"note {seq:05}".encode())


@pytest.mark.parametrize("what", ["letters of a note flipped", "bytes that are no text"])
def test_f7_bytes_changed_in_the_middle(path: Path, what: str, woodref: Run, scrap: Scrap) -> None:
    """SQLite itself finds nothing wrong; the chain does, and names the event."""
    with Store(f"sqlite:///{path}") as store:
        store.record([scrap(f"X{k}", note=f"note {k + 2:05}") for k in range(1500)])
    with path.open("r+b") as file:
        file.seek(in_an_event(path, 1200))
        file.write(b"eton" if "flipped" in what else b"\xff\xfe\x80\xc3")
    with sqlite3.connect(path) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    raw.close()
    result = woodref("book", "check", "--book", str(path))
    told = plain(result)
    assert result.exit_code == 1 and "Event 1200" in told, told
    assert "Still trustworthy: events 1 to 1,199." in told
    with Store(f"sqlite:///{path}") as store:  # it says so of no other event either
        assert [f.seq for f in check_book(store).flaws] == [1200]


def test_f7_random_bytes_over_a_page(path: Path, tmp_path: Path, scrap: Scrap, woodref: Run) -> None:
    """64 random bytes anywhere in the file, 30 times: a sentence, never a traceback, and found wherever they
    hit something that is kept."""
    with Store(f"sqlite:///{path}") as store:
        store.record([scrap(f"X{k}", note=f"note {k}") for k in range(400)])
    random_, found = random.Random(7), 0
    for k in range(30):
        torn = tmp_path / f"torn{k}.sqlite"
        shutil.copy(path, torn)
        with torn.open("r+b") as file:
            file.seek(random_.randrange(100, path.stat().st_size - 64))
            file.write(random_.randbytes(64))
        result = woodref("book", "check", "--book", str(torn))
        assert result.exit_code in (0, 1) and result.output.strip()
        found += result.exit_code
    assert found >= 15  # the rest hit free room within pages


SPOILT = {
    "no text": ("UPDATE lot SET facts = CAST(x'fffe' AS TEXT) WHERE id = 'A'", "is damaged"),
    "an id that is no text": ("UPDATE lot SET id = CAST(x'fffe' AS TEXT) WHERE id = 'A'", "is damaged"),
    "no JSON": ("UPDATE lot SET facts = '{' WHERE id = 'A'", "lot A is damaged"),
    "a fact gone": ("UPDATE lot SET facts = '{}' WHERE id = 'A'", "lot A is damaged"),
    "no fraction": ("UPDATE edge SET net_den = 0", "what C is made of is damaged"),
    "no head": ("DELETE FROM head", "the row that names the last event is damaged or gone"),
    "a head that is none": ("UPDATE head SET hash = 'zz'", "the row that names the last event is damaged"),
}


@pytest.mark.parametrize("what", SPOILT)
def test_a_row_that_cannot_be_read(path: Path, what: str, woodref: Run) -> None:
    """Whatever is in a row: the check names it and what still holds, and no command breaks off."""
    made = woodref("stock", "cut", "A", "100 mm2", "--into", "C=100 mm2", "--book", str(path))
    assert made.exit_code == 0, made.output
    change, says = SPOILT[what]
    with sqlite3.connect(path) as raw:
        assert raw.execute(change).rowcount == 1
    raw.close()
    told = []
    for command in (
        ("stock", "list"), ("stock", "show", "A"), ("whence", "C"), ("went-into", "A"),
        ("stock", "scrap", "A", "1 mm2"), ("book", "check"),
    ):  # fmt: skip
        result = woodref(*command, "--book", str(path))
        told.append(plain(result))
        assert result.exit_code in (0, 1, 3), result.output
    assert result.exit_code == 1 and "Still trustworthy: events 1 to" in told[-1], told[-1]
    assert any(says in line for line in told), told


def lowered() -> list[str]:
    """What a command is begun with so that rights of files count, even for one who is root."""
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search"]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [*lowered(), sys.executable, "-m", "woodref", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=60)


@pytest.mark.parametrize("what", ["file", "folder", "both"])
def test_f12_a_file_or_folder_that_may_only_be_read(path: Path, what: str, catalogue: Any) -> None:
    folder, before = path.parent, path.read_bytes()
    if what != "folder":
        path.chmod(0o444)
    if what != "file":
        folder.chmod(0o555)
    try:
        written = run("stock", "scrap", "A", "1 mm2", "--book", str(path))
        assert written.returncode == 1 and "Traceback" not in written.stderr, written.stderr
        told = " ".join(written.stderr.split())
        assert f"{path} can be read but not written" in told and "Look at the rights" in told, told
        read = run("stock", "list", "--book", str(path))
        assert read.returncode == 0 and read.stdout.startswith("lot "), read.stderr
        checked = run("book", "check", "--book", str(path))
        assert checked.returncode == 0 and "1 event holds" in checked.stdout, checked.stderr
    finally:
        folder.chmod(0o755)
        path.chmod(0o644)
    assert path.read_bytes() == before


def test_f12_a_file_that_may_not_even_be_read(path: Path, catalogue: Any) -> None:
    path.chmod(0)
    read = run("stock", "list", "--book", str(path))
    told = " ".join(read.stderr.split())
    assert read.returncode == 1 and "Traceback" not in told
    assert f"{path} cannot be opened" in told and "look at its rights" in told, told


@pytest.mark.parametrize("name", ["50% oak", "what?", "a#b", "größe"])
def test_a_folder_of_any_name(tmp_path: Path, name: str, begin: Begin, woodref: Run) -> None:
    path = tmp_path / name / "book.sqlite"
    begin(f"sqlite:///{path}", EACH)
    assert path.is_file()
    result = woodref("book", "check", "--book", str(path))
    assert result.exit_code == 0, result.output


def test_a_file_of_another_kind(tmp_path: Path, woodref: Run) -> None:
    other = tmp_path / "weather.sqlite"
    with sqlite3.connect(other) as raw:
        raw.execute("CREATE TABLE weather (day TEXT)")
    raw.close()
    before = other.read_bytes()
    for command in (("stock", "list"), ("book", "check")):
        result = woodref(*command, "--book", str(other))
        assert result.exit_code == 1 and f"there is no stock book in {other}" in plain(result)
    receive = ("stock", "receive", "W-1", "1 m2", "--thickness", "0.6 mm", "--words", "oak")
    result = woodref(*receive, "--book", str(other))
    assert result.exit_code == 1, result.output
    assert f"{other} is no stock book: it holds weather. Name another with --book." in plain(result)
    assert other.read_bytes() == before
    notes = tmp_path / "notes.txt"
    notes.write_text("oak, 12 leaves\n" * 200, "utf-8")
    for command in (("stock", "list"), receive):
        result = woodref(*command, "--book", str(notes))
        assert result.exit_code == 1 and "file is not a database" in plain(result), result.output
    folder = woodref("stock", "list", "--book", str(tmp_path))
    assert folder.exit_code == 1 and f"{tmp_path} is a folder. Name the file" in plain(folder)
