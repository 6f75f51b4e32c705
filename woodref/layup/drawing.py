"""The pack drawn: its edge to one scale, and below it what the air does to the part. SVG alone, with words
for it. Nothing is told by colour alone: grain is drawn, and every ply has its words.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from woodref.layup.drawtext import PAPER, PER_MM, STYLE, WIDE, safe
from woodref.layup.edgedrawing import details, edge
from woodref.layup.partdrawing import moves, part

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue
    from woodref.layup.report import Report


def class_colours(catalogue: Catalogue) -> dict[str, str]:
    """Class of a wood's look -> the colour it is drawn in."""
    from woodref.science.colour import lab_to_hex

    return {name: lab_to_hex(c.lab) for name, c in catalogue.colour_classes.items()}


def draw(report: Report, colours: Mapping[str, str] | None = None, styled: bool = True) -> str:
    """The drawing of a report. colours: class of a wood's look -> '#rrggbb'; without it plies are left
    white. styled: it carries its style; False where the page around it loads `drawtext.STYLE`."""
    pack, y = edge(report, colours or {})
    picture, end = part(report, y + 34)
    height = math.ceil(end + 4)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="pack-drawing" viewBox="0 0 {WIDE} {height}" '
        f'width="{PAPER:g}mm" height="{height / PER_MM:.1f}mm" role="img" '
        'aria-labelledby="pack-title pack-words">',
        f'<title id="pack-title">{safe(report.headline())}</title>',
        f'<desc id="pack-words">{safe(" ".join(in_words(report)))}</desc>',
        *([f"<style>{STYLE}</style>"] if styled else []),
        f'<rect class="pd-paper" width="{WIDE}" height="{height}"/>',
        *pack,
        *picture,
        "</svg>",
    ]
    return "\n".join(out) + "\n"


def in_words(report: Report) -> list[str]:
    """The drawing in words: plies in order, what is spread, what the air does."""
    out = ["The edge of the pack, show face on top."]
    out += [f"Ply {s.number}: {s.name}, {', '.join(details(report, s))}." for s in report.pack.sheets]
    if report.spreading.left_out:
        out.append(report.spreading.left_out)
    return [*out, *moves(report)]
