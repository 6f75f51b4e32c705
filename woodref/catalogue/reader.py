"""Reading the built catalogue: sqlite3 and plain values, nothing heavier.

`open_catalogue` finds the file for today's data, builds it when it is missing, and falls back to the
last good one with a notice when the data have errors.
"""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from woodref import paths
from woodref.catalogue.fold import fold
from woodref.catalogue.material import Figure, Figures, Material, Name
from woodref.errors import CatalogueUnreadable

if TYPE_CHECKING:
    import pandas as pd

    from woodref.trade.listings import Law
    from woodref.trade.shapes import Rules

T = TypeVar("T")
#: answers that a catalogue keeps at the most
REMEMBERED = 100_000
#: answers with something of every wood that a catalogue keeps at the most
LARGE = 40
_NOT_YET: Any = object()


@dataclass(frozen=True)
class Notice:
    """Something the reader should know beside the answer."""

    code: str
    message: str

    def as_dict(self) -> dict[str, str]:
        return {"code": self.code, "message": self.message}


@dataclass(frozen=True)
class ColourClass:
    """A coarse colour class; lab is for drawing a chip, not a measurement."""

    id: str
    words: str
    lab: tuple[float, float, float]
    radius: float
    near: frozenset[str]


class HeldName(NamedTuple):
    """A name of a material: folded, as written, whose, and what that is called first."""

    folded: str
    text: str
    material_id: str
    name: str


@dataclass
class Catalogue:
    """An open catalogue. Close it, or use it as a context manager."""

    path: Path
    connection: sqlite3.Connection
    notices: list[Notice] = field(default_factory=list)
    #: names that are settled beforehand, as typed -> what `names.resolve` answers
    settled: Mapping[str, Any] = field(default_factory=dict)
    _worked_out: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _large: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _keeping: Lock = field(default_factory=Lock, repr=False, compare=False)

    def __enter__(self) -> Catalogue:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def rows(self, sql: str, values: tuple[Any, ...] = ()) -> list[sqlite3.Row]:
        """Rows of one statement; CatalogueUnreadable when the file is spoilt."""
        try:
            return self.connection.execute(sql, values).fetchall()
        except sqlite3.OperationalError:
            raise  # a wrong statement is ours, not the file's
        except sqlite3.DatabaseError as fault:
            raise CatalogueUnreadable(
                f"the built catalogue {self.path} is spoilt ({fault})",
                next="Delete that file; it is built anew from the data.",
            ) from None

    def remembered(self, question: Hashable, work: Callable[[], T]) -> T:
        """The answer to a question that depends on the catalogue and the question alone, worked out once: the
        built file never changes. All are forgotten when there are REMEMBERED of them."""
        found: T = self._worked_out.get(question, _NOT_YET)
        if found is _NOT_YET:
            found = work()
            if len(self._worked_out) >= REMEMBERED:
                self._worked_out.clear()
            self._worked_out[question] = found
        return found

    def remembered_large(self, question: Hashable, work: Callable[[], T]) -> T:
        """The same for an answer that grows with the catalogue: the LARGE asked for last are kept."""
        with self._keeping:
            found: T = self._large.pop(question, _NOT_YET)
            if found is not _NOT_YET:
                self._large[question] = found
                return found
        found = work()
        with self._keeping:
            self._large[question] = found
            while len(self._large) > LARGE:
                del self._large[next(iter(self._large))]
        return found

    @cached_property
    def meta(self) -> dict[str, str]:
        """Version, digest, as-of dates."""
        return {row["key"]: row["value"] for row in self.rows("SELECT key, value FROM meta")}

    @property
    def stamp(self) -> dict[str, str]:
        """What the JSON contract calls `catalogue`."""
        return {"version": self.meta["version"], "digest": self.meta["digest"]}

    @cached_property
    def countries(self) -> dict[str, str]:
        """ISO code -> the name printed."""
        return {row["code"]: row["name"] for row in self.rows("SELECT code, name FROM country")}

    @cached_property
    def colour_classes(self) -> dict[str, ColourClass]:
        """Colour classes by id."""
        return {
            row["id"]: ColourClass(
                row["id"],
                row["words"],
                (row["l_star"], row["a_star"], row["b_star"]),
                row["radius"],
                frozenset(json.loads(row["near"])),
            )
            for row in self.rows("SELECT * FROM colour_class")
        }

    @cached_property
    def orders(self) -> dict[str, list[str]]:
        """Classes with an order of neighbours."""
        out: dict[str, list[str]] = json.loads(self.meta["orders"])
        return out

    @cached_property
    def figure_words(self) -> list[str]:
        """Every word for the figure of a leaf."""
        out: list[str] = json.loads(self.meta["figure_words"])
        return out

    @cached_property
    def near_figures(self) -> list[tuple[str, str]]:
        """Pairs of figures that a maker would still lay side by side."""
        return [(one, two) for one, two in json.loads(self.meta["near_figures"])]

    @cached_property
    def sources(self) -> dict[str, dict[str, Any]]:
        """Every source by id."""
        return {row["id"]: dict(row) for row in self.rows("SELECT * FROM source ORDER BY id")}

    @cached_property
    def law(self) -> Law:
        """The listings as values for the trade room."""
        from woodref.catalogue.lawlistings import law_of

        return law_of(self)

    @cached_property
    def adhesives(self) -> dict[str, dict[str, Any]]:
        """Classes of glue by id, with the keys of their files."""
        rows = self.rows("SELECT id, data FROM adhesive ORDER BY id")
        return {row["id"]: json.loads(row["data"]) for row in rows}

    @cached_property
    def rules(self) -> Rules:
        """All law of the catalogue for the trade room."""
        from woodref.catalogue.lawread import rules_of

        return rules_of(self)

    @cached_property
    def names(self) -> list[HeldName]:
        """Every name of every material, the best kind of name first."""
        return [
            HeldName(row["folded"], row["text"], row["material_id"], row["name"])
            for row in self.rows(
                "SELECT n.folded, n.text, n.material_id, m.name FROM name n "
                "JOIN material m ON m.id = n.material_id ORDER BY n.rank, n.key"
            )
        ]

    @cached_property
    def shared_names(self) -> list[tuple[str, str]]:
        """(folded, text) of the names that several woods share."""
        rows = self.rows("SELECT DISTINCT folded, text FROM shared_name ORDER BY folded")
        return [(row["folded"], row["text"]) for row in rows]

    @cached_property
    def other_names(self) -> list[tuple[str, str]]:
        """(folded, text) of the shared names, and of the Latin names that only these or the law speak of."""
        rows = self.rows(
            "SELECT text FROM shared_name UNION SELECT botanical_name FROM shared_name "
            "WHERE botanical_name IS NOT NULL UNION SELECT accepted FROM law_row ORDER BY 1"
        )
        return [(fold(row["text"]), row["text"]) for row in rows]

    @cached_property
    def law_synonyms(self) -> dict[str, str]:
        """Older botanical name (case folded) -> accepted name, for woods the law speaks of."""
        rows = self.rows("SELECT data FROM law_doc WHERE file = 'trade/synonyms.yaml'")
        docs = [json.loads(row["data"]) for row in rows]
        return {doc["name"].casefold(): doc["accepted"] for doc in docs}

    def frame(self) -> pd.DataFrame:
        """Wide DataFrame: one row a material, units in the column names."""
        from woodref.catalogue.frames import frame

        return frame(self)

    def figures(self) -> pd.DataFrame:
        """Long DataFrame: one row a figure with condition, source and evidence."""
        from woodref.catalogue.frames import figures

        return figures(self)

    def ids(self) -> list[str]:
        """Every material's id, sorted."""
        return [row["id"] for row in self.rows("SELECT id FROM material ORDER BY id")]

    def material(self, material_id: str) -> Material:
        """One material; KeyError when the id is not there (names are resolved in `names`)."""
        found = self._materials("WHERE m.id = ?", (material_id,))
        if not found:
            raise KeyError(material_id)
        return found[0]

    def materials(self) -> list[Material]:
        """All materials, by id. Read once: the built file never changes."""
        return list(self._all)

    @cached_property
    def _all(self) -> tuple[Material, ...]:
        return tuple(self._materials("", ()))

    def _materials(self, where: str, values: tuple[Any, ...]) -> list[Material]:
        heads = self.rows(f"SELECT m.* FROM material m {where} ORDER BY m.id", values)
        join = where.replace("m.id", "material_id")
        facts: dict[str, dict[str, Any]] = {}
        blocks = self.rows(f"SELECT material_id, block, data FROM fact {join}", values)
        # read at once: thousands of calls for small values would take longer than the values
        for (wood, block, _), data in zip(blocks, _each([row[2] for row in blocks]), strict=True):
            facts.setdefault(wood, {})[block] = data
        names: dict[str, list[Name]] = {}
        for wood, kind, text, lang, regions, note in self.rows(f"{_NAMES} {join} ORDER BY key", values):
            if kind == "trade":
                named = Name(text, lang, () if regions == "[]" else _list(regions), note)
                names.setdefault(wood, []).append(named)
        figures: dict[str, dict[str, list[tuple[bool, Figure]]]] = {}
        # by place and not by name: a command that reads every wood spends a third of its time here
        for wood, preferred, *told in self.rows(f"{_FIGURES} {join} ORDER BY key", values):
            held = figures.setdefault(wood, {}).setdefault(told[0], [])
            told[5] = dict(_condition(told[5]))
            told[11] = _list(told[11]) if told[11] else ()
            held.append((preferred == 1, Figure(*told)))
        return [
            _material(
                head,
                facts[head["id"]],
                names.get(head["id"], []),
                figures.get(head["id"], {}),
            )
            for head in heads
        ]


_NAMES = "SELECT material_id, kind, text, lang, regions, note FROM name"
#: the columns of a figure in the order of its fields
_FIGURES = (
    "SELECT material_id, preferred, property, value, low, high, unit, condition, source_id, locator, "
    "evidence, printed, for_taxon, worked_from, added_error, n, note FROM figure"
)


def _each(texts: list[str]) -> list[Any]:
    """The value of each JSON text."""
    found: list[Any] = json.loads(f"[{','.join(texts)}]")
    return found


@lru_cache(maxsize=4096)
def _list(text: str) -> tuple[Any, ...]:
    """A list of words as it is held: the same few come again and again."""
    return tuple(json.loads(text))


@lru_cache(maxsize=4096)
def _condition(text: str) -> dict[str, Any]:
    """A condition as it is held: some dozens of them serve every figure."""
    found: dict[str, Any] = json.loads(text)
    return found


def figure_of(row: Mapping[str, Any] | sqlite3.Row) -> Figure:
    """A row of the table of figures as a value."""
    worked = row["worked_from"]
    return Figure(
        name=row["property"],
        value=row["value"],
        low=row["low"],
        high=row["high"],
        unit=row["unit"],
        condition=dict(_condition(row["condition"])),
        source=row["source_id"],
        locator=row["locator"],
        evidence=row["evidence"],
        printed=row["printed"],
        for_taxon=row["for_taxon"],
        from_=tuple(json.loads(worked)) if worked else (),
        added_error=row["added_error"],
        n=row["n"],
        note=row["note"],
    )


def _material(
    head: sqlite3.Row,
    facts: dict[str, Any],
    names: list[Name],
    figures: dict[str, list[tuple[bool, Figure]]],
) -> Material:
    botanical = facts.get("botanical")
    return Material(
        id=head["id"],
        kind=head["kind"],
        hardness_group=head["hardness_group"],
        name=head["name"],
        botanical_name=head["botanical_name"],
        family=head["family"],
        synonyms=tuple(botanical["synonyms"]) if botanical else (),
        names=tuple(names),
        woods=tuple(facts["woods"]),
        grows=facts["grows"],
        look=facts["look"],
        veneer=facts["veneer"],
        working=facts["working"],
        red_list=facts["red_list"],
        made_from=facts.get("made_from"),
        cautions=tuple(facts["cautions"]),
        figures={
            name: Figures(
                next((f for chosen, f in held if chosen), None),
                tuple(f for chosen, f in held if not chosen),
            )
            for name, held in figures.items()
        },
    )


def _connect(path: Path) -> sqlite3.Connection:
    """Open read-only; sqlite3.DatabaseError when it is not a catalogue of our table version."""
    uri = f"{path.resolve().as_uri()}?mode=ro&immutable=1"
    connection = sqlite3.connect(uri, uri=True)
    connection.row_factory = sqlite3.Row
    try:
        row = connection.execute("SELECT value FROM meta WHERE key = 'tables'").fetchone()
        if row is None or row["value"] != str(paths.TABLES_VERSION):
            raise sqlite3.DatabaseError("other table version")
    except sqlite3.DatabaseError:
        connection.close()
        raise
    return connection


def open_catalogue(data: Path | None = None, cache: Path | None = None) -> Catalogue:
    """The catalogue of today's data, built if need be.

    Errors in the data: the last good catalogue answers with a notice; CatalogueUnreadable when
    there is none. A cache that cannot be written: the temporary folder serves, with a notice.
    """
    root = data or paths.data_dir()
    folder = cache or paths.cache_dir()
    digest = paths.digest(root)
    name = f"catalogue-{digest}.sqlite"
    for place in (folder, _spare()):
        found = _open_if_good(place / name)
        if found:
            return found
    return _build_and_open(root, folder, digest)


def _spare() -> Path:
    """Where a catalogue goes when the cache cannot be written: one folder a user."""
    import getpass

    try:
        user = getpass.getuser()
    except (KeyError, OSError):  # no such user in a bare container
        user = "nobody"
    return Path(tempfile.gettempdir()) / f"woodref-{user}"


def _open_if_good(path: Path) -> Catalogue | None:
    try:
        # a shared temporary folder may hold a file that somebody else put there
        if hasattr(os, "getuid") and path.stat().st_uid not in (os.getuid(), 0):
            return None
        return Catalogue(path, _connect(path))
    except (sqlite3.DatabaseError, OSError, ValueError):  # absent, spoilt, or no file name at all
        return None


def _build_and_open(root: Path, folder: Path, digest: str) -> Catalogue:
    from woodref.catalogue.build import build_into
    from woodref.catalogue.check import load_all
    from woodref.catalogue.findings import errors

    loaded = load_all(root)
    wrong = errors(loaded.findings)
    if wrong:
        return _last_good(folder, [str(f) for f in wrong])
    try:
        path = build_into(folder, loaded, digest)
        return Catalogue(path, _connect(path))
    except OSError as fault:
        why = fault.strerror or str(fault)
    try:
        spare = _spare()
        path = build_into(spare, loaded, digest)
    except OSError as fault:
        raise CatalogueUnreadable(
            f"the catalogue can be written neither into the cache {folder} ({why}) nor into the temporary "
            f"folder ({fault.strerror or fault})",
            next="Make room, or set WOODREF_CACHE to a folder that can be written.",
        ) from None
    message = f"The cache {folder} cannot be written ({why}); the catalogue was built in {spare} instead."
    return Catalogue(path, _connect(path), [Notice("cache-unwritable", message)])


def _last_good(folder: Path, wrong: list[str]) -> Catalogue:
    count = f"{len(wrong)} error{'s' if len(wrong) > 1 else ''}"
    for place in (folder, _spare()):
        try:
            name = (place / "current").read_text("ascii").strip()
        except (OSError, ValueError):  # no pointer, or one that is no text
            continue
        found = _open_if_good(place / name)
        if found:
            found.notices.append(
                Notice(
                    "data-have-errors",
                    f"The data have {count}; I answer from the last good catalogue "
                    f"({found.meta['digest']}). Run `woodref data check` to see them all.",
                )
            )
            return found
    raise CatalogueUnreadable(
        f"the data have {count} and no earlier catalogue is there to answer from: {wrong[0]}",
        next="Run `woodref data check` to see them all.",
    )
