"""A picture of spots: plain marks of one size, straight lines named in words, and the names that fit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from woodref.explorer.drawn.labels import Label, Wish, loneliest_first, placed
from woodref.explorer.drawn.scales import Scale, fitted
from woodref.explorer.drawn.shapes import Box, attribute, mark, tag, text_at, wide
from woodref.selection.pictures import REFERENCES, Spot, Spread

WIDE, HIGH = 720, 560
#: the field of the marks, the words of the axes outside it
FIELD = Box(58, 26, WIDE - 58 - 16, HIGH - 26 - 54)
TEXT, SMALL = 13.0, 12.0
#: names that are put beside marks at the most
NAMES = 36


@dataclass(frozen=True)
class LineWords:
    """The words of a line: from, toward its upper end, and the room they take as small boxes."""

    x: float
    y: float
    turn: float
    words: str
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class Layout:
    """Where everything stands before it is written down."""

    x: Scale
    y: Scale
    places: tuple[tuple[float, float], ...]
    ends: tuple[tuple[float, float, float, float], ...]
    line_words: tuple[LineWords, ...]
    labels: tuple[Label, ...]


def layout(spread: Spread) -> Layout:
    """Scales, places of the marks, lines within the field, their words, and the names that fit."""
    x = fitted([s.x for s in spread.spots], FIELD.x, FIELD.right)
    y = fitted([s.y for s in spread.spots], FIELD.bottom, FIELD.y)
    places = tuple((x.at(s.x), y.at(s.y)) for s in spread.spots)
    ends, told = [], []
    for line in spread.lines:
        end = _clipped(line.slope, x, y)
        if end is None:
            continue
        words = _along(end, line.says)
        ends.append(end)
        if words is not None and not any(b.meets(o) for w in told for o in w.boxes for b in words.boxes):
            told.append(words)
    taken = [box for words in told for box in words.boxes]
    order = _order(spread.spots, places)
    wishes = [Wish(*places[k], spread.spots[k].material.name) for k in order]
    found = placed(wishes, Box(FIELD.x + 2, FIELD.y + 2, FIELD.width - 4, FIELD.height - 4), taken,
                   size=SMALL, most=NAMES)  # fmt: skip
    labels = tuple(Label(order[label.wish], label.words, label.box) for label in found)
    return Layout(x, y, places, tuple(ends), tuple(told), labels)


def _order(spots: list[Spot], places: tuple[tuple[float, float], ...]) -> list[int]:
    """Who gets its name first: the marked wood, those a line is named after, those within reach of it, then
    those that stand alone."""
    alone = {k: n for n, k in enumerate(loneliest_first(places))}
    return sorted(
        range(len(spots)),
        key=lambda k: (
            not spots[k].marked,
            spots[k].material.id not in REFERENCES,
            not spots[k].within,
            alone[k],
        ),
    )


def _clipped(slope: float, x: Scale, y: Scale) -> tuple[float, float, float, float] | None:
    """The part of y = slope x inside the field, lower left end first; None where it does not pass."""
    low, high = max(x.low, y.low / slope), min(x.high, y.high / slope)
    if low >= high:
        return None
    return x.at(low), y.at(low * slope), x.at(high), y.at(high * slope)


def _along(end: tuple[float, float, float, float], words: str) -> LineWords | None:
    """Words just above a line, ending near its upper end; None where it is too short for them."""
    x0, y0, x1, y1 = end
    length, turn = math.hypot(x1 - x0, y1 - y0), math.atan2(y1 - y0, x1 - x0)
    need = wide(words, SMALL)
    if need + 24 > length:
        return None
    dx, dy = math.cos(turn), math.sin(turn)
    # up and to the left of the line, square to it
    fx, fy = x1 - 12 * dx + 5 * dy, y1 - 12 * dy - 5 * dx
    count = max(2, math.ceil(need / SMALL))
    boxes = []
    for k in range(count + 1):
        along = need * k / count
        cx, cy = fx - along * dx + SMALL / 3 * dy, fy - along * dy - SMALL / 3 * dx
        boxes.append(Box(cx - SMALL / 2, cy - SMALL / 2, SMALL, SMALL))
    return LineWords(fx, fy, math.degrees(turn), words, tuple(boxes))


def draw(spread: Spread, fills: Mapping[str, str], links: str = "/wood/") -> str:
    """The picture as SVG. fills: colour class -> hex."""
    at = layout(spread)
    out = [
        f'<svg class="drawn spots" viewBox="0 0 {WIDE} {HIGH}" role="group" aria-labelledby="pic-t" '
        'aria-describedby="pic-d" xmlns="http://www.w3.org/2000/svg">',
        tag("title", spread.title, id="pic-t"),
        tag("desc", in_words(spread), id="pic-d"),
        *_axes(spread, at),
    ]
    for x0, y0, x1, y1 in at.ends:
        out.append(f'<path class="line" d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}"/>')
    for words in at.line_words:
        out.append(
            text_at(words.x, words.y, words.words, size=SMALL, anchor="end", turn=words.turn, kind="said")
        )
    if spread.reach:
        left, right, low, high = spread.reach
        box = _clamped(at, left, right, low, high)
        out.append(
            f'<rect class="reach" x="{box.x:.1f}" y="{box.y:.1f}" width="{box.width:.1f}" '
            f'height="{box.height:.1f}"/>'
        )
    out += _marks(spread, at, fills, links)
    for label in at.labels:
        bold = "mine" if spread.spots[label.wish].marked else ""
        y = label.box.y + label.box.height * 0.82
        out.append(text_at(label.box.x, y, label.words, size=SMALL, kind=bold))
    return "\n".join([*out, "</svg>"])


def _clamped(at: Layout, left: float, right: float, low: float, high: float) -> Box:
    x0, x1 = max(at.x.at(left), FIELD.x), min(at.x.at(right), FIELD.right)
    y0, y1 = max(at.y.at(high), FIELD.y), min(at.y.at(low), FIELD.bottom)
    return Box(x0, y0, max(x1 - x0, 0), max(y1 - y0, 0))


def _axes(spread: Spread, at: Layout) -> list[str]:
    f, out = FIELD, ['<g class="axes">']
    for value in at.x.ticks:
        x = at.x.at(value)
        out.append(f'<path d="M{x:.1f} {f.bottom:g}v5"/>')
        out.append(text_at(x, f.bottom + 19, f"{value:,.{_digits(at.x)}f}", size=TEXT, anchor="middle"))
    for value in at.y.ticks:
        y = at.y.at(value)
        out.append(f'<path d="M{f.x:g} {y:.1f}h-5"/>')
        out.append(text_at(f.x - 8, y + 4, f"{value:,.{_digits(at.y)}f}", size=TEXT, anchor="end"))
    out.append(f'<path d="M{f.x:g} {f.y:g}V{f.bottom:g}H{f.right:g}"/>')
    out.append(text_at(f.right, f.bottom + 42, spread.x.words, size=TEXT, anchor="end"))
    out.append(text_at(8, 15, spread.y.words, size=TEXT))
    return [*out, "</g>"]


def _digits(scale: Scale) -> int:
    return max(0, -math.floor(math.log10(scale.step) + 1e-9))


def _marks(spread: Spread, at: Layout, fills: Mapping[str, str], links: str) -> list[str]:
    out = []
    for spot, (x, y) in zip(spread.spots, at.places, strict=True):
        m = spot.material
        ring = f'<circle class="mine" cx="{x:.1f}" cy="{y:.1f}" r="9"/>' if spot.marked else ""
        out.append(
            f'<a href="{attribute(links + m.id)}"><title>{attribute(spot.says)}</title>'
            f"{mark(m.kind, x, y, fills[m.look['class']])}{ring}</a>"
        )
    return out


def in_words(spread: Spread) -> str:
    """The picture for those who do not see it."""
    lines = "; ".join(line.says for line in spread.lines)
    count = "1 mark" if len(spread.spots) == 1 else f"{len(spread.spots)} marks"
    told = f"{count}. Sideways: {spread.x.words}. Upward: {spread.y.words}."
    return f"{told} Lines: {lines}. The table below holds the same." if lines else told
