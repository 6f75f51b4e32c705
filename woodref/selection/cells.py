"""Cells of tables of woods, and the table of `find`: apart from what ranks and explains."""

from __future__ import annotations

from typing import TYPE_CHECKING

from woodref.catalogue.material import US_WORDS, Figure, Material, shown
from woodref.catalogue.properties import PROPERTIES
from woodref.selection import status, words

if TYPE_CHECKING:
    from woodref.selection.find import Finds

MARKS = {"quoted": "r", "recalled": "m", "estimated": "w", "common-practice": "s"}
LEGEND = "Figures: r read in table, m from memory, w worked out, s shop rule, - not known."


def marked(material: Material, name: str, system: str) -> str:
    """'458 r': a figure with the mark of its grade, or '-'."""
    figure = material.figure(name)
    return "-" if figure is None else _marked(figure, system)


def _marked(figure: Figure, system: str) -> str:
    text, _ = shown(figure.name, figure.typical, system)
    return f"{text} {MARKS[figure.evidence]}"


def unit_head(name: str, system: str) -> str:
    """'weight kg/m3': the column's word and unit."""
    prop = PROPERTIES[name]
    unit = US_WORDS.get(prop.us, prop.us) if system == "us" else prop.unit
    word = words.SHORT_NAMES.get(name, prop.asks)
    return f"{word} {unit}" if unit != "1" else word


def latin(material: Material) -> str:
    """The botanical name, or the woods in an engineered sheet."""
    if material.botanical_name or not material.woods:
        return material.botanical_name or "no botanical name"
    return "made of " + " and ".join(material.woods)


def find_table(found: Finds, system: str = "metric") -> tuple[list[str], list[list[str]], set[int], str]:
    """The rows of `find`: head, cells, columns set flush right, legend."""
    colour = ["colour"] if found.query.like_colour else []
    head = ["wood", "botanical name", "id", *(unit_head(n, system) for n in found.asked), *colour,
            "planted", "origins not listed"]  # fmt: skip
    rows = []
    for row in found.rows:
        m = row.material
        looks = [f"{row.colour:.0f}" if isinstance(row.colour, float) else str(row.colour)]
        rows.append(
            [
                m.name,
                latin(m),
                m.id,
                *(marked(m, name, system) for name in found.asked),
                *(looks if colour else []),
                m.grows["plantation"]["grown"],
                row.origins.share(m),
            ]
        )
    legend = LEGEND
    if found.query.plantation:
        legend += " " + status.PLANTED_SENTENCE
    return head, rows, set(range(3, 3 + len(found.asked))), legend
