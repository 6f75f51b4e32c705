"""Glues by name: which one a person means, which there are, and what a press does for one.

Glues have names of their own that no wood goes by (the check of the data holds it), so that `show` can
be asked for either.
"""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.names import ENOUGH_TYPED, Matched, resolve
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import Candidate, UnknownName, echo
from woodref.units import convert

Glue = dict[str, Any]

#: how alike a spelling has to be to be offered (rapidfuzz ratio, 0..100)
_ALIKE = 70
_STANDS = {
    "dry": "dry rooms",
    "short-damp": "short damp",
    "damp": "damp",
    "outdoors-finished": "outdoors under a finish",
    "outdoors": "outdoors",
}
#: pounds per 1000 square feet in one g/m2 (0.45359237 kg, 0.3048 m: NIST SP 811)
LB_1000_FT2 = 0.3048**2 / 0.45359237
_PSI = float(convert(Decimal(1), "MPa", "psi"))


class GlueMatched(Matched):
    """Which glue answered, by which of its names, with what to know about that name."""


def _key(text: str) -> str:
    """A name folded; people say adhesive for glue."""
    return " ".join("glue" if word in ("adhesive", "glues") else word for word in fold(text).split())


def matching_glue(text: str, catalogue: Catalogue) -> GlueMatched | None:
    """The glue with exactly this name or id, else None."""
    key = _key(text)
    for glue in catalogue.adhesives.values():
        if text.strip().casefold() == glue["id"]:
            return GlueMatched(glue["id"], glue["id"], "id")
        for name in glue["names"]:
            if _key(name["text"]) == key:
                return GlueMatched(glue["id"], name["text"], "trade", _name_notices(name))
    return None


def glue_begun(text: str, catalogue: Catalogue) -> GlueMatched | None:
    """The one glue a name of which begins so, when no name of another glue does; else None."""
    key = _key(text)
    begun = [
        (glue["id"], name)
        for glue in catalogue.adhesives.values()
        for name in glue["names"]
        if len(key) >= ENOUGH_TYPED and _key(name["text"]).startswith(key)
    ]
    if len({glue_id for glue_id, _ in begun}) != 1:
        return None
    glue_id, name = begun[0]
    told = f'{echo(text)} is taken as the beginning of "{name["text"]}": no other name here begins so.'
    return GlueMatched(glue_id, name["text"], "prefix", (Notice("name-in-part", told),))


def glue_named(text: str, catalogue: Catalogue) -> GlueMatched:
    """The glue a person means where only a glue can be meant: its name, the name without the word glue
    ("PVA D3"), or its beginning. UnknownName with near spellings otherwise."""
    found = matching_glue(text, catalogue)
    if found is None:
        bare = _without_glue(text)
        ids = {
            glue["id"]
            for glue in catalogue.adhesives.values()
            if any(_without_glue(name["text"]) == bare for name in glue["names"])
        }
        found = GlueMatched(ids.pop(), text, "trade") if len(ids) == 1 else glue_begun(text, catalogue)
    if found is None:
        near = neither(f"{text} glue", UnknownName(""), catalogue)
        raise UnknownName(
            f"no glue of the catalogue is called {echo(text)}",
            next="All glues: woodref find --kind glue",
            candidates=near.candidates,
        )
    return found


def _without_glue(text: str) -> str:
    return " ".join(word for word in _key(text).split() if word != "glue")


def _name_notices(name: dict[str, Any]) -> tuple[Notice, ...]:
    return (Notice("glue-name", f'"{name["text"]}": {name["note"]}.'),) if name.get("note") else ()


def wood_or_glue(
    text: str, catalogue: Catalogue, on: dt.date, region: str | None = None
) -> Matched | GlueMatched:
    """What a name stands for: a glue called exactly so, else a wood, else the one glue whose name begins
    so. Raises as `names.resolve`; where no wood answers, near spellings of glues are offered too."""
    glue = matching_glue(text, catalogue)
    if glue:
        return glue
    try:
        return resolve(text, catalogue, on, region)
    except UnknownName as fault:
        glue = glue_begun(text, catalogue)
        if glue is None:
            raise neither(text, fault, catalogue) from None
        return glue


def neither(text: str, fault: UnknownName, catalogue: Catalogue) -> UnknownName:
    """The fault of a name that no wood has, with the glues spelt nearly so before the woods; the same
    fault where no glue is."""
    from rapidfuzz import fuzz, process

    key = _key(text)
    pairs = [(n["text"], g["id"]) for g in catalogue.adhesives.values() for n in g["names"]]
    keys = [_key(name) for name, _ in pairs]
    alike = process.extract(key, keys, scorer=fuzz.ratio, score_cutoff=_ALIKE, limit=20)
    begun = [i for i, name in enumerate(keys) if len(key) >= ENOUGH_TYPED and name.startswith(key)]
    found = [] if key == "glue" else [*begun, *(index for _, _, index in alike)]
    near: dict[str, Candidate] = {}
    for index in found:
        name, glue_id = pairs[index]
        shown = catalogue.adhesives[glue_id]["names"][0]["text"]
        near.setdefault(glue_id, Candidate(glue_id, name, "a glue" if name == shown else f"a glue, {shown}"))
    if not near and "glue" in key.split():
        return UnknownName(
            f"no glue of the catalogue is called {echo(text)}", next="All glues: woodref find --kind glue"
        )
    if not near:
        return fault
    return UnknownName(
        f"no wood or glue of the catalogue is called {echo(text)}",
        next="Did you mean one of these?",
        candidates=[*near.values(), *fault.candidates][:5],
    )


def press_at(glue: Glue, mpa: float) -> str:
    """What a pressure [MPa] is to a glue: enough, light (only for the work its file names), too-little or
    too-much."""
    if mpa > glue["pressure_mpa"]["high"]:
        return "too-much"
    if mpa >= glue["pressure_mpa"]["low"]:
        return "enough"
    light = glue["light_press"]
    return "light" if light and mpa >= light["lowest_mpa"] else "too-little"


def water_of(glue: Glue) -> dict[str, float]:
    """Water that a line brings [g/m2], lowest and highest: spread times what is not solids."""
    spread, solids = glue["spread_g_m2"], glue["solids_share"]
    return {
        "low": round(spread["low"] * (1 - solids["high"]), 1),
        "high": round(spread["high"] * (1 - solids["low"]), 1),
    }


def time_words(minutes: dict[str, float]) -> str:
    """'6 to 12 h', '30 min to 2 h', '10 min'."""
    low, high = minutes["low"], minutes["high"]
    if high <= 90:
        return band_words(minutes, "min")
    if low >= 60:
        return band_words({"low": low / 60, "high": high / 60}, "h")
    return f"{low:g} min to {high / 60:g} h"


def band_words(band: dict[str, float], unit: str, factor: float = 1.0, digits: int | None = None) -> str:
    """'120 to 180 g/m2', or one number where both ends are the same."""
    ends = [band[key] * factor for key in ("low", "high")]
    low, high = (f"{end:g}" if digits is None else f"{end:.{digits}f}" for end in ends)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def spread_words(band: dict[str, float], system: str) -> str:
    """'120 to 180 g/m2' or '25 to 37 lb per 1000 sq ft'."""
    if system == "us":
        return band_words(band, "lb per 1000 sq ft", LB_1000_FT2, 0)
    return band_words(band, "g/m2")


def pressure_words(band: dict[str, float], system: str) -> str:
    """'0.3 to 1 MPa' or '44 to 145 psi'."""
    return band_words(band, "psi", _PSI, 0) if system == "us" else band_words(band, "MPa")


def degrees(celsius: float, system: str) -> str:
    """'20 C' or '68 F'."""
    return f"{celsius * 9 / 5 + 32:.0f} F" if system == "us" else f"{celsius:g} C"


@dataclass(frozen=True)
class GlueFinds:
    """What `find --kind glue` answers."""

    text: str
    most: int | None
    rows: Sequence[Glue]
    total: int
    closing: tuple[str, ...]
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `find --kind glue`."""
        return {
            "query": {"text": self.text or None, "kind": "glue", "rows": self.most},
            "count": self.total,
            "rows": [glue_dict(glue) for glue in self.rows],
            "closing": list(self.closing),
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def glue_dict(glue: Glue) -> dict[str, Any]:
    """One glue as the JSON contract shows it."""
    held = {key: value for key, value in glue.items() if key not in ("names", "cautions")}
    also = [{key: n[key] for key in ("text", "lang", "regions", "note")} for n in glue["names"][1:]]
    head = {"id": glue["id"], "kind": "glue", "name": glue["names"][0]["text"], "also_called": also}
    return head | held | {"water_g_m2": water_of(glue)}


def flat_glue(glue: Glue) -> dict[str, Any]:
    """One line for CSV."""
    out: dict[str, Any] = {"id": glue["id"], "name": glue["names"][0]["text"], "used_for": glue["used_for"]}
    for key in ("spread_g_m2", "solids_share", "open_assembly_min", "closed_assembly_min", "pressure_mpa"):
        band = glue[key] or {"low": None, "high": None}
        out |= {f"{key}_low": band["low"], f"{key}_high": band["high"]}
    light = glue["light_press"]
    out["light_press_mpa"] = light["lowest_mpa"] if light else None
    out["cure"] = [f"{c['temperature_c']:g} C: {time_words(c['minutes'])}" for c in glue["cure"]]
    for key in ("lowest_c", "water", "bleed_through", "creep", "reversible", "formaldehyde", "stands",
                "durability_class", "evidence"):  # fmt: skip
        out[key] = glue[key]
    return out


def find_glues(text: str, catalogue: Catalogue, most: int | None = None) -> GlueFinds:
    """Glues one of whose names holds every word typed, as a beginning of a word; all without a text."""
    rows = [glue for glue in catalogue.adhesives.values() if _holds(glue, text)]
    kept = rows if most is None else rows[:most]
    closing = []
    if not rows:
        closing.append(
            f"No glue of the catalogue is called {echo(text)}. All of them: woodref find --kind glue"
        )
    elif len(kept) < len(rows):
        closing.append(f"{len(kept)} of {len(rows)} shown; --rows for more.")
    if rows:
        closing.append(
            "Shop knowledge without a source, bands over what makers' sheets say: the sheet of the glue in "
            f'hand goes before it. More of one: woodref show "{kept[0]["names"][0]["text"]}"'
        )
    return GlueFinds(text, most, kept, len(rows), tuple(closing), tuple(catalogue.notices), catalogue.stamp)


def _holds(glue: Glue, text: str) -> bool:
    words = _key(text).split()
    return any(all(f" {w}" in f" {_key(name['text'])}" for w in words) for name in glue["names"])


def called_so(text: str, catalogue: Catalogue) -> str | None:
    """A hint for a search among woods that found none: where the glue stands that a person may have meant."""
    found = find_glues(text, catalogue).rows if text.strip() else ()
    if len(found) == 1:
        return f'A glue is called so: woodref show "{found[0]["names"][0]["text"]}"'
    return (
        f"{len(found)} glues are called so: woodref find {shlex.quote(text)} --kind glue" if found else None
    )


def glue_table(found: GlueFinds, system: str) -> tuple[list[str], list[list[str]]]:
    """Head and rows of the printed table."""
    spread, press = ("lb/1000 sq ft", "psi") if system == "us" else ("g/m2", "MPa")
    head = ["glue", f"spread {spread}", "open min", f"press {press}", "in the press", "bleeds", "creeps",
            "formaldehyde", "stands"]  # fmt: skip
    rows = []
    for glue in found.rows:
        coldest, opened = glue["cure"][0], glue["open_assembly_min"]
        rows.append(
            [
                glue["names"][0]["text"],
                spread_words(glue["spread_g_m2"], system).partition(" lb")[0].removesuffix(" g/m2"),
                band_words(opened, "min").removesuffix(" min") if opened else "-",
                pressure_words(glue["pressure_mpa"], system).rpartition(" ")[0],
                f"{time_words(coldest['minutes'])} at {degrees(coldest['temperature_c'], system)}",
                glue["bleed_through"],
                glue["creep"],
                glue["formaldehyde"],
                _STANDS[glue["stands"]],
            ]
        )
    return head, rows
