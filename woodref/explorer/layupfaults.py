"""Faults of a layup at the fields of its form: the reader names a line, the line is a field."""

from __future__ import annotations

import re

from woodref.errors import BadLayup, Candidate, WoodrefError
from woodref.explorer.forms import Form
from woodref.explorer.layupfields import BY_KEY, ROW
from woodref.explorer.layupsheet import Sheet


def tell(form: Form, sheet: Sheet, fault: WoodrefError) -> None:
    """Put the faults of a layup at their fields, or all of them at the file that was pasted."""
    several = isinstance(fault, BadLayup) and bool(fault.candidates)
    parts = [BadLayup(c.says, where=c.name) for c in fault.candidates] if several else [fault]
    form.faults.append(fault)
    for part in parts:
        line = re.fullmatch(r".*:(\d+)", part.where or "")
        number = int(line[1]) if line else 0
        if sheet.lines is None:
            _say(form, "paste", part, f"Line {number}" if line else None)
            continue
        name = _field_of(sheet, number, part)
        _say(form, name, part, _place(name))
        if not several:
            form.meant[name] = [_again(form, name, c) for c in part.candidates]


def _say(form: Form, name: str, fault: WoodrefError, where: str | None) -> None:
    """A fault at a field, after those that stand there. where: the part of the form, for the file's line."""
    said = form.words.sentence(BadLayup(fault.message, where, fault.expected, fault.next))
    before = form.ask.wrong.get(name)
    form.ask.wrong[name] = f"{before} {said}" if before else said


def _again(form: Form, name: str, meant: Candidate) -> dict[str, str]:
    href = form.ask.link(**{name: meant.id or meant.name})
    return {"name": meant.name, "says": meant.says, "href": f"{href}#answer"}


def _field_of(sheet: Sheet, line: int, fault: WoodrefError) -> str:
    assert sheet.lines is not None
    journey = re.match(r"journey: (from|to|form|origin)\b", fault.message)
    if journey:
        own = [n for n in sheet.held if n.endswith("_origin") and f'"{sheet.held[n]}"' in fault.message]
        return own[0] if journey[1] == "origin" and own else f"journey_{journey[1]}"
    return sheet.lines.field_at(line, fault.message)


def _place(name: str) -> str:
    """'Ply 2', 'Press': the part of the form that a field stands in."""
    row = ROW.fullmatch(name)
    if row:
        words = {"ply": "Ply", "line": "Glue line", "leaf": "Leaves, row"}
        return f"{words[row[1]]} {row[2]}"
    return BY_KEY[name.split("_")[0] if name not in ("title", "use") else ""].heading
