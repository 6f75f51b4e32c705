"""The map of a list of the user's own: what each column of the CSV means, in YAML, read strictly."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from woodref.catalogue.owncell import MARKS, PER, Writing, unit_of
from woodref.catalogue.ownfaults import Faults, near
from woodref.catalogue.ownrow import LIST_ID, LONGEST_ID
from woodref.catalogue.yamlload import composed, line_in, load
from woodref.errors import WoodrefError, echo
from woodref.units import date

T = TypeVar("T")
KEYS = ("list", "title", "source", "separator", "decimal", "thousands", "empty", "columns", "leave-out")
SOURCE_KEYS = ("title", "licence", "date", "got")
COLUMN_KEYS = ("name", "botanical", "density", "stiffness", "price", "thickness", "cut", "note")
FIGURE_KEYS = ("column", "unit", "moisture", "evidence")
PRICE_KEYS = ("column", "currency", "per")
SIZE_KEYS = ("column", "unit")
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
#: at which moisture a figure was taken, in the words of a map
MOISTURES = ("green", "air-dry", "oven-dry", "not-stated")
BASIC = "basic"
#: by what evidence the list has a figure; usual: it was read in the list
EVIDENCE = ("quoted", "recalled", "common-practice")


@dataclass(frozen=True)
class Source:
    """Where a list is from. date: the day it speaks of; got: how it came into the shop."""

    title: str
    licence: str
    date: dt.date
    got: str


@dataclass(frozen=True)
class FigureColumn:
    """A column of figures of one property, all in one unit and condition."""

    column: str
    property: str
    unit: str
    condition: dict[str, Any]
    evidence: str


@dataclass(frozen=True)
class PriceColumn:
    """A column of prices. per: one of PER for the whole column, or None where per_column names it a row."""

    column: str
    currency: str
    per: str | None
    per_column: str | None = None


@dataclass(frozen=True)
class ListMap:
    """A whole map. separator None: found from the head line."""

    list_id: str
    title: str
    source: Source
    name: str | None
    botanical: str | None
    figures: tuple[FigureColumn, ...] = ()
    price: PriceColumn | None = None
    thickness: tuple[str, str] | None = None
    cut: str | None = None
    notes: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    separator: str | None = None
    writing: Writing = field(default_factory=Writing)
    empty: frozenset[str] = frozenset()

    @property
    def columns(self) -> tuple[str, ...]:
        """Every column that the map takes."""
        single = (
            self.name, self.botanical, *(f.column for f in self.figures),
            self.price.column if self.price else None, self.price.per_column if self.price else None,
            self.thickness[0] if self.thickness else None, self.cut,
        )  # fmt: skip
        return (*(column for column in single if column is not None), *self.notes)


class _Reader:
    """Keys of one file, each fault with its line."""

    def __init__(self, file: str, body: bytes) -> None:
        self.file, self.faults = file, Faults(file)
        self._nodes = composed(body)

    def wrong(self, path: tuple[str | int, ...], says: str, expected: str | None = None) -> None:
        self.faults.add(f"{self.file}:{line_in(self._nodes, path)}", says, expected)

    def block(self, value: Any, path: tuple[str | int, ...], keys: tuple[str, ...]) -> dict[str, Any]:
        """A mapping of known keys; {} when it is none."""
        if not isinstance(value, dict):
            what = str(path[-1]) if path else "the map"
            self.wrong(path, f"{what} is no mapping", f"keys: {', '.join(keys)}")
            return {}
        for key in value:
            if key not in keys:
                self.wrong((*path, key), f"{echo(key)} is not known here{near(key, keys)}", ", ".join(keys))
        return {key: value[key] for key in keys if value.get(key) is not None}

    def text(self, block: dict[str, Any], path: tuple[str | int, ...], key: str, example: str) -> str:
        """Words that must be there; '' after a fault."""
        value = block.get(key)
        if value is None:
            self.wrong(path, f"{key} is missing", f"such as {key}: {example}")
        elif not isinstance(value, str):
            self.wrong((*path, key), f"{key} is no text", f"such as {key}: {example}")
        elif not value.strip() or len(value) > 300 or not value.isprintable():
            self.wrong((*path, key), f"{key} is not a line of words", f"such as {key}: {example}")
        else:
            return " ".join(value.split())
        return ""

    def word(
        self, block: dict[str, Any], path: tuple[str | int, ...], key: str, known: tuple[str, ...], usual: str
    ) -> str:
        """One of the known words; the usual one where the key is absent or wrong."""
        value = block.get(key, usual)
        if not isinstance(value, str) or value not in known:
            told = near(str(value), known)
            self.wrong((*path, key), f"{key} {echo(str(value))} is not known{told}", ", ".join(known))
            return usual
        return value

    def names(self, value: Any, path: tuple[str | int, ...]) -> tuple[str, ...]:
        """One or more names of columns."""
        out = []
        for index, name in enumerate(value if isinstance(value, list) else [value]):
            place = (*path, index) if isinstance(value, list) else path
            if isinstance(name, str) and name.strip():
                out.append(" ".join(name.split()))
            else:
                self.wrong(place, f"{echo(str(name))} is no name of a column", "its words in the head line, "
                           "in quotes if they are a number")  # fmt: skip
        return tuple(out)

    def column(self, block: dict[str, Any], path: tuple[str | int, ...]) -> str:
        """The column a block speaks of; '' after a fault."""
        value = block.get("column")
        if value is None or isinstance(value, list):
            self.wrong(path, "column is missing" if value is None else "column is a list", "column: NAME")
            return ""
        return (self.names(value, (*path, "column")) or ("",))[0]

    def tried(self, path: tuple[str | int, ...], work: Callable[[], T], instead: T) -> T:
        try:
            return work()
        except WoodrefError as fault:
            self.wrong(path, fault.message, fault.expected)
        return instead


def read_map(body: bytes, file: str) -> ListMap:
    """A map from its bytes. BadList tells every fault with file and line."""
    value, found = load(body, file)
    read = _Reader(file, body)
    for fault in found:
        read.faults.add(f"{file}:{fault.line}", fault.says)
    read.faults.settle()
    top = read.block(value, (), KEYS)
    list_id = read.text(top, (), "list", "harrow-veneers")
    if list_id and (not LIST_ID.fullmatch(list_id) or len(list_id) > LONGEST_ID):
        read.wrong(
            ("list",), f"{echo(list_id)} is no id of a list",
            f"small letters, digits and hyphens, at most {LONGEST_ID}: harrow-veneers",
        )  # fmt: skip
    if "columns" not in top:
        read.wrong((), "columns is missing", f"columns: with one or more of {', '.join(COLUMN_KEYS)}")
    columns = read.block(top["columns"], ("columns",), COLUMN_KEYS) if "columns" in top else {}
    plain = {key: _plain(read, columns, key) for key in ("name", "botanical", "cut")}
    if "columns" in top and plain["name"] is None and plain["botanical"] is None:
        read.wrong(("columns",), "no column of names", "name: COLUMN, or botanical: COLUMN, or both")
    size = columns.get("thickness")
    out = ListMap(
        list_id,
        read.text(top, (), "title", "Veneers of the Harrowmere yard"),
        _source(read, top.get("source")),
        plain["name"],
        plain["botanical"],
        _figures(read, columns),
        _price(read, columns["price"]) if "price" in columns else None,
        None if size is None else _size(read, size),
        plain["cut"],
        read.names(columns["note"], ("columns", "note")) if "note" in columns else (),
        read.names(top["leave-out"], ("leave-out",)) if "leave-out" in top else (),
        SEPARATORS[read.word(top, (), "separator", tuple(SEPARATORS), "comma")] if "separator" in top
        else None,
        _writing(read, top),
        frozenset(read.names(top["empty"], ("empty",))) if "empty" in top else frozenset(),
    )  # fmt: skip
    _once(read, out)
    read.faults.settle()
    return out


def _plain(read: _Reader, columns: dict[str, Any], key: str) -> str | None:
    if key not in columns:
        return None
    if not isinstance(columns[key], str | int | float):
        read.wrong(("columns", key), f"{key} is no name of a column", f"{key}: COLUMN")
        return None
    return (read.names(columns[key], ("columns", key)) or (None,))[0]


def _source(read: _Reader, value: Any) -> Source:
    block = read.block(value, ("source",), SOURCE_KEYS) if value is not None else {}
    if value is None:
        read.wrong((), "source is missing", f"source: with {', '.join(SOURCE_KEYS)}")
        return Source("", "", dt.date.min, "")
    told = {
        key: read.text(block, ("source",), key, example)
        for key, example in (
            ("title", "Price list of spring"), ("licence", "not stated"), ("date", '"2026-03-01"'),
            ("got", "handed over at the counter"),
        )
    }  # fmt: skip
    day = dt.date.min
    if told["date"]:
        day = read.tried(("source", "date"), lambda: date(told["date"]), day)
    return Source(told["title"], told["licence"], day, told["got"])


def _writing(read: _Reader, top: dict[str, Any]) -> Writing:
    decimal = MARKS[read.word(top, (), "decimal", ("point", "comma"), "point")]
    if "thousands" not in top:
        return Writing(decimal)
    thousands = MARKS[read.word(top, (), "thousands", tuple(MARKS), "space")]
    if thousands == decimal:
        read.wrong(("thousands",), "decimal and thousands are one mark", "two marks, or no thousands")
    return Writing(decimal, thousands)


def _figures(read: _Reader, columns: dict[str, Any]) -> tuple[FigureColumn, ...]:
    out = []
    for key, kind in (("density", "density"), ("stiffness", "stress")):
        if key not in columns:
            continue
        path = ("columns", key)
        block = read.block(columns[key], path, FIGURE_KEYS)
        column = read.column(block, path) if block else ""
        unit = read.text(block, path, "unit", "kg/m3" if key == "density" else "GPa") if block else ""
        if unit:
            unit = read.tried((*path, "unit"), lambda u=unit, k=kind: unit_of(u, k), "")  # type: ignore[misc]
        name, condition = _moisture(read, block, path, key) if block else ("", {})
        evidence = read.word(block, path, "evidence", EVIDENCE, "quoted")
        if column and unit and name:
            out.append(FigureColumn(column, name, unit, condition, evidence))
    return tuple(out)


def _moisture(
    read: _Reader, block: dict[str, Any], path: tuple[str, ...], key: str
) -> tuple[str, dict[str, Any]]:
    """The property and the condition that a word or number of the map stands for; ('', {}) after a fault."""
    value = block.get("moisture")
    words = (*MOISTURES, BASIC) if key == "density" else MOISTURES
    expected = f"a number of percent such as 12, or one of {', '.join(words)}"
    if value is None:
        read.wrong(path, "moisture is missing: without it a figure compares with nothing", expected)
        return "", {}
    if value == BASIC and key == "density":
        return "basic_density", {"mass": "oven-dry", "volume": "green"}
    name = "density" if key == "density" else "moe"
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 100:
        return name, {"mc": float(value)}
    if isinstance(value, str) and value in MOISTURES:
        return name, {"mc": value}
    told = near(str(value), words)
    read.wrong((*path, "moisture"), f"moisture {echo(str(value))} is not known{told}", expected)
    return "", {}


def _price(read: _Reader, value: Any) -> PriceColumn | None:
    path = ("columns", "price")
    block = read.block(value, path, PRICE_KEYS)
    if not block:
        return None
    column, currency = read.column(block, path), read.text(block, path, "currency", "EUR")
    if currency and not re.fullmatch(r"[A-Z]{3}", currency):
        read.wrong((*path, "currency"), f"{echo(currency)} is no code of a currency", "three capitals: EUR")
    per = block.get("per")
    if isinstance(per, dict):
        held = read.block(per, (*path, "per"), ("column",))
        return PriceColumn(column, currency, None, read.column(held, (*path, "per")))
    if per is None:
        read.wrong(path, "per is missing", f"per: one of {', '.join(PER)}, or per: {{column: NAME}}")
    return PriceColumn(column, currency, read.word(block, path, "per", PER, "m2"))


def _size(read: _Reader, value: Any) -> tuple[str, str] | None:
    path = ("columns", "thickness")
    block = read.block(value, path, SIZE_KEYS)
    if not block:
        return None
    column, unit = read.column(block, path), read.text(block, path, "unit", "mm")
    if unit:
        unit = read.tried((*path, "unit"), lambda: unit_of(unit, "length"), "")
    return column, unit


def _once(read: _Reader, made: ListMap) -> None:
    """Every column stands for one thing."""
    seen: set[str] = set()
    for column in (*made.columns, *made.left_out):
        if column and column in seen:
            read.wrong(("columns",), f"the column {echo(column)} is named twice", "each column once")
        seen.add(column)
