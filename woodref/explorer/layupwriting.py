"""A layup form written as a layup file, and which line of it is which field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from woodref.explorer.layupfields import BY_KEY, FILE_ORDER, ROWS, Field, last_row

#: a number without a unit, as a person types it
_BARE = re.compile(r"[-+\u2212]?[0-9][0-9.,]*")
#: a number as the file has it
_NUMBER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
#: text that needs no quotes: words, and amounts with their unit
_PLAIN = re.compile(r"[A-Za-z][A-Za-z -]*[A-Za-z]|[0-9]+(?:\.[0-9]+)? [A-Za-z%][A-Za-z0-9/%]*")
_RESERVED = {"y", "n", "yes", "no", "on", "off", "true", "false", "null"}


@dataclass
class Written:
    """text: the file. lines: number of a line -> field that it comes from; parts: -> beginning of the names
    of the fields around it."""

    text: str = ""
    lines: dict[int, str] = field(default_factory=dict)
    parts: dict[int, str] = field(default_factory=dict)
    _said: list[str] = field(default_factory=list)

    def add(self, text: str, name: str, part: str) -> None:
        self._said.append(text)
        self.lines[len(self._said)], self.parts[len(self._said)] = name, part

    def done(self) -> Written:
        self.text = "".join(f"{line}\n" for line in self._said)
        return self

    def field_at(self, line: int, says: str) -> str:
        """The field of a fault: the key it begins with, where the part of that line has one; else the
        line's."""
        part = self.parts.get(line, "")
        keys = _KEYS.get(re.sub(r"(?:_[0-9]+)?_$", "", part), [])
        word = re.match(r"[a-z_]+", says)
        if word and word[0] in keys:
            return f"{part}{word[0]}"
        if self.lines.get(line) == "":  # of a section as a whole: the key it speaks of, else the first
            named = [key for key in keys if re.search(rf"\b{key}\b", says)]
            return f"{part}{(named or keys)[0]}"
        return self.lines.get(line, "ply_1_material")


#: beginning of names, without the number of a row -> the keys that follow it
_KEYS = {
    **{key: [f.key for f in section.fields] for key, section in BY_KEY.items()},
    **{name: [f.key for f in fields] for name, (_, fields) in ROWS.items()},
}


def written(held: Mapping[str, str]) -> Written:
    """The file that a form's fields make. held: filled fields alone, rows numbered from 1."""
    out = Written()
    for key in FILE_ORDER:
        if key == "leaves":
            _rows(out, held, "leaf", "leaves:", "")
            continue
        section = BY_KEY[key]
        if key == "":
            _fields(out, held, "", section.fields[:1], "")
            out.add(
                "# From the show face inward; grain in degrees from the panel's length.",
                "ply_1_material",
                "ply_1_",
            )
            _rows(out, held, "ply", "plies:", "")
            continue
        lines = key == "glue" and last_row(held, "line")
        if lines or any(section.name(f) in held for f in section.fields):
            out.add(f"{key}:", "", f"{key}_")
            _fields(out, held, f"{key}_", section.fields, "  ")
        if lines:
            # a line that says nothing of its own is written too: a file has one for each pair of plies
            _rows(out, held, "line", "lines:", "  ", last_row(held, "ply") - 1)
        if key == "finish":
            _fields(out, held, "", BY_KEY[""].fields[1:], "")
    return out.done()


def _rows(out: Written, held: Mapping[str, str], row: str, head: str, indent: str, least: int = 0) -> None:
    total = max(last_row(held, row), least)
    if not total:
        return
    fields = ROWS[row][1]
    out.add(f"{indent}{head}", f"{row}_1_{fields[0].key}", f"{row}_1_")
    for number in range(1, total + 1):
        part, mark = f"{row}_{number}_", f"{indent}  - "
        filled = [f for f in fields if part + f.key in held]
        if not filled:
            out.add(f"{mark}{{}}", part + fields[0].key, part)
        for f in filled:
            # what is wrong with a row as a whole is told at its first line, and stands at its first field
            of = fields[0] if f is filled[0] else f
            out.add(f"{mark}{f.key}: {_value(f, held[part + f.key])}", part + of.key, part)
            mark = f"{indent}    "


def _fields(out: Written, held: Mapping[str, str], part: str, fields: Sequence[Field], indent: str) -> None:
    for f in fields:
        if part + f.key in held:
            out.add(f"{indent}{f.key}: {_value(f, held[part + f.key])}", part + f.key, part)


def _value(f: Field, text: str) -> str:
    """A field's text as the file has it: a bare number with the field's unit, numbers bare, the rest as
    text."""
    if f.kind == "tick":
        return "yes"
    if f.kind in ("amount", "warmth") and _BARE.fullmatch(text):
        text = f"{text} {f.unit}"
    elif f.kind == "number":
        dotted = text.replace(",", ".") if re.fullmatch(r"[-+]?[0-9]+,[0-9]+", text) else text
        if _NUMBER.fullmatch(dotted):
            return dotted
    return text if _PLAIN.fullmatch(text) and text.casefold() not in _RESERVED else quoted(text)


def quoted(text: str) -> str:
    """Text in double quotes, with everything escaped that YAML does not take as it is."""
    out = []
    for c in text:
        code = ord(c)
        if c in '"\\':
            out.append(f"\\{c}")
        elif (
            " " <= c <= "~"
            or (0xA0 <= code < 0xD800 and code not in (0x2028, 0x2029))
            or 0xE000 <= code < 0xFEFF
        ) or code > 0xFFFF:
            out.append(c)
        else:
            out.append(f"\\u{code:04X}")
    return f'"{"".join(out)}"'
