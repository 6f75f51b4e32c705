"""Backups of an SQLite book: copied while it is in use, opened, checked, and only then called a backup."""

from __future__ import annotations

import os
import re
import secrets
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from woodref.errors import BadRequest
from woodref.provenance.bookname import book_id
from woodref.provenance.engine import file_of, told
from woodref.provenance.faults import StorageFault
from woodref.provenance.heads import beyond_known, remember
from woodref.provenance.lots import Knows
from woodref.provenance.parties import Parties
from woodref.provenance.places import heads_place, papers_place, parties_place, write_private
from woodref.provenance.store import Store
from woodref.provenance.times import now
from woodref.provenance.verify import check_book

NAME = re.compile(
    r"book-(?P<book>[0-9a-f]{8})-(?P<at>[0-9]{8}T[0-9]{6}Z)-(?P<events>[0-9]{7,})-(?P<head>[0-9a-f]{12})\.sqlite"
)
PARTIES = re.compile(r"parties-(?P<at>[0-9]{8}T[0-9]{6}Z)\.sqlite")
ERASED = "parties.erased.json"


@dataclass(frozen=True)
class Backup:
    """A backup made. dropped: older ones that were taken away; kept: how many there are now."""

    path: Path
    events: int
    head: str
    kept: int
    dropped: int
    same_disk: bool
    parties: Path | None
    papers: Path | None

    def sentences(self) -> list[str]:
        many = f"{self.events:,} event{'' if self.events == 1 else 's'}"
        copies = f"{self.kept} {'copy is' if self.kept == 1 else 'copies are'} kept"
        gone = f", {self.dropped} older {'was' if self.dropped == 1 else 'were'} taken away"
        out = [
            f"Backed up {many} to {self.path}.",
            f"The copy was opened and worked out anew: it holds. Head {self.head}.",
            f"{copies}{gone if self.dropped else ''}.",
        ]
        if self.parties:
            out.append(f"The parties are in {self.parties.name}, for your eyes only.")
        if self.papers:
            out.append(f"The papers' files are not in it: copy the folder {self.papers} as well.")
        if self.same_disk:
            out.append("It lies on the same disk as the book: keep a copy on another one too.")
        return [*out, f"To put it back: woodref book restore {self.path}"]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `book backup`."""
        return {
            "file": str(self.path), "events": self.events, "head": self.head, "kept": self.kept,
            "dropped": self.dropped, "same_disk": self.same_disk,
            "parties": self.parties and str(self.parties), "sentences": self.sentences(), "notices": [],
        }  # fmt: skip


def sqlite_file(url: str, what: str) -> Path:
    """The file of a book; BadRequest for one on PostgreSQL."""
    path = file_of(url)
    if path is None:
        tool = "pg_dump" if what == "backup" else "pg_restore"
        raise BadRequest(
            f"this book is on PostgreSQL, which woodref does not {'back up' if what == 'backup' else what}",
            next=f"Use {tool}, which comes with PostgreSQL; woodref book check tells whether the book holds.",
        )
    return path


def copy_of(source: Path, target: Path) -> None:
    """A copy of an SQLite file as it stands, what is in its log included, as one file of mode 600."""
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    try:
        with (
            closing(sqlite3.connect(f"file:{quote(str(source))}?mode=ro", uri=True, timeout=10)) as old,
            closing(sqlite3.connect(target, isolation_level=None)) as new,
        ):
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as fault:
        raise told(fault) from fault
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def backup(
    url: str, folder: Path, keep: int = 3, knows: Knows | None = None, parties: bool = False
) -> Backup:
    """Copy a book into a folder, check the copy, keep the latest `keep` of this book. parties: theirs too.

    BadRequest for a book on PostgreSQL or the book's own folder; StorageFault when the copy does not hold:
    then the older ones stay as they are.
    """
    path = sqlite_file(url, "backup")
    if folder.resolve() == path.parent.resolve():
        raise BadRequest(
            "a copy beside the book is lost with it", where=str(folder), next="Name a folder on another disk."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        part = folder / f".{secrets.token_hex(8)}.part"
        try:
            return _made(url, path, folder, part, keep, knows, parties)
        finally:
            for suffix in ("", "-wal", "-shm", "-journal"):
                part.with_name(part.name + suffix).unlink(missing_ok=True)
    except OSError as fault:
        raise StorageFault(f"{fault.filename or folder} cannot be written ({fault.strerror})") from None


def _made(
    url: str, path: Path, folder: Path, part: Path, keep: int, knows: Knows | None, parties: bool
) -> Backup:
    at = now()
    with Store(url, knows, read_only=True) as store:
        before, name = store.head(), book_id(store)
        if behind := beyond_known(store):
            raise StorageFault(
                f"{behind[0].message} No backup was made of it",
                next=f"Put the later copy back with woodref book restore; if this book is meant, move "
                f"{heads_place()} away.",
            )
    copy_of(path, part)
    with Store(f"sqlite:///{part}", knows, read_only=True) as copy:
        found = check_book(copy)
        if not found.sound:
            raise StorageFault(
                f"the copy does not hold: {found.flaws[0].message} No backup was made, and the older ones "
                "stay as they are",
                next="woodref book check tells what is wrong with the book.",
            )
        seq, head = copy.head()
        there = copy.rows("SELECT hash FROM event WHERE seq = :seq", seq=before[0])
        if seq < before[0] or (before[0] and (not there or there[0][0] != before[1])):
            raise StorageFault("the copy is not the book that was to be copied", next="Try again.")
    stamp = at.utc[:19].replace("-", "").replace(":", "") + "Z"
    final = folder / f"book-{name[:8]}-{stamp}-{seq:07}-{head[:12]}.sqlite"
    os.replace(part, final)
    remember(name, seq, head, at.utc[:10])
    saved = _parties(folder, stamp, keep) if parties else None
    mine = sorted(p for p in folder.iterdir() if (m := NAME.fullmatch(p.name)) and m["book"] == name[:8])
    gone = mine[:-keep]
    for old in gone:
        old.unlink()
    papers = papers_place(None, path)
    return Backup(
        final, seq, head, len(mine) - len(gone), len(gone), folder.stat().st_dev == path.stat().st_dev, saved,
        papers if papers.is_dir() else None,
    )  # fmt: skip


def _parties(folder: Path, stamp: str, keep: int) -> Path | None:
    """Copy the parties' file and the list of erased ids beside a backup; older copies beyond `keep` go."""
    source = parties_place()
    if not source.exists():
        raise StorageFault(f"there are no parties at {source}", next="Leave --with-parties.")
    with Parties(source) as opened:
        erased = opened.list_path
    final = folder / f"parties-{stamp}.sqlite"
    final.unlink(missing_ok=True)
    copy_of(source, final)
    if erased.exists():
        write_private(folder / ERASED, erased.read_bytes())
    for old in sorted(p for p in folder.iterdir() if PARTIES.fullmatch(p.name))[:-keep]:
        old.unlink()
    return final
