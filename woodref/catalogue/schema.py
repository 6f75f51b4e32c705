"""The shape of every YAML file in data/, checked with pydantic: whole files, from the blocks of
`figureschema`, `blockschema` and `madeschema`, which are found here too.

Nothing is allowed that is not named here. Read-side values are in `material`, which needs none of
this; the two meet in the built SQLite file.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Field, StringConstraints, model_validator

from woodref.catalogue.blockschema import (
    FIGURE_WORDS,
    Bending,
    BleedThrough,
    Botanical,
    Dust,
    Extract,
    Gluing,
    Grows,
    Light,
    Look,
    NameIn,
    Plantation,
    RedList,
    Sapwood,
    Swatch,
    Veneer,
    Working,
)
from woodref.catalogue.figureschema import (
    SLUG,
    Cited,
    Condition,
    Country,
    Day,
    Evidence,
    FigureIn,
    Slug,
    Strict,
    Words,
    Year,
)
from woodref.catalogue.madeschema import MadeFrom
from woodref.catalogue.properties import PROPERTIES

__all__ = [
    "DOCUMENTS", "FIGURE_WORDS", "FOLDERS", "LISTS", "SLUG", "Bending", "BleedThrough", "Botanical", "Cited",
    "Classes", "ColourClass", "Condition", "Country", "Day", "Dust", "Evidence", "Extract", "FigureIn",
    "Gluing", "Grows", "Light", "Look", "MadeFrom", "MaterialIn", "Meaning", "NameIn", "Plantation",
    "RedList", "Sapwood", "SharedNameIn", "Slug", "SourceIn", "Strict", "Swatch", "Veneer", "Words",
    "Working", "json_ready",
]  # fmt: skip

#: a country, or every country that no other meaning names
PLACE_OR_ALL = r"^(\*|[A-Z]{2})$"


class MaterialIn(Strict):
    """One file below species/, engineered/, modified/ or cores/: a wood or a sheet."""

    id: Slug
    """Also the file's name: the binomial of a species (alnus-rubra), plain words for a made sheet. Never
    changed once it is used."""
    was: list[Slug] = []
    """Retired ids that still answer here."""
    kind: Literal["species", "engineered", "modified", "core"]
    """The kind that the folder holds: a species, an engineered veneer (reconstituted or dyed), a wood
    changed by heat, resin or fuming, or a board for the middle."""
    hardness_group: Literal["hardwood", "softwood"]
    """In the botanical sense: broadleaved or conifer."""
    botanical: Botanical | None
    """The tree; null for any other kind than a species."""
    names: Annotated[list[NameIn], Field(min_length=1)]
    """What the trade calls it, the printed name first."""
    made_from: MadeFrom | None = None
    """What it is made of; for every kind but a species, and demanded there."""
    grows: Grows
    """Where it is harvested; of a made sheet its wood."""
    figures: dict[str, list[FigureIn]]
    """Property (the list at the end) -> figures, always a list. What is not known is left out."""
    look: Look
    """What the eye sees."""
    veneer: Veneer
    """How it is sold as sheets."""
    working: Working
    """At the bench."""
    red_list: RedList
    """How threatened the species is; information, never a bar."""
    cautions: list[Words] = []
    """What else can hurt or go wrong, one sentence each."""

    @model_validator(mode="after")
    def _kinds(self) -> MaterialIn:
        if (self.kind == "species") != (self.botanical is not None):
            raise ValueError("a species has a botanical name, other kinds have botanical: null")
        if (self.kind == "species") == (self.made_from is not None):
            raise ValueError("made_from is for engineered, modified and core materials only")
        for name in self.figures:
            if name not in PROPERTIES:
                raise ValueError(f"figures.{name} is not a property; known: {', '.join(PROPERTIES)}")
        return self


class SourceIn(Strict):
    """One document or rule, cited everywhere by its id."""

    id: Slug
    """What files cite it by."""
    kind: Literal["document", "data-set", "law", "standard", "rule"]
    """What it is; rule is a rule of ours by which figures are worked out."""
    form: Literal["article", "book", "page", "report"] | None = None
    """What a document is; without it one with a DOI is an article and any other a report."""
    title: Words
    """Title as printed."""
    by: Words | None = None
    """Who wrote it."""
    year: Year | None = None
    """Year it came out, in quotes."""
    publisher: Words | None = None
    """Who brought it out."""
    doi: Words | None = None
    """Its DOI without the address before it."""
    licence: Words | None = None
    """Under which terms its figures may be passed on."""
    seen: Words
    """How it came to us: opened, public copy, second hand, memory, our own."""
    states: Words | None = None
    """For a rule: what it says, with its error."""

    @model_validator(mode="after")
    def _form_of_a_document(self) -> Self:
        if self.form and self.kind != "document":
            raise ValueError(f"form belongs to kind document only, not to {self.kind}")
        return self


class Meaning(Strict):
    """What a shared name may mean: a material of ours, or a wood we do not hold."""

    material: Slug | None = None
    """Id of a material held here. This or botanical, one of the two."""
    botanical: Words | None = None
    """Latin name of a wood that is not held here."""
    usual_in: list[Annotated[str, StringConstraints(pattern=PLACE_OR_ALL)]] = []
    """Countries where the name alone means this wood; "*" wherever no other meaning names the country."""
    note: Words
    """How a person tells it from the others."""

    @model_validator(mode="after")
    def _one(self) -> Meaning:
        if (self.material is None) == (self.botanical is None):
            raise ValueError("give material (an id) or botanical (a Latin name), one of the two")
        return self


class SharedNameIn(Strict):
    """A trade name that several woods go by: woodref asks instead of guessing."""

    text: Words
    """The name."""
    meanings: Annotated[list[Meaning], Field(min_length=2)]
    """Every wood it may mean."""


class ColourClass(Strict):
    """A coarse colour class: a word for what the eye sees on planed heartwood."""

    id: Slug
    """What look.class and look.also name."""
    words: Words
    """The class as printed."""
    lab: Annotated[list[float | int], Field(min_length=3, max_length=3)]
    """L*, a* and b* (D65, 2 degrees) to draw a chip with: our choice, never a measurement. [CIELAB]"""
    radius: float | int
    """How far the class reaches round it. [CIEDE2000]"""
    near: list[Slug] = []
    """Classes a maker would still lay side by side; each names the other."""


class Classes(Strict):
    """Colour classes, and which words count as neighbours when woods are compared."""

    colours: Annotated[list[ColourClass], Field(min_length=1)]
    """The colour classes."""
    orders: dict[Literal["texture", "pores", "grain"], list[Words]]
    """Words in the order in which they are neighbours: the next one counts half."""
    near_figures: list[Annotated[list[FIGURE_WORDS], Field(min_length=2, max_length=2)]] = []
    """Pairs of figures a maker would still lay side by side."""


#: file (below data/) -> model of the whole file
DOCUMENTS: dict[str, type[Strict]] = {
    "classes.yaml": Classes,
}

#: file (below data/) -> (top key, model of one entry)
LISTS: dict[str, tuple[str, type[Strict]]] = {
    "sources.yaml": ("sources", SourceIn),
    "names.yaml": ("names", SharedNameIn),
}


#: folder -> kind of every material in it
FOLDERS = {
    "species": "species",
    "engineered": "engineered",
    "modified": "modified",
    "cores": "core",
}


def json_ready(model: BaseModel) -> dict[str, Any]:
    """The model as plain values under the file's own key names."""
    return model.model_dump(mode="json", by_alias=True)
