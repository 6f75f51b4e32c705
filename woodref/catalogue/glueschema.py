"""The shape of the files below data/adhesives/: classes of glue as a bench uses them.

A docstring below a field says what it means, as in `figureschema`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from woodref.catalogue.blockschema import NameIn
from woodref.catalogue.figureschema import Cited, Slug, Strict, Words


class Band(Strict):
    """A band of a quantity, ends included."""

    low: float | int
    """Lower end. [the band's unit]"""
    high: float | int
    """Upper end. [the band's unit]"""

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class CureAt(Strict):
    """Time in the press at a temperature."""

    temperature_c: float | int
    """Temperature of the line, not of the platen. [C]"""
    minutes: Band
    """How long. [min]"""


class LightPress(Strict):
    """Less pressure than usual that shops get by with, on a condition: a vacuum bag, a few weights."""

    lowest_mpa: Annotated[float | int, Field(gt=0)]
    """Down to which pressure, below that of pressure_mpa. [MPa]"""
    when: Words
    """For which work it is enough, and for which not."""


class AdhesiveIn(Cited):
    """One file below adhesives/: a class of glue as a bench uses it. Bands are what makers' sheets of
    the class spread over; the sheet of the glue in hand always goes before them.
    """

    id: Slug
    """Also the file's name. Never changed once it is used."""
    names: Annotated[list[NameIn], Field(min_length=1)]
    """What the trade calls it, the printed name first. No wood and no other glue may go by one of them."""
    used_for: Words
    """The work it is usual for."""
    chemistry: Words
    """What is in it and how it sets."""
    parts: Literal["one", "two", "powder-and-water"]
    """What has to be mixed at the bench."""
    spread_g_m2: Band
    """Wet glue on a line. [g/m2]"""
    solids_share: Band
    """What stays in the line when the water has gone. [share]"""
    open_assembly_min: Band | None
    """From spreading to laying the sheets together, at 20 C; null when not known. [min]"""
    closed_assembly_min: Band | None
    """From laying them together to full pressure, at 20 C; null when not known. [min]"""
    cure: Annotated[list[CureAt], Field(min_length=1)]
    """Time in the press at each temperature that is known, coldest first."""
    cure_part_min_at: CureAt | None = None
    """The time that the cure itself takes at a temperature; the time to heat the pack comes on top."""
    pressure_mpa: Band
    """Pressure on the line. [MPa]"""
    light_press: LightPress | None = None
    """Where shops get by with less; null where they do not."""
    lowest_c: float | int
    """Below this it does not set soundly. [C]"""
    water: Literal["brings-in", "takes-from-wood", "none"]
    """What it does to the moisture of the pack."""
    bleed_through: Literal["low", "medium", "high", "unknown"]
    """How easily it comes through a thin face."""
    creep: Literal["none", "little", "some", "much", "unknown"]
    """How far the line gives under a steady load, which opens a bend."""
    creep_words: Words
    """The same for a bend, in a sentence."""
    reversible: Words
    """Whether the joint can be opened again, and how."""
    formaldehyde: Literal["yes", "traces", "none", "unknown"]
    """Whether it gives off formaldehyde."""
    stands: Literal["dry", "short-damp", "damp", "outdoors-finished", "outdoors"]
    """The harshest place it is usual for: dry rooms; short and rare damp; kitchens, bathrooms and outdoors
    under cover; the weather under a finish; the bare weather."""
    durability_class: Words | None
    """Class of a standard that the name of the glue stands for; null where only a sheet can claim one."""
    durability: Words
    """What it stands and what it does not."""
    line_colour: Words
    """How the line looks in an edge."""
    oily_woods: Words
    """How it does on oily faces."""
    cautions: Annotated[list[Words], Field(min_length=1)]
    """What can hurt or go wrong, one sentence each."""

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.light_press and self.light_press.lowest_mpa >= self.pressure_mpa.low:
            raise ValueError("light_press.lowest_mpa is not below pressure_mpa: leave light_press out")
        warmth = [at.temperature_c for at in self.cure]
        if warmth != sorted(set(warmth)):
            raise ValueError("cure goes from cold to hot, each temperature once")
        return self
