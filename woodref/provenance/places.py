"""Where the things beside a book lie: papers, parties, the heads last known."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from woodref.provenance.faults import StorageFault

PAPERS, PARTIES, HEADS = "WOODREF_PAPERS", "WOODREF_PARTIES", "WOODREF_HEADS"


def place(given: str | Path | None, variable: str, name: str, beside: Path | None = None) -> Path:
    """The path as given, that of the environment variable, `name` in the folder of the file `beside`, or
    `name` in the user's data folder."""
    chosen = given or os.environ.get(variable)
    if chosen:
        return Path(chosen).expanduser().resolve()
    if beside is not None:
        return beside.parent / name
    from platformdirs import user_data_dir

    return Path(user_data_dir("woodref", appauthor=False)) / name


def papers_place(given: str | Path | None, book_file: Path | None) -> Path:
    """The document store: beside an SQLite book, else in the user's data folder."""
    return place(given, PAPERS, "papers", book_file)


def parties_place(given: str | Path | None = None) -> Path:
    """The file of the parties: never beside a book by itself, since a book is handed on and they are not."""
    return place(given, PARTIES, "parties.sqlite")


def heads_place() -> Path:
    """The file that keeps the last head known of each book."""
    return place(None, HEADS, "heads.json")


def write_private(path: Path, body: bytes) -> None:
    """A small file of mode 600, written beside and put in place whole."""
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except OSError as fault:
        part.unlink(missing_ok=True)
        raise StorageFault(f"{path} cannot be written ({fault.strerror})") from None
