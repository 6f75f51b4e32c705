"""Now against after years of light: what each wood looks like planed, and what light makes of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue, Notice
from woodref.science.colour import Lab, lab_to_hex
from woodref.selection.matching import class_step
from woodref.selection.pictures import Choice, chosen
from woodref.selection.wanted import measured
from woodref.selection.words import SAID_WORDS, light_words

#: the change in one word -> the heading of those that do so, in the order drawn
CHANGES = {
    "darkens": "Darker with the years",
    "browns": "Browner",
    "reddens": "Redder",
    "yellows": "Yellower",
    "lightens": "Paler",
    "fades": "Fading",
    "little": "Little changed",
}
CHANGE_WORDS = {"little": "little change"}
#: the colour step from which a wood is within reach of the marked one: the same or a neighbouring colour word
REACH = 0.5


@dataclass(frozen=True)
class Chip:
    """A colour to be drawn: hex, and whether it was measured or is that of a coarse word."""

    hex: str
    measured: bool
    says: str

    def as_dict(self) -> dict[str, Any]:
        return {"hex": self.hex, "measured": self.measured, "says": self.says}


@dataclass(frozen=True)
class Pair:
    """A wood now and after light; after is None where the change is a word alone, which no colour is made
    up for."""

    material: Material
    now: Chip
    after: Chip | None
    change: str
    now_words: str
    after_words: str
    evidence: str
    marked: bool = False

    @property
    def word(self) -> str:
        """The change in one or two words."""
        return CHANGE_WORDS.get(self.change, self.change)

    @property
    def says(self) -> str:
        return f"{self.material.name}: now {self.now.says}; in light: {self.word}"

    def as_dict(self) -> dict[str, Any]:
        m = self.material
        return {
            "id": m.id, "name": m.name, "kind": m.kind, "colour_class": m.look["class"],
            "now": self.now.as_dict(), "after": self.after.as_dict() if self.after else None,
            "change": self.change, "look_now": self.now_words, "look_in_years": self.after_words,
            "evidence": self.evidence, "marked": self.marked,
        }  # fmt: skip

    def flat(self) -> dict[str, Any]:
        """One line for CSV."""
        m = self.material
        return {
            "id": m.id, "name": m.name, "kind": m.kind, "colour_class": m.look["class"],
            "measured": self.now.measured, "change": self.change, "look_now": self.now_words,
            "look_in_years": self.after_words, "evidence": self.evidence,
        }  # fmt: skip


@dataclass
class LightPairs:
    """groups: (change, heading, pairs) in the order drawn."""

    choice: Choice
    groups: list[tuple[str, str, list[Pair]]]
    opening: list[str] = field(default_factory=list)
    closing: list[str] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    stamp: dict[str, str] = field(default_factory=dict)

    @property
    def pairs(self) -> list[Pair]:
        return [pair for _, _, pairs in self.groups for pair in pairs]

    def as_dict(self) -> dict[str, Any]:
        return {
            "picture": "light",
            "query": self.choice.as_dict(),
            "opening": self.opening,
            "count": len(self.pairs),
            "rows": [pair.as_dict() for pair in self.pairs],
            "closing": self.closing,
            "notices": [notice.as_dict() for notice in self.notices],
            "catalogue": self.stamp,
        }

    def rows(self) -> list[dict[str, Any]]:
        return [pair.flat() for pair in self.pairs]


def now_and_after_light(choice: Choice, catalogue: Catalogue) -> LightPairs:
    """Every wood whose change in light is held, by how it changes, then by name. Within reach of a named
    wood: those of the same colour word, a neighbouring one, or one that both come in."""
    woods = chosen(choice, catalogue)
    near = next((m for m in woods if choice.near and m.id == choice.near.id), None)
    pairs: list[Pair] = []
    silent: list[Material] = []
    places: dict[str, int] = {}
    every = catalogue.remembered("light pairs", lambda: _every_pair(catalogue))
    for m in woods:
        if choice.within and near is not None and class_step(near.look, m.look, catalogue) < REACH:
            continue
        if m.id not in every:
            silent.append(m)
            continue
        place, pair = every[m.id]
        pairs.append(replace(pair, marked=True) if m is near else pair)
        places[m.id] = place
    pairs.sort(key=lambda p: places[p.material.id])
    groups = []
    for change, heading in CHANGES.items():
        held = [p for p in pairs if p.change == change]
        if held:
            groups.append((change, heading, held))
    return LightPairs(
        choice,
        groups,
        _opening(near, pairs, silent, choice),
        [
            "A plain chip is a measured colour. A hatched chip is the middle of a coarse colour word: "
            "nothing was measured of that wood.",
            "Where the change is known as a word alone, the second chip holds the word; no colour is made up "
            "for it. How far it goes depends on the light and the finish: keep an offcut in a window.",
        ],
        [*catalogue.notices, *(choice.near.notices if choice.near else ())],
        catalogue.stamp,
    )


def _every_pair(catalogue: Catalogue) -> dict[str, tuple[int, Pair]]:
    """id -> the place by name, and the pair, of every wood whose change in light is held."""
    woods = [m for m in catalogue.materials() if m.look["light"]["change"] != "unknown"]
    woods.sort(key=lambda m: (fold(m.name), m.id))
    return {m.id: (place, _pair(m, catalogue, False)) for place, m in enumerate(woods)}


def _opening(near: Material | None, pairs: list[Pair], silent: list[Material], choice: Choice) -> list[str]:
    out = []
    if near is not None:
        mine = next((p for p in pairs if p.marked), None)
        if mine is None:
            out.append(f"What light does to {near.name} is not known, so it has no pair.")
        else:
            out.append(f"Marked: {near.name}, now {mine.now_words}; in light: {mine.after_words}.")
        if choice.within:
            out.append("Within reach are woods of the same colour word or of a neighbouring one.")
    woods = "1 wood is" if len(pairs) == 1 else f"{len(pairs)} woods are"
    out.append(f"{woods} here." if pairs else "No wood of the catalogue is left by that choice.")
    if silent:
        told = "1 more" if len(silent) == 1 else f"{len(silent)} more"
        out.append(f"What light does to {told} is not known.")
    return out


def _pair(material: Material, catalogue: Catalogue, marked: bool) -> Pair:
    look = material.look
    light = look["light"]
    after = measured(material, "aged-in-light")
    return Pair(
        material,
        chip_of(material, catalogue),
        _measured(after[0]) if after else None,
        light["change"],
        str(look["words"]),
        light_words(material),
        SAID_WORDS[light["evidence"]] if light["evidence"] else "",
        marked,
    )


def chip_of(material: Material, catalogue: Catalogue) -> Chip:
    """The planed face: measured under D65, or the coarse word."""
    seen = measured(material, "planed")
    if seen:
        return _measured(seen[0])
    word = catalogue.colour_classes[material.look["class"]]
    return Chip(lab_to_hex(word.lab), False, word.words)


def _measured(lab: Lab) -> Chip:
    return Chip(lab_to_hex(lab), True, f"measured L* {lab[0]:.0f}, a* {lab[1]:.0f}, b* {lab[2]:.0f}")
