"""The rows of a list of the user's own, read from CSV by its map: all of it or nothing, each fault with
line and column."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from woodref.catalogue.fold import fold
from woodref.catalogue.owncell import PER, band, length, price, tidy, written
from woodref.catalogue.ownfaults import Faults, near
from woodref.catalogue.ownmap import SEPARATORS, ListMap
from woodref.catalogue.ownrow import OwnFigure, OwnPrice, OwnRow
from woodref.catalogue.properties import PROPERTIES
from woodref.errors import BadList, WoodrefError, echo

#: a file larger than this is refused unread [bytes], and so is one of more rows
MAX_BYTES, MOST_ROWS = 20_000_000, 100_000
#: signs of a cell beyond which the reader of CSV gives up: a quote that is never closed
_RUNAWAY = 100_000
#: signs of one row at the most (five hundred full cells), and ends of lines in a file
_LONGEST_ROW, _MOST_LINES = 1_000_000, 1_000_000
_LONGEST_SLUG = 60


@dataclass
class Taken:
    """What was read: rows, and of rows with a fault what was left out."""

    rows: list[OwnRow] = field(default_factory=list)
    faults: Faults = field(default_factory=lambda: Faults(""))
    #: rows with a fault
    faulty: int = 0


def take(body: bytes, file: str, by: ListMap) -> Taken:
    """Every row of a CSV by its map. BadList when the file as a whole cannot be read, or its head does not
    fit the map; faults of single rows are gathered in the answer."""
    text = _text(body, file)
    head, records = _records(text, file, by)
    places = _places(head, file, by)
    taken = Taken(faults=Faults(file))
    for line, cells in records:
        if not any(cell.strip() for cell in cells):
            continue
        before = taken.faults.count
        row = _Row(file, line, cells, head, places, taken.faults, by).read()
        if taken.faults.count > before:
            taken.faulty += 1
        elif row is not None:
            taken.rows.append(row)
        if len(taken.rows) + taken.faulty > MOST_ROWS:
            raise BadList(f"{file} has more than {MOST_ROWS:,} rows", next="Bring it in as several lists.")
    if not taken.rows and not taken.faulty:
        raise BadList(f"{file} has no row below its head line")
    taken.rows = _named(taken.rows)
    return taken


def _text(body: bytes, file: str) -> str:
    if b"\0" in body:
        line = body.count(b"\n", 0, body.index(b"\0")) + 1
        raise BadList(
            "a sign of no text (NUL) stands here", where=f"{file}:{line}", next="Save it as CSV in UTF-8."
        )
    if body.count(b"\n") + body.count(b"\r") > _MOST_LINES:
        raise BadList(f"{file} has more than {_MOST_LINES:,} lines", next="Bring it in as several lists.")
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = body.count(b"\n", 0, fault.start) + 1
        raise BadList(
            "this is no UTF-8 text", where=f"{file}:{line}", next="Save it as CSV in UTF-8."
        ) from None


def _records(text: str, file: str, by: ListMap) -> tuple[list[str], Iterator[tuple[int, list[str]]]]:
    """The names of the columns, and the records below with the line where each begins."""
    first = re.split(r"\r|\n", text[: _LONGEST_ROW + 1], maxsplit=1)[0]
    separator = by.separator or _separator(first, file, by)
    line, held = 1, 0

    def lines() -> Iterator[str]:
        nonlocal held
        for one in io.StringIO(text, newline=""):
            held += len(one)
            if held > _LONGEST_ROW:
                raise csv.Error(f"a row of more than {_LONGEST_ROW:,} signs")
            yield one

    def each() -> Iterator[tuple[int, list[str]]]:
        nonlocal line, held
        before = csv.field_size_limit(_RUNAWAY)
        reader = csv.reader(lines(), delimiter=separator, strict=True)
        try:
            for cells in reader:
                yield line, cells
                line, held = reader.line_num + 1, 0
        except csv.Error as fault:
            raise BadList(
                f"this is no CSV ({fault})", where=f"{file}:{line}",
                next="Look for a quote that is opened and never closed.",
            ) from None  # fmt: skip
        finally:
            csv.field_size_limit(before)

    records = each()
    head = [" ".join(cell.split()) for cell in next(records, (1, []))[1]]
    return head, records


def _separator(first: str, file: str, by: ListMap) -> str:
    """The one mark that parts the head line into the columns that the map names."""
    wanted = {*by.columns, *by.left_out}
    found = {}
    for word, mark in SEPARATORS.items():
        try:
            cells = next(csv.reader([first], delimiter=mark), [])
        except csv.Error:
            cells = []
        found[word] = len(wanted & {" ".join(cell.split()) for cell in cells})
    best = max(found.values())
    if not best:
        raise BadList(
            f"no column that the map names stands in the head line {echo(first)}", where=f"{file}:1",
            expected=", ".join(by.columns),
        )  # fmt: skip
    fitting = [word for word, count in found.items() if count == best]
    if len(fitting) > 1 and len(wanted) > 1:
        raise BadList(
            "what parts the columns cannot be told", where=f"{file}:1",
            next=f"Say it in the map: separator: {' or '.join(fitting)}",
        )  # fmt: skip
    return SEPARATORS[fitting[0]]


def _places(head: list[str], file: str, by: ListMap) -> dict[str, int]:
    """Where each column of the map stands. Every column of the file is mapped or named as left out."""
    faults, places = Faults(file), {}
    for index, name in enumerate(head):
        if name in places:
            faults.add(f"{file}:1", f"two columns are called {echo(name)}", "a name of its own for each")
        if name:
            places[name] = index
    named = {*by.columns, *by.left_out}
    for name in (*by.columns, *by.left_out):
        if name not in places:
            unclaimed = [other for other in places if other not in named]
            faults.add(f"{file}:1", f"no column {echo(name)}, which the map names{near(name, unclaimed)}")
    for name in places:
        if name not in named:
            faults.add(
                f"{file}:1", f"the column {echo(name)} is neither mapped nor left out",
                "one of the columns of the map, or a line below leave-out",
            )  # fmt: skip
    faults.settle("Mend the map:" if faults.count > 1 else None)
    return places


@dataclass
class _Row:
    """One record while it is read."""

    file: str
    line: int
    cells: list[str]
    head: list[str]
    places: dict[str, int]
    faults: Faults
    by: ListMap

    def wrong(self, column: str, fault: WoodrefError) -> None:
        self.faults.add(f"{self.file}:{self.line}, column {echo(column)}", fault.message, fault.expected)

    def cell(self, column: str | None) -> str:
        """A cell tidied; '' where it is empty, or a word that the map takes for empty."""
        if column is None:
            return ""
        try:
            text = tidy(self.cells[self.places[column]])
        except WoodrefError as fault:
            self.wrong(column, fault)
            return ""
        return "" if text in self.by.empty else text

    def read(self) -> OwnRow | None:
        """The row, or None when it is not as long as the head."""
        spare = [place for place, name in enumerate(self.head) if not name]
        beyond = self.cells[len(self.head) :] + [self.cells[p] for p in spare if p < len(self.cells)]
        if any(cell.strip() for cell in beyond) or len(self.cells) < len(self.head):
            told = f"{len(self.cells)} cell{'' if len(self.cells) == 1 else 's'}"
            self.faults.add(
                f"{self.file}:{self.line}", f"{told} where the head line names {len(self.places)} columns",
                "a cell for each column; quotes about a cell that holds the separator",
            )  # fmt: skip
            return None
        by = self.by
        name, botanical = self.cell(by.name), self.cell(by.botanical)
        if not name and not botanical:
            where = f"{self.file}:{self.line}, column {echo(by.name or by.botanical or '')}"
            self.faults.add(where, "the row has no name", "a trade name or a botanical name")
        size = self._thickness()
        return OwnRow(
            by.list_id, "", self.line, name or None, botanical or None, tuple(self._figures()),
            self._price(), size, self.cell(by.cut) or None,
            tuple((column, text) for column in by.notes if (text := self.cell(column))),
        )  # fmt: skip

    def _figures(self) -> Iterator[OwnFigure]:
        for column in self.by.figures:
            text, prop = self.cell(column.column), PROPERTIES[column.property]
            if not text:
                continue
            try:
                found = band(text, self.by.writing, column.unit, prop.unit)
            except WoodrefError as fault:
                self.wrong(column.column, fault)
                continue
            ends = [end for end in (found.value, found.low, found.high) if end is not None]
            if not all(prop.low <= end <= prop.high for end in ends):
                self.faults.add(
                    f"{self.file}:{self.line}, column {echo(column.column)}",
                    f"{echo(text)} in {column.unit} is no {prop.asks} that wood has",
                    f"{prop.low:g} to {prop.high:g} {prop.unit}; look at the unit in the map",
                )
                continue
            value, low, high = (
                None if end is None else written(end) for end in (found.value, found.low, found.high)
            )
            printed = text if re.search(r"[^\W\d_]|/", text) else f"{text} {column.unit}"
            yield OwnFigure(column.property, value, low, high, column.condition, column.evidence, printed)

    def _price(self) -> OwnPrice | None:
        column = self.by.price
        if column is None:
            return None
        text, per = self.cell(column.column), column.per or self.cell(column.per_column)
        if not text:
            return None
        if per not in PER:
            self.faults.add(
                f"{self.file}:{self.line}, column {echo(column.per_column or '')}",
                f"{echo(per)} is nothing that a price is for", ", ".join(PER),
            )  # fmt: skip
            return None
        try:
            return OwnPrice(f"{price(text, self.by.writing, column.currency):f}", column.currency, per)
        except WoodrefError as fault:
            self.wrong(column.column, fault)
        return None

    def _thickness(self) -> str | None:
        if self.by.thickness is None:
            return None
        column, unit = self.by.thickness
        text = self.cell(column)
        if not text:
            return None
        try:
            return written(length(text, self.by.writing, unit))
        except WoodrefError as fault:
            self.wrong(column, fault)
        return None


def _slug(row: OwnRow, more: bool) -> str:
    """'american-walnut', and where several rows are called so 'american-walnut-0-6-mm-crown'."""
    parts = [row.called]
    if more:
        parts += [f"{row.thickness} mm" if row.thickness else "", row.cut or ""]
    plain = re.sub(r"[^a-z0-9]+", "-", fold(" ".join(parts))).strip("-")
    return plain[:_LONGEST_SLUG].strip("-") or f"line-{row.line}"


def _named(rows: list[OwnRow]) -> list[OwnRow]:
    """The rows with slugs of their own: by name, then thickness and cut, then a number in order."""
    times: dict[str, int] = {}
    for row in rows:
        bare = _slug(row, False)
        times[bare] = times.get(bare, 0) + 1
    out, used = [], set()
    for row in rows:
        bare = _slug(row, False)
        base = bare if times[bare] == 1 else _slug(row, True)
        slug, number = base, 1
        while slug in used:
            number += 1
            slug = f"{base}-{number}"
        used.add(slug)
        out.append(replace(row, slug=slug))
    return out
