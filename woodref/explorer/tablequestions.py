"""Questions to the table pages, read before they are put: a slip is a sentence, never a fault of the pages'
own. What is not known here is refused, so that nothing asked is passed over."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from urllib.parse import parse_qsl

from woodref.errors import BadRequest, UnknownName, WoodrefError, echo
from woodref.explorer.tables import DATABASE, EXAMPLES, FORMS, columns_of

Pairs = Sequence[tuple[str, str]]
_YES = re.compile(r"on|off|1|0|true|false")
_SIZE = re.compile(r"max|\d{1,6}")
#: words that may follow a column: material_id__exact
TESTS = (
    "exact", "not", "contains", "endswith", "startswith", "gt", "gte", "lt", "lte", "like", "notlike", "glob",
    "in", "notin", "arraycontains", "arraynotcontains", "date", "isnull", "notnull", "isblank", "notblank",
)  # fmt: skip
#: fields of every page that gives rows, with what may stand in them
_ROWS = {
    "_shape": re.compile("arrays|objects|array|object|arrayfirst"), "_nl": _YES, "_size": _SIZE, "_dl": _YES,
    "_header": _YES, "_labels": _YES, "_ttl": re.compile(r"\d{1,6}"),
}  # fmt: skip
_TABLE = {
    **_ROWS,
    "_facet_size": _SIZE,
    "_stream": _YES,
    "_nofacet": _YES,
    "_nocount": _YES,
    "_sort_by_desc": _YES,
}
_COLUMNS = ("_sort", "_sort_desc", "_col", "_nocol", "_facet")
_FILTER = re.compile(r"_filter_(column|op|value)(_\d{1,3})?")
NO_PAGE = "Choose a table at /catalogue."


@dataclass(frozen=True)
class Place:
    """Where a path leads: table and row, None for the page of all tables; form: '' for a page."""

    table: str | None
    row: str | None
    form: str


def place(path: str) -> Place | None:
    """A path below /catalogue taken apart as the table pages do it; None when it leads nowhere."""
    from datasette.utils import tilde_decode

    found = re.fullmatch(rf"/{DATABASE}(?:\.(\w+))?", path)
    if found:
        return Place(None, None, found[1] or "")
    found = re.fullmatch(rf"/{DATABASE}/([^/.]+)(?:\.(\w+))?", path)
    if found:
        return Place(tilde_decode(found[1]), None, found[2] or "")
    found = re.fullmatch(rf"/{DATABASE}/([^/]+?)/([^/]+?)(?:\.(\w+))?", path)
    return Place(tilde_decode(found[1]), found[2], found[3] or "") if found else None


def fault(path: str, query: str) -> WoodrefError | None:
    """What is wrong with a question, None when it can be put. path: as it was sent."""
    if "%" in path or path.rstrip("/") != path:
        return None  # sent on to its plain spelling, and read there
    where = place(path)
    if where is None or not _leads(where):
        return UnknownName("there is no such table or row", next=NO_PAGE)
    pairs = parse_qsl(query, keep_blank_values=True, errors="replace")
    if any("\x00" in name + value for name, value in pairs):
        return BadRequest("a field holds a sign that no table can hold", expected="plain text")
    asked = dict(pairs)
    if where.table is None or where.table in {name for name, *_ in EXAMPLES}:
        if where.form == "csv" and where.table is None and not asked.get("sql"):
            return UnknownName("the page of all tables has no CSV", next=NO_PAGE)
        rows = where.table is not None or bool(asked.get("sql"))
        return _fields(pairs, _ROWS if rows else {}, lambda name, _: not name.startswith("_"))
    if where.row is not None:
        return _fields(
            pairs, {"_labels": _YES, "_shape": re.compile("objects|array|arrays")}, lambda *_: False
        )
    columns = columns_of(where.table) or frozenset()
    if asked.get("_shape") == "object" and where.table in VIEWS:
        return BadRequest("rows of a view have no key to put them under", expected="_shape=objects or array")
    return _fields(pairs, _TABLE, lambda name, value: _of_table(name, value, columns, where.table in VIEWS))


VIEWS = ("material_wide", "figure_full")


def _leads(where: Place) -> bool:
    if where.form not in FORMS or (where.form == "db" and where.table is not None):
        return False
    if where.row is not None and where.form == "csv":
        return False
    if where.table is None or (where.row is None and where.table in {name for name, *_ in EXAMPLES}):
        return True
    return columns_of(where.table) is not None and not (where.row is not None and where.table in VIEWS)


def _fields(
    pairs: Pairs, known: dict[str, re.Pattern[str]], also: Callable[[str, str], bool]
) -> WoodrefError | None:
    for name, value in pairs:
        pattern = known.get(name)
        if pattern is not None:
            # an empty choice of a form says nothing
            if value and not pattern.fullmatch(value):
                return BadRequest(f"{name} cannot be {echo(value)}")
            if not value and name != "_sort_by_desc":
                return BadRequest(f"{name} is empty", next="Leave it out.")
            continue
        try:
            if also(name, value):
                continue
        except WoodrefError as wrong:
            return wrong
        return BadRequest(f"{echo(name)} is no field of this page", next="Leave it out, or mend its name.")
    return None


def _of_table(name: str, value: str, columns: Collection[str], view: bool) -> bool:
    """Whether a field is one of a table's own; BadRequest when its value cannot be read."""
    if name == "_where":
        return True
    if name == "_next":
        if view and not value.isdecimal():
            raise BadRequest(f"_next cannot be {echo(value)}", next="Begin at the first rows.")
        return True
    if name in _COLUMNS or name.startswith("_filter_column"):
        return _column(
            value, columns, may_be_empty=name in ("_sort", "_sort_desc") or name.startswith("_filter")
        )
    filtered = _FILTER.fullmatch(name)
    if filtered:
        if filtered[1] == "op" and value.partition("__")[0] not in ("", *TESTS):
            raise BadRequest(f"{echo(value)} is no test of a column", expected=f"one of {', '.join(TESTS)}")
        return True
    if name.startswith("_"):
        return False
    column, _, test = name.rpartition("__") if "__" in name else (name, "", "exact")
    if test not in TESTS:
        raise BadRequest(f"{echo(test)} is no test of a column", expected=f"one of {', '.join(TESTS)}")
    if test in ("in", "notin") and value.startswith("["):
        _listed(value)
    return _column(column, columns, may_be_empty=False)


def _column(name: str, columns: Collection[str], may_be_empty: bool) -> bool:
    if name in columns or (may_be_empty and not name):
        return True
    raise BadRequest(f"there is no column {echo(name)}", expected=f"one of {', '.join(sorted(columns))}")


def _listed(value: str) -> None:
    try:
        found = json.loads(value)
    except ValueError:
        found = None
    if not isinstance(found, list) or any(isinstance(one, (dict, list)) for one in found):
        raise BadRequest(f"{echo(value)} is no list of values", expected='["one", "two"] or one,two')
