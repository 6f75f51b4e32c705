"""What rests on a source: figures of which woods, which facts, glues and rows of the law."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.bibliography import Cited, bibliography
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.errors import UnknownName, echo

#: blocks of a material file as a person calls them
BLOCK_WORDS = {
    "grows": "where it grows", "look": "its look", "veneer": "how it is sold", "working": "at the bench",
    "red_list": "the Red List", "made_from": "what it is made of", "botanical": "its botanical name",
}  # fmt: skip


@dataclass(frozen=True)
class Resting:
    """A material and what of it rests on the source: properties with the number of figures, and facts."""

    id: str
    name: str
    figures: dict[str, int]
    facts: tuple[str, ...]

    @property
    def count(self) -> int:
        return sum(self.figures.values())

    @property
    def sentence(self) -> str:
        told = [
            PROPERTIES[name].asks if count == 1 else f"{PROPERTIES[name].asks} ({count} figures)"
            for name, count in self.figures.items()
        ]
        return ", ".join([*told, *self.facts])

    def as_dict(self) -> dict[str, Any]:
        return {"id": self.id, "name": self.name, "figures": self.figures, "facts": list(self.facts)}


@dataclass(frozen=True)
class UsedBy:
    """A source and everything that names it."""

    cited: Cited
    materials: tuple[Resting, ...]
    listings: tuple[dict[str, Any], ...]
    law: dict[str, int]
    glues: tuple[tuple[str, str], ...]
    stamp: dict[str, str]

    @property
    def law_sentences(self) -> list[str]:
        return [
            f"{count} {'entry' if count == 1 else 'entries'} of {file}." for file, count in self.law.items()
        ]

    @property
    def none(self) -> str | None:
        """Why nothing is named below it."""
        if self.materials or self.listings or self.law or self.glues:
            return None
        if self.cited.source["kind"] == "rule":
            return "No figure held rests on it: it is used on reading, where estimates are asked for."
        return "No figure or fact names it: it was read for the words of the rules and for comparison."

    def as_dict(self) -> dict[str, Any]:
        return {
            "source": self.cited.as_dict(), "materials": [m.as_dict() for m in self.materials],
            "listings": list(self.listings), "law": self.law, "glues": [glue for glue, _ in self.glues],
            "catalogue": self.stamp,
        }  # fmt: skip


def used_by(source_id: str, catalogue: Catalogue) -> UsedBy:
    """Everything that names a source; UnknownName when there is none of that id."""
    cited = next((c for c in bibliography(catalogue) if c.source["id"] == source_id), None)
    if cited is None:
        raise UnknownName(
            f"no source of the catalogue has the id {echo(source_id)}", next="All of them: About, Sources."
        )
    listings = catalogue.rows(
        "SELECT id, taxon, regime, category, locator FROM law_row WHERE source_id = ? ORDER BY taxon, id",
        (source_id,),
    )
    law: dict[str, int] = {}
    for row in catalogue.rows("SELECT file, data FROM law_doc ORDER BY file, key"):
        if source_id in _named(json.loads(row["data"])):
            law[row["file"]] = law.get(row["file"], 0) + 1
    glues = tuple(
        (glue["id"], str(glue["names"][0]["text"]))
        for glue in catalogue.adhesives.values()
        if source_id in _named(glue)
    )
    return UsedBy(
        cited,
        _materials(source_id, catalogue),
        tuple(dict(row) for row in listings),
        law,
        glues,
        catalogue.stamp,
    )


def _materials(source_id: str, catalogue: Catalogue) -> tuple[Resting, ...]:
    counts = catalogue.remembered("figure sources", lambda: _figure_sources(catalogue))
    figures = counts.get(source_id, {})
    facts: dict[str, list[str]] = {}
    for material_id, block, named in catalogue.remembered("fact sources", lambda: _fact_sources(catalogue)):
        if source_id in named:
            facts.setdefault(material_id, []).append(BLOCK_WORDS.get(block, block))
    names = {
        row["id"]: row["name"] for row in catalogue.rows("SELECT id, name FROM material ORDER BY name, id")
    }
    return tuple(
        Resting(
            found, name, {p: figures[found][p] for p in PROPERTIES if p in figures.get(found, {})},
            tuple(facts.get(found, ())),
        )
        for found, name in names.items()
        if found in figures or found in facts
    )  # fmt: skip


def _figure_sources(catalogue: Catalogue) -> dict[str, dict[str, dict[str, int]]]:
    """source -> material -> property -> how many figures rest on it."""
    out: dict[str, dict[str, dict[str, int]]] = {}
    for row in catalogue.rows(
        "SELECT source_id, material_id, property, count(*) AS n FROM figure WHERE source_id IS NOT NULL "
        "GROUP BY source_id, material_id, property"
    ):
        out.setdefault(row["source_id"], {}).setdefault(row["material_id"], {})[row["property"]] = row["n"]
    return out


def _fact_sources(catalogue: Catalogue) -> list[tuple[str, str, frozenset[str]]]:
    """(material, block, sources that it names) of every fact that names one."""
    out = []
    # blocks that are alike name the same sources
    seen: dict[str, frozenset[str]] = {}
    for row in catalogue.rows("SELECT material_id, block, data FROM fact WHERE instr(data, '\"source\"')"):
        named = seen.get(row["data"])
        if named is None:
            named = seen[row["data"]] = frozenset(_named(json.loads(row["data"])))
        if named:
            out.append((row["material_id"], row["block"], named))
    return out


def _named(value: Any) -> set[str]:
    """Every source named anywhere inside a block."""
    return set(_sources(value))


def _sources(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "source" and isinstance(inner, str):
                yield inner
            else:
                yield from _sources(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _sources(inner)
