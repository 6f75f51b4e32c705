"""What the part does, drawn: arcs of a flat part in dry air, a bend and its change, a ring."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from woodref.layup import geometry
from woodref.layup.curve import UNSEEN as UNSEEN_TURN
from woodref.layup.cutting import is_ring, joint_places
from woodref.layup.drawtext import LEFT, WIDE, lines_at, text_at
from woodref.layup.shape import ROLLS_UP, UNSEEN, across_sentences, flat_sentences, size

if TYPE_CHECKING:
    from woodref.layup.report import Report

#: how the report's sentence on the joints of a ring begins
JOINTS = "Spread the closing joints"


def moves(report: Report) -> list[str]:
    """What the lower picture shows, in the report's sentences."""
    if report.curve is None:
        said = flat_sentences(report.pack, report.shape, report.say)
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


def part(report: Report, y: float) -> tuple[list[str], float]:
    out, y = [text_at(LEFT, y, "What the part does, show face up", "pd-head")], y + 20
    if is_ring(report.layup):
        out[0] = out[0].replace(", show face up", "")
    # where the joints of a ring lie is drawn
    said, y = lines_at([s for s in moves(report) if not s.startswith(JOINTS)], y)
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
    said, y = lines_at([told], y + 6)
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
    said, end = lines_at([told], y + low - high + 24)
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
    said, end = lines_at([told], cy + RING + 40)
    return [*out, *said], end - 8
