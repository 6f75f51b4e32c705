"""A file of a day's slips: YAML, one slip an entry, in the order in which they are to be recorded.

Strict: a key that is not named here is a fault, so is an amount without its unit, and a clock without its
day. What the slips do is worked out in `daywork`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.catalogue.yamlload import MAX_BYTES, load
from woodref.errors import BadLayup, WoodrefError, echo
from woodref.files import bytes_of
from woodref.layup.reading import Block, Faults, Step
from woodref.provenance.documents import day as day_of
from woodref.provenance.faults import BadImport, BadTime
from woodref.provenance.shapes import named
from woodref.provenance.times import moment

#: kind of work -> its keys in the order in which they are asked for: (key, what it holds, whether it is
#: needed, what to write). text: words or an amount; lots: {LOT: AMOUNT}; plies: {LOT: HOW-MANY}
SHAPES: Mapping[str, tuple[tuple[str, str, bool, str], ...]] = {
    "cut": (
        ("lot", "text", True, "W-7"), ("amount", "text", True, "2 leaves"),
        ("into", "lots", True, "FACE-1: 4 leaves of 490 x 180 mm"),
        ("offcut", "lots", False, "OFF-1: 1 leaf of 600 x 180 mm"), ("waste", "text", False, "0.3672 m2"),
    ),
    "split": (
        ("lot", "text", True, "W-7"), ("amount", "text", True, "6 leaves"),
        ("into", "lots", True, "W-7-A: 3 leaves"),
    ),
    "scrap": (("lot", "text", True, "W-7"), ("amount", "text", True, "1 leaf")),
    "joint": (
        ("sheet", "text", True, "FACE-S"), ("size", "text", True, "1 sheet of 490 x 350 mm"),
        ("of", "lots", True, "FACE-1: 2 leaves"), ("waste", "lots", False, "FACE-1: 4900 mm2"),
    ),
    "press": (
        ("panel", "text", True, "P-1"), ("size", "text", True, "1 sheet of 490 x 350 mm"),
        ("plies", "plies", True, "BIRCH: 4"), ("glue", "lots", False, "UF-2: 60 g"),
        ("taken", "lots", False, "BIRCH: 4 leaves"),
    ),
    "reserve": (
        ("lot", "text", True, "W-7"), ("amount", "text", True, "1 leaf"),
        ("until", "text", False, "2027-03-01"),
    ),
    "release": (("reservation", "text", True, "reserve-W-7-1a2b3c4d"),),
}  # fmt: skip
#: keys of every slip
COMMON = ("note", "who", "time")
_CLOCK = re.compile(r"(?P<hour>[01]?[0-9]|2[0-3]):(?P<minute>[0-5][0-9])")
EXAMPLE = """\
# A day's slips of the Quillbeck Benders, in the order they were filled in. All of them are recorded, or none.
# day: the day of every clock below it; offset: that of the place, usual: this machine's on that day;
# who: initials, an id of your own and never a name.
- day: {date: 2026-01-05, offset: "+01:00", who: qb}

# The rest of what was taken is waste; `waste`, where it is written, has to be exactly that rest.
- cut:
    lot: W-7
    amount: 2 leaves
    into: {FACE-1: 4 leaves of 490 x 180 mm}
    offcut: {OFF-1: 1 leaf of 700 x 190 mm}
    note: leaves 3 and 4, sap edge
    time: "09:20"
- scrap: {lot: W-7, amount: 1 leaf, note: split from end to end, time: "09:40"}

# A slip without a time counts as done at the time of the one before it.
- joint: {sheet: FACE-S, size: 1 sheet of 490 x 350 mm, of: {FACE-1: 2 leaves}}
- press:
    panel: P-1
    size: 1 sheet of 490 x 350 mm
    plies: {FACE-S: 1, BIRCH: 4}
    glue: {UF-2: 60 g}
    taken: {BIRCH: 4 leaves}   # where more went to the press than the panel holds
    time: "11:05"
- reserve: {lot: W-7, amount: 1 leaf, until: 2027-03-01, note: repairs of the tray, time: "16:30", who: mf}
"""


@dataclass(frozen=True)
class Slip:
    """One piece of work. where: file and line; told: what is written of it, by key, lots as {LOT: AMOUNT};
    time: with offset; who: initials, None where nobody is told."""

    kind: str
    where: str
    told: Mapping[str, Any]
    time: str
    note: str | None = None
    who: str | None = None


@dataclass
class _Day:
    """The day that clocks are read for. last: time of the slip before, empty when it could not be read;
    wrong: the day itself could not be read, and is told of once."""

    date: dt.date | None
    offset: str | None = None
    who: str | None = None
    last: str | None = None
    wrong: bool = False


def read_day(path: Path) -> bytes:
    """The bytes of a file of slips, or of standard input for '-'."""
    return bytes_of(path, MAX_BYTES, BadImport, "Record it in parts.")


def slips_of(body: bytes, file: str, day: str | None = None, who: str | None = None) -> list[Slip]:
    """The slips of a file. day, who: what holds till the file says otherwise.

    BadImport tells every fault with its line.
    """
    value, found = load(body, file)
    if found:
        raise BadImport(found[0].says, where=f"{file}:{found[0].line}", next="Nothing was recorded.")
    if not isinstance(value, list) or not value:
        raise BadImport(
            "there is no slip in it", where=file,
            expected="a list, such as - scrap: {lot: W-7, amount: 1 leaf}",
            next="woodref stock day --example prints one.",
        )  # fmt: skip
    faults = Faults(file, body)
    now = _Day(None if day is None else day_of(day, "--day", "stock day"), who=who)
    slips = [slip for index, entry in enumerate(value) if (slip := _entry(entry, index, now, faults))]
    try:
        faults.settle()
    except BadLayup as fault:
        raise BadImport(
            fault.message, fault.where, fault.expected, f"Nothing was recorded. {fault.next or ''}".strip(),
            fault.candidates,
        ) from None  # fmt: skip
    if not slips:
        raise BadImport("there is no slip in it", where=file, expected=", ".join(SHAPES))
    return slips


def _entry(entry: Any, index: int, now: _Day, faults: Faults) -> Slip | None:
    if not isinstance(entry, dict) or len(entry) != 1:
        faults.add((index,), "a slip is one kind of work with what is told of it",
                   expected="such as - scrap: {lot: W-7, amount: 1 leaf}")  # fmt: skip
        return None
    ((kind, told),) = entry.items()
    if kind == "day":
        _new_day(told, index, now, faults)
        return None
    if kind not in SHAPES:
        faults.add((index, kind), f"{echo(kind)} is no work that a slip tells", ", ".join([*SHAPES, "day"]))
        return None
    if told is not None and not isinstance(told, dict):
        faults.add((index, kind), f"{kind} is no mapping", f"{kind}: {{{SHAPES[kind][0][0]}: ...}}")
        return None
    block = Block(told, (index, kind), faults, [*(key for key, *_ in SHAPES[kind]), *COMMON])
    read: dict[str, Any] = {}
    for key, holds, needed, example in SHAPES[kind]:
        got = block.text(key) if holds == "text" else _lots(block, key, holds, example)
        if got:
            read[key] = got
        elif needed and key not in block.held:
            faults.add(block.path, f"{kind} lacks {key}", f"{key}: {_written(holds, example)}")
    note, who = block.text("note"), _who(block)
    return Slip(kind, faults.where((index, kind)), read, _time(block, now) or "", note, who or now.who)


def _written(holds: str, example: str) -> str:
    return example if holds == "text" else f"{{{example}}}"


def _lots(block: Block, key: str, holds: str, example: str) -> dict[str, str]:
    """{LOT: what is said of it}; empty when the key is absent."""
    value = block.held.get(key)
    if value is None and key not in block.held:
        return {}
    if not isinstance(value, dict) or not value:
        block.wrong(key, f"{key} names no lot", expected=_written(holds, example))
        return {}
    out: dict[str, str] = {}
    for lot, said in value.items():
        path: tuple[Step, ...] = (*block.at(key), lot)
        counts = holds == "plies" and isinstance(said, int) and not isinstance(said, bool)
        if not lot.strip() or "=" in lot:
            block.faults.add(path, f"{echo(lot)} is no lot that can be named here")
        elif counts or (isinstance(said, str) and said.strip()):
            out[lot] = str(said)
        else:
            block.faults.add(path, f"{lot}: {echo(str(said))} is not understood", _written(holds, example))
    return out


def _who(block: Block) -> str | None:
    who = block.text("who")
    if who is not None:
        try:
            return named(who, "who")
        except WoodrefError as fault:
            block.wrong("who", fault.message, fault.expected)
    return None


def _new_day(told: Any, index: int, now: _Day, faults: Faults) -> None:
    """A day begins: the clocks of the slips below it are read for it."""
    block = Block(told if isinstance(told, dict) else {"date": told}, (index, "day"), faults,
                  ("date", "offset", "who"))  # fmt: skip
    now.last, now.wrong, said, offset = None, False, block.text("date"), block.text("offset")
    try:
        now.date = day_of(said or "", "day", "day")
        now.offset = None if offset is None else moment("2026-01-01T00:00:00Z").meant(offset).offset
    except BadTime as fault:
        faults.add(block.path, fault.message, fault.expected)
        now.wrong = True
    now.who = _who(block) or now.who


def _time(block: Block, now: _Day) -> str | None:
    """The time of a slip with its offset: its own, or that of the slip before."""
    said = block.text("time")
    if said is None:
        if now.last is None and "time" not in block.held:
            block.faults.add(block.path, "the first slip of a day needs a time", 'time: "09:20"')
        return now.last
    clock = _CLOCK.fullmatch(said)
    try:
        if clock is None:
            found = moment(said).local
        elif now.wrong:
            found = ""
        elif now.date is None:
            raise BadTime(
                f"which day {echo(said)} is of is not told",
                expected="- day: 2026-01-05 above it, --day, or the time with its day and offset",
            )
        else:
            found = _at(now.date, int(clock["hour"]), int(clock["minute"]), now.offset)
    except BadTime as fault:
        expected = fault.expected if clock else f'a clock such as "09:20", or {fault.expected}'
        block.wrong("time", fault.message, expected)
        found = ""
    now.last = found
    return found


def _at(date: dt.date, hour: int, minute: int, offset: str | None) -> str:
    """A clock of a day with its offset; None: the offset of this machine on that day."""
    there = dt.datetime(date.year, date.month, date.day, hour, minute)
    if offset is not None:
        return f"{there.isoformat()}{offset}"
    return moment(there.astimezone().isoformat(timespec="seconds")).local
