"""What the disk or the database refuses, in plain words: what is wrong and what to do. No password is told.

The server's own words are shown where they add something; those of PostgreSQL may be in its language.
"""

from __future__ import annotations

import re
from typing import Any

from woodref.provenance.faults import BookFault, Busy, StorageFault

AGAIN = "Record it again: what stands already is not recorded twice."
_PASSWORD = re.compile(r"(password\s*=\s*)('[^']*'|\S+)|(://[^:/@\s]*:)[^@\s]*@", re.IGNORECASE)
#: what a server that lets nobody in says -> (what is wrong, what to do)
_AWAY = (
    ("password authentication failed", "the server refuses the user or the password",
     "Look at both in the address of the book, or in your password file."),
    ("no password supplied", "the server wants a password",
     "Put it into your password file (~/.pgpass), or into the address of the book."),
    ('database ".*" does not exist', "there is no such database",
     "Look at its name; whoever keeps the server makes it."),
    ('role ".*" does not exist', "the server knows no such user",
     "Look at the user in the address of the book."),
    ("pg_hba.conf", "the server takes nobody in from this machine as this user",
     "Whoever keeps the server can allow it."),
    ("resolve", "there is no such server", "Look at the name of the server in the address of the book."),
    ("not known", "there is no such server", "Look at the name of the server in the address of the book."),
    ("too many", "the server has too many users at once", "Try again in a moment: nothing was lost."),
    ("starting up", "the server is just starting", "Try again in a moment: nothing was lost."),
    ("shutting down", "the server is just stopping", "Try again in a moment: nothing was lost."),
)  # fmt: skip


def masked(text: str) -> str:
    """A text without the passwords of any address in it."""
    return _PASSWORD.sub(lambda m: f"{m[1]}***" if m[1] else f"{m[3]}***@", text)


def told(fault: Any, place: str = "the book") -> BookFault:
    """A database's fault in plain words. place: the book's file or address, as it may be shown."""
    orig = getattr(fault, "orig", fault)
    name = getattr(orig, "sqlite_errorname", "") or type(orig).__name__
    says = masked(" ".join(str(orig).split("\n")[0].split())) or name
    found = _of_postgres(fault, orig, name, says, place)
    return found or _of_sqlite(name, says, place)


def _of_sqlite(name: str, says: str, place: str) -> BookFault:
    if "BUSY" in name or "LOCKED" in name:
        return Busy("another writer holds the book", next="Try again in a moment: nothing was lost.")
    if "READONLY" in name:
        return StorageFault(
            f"{place} can be read but not written",
            next="Look at the rights of the file and its folder: nothing was recorded.",
        )
    if "FULL" in name:
        return StorageFault("the disk is full: nothing was recorded", next="Make room and record it again.")
    if "NOTADB" in name or "CORRUPT" in name or "decode to UTF-8" in says:
        return damaged(place, says)
    if "IOERR_READ" in name or "SHORT_READ" in name:
        return StorageFault(
            f"the disk could not be read ({name})",
            next=f"Copy {place} to another disk while that works, or put your last backup in its place.",
        )
    if "IOERR" in name:
        return StorageFault(
            f"the disk refused ({name}): nothing was recorded", next="Look at the disk, then record it again."
        )
    if "CANTOPEN" in name:
        return StorageFault(
            f"{place} cannot be opened ({says})", next="Name its path with --book, or look at its rights."
        )
    if "no such table" in says:
        return _no_book(place)
    return StorageFault(f"the database refused: {says}")


def damaged(place: str, says: str) -> StorageFault:
    """A file that is no sound database any more."""
    return StorageFault(
        f"{place} is damaged ({says})",
        next=f"Put the last backup in its place: woodref book restore BACKUP --book {place}",
    )


def _no_book(place: str) -> StorageFault:
    return StorageFault(
        f"there is no stock book in {place}", next="Record something first, or name it with --book."
    )


def _of_postgres(fault: Any, orig: Any, name: str, says: str, place: str) -> BookFault | None:
    """The fault of a server; None where it is none of those with words of their own."""
    if name in ("LockNotAvailable", "QueryCanceled", "SerializationFailure", "DeadlockDetected"):
        return Busy("other writers hold the book", next="Try again in a moment: nothing was lost.")
    if name == "InsufficientPrivilege":
        return StorageFault(
            f"your user may not do this in {place} ({says})",
            next="Whoever keeps the database gives the rights; what is recorded nobody changes.",
        )
    if name == "ReadOnlySqlTransaction":
        return StorageFault(
            f"{place} can be read but not written", next="Name the server that takes what is recorded."
        )
    if name == "DiskFull":
        return StorageFault(
            "the disk of the server is full: nothing was recorded", next="Make room and record it again."
        )
    if name == "UndefinedTable":
        return _no_book(place)
    if name == "InvalidSchemaName":
        return StorageFault(
            f"{place}: the schema that the book is to be made in does not exist",
            next="Look at the options in its address; whoever keeps the database makes it (CREATE SCHEMA).",
        )
    if not type(orig).__module__.startswith("psycopg") or name not in ("OperationalError", "AdminShutdown"):
        return None
    if getattr(fault, "connection_invalidated", False) or name == "AdminShutdown":
        return StorageFault(f"the server broke off in the middle ({says})", next=AGAIN)
    whole = str(orig)
    for words, what, do in _AWAY:
        if re.search(words, whole):
            return StorageFault(f"{place}: {what}", next=do)
    return StorageFault(
        f"{place}: no server answers ({_last(whole)})",
        next="See whether it runs and whether this machine may reach it.",
    )


def _last(whole: str) -> str:
    """The end of a failed connection's own words, which says why."""
    line = masked(" ".join(whole.split("\n")[0].split()))
    return line.rpartition("failed: ")[2].removeprefix("FATAL: ").strip() or "no reason given"
