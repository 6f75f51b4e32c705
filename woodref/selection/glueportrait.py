"""One glue answered in the order a bench asks: what is it for, how is it spread and pressed, what does it
do to the sheets, will it hold, can it be undone, mind yourself, how well is this known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.reader import Catalogue, Notice
from woodref.science.gluing import bag_pressure
from woodref.selection import glues
from woodref.selection.glues import Glue, GlueMatched
from woodref.selection.words import SAID_WORDS

_PARTS = {
    "one": "Comes ready to spread",
    "two": "Two parts, measured and mixed by the maker's sheet",
    "powder-and-water": "Comes dry, to be stirred into water by the maker's sheet",
}
_BLEEDS = {
    "low": "Seldom comes through a thin face",
    "medium": "May come through a thin face",
    "high": "Comes through a thin face easily",
    "unknown": "Whether it comes through a thin face is not known",
}
_CREEPS = {
    "none": "Does not creep",
    "little": "Creeps little",
    "some": "Creeps somewhat",
    "much": "Creeps",
    "unknown": "Whether it creeps is not known",
}
_FORMALDEHYDE = {
    "yes": "Gives off formaldehyde",
    "traces": "Can give off traces of formaldehyde",
    "none": "Gives off no formaldehyde of its own",
    "unknown": "Whether it gives off formaldehyde is not known: ask for a document",
}
_BAG = {
    "enough": "enough, if it is drawn within the closed time",
    "too-little": "too little for this glue",
    "too-much": "more than this glue wants",
}
#: a room is no warmer [C]; what sets only above it wants a hot press
_WARMEST_ROOM = 35
_KINDS = {"id": "id", "trade": "trade name", "prefix": "a name typed in part"}


@dataclass(frozen=True)
class GlueSection:
    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class GluePortrait:
    """Everything `show` prints of a glue. sections are sentences; the rest is for JSON."""

    glue: Glue
    matched: GlueMatched
    sections: tuple[GlueSection, ...]
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `show` for a glue."""
        return glues.glue_dict(self.glue) | {
            "matched": {"name": self.matched.name, "kind": self.matched.kind},
            "vacuum_bag": glues.press_at(self.glue, bag_pressure()[0]),
            "sections": [{"heading": s.heading, "lines": list(s.lines)} for s in self.sections],
            "cautions": [_sentence(text) for text in self.glue["cautions"]],
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def glue_portrait(matched: GlueMatched, catalogue: Catalogue, system: str = "metric") -> GluePortrait:
    """Answer the bench's questions about one glue. system: metric or us, for what is printed."""
    glue = catalogue.adhesives[matched.id]
    sections = (
        GlueSection("What is it for?", tuple(_identity(glue, matched))),
        GlueSection("How is it spread?", tuple(_spreading(glue, system))),
        GlueSection("How is it pressed?", tuple(_pressing(glue, system))),
        GlueSection("What does it do to the sheets?", tuple(_sheets(glue, system))),
        GlueSection("Will it hold?", tuple(_holding(glue))),
        GlueSection("Can it be undone?", (_sentence(glue["reversible"]),)),
        GlueSection("What can hurt you", tuple(_mind(glue))),
        GlueSection("How well is this known?", tuple(_known(glue))),
    )
    return GluePortrait(glue, matched, sections, (*catalogue.notices, *matched.notices), catalogue.stamp)


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:].rstrip('.')}."


def _then(text: str) -> str:
    """The rest of a sentence after its colon."""
    return f"{text[0].lower()}{text[1:].rstrip('.')}."


def _identity(glue: Glue, matched: GlueMatched) -> list[str]:
    name = glue["names"][0]["text"]
    lines = [f"{name}: {_then(glue['used_for'])}"]
    if fold(matched.name) != fold(name):
        lines.append(f'It answered to "{matched.name}" ({_KINDS[matched.kind]}).')
    lines += [_sentence(glue["chemistry"]), f"{_PARTS[glue['parts']]}."]
    also = list(dict.fromkeys(n["text"] for n in glue["names"][1:] if n["lang"] == "en"))
    abroad = [f"{n['text']} ({n['lang']})" for n in glue["names"] if n["lang"] != "en"]
    if also:
        lines.append(f"Also called {', '.join(also)}.")
    if abroad:
        lines.append(f"Abroad: {', '.join(abroad)}.")
    return lines


def _spreading(glue: Glue, system: str) -> list[str]:
    lines = [f"Spread: {glues.spread_words(glue['spread_g_m2'], system)} of wet glue on each line."]
    room = glues.degrees(20, system)
    for key, said in (
        ("open_assembly_min", "Open time, till the sheets lie together"),
        ("closed_assembly_min", "Closed time, from then till full pressure"),
    ):
        band = glue[key]
        told = f"{glues.time_words(band)} at {room}" if band else "not known"
        lines.append(f"{said}: {told}.")
    return lines


def _pressing(glue: Glue, system: str) -> list[str]:
    pressure = glue["pressure_mpa"]
    words = glues.pressure_words(pressure, system)
    if not pressure["low"]:
        words = f"from mere contact up to {words.split(' to ')[1]}"
    lines = [f"Pressure on the line: {words}.", _bag(glue, system)]
    for cure in glue["cure"]:
        at = glues.degrees(cure["temperature_c"], system)
        lines.append(f"In the press with the line at {at}: {glues.time_words(cure['minutes'])}.")
    part = glue["cure_part_min_at"]
    if part:
        at = glues.degrees(part["temperature_c"], system)
        lines.append(
            f"Of a hot pressing at {at} about {glues.time_words(part['minutes'])} is the cure; the time to "
            "heat the pack to its farthest line comes on top."
        )
    lowest = glues.degrees(glue["lowest_c"], system)
    if glue["lowest_c"] > _WARMEST_ROOM:
        return [*lines, f"Wants a hot press: it does not set soundly below {lowest}."]
    return [*lines, f"Not below {lowest}, neither the wood nor the room."]


def _bag(glue: Glue, system: str) -> str:
    """What a vacuum bag does for it: worked out for sea level from what pumps leave in a bag."""
    low, high = bag_pressure()
    band = {"low": round(low, 3), "high": round(high, 3)}
    bag = f"A vacuum bag presses with {glues.pressure_words(band, system)} at sea level"
    verdict = glues.press_at(glue, low)
    if verdict == "light":
        least = glues.pressure_words(
            dict.fromkeys(("low", "high"), glue["light_press"]["lowest_mpa"]), system
        )
        return (
            f"{bag}: less than that, and common practice all the same, down to {least}, for "
            f"{glue['light_press']['when']}."
        )
    return f"{bag}: {_BAG[verdict]}."


def _sheets(glue: Glue, system: str) -> list[str]:
    water = {
        "brings-in": "Brings water into the pack",
        "takes-from-wood": "Brings no water and takes a little from the wood to set",
        "none": "Brings no water into the pack",
    }[glue["water"]]
    if glue["water"] == "brings-in":
        share = glues.band_words(glue["solids_share"], "% solids", 100, 0)
        brought = {key: float(round(value)) for key, value in glues.water_of(glue).items()}
        water += f": {glues.spread_words(brought, system)} on each line, by the spread and {share}"
    return [
        f"{water}.",
        f"{_BLEEDS[glue['bleed_through']]}.",
        f"The line: {_then(glue['line_colour'])}",
        f"Oily woods: {_then(glue['oily_woods'])}",
    ]


def _holding(glue: Glue) -> list[str]:
    stands = f"Damp and weather: {_then(glue['durability'])}"
    held = glue["durability_class"]
    standard = (
        f"Class: {held}." if held else "Class of a standard: only the sheet of the glue in hand claims one."
    )
    return [f"{_CREEPS[glue['creep']]} in a bend: {_then(glue['creep_words'])}", stands, standard]


def _mind(glue: Glue) -> list[str]:
    cautions = [_sentence(text) for text in glue["cautions"]]
    head = _FORMALDEHYDE[glue["formaldehyde"]]
    return cautions if any(text.startswith(head) for text in cautions) else [f"{head}.", *cautions]


def _known(glue: Glue) -> list[str]:
    if glue["evidence"] == "common-practice":
        head = "Shop knowledge without a source: bands over what makers' sheets of such glues say."
    else:
        place = f", {glue['locator']}" if glue["locator"] else ""
        head = f"{_sentence(SAID_WORDS[glue['evidence']]).rstrip('.')}: {glue['source']}{place}."
    return [head, *([_sentence(glue["note"])] if glue["note"] else [])]
