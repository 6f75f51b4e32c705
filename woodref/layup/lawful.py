"""May it go? The law of the part by its woods, each with the mass of it that one part holds."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup, WoodrefError
from woodref.layup.findings import Finding
from woodref.layup.moist import Moist
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say, plies_called
from woodref.layup.solid import FINISHED, part_mass, thicknesses
from woodref.selection.journey import ANSWER_WORDS, CITES_SAYS, Answer, answer, asked_of
from woodref.selection.words import joined
from woodref.trade import caution, is_listed
from woodref.trade.shapes import ANSWERS

#: how bad an answer of the law is for a pack
_SEVERITY = {"stop": "stop", "check": "mend", "papers": "mend"}


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
    """woods: one entry a wood and origin; whole: the part, None without a journey."""

    woods: tuple[WoodLaw, ...]
    whole: Answer | None
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def answer(self) -> str | None:
        """The strictest answer for the part."""
        if self.whole is None:
            return None
        return min((v.answer for _, v in self.whole.verdicts), key=ANSWERS.index)


def lawful(pack: Pack, moist: Moist, catalogue: Catalogue, on: dt.date, say: Say) -> Lawful:
    """The law of each wood and of the part on the file's journey; without one, whether anything is listed.

    BadLayup when the journey names a form or country that is not known.
    """
    groups: dict[tuple[str, str | None, dt.date | None], list[Sheet]] = {}
    for sheet in pack.sheets:
        named = sheet.material.id if sheet.material else f"?{sheet.number}"
        groups.setdefault((named, sheet.ask.origin, sheet.ask.acquired), []).append(sheet)
    rows = [_row(pack, sheets, moist, catalogue, on) for sheets in groups.values()]
    whole = _whole(pack, rows, catalogue, on)
    found = [f for row in rows for f in _findings(row, say)]
    return Lawful(tuple(rows), whole, tuple(_sentences(pack, rows, whole, catalogue, say)), tuple(found))


def _grams(pack: Pack, sheets: list[Sheet], moist: Moist) -> float | None:
    """Mass of these plies in one trimmed part [g] at damp air's moisture: the upper end."""
    thick = thicknesses(pack.layup, FINISHED)
    areal = 0.0
    for sheet in sheets:
        if sheet.dry_mass is None:
            return None
        share = thick[sheet.number - 1] / sheet.thickness
        areal += sheet.dry_mass * share * (1 + moist.damp / 100)
    return part_mass(pack.layup, areal)


def _row(pack: Pack, sheets: list[Sheet], moist: Moist, catalogue: Catalogue, on: dt.date) -> WoodLaw:
    first = sheets[0]
    plies = tuple(s.number for s in sheets)
    if first.material is None:
        return WoodLaw(plies, first.name, (), None, None, False, "it is not identified")
    grams = _grams(pack, sheets, moist)
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
                f"{plies_called(row.plies)}, {row.name}: the law cannot be told, since {row.cannot_say}.",
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
    worst = min((v for _, v in row.found.verdicts), key=lambda v: ANSWERS.index(v.answer))
    severity = _SEVERITY.get(worst.answer)
    if severity is None:
        return []
    mass = "" if row.grams is None else f" ({say.grams(row.grams)} of it in a part)"
    return [
        Finding(
            "restricted",
            severity,
            f"{plies_called(row.plies)}, {row.name}{mass}: {worst.woods[0].wood} {CITES_SAYS[worst.cites]}.",
            {
                "stop": f'Take another: woodref substitute "{row.name}".',
                "check": "Find the deciding fact (origin, harvest year, paper), or take another.",
                "papers": "Have the papers in hand before the part leaves, or take another.",
            }[worst.answer],
            ply,
        )
    ]


def _sentences(
    pack: Pack, rows: list[WoodLaw], whole: Answer | None, catalogue: Catalogue, say: Say
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
            out.append(f"{plies_called(row.plies)}, {row.name}: cannot be told, {row.cannot_say}.")
        elif row.found is not None:
            for wood in row.found.verdicts[0][1].woods:
                out.append(
                    f"{plies_called(row.plies)}, {row.name}{mass}: {wood.wood} {CITES_SAYS[wood.cites]}."
                )
    if whole is not None:
        laws = list(dict.fromkeys(law.law for _, v in whole.verdicts for law in v.other_laws))
        if laws:
            out.append(f"Other laws that speak: {'; '.join(laws)}. What each asks: woodref trade.")
    return [*out, mind]
