"""Browsing by limits: which woods lie in these ranges, look like this, are not listed."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Figure, Material
from woodref.catalogue.names import close_spellings
from woodref.catalogue.properties import PROPERTIES, wide_column
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, echo
from woodref.science.colour import Lab, ciede2000, parse_hex, srgb_to_lab
from woodref.selection import status
from woodref.selection.estimates import estimate_sentences, estimated
from woodref.selection.facets import Facet, facets
from woodref.selection.glues import called_so
from woodref.selection.onhand import Shelf, on_shelf
from woodref.selection.portrait import figure_dict
from woodref.selection.wanted import measured
from woodref.units import Range, span

#: CIEDE2000 within which a measured colour counts as like the one asked for, unless said otherwise
WITHIN = 12.0


@dataclass(frozen=True)
class Query:
    """What is asked. limits: property -> range in the property's unit; only: facet (`facets`) -> the word
    a wood must have."""

    text: str = ""
    limits: dict[str, Range] = field(default_factory=dict)
    plantation: bool = False
    not_listed: bool = False
    kind: str | None = None
    like_colour: str | None = None
    within: float = WITHIN
    rows: int | None = None
    estimates: bool = False
    only: Mapping[str, str] = field(default_factory=dict)
    in_stock: bool = False

    def as_dict(self) -> dict[str, Any]:
        return {
            "text": self.text or None,
            "with": {name: str(limit) for name, limit in self.limits.items()},
            "plantation": self.plantation,
            "not_listed": self.not_listed,
            "kind": self.kind,
            "like_colour": self.like_colour,
            "within": self.within if self.like_colour else None,
            "rows": self.rows,
            "estimates": self.estimates,
            "only": dict(self.only),
            "in_stock": self.in_stock,
        }


@dataclass(frozen=True)
class Found:
    """One wood that meets the query. colour: CIEDE2000 or a word; matched: the name that matched."""

    material: Material
    says: str
    origins: status.Origins
    colour: float | str | None = None
    matched: str | None = None

    def as_dict(self, asked: tuple[str, ...]) -> dict[str, Any]:
        m = self.material
        figures = {name: m.figure(name) for name in asked}
        return {
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "kind": m.kind,
            "matched": self.matched,
            "figures": {n: figure_dict(f) if f else None for n, f in figures.items()},
            "colour": self.colour,
            "plantation": m.grows["plantation"],
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "says": self.says,
        }

    def flat(self, asked: tuple[str, ...]) -> dict[str, Any]:
        """One line for CSV."""
        m = self.material
        return {
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "kind": m.kind,
            **{wide_column(n): (f.typical if (f := m.figure(n)) else None) for n in asked},
            "colour": self.colour,
            "planted": m.grows["plantation"]["grown"],
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
        }


@dataclass
class Finds:
    """The answer: rows in order of the first thing asked, and what could not be judged."""

    query: Query
    asked: tuple[str, ...]
    rows: list[Found]
    count: int
    closing: list[str]
    notices: list[Notice]
    stamp: dict[str, str]
    #: woods that meet the query and are not on hand in what is asked
    not_held: frozenset[str] = frozenset()

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `find`."""
        return {
            "query": self.query.as_dict(),
            "count": self.count,
            "rows": [row.as_dict(self.asked) for row in self.rows],
            "closing": self.closing,
            "in_stock": None,
            "from_lists": None,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def limit(text: str) -> tuple[str, Range]:
    """'density=450..600' -> the property and its range; BadRequest or BadQuantity say what is
    accepted."""
    name, sign, wanted = text.partition("=")
    name = name.strip().replace("-", "_")
    if not sign:
        raise BadRequest(f"{echo(text)} has no =", expected="PROPERTY=RANGE, such as density=450..600")
    if name not in PROPERTIES:
        raise BadRequest(f"{echo(name)} is not a property", expected=f"one of {', '.join(PROPERTIES)}")
    return name, span(wanted, PROPERTIES[name].unit)


def limits_of(texts: Iterable[str]) -> dict[str, Range]:
    """Several PROPERTY=RANGE; two on one property both hold. BadRequest when nothing can meet them."""
    out: dict[str, Range] = {}
    for text in texts:
        name, wanted = limit(text)
        held = out.get(name)
        if held is not None:
            low = max((e for e in (held.low, wanted.low) if e is not None), default=None)
            high = min((e for e in (held.high, wanted.high) if e is not None), default=None)
            if low is not None and high is not None and low > high:
                raise BadRequest(
                    f"the limits {held} and {wanted} on {name} leave nothing between them",
                    next="Drop or widen one of them.",
                )
            wanted = Range(low, high, wanted.unit)
        out[name] = wanted
    return out


def find(query: Query, catalogue: Catalogue, on: dt.date, shelf: Shelf | None = None) -> Finds:
    """Every material that meets all limits. A figure that is not known meets no limit, and how many
    woods fell out for that is said. shelf: only woods on hand, judged by where those grew."""
    if not 0 <= query.within < math.inf:
        raise BadRequest(f"--within {query.within} is no distance", expected="a colour distance such as 12")
    target = srgb_to_lab(*parse_hex(query.like_colour)) if query.like_colour else None
    asked = tuple(query.limits) or ("density", "moe")
    hits = _text_hits(query.text, catalogue)
    heaps = facets(catalogue) if query.only else {}
    rows: list[Found] = []
    silent: dict[str, int] = {}
    not_held: set[str] = set()
    for material in catalogue.materials():
        if hits is not None and material.id not in hits:
            continue
        if query.kind and material.kind != query.kind:
            continue
        if query.plantation and not status.planted(material):
            continue
        if not _lies_in(material, query.only, heaps):
            continue
        if query.estimates:
            material = estimated(material)
        if not within_limits(material.figure, query.limits, silent):
            continue
        mine = on_shelf(material, shelf) if shelf is not None else None
        origins = status.origins(material, on, catalogue, mine.known if mine else None)
        if query.not_listed and (not origins.free or (mine and not mine.known and origins.listed)):
            continue
        colour = _colour(material, target, query.within, catalogue) if target else None
        if target and colour is None:
            continue
        if shelf is not None and mine is None:
            not_held.add(material.botanical_name or material.id)
            continue
        says = (
            _says(material, origins, on, catalogue)
            if mine is None
            else status.origin_sentence(material, origins, catalogue)
        )
        if query.plantation:
            says += " " + status.plantation_sentence(material, catalogue)
        matched = hits[material.id] if hits is not None else None
        rows.append(Found(material, says, origins, colour, matched))
    rows.sort(key=lambda row: _sort_key(row, query, target))
    kept = rows if query.rows is None else rows[: query.rows]
    return Finds(
        query,
        asked,
        kept,
        len(rows),
        _closing(query, rows, kept, asked, catalogue),
        [*catalogue.notices, *_silence(silent), *status.law_notices(on, catalogue)],
        catalogue.stamp,
        frozenset(not_held),
    )


def _says(material: Material, origins: status.Origins, on: dt.date, catalogue: Catalogue) -> str:
    """What is said of all its origins, worked out once."""
    asked = ("origins said", material.woods, material.countries, on)
    return catalogue.remembered(asked, lambda: status.origin_sentence(material, origins, catalogue))


def _lies_in(material: Material, only: Mapping[str, str], heaps: Mapping[str, Facet]) -> bool:
    return all(heaps[name].of(material) == word for name, word in only.items())


def within_limits(
    figure_of: Callable[[str], Figure | None], limits: Mapping[str, Range], silent: dict[str, int]
) -> bool:
    """Whether the figures of a wood lie within all limits. silent: property -> how many did not tell it."""
    for name, wanted in limits.items():
        figure = figure_of(name)
        if figure is None:
            silent[name] = silent.get(name, 0) + 1
            return False
        if not wanted.holds(figure.typical):
            return False
    return True


def _silence(silent: dict[str, int]) -> list[Notice]:
    return [
        Notice(
            "figure-not-known",
            f"Of {count} more {'wood' if count == 1 else 'woods'} the {PROPERTIES[name].asks} is not "
            "known: not shown, not refused.",
        )
        for name, count in silent.items()
    ]


def _text_hits(text: str, catalogue: Catalogue) -> dict[str, str] | None:
    """Materials one of whose names holds every word typed, as a beginning of a word."""
    if not text.strip():
        return None
    words = [f" {word}" for word in fold(text).split()]
    first, rest = (words or [""])[0], words[1:]
    hits: dict[str, str] = {}
    for held in catalogue.names:
        padded = f" {held.folded}"
        if first in padded and all(word in padded for word in rest):
            hits.setdefault(held.material_id, held.text)
    return hits


def _colour(material: Material, target: Lab, within: float, catalogue: Catalogue) -> float | str | None:
    """CIEDE2000 to a measured colour; else "near" when the wood's coarse class is one of those whose
    representative colour lies within the distance (or is the nearest of all); None when neither."""
    seen = measured(material)
    if seen is not None:
        gap = ciede2000(seen[0], target)
        return gap if gap <= within else None
    gaps = {c.id: ciede2000(c.lab, target) for c in catalogue.colour_classes.values()}
    # a word is too coarse to stretch: however far one asks, a class counts up to the usual distance
    reach = max(min(within, WITHIN), min(gaps.values()))
    return "near" if gaps[material.look["class"]] <= reach else None


def _sort_key(row: Found, query: Query, target: Lab | None) -> tuple[float, str]:
    if target is not None:
        return (row.colour if isinstance(row.colour, float) else query.within, row.material.id)
    if query.limits:
        figure = row.material.figure(next(iter(query.limits)))
        return (figure.typical if figure else 0.0, row.material.id)
    return (0.0, row.material.id)


def _closing(
    query: Query, rows: list[Found], kept: list[Found], asked: tuple[str, ...], catalogue: Catalogue
) -> list[str]:
    out = []
    bare = not query.limits and not query.like_colour and not query.in_stock
    if not rows and query.text and bare:
        near = close_spellings(fold(query.text), catalogue)
        told = ", ".join(c.name for c in near)
        hint = f" Close spellings: {told}." if told else " Try a shorter beginning of the name."
        out.append(
            called_so(query.text, catalogue) or f"No name of the catalogue holds {echo(query.text)}.{hint}"
        )
    elif not rows and query.in_stock:
        out.append("No wood on hand meets all of this: drop or widen a limit, or leave out --in-stock.")
    elif not rows:
        out.append("No wood of the catalogue meets all of this: drop or widen a limit.")
    if query.rows is not None and len(rows) > query.rows:
        out.append(f"{query.rows} of {len(rows)} shown; --rows for more.")
    if query.like_colour and any(row.colour == "near" for row in rows):
        out.append('Colours marked "near" are compared by a coarse word, not measured: look at a sheet.')
    if query.estimates:
        out += estimate_sentences((row.material for row in kept), asked)
    out.append(status.law_caution(catalogue))
    return out
