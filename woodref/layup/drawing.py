"""The pack drawn: its edge to one scale, and below it what the air does to the part. SVG alone, with words
for it.

400 units wide and 160 mm: 2.5 units are a millimetre. On a telephone 360 points wide small text is then
nearly 12 points. Nothing is told by colour alone: grain is drawn, and every ply has its words.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from woodref.layup import geometry
from woodref.layup.curve import UNSEEN as UNSEEN_TURN
from woodref.layup.cutting import is_ring, joint_places
from woodref.layup.saying import plies_called
from woodref.layup.shape import ROLLS_UP, UNSEEN, across_sentences, flat_sentences, size

if TYPE_CHECKING:
    from woodref.layup.pack import Sheet
    from woodref.layup.report import Report

#: width in units, and on paper [mm]
WIDE, PAPER = 400, 160.0
PER_MM = WIDE / PAPER
#: the block of the pack: left, width; where the words begin; margin of them
LEFT, BLOCK, WORDS, EDGE = 8, 116, 154, 6
#: sizes of text, and the step from line to line
LARGE, SMALL, STEP = 14.0, 13.0, 16.5
#: free space between the words of two plies
BETWEEN = 7.0
#: the most times life size that a pack is drawn, and the height [units] that a pack of few plies may take
LARGEST, TALL = 20, 150.0
#: a ply is drawn no thinner [units]; grain is drawn from this height on
THINNEST, GRAINED = 3.0, 4.0

STYLE = """
.pack-drawing{color-scheme:light dark;max-width:100%;height:auto}
.pack-drawing text{font-family:Arial,Helvetica,'Liberation Sans',sans-serif;font-size:14px;fill:#1f1a14}
.pack-drawing .pd-small{font-size:13px}
.pack-drawing .pd-head{font-weight:600}
.pack-drawing .pd-paper{fill:none}
.pack-drawing .pd-ply{stroke:#1f1a14;stroke-width:1}
.pack-drawing .pd-bare{fill:#ffffff}
.pack-drawing .pd-grain{stroke:#1f1a14;stroke-width:.9;fill:none}
.pack-drawing .pd-pale{stroke:#fff8ec}
.pack-drawing .pd-lead{stroke:#6b6257;stroke-width:.8;fill:none}
.pack-drawing .pd-glue{fill:#1f1a14}
.pack-drawing .pd-part{stroke:#1f1a14;stroke-width:2.5;fill:none}
.pack-drawing .pd-thin{stroke-width:1.2}
.pack-drawing .pd-flat{stroke:#6b6257;stroke-width:.8;fill:none;stroke-dasharray:2 3}
.pack-drawing .pd-dry{stroke-dasharray:7 5}
@media screen and (prefers-color-scheme:dark){
.pack-drawing text,.pack-drawing .pd-glue{fill:#f1e9dc}
.pack-drawing .pd-paper,.pack-drawing .pd-bare{fill:#191613}
.pack-drawing .pd-ply,.pack-drawing .pd-part{stroke:#f1e9dc}
.pack-drawing .pd-bare+.pd-grain{stroke:#f1e9dc}
.pack-drawing .pd-lead,.pack-drawing .pd-flat{stroke:#b3a999}
}
"""


#: how the report's sentence on the joints of a ring begins
JOINTS = "Spread the closing joints"


def draw(report: Report, colours: Mapping[str, str] | None = None) -> str:
    """The drawing of a report. colours: class of a wood's look -> '#rrggbb'; without it plies are left
    white."""
    pack, y = _pack(report, colours or {})
    part, end = _part(report, y + 34)
    height = math.ceil(end + 4)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="pack-drawing" viewBox="0 0 {WIDE} {height}" '
        f'width="{PAPER:g}mm" height="{height / PER_MM:.1f}mm" role="img" '
        'aria-labelledby="pack-title pack-words">',
        f'<title id="pack-title">{_safe(report.headline())}</title>',
        f'<desc id="pack-words">{_safe(" ".join(in_words(report)))}</desc>',
        f"<style>{STYLE}</style>",
        f'<rect class="pd-paper" width="{WIDE}" height="{height}"/>',
        *pack,
        *part,
        "</svg>",
    ]
    return "\n".join(out) + "\n"


def in_words(report: Report) -> list[str]:
    """The drawing in words: plies in order, what is spread, what the air does."""
    out = ["The edge of the pack, show face on top."]
    out += [f"Ply {s.number}: {s.name}, {', '.join(_details(report, s))}." for s in report.pack.sheets]
    if report.spreading.left_out:
        out.append(report.spreading.left_out)
    return [*out, *moves(report)]


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


def moves(report: Report) -> list[str]:
    """What the lower picture shows, in the report's sentences."""
    if report.curve is None:
        said = flat_sentences(report.pack, report.shape, report.moist, report.say)
        dry = [s for s in said if s.startswith("In dry air")]
        return dry or said[:1]
    told = list(report.curve.sentences)
    if is_ring(report.layup):
        return [*told, *(s for s in report.cutting.sentences if s.startswith(JOINTS))]
    side = "round" if report.layup.mould.show_outside else "hollow"
    out = [told[0], f"The show face is on the {side} side."]
    if report.layup.mould.second_radius is not None:
        out.append("It is round the other way too, which is not drawn.")
    return [*out, *across_sentences(report.shape, report.say)]


# --- words


def readable(text: str) -> str:
    """Without control characters and halves of surrogate pairs, which no page and no drawing may hold."""
    return "".join(c for c in text if unicodedata.category(c) not in ("Cc", "Cs") and c not in "\ufffe\uffff")


def _safe(text: str) -> str:
    return escape(readable(text))


def _wide(text: str, size_: float) -> float:
    """Room for a text [units]; a wide sans is reckoned with."""
    return size_ * sum(map(_broad, text))


def _broad(c: str) -> float:
    """Width of a letter over the size of the text."""
    if unicodedata.east_asian_width(c) in "WF" or c in "mwMW%@":
        return 1.0
    if c in " ijlrtf.,:;'()-":
        return 0.37
    return 0.75 if c.isupper() else 0.62


def _wrapped(text: str, room: float, size_: float) -> list[str]:
    """A text in lines of so many units, long words broken."""
    out, line = [], ""
    for word in readable(text).split():
        while _wide(word, size_) > room:
            most = next(k for k in range(1, len(word) + 1) if _wide(word[:k], size_) > room) - 1
            out += [line] if line else []
            out.append(word[: max(most, 1)])
            line, word = "", word[max(most, 1) :]
        longer = f"{line} {word}".strip()
        if _wide(longer, size_) > room:
            out.append(line)
            longer = word
        line = longer
    return [*out, line] if line else out


def _text(x: float, y: float, text: str, kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:g}" y="{y:.1f}"{named}>{_safe(text)}</text>'


def _lines(sentences: Sequence[str], y: float) -> tuple[list[str], float]:
    """Sentences one below the other from a base line; the base line after them."""
    out = []
    for sentence in sentences:
        for part in _wrapped(sentence, WIDE - LEFT - EDGE, SMALL):
            out.append(_text(LEFT, y, part, "pd-small"))
            y += STEP
    return out, y


# --- the edge of the pack


@dataclass(frozen=True)
class _Label:
    """Words of one ply: lines with their class; top [units] once it is laid out."""

    lines: tuple[tuple[str, str], ...]
    top: float = 0.0

    @property
    def tall(self) -> float:
        return STEP * len(self.lines)


def _details(report: Report, sheet: Sheet) -> list[str]:
    words = [report.say.mm(sheet.thickness), grain_words(sheet), spread_words(report, sheet.number)]
    return [word for word in words if word]


def _label(report: Report, sheet: Sheet) -> _Label:
    thick, *more = _details(report, sheet)
    room = WIDE - WORDS - EDGE
    lines = [(part, "") for part in _wrapped(f"{sheet.number} {sheet.name}, {thick}", room, LARGE)]
    lines += [(part, "pd-small") for part in _wrapped(", ".join(more), room, SMALL)]
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


def _pack(report: Report, colours: Mapping[str, str]) -> tuple[list[str], float]:
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
        _text(LEFT, 18, "Edge of the pack, show face on top", "pd-head"),
        _text(LEFT, 37, f"Thickness {_times(scale)} at {PAPER:g} mm wide", "pd-small"),
    ]
    middles, marks = [], []
    for sheet, tall in zip(sheets, heights, strict=True):
        out += _ply(sheet, y, tall, colours)
        marks += _spread_marks(report, sheet.number, y, tall)
        middles.append(y + tall / 2)
        y += tall
    for label, middle in zip(_spread_out(labels, middles, top, end), middles, strict=True):
        out += _words(label, middle)
    more, end = _lines([*_thicker(thicker), *_key(report)], end + 20)
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
        out.append(_text(WORDS, y, text, kind))
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


# --- what the part does


def _part(report: Report, y: float) -> tuple[list[str], float]:
    out, y = [_text(LEFT, y, "What the part does, show face up", "pd-head")], y + 20
    if is_ring(report.layup):
        out[0] = out[0].replace(", show face up", "")
    # where the joints of a ring lie is drawn
    said, y = _lines([s for s in moves(report) if not s.startswith(JOINTS)], y)
    picture, end = _picture(report, y)
    return [*out, *said, *picture], end


def _picture(report: Report, y: float) -> tuple[list[str], float]:
    if is_ring(report.layup):
        return _ring(report, y)
    return _curl(report, y) if report.curve is None else _bend(report, y)


#: width of a drawn arc of a flat part, and the most that its rise is drawn [units]
CHORD, MOST_RISE = 300.0, 34.0


def _curl(report: Report, y: float) -> tuple[list[str], float]:
    """Bow and cup in dry air as arcs over the part's length and width; both rises to one scale."""
    dry, layup, found = report.shape.dry, report.layup, report.shape
    if dry is None:
        return [], y
    ways = [("Length", layup.panel.length, dry.bow), ("Width", layup.panel.width, dry.cup)]
    rises = [math.copysign(min(abs(r), ROLLS_UP * found.thickness), r) for _, _, r in ways if r is not None]
    most = max((abs(r) for r in rises), default=0.0)
    scale = _nice(MOST_RISE / most) if most >= UNSEEN else 0.0
    out: list[str] = []
    for (words, long, rise), k in zip(ways, dry.curvature[:2], strict=True):
        if long is None or rise is None:
            side = "stays flat" if abs(k) < 1e-6 else f"show face {'round' if k > 0 else 'hollow'}"
            told, drawn = f"{words} not given: {side}", math.copysign(20, k)
            drawn = 0.0 if abs(k) < 1e-6 else drawn
        elif abs(rise) < UNSEEN:
            told, drawn = f"{words} {report.say.mm(long)}: flat", 0.0
        else:
            shown = math.copysign(min(abs(rise), ROLLS_UP * found.thickness), rise)
            drawn = shown * scale
            told = f"{words} {report.say.mm(long)}: {size(found, rise, report.say)}, "
            told += f"drawn {_higher(scale * long / CHORD)}"
        picture, y = _arch(told, drawn, y)
        out += picture
    return out, y


def _arch(told: str, drawn: float, y: float) -> tuple[list[str], float]:
    """A line of words and the arc below it, over a dotted chord."""
    said, y = _lines([told], y + 6)
    base, left = y + max(drawn, 0.0) - 6, (WIDE - CHORD) / 2
    flat = f'<path class="pd-flat" d="M{left:g} {base:.1f}h{CHORD:g}"/>'
    arc = f'<path class="pd-part" d="M{left:g} {base:.1f}q{CHORD / 2:g} {0 - 2 * drawn:.1f} {CHORD:g} 0"/>'
    return [*said, *([flat] if drawn else []), arc], base + max(-drawn, 0.0) + 16


def _nice(most: float) -> float:
    """The largest round number that is no more than `most`: 1, 2 or 5 with noughts."""
    power = 10.0 ** math.floor(math.log10(most))
    return next(step for step in (5.0, 2.0, 1.0) if step * power <= most * (1 + 1e-9)) * power


def _higher(times: float) -> str:
    if times >= 1.25:
        return f"{times:.0f} times too high" if times >= 2.5 else f"{times:.1f} times too high"
    return "to scale" if times >= 0.8 else "lower than it is"


#: length of the drawn bend, the most that its change and its angle are drawn [degrees], and how many times
BEND, MOST_TURN, MOST_ANGLE = 230.0, 12.0, 300.0


def _bend(report: Report, y: float) -> tuple[list[str], float]:
    """The bend as pressed and, dashed, in dry air with its change made larger."""
    assert report.curve is not None
    angle, dry = report.curve.angle, report.curve.dry.total
    if angle is None:
        return [], y
    solid, told = min(angle, MOST_ANGLE), "Solid: as pressed."
    turns = [(solid, "pd-part")]
    if dry is not None and abs(dry) >= UNSEEN_TURN:
        times = max(1.0, _nice(MOST_TURN / abs(dry)))
        change = math.copysign(min(times * abs(dry), solid / 2 if dry < 0 else 40.0), dry)
        turns.append((solid + change, "pd-part pd-dry pd-thin"))
        more = f"drawn {times:g} times too large" if times > 1 else "to scale"
        told += f" Dashed: in dry air, the change {more}."
    if angle > MOST_ANGLE:
        told += f" Drawn as {MOST_ANGLE:g} degrees."
    down = report.layup.mould.show_outside
    points = [_arc(turn, down) for turn, _ in turns]
    high = min(py for arc in points for _, py in arc)
    low = max(py for arc in points for _, py in arc)
    out = []
    for arc, (_, kind) in zip(points, turns, strict=True):
        at = " ".join(f"{WIDE / 2 + px:.1f},{y - high + 2 + py:.1f}" for px, py in arc)
        out.append(f'<polyline class="{kind}" points="{at}"/>')
    said, end = _lines([told], y + low - high + 24)
    return [*out, *said], end - 8


def _arc(angle: float, down: bool) -> list[tuple[float, float]]:
    """A line of one length turned through an angle, its middle at 0, 0, its ends down or up."""
    half = math.radians(angle) / 2
    radius, sign = BEND / (2 * half), 1 if down else -1
    turns = [-half + 2 * half * k / 40 for k in range(41)]
    return [(radius * math.sin(t), sign * radius * (1 - math.cos(t))) for t in turns]


#: outer and innermost radius of a drawn ring, and the most plies drawn one by one
RING, RING_IN, RING_PLIES = 74.0, 40.0, 24


def _ring(report: Report, y: float) -> tuple[list[str], float]:
    """The ring, each ply with a gap at its closing joint and its number outside."""
    number = len(report.pack.sheets)
    cx, cy = WIDE / 2, y + RING + 22
    step = min(9.0, (RING - RING_IN) / max(number - 1, 1))
    inward = geometry.show_radius(report.layup) is not None and report.layup.mould.show_outside
    out = []
    for k, at in enumerate(joint_places(number)):
        place = k if inward else number - 1 - k
        radius, turn = RING - step * place, math.radians(at)
        if number <= RING_PLIES:
            gap = 4 / radius
            ends = [turn + gap, turn - gap]
            (x1, y1), (x2, y2) = ((cx + radius * math.sin(t), cy - radius * math.cos(t)) for t in ends)
            round_ = f"M{x1:.1f} {y1:.1f}A{radius:.1f} {radius:.1f} 0 1 1 {x2:.1f} {y2:.1f}"
            out.append(f'<path class="pd-part" d="{round_}"/>')
        elif k == 0:
            out.append(f'<circle class="pd-part" cx="{cx:g}" cy="{cy:.1f}" r="{RING:g}"/>')
        s, c = math.sin(turn), math.cos(turn)
        out.append(
            f'<path class="pd-lead" d="M{cx + (radius + 2) * s:.1f} {cy - (radius + 2) * c:.1f}'
            f'L{cx + (RING + 6) * s:.1f} {cy - (RING + 6) * c:.1f}"/>'
        )
        if number <= RING_PLIES or k in (0, 1, number - 1):
            out.append(
                f'<text class="pd-small" text-anchor="middle" x="{cx + (RING + 15) * s:.1f}" '
                f'y="{cy - (RING + 15) * c + 4.5:.1f}">{k + 1}</text>'
            )
    told = "A ply by its number at its joint, the wall drawn far too thick."
    said, end = _lines([told], cy + RING + 40)
    return [*out, *said], end - 8
