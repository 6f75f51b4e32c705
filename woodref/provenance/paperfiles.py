"""The files of the papers: kept by their hash in a folder beside the book, and looked at again.

A private paper's file is named by its salted hash, so that nothing in the book tells which file it was once
the salt is erased.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import stat
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.documents import Paper, inside, paper_of
from woodref.provenance.faults import BookFault, OutsideStore, StorageFault
from woodref.provenance.heads import beyond_known
from woodref.provenance.parties import Parties
from woodref.provenance.places import PAPERS, papers_place, parties_place
from woodref.provenance.store import Store
from woodref.provenance.verify import Checked, Flaw

#: endings that are kept; any other is left out, since it may say anything
SUFFIXES = frozenset(
    {".asc", ".csv", ".doc", ".docx", ".eml", ".gif", ".heic", ".html", ".jpeg", ".jpg", ".json", ".md",
    ".msg",
     ".ods", ".odt", ".p7m", ".pdf", ".png", ".rtf", ".sig", ".tif", ".tiff", ".txt", ".webp", ".xls",
     ".xlsx",
     ".xml", ".zip"}
)  # fmt: skip
_STEP = 1 << 20
#: a file larger than this is refused [bytes]
LARGEST = 500_000_000
_NAME = re.compile(r"[0-9a-f]{64}(\.[a-z0-9]{1,8})?")

#: how a file was found
SAME, THERE, NONE, ERASED = "the same", "there", "no file", "erased"
MISSING, DIFFERS, OUTSIDE, UNREADABLE, UNTOLD = (
    "missing", "differs", "outside the folder", "not readable", "cannot be told",
)  # fmt: skip
_CODES = {MISSING: "document-missing", DIFFERS: "document-differs", OUTSIDE: "outside-store",
          UNREADABLE: "storage", UNTOLD: "document-differs"}  # fmt: skip


@dataclass(frozen=True)
class Kept:
    """A file in the document store. fresh: it was put there just now."""

    path: Path
    sha256: str
    size: int
    fresh: bool

    @property
    def name(self) -> str:
        return self.path.name

    def undo(self) -> None:
        """Take it out again, if it came with this very paper."""
        if self.fresh:
            self.path.unlink(missing_ok=True)


def keep(file: Path, folder: Path, salt: bytes | None = None) -> Kept:
    """Copy a file into the document store under its hash, with its suffix. salt: of a private paper, whose
    file gets mode 600. BadRequest for what is no file with something in it; StorageFault of the disk."""
    part = folder / f".{secrets.token_hex(8)}.part"
    total = hashlib.sha256(salt or b"")
    size = 0
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise BadRequest(f"{file} is no file", expected="a scan, a photo or a text")
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600 if salt else 0o644)
        with file.open("rb") as source, os.fdopen(handle, "wb") as target:
            while body := source.read(_STEP):
                size += len(body)
                if size > LARGEST:
                    raise BadRequest(f"{file} is larger than {LARGEST:,} bytes", next="Make a smaller scan.")
                total.update(body)
                target.write(body)
            target.flush()
            os.fsync(target.fileno())
        if not size:
            raise BadRequest(f"{file} is empty", next="Scan it again, or leave the file out.")
        suffix = file.suffix.lower()
        found = total.hexdigest()
        path = folder / f"{found}{suffix if suffix in SUFFIXES else ''}"
        fresh = not path.exists()
        if fresh:
            os.replace(part, path)
        return Kept(path, found, size, fresh)
    except OSError as fault:
        raise StorageFault(f"{fault.filename or file} cannot be read or kept ({fault.strerror})") from None
    finally:
        part.unlink(missing_ok=True)


@dataclass(frozen=True)
class Look:
    """How the file of a paper was found, in one word of this file, and in a sentence where that matters."""

    state: str
    says: str | None = None

    @property
    def bad(self) -> bool:
        return self.state in _CODES


def look(
    paper: Paper,
    folder: Path,
    salts: Mapping[str, tuple[str | None, str | None]] | None,
    read: bool = True,
) -> Look:
    """The file of a paper against its record. salts: of the private papers, None where no parties' file is at
    hand; read: work its hash out, else only whether it is there."""
    told = paper.told
    name = told.get("file")
    salted = told.get("salted_sha256")
    salt, erased_on = (salts or {}).get(paper.id, (None, None)) if salted else (None, None)
    if not name:
        return Look(NONE)
    what = f"Document {paper.id}"
    try:
        path = inside(folder, str(name), what)
    except OutsideStore:
        return Look(OUTSIDE, f"{what}: its file leads out of {folder}.")
    try:
        found = path.stat()
        if erased_on:
            return Look(
                UNTOLD, f"{what} was erased on {erased_on}, and its file is there again: delete {path}."
            )
        if not stat.S_ISREG(found.st_mode):
            return Look(DIFFERS, f"{what}: {path} is no file.")
        size = told.get("size")
        if size is not None and found.st_size != size:
            return Look(DIFFERS, f"{what}: {size:,} bytes were stored, {found.st_size:,} are found.")
        if not read:
            return Look(THERE)
        if salted and salt is None:
            if salts is None:
                return Look(THERE, f"{what}: whether its file is the same only the parties' file can tell.")
            return Look(UNTOLD, f"{what}: its salt is lost, so whether its file is the same cannot be told.")
        digest = digest_of(path, bytes.fromhex(salt or ""))
    except FileNotFoundError:
        if erased_on:
            return Look(ERASED, f"{what} was erased on {erased_on}.")
        return Look(MISSING, f"{what}: its file is not in {folder}.")
    except OSError as fault:
        return Look(UNREADABLE, f"{what}: its file cannot be read ({fault.strerror}).")
    stated = str(salted or paper.sha256)
    if digest != stated:
        return Look(DIFFERS, f"{what}: its file is not the one recorded (stored {stated[:12]}, computed "
                    f"{digest[:12]}).")  # fmt: skip
    return Look(SAME)


def digest_of(path: Path, salt: bytes) -> str:
    total = hashlib.sha256(salt)
    with path.open("rb") as file:
        while body := file.read(_STEP):
            total.update(body)
    return total.hexdigest()


def salts_at_hand(parties: str | Path | None = None) -> dict[str, tuple[str | None, str | None]] | None:
    """The salts of private papers; None where there is no parties' file."""
    path = parties_place(parties)
    if not path.exists():
        return None
    with Parties(path) as opened:
        return opened.salts()


def papers_of(store: Store, lot: str | None = None) -> list[Paper]:
    """Papers of a book in the order they were recorded; of one lot, or all."""
    some = "JOIN paper_lot l ON l.paper = p.id WHERE l.lot = :lot " if lot else ""
    rows = store.rows(
        f"SELECT p.id, p.told FROM paper p {some}ORDER BY p.recorded, p.id", **({"lot": lot} if lot else {})
    )
    return [paper_of(json.loads(told), name) for name, told in rows]


def papers_with(store: Store, sha256: str) -> list[Paper]:
    """Papers whose file has this hash, in the order they were recorded."""
    sql = "SELECT id, told FROM paper WHERE sha256 = :sha ORDER BY recorded, id"
    return [paper_of(json.loads(told), name) for name, told in store.rows(sql, sha=sha256)]


@dataclass(frozen=True)
class Seen(Checked):
    """A check of the book with what lies beside it: files of papers, heads known from elsewhere."""

    beside: Sequence[str] = ()
    files: Mapping[str, int] | None = None

    def sentences(self) -> list[str]:
        return [*super().sentences(), *self.beside]

    def as_dict(self) -> dict[str, Any]:
        return super().as_dict() | {"files": None if self.files is None else dict(self.files)}


def with_files(found: Checked, store: Store, papers: str | None = None) -> Seen:
    """A check of the book with its papers' files, where there is a document store, and with the last head
    known of it."""
    flaws, beside, counted = list(found.flaws), list[str](), None
    flaws += beyond_known(store)
    if found.trusted == found.events:
        more, beside, counted = _files(store, papers)
        flaws += more
    return Seen(found.events, found.trusted, found.head, tuple(flaws), beside, counted)


def _files(store: Store, papers: str | None) -> tuple[list[Flaw], list[str], dict[str, int] | None]:
    from woodref.provenance.engine import file_of

    folder = papers_place(papers, file_of(store.url))
    try:
        listed = [p for p in papers_of(store) if p.told.get("file")]
    except BookFault as fault:  # a row changed by hand
        return [Flaw(fault.code, None, str(fault))], [], None
    given = bool(papers or os.environ.get(PAPERS))
    if not folder.is_dir() and not given:
        if not listed:
            return [], [], None
        many = _papers(len(listed))
        return [], [f"The files of {many} were not looked at: there is no folder {folder} (--papers)."], None
    salts = salts_at_hand() if any(p.told.get("salted_sha256") for p in listed) else None
    looks = [look(p, folder, salts) for p in listed]
    flaws = [Flaw(_CODES[one.state], None, str(one.says)) for one in looks if one.bad]
    says = [one.says for one in looks if one.says and not one.bad]
    same = sum(one.state == SAME for one in looks)
    if same:
        says.insert(0, f"{_papers(same)}: {'its file is' if same == 1 else 'their files are'} there and the "
                    "same as recorded.")  # fmt: skip
    idle = _idle(folder, {str(p.told["file"]) for p in listed})
    if idle:
        belong = "1 file belongs" if idle == 1 else f"{idle:,} files belong"
        says.append(f"{belong} to no paper of this book in {folder}.")
    bad = len(flaws)
    return flaws, says, {"looked_at": len(looks), "same": same, "wrong": bad, "of_no_paper": idle}


def _papers(number: int) -> str:
    return f"{number:,} paper{'' if number == 1 else 's'}"


def _idle(folder: Path, known: set[str]) -> int:
    """Files of the store that no paper names, such as when a machine stopped between file and event."""
    if not folder.is_dir():
        return 0
    return sum(1 for p in folder.iterdir() if _NAME.fullmatch(p.name) and p.name not in known)
