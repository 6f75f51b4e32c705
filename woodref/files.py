"""Reading a file that a person names."""

from __future__ import annotations

import sys
from pathlib import Path

from woodref.errors import WoodrefError


def bytes_of(path: Path, most: int, fault: type[WoodrefError], next_: str) -> bytes:
    """The bytes of a file that a person names, or of standard input for '-'. The fault given, when it cannot
    be read or has more than `most` bytes; standard input is read one byte beyond them, and its reader
    refuses it."""
    if str(path) == "-":
        return sys.stdin.buffer.read(most + 1)
    try:
        if path.stat().st_size > most:
            raise fault(f"{path} is larger than {most:,} bytes", next=next_)
        return path.read_bytes()
    except OSError as wrong:
        raise fault(f"{path} cannot be read ({wrong.strerror})") from None
