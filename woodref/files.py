"""Reading and writing a file that a person names."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from woodref.errors import BadRequest, WoodrefError


def bytes_of(path: Path, most: int, fault: type[WoodrefError], next_: str) -> bytes:
    """The bytes of a file that a person names, or of standard input for '-'. The fault given, when it cannot
    be read or has more than `most` bytes; standard input is read one byte beyond them, and its reader
    refuses it."""
    if str(path) == "-":
        return sys.stdin.buffer.read(most + 1)
    try:
        body = b""
        if path.stat().st_size <= most:
            # a pipe or a device tells no size beforehand, so no more than one byte too many is taken in
            with path.open("rb") as file:
                body = file.read(most + 1)
            if len(body) <= most:
                return body
        raise fault(f"{path} is larger than {most:,} bytes", next=next_)
    except OSError as wrong:
        raise fault(f"{path} cannot be read ({wrong.strerror})") from None


def write_text(path: Path, text: str) -> None:
    """A text as UTF-8, written whole or not at all; BadRequest when it cannot be."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, body: bytes) -> None:
    """A file written whole or not at all; BadRequest when it cannot be."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as wrong:
        raise BadRequest(f"{path} cannot be written ({wrong.strerror})", next="Name another place.") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(body)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except OSError as wrong:
        os.unlink(name)
        raise BadRequest(f"{path} cannot be written ({wrong.strerror})", next="Name another place.") from None
