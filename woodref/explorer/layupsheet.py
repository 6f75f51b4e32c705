"""A layup as a page holds it: its fields, its file, and which line is which field."""

from __future__ import annotations

from dataclasses import dataclass, field

from woodref.explorer.layupfields import last_row
from woodref.explorer.layupwriting import Written

FILE = "layup.yaml"


@dataclass
class Sheet:
    """held: filled fields, rows numbered from 1. body: the file, None where there is nothing to check yet;
    lines: which line is which field, None for a file that was pasted or is the workshop's."""

    held: dict[str, str] = field(default_factory=dict)
    body: str | None = None
    file: str = FILE
    lines: Written | None = None
    #: blank rows of plies after those that are filled
    blank: int = 0
    #: a sentence on where the pack is from
    begun: str = ""

    @property
    def plies(self) -> int:
        """Rows of plies that are filled."""
        return last_row(self.held, "ply")
