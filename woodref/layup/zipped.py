"""A zip of a few named files: written so that the same files give the same bytes, read so that nothing a
stranger sends does harm. Nothing is ever unpacked onto the disk.
"""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
import zlib
from collections.abc import Collection, Mapping

from woodref.errors import BadBundle, echo
from woodref.layup.reader import MOST_ZIP
from woodref.selection.words import joined

#: bytes of one file of a bundle, once unpacked
MOST_FILE = 4_000_000
#: the file that holds the sums of the others
MANIFEST = "MANIFEST"
#: the only time that is written: the first that a zip can hold
_TIME = (1980, 1, 1, 0, 0, 0)
_LINE = re.compile(r"([0-9a-f]{64})  ([A-Za-z0-9._-]{1,80})")
#: bit of an entry that is locked with a password
_LOCKED = 0x1


def zip_of(files: Mapping[str, bytes]) -> bytes:
    """The zip of these files and the MANIFEST of their SHA-256 sums, names in order, nothing packed tighter:
    how tight depends on the machine, and the bytes must not."""
    sums = "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as made:
        for name, body in sorted({**files, MANIFEST: sums.encode()}.items()):
            entry = zipfile.ZipInfo(name, _TIME)
            entry.create_system, entry.external_attr = 3, 0o100644 << 16
            made.writestr(entry, body)
    return out.getvalue()


def files_of(body: bytes, names: Collection[str], where: str) -> dict[str, bytes]:
    """The files of a zip, whose names are known beforehand, with their sums checked.

    BadBundle: no zip or a broken one, a file too large, too many, unknown, twice, wanting or locked, a sum
    that is not that of the MANIFEST.
    """
    if len(body) > MOST_ZIP:
        raise BadBundle(f"it is larger than {MOST_ZIP:,} bytes, and no bundle is", where=where)
    wanted = {*names, MANIFEST}
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as opened:
            entries = opened.infolist()
            _as_named([entry.filename for entry in entries], wanted, where)
            files = {entry.filename: _unpacked(opened, entry, where) for entry in entries}
    except (
        zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OSError, RuntimeError,
        IndexError, OverflowError,
    ) as fault:  # fmt: skip
        raise BadBundle(
            f"it is no whole zip ({_short(fault)})", where=where, next="Ask for the bundle once more."
        ) from None
    _sums_hold(files, where)
    return {name: files[name] for name in names}


def _short(fault: Exception) -> str:
    return echo(str(fault) or type(fault).__name__)[1:-1]


def _as_named(there: list[str], wanted: set[str], where: str) -> None:
    """BadBundle unless exactly these files stand in it, each once."""
    strange = [name for name in there if name not in wanted]
    if strange:
        more = f" and {len(strange) - 3:,} more" if len(strange) > 3 else ""
        raise BadBundle(
            f"it holds what no bundle holds: {', '.join(echo(name) for name in strange[:3])}{more}",
            where=where, expected=", ".join(sorted(wanted)),
        )  # fmt: skip
    twice = sorted(name for name in wanted if there.count(name) > 1)
    if twice:
        raise BadBundle(
            f"{joined(twice)} {'stands' if len(twice) == 1 else 'stand'} in it twice", where=where
        )
    lacking = sorted(wanted - {*there})
    if lacking:
        verb = "is" if len(lacking) == 1 else "are"
        raise BadBundle(
            f"{joined(lacking)} {verb} wanting", where=where, next="Ask for the bundle once more."
        )


def _unpacked(opened: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str) -> bytes:
    """The bytes of one entry, never more than a file may have: what it says of its size is not believed."""
    if entry.flag_bits & _LOCKED:
        raise BadBundle(f"{entry.filename} is locked with a password", where=where)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise BadBundle(f"{entry.filename} is packed in a way that no bundle is", where=where)
    with opened.open(entry) as file:
        body = file.read(MOST_FILE + 1)
    if len(body) > MOST_FILE:
        raise BadBundle(
            f"{entry.filename} is larger than {MOST_FILE:,} bytes once unpacked, and in no bundle it is",
            where=where,
        )
    return body


def _sums_hold(files: Mapping[str, bytes], where: str) -> None:
    """BadBundle when the MANIFEST cannot be read, or a file is not the one it speaks of."""
    at = f"{where}: {MANIFEST}"
    try:
        lines = files[MANIFEST].decode("ascii").splitlines()
    except UnicodeDecodeError:
        raise BadBundle("it is no plain text", where=at) from None
    sums: dict[str, str] = {}
    for number, line in enumerate(lines, 1):
        match = _LINE.fullmatch(line)
        if match is None or match[2] in sums:
            raise BadBundle(
                f"{echo(line)} is no sum", where=f"{at}:{number}",
                expected="64 hex digits, two spaces, the name of a file; each file once",
            )  # fmt: skip
        sums[match[2]] = match[1]
    beside = {*files} - {MANIFEST}
    if sums.keys() != beside:
        raise BadBundle(
            f"it speaks of {joined(sorted(sums)) if sums else 'nothing'}",
            where=at,
            expected=joined(sorted(beside)),
        )
    wrong = [name for name in sorted(beside) if hashlib.sha256(files[name]).hexdigest() != sums[name]]
    if wrong:
        says = "is not as it was" if len(wrong) == 1 else "are not as they were"
        raise BadBundle(
            f"{joined(wrong)} {says} when the bundle was made: the sum is not the one in its {MANIFEST}",
            where=where,
            next="Somebody has changed it, or it was spoilt on its way: ask for the bundle once more.",
        )
