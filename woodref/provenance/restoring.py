"""A backup put back in the place of a book, or of the parties: what it would lose is told first."""

from __future__ import annotations

import os
import secrets
import shutil
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

from woodref.errors import BadRequest
from woodref.provenance.backup import ERASED, NAME, copy_of, sqlite_file
from woodref.provenance.bookname import book_id
from woodref.provenance.engine import book_url, told
from woodref.provenance.faults import Busy, StorageFault
from woodref.provenance.heads import remember
from woodref.provenance.lots import Knows
from woodref.provenance.parties import Parties
from woodref.provenance.places import parties_place, write_private
from woodref.provenance.store import Store
from woodref.provenance.times import now
from woodref.provenance.verify import check_book

#: events told by name of those a restore would lose
FEW = 5


@dataclass(frozen=True)
class Plan:
    """What putting a file back would do. lost: ids of events that are in the book and not in the file, the
    latest last; aside: the present book is unreadable or other, and only set aside; done: it was done."""

    file: Path
    target: Path
    events: int
    head: str
    present: int | None
    lost: Sequence[str]
    damaged: str | None
    newer: Path | None
    done: Path | None = None

    @property
    def asks(self) -> bool:
        """Whether a book is there that would make way."""
        return self.present is not None or self.damaged is not None

    def sentences(self) -> list[str]:
        out = [f"{self.file} holds {_events(self.events)}; it was worked out anew and is whole."]
        if self.newer:
            out.append(f"A later copy of the same book lies beside it: {self.newer.name}.")
        if self.damaged:
            out.append(f"The book at {self.target} cannot be read: {self.damaged}")
        elif self.present is not None and self.lost:
            few = ", ".join(self.lost[-FEW:])
            more = len(self.lost) - FEW
            named = f"{few}{f' and {more:,} before them' if more > 0 else ''}"
            out.append(f"The book at {self.target} has {_events(self.present)}.")
            out.append(f"{_events(len(self.lost))} in it would be lost: {named}.")
        elif self.present is not None:
            out.append(f"The book at {self.target} has {_events(self.present)}: nothing in it would be lost.")
        return out

    def after(self) -> list[str]:
        """What is said when it was done."""
        out = [f"Put back: {self.target} has {_events(self.events)}, head {self.head}."]
        if self.done != self.target:
            out.append(f"The book that was there is set aside as {self.done}; nothing was deleted.")
        return [*out, "woodref book check tells whether the papers' files are there as well."]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `book restore`."""
        return {
            "file": str(self.file), "book": str(self.target), "events": self.events, "head": self.head,
            "present": self.present, "lost": list(self.lost), "damaged": self.damaged,
            "done": self.done is not None, "set_aside": self._aside(),
            "sentences": [*self.sentences(), *(self.after() if self.done else [])], "notices": [],
        }  # fmt: skip

    def _aside(self) -> str | None:
        return None if self.done in (None, self.target) else str(self.done)


def _events(number: int) -> str:
    return f"{number:,} event{'' if number == 1 else 's'}"


def plan(file: Path, given: str | None, knows: Knows | None = None) -> Plan:
    """What putting a backup back would do; nothing is changed. StorageFault when the file does not hold,
    BadRequest when another book is in the place."""
    target = sqlite_file(book_url(given), "restore")
    file = file.resolve()
    if not file.is_file():
        raise StorageFault(f"there is no file {file}")
    if file == target:
        raise BadRequest(f"{file} is the book itself", next="Name a backup of it.")
    with Store(f"sqlite:///{file}", knows, read_only=True) as copy:
        if not copy.rows("SELECT 1 FROM sqlite_master WHERE name = 'event'"):
            raise BadRequest(f"{file} is no stock book", next="Name a file that `book backup` made.")
        found, name = check_book(copy), book_id(copy)
        if not found.sound:
            raise StorageFault(f"{file} does not hold: {found.flaws[0].message}", next="Try an older backup.")
        ids = [row[0] for row in copy.rows("SELECT id FROM event ORDER BY seq")]
    newer = _newer(file, name, len(ids))
    if not target.exists():
        return Plan(file, target, found.events, found.head, None, (), None, newer)
    try:
        with Store(f"sqlite:///{target}", read_only=True) as present:
            there = book_id(present)
            rows = [row[0] for row in present.rows("SELECT id FROM event ORDER BY seq")]
    except StorageFault as fault:
        return Plan(file, target, found.events, found.head, None, (), str(fault), newer)
    if there != name:
        raise BadRequest(
            f"the book at {target} is another one than that of {file.name}",
            next="Put it somewhere else with --book, or move the book away first.",
        )
    known = set(ids)
    lost = tuple(event for event in rows if event not in known)
    return Plan(file, target, found.events, found.head, len(rows), lost, None, newer)


def _newer(file: Path, name: str, events: int) -> Path | None:
    """The latest backup of the same book in the same folder, if it has more events."""
    listed = [(int(m["events"]), p) for p in file.parent.iterdir()
              if (m := NAME.fullmatch(p.name)) and m["book"] == name[:8]]  # fmt: skip
    most = max(listed, default=(0, file))
    return most[1] if most[0] > events else None


def restore(planned: Plan) -> Plan:
    """Put the file in the place of the book; the book that is there is set aside, not deleted. Busy while
    another program has it open."""
    target, part = planned.target, planned.target.with_name(f".{secrets.token_hex(8)}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        copy_of(planned.file, part)
        aside = _set_aside(target, planned.damaged is not None)
        if aside.is_file() and aside != target:
            shutil.copymode(aside, part)
        os.replace(part, target)
    except OSError as fault:
        raise StorageFault(f"{fault.filename or target} cannot be written ({fault.strerror})") from None
    finally:
        part.unlink(missing_ok=True)
    with Store(f"sqlite:///{target}", read_only=True) as store:
        remember(book_id(store), planned.events, planned.head, now().utc[:10])
    return replace(planned, done=aside)


def _set_aside(target: Path, damaged: bool) -> Path:
    """Rename the present book and return its new path, or the path itself where none was. Its log is first
    taken into it; where it cannot be opened, or only a log is left of it, the log is renamed as well: it
    would be taken for that of the book put back."""
    parts = [s for s in ("", "-wal", "-shm") if target.with_name(target.name + s).exists()]
    if not parts:
        return target
    stamp = now().utc[:19].replace("-", "").replace(":", "") + "Z"
    aside = target.with_name(f"{target.name}.set-aside-{stamp}")
    while aside.exists():
        aside = aside.with_name(aside.name + "-again")
    if not damaged and "" in parts:
        try:
            with closing(sqlite3.connect(target, timeout=2, isolation_level=None)) as open_:
                # fails while another connection is open
                mode = open_.execute("PRAGMA journal_mode=DELETE").fetchone()[0]
        except sqlite3.Error as fault:
            raise told(fault) from fault
        if mode != "delete":
            raise Busy("the book is open in another program", next="Close it and try again.")
    for suffix in ("", "-wal", "-shm"):
        old = target.with_name(target.name + suffix)
        if old.exists():
            os.replace(old, aside.with_name(aside.name + suffix))
    return aside


def is_parties(file: Path) -> bool:
    """Whether a file is a copy of the parties, by its tables."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(file))}?mode=ro", uri=True)) as opened:
            rows = opened.execute("SELECT 1 FROM sqlite_master WHERE name IN ('party', 'salt')").fetchall()
        return len(rows) == 2
    except sqlite3.Error:
        return False


def restore_parties(file: Path, yes: bool) -> tuple[list[str], bool]:
    """Put a copy of the parties back and erase again whoever was erased since: those on the list beside the
    parties and on that beside the copy. Whether it was done: parties that are there make way only for a yes,
    and are deleted, since a set-aside file would keep the names of those erased."""
    target = parties_place()
    with_ids = _ids(file, "party")
    says = [f"{file} holds {len(with_ids):,} part{'y' if len(with_ids) == 1 else 'ies'}."]
    if target.exists():
        lost, salts = (len(_ids(target, t) - _ids(file, t)) for t in ("party", "salt"))
        gone_ = (
            "none of them would be lost"
            if not lost
            else (f"{lost:,} of them {'is' if lost == 1 else 'are'} not in the copy and would be lost")
        )
        says.append(f"There are parties at {target}; {gone_}.")
        if salts:
            of = "1 private paper" if salts == 1 else f"{salts:,} private papers"
            says.append(f"Whether the file of {of} is the same could not be told any more.")
        if not yes:
            return says, False
    list_path = target.with_name(target.name + ".erased.json")
    part = target.with_name(f".{secrets.token_hex(8)}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        copy_of(file, part)
        if target.exists():
            with closing(sqlite3.connect(target, timeout=2, isolation_level=None)) as open_:
                if open_.execute("PRAGMA journal_mode=DELETE").fetchone()[0] != "delete":
                    raise Busy("the parties are open in another program", next="Close it and try again.")
        if (file.parent / ERASED).exists() and not list_path.exists():
            write_private(list_path, (file.parent / ERASED).read_bytes())
        for suffix in ("-wal", "-shm"):  # a log without its file would be taken for that of the copy
            target.with_name(target.name + suffix).unlink(missing_ok=True)
        os.replace(part, target)
    except sqlite3.Error as fault:
        raise told(fault) from fault
    except OSError as fault:
        raise StorageFault(f"{fault.filename or target} cannot be written ({fault.strerror})") from None
    finally:
        part.unlink(missing_ok=True)
    with Parties(target) as opened:
        opened.merge_erasures(file.parent / ERASED)
        gone = sum(p.erased_at is not None for p in opened.all())
    says.append(f"Put back: {target}. {gone:,} of them {'is' if gone == 1 else 'are'} erased, as the list of "
                "erased ids says.")  # fmt: skip
    return says, True


def _ids(file: Path, table: str) -> set[str]:
    column = {"party": "id", "salt": "document"}[table]
    try:
        with closing(sqlite3.connect(f"file:{quote(str(file))}?mode=ro", uri=True)) as opened:
            return {row[0] for row in opened.execute(f"SELECT {column} FROM {table}")}
    except sqlite3.Error as fault:
        raise told(fault) from fault
