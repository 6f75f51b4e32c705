"""The shape of the files below data/adhesives/: classes of glue as a bench uses them."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from woodref.catalogue.schema import Cited, NameIn, Slug, Strict, Words


class Band(Strict):
    """A band of a quantity, ends included."""

    low: float | int
    high: float | int

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class CureAt(Strict):
    """Time in the press at a temperature: minutes, low to high."""

    temperature_c: float | int
    minutes: Band


class AdhesiveIn(Cited):
    """One file below adhesives/: a class of glue as a bench uses it. Bands are what makers' sheets of
    the class spread over; the sheet of the glue in hand always goes before them.
    """

    id: Slug
    names: Annotated[list[NameIn], Field(min_length=1)]
    chemistry: Words
    parts: Literal["one", "two", "powder-and-water"]
    spread_g_m2: Band
    solids_share: Band
    open_assembly_min: Band | None
    closed_assembly_min: Band | None
    cure: list[CureAt]
    cure_part_min_at: CureAt | None = None
    pressure_mpa: Band
    lowest_c: float | int
    water: Literal["brings-in", "takes-from-wood", "none"]
    bleed_through: Literal["low", "medium", "high", "unknown"]
    creep: Literal["none", "little", "some", "much", "unknown"]
    creep_words: Words
    reversible: Words
    formaldehyde: Literal["yes", "traces", "none", "unknown"]
    durability: Words
    line_colour: Words
    oily_woods: Words
    cautions: Annotated[list[Words], Field(min_length=1)]
