"""Pairs of chips, now and after years of light, in columns: one picture for each way of changing."""

from __future__ import annotations

import math
from collections.abc import Sequence

from woodref.explorer.drawn.chips import HATCH, chip
from woodref.explorer.drawn.shapes import Box, attribute, cut_short, tag, text_at
from woodref.selection.lightpairs import Pair

#: columns, their width, the step from row to row
COLUMNS, COLUMN, ROW = 2, 344, 30
NOW, ARROW, AFTER = 46, 18, 84
WIDE = COLUMNS * COLUMN
TEXT, WORD = 14.0, 12.5
#: room for a name
NAME = COLUMN - NOW - ARROW - AFTER - 8 - 6


def cells(count: int) -> list[Box]:
    """Where each pair stands, row by row."""
    return [Box(n % COLUMNS * COLUMN, n // COLUMNS * ROW + 2, COLUMN - 6, ROW - 4) for n in range(count)]


def high(count: int) -> int:
    return math.ceil(count / COLUMNS) * ROW + 4


def draw(key: str, heading: str, pairs: Sequence[Pair], links: str = "/wood/") -> str:
    """One picture. key names it apart from the others of the page. Chips that recur are written once."""
    kinds: dict[tuple[str, bool], str] = {}
    for pair in pairs:
        kinds.setdefault((pair.now.hex, pair.now.measured), f"{key}{len(kinds)}")
    word = pairs[0].word if pairs else ""
    out = [
        f'<svg class="drawn pairs" viewBox="0 0 {WIDE} {high(len(pairs))}" role="group" '
        f'aria-labelledby="{key}-t" xmlns="http://www.w3.org/2000/svg">',
        tag("title", heading, id=f"{key}-t"),
        HATCH.replace('id="hatch"', f'id="hatch-{key}"'),
        "<defs>",
    ]
    for (fill, measured), name in kinds.items():
        made = chip(0, 0, NOW, ROW - 4, fill, measured).replace("url(#hatch)", f"url(#hatch-{key})")
        out.append(f'<g id="{name}">{made}</g>')
    out += [
        f'<g id="{key}w"><path class="line" d="M{NOW + 2} {ROW / 2 - 2:g}h{ARROW - 6}m-4-4l4 4-4 4"/>'
        f'<rect class="empty" x="{NOW + ARROW}" width="{AFTER}" height="{ROW - 4}"/>'
        f"{text_at(NOW + ARROW + AFTER / 2, ROW / 2 + 2, word, size=WORD, anchor='middle')}</g>",
        "</defs>",
    ]
    for pair, cell in zip(pairs, cells(len(pairs)), strict=True):
        name = cut_short(pair.material.name, NAME, TEXT)
        if pair.after is None:
            after = f'<use href="#{key}w" x="{cell.x:g}" y="{cell.y:g}"/>'
        else:
            after = chip(cell.x + NOW + ARROW, cell.y, AFTER, ROW - 4, pair.after.hex, pair.after.measured)
        bold = "mine" if pair.marked else ""
        out.append(
            f'<a href="{attribute(links + pair.material.id)}"><title>{attribute(pair.says)}</title>'
            f'<use href="#{kinds[pair.now.hex, pair.now.measured]}" x="{cell.x:g}" y="{cell.y:g}"/>{after}'
            f"{text_at(cell.x + NOW + ARROW + AFTER + 8, cell.y + ROW / 2 + 3, name, size=TEXT, kind=bold)}</a>"
        )
    return "\n".join([*out, "</svg>"])
