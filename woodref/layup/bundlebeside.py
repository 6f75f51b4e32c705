"""The figures of a bundle beside those of the catalogue held here: what differs, a sentence each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from woodref.catalogue.change import differing, said
from woodref.catalogue.material import Figure, Material, citation
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.errors import echo
from woodref.layup.boards import board_rule
from woodref.layup.bundlefigures import Gathered, figure_told, ratios_of
from woodref.selection.estimates import estimated

#: what is said of a wood that the report rests on, beside its figures
_SAID: tuple[tuple[str, Callable[[Material], Any]], ...] = (
    ("kind", lambda m: m.kind),
    ("class by its pores", lambda m: m.hardness_group),
    ("name", lambda m: m.name),
    ("woods in it", lambda m: m.woods),
    ("colour class", lambda m: m.look["class"]),
    ("texture", lambda m: m.look["texture"]),
    ("cuts it is sold in", lambda m: m.veneer["cuts"]),
    ("bleeding through of glue", lambda m: m.working["bleed_through"]["risk"]),
    ("dust", lambda m: m.working["dust"]["risk"]),
    ("tannin", lambda m: m.working["tannin"]),
    ("oil", lambda m: m.working["oily"]),
    ("process", lambda m: (m.made_from or {}).get("process")),
    ("base wood", lambda m: (m.made_from or {}).get("base")),
    ("rule for boards", lambda m: asdict(rule) if (rule := board_rule(m)) else None),
    ("cautions", lambda m: m.cautions),
)


@dataclass(frozen=True)
class FigureBeside:
    """One figure that differs; here None: the catalogue held here has none; bundled None: the bundle has
    none."""

    wood: str
    name: str
    prop: str
    bundled: Figure | None
    here: Figure | None

    @property
    def sentence(self) -> str:
        asks = PROPERTIES[self.prop].asks
        head = f"{asks[0].upper()}{asks[1:]} of {self.name}"
        one, two = self.bundled, self.here
        if one is None or two is None:
            held, place, lacking = (
                (two, "here", "in the bundle") if one is None else (one, "in the bundle", "here")
            )
            assert held is not None
            return f"{head}: {said(held, 6)} {place}, none {lacking}."
        if said(one, 6) != said(two, 6):
            if said(one, 6).partition(" (")[0] == said(two, 6).partition(" (")[0]:
                cited = f"{citation(one)} in the bundle and {citation(two)} here"
                return f"{head}: the same number, which is {cited}."
            return f"{head}: {said(one, 6)} in the bundle, {said(two, 6)} here."
        if said(one, 15) != said(two, 15):
            return f"{head}: {said(one, 15)} in the bundle, {said(two, 15)} here."
        fields = " and ".join(differing(one, two))
        return f"{head}: the same number from the same place; {fields} read otherwise here."

    def as_dict(self) -> dict[str, Any]:
        return {
            "material": self.wood, "property": self.prop,
            "bundled": figure_told(self.bundled) if self.bundled else None,
            "here": figure_told(self.here) if self.here else None, "sentence": self.sentence,
        }  # fmt: skip


@dataclass(frozen=True)
class Beside:
    """compared: figures of the bundle; figures: those that differ; others: sentences on names, glues, colours
    and what is said of the woods."""

    compared: int
    figures: tuple[FigureBeside, ...]
    others: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many things differ."""
        return len(self.figures) + len(self.others)

    def sentences(self) -> list[str]:
        if not self.count:
            return [f"The catalogue held here has the same {self.compared:,} figures and the same glue data."]
        things = "1 thing differs" if self.count == 1 else f"{self.count:,} things differ"
        return [
            f"Between the bundle's {self.compared:,} figures with their glue data and the catalogue held "
            f"here {things}:",
            *(f.sentence for f in self.figures),
            *self.others,
        ]

    def as_dict(self) -> dict[str, Any]:
        return {
            "count": self.compared, "differ": [f.as_dict() for f in self.figures], "others": list(self.others)
        }  # fmt: skip


def beside_here(theirs: Gathered, mine: Gathered | None, catalogue: Catalogue) -> Beside:
    """mine: what the report by the catalogue held here rests on; None when there is none."""
    held = set(catalogue.ids())
    figures: list[FigureBeside] = []
    others: list[str] = []
    if mine is not None:
        others += _names(theirs, mine)
    for name in sorted(theirs.woods):
        wood = theirs.woods[name]
        if name not in held:
            others.append(f"{wood.name} ({name}) is not in the catalogue held here.")
            continue
        here = catalogue.material(name)
        own = mine.woods.get(name) if mine else None
        for prop in [*wood.figures, *(p for p in (own.figures if own else ()) if p not in wood.figures)]:
            one, two = wood.figure(prop), _here(here, own, prop, wood.figure(prop))
            if one is None or two is None or differing(one, two):
                figures.append(FigureBeside(name, wood.name, prop, one, two))
        for what, read in _SAID:
            was, now = read(wood), read(here)
            if was != now:
                others.append(f"{wood.name}, {what}: {_words(was)} in the bundle, {_words(now)} here.")
    others += _glues(theirs, catalogue)
    drawn = catalogue.colour_classes
    others += [
        f"The class of colour {name} is drawn otherwise here."
        for name, lab in sorted(theirs.lab.items())
        if name not in drawn or drawn[name].lab != lab
    ]
    return Beside(len(theirs.figures()), tuple(figures), tuple(others))


def _here(here: Material, own: Material | None, prop: str, bundled: Figure | None) -> Figure | None:
    """The figure that a report would be worked with here."""
    if own is not None and own.figure(prop) is not None:
        return own.figure(prop)
    found = here.figure(prop) or ratios_of(here).get(prop)
    if found is None and bundled is not None and bundled.evidence == "estimated":
        found = estimated(here).figure(prop)
    return found


def _names(theirs: Gathered, mine: Gathered) -> list[str]:
    return [
        f"The name {echo(text)} stands for {theirs.names[text].id} in the bundle and for "
        f"{mine.names[text].id} here."
        for text in sorted(theirs.names.keys() & mine.names.keys())
        if theirs.names[text].id != mine.names[text].id
    ]


def _glues(theirs: Gathered, catalogue: Catalogue) -> list[str]:
    out = []
    for name, glue in sorted(theirs.glues.items()):
        here: Mapping[str, Any] | None = catalogue.adhesives.get(name)
        if here is None:
            out.append(f"The glue {name} is not in the catalogue held here.")
            continue
        for key in sorted({*glue, *here}):
            was, now = glue.get(key), here.get(key)
            if was != now:
                out.append(f"Glue {name}, {key}: {_words(was)} in the bundle, {_words(now)} here.")
    return out


def _words(value: Any) -> str:
    """A value of a record in few words: a band as '100 to 160'."""
    if value is None:
        return "nothing"
    if isinstance(value, Mapping) and set(value) == {"low", "high"}:
        return f"{value['low']:g} to {value['high']:g}"
    if isinstance(value, list | tuple):
        return ", ".join(_words(sub) for sub in value) or "none"
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {_words(sub)}" for key, sub in value.items())
    return echo(value, 200)[1:-1] if isinstance(value, str) else str(value)
