"""From a file to a layup: read, repeats written out, what-ifs put in, values checked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from woodref.errors import BadBundle
from woodref.files import bytes_of
from woodref.layup.asked import Layup
from woodref.layup.layupfile import layup_of, parse, read_body, written_out
from woodref.layup.reading import Faults, Step
from woodref.layup.whatif import Edit

#: what every zip begins with, also one with nothing in it
ZIP_BEGINS = (b"PK\x03\x04", b"PK\x05\x06")
#: bytes of a whole bundle
MOST_ZIP = 8_000_000


def load_layup(body: bytes, file: str, edits: Sequence[Edit] = ()) -> Layup:
    """The layup of a file's bytes, with what-ifs put in. BadLayup tells every fault with its line or
    option."""
    value = parse(body, file)
    changed: dict[tuple[Step, ...], str] = {}
    faults = Faults(file, body, changed)
    value["plies"] = written_out(value, faults) if value.get("plies") is not None else None
    if not isinstance(value["plies"], list) or faults.found:
        faults.settle()
    for edit in edits:
        changed[edit.path] = edit.option
        edit.put_in(value)
    return layup_of(value, faults)


def read_layup(path: Path, edits: Sequence[Edit] = ()) -> Layup:
    """The layup of a file, or of standard input for '-'."""
    return load_layup(read_body(path), "standard input" if str(path) == "-" else str(path), edits)


def body_of(path: Path) -> tuple[bytes, bool]:
    """The bytes of a file that a person names, and whether it is a bundle: a zip, by its name or its first
    bytes. BadLayup or BadBundle when it cannot be read."""
    if path.suffix.lower() == ".zip":
        return bytes_of(path, MOST_ZIP, BadBundle, "Name a bundle or a layup file."), True
    body = read_body(path)
    return body, body.startswith(ZIP_BEGINS)
