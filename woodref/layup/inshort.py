"""The report in a screenful: one line a question, the worst first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from woodref.layup.bends import CLASSES
from woodref.layup.cure import press_words
from woodref.layup.curve import moves
from woodref.layup.findings import SEVERITY_WORDS
from woodref.layup.leafcount import size as blank
from woodref.layup.saying import pct, plural
from woodref.layup.shape import UNSEEN, size
from woodref.layup.warping import WORDS

if TYPE_CHECKING:
    from woodref.layup.report import Report


def in_short(r: Report) -> list[tuple[str, str]]:
    """(question, answer) in the order a maker asks."""
    out = [("Sets", _sets(r)), ("Stays", _stays(r))]
    if r.bends:
        out.append(("Bends", _bends(r)))
    out += [("Weighs", _weighs(r)), ("Spread", _spread(r)), ("Press", _press(r)), ("Cut", _cut(r))]
    out += [("Law", _law(r)), ("Wrong", _wrong(r))]
    return out


def _sets(r: Report) -> str:
    m = r.moist
    mean = pct(m.mean, 1 if r.layup.press.heated else 0)
    more = " and more" if m.points is None and not r.layup.press.heated else ""
    return f"at about {mean} moisture{more}, and will live at {m.dry:.0f} to {m.damp:.0f} %"


def _stays(r: Report) -> str:
    if r.curve is not None:
        if r.layup.mould.closed:
            return "a closed ring holds its own bend"
        dry, damp = r.curve.dry.total, r.curve.damp.total
        if dry is None or damp is None:
            return "how the bend moves is left out: see below"
        return f"the bend {moves(dry, damp)}"
    if r.shape.left_out or r.shape.dry is None:
        return "what the air does to it is left out: see below"
    told = []
    for air in r.shape.both():
        rises = [
            (word, rise)
            for name, word in WORDS.items()
            if (rise := getattr(air, name)) is not None and abs(rise) >= UNSEEN
        ]
        if rises:
            both = " and ".join(f"{word} {size(r.shape, rise, r.say)}" for word, rise in rises)
            told.append(f"in {air.name} air it {both}")
    if not told and (r.layup.panel.length is None or r.layup.panel.width is None):
        return "balanced" if r.mirror.balanced else "it curls: no panel size is given, so no rise"
    return "; ".join(told) or "flat, in dry and in damp air"


def _bends(r: Report) -> str:
    worst = max(r.bends, key=lambda b: CLASSES.index(b.found))
    if worst.found == CLASSES[0]:
        told = "every ply easily"
    else:
        plies = [str(b.ply) for b in r.bends if b.found == worst.found]
        told = f"ply {', '.join(dict.fromkeys(plies))}: {worst.found}"
    if r.layup.mould.second_radius is None:
        return told
    return f"each way alone {told}; both ways at once is another matter: see what is wrong"


def _weighs(r: Report) -> str:
    mass = r.finished.areal_mass
    thick = r.say.mm(r.finished.thickness)
    return f"{thick} thick, weight not known" if mass is None else f"{thick} thick, {r.say.kg_m2(mass)}"


def _spread(r: Report) -> str:
    if r.spreading.left_out:
        return "left out: see below"
    total = r.spreading.total
    lines = plural(len(r.spreading.lines), "line")
    each = " and ".join(dict.fromkeys(r.say.g_m2(line.spread) for line in r.spreading.lines))
    return f"{lines}, {each}" + ("" if total is None else f", {r.say.grams(total)} a part")


def _press(r: Report) -> str:
    cure = r.pressing.cure
    if cure is None:
        return "left out: no glue is named"
    if cure.minutes is None:
        return f"no time is offered at {r.say.warmth(cure.temperature)}"
    where = "in the heated mould" if cure.heated else press_words(r.pack).lower()
    low, high = cure.rounded
    return f"{r.say.minutes(low, high)} {where} at {r.say.warmth(cure.temperature)}"


def _cut(r: Report) -> str:
    rows = r.cutting.rows
    if not rows:
        return "left out: see below"
    face = rows[0]
    out = f"face blank {blank(r.say, face.length)} x {blank(r.say, face.width)}"
    if face.leaves is not None and face.leaves.needed is not None:
        out += f", {plural(face.leaves.needed, 'leaf', 'leaves')} for {plural(face.parts, 'part')}"
    return out


def _law(r: Report) -> str:
    if r.lawful.answer is None:
        return "left out: no journey is given"
    return {
        "stop": "stop: a wood of it may not go",
        "check": "a deciding fact is missing",
        "papers": "papers are due",
        "no-listing-paper": "no paper is due under a listing; other laws apply",
    }[r.lawful.answer]


def _wrong(r: Report) -> str:
    told = [f for f in r.findings if f.severity != "mind"]
    if not told:
        return (
            f"nothing to mend, {plural(len(r.findings), 'thing')} to mind" if r.findings else "nothing found"
        )
    names: dict[str, list[str]] = {}
    for f in told:
        names.setdefault(f.severity, []).append(f.code.replace("-", " "))
    return "; ".join(
        f"{SEVERITY_WORDS[s].lower()}: {', '.join(dict.fromkeys(codes))}" for s, codes in names.items()
    )
