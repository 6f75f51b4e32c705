"""Pairs of chips, now and after years of light, in columns: one picture for each way of changing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from woodref.explorer.drawn.chips import HATCH, chip
from woodref.explorer.drawn.shapes import Box, attribute, cut_short, tag, text_at, wide, wrapped
from woodref.selection.lightpairs import Chip, Pair

#: pairs of one column at the most
MOST = 18
#: width of a column, the step from row to row
WIDE, ROW = 336, 34
NOW, ARROW, AFTER, HIGH = 42, 18, 80, 28
#: where names begin, and the room they have
NAME = NOW + ARROW + AFTER + 8
TEXT, LONG, WORD = 14.0, 12.5, 12.5


def columns(pairs: Sequence[Pair]) -> list[Sequence[Pair]]:
    """The pairs in columns of about the same length that fit a sheet of paper, one when they are few. Each
    becomes a picture of its own, so that two stand side by side where there is room and else one below the
    other."""
    if len(pairs) < 4:
        return [pairs]
    count = 2 * math.ceil(len(pairs) / (2 * MOST))
    each = math.ceil(len(pairs) / count)
    return [pairs[n : n + each] for n in range(0, len(pairs), each)]


def cells(count: int) -> list[Box]:
    """Where each pair of a column stands."""
    return [Box(2, n * ROW + 3, WIDE - 4, HIGH) for n in range(count)]


def high(count: int) -> int:
    return count * ROW + 4


def name_lines(name: str) -> tuple[list[str], float]:
    """A name in one line, or in two smaller ones, and their size."""
    room = WIDE - 4 - NAME
    if wide(name, TEXT) <= room:
        return [name], TEXT
    parts = [part.replace("- ", "-") for part in wrapped(name.replace("-", "- "), room, LONG)]
    if len(parts) > 2:
        parts = [parts[0], cut_short(" ".join(parts[1:]), room, LONG)]
    return parts, LONG


def draw(key: str, heading: str, pairs: Sequence[Pair], links: str = "/wood/") -> list[str]:
    """The pairs as pictures, one a column. key names them apart from others of the page. Chips that recur are
    written once, in the first column."""
    kinds: dict[tuple[Chip, Chip | None], str] = {}
    for pair in pairs:
        kinds.setdefault((pair.now, pair.after), f"{key}-{len(kinds)}")
    out = []
    for n, column in enumerate(columns(pairs)):
        told = [
            f'<svg class="drawn pairs" viewBox="0 0 {WIDE} {high(len(column))}" role="group" '
            f'font-size="{TEXT:g}" aria-labelledby="{key}-t{n}" xmlns="http://www.w3.org/2000/svg">',
            tag("title", heading, id=f"{key}-t{n}"),
            *([_once(key, kinds, pairs[0].word)] if n == 0 else []),
        ]
        for pair, cell in zip(column, cells(len(column)), strict=True):
            href, place = attribute(links + pair.material.id), f"translate({cell.x:g} {cell.y:g})"
            told.append(
                f'<a href="{href}" transform="{place}">'
                f'<title>{attribute(pair.says)}</title><use href="#{kinds[pair.now, pair.after]}"/>'
                f"{_name(pair)}</a>"
            )
        out.append("\n".join([*told, "</svg>"]))
    return out


def _once(key: str, kinds: Mapping[tuple[Chip, Chip | None], str], word: str) -> str:
    """What recurs in a group: the word in its empty chip, and every pair of chips."""
    arrow = f'<path class="line" d="M{NOW + 3} {HIGH / 2:g}h{ARROW - 6}m-4-4l4 4-4 4"/>'
    said = text_at(NOW + ARROW + AFTER / 2, HIGH / 2 + 4, word, size=WORD, anchor="middle")
    out = [
        HATCH.replace('id="hatch"', f'id="hatch-{key}"'),
        f'<defs><g id="{key}-w">{arrow}'
        f'<rect class="empty" x="{NOW + ARROW}" width="{AFTER}" height="{HIGH}"/>{said}</g>',
    ]
    for (now, after), name in kinds.items():
        made = chip(0, 0, NOW, HIGH, now.hex, now.measured)
        if after is None:
            made += f'<use href="#{key}-w"/>'
        else:
            made += arrow + chip(NOW + ARROW, 0, AFTER, HIGH, after.hex, after.measured)
        out.append(f'<g id="{name}">{made.replace("url(#hatch)", f"url(#hatch-{key})")}</g>')
    return "".join([*out, "</defs>"])


def _name(pair: Pair) -> str:
    lines, size = name_lines(pair.material.name)
    first = HIGH / 2 + size * 0.36 - (len(lines) - 1) * size * 0.54
    more = ' class="name"' if pair.marked else ""
    if size != TEXT:
        more += f' font-size="{size:g}"'
    return "".join(
        f'<text x="{NAME}" y="{first + n * size * 1.08:.0f}"{more}>{attribute(line)}</text>'
        for n, line in enumerate(lines)
    )
