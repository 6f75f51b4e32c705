"""A picture of spots: plain marks of one size, straight lines named in words, and the names that fit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from woodref.explorer.drawn.labels import Label, Wish, loneliest_first, placed
from woodref.explorer.drawn.scales import Scale, fitted
from woodref.explorer.drawn.shapes import Box, attribute, mark, tag, text_at, wide
from woodref.selection.pictures import REFERENCES, Spot, Spread


@dataclass(frozen=True)
class Sheet:
    """Sizes of a picture. key: names it apart from another of the page; field: of the marks, the words of the
    axes lie outside it; text: of the axes, small: of names; names: that are put beside marks at the most;
    steps: about so many at an axis."""

    key: str
    wide: float
    high: float
    field: Box
    text: float
    small: float
    names: int
    steps: int


BROAD = Sheet("broad", 720, 560, Box(58, 26, 638, 480), 13.0, 12.0, 36, 7)
#: for a telephone held upright: shown as wide as it is drawn
SLIM = Sheet("slim", 336, 440, Box(38, 24, 276, 366), 12.0, 11.5, 12, 4)


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

    sheet: Sheet
    x: Scale
    y: Scale
    places: tuple[tuple[float, float], ...]
    ends: tuple[tuple[float, float, float, float], ...]
    line_words: tuple[LineWords, ...]
    labels: tuple[Label, ...]


def layout(spread: Spread, sheet: Sheet = BROAD) -> Layout:
    """Scales, places of the marks, lines within the field, their words, and the names that fit."""
    f = sheet.field
    left, right, low, high = spread.reach if spread.reach and spread.choice.within else (None,) * 4
    x = fitted([*(s.x for s in spread.drawn), *_held(left, right)], f.x, f.right, sheet.steps)
    y = fitted([*(s.y for s in spread.drawn), *_held(low, high)], f.bottom, f.y, sheet.steps)
    places = tuple((x.at(s.x), y.at(s.y)) for s in spread.drawn)
    marks = [Box(px - 5, py - 5, 10, 10) for px, py in places]
    ends = [end for line in spread.lines if (end := _clipped(line.slope, x, y)) is not None]
    told: list[LineWords] = []
    for line in spread.lines:
        end = _clipped(line.slope, x, y)
        if end is not None:
            held = [box for w in told for box in w.boxes]
            words = _beside(end, line.says, sheet, marks, held) or _beside(
                end, line.short, sheet, marks, held, 99
            )
            told += [words] if words else []
    taken = [box for words in told for box in words.boxes]
    order = _order(spread.drawn, places)
    wishes = [
        Wish(*places[k], spread.drawn[k].material.name, 4.0 if spread.drawn[k].marked else 0.0) for k in order
    ]
    inner = Box(f.x + 2, f.y + 2, f.width - 4, f.height - 4)
    found = placed(wishes, inner, taken, size=sheet.small, most=sheet.names)
    labels = tuple(replace(label, wish=order[label.wish]) for label in found)
    return Layout(sheet, x, y, places, tuple(ends), tuple(told), labels)


def _held(*ends: float | None) -> list[float]:
    return [end for end in ends if end is not None]


def _order(spots: list[Spot], places: tuple[tuple[float, float], ...]) -> list[int]:
    """Who gets its name first: the marked wood, those a line is named after, those within reach of it, then
    woods as they grew before made sheets, those that stand alone first."""
    alone = {k: n for n, k in enumerate(loneliest_first(places))}
    return sorted(
        range(len(spots)),
        key=lambda k: (
            not spots[k].marked,
            spots[k].material.id not in REFERENCES,
            not spots[k].within,
            spots[k].material.kind != "species",
            alone[k],
        ),
    )


def _clipped(slope: float, x: Scale, y: Scale) -> tuple[float, float, float, float] | None:
    """The part of y = slope x inside the field, lower left end first; None where it does not pass."""
    low, high = max(x.low, y.low / slope), min(x.high, y.high / slope)
    if low >= high:
        return None
    return x.at(low), y.at(low * slope), x.at(high), y.at(high * slope)


def _beside(
    end: tuple[float, float, float, float],
    words: str,
    sheet: Sheet,
    marks: list[Box],
    taken: list[Box],
    most: int = 0,
) -> LineWords | None:
    """Words along a line, above or below it, where they cover the fewest marks and nothing taken, as near its
    upper end as may be; None where the line is too short for them, or they would cover more than `most`."""
    x0, y0, x1, y1 = end
    size = sheet.small
    length, turn = math.hypot(x1 - x0, y1 - y0), math.atan2(y1 - y0, x1 - x0)
    dx, dy = math.cos(turn), math.sin(turn)
    need = wide(words, size)
    # marks as they lie from the upper end: back along the line, and up from it
    near = [
        (-(px - x1) * dx - (py - y1) * dy, (px - x1) * dy - (py - y1) * dx)
        for px, py in ((mark.x + mark.width / 2, mark.y + mark.height / 2) for mark in marks)
    ]
    best: tuple[int, float, int] | None = None
    kept = None
    for back in range(10, int(length - need) - 9, 10):
        for side in (1, -1):
            low, high = (0.0, size + 10) if side > 0 else (-size - 10, 0.0)
            covered = sum(low < up < high and back - 6 < along < back + need + 6 for along, up in near)
            rank = (covered, back, -side)
            if covered > most or (best is not None and rank >= best):
                continue
            told = _along(end, words, need, size, turn, back, side)
            if not any(box.meets(other) for box in told.boxes for other in taken) and all(
                box.within(sheet.field) for box in told.boxes
            ):
                best, kept = rank, told
        if best is not None and best[0] == 0:
            break
    return kept


def _along(
    end: tuple[float, float, float, float], words: str, need: float, size: float, turn: float, back: float,
    side: int,
) -> LineWords:  # fmt: skip
    """Words that end `back` before the upper end of a line, above it (side 1) or below (side -1)."""
    dx, dy = math.cos(turn), math.sin(turn)
    off = 5.0 if side > 0 else -size - 1.0
    x, y = end[2] - back * dx + off * dy, end[3] - back * dy - off * dx
    count = max(2, math.ceil(need / size * 1.5))
    boxes = []
    for k in range(count + 1):
        along = need * k / count
        cx, cy = x - along * dx + size * 0.36 * dy, y - along * dy - size * 0.36 * dx
        boxes.append(Box(cx - size / 2, cy - size / 2, size, size))
    return LineWords(x, y, math.degrees(turn), words, tuple(boxes))


def draw(spread: Spread, fills: Mapping[str, str], sheet: Sheet = BROAD, links: str = "/wood/") -> str:
    """The picture as SVG. fills: colour class -> hex."""
    at, key = layout(spread, sheet), sheet.key
    out = [
        f'<svg class="drawn spots {key}" viewBox="0 0 {sheet.wide:g} {sheet.high:g}" role="group" '
        f'aria-labelledby="{key}-t" aria-describedby="{key}-d" xmlns="http://www.w3.org/2000/svg">',
        tag("title", spread.title, id=f"{key}-t"),
        tag("desc", in_words(spread), id=f"{key}-d"),
        *_axes(spread, at),
    ]
    for x0, y0, x1, y1 in at.ends:
        out.append(f'<path class="line" d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}"/>')
    for words in at.line_words:
        out.append(
            text_at(
                words.x, words.y, words.words, size=sheet.small, anchor="end", turn=words.turn, kind="said"
            )
        )
    out += _marks(spread, at, fills, links)
    for label in at.labels:
        bold = "mine" if spread.drawn[label.wish].marked else ""
        y = label.box.y + label.box.height * 0.82
        out.append(text_at(label.x, y, label.words, size=sheet.small, anchor=label.anchor, kind=bold))
    return "\n".join([*out, "</svg>"])


def _axes(spread: Spread, at: Layout) -> list[str]:
    f, size, out = at.sheet.field, at.sheet.text, ['<g class="axes">']
    for value in at.x.ticks:
        x = at.x.at(value)
        out.append(f'<path d="M{x:.1f} {f.bottom:g}v5"/>')
        out.append(text_at(x, f.bottom + 19, f"{value:,.{_digits(at.x)}f}", size=size, anchor="middle"))
    for value in at.y.ticks:
        y = at.y.at(value)
        out.append(f'<path d="M{f.x:g} {y:.1f}h-5"/>')
        out.append(text_at(f.x - 8, y + 4, f"{value:,.{_digits(at.y)}f}", size=size, anchor="end"))
    out.append(f'<path d="M{f.x:g} {f.y:g}V{f.bottom:g}H{f.right:g}"/>')
    out.append(text_at(f.right, f.bottom + 40, spread.x.words, size=size, anchor="end"))
    out.append(text_at(4, 14, spread.y.words, size=size))
    return [*out, "</g>"]


def _digits(scale: Scale) -> int:
    return max(0, -math.floor(math.log10(scale.step) + 1e-9))


def _marks(spread: Spread, at: Layout, fills: Mapping[str, str], links: str) -> list[str]:
    out = []
    for spot, (x, y) in zip(spread.drawn, at.places, strict=True):
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
    count = "1 mark" if len(spread.drawn) == 1 else f"{len(spread.drawn)} marks"
    told = f"{count}. Sideways: {spread.x.words}. Upward: {spread.y.words}."
    return f"{told} Lines: {lines}. The table below holds the same." if lines else told
