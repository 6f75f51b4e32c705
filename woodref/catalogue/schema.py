"""The shape of every YAML file in data/, checked with pydantic.

Nothing is allowed that is not named here. Read-side values are in `material`, which needs none of
this; the two meet in the built SQLite file.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

from woodref.catalogue.properties import PROPERTIES

#: an id: small letters, figures and single hyphens
SLUG = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
Slug = Annotated[str, StringConstraints(pattern=SLUG)]
Country = Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}(-[A-Z]{3})?$")]
Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]


def _a_day(text: str) -> str:
    """YYYY-MM-DD that stands in the calendar."""
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError(f'"{text}" is not a day of the calendar: write YYYY-MM-DD') from None
    return text


Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$"), AfterValidator(_a_day)]
Evidence = Literal["quoted", "recalled", "estimated", "common-practice"]


class Strict(BaseModel):
    """No unknown field, no silent change of type from text to number."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


#: answers that say nothing is known; they need no evidence
NO_ANSWER = {"unknown", "not-known", "no-record", "NE"}


class Cited(Strict):
    """Something said, with where it comes from.

    quoted demands source and locator; recalled demands the source and the key `locator` (which may
    be null); estimated demands a source of kind rule and `from`; common-practice has no source.
    """

    evidence: Evidence | None = None
    source: Slug | None = None
    locator: Words | None = None
    note: Words | None = None

    #: the field (or all of the fields) whose "unknown" frees the block from evidence; None: evidence is
    #: always demanded
    answer: ClassVar[str | tuple[str, ...] | None] = None

    @model_validator(mode="after")
    def _evidence_cases(self) -> Self:
        given = self.model_fields_set
        asked = (self.answer,) if isinstance(self.answer, str) else self.answer
        if asked and all(getattr(self, field) in NO_ANSWER for field in asked):
            return self
        if self.evidence is None:
            raise ValueError("evidence is missing: quoted, recalled, estimated or common-practice")
        if self.evidence == "quoted" and not (self.source and self.locator):
            raise ValueError(
                "evidence quoted needs source and locator: name the document and the table or page"
            )
        if self.evidence == "recalled" and not (self.source and "locator" in given):
            raise ValueError(
                "evidence recalled needs a source and the key locator (locator: null if forgotten)"
            )
        if self.evidence == "estimated" and not self.source:
            raise ValueError("evidence estimated needs source: the id of the rule used")
        if self.evidence == "common-practice" and (self.source or self.locator):
            raise ValueError("evidence common-practice has no source: remove source and locator")
        return self


class Condition(Strict):
    """How a figure was taken; every key that does not apply is left out."""

    mc: float | Literal["green", "oven-dry", "air-dry", "dry", "as-sold", "not-stated"] | None = None
    from_: Literal["green"] | None = Field(default=None, alias="from")
    to: Literal["oven-dry", "air-dry", "12 %"] | None = None
    mass: Literal["oven-dry"] | None = None
    volume: Literal["green", "oven-dry", "not-stated"] | None = None
    within: Literal["service"] | None = None
    part: Literal["heartwood", "sapwood"] | None = None
    method: Words | None = None
    direction: Literal["side", "end", "radial", "tangential"] | None = None
    set_: Words | None = Field(default=None, alias="set")
    stand: Literal["natural", "planted", "not-stated"] | None = None
    age: Words | None = None


class FigureIn(Cited):
    """One figure: value or low and high (both: typical value inside a range)."""

    value: float | int | None = None
    low: float | int | None = None
    high: float | int | None = None
    n: Annotated[int, Field(ge=1)] | None = None
    unit: str
    printed: Words | None = None
    condition: Condition
    for_taxon: Words | None = None
    from_: list[Words] | None = Field(default=None, alias="from")
    added_error: Annotated[float | int, Field(gt=0)] | None = None

    @model_validator(mode="after")
    def _number_and_rule(self) -> FigureIn:
        if (self.low is None) != (self.high is None):
            raise ValueError("low and high go together")
        if self.value is None and self.low is None:
            raise ValueError("a figure needs value, or low and high")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        inside = self.value is None or self.low is None or self.high is None
        if not inside and not float(self.low or 0) <= float(self.value or 0) <= float(self.high or 0):
            raise ValueError(f"value {self.value:g} lies outside low..high")
        worked = self.evidence == "estimated"
        if worked and not (self.from_ and self.added_error):
            raise ValueError(
                "evidence estimated needs from (the figures it rests on) and added_error (percent)"
            )
        if not worked and (self.from_ or self.added_error):
            raise ValueError("from and added_error belong to evidence estimated only")
        return self


class NameIn(Strict):
    """A name people use. regions: ISO codes, or empty for everywhere."""

    text: Words
    lang: Annotated[str, StringConstraints(pattern=r"^[a-z]{2,3}$")]
    regions: list[Country] = []
    note: Words | None = None


class Botanical(Strict):
    name: Words
    family: Words
    synonyms: list[Words] = []


class Plantation(Cited):
    """Is it planted for timber, where, and is planted wood sold as veneer?"""

    answer = "grown"

    grown: Literal["yes", "some", "no", "unknown"]
    countries: list[Country] = []
    sold_as_veneer: Literal["yes", "some", "no", "not-known"]


class Grows(Cited):
    """Countries of harvest: where the tree grows wild or is planted for timber."""

    countries: list[Country]
    plantation: Plantation


class Swatch(Cited):
    part: Literal["ground", "line", "sapwood"]
    state: Literal["planed", "oiled", "lacquered", "aged-in-light", "steamed", "fumed", "dyed"]
    lab: Annotated[list[float | int], Field(min_length=3, max_length=3)]
    spread: float | int | None = None
    light: Literal["D65/2", "D65/10", "C/2", "not-stated"]


class Light(Cited):
    answer = "change"
    change: Literal["darkens", "lightens", "yellows", "reddens", "browns", "fades", "little", "unknown"]
    words: Words | None = None


FIGURE_WORDS = Literal[
    "plain", "cathedral", "stripe", "ribbon", "mottle", "pommele", "fiddleback", "curl", "quilted",
    "ray-fleck", "lace", "bird's-eye", "burr", "crotch", "streaked", "wavy-lines", "growth-rings",
]  # fmt: skip


class Look(Cited):
    """What the eye sees: planed, oiled, after light. class is the colour class of most pieces, also
    holds the classes that whole pieces of it come in as well (keys of classes.yaml)."""

    words: Words
    oiled: Words | None = None
    class_: Slug = Field(alias="class")
    also: list[Slug] = []
    swatches: list[Swatch] = []
    light: Light
    pores: Literal["diffuse", "semi-ring", "ring", "none", "unknown"]
    texture: Literal["fine", "medium", "coarse", "unknown"]
    grain: Literal["straight", "interlocked", "wavy", "irregular", "unknown"]
    figures: list[FIGURE_WORDS] = []
    sapwood: Words | None = None


class Width(Strict):
    low: Annotated[float | int, Field(gt=0)] | None = None
    high: Annotated[float | int, Field(gt=0)] | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class Treatment(Strict):
    kind: Literal["steamed", "fumed", "bleached", "dyed-through", "thermally-treated"]
    colour: Words | None = None
    sold: Literal["common", "to-order", "rare", "not-known"]


class Sapwood(Cited):
    """Sapwood of the sheets sold: in them (yes: left in or not to be told from the heart) or cut out, and
    which beetle eats it as dry wood. Its colour is look.sapwood."""

    answer = ("with_heart", "beetles")

    with_heart: Literal["yes", "some", "no", "unknown"] = "unknown"
    beetles: Literal["powder-post", "furniture", "seldom", "unknown"] = "unknown"


class Veneer(Cited):
    """How it is sold as sheets. treatments: [] when it is sold untreated only, null when not known."""

    answer = "sold"

    sold: Literal["common", "to-order", "rare", "no", "not-known"]
    cuts: list[Literal["rotary", "crown", "quarter", "rift", "half-round", "burr", "block-sliced"]] = []
    thickness_mm: list[Annotated[float | int, Field(gt=0.05, lt=12)]] = []
    leaf_width_mm: Width = Width()
    treatments: list[Treatment] | None = None
    sapwood: Sapwood = Sapwood()


class Bending(Cited):
    answer = "class_"
    class_: Literal["easy", "good", "moderate", "poor", "unknown"] = Field(alias="class")
    words: Words | None = None


class Gluing(Cited):
    answer = "class_"
    class_: Literal["easy", "with-care", "difficult", "unknown"] = Field(alias="class")
    words: Words | None = None


class BleedThrough(Cited):
    answer = "risk"
    risk: Literal["low", "medium", "high", "unknown"]
    words: Words | None = None


class Dust(Cited):
    answer = "risk"
    risk: Literal["sensitiser", "toxic", "irritant", "none-reported", "no-record"]
    words: Words | None = None


class Extract(Cited):
    """How the wood's extract in water reacts: acid below about pH 4.2, mildly acid to about 6, neutral to
    about 7.5, alkaline above."""

    answer = "reaction"
    reaction: Literal["acid", "mildly-acid", "neutral", "alkaline", "unknown"] = "unknown"
    words: Words | None = None


class Working(Cited):
    """At the bench. The evidence is that of tannin, oily and splinters, shop knowledge unless said
    otherwise; the blocks have their own."""

    answer = ("tannin", "oily", "splinters")

    evidence: Evidence | None = "common-practice"
    bending: Bending
    gluing: Gluing
    bleed_through: BleedThrough
    dust: Dust
    extract: Extract = Extract()
    tannin: Literal["low", "medium", "high", "unknown"]
    oily: Literal["no", "somewhat", "yes", "unknown"]
    splinters: Literal["no", "somewhat", "yes", "unknown"] = "unknown"


class RedList(Cited):
    """IUCN category as last known: information, never a bar."""

    answer = "category"

    category: Literal["LC", "NT", "VU", "EN", "CR", "DD", "NE", "unknown"]
    year: Annotated[str, StringConstraints(pattern=r"^\d{4}$")] | None = None


class RecipeSheet(Strict):
    """One sheet of the repeat: thickness before pressing [mm] and the dye's colour as #rrggbb."""

    mm: Annotated[float | int, Field(gt=0.1, lt=5)]
    colour: Annotated[str, StringConstraints(pattern=r"^#[0-9a-f]{6}$")]


class Relief(Strict):
    """Shape of the mould the sheets are pressed on: height and pitch [mm]; flat has neither."""

    shape: Literal["flat", "ridges", "bumps"]
    height_mm: Annotated[float | int, Field(ge=0, le=60)] = 0
    pitch_mm: Annotated[float | int, Field(gt=0, le=2000)] | None = None


class Recipe(Strict):
    """How a reconstituted figure comes about: sheets from the bottom up (one repeat), mould relief, and
    the slope of the cut along and across the leaf [degrees]."""

    sheets: Annotated[list[RecipeSheet], Field(min_length=1, max_length=60)]
    relief: Relief
    cut_along_deg: Annotated[float | int, Field(ge=-45, le=45)] = 0
    cut_across_deg: Annotated[float | int, Field(ge=-45, le=45)] = 0


class MadeFrom(Cited):
    """What an engineered, modified or core sheet is made of. woods: every wood in it, for the law.

    sheet_mm, compression, glue_solids_g_m2 (one line a sheet), dye_uptake, stiffness_factor and, for heated
    wood, mass_factor and movement_factor feed the rules that work its figures out from the base wood; a
    measured figure goes before them.
    """

    base: Slug
    woods: Annotated[list[Slug], Field(min_length=1)]
    process: Literal[
        "reconstituted", "dyed-through", "thermally-treated", "resin-treated", "fumed", "plywood",
        "fibreboard", "particleboard", "strip-core", "end-grain",
    ]  # fmt: skip
    words: Words
    sheet_mm: float | int | None = None
    compression: Annotated[float | int, Field(ge=0, lt=0.5)] | None = None
    glue_solids_g_m2: Annotated[float | int, Field(ge=0)] | None = None
    dye_uptake: Annotated[float | int, Field(ge=0, lt=0.2)] = 0
    stiffness_factor: Annotated[float | int, Field(gt=0.5, le=1.1)] | None = None
    mass_factor: Annotated[float | int, Field(gt=0.5, le=1)] | None = None
    movement_factor: Annotated[float | int, Field(gt=0.2, le=1)] | None = None
    look_of: list[Slug] = []
    dye: Literal["through", "surface", "none"] | None = None
    light_fastness: Words | None = None
    draws_dye: Words | None = None
    repeat_leaves: Annotated[int, Field(ge=1, le=500)] | None = None
    moisture_as_sold: Width = Width()
    recipe: Recipe | None = None
    emission: Words | None = None


class MaterialIn(Strict):
    """One file below species/, engineered/, modified/ or cores/."""

    id: Slug
    was: list[Slug] = []
    kind: Literal["species", "engineered", "modified", "core"]
    hardness_group: Literal["hardwood", "softwood"]
    botanical: Botanical | None
    names: Annotated[list[NameIn], Field(min_length=1)]
    made_from: MadeFrom | None = None
    grows: Grows
    figures: dict[str, list[FigureIn]]
    look: Look
    veneer: Veneer
    working: Working
    red_list: RedList
    cautions: list[Words] = []

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
    """One document or rule, cited by its id. form: what a document is, where it is neither a report nor a
    paper with a DOI."""

    id: Slug
    kind: Literal["document", "data-set", "law", "standard", "rule"]
    form: Literal["article", "book", "page", "report"] | None = None
    title: Words
    by: Words | None = None
    year: Annotated[str, StringConstraints(pattern=r"^\d{4}$")] | None = None
    publisher: Words | None = None
    doi: Words | None = None
    licence: Words | None = None
    seen: Words
    states: Words | None = None

    @model_validator(mode="after")
    def _form_of_a_document(self) -> Self:
        if self.form and self.kind != "document":
            raise ValueError(f"form belongs to kind document only, not to {self.kind}")
        return self


class Meaning(Strict):
    """What a shared name may mean: a material of ours, or a wood we do not hold."""

    material: Slug | None = None
    botanical: Words | None = None
    usual_in: list[Annotated[str, StringConstraints(pattern=r"^(\*|[A-Z]{2})$")]] = []
    note: Words

    @model_validator(mode="after")
    def _one(self) -> Meaning:
        if (self.material is None) == (self.botanical is None):
            raise ValueError("give material (an id) or botanical (a Latin name), one of the two")
        return self


class SharedNameIn(Strict):
    text: Words
    meanings: Annotated[list[Meaning], Field(min_length=2)]


class ColourClass(Strict):
    """A coarse colour class: representative Lab (D65/2) and radius (CIEDE2000) to draw a chip."""

    id: Slug
    words: Words
    lab: Annotated[list[float | int], Field(min_length=3, max_length=3)]
    radius: float | int
    near: list[Slug] = []


class Classes(Strict):
    """classes.yaml: colour classes and the order of neighbours for classes that have one."""

    colours: Annotated[list[ColourClass], Field(min_length=1)]
    orders: dict[Literal["texture", "pores", "grain"], list[Words]]
    near_figures: list[Annotated[list[FIGURE_WORDS], Field(min_length=2, max_length=2)]] = []


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
