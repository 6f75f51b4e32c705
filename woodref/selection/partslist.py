"""A parts list: one substitution a line, one table out."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import BadRequest, WoodrefError, echo
from woodref.files import bytes_of
from woodref.selection.answer import Answer
from woodref.selection.roles import ROLES

COLUMNS = ("part", "wood", "role")
MOST = 500
#: a list larger than this is refused unread [bytes]
MAX_BYTES = 1_000_000


@dataclass(frozen=True)
class Part:
    """One line of the list: line in the file, the part's own name, the wood, the role."""

    line: int
    part: str
    wood: str
    role: str


@dataclass(frozen=True)
class Choice:
    """What the list answers for one part; said is the sentence where nothing is ranked or it failed."""

    part: Part
    answer: Answer | None
    said: str

    def as_dict(self) -> dict[str, Any]:
        rows = self.answer.ranked if self.answer else []
        first = rows[0] if rows else None
        return {
            "line": self.part.line,
            "part": self.part.part,
            "wood": self.part.wood,
            "role": self.part.role,
            "id": first.material.id if first else None,
            "name": first.material.name if first else None,
            "likeness": round(first.found.likeness, 4) if first else None,
            "then": [row.material.name for row in rows[1:3]],
            "said": self.said,
        }


def read(path: Path, text: str | None = None) -> list[Part]:
    """Read a CSV with the columns part, wood, role (role may be empty: face). BadRequest names the line."""
    if text is None:
        try:
            body = bytes_of(path, MAX_BYTES, BadRequest, "Ask in parts.")
            text = body.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise BadRequest(
                f"{echo(str(path))} is not UTF-8 text", next="Save it as CSV in UTF-8."
            ) from None
    elif len(text) > MAX_BYTES:
        raise BadRequest(f"the list is larger than {MAX_BYTES:,} bytes", next="Ask in parts.")
    try:
        reader = csv.reader(io.StringIO(text))
        numbered = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise BadRequest(f"{echo(str(path))} is no CSV: {error}", next="Save it as CSV again.") from None
    rows = [row for _, row in numbered]
    head = [cell.strip().lower() for cell in rows[0]] if rows else []
    if "wood" not in head or not set(head) <= set(COLUMNS):
        raise BadRequest(
            f"the first line of {echo(str(path))} is {echo(','.join(head))}",
            expected="a line of column names: part,wood,role (part and role may be absent)",
        )
    parts = []
    for line, row in numbered[1:]:
        if not any(cell.strip() for cell in row):
            continue
        cells = dict(zip(head, (cell.strip() for cell in row), strict=False))
        wood, role = cells.get("wood", ""), cells.get("role") or "face"
        if not wood:
            raise BadRequest("the wood is missing", where=f"{path}:{line}", expected="the name of a wood")
        if role not in ROLES:
            raise BadRequest(f"{echo(role)} is not a role", where=f"{path}:{line}", expected=", ".join(ROLES))
        parts.append(Part(line, cells.get("part") or f"line {line}", wood, role))
    if not parts:
        raise BadRequest(f"{echo(str(path))} names no part", expected="a wood on every line after the first")
    if len(parts) > MOST:
        raise BadRequest(f"{len(parts)} parts in {echo(str(path))}", expected=f"at most {MOST}")
    return parts


def choose(parts: list[Part], ask: Callable[[Part], Answer]) -> list[Choice]:
    """Answer every part; a fault of one line is told in its row and stops none of the others."""
    out = []
    for part in parts:
        try:
            answer = ask(part)
        except WoodrefError as fault:
            out.append(Choice(part, None, fault.message))
            continue
        first = answer.ranked[0].reasons if answer.ranked else ()
        out.append(Choice(part, answer, first[0] if first else answer.opening[-1]))
    return out
