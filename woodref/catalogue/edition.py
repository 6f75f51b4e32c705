"""One state of the catalogue's data, to be held beside another: a data folder or a built file.

Both are read into the same values. A folder with errors is read as far as it can be, and says what is
not: half a draft can still be compared, and so can an older folder that today's check finds fault with.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from woodref.catalogue.lawlistings import listing_of
from woodref.catalogue.material import Figure
from woodref.catalogue.reader import figure_of
from woodref.errors import BadRequest, CatalogueUnreadable
from woodref.trade.listings import ListingRow

Rows = dict[str, list[dict[str, Any]]]
#: tables read, in the order of their rows
_TABLES = {
    "material": "id", "name": "key", "figure": "key", "fact": "key", "law_row": "id", "shared_name": "key",
    "source": "id", "adhesive": "id", "law_doc": "key", "colour_class": "id", "country": "code",
    "meta": "key",
}  # fmt: skip
#: what of `meta` is data and not a fact about the built file
_CLASS_META = ("orders", "near_figures")
_LAW_META = ("law_as_of", "law_read_in_full", "law_words")


@dataclass(frozen=True)
class HeldFigure:
    """A figure and whether it is the preferred one of its property."""

    figure: Figure
    preferred: bool


@dataclass(frozen=True)
class HeldName:
    """One spelling that answers; kind: retired, botanical, synonym or trade."""

    kind: str
    text: str
    lang: str | None
    regions: tuple[str, ...]
    note: str | None


@dataclass
class Held:
    """One material: its names and figures in file order, everything else as JSON text by block."""

    id: str
    name: str
    names: list[HeldName] = field(default_factory=list)
    figures: dict[str, list[HeldFigure]] = field(default_factory=dict)
    blocks: dict[str, str] = field(default_factory=dict)

    @property
    def retired(self) -> list[str]:
        """Retired ids that answer here."""
        return [n.text for n in self.names if n.kind == "retired"]

    @property
    def count(self) -> int:
        """How many figures it holds."""
        return sum(len(held) for held in self.figures.values())

    def preferred(self, name: str) -> Figure | None:
        """The preferred figure of a property, or None."""
        return next((h.figure for h in self.figures.get(name, []) if h.preferred), None)


@dataclass(frozen=True)
class Edition:
    """parts: every list beside materials and listings, by file: entry -> JSON text. unread: ids of
    materials and files below data/ that could not be read, so that nobody takes them for removed."""

    where: str
    stamp: dict[str, str]
    materials: dict[str, Held]
    listings: dict[str, ListingRow]
    parts: dict[str, dict[str, str]]
    unread: frozenset[str] = frozenset()
    errors: int = 0


def read_edition(path: Path) -> Edition:
    """A data folder or a built file. BadRequest: no such place; CatalogueUnreadable: neither of the two."""
    if path.is_dir():
        return _of_folder(path)
    if path.is_file():
        return _of_file(path)
    raise BadRequest(f"there is no {path}", expected="a data folder or a built .sqlite file")


def _of_file(path: Path) -> Edition:
    expected = "a data folder or a catalogue built by woodref"
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
    except sqlite3.Error as fault:
        raise CatalogueUnreadable(f"{path} cannot be opened ({fault})", expected=expected) from None
    connection.row_factory = sqlite3.Row
    try:
        rows = {
            table: [dict(row) for row in connection.execute(f"SELECT * FROM {table} ORDER BY {order}")]
            for table, order in _TABLES.items()
        }
        meta = {row["key"]: row["value"] for row in rows["meta"]}
        stamp = {"version": meta["version"], "digest": meta["digest"]}
        return _edition(str(path), stamp, rows)
    except (sqlite3.Error, KeyError, ValueError) as fault:
        raise CatalogueUnreadable(
            f"{path} is no catalogue that this woodref can read ({fault})",
            expected=expected,
            next="If an older woodref built it, name the data folder it was built from instead.",
        ) from None
    finally:
        connection.close()


def _of_folder(root: Path) -> Edition:
    from woodref.catalogue import build
    from woodref.catalogue.check import load_all
    from woodref.catalogue.dataset import DOCUMENTS
    from woodref.catalogue.findings import errors
    from woodref.catalogue.schema import FOLDERS
    from woodref.errors import BadQuantity
    from woodref.paths import digest
    from woodref.version import __version__

    data = load_all(root)
    if not data.materials:
        raise CatalogueUnreadable(
            f"no material can be read in {root}",
            expected="a data folder, with one file a material below species/, engineered/ ...",
            next=f"Run `woodref data check --data {root}` to see what is there.",
        )
    wrong = errors(data.findings)
    files = {f.file for f in wrong}
    if "trade/places.yaml" in files:  # a listing reaches the countries of its places
        files.add("trade/listings.yaml")
    rows: Rows = {}
    unread = {Path(file).stem if file.split("/")[0] in FOLDERS else file for file in files}
    unread -= set(data.materials)  # found fault with, but readable
    for material_id, loaded in data.materials.items():
        mine: Rows = {}
        try:
            build.material_rows(data, loaded.model, _into(mine))
        except (BadQuantity, KeyError):
            unread.add(material_id)
            continue
        for table, more in mine.items():
            rows.setdefault(table, []).extend(more)
    build.list_rows(data, _into(rows), frozenset(files))
    if set(DOCUMENTS) <= set(data.documents):
        build.document_rows(data, digest(root), _into(rows))
    else:
        unread |= set(DOCUMENTS)
    stamp = {"version": __version__, "digest": digest(root)}
    return _edition(str(root), stamp, rows, frozenset(unread), len(wrong))


def _into(rows: Rows) -> Callable[[str, dict[str, Any]], None]:
    """Takes a row of a table into the rows."""
    return lambda table, row: rows.setdefault(table, []).append(row)


def _edition(
    where: str, stamp: dict[str, str], rows: Rows, unread: frozenset[str] = frozenset(), wrong: int = 0
) -> Edition:
    held = {row["id"]: Held(row["id"], row["name"]) for row in rows.get("material", [])}
    for row in rows.get("material", []):
        held[row["id"]].blocks |= {key: row[key] for key in ("kind", "hardness_group")}
    for row in rows.get("name", []):
        if row["kind"] != "id":
            regions = tuple(json.loads(row["regions"])) if row["regions"] else ()
            name = HeldName(row["kind"], row["text"], row["lang"], regions, row["note"])
            held[row["material_id"]].names.append(name)
    for row in rows.get("figure", []):
        figures = held[row["material_id"]].figures.setdefault(row["property"], [])
        figures.append(HeldFigure(figure_of(row), bool(row["preferred"])))
    for row in rows.get("fact", []):
        held[row["material_id"]].blocks[row["block"]] = _text(json.loads(row["data"]))
    law = [listing_of(row) for row in rows.get("law_row", [])]
    return Edition(
        where,
        stamp,
        dict(sorted(held.items())),
        {row.id: row for row in sorted(law, key=lambda r: r.id)},
        _parts(rows),
        unread,
        wrong,
    )


def _parts(rows: Rows) -> dict[str, dict[str, str]]:
    """Every other list by file: what an entry goes by -> its JSON text."""
    meta = {row["key"]: row["value"] for row in rows.get("meta", [])}
    parts = {
        "adhesives": {row["id"]: _text(json.loads(row["data"])) for row in rows.get("adhesive", [])},
        "classes.yaml": _each(rows.get("colour_class", []), "id") | _some(meta, _CLASS_META),
        "names.yaml": _each(rows.get("shared_name", []), "text"),
        "sources.yaml": _each(rows.get("source", []), "id"),
        "trade/asof.yaml": _some(meta, _LAW_META),
        "trade/countries.yaml": _each(rows.get("country", []), "code"),
    }
    for row in rows.get("law_doc", []):
        doc = json.loads(row["data"])
        parts.setdefault(row["file"], {})[str(doc.get("id") or doc["name"])] = _text(doc)
    return parts


def _each(rows: Iterable[dict[str, Any]], by: str) -> dict[str, str]:
    """Rows by what they go by; several rows of one name stand together. The row's number plays no part."""
    out: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        out.setdefault(str(row[by]), []).append({k: v for k, v in row.items() if k != "key"})
    return {name: _text(held) for name, held in out.items()}


def _some(meta: dict[str, str], keys: Iterable[str]) -> dict[str, str]:
    return {key: meta[key] for key in keys if key in meta}


def _text(value: Any) -> str:
    """JSON of one spelling, whatever the order of the keys; what is empty is left out, so that a field
    that came later is no change."""
    return json.dumps(_full(value), ensure_ascii=False, sort_keys=True)


def _full(value: Any) -> Any:
    if isinstance(value, dict):
        kept = {key: _full(sub) for key, sub in value.items()}
        return {key: sub for key, sub in kept.items() if sub not in (None, [], {})}
    if isinstance(value, list):
        return [_full(sub) for sub in value]
    return float(value) if type(value) is int else value  # a table keeps 86 as 86.0
