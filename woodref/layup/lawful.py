"""May it go? The law of the part by its woods, each with the mass of it that one part holds."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup, WoodrefError
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import NOT_IDENTIFIED, Pack, Sheet
from woodref.layup.saying import Say, plies_called
from woodref.layup.solid import wood_mass
from woodref.selection.journey import ANSWER_WORDS, CITES_SAYS, Answer, answer, asked_of
from woodref.selection.words import joined
from woodref.trade import caution, is_listed
from woodref.trade.shapes import ANSWERS

#: how bad an answer of the law is for a pack
_SEVERITY = {"stop": "stop", "check": "mend", "papers": "mend"}
_MENDS = {
    "stop": 'Take another: woodref substitute "{}".',
    "check": "Find the deciding fact (origin, harvest year, paper), or take another.",
    "papers": "Have the papers in hand before the part leaves, or take another.",
}


@dataclass(frozen=True)
class WoodLaw:
    """One wood of the part. grams: of it in one part, the upper end; found: its answer, None without
    journey."""

    plies: tuple[int, ...]
    name: str
    woods: tuple[str, ...]
    grams: float | None
    found: Answer | None
    listed: bool
    cannot_say: str | None

    def as_dict(self) -> dict[str, Any]:
        """One entry of the JSON key trade."""
        states = {state: v.as_dict() for state, v in self.found.verdicts} if self.found else None
        first = self.found.verdicts[0][1] if self.found else None
        return {
            "plies": list(self.plies),
            "name": self.name,
            "woods": list(self.woods),
            "kg": None if self.grams is None else round(self.grams / 1000, 4),
            "listed": None if self.cannot_say else self.listed,
            "answer": first.answer if first else None,
            "cites": first.cites if first else None,
            "states": states,
            "cannot_say": self.cannot_say,
        }


@dataclass(frozen=True)
class Lawful:
    """woods: one entry a wood and origin; whole: the named woods as one item, None without a journey or
    without a named wood; journey: the file gives one."""

    woods: tuple[WoodLaw, ...]
    whole: Answer | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]
    journey: bool

    @property
    def answer(self) -> str | None:
        """The strictest answer for the part, None without a journey. A wood that is not identified makes it
        check at the least, and takes nothing from a stop."""
        if not self.journey:
            return None
        answers = [v.answer for _, v in self.whole.verdicts] if self.whole else []
        if any(row.cannot_say for row in self.woods):
            answers.append("check")
        return min(answers, key=ANSWERS.index)


def lawful(pack: Pack, moist: Moist, catalogue: Catalogue, on: dt.date, say: Say) -> Lawful:
    """The law of each wood and of the part on the file's journey; without one, whether anything is listed.

    BadLayup when the journey names a form or country that is not known.
    """
    groups: dict[tuple[str, str | None, dt.date | None], list[Sheet]] = {}
    for sheet in pack.sheets:
        named = sheet.material.id if sheet.material else f"?{sheet.name}"
        groups.setdefault((named, sheet.ask.origin, sheet.ask.acquired), []).append(sheet)
    rows = [_row(pack, sheets, moist, catalogue, on) for sheets in groups.values()]
    whole = _whole(pack, rows, catalogue, on)
    found = [f for row in rows for f in _findings(row, say)]
    said = tuple(_sentences(pack, rows, whole, moist, catalogue, say))
    return Lawful(tuple(rows), whole, said, tuple(found), pack.layup.journey is not None)


def _row(pack: Pack, sheets: list[Sheet], moist: Moist, catalogue: Catalogue, on: dt.date) -> WoodLaw:
    first = sheets[0]
    plies = tuple(s.number for s in sheets)
    if first.material is None:
        return WoodLaw(plies, first.name, (), None, None, False, NOT_IDENTIFIED)
    grams = wood_mass(pack, sheets, moist.damp)
    woods = first.material.woods
    found = None
    if pack.layup.journey is not None:
        given = {"kg": None if grams is None else f"{grams / 1000:.6f}", "origin": first.ask.origin}
        found = _ask(pack, [first.material.id], given, first.ask.acquired, catalogue, on)
    listed = is_listed(woods, first.ask.origin, on, catalogue.law)
    return WoodLaw(plies, first.name, woods, grams, found, listed, None)


def _ask(
    pack: Pack,
    ids: list[str],
    given: dict[str, Any],
    acquired: dt.date | None,
    catalogue: Catalogue,
    on: dt.date,
) -> Answer:
    journey, layup = pack.layup.journey, pack.layup
    assert journey is not None
    given |= {
        "form": journey.form,
        "start": journey.start,
        "to": journey.to,
        "state": journey.state,
        "items": layup.panel.count,
        "shape": "flat" if layup.mould.radius is None else "curved",
        "acquired": acquired.isoformat() if acquired else None,
    }
    given["origin"] = given.get("origin") or journey.origin
    try:
        return answer(asked_of(ids, given, catalogue, on, None), catalogue)
    except WoodrefError as fault:
        says = fault.message.replace("--", "")
        raise BadLayup(f"journey: {says}", where=layup.file, expected=fault.expected) from None


def _whole(pack: Pack, rows: list[WoodLaw], catalogue: Catalogue, on: dt.date) -> Answer | None:
    """The part as one item: all its woods, the mass of the listed ones."""
    named = [s.material.id for s in pack.sheets if s.material]
    if pack.layup.journey is None or not named:
        return None
    listed = [row.grams for row in rows if row.listed]
    kg = None if None in listed or not listed else sum(g for g in listed if g is not None) / 1000
    origins = {s.ask.origin for s in pack.sheets if s.material}
    one = origins.pop() if len(origins) == 1 else None
    given = {"kg": None if kg is None else f"{kg:.6f}", "origin": one}
    return _ask(pack, list(dict.fromkeys(named)), given, None, catalogue, on)


def _findings(row: WoodLaw, say: Say) -> list[Finding]:
    ply = row.plies[0]
    if row.cannot_say:
        return [
            Finding(
                "restricted",
                "mend",
                f"{plies_called(row.plies)}, {row.name}: the law cannot be told.",
                "Until it is proved treat it as the strictest it may be: ask the seller for the "
                "botanical name, the "
                "country of harvest and the harvest year.",
                ply,
            )
        ]
    if row.found is None:
        if not row.listed:
            return []
        return [
            Finding(
                "restricted",
                "mend",
                f"{plies_called(row.plies)}, {row.name}, is listed: papers may be due wherever it "
                "crosses a border.",
                "Give the journey (from, to, form) and the origin of the ply, or take another: "
                "woodref substitute "
                f'"{row.name}".',
                ply,
            )
        ]
    states = sorted(row.found.verdicts, key=lambda v: ANSWERS.index(v[1].answer))
    (state, worst), (_, mildest) = states[0], states[-1]
    severity = _SEVERITY.get(worst.answer)
    if severity is None:
        return []
    finish = severity == "mend" and state == "blank" and mildest.answer == "no-listing-paper"
    as_state = f" as {state}" if len(states) > 1 else ""
    mass = "" if row.grams is None else f" ({say.grams(row.grams)} of it in a part)"
    return [
        Finding(
            "restricted",
            "mind" if finish else severity,
            f"{plies_called(row.plies)}, {row.name}{mass}:{as_state} {worst.woods[0].wood} "
            f"{CITES_SAYS[worst.cites]}.",
            "Ship it finished, never as an untrimmed blank."
            if finish
            else _MENDS[worst.answer].format(row.name),
            ply,
        )
    ]


def _sentences(
    pack: Pack, rows: list[WoodLaw], whole: Answer | None, moist: Moist, catalogue: Catalogue, say: Say
) -> list[str]:
    journey = pack.layup.journey
    mind = caution(catalogue.law.as_of, catalogue.rules.read_in_full)
    if journey is None:
        listed = [row.name for row in rows if row.listed]
        out = ["The law of a journey is left out: the file gives none (journey: from, to, form)."]
        out.append(
            f"Listed today: {joined(listed)}."
            if listed
            else "No identified wood of it is on the lists held here."
        )
        return [*out, mind]
    out = []
    unknown = [p for row in rows if row.cannot_say for p in row.plies]
    if unknown:
        out.append(
            f"{plies_called(unknown)}: not identified, so for the whole part the law cannot be told."
            + (" What follows is of the named woods alone." if whole is not None else "")
        )
    if whole is not None:
        if len(whole.verdicts) > 1:
            for state, found in whole.verdicts:
                out.append(f"As {state}, from {journey.start} to {journey.to}: {ANSWER_WORDS[found.answer]}")
            out.append("An untrimmed pressed blank is plywood in law, a finished part is not.")
        else:
            state, found = whole.verdicts[0]
            out.append(
                f"As {journey.form}, {state}, from {journey.start} to {journey.to}: "
                f"{ANSWER_WORDS[found.answer]}"
            )
    for row in rows:
        mass = "" if row.grams is None else f", {say.grams(row.grams)} in a part"
        if row.cannot_say:
            out.append(f"{plies_called(row.plies)}, {row.name}: cannot be told.")
        elif row.found is not None:
            for wood in row.found.verdicts[0][1].woods:
                out.append(
                    f"{plies_called(row.plies)}, {row.name}{mass}: {wood.wood} {CITES_SAYS[wood.cites]}."
                )
    if any(row.grams is not None for row in rows):
        out.append(f"Weights of wood are at {moist.damp:.0f} %, the most it gets, without glue.")
    if whole is not None:
        laws = list(
            dict.fromkeys(
                law.law for _, v in whole.verdicts for law in v.other_laws if law.applies is not False
            )
        )
        if laws:
            out.append(f"Other laws that speak: {'; '.join(laws)}. What each asks: woodref trade.")
    return [*out, mind]
