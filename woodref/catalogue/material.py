"""What the rest of the house sees of a material: plain frozen values, no pydantic, no SQL."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.properties import PROPERTIES

#: to people the evidence grades read like this
GRADE_WORDS = {
    "quoted": "read in table",
    "recalled": "from memory",
    "estimated": "worked out",
    "common-practice": "shop rule",
}
EVIDENCE_ORDER = tuple(GRADE_WORDS)
#: kinds of material
KINDS = ("species", "engineered", "modified", "core")


@dataclass(frozen=True)
class Figure:
    """One figure in the property's own unit. A range without value has value None."""

    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    condition: dict[str, Any]
    source: str | None
    locator: str | None
    evidence: str
    printed: str | None = None
    for_taxon: str | None = None
    from_: tuple[str, ...] = ()
    added_error: float | None = None
    n: int | None = None
    note: str | None = None

    @property
    def typical(self) -> float:
        """The value, or the middle of the range where only a range is known."""
        if self.value is not None:
            return self.value
        assert self.low is not None and self.high is not None
        return (self.low + self.high) / 2

    @property
    def grade(self) -> str:
        """The evidence in words."""
        return GRADE_WORDS[self.evidence]


@dataclass(frozen=True)
class Figures:
    """All figures of one property: the preferred one (None if none is in the reference condition)."""

    preferred: Figure | None
    others: tuple[Figure, ...] = ()


@dataclass(frozen=True)
class Name:
    text: str
    lang: str
    regions: tuple[str, ...] = ()
    note: str | None = None


@dataclass(frozen=True)
class Material:
    """One wood or sheet. The blocks keep the file's own keys (see data/ and catalogue.schema); woods
    are the accepted Latin names of every wood in it, which is what the law asks about."""

    id: str
    kind: str
    hardness_group: str
    name: str
    botanical_name: str | None
    family: str | None
    synonyms: tuple[str, ...]
    names: tuple[Name, ...]
    woods: tuple[str, ...]
    grows: dict[str, Any]
    look: dict[str, Any]
    veneer: dict[str, Any]
    working: dict[str, Any]
    red_list: dict[str, Any]
    made_from: dict[str, Any] | None
    cautions: tuple[str, ...]
    figures: dict[str, Figures] = field(default_factory=dict)

    def figure(self, name: str) -> Figure | None:
        """The preferred figure of a property, or None when none is known in its condition."""
        held = self.figures.get(name)
        return held.preferred if held else None

    @property
    def countries(self) -> tuple[str, ...]:
        """Countries of harvest."""
        return tuple(self.grows["countries"])


#: units as a maker says them
US_WORDS = {"10^6 psi": "million psi"}


def shown(property_name: str, value: float, system: str) -> tuple[str, str]:
    """A value as text and the unit printed, in metric or us."""
    from decimal import Decimal

    from woodref.units import convert

    prop = PROPERTIES[property_name]
    unit = prop.us if system == "us" else prop.unit
    if unit == prop.unit:
        return f"{value:,.{prop.digits}f}", "" if unit == "1" else unit
    out = float(convert(Decimal(repr(value)), prop.unit, unit))
    # three figures are all that a conversion of a table's value is worth
    digits = max(0, 2 - math.floor(math.log10(abs(out)))) if out else 0
    kept = float(f"{out:.3g}")
    return f"{kept:,.{digits}f}", US_WORDS.get(unit, unit)


def condition_words(figure: Figure) -> str:
    """The condition in a few words: 'at 12 % moisture, set 2-in.'"""
    c = figure.condition
    parts = []
    mc = c.get("mc")
    if isinstance(mc, (int, float)):
        parts.append(f"at {mc:g} % moisture")
    elif mc and mc != "not-stated":
        parts.append(str(mc))
    elif mc == "not-stated":
        parts.append("moisture not stated")
    if c.get("to"):
        parts.append(f"green to {c['to']}")
    if c.get("part"):
        parts.append(c["part"])
    if c.get("volume") == "green":
        parts.append("oven-dry mass on green volume")
    elif c.get("volume"):
        parts.append("volume basis not stated" if c["volume"] == "not-stated" else "oven-dry volume")
    if c.get("direction") and c["direction"] != "side":
        parts.append(f"{c['direction']} face")
    parts += [str(c[key]) for key in ("method", "set") if c.get(key)]
    if c.get("stand") == "planted":
        parts.append("planted wood" + (f", {c['age']}" if c.get("age") else ""))
    return ", ".join(parts)


def citation(figure: Figure) -> str:
    """'read in table, fpl-gtr-190 Table 5-3a'."""
    place = " ".join(part for part in (figure.source, figure.locator) if part)
    out = f"{figure.grade}, {place}" if place else figure.grade
    if figure.evidence == "estimated":
        out += f", from {' and '.join(figure.from_)}, which adds about {figure.added_error:g} % of error"
    if figure.for_taxon:
        out += f"; measured on {figure.for_taxon}"
    return out
