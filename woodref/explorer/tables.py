"""The tables of the catalogue as Datasette shows them: which, what each column means, how many rows."""

from __future__ import annotations

from functools import cache
from pathlib import Path

#: name under which the catalogue's tables are served
DATABASE = "catalogue"
_here: dict[str, Path] = {}


def served(path: Path) -> None:
    """Remember which file is served, for questions about its columns."""
    _here["path"] = path
    columns_of.cache_clear()


@cache
def columns_of(table: str) -> frozenset[str] | None:
    """Columns of a table or view; None when there is none of that name."""
    import sqlite3

    if "path" not in _here:
        return None
    connection = sqlite3.connect(f"file:{_here['path']}?mode=ro", uri=True)
    try:
        rows = connection.execute("SELECT name FROM pragma_table_info(?)", (table,)).fetchall()
    finally:
        connection.close()
    return frozenset(name for (name,) in rows) or None
