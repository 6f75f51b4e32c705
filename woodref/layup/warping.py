"""A flat part that does not stay flat, and the one change that would mend it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say
from woodref.layup.shape import Shape, shape, size

#: a part that warps by no more than this share of its longer side is flat enough (shop rule, no source)
FLAT_ENOUGH = 1 / 300
WORDS = {"bow": "bows", "cup": "cups", "twist": "twists"}


def worst(found: Shape) -> tuple[str, str, float]:
    """Largest of bow, cup and twist in either air: which, in which air, by how much [mm]."""
    all_ = [
        (name, air.name, rise)
        for air in found.both()
        for name in WORDS
        if (rise := getattr(air, name)) is not None
    ]
    return max(all_, key=lambda w: abs(w[2]), default=("bow", "dry", 0.0))


def warp_findings(pack: Pack, moist: Moist, found: Shape, say: Say) -> list[Finding]:
    """Nothing for a curved part, for one that stays flat, or where figures or the panel's size are
    missing."""
    panel = pack.layup.panel
    if pack.layup.mould.radius is not None or found.dry is None:
        return []
    side = max(panel.length or 0.0, panel.width or 0.0)
    name, air, rise = worst(found)
    if not side or abs(rise) <= FLAT_ENOUGH * side:
        return []
    use = {"sounding-plate": "plate", "drum-shell": "shell"}.get(pack.layup.use or "", pack.layup.use)
    place = "In a heated house" if air == "dry" else "In damp air"
    mended = best_change(pack, moist)
    better = None
    if mended is not None:
        _, _, left = worst(mended[1])
        if abs(left) < abs(rise) / 2:
            # a whole millimetre is as fine as anyone can promise
            under = max(1, int(abs(left)) + 1)
            better = f"{mended[0]} and it is under {say.mm(under)}."
    return [
        Finding(
            "warps",
            "mend",
            f"{place} ({moist.dry if air == 'dry' else moist.damp:.0f} %) this {use or 'part'} {WORDS[name]} "
            f"{size(found, rise, say)}.",
            better or "Give every ply an equal opposite, and set it nearer to the moisture it will live at.",
        )
    ]


def best_change(pack: Pack, moist: Moist) -> tuple[str, Shape, int] | None:
    """The single change that leaves the least warp, and the shape with it: one hidden ply turned by a right
    angle, or one made as its opposite; among equals the one that leaves the pack best crossed. None when
    nothing can be changed."""
    tries: list[tuple[str, Shape, int]] = []
    n = len(pack.sheets)
    for k in range(1, n):
        sheet = pack.sheets[k]
        turned = _turned(sheet)
        tries.append((f"Turn ply {sheet.number}", *_with(pack, k, turned, moist)))
    for k in range(n // 2):
        upper, lower = pack.sheets[k], pack.sheets[n - 1 - k]
        if upper.is_board or lower.is_board:
            continue
        if upper.leaf is None or (upper.name, upper.thickness, upper.ask.grain) == (
            lower.name,
            lower.thickness,
            lower.ask.grain,
        ):
            continue
        like = replace(
            upper,
            number=lower.number,
            ask=replace(upper.ask, moisture=lower.moisture),
            moisture=lower.moisture,
        )
        tries.append((f"Make ply {lower.number} as ply {upper.number}", *_with(pack, n - 1 - k, like, moist)))
    return min(tries, key=lambda t: (round(abs(worst(t[1])[2]), 1), t[2]), default=None)


def _turned(sheet: Sheet) -> Sheet:
    grain = sheet.ask.grain + (90 if sheet.ask.grain <= 0 else -90)
    return replace(sheet, ask=replace(sheet.ask, grain=grain))


def _with(pack: Pack, k: int, sheet: Sheet, moist: Moist) -> tuple[Shape, int]:
    """The shape with ply k changed, and how many neighbours then run the same way: fewer is better, since
    a pack that is not crossed splits."""
    sheets = (*pack.sheets[:k], sheet, *pack.sheets[k + 1 :])
    layup = replace(pack.layup, plies=tuple(s.ask for s in sheets))
    along = sum(a.ask.long == b.ask.long for a, b in pairwise(sheets))
    return shape(replace(pack, sheets=sheets, layup=layup), moist), along
