"""How much of the catalogue is known and how: per property by evidence, per block how often
unknown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import EVIDENCE_ORDER, GRADE_WORDS, Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue


@dataclass(frozen=True)
class PropertyCoverage:
    """preferred: how many materials have a figure in the reference condition, by its evidence;
    elsewhere: how many have figures in other conditions only; figures: all figures held."""

    name: str
    asks: str
    preferred: dict[str, int]
    elsewhere: int
    figures: int

    @property
    def known(self) -> int:
        return sum(self.preferred.values())


@dataclass(frozen=True)
class MaterialCoverage:
    """One material: its figures by evidence, how many properties have a figure in the reference condition,
    and which answers are not known."""

    id: str
    name: str
    evidence: dict[str, int]
    properties: int
    unknown: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "name": self.name,
            "figures": sum(self.evidence.values()),
            "by_evidence": self.evidence,
            "properties": self.properties,
            "unknown": list(self.unknown),
        }


@dataclass(frozen=True)
class Coverage:
    materials: int
    by_kind: dict[str, int]
    properties: tuple[PropertyCoverage, ...]
    unknown: dict[str, int]
    evidence: dict[str, int]
    each: tuple[MaterialCoverage, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `data coverage`."""
        return {
            "materials": self.materials,
            "by_kind": self.by_kind,
            "figures_by_evidence": self.evidence,
            "properties": [
                {
                    "property": p.name,
                    "known": p.known,
                    "by_evidence": p.preferred,
                    "elsewhere": p.elsewhere,
                    "figures": p.figures,
                }
                for p in self.properties
            ],
            "unknown": {
                key: {"count": n, "share": n / self.materials if self.materials else None}
                for key, n in self.unknown.items()
            },
            "by_material": [m.as_dict() for m in self.each],
            "catalogue": self.stamp,
        }


#: what every file answers, with how to see that the answer is "not known"
_ANSWERS: dict[str, Callable[[Material], bool]] = {
    "cuts": lambda m: not m.veneer["cuts"],
    "leaf width": lambda m: not any(m.veneer["leaf_width_mm"].values()),
    "sold as veneer": lambda m: bool(m.veneer["sold"] == "not-known"),
    "treatments": lambda m: m.veneer["treatments"] is None,
    "sapwood in the sheets": lambda m: bool(m.veneer["sapwood"]["with_heart"] == "unknown"),
    "sapwood's colour": lambda m: m.look["sapwood"] is None,
    "beetles in the sapwood": lambda m: bool(m.veneer["sapwood"]["beetles"] == "unknown"),
    "pores": lambda m: bool(m.look["pores"] == "unknown"),
    "texture": lambda m: bool(m.look["texture"] == "unknown"),
    "grain": lambda m: bool(m.look["grain"] == "unknown"),
    "figure": lambda m: not m.look["figures"],
    "change in light": lambda m: bool(m.look["light"]["change"] == "unknown"),
    "measured colour": lambda m: not m.look["swatches"],
    "bending": lambda m: bool(m.working["bending"]["class"] == "unknown"),
    "gluing": lambda m: bool(m.working["gluing"]["class"] == "unknown"),
    "bleed-through": lambda m: bool(m.working["bleed_through"]["risk"] == "unknown"),
    "tannin": lambda m: bool(m.working["tannin"] == "unknown"),
    "oily": lambda m: bool(m.working["oily"] == "unknown"),
    "acid or alkaline extract": lambda m: bool(m.working["extract"]["reaction"] == "unknown"),
    "dust": lambda m: bool(m.working["dust"]["risk"] == "no-record"),
    "plantation": lambda m: bool(m.grows["plantation"]["grown"] == "unknown"),
    "planted wood as veneer": lambda m: (
        m.grows["plantation"]["grown"] in ("yes", "some")
        and m.grows["plantation"]["sold_as_veneer"] == "not-known"
    ),
    "red list": lambda m: bool(m.red_list["category"] == "unknown"),
}


def coverage(catalogue: Catalogue) -> Coverage:
    """Count what the built catalogue holds."""
    return catalogue.remembered("coverage", lambda: _coverage(catalogue))


def _coverage(catalogue: Catalogue) -> Coverage:
    materials = catalogue.materials()
    kinds: dict[str, int] = {}
    for material in materials:
        kinds[material.kind] = kinds.get(material.kind, 0) + 1
    evidence = dict.fromkeys(EVIDENCE_ORDER, 0)
    properties = []
    for name, prop in PROPERTIES.items():
        counts = dict.fromkeys(EVIDENCE_ORDER, 0)
        elsewhere = figures = 0
        for material in materials:
            held = material.figures.get(name)
            if held is None:
                continue
            every = (*((held.preferred,) if held.preferred else ()), *held.others)
            figures += len(every)
            for figure in every:
                evidence[figure.evidence] += 1
            if held.preferred:
                counts[held.preferred.evidence] += 1
            else:
                elsewhere += 1
        properties.append(PropertyCoverage(name, prop.asks, counts, elsewhere, figures))
    each = tuple(_of(material) for material in materials)
    unknown = {key: sum(key in m.unknown for m in each) for key in _ANSWERS}
    return Coverage(len(materials), kinds, tuple(properties), unknown, evidence, each, catalogue.stamp)


def _of(material: Material) -> MaterialCoverage:
    counts = dict.fromkeys(EVIDENCE_ORDER, 0)
    for held in material.figures.values():
        for figure in (*((held.preferred,) if held.preferred else ()), *held.others):
            counts[figure.evidence] += 1
    return MaterialCoverage(
        material.id,
        material.name,
        counts,
        sum(held.preferred is not None for held in material.figures.values()),
        tuple(key for key, test in _ANSWERS.items() if test(material)),
    )


def material_rows(found: Coverage) -> tuple[list[str], list[list[str]]]:
    """Head and rows for print: one line a material, the least known first."""
    head = ["material", "properties", *(GRADE_WORDS[e] for e in EVIDENCE_ORDER), "answers not known"]
    rows = [
        [m.name, str(m.properties), *(str(m.evidence[e]) for e in EVIDENCE_ORDER), str(len(m.unknown))]
        for m in sorted(found.each, key=lambda m: (m.properties, -len(m.unknown), m.id))
    ]
    return head, rows


def table_rows(found: Coverage) -> tuple[list[str], list[list[str]]]:
    """Head and rows for print: one line a property, columns by grade in words."""
    head = ["property", "known", *(GRADE_WORDS[e] for e in EVIDENCE_ORDER), "other condition only",
            "figures held"]  # fmt: skip
    rows = [
        [
            p.name,
            f"{p.known} of {found.materials}",
            *(str(p.preferred[e]) for e in EVIDENCE_ORDER),
            str(p.elsewhere),
            str(p.figures),
        ]
        for p in found.properties
    ]
    return head, rows


def unknown_rows(found: Coverage) -> list[list[str]]:
    """Rows for print: what every file answers, of how many it is not known, and which share that is."""
    every = max(found.materials, 1)
    return [[key, str(count), f"{100 * count / every:.0f} %"] for key, count in found.unknown.items()]
