"""The catalogue from its YAML: ours, the bare parse by CSafeLoader, and CSafeLoader with sqlite-utils.

The peer writes the same rows of the same tables with the same indexes; it checks nothing, works no unit out
and draws no view.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections import Counter
from contextlib import closing
from itertools import count
from pathlib import Path
from typing import Any

import yaml
from growing import write_data
from timing import Row, absent, interleaved, missing

from woodref import paths
from woodref.catalogue.build import build_into
from woodref.catalogue.check import load_all
from woodref.catalogue.findings import errors

#: indexes of the peer's tables, as ours have them
INDEXES = {
    "material": ("kind", "botanical_name"),
    "name": ("material_id",),
    "figure": ("material_id", "property", "source_id", "evidence"),
    "swatch": ("material_id",),
    "cut": ("material_id", "cut"),
    "source": (),
}


def parsed(data: Path) -> list[tuple[Path, Any]]:
    """Every file of the catalogue as plain values."""
    return [(path, yaml.load(path.read_bytes(), Loader=yaml.CSafeLoader)) for path in paths.data_files(data)]


def peer_rows(files: list[tuple[Path, Any]]) -> dict[str, list[dict[str, Any]]]:
    """The same records as rows."""
    out: dict[str, list[dict[str, Any]]] = {table: [] for table in INDEXES}
    for path, told in files:
        if path.name == "sources.yaml":
            out["source"] = [
                {"id": s["id"], "title": s.get("title"), "kind": s["kind"]} for s in told["sources"]
            ]
        if path.parent.name not in ("species", "engineered", "modified", "cores"):
            continue
        wood, latin = told["id"], told.get("botanical")
        botanical = latin["name"] if latin else None
        out["material"].append(
            {"id": wood, "kind": told["kind"], "name": told["names"][0]["text"], "botanical_name": botanical}
        )
        names = [wood, *told.get("was", []), *([botanical, *latin.get("synonyms", [])] if latin else [])]
        names += [name["text"] for name in told["names"]]
        out["name"] += [{"material_id": wood, "text": text} for text in names]
        for name, held in (told.get("figures") or {}).items():
            for f in held:
                numbers = {key: f.get(key) for key in ("value", "low", "high", "unit", "printed", "locator")}
                cited = {"source_id": f.get("source"), "evidence": f["evidence"]}
                about = {"condition": str(f.get("condition")), "note": f.get("note")}
                out["figure"].append({"material_id": wood, "property": name, **numbers, **cited, **about})
        out["cut"] += [{"material_id": wood, "cut": cut} for cut in told["veneer"].get("cuts") or []]
        for swatch in told["look"].get("swatches") or []:
            lab = dict(zip(("l_star", "a_star", "b_star"), swatch["lab"], strict=True))
            out["swatch"].append({"material_id": wood, "part": swatch["part"], **lab})
    return out


def rows(runs: int, full: bool) -> list[Row]:
    """The shipped catalogue, and it grown to 5,000 woods."""
    out = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        out += _beside(paths.data_dir(), folder / "own", runs)
        if full:
            large = folder / "large-data"
            write_data(paths.data_dir(), large, 5_000)
            out += _beside(large, folder / "large", 3)
    return out


def _beside(data: Path, folder: Path, runs: int) -> list[Row]:
    number = count()
    made: list[Path] = []

    def ours() -> None:
        loaded = load_all(data)
        assert not errors(loaded.findings), errors(loaded.findings)[0]
        made.append(build_into(folder, loaded, f"{next(number)}"))

    ours()
    woods = _count(made[-1], "material")
    size = f"{woods:,} materials"
    loose = "none to compare: the parse alone"
    own, bare = interleaved(ours, lambda: parsed(data), runs=runs)
    out = [Row("catalogue", "read, check and write", size, own, "CSafeLoader, parse alone", bare, loose, 2)]
    gone = missing("sqlite_utils")
    if gone:
        return [*out, absent("catalogue", "read, check and write", size, gone)]
    from sqlite_utils import Database

    def theirs() -> None:
        path = folder / f"peer-{next(number)}.sqlite"
        held = Database(path)
        held.execute("PRAGMA journal_mode = OFF")
        held.execute("PRAGMA synchronous = OFF")
        for table, rows_ in peer_rows(parsed(data)).items():
            held[table].insert_all(rows_)
            for column in INDEXES[table]:
                held[table].create_index([column])
        held.close()
        made.append(path)

    theirs()
    _same(made[-2], made[-1])
    own, other = interleaved(ours, theirs, runs=runs)
    same = "rows of 6 tables, names, figures by wood, property, source and evidence"
    return [
        *out,
        Row("catalogue", "read, check and write", size, own, "CSafeLoader + sqlite-utils", other, same),
    ]


def _count(path: Path, table: str) -> int:
    with closing(sqlite3.connect(path)) as opened:
        return int(opened.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def _same(ours: Path, theirs: Path) -> None:
    """Both files hold the same records."""
    asked = ["SELECT material_id, text FROM name", "SELECT id, kind, name, botanical_name FROM material"]
    asked += [
        "SELECT material_id, cut FROM cut",
        "SELECT material_id, part, l_star, a_star, b_star FROM swatch",
    ]
    asked += [
        "SELECT material_id, property, source_id, evidence, locator FROM figure",
        "SELECT id, kind FROM source",
    ]
    with closing(sqlite3.connect(ours)) as own, closing(sqlite3.connect(theirs)) as other:
        for sql in asked:
            one, two = (Counter(opened.execute(sql).fetchall()) for opened in (own, other))
            assert one == two, (sql, list((one - two).items())[:3], list((two - one).items())[:3])
            assert one
