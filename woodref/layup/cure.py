"""How long the press stays shut. Cure times are bands of the trade around two anchors (common practice, no
source): six hours in cold clamps and about ten minutes in the heat for urea resin. The sheet of the glue in
hand goes before all of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack
from woodref.layup.saying import Say
from woodref.science import gluing
from woodref.selection.glues import Glue

#: above this platen or this moisture of the pack a hot press is let down slowly (common practice, no source)
STEAM_C, STEAM_MC = 100.0, 8.0
#: how far above the hottest time of a glue's file another is reckoned [C] (our rule)
BEYOND_HOTTEST = 15.0
#: a time reckoned more than this from a known temperature [C] is widened by this share (our rule)
AT_ANCHOR, BAND = 5.0, 1 / 3


@dataclass(frozen=True)
class Cure:
    """Minutes in the press, shortest and longest; heat_up and cure are its two parts in a heated mould, None
    in a cold one; depth [mm] of the farthest line; offered False when the glue does not set there."""

    temperature: float
    heated: bool
    offered: bool
    minutes: tuple[float, float] | None
    heat_up: tuple[float, float] | None
    cure: tuple[float, float] | None
    depth: float | None
    steam: bool

    @property
    def rounded(self) -> tuple[float, float]:
        """Its minutes as people say them: whole ones, over two hours in half hours."""

        def one(value: float) -> float:
            return round(value / 30) * 30 if value >= 120 else max(1, round(value))

        assert self.minutes is not None
        return one(self.minutes[0]), one(self.minutes[1])

    def as_dict(self) -> dict[str, Any]:
        """The cure object of the JSON."""

        def pair(v: tuple[float, float] | None) -> list[float] | None:
            return None if v is None else [round(x, 2) for x in v]

        return {
            "temperature_c": self.temperature,
            "heated": self.heated,
            "offered": self.offered,
            "minutes": pair(self.minutes),
            "heat_up_min": pair(self.heat_up),
            "cure_part_min": pair(self.cure),
            "farthest_line_mm": None if self.depth is None else round(self.depth, 2),
            "let_down_slowly": self.steam,
        }


def cure_of(pack: Pack, moist: Moist) -> Cure:
    """The slowest glue of the pack at the press's temperature."""
    press = pack.layup.press
    at = press.temperature
    times = [_time(glue, at, press.heated is not None) for glue, _ in pack.glues]
    heated = press.heated is not None
    depth = _farthest(pack) if heated else None
    steam = heated and (at >= STEAM_C or moist.before + (moist.points or 0.0) > STEAM_MC)
    cures = [t for t in times if t is not None]
    if len(cures) < len(times):
        return Cure(at, heated, False, None, None, None, depth, steam)
    cure = max(t[0] for t in cures), max(t[1] for t in cures)
    if depth is None:
        return Cure(at, heated, True, cure, None, cure, None, steam)
    heat = tuple(s / 60 for s in gluing.heat_up(depth / 1000))
    total = (heat[0] + cure[0], heat[1] + cure[1])
    return Cure(at, heated, True, total, (heat[0], heat[1]), cure, depth, steam)


def _time(glue: Glue, at: float, heated: bool) -> tuple[float, float] | None:
    """Minutes that the cure itself takes at a temperature [C], from the glue's nearest anchor; None below
    the glue's coldest and below 10 C, and far above the hottest that its file knows."""
    if at < glue["lowest_c"] or at > glue["cure"][-1]["temperature_c"] + BEYOND_HOTTEST:
        return None
    part = glue["cure_part_min_at"]
    anchors = [part] if heated and part else glue["cure"]
    anchor = min(anchors, key=lambda a: abs(a["temperature_c"] - at))
    ends = (gluing.cure_time(at, anchor["temperature_c"], anchor["minutes"][k]) for k in ("low", "high"))
    low, high = ends
    if low is None or high is None:
        return None
    if low == high:  # a cure part alone is the least
        high = low * (1 + BAND)
    if abs(at - anchor["temperature_c"]) > AT_ANCHOR:
        # reckoned from another temperature it is good to a third either way at best
        low, high = low * (1 - BAND), high * (1 + BAND)
    return low, high


def _farthest(pack: Pack) -> float:
    """Way of the heat to the farthest glue line [mm]."""
    depths = list(accumulate(s.thickness for s in pack.sheets))
    whole, lines = depths[-1], depths[:-1]
    if pack.layup.press.from_both:
        return max(min(d, whole - d) for d in lines)
    return max(max(d, whole - d) for d in lines)


def cure_sentences(pack: Pack, cure: Cure, moist: Moist, say: Say) -> list[str]:
    at = say.warmth(cure.temperature)
    if not cure.offered or cure.minutes is None:
        return [f"No time is offered for this glue at {at}."]
    if not cure.heated:
        flat = pack.layup.mould.radius is None
        out = [f"{press_words(pack)} about {say.minutes(*cure.rounded)} at {at}."]
        rest = "flat under weight" if flat else "strapped to its former"
        if any(glue["id"].startswith("urea") for glue, _ in pack.glues):
            out.append(f"Then keep it {rest} till next day before it is machined.")
        else:
            out.append(f"Then keep it {rest} overnight before it is machined.")
        return out
    assert cure.heat_up is not None and cure.cure is not None
    sides = "from both sides" if pack.layup.press.from_both else "from one side"
    out = [
        f"In the mould at {at} about {say.minutes(*cure.rounded)}: the heat takes "
        f"{_mins(cure.heat_up)} {sides} to the farthest line, {say.mm(cure.depth or 0)} deep, and the "
        "cure there "
        f"{_mins(cure.cure)}."
    ]
    if cure.steam:
        out.append(_let_down(cure, moist.before + (moist.points or 0.0), at))
    return out


def press_words(pack: Pack) -> str:
    """'In the bag', 'In the clamps'."""
    return "In the bag" if pack.layup.press.bag else "In the clamps"


def _let_down(cure: Cure, wet: float, at: str) -> str:
    """Why the pressure comes off slowly: steam at its boiling point and above, soft wet lines below."""
    if cure.temperature >= STEAM_C:
        why = f"at {at} there is steam in the pack, and a press opened fast blows the lines apart"
    else:
        why = f"the pack went in at {wet:.0f} % and its lines are hot and soft: what springs parts them"
    return f"Let the pressure down slowly, over a minute or more: {why}."


def _mins(band: tuple[float, float]) -> str:
    if band[1] < 1:
        return "less than a minute"
    low, high = f"{band[0]:.0f}", f"{math.ceil(band[1] - 0.05)}"
    if band[0] < 1:
        return f"up to {high} min"
    return f"{low} min" if low == high else f"{low} to {high} min"


def cure_findings(pack: Pack, cure: Cure, say: Say) -> list[Finding]:
    if cure.offered:
        return []
    coldest = max(max(glue["lowest_c"] for glue, _ in pack.glues), gluing.COLDEST)
    if cure.temperature < coldest:
        return [
            Finding(
                "too-cold",
                "stop",
                f"At {say.warmth(cure.temperature)} the glue does not set soundly.",
                f"Warm the room, the wood and the glue to {say.warmth(coldest)} at least, or wait.",
            )
        ]
    return [
        Finding(
            "cure-unknown",
            "mend",
            f"How this glue sets at {say.warmth(cure.temperature)} is not known here.",
            "Press it as its sheet says, or take a glue made for the heated mould.",
        )
    ]
