"""Gluing: which surface of each line is spread, how much of what, how long it stays open, what presses it.

One surface a line is spread. Of a long-grain and a cross-grain sheet it is the long-grain one, rolled
along its grain: a thin cross sheet rolls up and splinters under the roller (common practice, no source).
Of two long ones it is the lower as they lie in the press; two cross ones are a finding.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.layup import geometry
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say, plies_called, plural
from woodref.science import gluing
from woodref.selection.glues import Glue, band_words
from woodref.selection.words import joined

#: pace of spreading [m2 a minute], a slow hand and a practised one (shop rule, no source)
PACE = (0.4, 1.0)
#: a face leaf so thin lets glue through where wood and glue tend to [mm] (shop rule, no source)
THIN_FOR_GLUE = 0.7


@dataclass(frozen=True)
class Line:
    """One glue line. upper: the ply nearer the show face; spread_on: the ply whose surface is spread, and on
    which of its sides; grams: for one part."""

    number: int
    upper: Sheet
    lower: Sheet
    glue: Glue
    spread: float
    spread_on: int
    side: str
    why: str
    area: float | None

    @property
    def grams(self) -> float | None:
        return None if self.area is None else self.spread * self.area

    def as_dict(self) -> dict[str, Any]:
        return {
            "line": self.number,
            "between": [self.upper.number, self.lower.number],
            "adhesive": self.glue["id"],
            "spread_g_m2": round(self.spread, 2),
            "spread_on_ply": self.spread_on,
            "side": self.side,
            "why": self.why,
            "area_m2": None if self.area is None else round(self.area, 4),
            "grams": None if self.grams is None else round(self.grams, 1),
        }


@dataclass(frozen=True)
class Spreading:
    """total: grams for one part; open_min: working time at the shop's temperature."""

    lines: tuple[Line, ...]
    total: float | None
    water_points: float | None
    open_min: tuple[float, float] | None
    left_out: str | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """The glue object of the JSON."""
        return {
            "lines": [line.as_dict() for line in self.lines],
            "total_g": None if self.total is None else round(self.total, 1),
            "water_points": None if self.water_points is None else round(self.water_points, 3),
            "working_time_min": None if self.open_min is None else [round(m, 2) for m in self.open_min],
            "left_out": self.left_out,
        }


def shows_up(pack: Pack) -> bool:
    """Whether the show face lies uppermost while the pack is laid: away from the mould that lies below."""
    return not pack.layup.mould.show_against


def spreading(pack: Pack, moist: Moist, say: Say) -> Spreading:
    """Every line of a pack whose glue is named."""
    if len(pack.sheets) == 1:
        return _nothing("A single sheet has no glue line.")
    if not pack.glues:
        return _nothing("Gluing is left out: the file names no glue (glue: adhesive and spread).")
    area = _area(pack)
    lines: list[Line] = []
    crossed: list[tuple[Sheet, Sheet]] = []
    for k, (glue, spread) in enumerate(pack.glues):
        upper, lower = pack.sheets[k], pack.sheets[k + 1]
        on, why = _spread_on(pack, upper, lower)
        side = "its inner side" if on in (1, len(pack.sheets)) else (
            "the side towards the back" if on == upper.number else "the side towards the show face"
        )  # fmt: skip
        lines.append(Line(k + 1, upper, lower, glue, spread, on, side, why, area))
        if not upper.ask.long and not lower.ask.long and not (upper.is_board or lower.is_board):
            crossed.append((upper, lower))
    total = None if area is None else sum(line.spread * area for line in lines)
    times = _working(pack)
    found = [*_cross(crossed), *_slow(lines, times), *_bleed(pack, say)]
    said = _sentences(pack, lines, total, times, say)
    return Spreading(tuple(lines), total, moist.points, times, None, tuple(said), tuple(found))


def _nothing(why: str) -> Spreading:
    return Spreading((), None, None, None, why, (why,), ())


def _area(pack: Pack) -> float | None:
    """What one line covers [m2]: the longest ply with its trim, all of it."""
    panel, lengths = pack.layup.panel, geometry.own_lengths(pack.layup)
    if panel.width is None or (lengths is None and panel.length is None):
        return None
    trim = 2 * panel.trim
    if pack.layup.mould.closed and lengths is not None:
        return max(lengths) * (panel.width + trim) / 1e6
    across_bend = abs(pack.layup.mould.bend) > 45 and lengths is not None
    if across_bend and panel.length is not None and lengths is not None:
        return (panel.length + trim) * (max(lengths) + trim) / 1e6
    length = max(lengths) if lengths is not None else panel.length or 0.0
    return (length + trim) * (panel.width + trim) / 1e6


def _spread_on(pack: Pack, upper: Sheet, lower: Sheet) -> tuple[int, str]:
    """The ply that is spread, and why."""
    if upper.is_board != lower.is_board:
        board = upper if upper.is_board else lower
        return board.number, "the board: a leaf rolls up under the roller"
    if upper.ask.long != lower.ask.long:
        one = upper if upper.ask.long else lower
        return one.number, "the long-grain sheet, rolled along its grain"
    below = lower if shows_up(pack) else upper
    if upper.ask.long:
        return below.number, "both are long-grain: the lower one as they lie"
    return below.number, "both are cross-grain: the lower one as they lie"


def _cross(pairs: list[tuple[Sheet, Sheet]]) -> list[Finding]:
    """One finding for all lines between two cross-grain sheets."""
    if not pairs:
        return []
    runs: list[list[int]] = []
    for upper, lower in pairs:
        if runs and runs[-1][-1] == upper.number:
            runs[-1].append(lower.number)
        else:
            runs.append([upper.number, lower.number])
    told = joined([f"{run[0]} {'and' if len(run) == 2 else 'to'} {run[-1]}" for run in runs])
    both = "are both cross-grain" if len(pairs) == 1 else "are cross-grain and lie on one another"
    return [
        Finding(
            "spread-cross",
            "mend",
            f"Plies {told} {both}: whichever is spread rolls up and splinters under the roller.",
            "Lay a long-grain sheet between them, or one sheet of their thickness; else spread the "
            "thicker with a "
            "comb, lying on a board, along its grain.",
            pairs[0][0].number,
        )
    ]


def _working(pack: Pack) -> tuple[float, float] | None:
    """Open time [min] of the quickest glue at the temperature of the shop: the press's if it is cold."""
    bands = [glue["open_assembly_min"] for glue, _ in pack.glues if glue["open_assembly_min"]]
    if not bands:
        return None
    band = min(bands, key=lambda b: (b["low"], b["high"]))
    at = pack.layup.press.temperature if pack.layup.press.heated is None else pack.layup.room.temperature
    # thickening goes about as cure goes (our reading, no source)
    factor = gluing.cure_time(max(at, gluing.COLDEST), 20.0, 1.0) or 1.0
    return band["low"] * factor, band["high"] * factor


def _surfaces(lines: list[Line]) -> list[str]:
    """'ply 1 on its inner side', 'plies 3 and 5 on both sides': plies spread alike together."""
    by_ply: dict[int, list[str]] = {}
    for line in lines:
        by_ply.setdefault(line.spread_on, []).append(line.side)
    alike: dict[str, list[int]] = {}
    for ply, sides in sorted(by_ply.items()):
        alike.setdefault(sides[0] if len(sides) == 1 else "both sides", []).append(ply)
    out = []
    for side, plies in alike.items():
        many = len(plies) > 1
        place = "their inner sides" if many and side == "its inner side" else side
        each = "each of " if many and side.startswith("the side") else ""
        out.append(f"{each}{plies_called(plies).lower()} on {place}")
    return out


def _sentences(
    pack: Pack,
    lines: list[Line],
    total: float | None,
    times: tuple[float, float] | None,
    say: Say,
) -> list[str]:
    glues = list(dict.fromkeys(line.glue["names"][0]["text"] for line in lines))
    spreads = list(dict.fromkeys(say.g_m2(line.spread) for line in lines))
    out = [f"{' and '.join(glues)}, {' and '.join(spreads)} on one surface of each line."]
    out.append(f"Spread {'; '.join(_surfaces(lines))}; the others stay dry. Roll along the grain.")
    if total is not None:
        count = pack.layup.panel.count
        grams = sorted({line.grams for line in lines if line.grams is not None})
        each = say.grams(grams[0]) if len(grams) == 1 else f"{say.grams(grams[0])} to {say.grams(grams[-1])}"
        run = f", {say.grams(total * count)} for {plural(count, 'part')}" if count > 1 else ""
        out.append(
            f"That is {each} a line, {say.grams(total)} a part{run}, wet glue and nothing for the pot."
        )
    else:
        out.append("How many grams is left out: the file gives no panel size.")
    if times is not None:
        out.append(
            "It stays open about "
            f"{band_words({'low': round(times[0]), 'high': round(times[1])}, 'min')} from the "
            "first line spread to the pack closed; the sheet of the glue in hand goes before that."
        )
    return out


def _slow(lines: list[Line], times: tuple[float, float] | None) -> list[Finding]:
    """More area than a quick hand spreads while the glue is open."""
    area = lines[0].area
    if times is None or area is None:
        return []
    quick = len(lines) * area / PACE[1]
    if quick <= times[1]:
        return []
    return [
        Finding(
            "open-time",
            "mend",
            f"{plural(len(lines), 'line')} of {area:.2f} m2 take {quick:.0f} min to spread even for a quick "
            f"hand, and the glue stays open {times[1]:.0f} min at most.",
            "Two pairs of hands, a slower glue or hardener, a cooler shop, or two pressings.",
        )
    ]


def _bleed(pack: Pack, say: Say) -> list[Finding]:
    """Glue coming through a thin open-pored face."""
    out = []
    risks = {"low": 0, "medium": 1, "high": 2, "unknown": 1}
    for sheet, (glue, _) in ((pack.sheets[0], pack.glues[0]), (pack.sheets[-1], pack.glues[-1])):
        if sheet.material is None or sheet.is_board or sheet.thickness > THIN_FOR_GLUE:
            continue
        block = sheet.material.working["bleed_through"]
        wood = max(risks[block["risk"]], 2 if sheet.no_direction else 0)
        if wood + risks[glue["bleed_through"]] < 3:
            continue
        side = "show face" if sheet.number == 1 else "back"
        words = f": {block['words']}" if block.get("words") else ""
        out.append(
            Finding(
                "bleed-through",
                "mend" if sheet.number == 1 else "mind",
                f"Glue may come through the {side}, {say.mm(sheet.thickness)} of {sheet.name}{words}.",
                "Spread lean and let it tack a little, extend the glue with flour or tint it, lay a "
                "thicker leaf, and "
                "try an offcut.",
                sheet.number,
            )
        )
    return out
