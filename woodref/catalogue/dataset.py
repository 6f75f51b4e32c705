"""What reading data/ gives: validated models with their places, and findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue import lawschema, schema
from woodref.catalogue.findings import Finding
from woodref.catalogue.yamlload import line_of

Path_ = tuple[str | int, ...]

#: every list file of data/: file -> (top key, model of one entry)
LISTS = schema.LISTS | lawschema.LISTING_LISTS | lawschema.LAW_LISTS
#: every file that is one thing, not a list: file -> model
DOCUMENTS = schema.DOCUMENTS | lawschema.LAW_DOCUMENTS


@dataclass
class Loaded:
    """One validated file with its bytes, so that a later finding can name its line."""

    file: str
    body: bytes
    model: Any

    def finding(self, path: Path_, says: str, severity: str = "error") -> Finding:
        """A finding at a place of this file."""
        make = Finding.error if severity == "error" else Finding.warning
        return make(self.file, line_of(self.body, path), dotted(path), says)


@dataclass
class DataSet:
    """Everything read from data/."""

    materials: dict[str, Loaded] = field(default_factory=dict)
    adhesives: dict[str, Loaded] = field(default_factory=dict)
    lists: dict[str, list[tuple[Loaded, int, Any]]] = field(default_factory=dict)
    documents: dict[str, Loaded] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    #: ids whose file could not be read: nobody is told that they are missing
    broken: set[str] = field(default_factory=set)

    def has(self, material: str) -> bool:
        """Whether a material is there, readable or not."""
        return material in self.materials or material in self.broken

    def entries(self, file: str) -> list[Any]:
        """The models of a list file, without their places."""
        return [model for _, _, model in self.lists.get(file, [])]


def dotted(path: Path_) -> str:
    """('figures', 'moe', 0, 'unit') -> 'figures.moe.0.unit'."""
    return ".".join(str(step) for step in path)
