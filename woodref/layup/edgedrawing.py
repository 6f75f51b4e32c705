"""The edge of the pack drawn to one scale, each ply with its grain, its spread side and its words."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodref.layup.drawtext import (
    BLOCK,
    EDGE,
    LARGE,
    LEFT,
    PAPER,
    PER_MM,
    SMALL,
    STEP,
    WIDE,
    WORDS,
    lines_at,
    text_at,
    wrapped,
)  # fmt: skip
from woodref.layup.saying import plies_called

if TYPE_CHECKING:
    from woodref.layup.pack import Sheet
    from woodref.layup.report import Report

#: free space between the words of two plies
BETWEEN = 7.0
#: the most times life size that a pack is drawn, and the height [units] that a pack of few plies may take
LARGEST, TALL = 20, 150.0
#: a ply is drawn no thinner [units]; grain is drawn from this height on
THINNEST, GRAINED = 3.0, 4.0


def grain_words(sheet: Sheet) -> str:
    """'long grain', 'cross grain', 'grain at 30 degrees', 'board laid lengthwise'."""
    grain = sheet.ask.grain
    if sheet.is_board:
        way = {0.0: "lengthwise", 90.0: "crosswise"}.get(abs(grain), f"at {grain:g} degrees")
        return f"board laid {way}"
    if grain == 0:
        return "long grain"
    return "cross grain" if abs(grain) == 90 else f"grain at {grain:g} degrees"


def spread_words(report: Report, number: int) -> str:
    """'inner side spread', 'both sides spread', 'stays dry'; nothing when there is no glue."""
    lines = [line for line in report.spreading.lines if line.spread_on == number]
    if not lines:
        return "stays dry" if report.spreading.lines else ""
    if len(lines) == 2:
        return "both sides spread"
    if number in (1, len(report.pack.sheets)):
        return "inner side spread"
    return f"{'back' if lines[0].upper.number == number else 'face'} side spread"


@dataclass(frozen=True)
class _Label:
    """Words of one ply: lines with their class; top [units] once it is laid out."""

    lines: tuple[tuple[str, str], ...]
    top: float = 0.0

    @property
    def tall(self) -> float:
        return STEP * len(self.lines)


def details(report: Report, sheet: Sheet) -> list[str]:
    words = [report.say.mm(sheet.thickness), grain_words(sheet), spread_words(report, sheet.number)]
    return [word for word in words if word]


def _label(report: Report, sheet: Sheet) -> _Label:
    thick, *more = details(report, sheet)
    room = WIDE - WORDS - EDGE
    lines = [(part, "") for part in wrapped(f"{sheet.number} {sheet.name}, {thick}", room, LARGE)]
    lines += [(part, "pd-small") for part in wrapped(", ".join(more), room, SMALL)]
    return _Label(tuple(lines))


def _spread_out(labels: Sequence[_Label], middles: Sequence[float], top: float, end: float) -> list[_Label]:
    """Each label beside its ply as near as the others let it, none over another, the last above `end`."""
    tops: list[float] = []
    for label, middle in zip(labels, middles, strict=True):
        least = tops[-1] + labels[len(tops) - 1].tall + BETWEEN if tops else top
        tops.append(max(least, middle - label.tall / 2))
    for k in reversed(range(len(labels))):
        most = (tops[k + 1] - BETWEEN if k + 1 < len(tops) else end) - labels[k].tall
        tops[k] = min(tops[k], most)
    return [_Label(label.lines, at) for label, at in zip(labels, tops, strict=True)]


def edge(report: Report, colours: Mapping[str, str]) -> tuple[list[str], float]:
    """The edge, its marks and its words; and where they end."""
    sheets, top = report.pack.sheets, 48.0
    labels = [_label(report, sheet) for sheet in sheets]
    words = sum(label.tall + BETWEEN for label in labels) - BETWEEN
    scale = _scale(sum(s.thickness for s in sheets), max(words, TALL))
    heights = [max(s.thickness * scale * PER_MM, THINNEST) for s in sheets]
    thicker = [
        s.number for s, tall in zip(sheets, heights, strict=True) if s.thickness * scale * PER_MM < tall
    ]
    end = top + max(words, sum(heights))
    y = top + max(words - sum(heights), 0.0) / 2
    out = [
        text_at(LEFT, 18, "Edge of the pack, show face on top", "pd-head"),
        text_at(LEFT, 37, f"Thickness {_times(scale)} at {PAPER:g} mm wide", "pd-small"),
    ]
    middles, marks = [], []
    for sheet, tall in zip(sheets, heights, strict=True):
        out += _ply(sheet, y, tall, colours)
        marks += _spread_marks(report, sheet.number, y, tall)
        middles.append(y + tall / 2)
        y += tall
    for label, middle in zip(_spread_out(labels, middles, top, end), middles, strict=True):
        out += _words(label, middle)
    more, end = lines_at([*_thicker(thicker), *_key(report)], end + 20)
    return [*out, *marks, *more], end - STEP


def _scale(thick: float, room: float) -> float:
    """Times life size, a round number: the largest that leaves the pack in its room."""
    most = room / (thick * PER_MM)
    return float(min(math.floor(most), LARGEST)) if most >= 1 else max(math.floor(most * 20) / 20, 0.05)


def _times(scale: float) -> str:
    return "life size" if scale == 1 else f"{scale:g} times life size"


def _thicker(plies: Sequence[int]) -> list[str]:
    if not plies:
        return []
    one = len(plies) == 1
    return [f"{plies_called(plies)} {'is' if one else 'are'} thinner than drawn, or would not be seen."]


def _key(report: Report) -> list[str]:
    """What the marks mean, those that stand in the drawing alone."""
    kinds = {_kind(sheet) for sheet in report.pack.sheets}
    said = {
        "long": "Lines: long grain.",
        "cross": "Dots: cross grain.",
        "slanted": "Strokes: grain aslant.",
        "burr": "Rings: burr or figured leaf.",
        "board": "Plain: board.",
    }
    out = [" ".join(words for kind, words in said.items() if kind in kinds)]
    if report.spreading.lines:
        out.append("A wedge points into the ply that is spread.")
    elif report.spreading.left_out:
        out.append(report.spreading.left_out)
    return out


def _kind(sheet: Sheet) -> str:
    if sheet.is_board:
        return "board"
    if sheet.no_direction:
        return "burr"
    return {0.0: "long", 90.0: "cross"}.get(abs(sheet.ask.grain), "slanted")


def _ply(sheet: Sheet, y: float, tall: float, colours: Mapping[str, str]) -> list[str]:
    look = sheet.material.look["class"] if sheet.material is not None else None
    colour = colours.get(str(look), "")
    known = re.fullmatch("#[0-9a-fA-F]{6}", colour)
    fill, kind = (f' fill="{colour}"', "pd-ply") if known else ("", "pd-ply pd-bare")
    out = [f'<rect class="{kind}" x="{LEFT}" y="{y:.2f}" width="{BLOCK}" height="{tall:.2f}"{fill}/>']
    path = _grain(sheet, y, tall)
    if path:
        pale = " pd-pale" if known and _dark(colour) else ""
        out.append(f'<path class="pd-grain{pale}" d="{path}"/>')
    return out


def _dark(colour: str) -> bool:
    """Whether pale marks show better on it than dark ones."""
    channels = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    light: float = sum(w * c**2.2 for w, c in zip((0.21, 0.72, 0.07), channels, strict=True))
    return light < 0.2


def _grain(sheet: Sheet, y: float, tall: float) -> str:
    """Lines for long grain, dots for the ends of cross grain, strokes leaning as the grain does for all
    between, small rings where it has no direction, nothing on a board: one path."""
    kind = _kind(sheet)
    if kind == "board" or tall < GRAINED:
        return ""
    rows = max(1, int(tall // 7))
    left, right, lean = LEFT + 4, LEFT + BLOCK - 4, math.copysign(3, sheet.ask.grain)
    high = min(2.5, tall / (rows + 1) - 0.7)
    out = []
    for k in range(1, rows + 1):
        at, shift = y + tall / (rows + 1) * k, 4 * (k % 2)
        if kind == "long":
            out.append(f"M{left} {at:.2f}H{right}")
        elif kind == "slanted":
            out += [
                f"M{x - lean:g} {at + high:.2f}L{x + lean:g} {at - high:.2f}"
                for x in range(left + 4 + shift, right - 3, 10)
            ]
        else:
            r = 0.6 if kind == "cross" else min(2.2, high)
            out += [
                f"M{x - r:g} {at:.2f}a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0"
                for x in range(left + 3 + shift, right - 2, 9)
            ]
    return "".join(out)


def _words(label: _Label, middle: float) -> list[str]:
    """The words of a ply, with a line to it."""
    y = label.top + 12
    lead = f"M{LEFT + BLOCK + 13} {middle:.1f}H{WORDS - 14}L{WORDS - 4} {y - 4.5:.1f}"
    out = [f'<path class="pd-lead" d="{lead}"/>']
    for text, kind in label.lines:
        out.append(text_at(WORDS, y, text, kind))
        y += STEP
    return out


def _spread_marks(report: Report, number: int, y: float, tall: float) -> list[str]:
    """A wedge at each line of a ply that is spread there, pointing into the ply."""
    out, x, high = [], LEFT + BLOCK + 2, min(6.0, 0.48 * tall)
    for line in report.spreading.lines:
        if line.spread_on != number:
            continue
        at, tip = (y + tall, -high) if line.upper.number == number else (y, high)
        out.append(
            f'<polygon class="pd-glue" points="{x},{at:.2f} {x + 10},{at:.2f} {x + 5},{at + tip:.2f}"/>'
        )
    return out
