"""The block that says what an engineered, modified or core sheet is made of.

A docstring below a field says what it means, as in `figureschema`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from woodref.catalogue.blockschema import Width
from woodref.catalogue.figureschema import Cited, Slug, Strict, Words

COLOUR = r"^#[0-9a-f]{6}$"


class RecipeSheet(Strict):
    """One sheet of the repeat."""

    mm: Annotated[float | int, Field(gt=0.1, lt=5)]
    """Thickness before pressing. [mm]"""
    colour: Annotated[str, StringConstraints(pattern=COLOUR)]
    """The dye's colour, for drawing."""


class Relief(Strict):
    """Shape of the mould the sheets are pressed on; flat has neither height nor pitch."""

    shape: Literal["flat", "ridges", "bumps"]
    """Flat, ridges along the leaf, or bumps."""
    height_mm: Annotated[float | int, Field(ge=0, le=60)] = 0
    """From valley to top. [mm]"""
    pitch_mm: Annotated[float | int, Field(gt=0, le=2000)] | None = None
    """From top to top. [mm]"""


class Recipe(Strict):
    """How a reconstituted figure comes about. Ours, and one of many that give such a figure."""

    sheets: Annotated[list[RecipeSheet], Field(min_length=1, max_length=60)]
    """Sheets from the bottom up, one repeat."""
    relief: Relief
    """The mould."""
    cut_along_deg: Annotated[float | int, Field(ge=-45, le=45)] = 0
    """Slope of the cut along the leaf. [degrees]"""
    cut_across_deg: Annotated[float | int, Field(ge=-45, le=45)] = 0
    """Slope of the cut across the leaf. [degrees]"""


class MadeFrom(Cited):
    """What an engineered, modified or core sheet is made of, and how.

    The numbers feed the rules that work its figures out from those of the base wood; a measured figure
    goes before them.
    """

    base: Slug
    """Id of the wood that most of it is: its figures are worked out from this one."""
    woods: Annotated[list[Slug], Field(min_length=1)]
    """Ids of every wood in it, the base too, for the law."""
    process: Literal[
        "reconstituted", "dyed-through", "thermally-treated", "resin-treated", "fumed", "plywood",
        "fibreboard", "particleboard", "strip-core", "end-grain",
    ]  # fmt: skip
    """What was done to the wood."""
    words: Words
    """The same as a maker would say it."""
    sheet_mm: float | int | None = None
    """Thickness of the sheets in the block before pressing. [mm]"""
    compression: Annotated[float | int, Field(ge=0, lt=0.5)] | None = None
    """Share of its thickness that a sheet loses in the press. [share]"""
    glue_solids_g_m2: Annotated[float | int, Field(ge=0)] | None = None
    """Dry glue in a line, one line a sheet. [g/m2]"""
    dye_uptake: Annotated[float | int, Field(ge=0, lt=0.2)] = 0
    """Dye taken up, as a share of the wood's mass. [share]"""
    stiffness_factor: Annotated[float | int, Field(gt=0.5, le=1.1)] | None = None
    """Its stiffness, as a multiple of the base wood's. [factor]"""
    mass_factor: Annotated[float | int, Field(gt=0.5, le=1)] | None = None
    """Heated wood: its density, as a multiple of the base wood's. [factor]"""
    movement_factor: Annotated[float | int, Field(gt=0.2, le=1)] | None = None
    """Heated wood: its shrinkage, as a multiple of the base wood's. [factor]"""
    look_of: list[Slug] = []
    """Ids of the woods it is made to pass for."""
    dye: Literal["through", "surface", "none"] | None = None
    """How deep the dye goes."""
    light_fastness: Words | None = None
    """How the dye stands light."""
    draws_dye: Words | None = None
    """What draws the dye into glue, finish or paler wood beside it."""
    repeat_leaves: Annotated[int, Field(ge=1, le=500)] | None = None
    """Leaves after which the figure comes again. [leaves]"""
    moisture_as_sold: Width = Width()
    """Moisture at which it comes. [%]"""
    recipe: Recipe | None = None
    """How its figure comes about."""
    emission: Words | None = None
    """What is known of the formaldehyde it gives off."""
