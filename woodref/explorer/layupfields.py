"""The fields of the layup form: one for each key of a layup file, with its words and the unit a bare number
takes. The file itself is read by `layup.layupfile`, which knows what is right."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.layup.asked import CUTS, MATCHES, USES

#: kinds of fields: amount (with a unit), warmth (C), number (bare), words, choice, tick, country, wood,
#: glue, form
Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Field:
    """One key of a layup file. unit: what a bare number takes; choices: (word of the file, as it is read)."""

    key: str
    label: str
    kind: str = "words"
    unit: str = ""
    hint: str = ""
    choices: Choices = ()

    @property
    def titled(self) -> str:
        """The label with its unit."""
        return f"{self.label}, {self.unit}" if self.unit else self.label


@dataclass(frozen=True)
class Section:
    """A mapping of the file. Where key is '' its fields stand at the top of the file."""

    key: str
    heading: str
    fields: tuple[Field, ...]

    def name(self, field: Field) -> str:
        """Name of a field in the form."""
        return f"{self.key}_{field.key}" if self.key else field.key


def _words(words: Sequence[str], said: Mapping[str, str] | None = None) -> Choices:
    return tuple((word, (said or {}).get(word, word.replace("-", " "))) for word in words)


_CUTS = _words(CUTS, {"rotary": "rotary (peeled)", "board": "board, not a leaf"})
_STATES = _words(("blank", "trimmed", "finished"))
_SIDES = (("one", "one side"), ("both", "both sides"))
_SURFACES = (("convex", "round (a former)"), ("concave", "hollow"))
_SHOWS = (("away", "away from the mould"), ("against-mould", "against the mould"))
_CENTRES = (("joint", "a joint"), ("leaf", "a leaf"))

#: a ply: what stands in its row, and what is seldom said
PLY = (
    Field("material", "Wood", "wood"),
    Field("cut", "Cut", "choice", choices=_CUTS),
    Field("thickness", "Thickness", "amount", "mm"),
    Field("grain", "Grain", "number"),
    Field("moisture", "Moisture", "amount", "%"),
)
PLY_MORE = (
    Field("origin", "Harvested in", "country"),
    Field("acquired", "Felled or first held", hint="YYYY-MM-DD or the year."),
    Field("unidentified", "Not identified: what it looks like", hint="In place of a wood."),
    Field("rings", "Angle of the rings, degrees", "number", hint="For a rift leaf; usual: 45."),
    Field("figured", "Figured: no direction of its own", "tick"),
)
LINE = (Field("adhesive", "Glue", "glue"), Field("spread", "Spread", "amount", "g/m2"))
LEAF = (
    Field("ply", "For ply", "number"),
    Field("width", "Width", "amount", "mm"),
    Field("length", "Length", "amount", "mm"),
    Field("count", "How many", "number", hint="Empty: as many as it takes."),
)
SECTIONS = (
    Section("", "Title and use", (
        Field("title", "Title"),
        Field("use", "What it is for", "choice", choices=_words(USES)),
    )),
    Section("glue", "Glue and spread", (
        Field("adhesive", "Glue", "glue", hint="Such as urea-formaldehyde or PVA D3."),
        Field("spread", "Spread on one surface of a line", "amount", "g/m2",
              "Empty: the middle of the glue's band."),
    )),
    Section("press", "Press", (
        Field("cold", "Cold, at", "warmth", "C", "Usual: 20 C."),
        Field("heated", "Heated mould, at", "warmth", "C", "In place of cold."),
        Field("heated_from", "Heated from", "choice", choices=_SIDES),
        Field("at_set", "Moisture when the glue has set", "amount", "%", "For a heated mould."),
        Field("pressure", "Pressure", "amount", "MPa"),
        Field("bag", "Vacuum bag", "tick"),
        Field("altitude", "Height of the shop above the sea", "amount", "m", "For a bag."),
    )),
    Section("mould", "Mould", (
        Field("flat", "Flat, between cauls", "tick"),
        Field("radius", "Radius of its working surface", "amount", "mm"),
        Field("face", "Its working surface is", "choice", choices=_SURFACES),
        Field("show_side", "The show face lies", "choice", choices=_SHOWS),
        Field("angle", "Angle that the part turns, degrees", "number", hint="Empty: over its whole length."),
        Field("bend", "Direction of the bend, degrees from the length", "number", hint="Usual: 0."),
        Field("second_radius", "Radius the other way", "amount", "mm", "For one round both ways."),
        Field("closed", "A closed ring", "tick"),
    )),
    Section("panel", "Panel", (
        Field("length", "Length, along the curve", "amount", "mm"),
        Field("width", "Width", "amount", "mm"),
        Field("count", "How many parts", "number"),
        Field("trim", "To trim on every edge", "amount", "mm", "Usual: 20 mm."),
    )),
    Section("face", "Face match", (
        Field("match", "Match", "choice", choices=_words(MATCHES)),
        Field("centre", "On the centre line", "choice", choices=_CENTRES),
        Field("same_flitch", "All parts from one flitch", "tick"),
        Field("parts_to_match", "Parts that match each other", "number"),
    )),
    Section("room", "Room it lives in", (
        Field("temperature", "Temperature", "warmth", "C", "Usual: 20 C."),
        Field("rh_low", "Humidity, the driest", "amount", "%", "Usual: 30 %."),
        Field("rh_high", "Humidity, the dampest", "amount", "%", "Usual: 65 %."),
    )),
    Section("sanding", "Sanding", (
        Field("face", "Off the face", "amount", "mm"),
        Field("back", "Off the back", "amount", "mm"),
    )),
    Section("finish", "Finish", (
        Field("face", "On the face", hint="Such as oil or lacquer."),
        Field("back", "On the back", hint="same, none, or what it is."),
    )),
    Section("target", "What it must do", (
        Field("areal_mass_max", "Weight at most", "amount", "kg/m2"),
        Field("load", "Load in the middle", "amount", "N"),
        Field("span", "Over a span of", "amount", "mm"),
        Field("sag_max", "Sag at most", "amount", "mm"),
    )),
    Section("journey", "Journey", (
        Field("from", "Leaves", "country"),
        Field("to", "Enters", "country"),
        Field("form", "As", "form"),
        Field("state", "State", "choice", choices=_STATES),
        Field("origin", "Woods harvested in", "country", hint="Where a ply does not say it."),
    )),
    Section("plate", "Solid plate to sound like", (
        Field("material", "Wood", "wood"),
        Field("cut", "Cut", "choice", choices=_CUTS),
        Field("thickness", "Thickness", "amount", "mm"),
    )),
    Section("limits", "Bend limits of your shop", (
        Field("along", "Along the grain, thicknesses of radius", "number",
              hint="Empty: from the wood's own strength."),
        Field("across", "Across the grain, thicknesses of radius", "number", hint="Usual: 20."),
    )),
    Section("waste", "Waste of your shop, on top of the net area", (
        Field("plain", "Plain leaves", "amount", "%", hint="For stock cost alone; usual: 20."),
        Field("matched", "A matched face", "amount", "%", hint="Usual: 40."),
        Field("burr", "Burr and crotch", "amount", "%", hint="Usual: 80."),
    )),
)  # fmt: skip
#: sections in the order of a file, as the form's readers and writers go through them
FILE_ORDER = (
    "", "glue", "press", "mould", "panel", "face", "leaves", "room", "sanding", "finish", "target", "plate",
    "journey",
    "limits", "waste",
)  # fmt: skip
BY_KEY = {section.key: section for section in SECTIONS}
#: rows of the form: name -> (key of the file, its fields)
ROWS: dict[str, tuple[str, tuple[Field, ...]]] = {
    "ply": ("plies", (*PLY, *PLY_MORE)), "line": ("glue.lines", LINE), "leaf": ("leaves", LEAF),
}  # fmt: skip

#: a field of a row: kind of row, its number, key
ROW = re.compile(r"(ply|line|leaf)_([1-9][0-9]{0,2})_([a-z]+)")


def last_row(held: Mapping[str, str], row: str) -> int:
    """The highest number of a row of this kind that holds something; 0 for none."""
    return max((int(m[2]) for name in held if (m := ROW.fullmatch(name)) and m[1] == row), default=0)


def fields_of(value: Mapping[str, Any]) -> dict[str, str]:
    """The form's fields of a file that was read without a fault, its repeats written out: nothing it says is
    left out."""
    out: dict[str, str] = {}
    for section in SECTIONS:
        held: Any = value.get(section.key) if section.key else value
        for field in section.fields if isinstance(held, Mapping) else ():
            _put(out, section.name(field), held.get(field.key))
    glue = value.get("glue")
    lists = {"ply": value.get("plies"), "line": glue.get("lines") if isinstance(glue, Mapping) else None,
             "leaf": value.get("leaves")}  # fmt: skip
    for name, entries in lists.items():
        for number, entry in enumerate(entries or [], 1):
            for field in ROWS[name][1]:
                _put(out, f"{name}_{number}_{field.key}", (entry or {}).get(field.key))
    return out


def _put(out: dict[str, str], name: str, value: Any) -> None:
    """A value as text; a box is ticked by 1 and left alone by no."""
    if value is None or value is False or (value == "no" and _is_tick(name)):
        return
    out[name] = "1" if value is True or (value == "yes" and _is_tick(name)) else str(value)


def _is_tick(name: str) -> bool:
    return name in _TICKS or name.endswith("_figured")


_TICKS = {s.name(f) for s in SECTIONS for f in s.fields if f.kind == "tick"}
