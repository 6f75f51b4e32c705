"""Woods side by side: every figure with its grade, and the difference from the first in percent."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material, citation
from woodref.catalogue.names import Matched
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest
from woodref.selection import status, words
from woodref.selection.criteria import COLOUR_WORDS
from woodref.selection.estimates import RATIOS, RULES, estimate_notices, estimated
from woodref.selection.explain import criterion_name, gap_words
from woodref.selection.matching import class_step
from woodref.selection.movement import leaf_words, movement_per_100
from woodref.selection.portrait import figure_dict

MOST = 6
#: numbers whose difference is also told in words
NOTICED = ("density", "moe", "side_hardness", "movement")


@dataclass(frozen=True)
class Aspect:
    """One thing compared: a cell and a value a wood; differences in percent of the first (or None)."""

    name: str
    asks: str
    cells: tuple[str, ...]
    values: tuple[float | str | None, ...]
    differences: tuple[float | None, ...]


@dataclass(frozen=True)
class SideBySide:
    materials: tuple[Material, ...]
    aspects: tuple[Aspect, ...]
    sentences: tuple[str, ...]
    notices: tuple[Notice, ...]
    stamp: dict[str, str]
    estimates: bool = False
    #: one sentence for each wood but the first: how it differs from that
    in_words: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `compare`."""
        return {
            "query": {"names": [m.id for m in self.materials], "estimates": self.estimates},
            "count": len(self.materials),
            "rows": [
                {
                    "id": m.id,
                    "name": m.name,
                    "botanical_name": m.botanical_name,
                    "kind": m.kind,
                    "figures": {n: figure_dict(f) if (f := m.figure(n)) else None for n in PROPERTIES},
                }
                for m in self.materials
            ],
            "aspects": [
                {"name": a.name, "values": list(a.values), "difference": list(a.differences)}
                for a in self.aspects
            ],
            "in_words": list(self.in_words),
            "sentences": list(self.sentences),
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def compare(
    matched: list[Matched],
    catalogue: Catalogue,
    on: dt.date,
    system: str = "metric",
    estimates: bool = False,
) -> SideBySide:
    """Lay 2 to 6 woods side by side; the first is what the others are measured against.

    estimates: what is not held is worked out from weight.
    """
    ids = list(dict.fromkeys(m.id for m in matched))
    if not 2 <= len(ids) <= MOST:
        plural = "" if len(ids) == 1 else "s"
        raise BadRequest(f"{len(ids)} different wood{plural} to compare", expected=f"2 to {MOST}")
    materials = tuple(catalogue.material(i) for i in ids)
    if estimates:
        materials = tuple(estimated(m) for m in materials)
    aspects = [a for name in PROPERTIES if (a := _figure(name, materials, system)) is not None]
    aspects.insert(0, _movement(materials, system))
    aspects += _words(materials, catalogue)
    sentences = tuple(
        f"{m.name}: {status.origin_sentence(m, status.origins(m, on, catalogue), catalogue)}"
        for m in materials
    )
    notices = (
        *catalogue.notices,
        *(n for m in matched for n in m.notices),
        *status.law_notices(on, catalogue),
        *(estimate_notices(materials) if estimates else ()),
    )
    closing = (*sentences, status.law_caution(catalogue))
    said = _in_words(materials, aspects, catalogue)
    return SideBySide(materials, tuple(aspects), closing, notices, catalogue.stamp, estimates, said)


def _in_words(
    materials: tuple[Material, ...], aspects: list[Aspect], catalogue: Catalogue
) -> tuple[str, ...]:
    """'Beside black walnut, cherry is 9 % lighter, 11 % less stiff ...': what a hand would notice."""
    first = materials[0]
    held = {a.name: a for a in aspects}
    out = []
    for index, material in enumerate(materials[1:], 1):
        told, silent = [], []
        for name in NOTICED:
            gap = held[name].differences[index] if name in held else None
            said = None if gap is None else gap_words(name, gap)
            if said is None:
                silent.append(criterion_name(name))
            else:
                told.append(said)
        told.append(f"colour {COLOUR_WORDS[class_step(first.look, material.look, catalogue)]}")
        missing = f" Not known of both: {words.joined(silent)}." if silent else ""
        out.append(f"{material.name} beside {first.name}: {', '.join(told)}.{missing}")
    return tuple(f"{text[0].upper()}{text[1:]}" for text in out)


def _percent(first: float | None, value: float | None) -> float | None:
    return None if first is None or value is None else 100 * (value - first) / first


def _figure(name: str, materials: tuple[Material, ...], system: str) -> Aspect | None:
    figures = [m.figure(name) for m in materials]
    # class means alone are the same for every wood of the class and compare nothing
    if all(f is None or f.source == RATIOS for f in figures):
        return None
    said = [(words.number_of(f, system), f.typical, f) if f else None for f in figures]
    return _numbers(name, PROPERTIES[name].asks, said)


def _movement(materials: tuple[Material, ...], system: str) -> Aspect:
    moved = [movement_per_100(m, "tangential") for m in materials]
    said = [(leaf_words(m[0], system)[1], *m) if m else None for m in moved]
    size, _ = leaf_words(0.0, system)
    return _numbers("movement", f"movement of a crown leaf, per {size}", said)


def _numbers(name: str, asks: str, said: list[tuple[str, float, Figure] | None]) -> Aspect:
    """One row of numbers from (text, value, figure) a wood, each with its grade and difference."""
    values = [s[1] if s else None for s in said]
    differences = [_percent(values[0], v) for v in values]
    cells = []
    for index, (one, gap) in enumerate(zip(said, differences, strict=True)):
        more = f", {gap:+.0f} %" if index and gap is not None else ""
        cells.append(f"{one[0]} ({_grade(one[2])}){more}" if one else "not known")
    return Aspect(name, asks, tuple(cells), tuple(values), tuple(differences))


def _grade(figure: Figure) -> str:
    """Its evidence in words; of one worked out for this answer also the rule and the error it adds."""
    return citation(figure) if figure.source in RULES else figure.grade


def _words(materials: tuple[Material, ...], catalogue: Catalogue) -> list[Aspect]:
    first = materials[0]
    colours = []
    for m in materials:
        said = catalogue.colour_classes[m.look["class"]].words
        step = COLOUR_WORDS[class_step(first.look, m.look, catalogue)]
        colours.append(said if m is first else f"{said} ({step})")
    rows = [
        ("colour", "colour", tuple(colours)),
        ("texture", "texture", tuple(m.look["texture"] for m in materials)),
        ("pores", "pores", tuple(m.look["pores"] for m in materials)),
        ("light", "in years of light", tuple(words.light_words(m) for m in materials)),
        ("veneer", "sold as veneer", tuple(words.SOLD_WORDS[m.veneer["sold"]] for m in materials)),
        ("dust", "dust", tuple(m.working["dust"]["risk"] for m in materials)),
        ("planted", "planted for timber", tuple(m.grows["plantation"]["grown"] for m in materials)),
    ]
    empty = tuple(None for _ in materials)
    return [Aspect(name, asks, cells, cells, empty) for name, asks, cells in rows]
