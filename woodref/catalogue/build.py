"""YAML -> one SQLite file, in one go: validated models, bulk inserts, rename at the end."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, get_args

from woodref.catalogue import lawschema, listingschema, schema
from woodref.catalogue.dataset import DataSet
from woodref.catalogue.fold import fold
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.rules import condition_of, in_unit, preferred_index, typical_of
from woodref.paths import TABLES_VERSION
from woodref.version import __version__

KEPT = 3
_RANK = {"id": 0, "retired": 1, "botanical": 2, "synonym": 3, "trade": 4}
_BLOCKS = ("grows", "look", "veneer", "working", "red_list", "made_from", "cautions", "botanical")

Rows = dict[str, list[dict[str, Any]]]
#: takes the name of a table and one row of it
Put = Callable[[str, dict[str, Any]], None]


def rows_of(data: DataSet, digest: str) -> Rows:
    """Every table's rows from a data set without errors."""
    out: Rows = {}

    def put(table: str, row: dict[str, Any]) -> None:
        out.setdefault(table, []).append(row)

    for loaded in data.materials.values():
        material_rows(data, loaded.model, put)
    list_rows(data, put)
    document_rows(data, digest, put)
    return out


def list_rows(data: DataSet, put: Put, unread: frozenset[str] = frozenset()) -> None:
    """The rows of everything that is not a material; a file named in `unread` is left out."""
    for glue in data.adhesives.values():
        body = json.dumps(schema.json_ready(glue.model), ensure_ascii=False)
        put("adhesive", {"id": glue.model.id, "name": glue.model.names[0].text, "data": body})
    for source in data.entries("sources.yaml"):
        put("source", source.model_dump())
    for shared in data.entries("names.yaml"):
        for meaning in shared.meanings:
            put(
                "shared_name",
                {
                    "text": shared.text,
                    "folded": fold(shared.text),
                    "material_id": meaning.material,
                    "botanical_name": meaning.botanical,
                    "usual_in": json.dumps(meaning.usual_in),
                    "note": meaning.note,
                },
            )
    groups = {g.id: g.countries for g in data.entries("trade/places.yaml")}
    for row in [] if "trade/listings.yaml" in unread else data.entries("trade/listings.yaml"):
        put("law_row", _law_row(row, groups))
    for file in lawschema.LAW_LISTS:
        for entry in data.entries(file):
            put("law_doc", {"file": file, "data": json.dumps(schema.json_ready(entry), ensure_ascii=False)})


def _law_row(row: listingschema.ListingIn, groups: dict[str, list[str]]) -> dict[str, Any]:
    reach = row.population.countries
    codes = None if reach == "all" else groups[reach] if isinstance(reach, str) else reach
    given = row.model_dump(exclude={"population", "except_taxa", "parties", "leaves", "source"})
    return given | {
        "countries": None if codes is None else json.dumps(sorted(codes)),
        "population_words": row.population.words,
        "except_taxa": json.dumps(row.except_taxa),
        "parties": json.dumps(row.parties),
        "leaves": json.dumps(row.leaves),
        "source_id": row.source,
    }


def document_rows(data: DataSet, digest: str, put: Put) -> None:
    classes = data.documents["classes.yaml"].model
    for colour in classes.colours:
        put(
            "colour_class",
            {
                "id": colour.id,
                "words": colour.words,
                "l_star": colour.lab[0],
                "a_star": colour.lab[1],
                "b_star": colour.lab[2],
                "radius": colour.radius,
                "near": json.dumps(colour.near),
            },
        )
    for code, name in data.documents["trade/countries.yaml"].model.countries.items():
        put("country", {"code": code, "name": name})
    law = data.documents["trade/asof.yaml"].model
    meta = {
        "version": __version__,
        "digest": digest,
        "tables": str(TABLES_VERSION),
        "law_as_of": law.as_of,
        "law_read_in_full": law.read_in_full,
        "law_words": law.words,
        "orders": json.dumps(classes.orders),
        "near_figures": json.dumps(classes.near_figures),
        "figure_words": json.dumps(get_args(schema.FIGURE_WORDS)),
    }
    for key, value in meta.items():
        put("meta", {"key": key, "value": value})


def material_rows(data: DataSet, model: schema.MaterialIn, put: Put) -> None:
    """The rows of one material in every table. BadQuantity: a unit that does not measure its property;
    KeyError: a wood it is made of is not there (neither in a data set without errors)."""
    botanical = model.botanical
    put(
        "material",
        {
            "id": model.id,
            "kind": model.kind,
            "hardness_group": model.hardness_group,
            "name": model.names[0].text,
            "botanical_name": botanical.name if botanical else None,
            "family": botanical.family if botanical else None,
        },
    )
    _name_rows(model, put)
    plain = schema.json_ready(model)
    for block in _BLOCKS:
        if plain[block] is not None:
            put(
                "fact",
                {
                    "material_id": model.id,
                    "block": block,
                    "data": json.dumps(plain[block], ensure_ascii=False, separators=(",", ":")),
                },
            )
    woods = [botanical.name] if botanical else []
    if model.made_from:
        woods = [data.materials[wood].model.botanical.name for wood in model.made_from.woods]
    put("fact", {"material_id": model.id, "block": "woods", "data": json.dumps(woods)})
    for cut in model.veneer.cuts:
        put("cut", {"material_id": model.id, "cut": cut})
    for swatch in model.look.swatches:
        put(
            "swatch",
            {
                "material_id": model.id,
                "part": swatch.part,
                "state": swatch.state,
                "l_star": swatch.lab[0],
                "a_star": swatch.lab[1],
                "b_star": swatch.lab[2],
                "spread": swatch.spread,
                "light": swatch.light,
                "source_id": swatch.source,
                "locator": swatch.locator,
                "evidence": swatch.evidence,
            },
        )
    for name, figures in model.figures.items():
        chosen = preferred_index(name, figures)
        for index, figure in enumerate(figures):
            put("figure", _figure_row(model.id, name, figure, index == chosen))


def _name_rows(model: schema.MaterialIn, put: Put) -> None:
    names: list[tuple[str, str, schema.NameIn | None]] = [("id", model.id, None)]
    names += [("retired", old, None) for old in model.was]
    if model.botanical:
        names.append(("botanical", model.botanical.name, None))
        names += [("synonym", text, None) for text in model.botanical.synonyms]
    names += [("trade", name.text, name) for name in model.names]
    for kind, text, name in names:
        put(
            "name",
            {
                "material_id": model.id,
                "text": text,
                "folded": fold(text),
                "kind": kind,
                "rank": _RANK[kind],
                "lang": name.lang if name else None,
                "regions": json.dumps(name.regions) if name else None,
                "note": name.note if name else None,
            },
        )


def _figure_row(material: str, name: str, figure: schema.FigureIn, preferred: bool) -> dict[str, Any]:
    unit = PROPERTIES[name].unit
    numbers = in_unit(figure, unit)
    printed = figure.printed
    if printed is None and figure.unit != unit:
        given = [str(n) for n in (figure.value, figure.low, figure.high) if n is not None]
        printed = f"{'-'.join(given)} {figure.unit}"
    return {
        "material_id": material,
        "property": name,
        "preferred": int(preferred),
        **{key: numbers.get(key) for key in ("value", "low", "high")},
        "typical": typical_of(numbers),
        "unit": unit,
        "printed": printed,
        "condition": json.dumps(condition_of(figure)),
        "source_id": figure.source,
        "locator": figure.locator,
        "evidence": figure.evidence,
        "for_taxon": figure.for_taxon,
        "worked_from": json.dumps(figure.from_) if figure.from_ else None,
        "added_error": figure.added_error,
        "n": figure.n,
        "note": figure.note,
    }


def write(rows: Rows, path: Path) -> None:
    """Write all rows into a new SQLite file at path (which must not exist)."""
    from sqlalchemy import create_engine, event, insert
    from sqlalchemy.exc import OperationalError
    from sqlmodel import SQLModel

    from woodref.catalogue import tables

    engine = create_engine(f"sqlite:///{path}")

    @event.listens_for(engine, "connect")
    def _fast(connection: Any, _record: Any) -> None:
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA synchronous = OFF")

    try:
        with engine.begin() as connection:
            made = [SQLModel.metadata.tables[str(t.__tablename__)] for t in tables.TABLES]
            SQLModel.metadata.create_all(connection, tables=made)
            for table in made:
                if rows.get(table.name):
                    connection.execute(insert(table), rows[table.name])
            for sql in tables.views():
                connection.exec_driver_sql(sql)
    except OperationalError as fault:  # a full disc, a folder that went away
        raise OSError(f"the built file cannot be written: {fault.orig}") from None
    finally:
        engine.dispose()


def build_into(folder: Path, data: DataSet, digest: str) -> Path:
    """Build catalogue-DIGEST.sqlite in the folder, by temp file and rename; returns its path.

    Two processes doing this at once each write their own temp file; the second rename replaces the
    first by the same content.
    """
    folder.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".building-", suffix=".sqlite", dir=folder)
    os.close(handle)
    os.unlink(name)
    temp = Path(name)
    try:
        write(rows_of(data, digest), temp)
        target = folder / f"catalogue-{digest}.sqlite"
        os.replace(temp, target)
    finally:
        temp.unlink(missing_ok=True)
    _point(folder, target.name)
    _prune(folder, target)
    return target


def _point(folder: Path, name: str) -> None:
    """Let `current` name the file, atomically."""
    handle, temp = tempfile.mkstemp(prefix=".current-", dir=folder)
    with os.fdopen(handle, "w", encoding="ascii") as out:
        out.write(name + "\n")
    os.replace(temp, folder / "current")


def _prune(folder: Path, keep: Path) -> None:
    """Keep the newest three catalogues, the given one always among them."""

    def age(path: Path) -> float:
        try:
            return path.stat().st_mtime
        except OSError:  # another process pruned it meanwhile
            return 0.0

    built: Iterable[Path] = sorted(folder.glob("catalogue-*.sqlite"), key=age, reverse=True)
    for path in [p for p in built if p != keep][KEPT - 1 :]:
        path.unlink(missing_ok=True)
