"""The blocks of a material file: names, where it grows, look, veneer, at the bench.

A docstring below a field says what it means, as in `figureschema`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from woodref.catalogue.figureschema import Cited, Country, Evidence, Slug, Strict, Words, Year

LANGUAGE = r"^[a-z]{2,3}$"


class NameIn(Strict):
    """A name people use."""

    text: Words
    """The name as the trade writes it. The first in the file is the one printed."""
    lang: Annotated[str, StringConstraints(pattern=LANGUAGE)]
    """Language of the name, such as en or fr."""
    regions: list[Country] = []
    """Countries whose trade says it so; empty for everywhere."""
    note: Words | None = None
    """What to know about this name."""


class Botanical(Strict):
    """The tree in Latin."""

    name: Words
    """Accepted botanical name, the one that papers should carry."""
    family: Words
    """Botanical family."""
    synonyms: list[Words] = []
    """Older botanical names that papers may still carry."""


class Plantation(Cited):
    """Is it planted for timber, where, and is planted wood sold as veneer?"""

    answer = "grown"

    grown: Literal["yes", "some", "no", "unknown"]
    """Whether it is planted for timber."""
    countries: list[Country] = []
    """Countries where it is planted for timber, in alphabetical order."""
    sold_as_veneer: Literal["yes", "some", "no", "not-known"]
    """Whether planted wood is sold as veneer."""


class Grows(Cited):
    """Countries of harvest: where the tree grows wild or is planted for timber."""

    countries: list[Country]
    """All of them, in alphabetical order. Without one a wood is no candidate for anything."""
    plantation: Plantation
    """Planted for timber."""


class Swatch(Cited):
    """A measured colour. Where nothing was measured there is none: no number is invented."""

    part: Literal["ground", "line", "sapwood"]
    """The part measured: the ground colour, a dark line or the sapwood."""
    state: Literal["planed", "oiled", "lacquered", "aged-in-light", "steamed", "fumed", "dyed"]
    """State of the face measured."""
    lab: Annotated[list[float | int], Field(min_length=3, max_length=3)]
    """CIELAB L*, a* and b*. [CIELAB]"""
    spread: float | int | None = None
    """Radius in which about two thirds of the pieces lie. [CIEDE2000]"""
    light: Literal["D65/2", "D65/10", "C/2", "not-stated"]
    """Light and observer. Only D65/2 (D65, 2 degrees) is compared, others are kept and shown."""


class Light(Cited):
    """What years of light do to the face."""

    answer = "change"
    change: Literal["darkens", "lightens", "yellows", "reddens", "browns", "fades", "little", "unknown"]
    """The change in one word."""
    words: Words | None = None
    """The same said in full, printed in the place of the one word."""


FIGURE_WORDS = Literal[
    "plain", "cathedral", "stripe", "ribbon", "mottle", "pommele", "fiddleback", "curl", "quilted",
    "ray-fleck", "lace", "bird's-eye", "burr", "crotch", "streaked", "wavy-lines", "growth-rings",
]  # fmt: skip


class Look(Cited):
    """What the eye sees: planed, oiled, after light."""

    words: Words
    """Colour of the planed heartwood as a maker would say it."""
    oiled: Words | None = None
    """Colour under oil."""
    class_: Slug = Field(alias="class")
    """Colour class of most pieces: an id of classes.yaml."""
    also: list[Slug] = []
    """Colour classes that whole pieces of it come in as well."""
    swatches: list[Swatch] = []
    """Measured colours."""
    light: Light
    """What light does to it."""
    pores: Literal["diffuse", "semi-ring", "ring", "none", "unknown"]
    """How the pores stand on the end grain; none for softwoods."""
    texture: Literal["fine", "medium", "coarse", "unknown"]
    """How coarse the face looks and fills."""
    grain: Literal["straight", "interlocked", "wavy", "irregular", "unknown"]
    """How the fibres usually run."""
    figures: list[FIGURE_WORDS] = []
    """Figures that leaves of it are sold with."""
    sapwood: Words | None = None
    """Colour of the sapwood and how far it stands off the heart."""


class Width(Strict):
    """A band, either end of which may be missing."""

    low: Annotated[float | int, Field(gt=0)] | None = None
    """Usual lower end. [the band's unit]"""
    high: Annotated[float | int, Field(gt=0)] | None = None
    """Usual upper end. [the band's unit]"""

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class Treatment(Strict):
    """A treated kind that the same wood is sold as."""

    kind: Literal["steamed", "fumed", "bleached", "dyed-through", "thermally-treated"]
    """The treatment."""
    colour: Words | None = None
    """What it does to the colour."""
    sold: Literal["common", "to-order", "rare", "not-known"]
    """How easily it is had."""


class Sapwood(Cited):
    """Sapwood of the sheets sold. Its colour is look.sapwood."""

    answer = ("with_heart", "beetles")

    with_heart: Literal["yes", "some", "no", "unknown"] = "unknown"
    """Whether sheets hold it: yes = left in, or not to be told from the heart; no = cut out."""
    beetles: Literal["powder-post", "furniture", "seldom", "unknown"] = "unknown"
    """The beetle that eats it as dry wood."""


class Veneer(Cited):
    """How it is sold as sheets."""

    answer = "sold"

    sold: Literal["common", "to-order", "rare", "no", "not-known"]
    """How easily it is had as veneer."""
    cuts: list[Literal["rotary", "crown", "quarter", "rift", "half-round", "burr", "block-sliced"]] = []
    """Cuts on the market; rotary = peeled, block-sliced = sliced from a pressed block."""
    thickness_mm: list[Annotated[float | int, Field(gt=0.05, lt=12)]] = []
    """Thicknesses on the market. [mm]"""
    leaf_width_mm: Width = Width()
    """Usual width of a leaf. [mm]"""
    treatments: list[Treatment] | None = None
    """Treated kinds; [] when it is sold untreated only, null when nobody knows."""
    sapwood: Sapwood = Sapwood()
    """Sapwood in the sheets."""


class Bending(Cited):
    """How a thin sheet follows a mould."""

    answer = "class_"
    class_: Literal["easy", "good", "moderate", "poor", "unknown"] = Field(alias="class")
    """How willingly it bends."""
    words: Words | None = None
    """What helps, and what cracks."""


class Gluing(Cited):
    """How it takes glue."""

    answer = "class_"
    class_: Literal["easy", "with-care", "difficult", "unknown"] = Field(alias="class")
    """How willingly it takes glue."""
    words: Words | None = None
    """What to do about it."""


class BleedThrough(Cited):
    """Glue that comes through the face."""

    answer = "risk"
    risk: Literal["low", "medium", "high", "unknown"]
    """How easily glue comes through a thin face."""
    words: Words | None = None
    """Why, and where it is worst."""


class Dust(Cited):
    """Harm from its dust beyond that of any wood dust."""

    answer = "risk"
    risk: Literal["sensitiser", "toxic", "irritant", "none-reported", "no-record"]
    """The worst that is reported; no-record is never taken for harmless."""
    words: Words | None = None
    """What it does to people."""


class Extract(Cited):
    """How the wood's extract in water reacts, which glue and steel feel."""

    answer = "reaction"
    reaction: Literal["acid", "mildly-acid", "neutral", "alkaline", "unknown"] = "unknown"
    """Acid below about pH 4.2, mildly acid to about 6, neutral to about 7.5, alkaline above."""
    words: Words | None = None
    """What is known of it."""


class Working(Cited):
    """At the bench. The evidence is that of tannin, oily and splinters, shop knowledge unless said
    otherwise; the blocks have their own."""

    answer = ("tannin", "oily", "splinters")

    evidence: Evidence | None = "common-practice"
    """How well tannin, oily and splinters are known."""
    bending: Bending
    """Bending as a thin sheet."""
    gluing: Gluing
    """Gluing."""
    bleed_through: BleedThrough
    """Glue through the face."""
    dust: Dust
    """Its dust."""
    extract: Extract = Extract()
    """Its extract in water."""
    tannin: Literal["low", "medium", "high", "unknown"]
    """How much tannin it holds: iron and water stain wood rich in it blue-black."""
    oily: Literal["no", "somewhat", "yes", "unknown"]
    """Whether an oily face keeps glue off."""
    splinters: Literal["no", "somewhat", "yes", "unknown"] = "unknown"
    """Whether raw leaves splinter into the hand."""


class RedList(Cited):
    """IUCN category as last known: information, never a bar."""

    answer = "category"

    category: Literal["LC", "NT", "VU", "EN", "CR", "DD", "NE", "unknown"]
    """LC least concern, NT near threatened, VU vulnerable, EN endangered, CR critically endangered, DD too
    little data, NE not evaluated."""
    year: Year | None = None
    """Year of that assessment, in quotes."""
