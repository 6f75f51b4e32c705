"""CSV of the table pages made safe while it passes: no cell that a spreadsheet would take for a formula."""

from __future__ import annotations

import csv
import io
import re

from woodref.catalogue.export import safe

#: a number as the tables print it, which may begin with a minus
NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")

#: a question in SQL may answer with a cell as long as it likes
LONGEST = 2**31 - 1


class Passing:
    """Bytes of a CSV in, bytes of the same CSV with safe cells out; rows are held until they are whole."""

    def __init__(self) -> None:
        self._held = b""

    def feed(self, part: bytes, last: bool = False) -> bytes:
        """What can be sent on now. last: nothing follows."""
        self._held += part
        cut = len(self._held) if last else _whole(self._held)
        ready, self._held = self._held[:cut], self._held[cut:]
        return safe_rows(ready.decode("utf-8")).encode() if ready else b""


def _whole(held: bytes) -> int:
    """How many bytes are whole rows: up to the last line end that stands outside quotes."""
    end = len(held)
    while (end := held.rfind(b"\n", 0, end)) >= 0:
        # an even number of quotes before it: no quoted cell is open
        if held.count(b'"', 0, end) % 2 == 0:
            return end + 1
    return 0


def safe_rows(text: str) -> str:
    """Whole rows of CSV with safe cells, in the form they had."""
    out = io.StringIO()
    writer = csv.writer(out)
    # the limit is that of the whole process, and others rely on the usual one
    usual = csv.field_size_limit(LONGEST)
    try:
        for row in csv.reader(io.StringIO(text, newline="")):
            writer.writerow([cell if NUMBER.fullmatch(cell) else safe(cell) for cell in row])
    finally:
        csv.field_size_limit(usual)
    return out.getvalue()
