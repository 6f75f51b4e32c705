"""Taking the catalogue elsewhere: CSV, JSON or SQLite, complete, in order, the same bytes each time."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path
from typing import Any

from woodref.catalogue.frames import LONG, long_rows, units_row, wide_rows
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest

FORMATS = ("csv", "json", "sqlite")
#: what spreadsheet programs look for to read UTF-8
MARK = "\ufeff"


def safe(value: Any) -> str:
    """A cell no spreadsheet takes for a formula; lists are joined, nothing is an empty cell."""
    if value is None:
        return ""
    if isinstance(value, (list, tuple)):
        value = "; ".join(str(v) for v in value)
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return f"'{text}" if isinstance(value, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def as_csv(rows: list[dict[str, Any]], columns: list[str], units: dict[str, str] | None = None) -> str:
    """Rows as CSV with a head line and, where given, a line of units."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    if units is not None:
        writer.writerow([units[column] for column in columns])
    writer.writerows([safe(row[column]) for column in columns] for row in rows)
    return out.getvalue()


def export(catalogue: Catalogue, form: str, folder: Path, mark: bool = False) -> list[Path]:
    """Write the catalogue into a folder; returns the files. mark: begin CSV files with the UTF-8 mark.

    csv: materials.csv (wide, second line: units) and figures.csv (long, with sources); json: one file
    with materials, figures and sources; sqlite: a copy of the built catalogue.
    """
    if form not in FORMATS:
        raise BadRequest(f'"{form}" is not a format', expected=", ".join(FORMATS))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _write(catalogue, form, folder, mark)
    except OSError as fault:
        raise BadRequest(f"{folder} cannot be written ({fault.strerror or fault})") from None


def _write(catalogue: Catalogue, form: str, folder: Path, mark: bool) -> list[Path]:
    if form == "sqlite":
        target = folder / "woodref-catalogue.sqlite"
        shutil.copyfile(catalogue.path, target)
        return [target]
    wide, long = wide_rows(catalogue), long_rows(catalogue)
    if form == "json":
        target = folder / "woodref-catalogue.json"
        body = {
            "catalogue": catalogue.stamp,
            "materials": wide,
            "figures": [row | {"condition": json.loads(row["condition"])} for row in long],
            "sources": list(catalogue.sources.values()),
        }
        target.write_text(json.dumps(body, ensure_ascii=False, indent=1) + "\n", "utf-8")
        return [target]
    columns = list(wide[0]) if wide else []
    begin = MARK if mark else ""
    files = {
        "materials.csv": as_csv(wide, columns, units_row(columns)),
        "figures.csv": as_csv(long, list(LONG)),
        "sources.csv": as_csv(list(catalogue.sources.values()), list(next(iter(catalogue.sources.values())))),
    }
    for name, text in files.items():
        (folder / name).write_text(begin + text, "utf-8", newline="")
    return [folder / name for name in files]
