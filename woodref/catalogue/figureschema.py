"""What every file of data/ is made of: strict blocks, how a thing said is cited, and figures.

A docstring below a field says what it means in a maker's words, with its unit in square brackets;
data/README.md is generated from them (`explained`).
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, ClassVar, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, model_validator

#: an id: small letters, figures and single hyphens
SLUG = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
Slug = Annotated[str, StringConstraints(pattern=SLUG)]
COUNTRY = r"^[A-Z]{2}(-[A-Z]{3})?$"
Country = Annotated[str, StringConstraints(pattern=COUNTRY)]
Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]
YEAR = r"^\d{4}$"
Year = Annotated[str, StringConstraints(pattern=YEAR)]


def _a_day(text: str) -> str:
    """YYYY-MM-DD that stands in the calendar."""
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError(f'"{text}" is not a day of the calendar: write YYYY-MM-DD') from None
    return text


DAY = r"^\d{4}-\d{2}-\d{2}$"
Day = Annotated[str, StringConstraints(pattern=DAY), AfterValidator(_a_day)]
Evidence = Literal["quoted", "recalled", "estimated", "common-practice"]


class Strict(BaseModel):
    """No unknown field, no silent change of type from text to number."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True)


#: answers that say nothing is known; they need no evidence
NO_ANSWER = {"unknown", "not-known", "no-record", "NE"}


class Cited(Strict):
    """Something said, with where it comes from.

    quoted demands source and locator; recalled demands the source and the key `locator` (which may
    be null); estimated demands a source of kind rule and `from`; common-practice has no source.
    """

    evidence: Evidence | None = None
    """How well it is known: quoted = read in the named place; recalled = from memory, and whose it is
    is known; estimated = worked out by a named rule; common-practice = a rule of the trade that nobody
    wrote down. May be missing only where the answer is that nothing is known."""
    source: Slug | None = None
    """Id of the document or rule in sources.yaml. Must be there unless it is common practice."""
    locator: Words | None = None
    """Table, page or row in the source. Must be there with quoted; with recalled write it or null."""
    note: Words | None = None
    """What else a reader should know, in a sentence."""

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
    """How a figure was taken; every key that does not apply is left out. Only a figure in its property's
    reference condition (the list at the end) can be the preferred one; others stand beside it."""

    mc: float | Literal["green", "oven-dry", "air-dry", "dry", "as-sold", "not-stated"] | None = None
    """Moisture content of the wood tested, or the word the source uses for it. [%]"""
    from_: Literal["green"] | None = Field(default=None, alias="from")
    """Where a shrinkage starts."""
    to: Literal["oven-dry", "air-dry", "12 %"] | None = None
    """Where a shrinkage ends."""
    mass: Literal["oven-dry"] | None = None
    """State in which a density's mass was weighed."""
    volume: Literal["green", "oven-dry", "not-stated"] | None = None
    """State in which a density's volume was measured."""
    within: Literal["service"] | None = None
    """For movement: between the moistures that wood has in use."""
    part: Literal["heartwood", "sapwood"] | None = None
    """Heartwood or sapwood, where the source tells them apart."""
    method: Words | None = None
    """The test, where it is another than the usual one, such as ultrasound."""
    direction: Literal["side", "end", "radial", "tangential"] | None = None
    """The face or direction tested."""
    set_: Words | None = Field(default=None, alias="set")
    """Name of a sheet's strength set, so that its figures stay together."""
    stand: Literal["natural", "planted", "not-stated"] | None = None
    """Whether the tested wood grew wild or was planted."""
    age: Words | None = None
    """Age of the trees tested."""


class FigureIn(Cited):
    """One figure: value or low and high (both: typical value inside a range)."""

    value: float | int | None = None
    """The figure. Must be there, or low and high. [its unit]"""
    low: float | int | None = None
    """Lower end of a printed range. [its unit]"""
    high: float | int | None = None
    """Upper end of a printed range. [its unit]"""
    n: Annotated[int, Field(ge=1)] | None = None
    """How many pieces were tested. [pieces]"""
    unit: str
    """Unit of the figure: the property's own, or another of its kind, which is converted."""
    printed: Words | None = None
    """The figure as the source prints it, where the unit or the form was changed."""
    condition: Condition
    """How it was taken."""
    for_taxon: Words | None = None
    """The group or genus it was measured on, where that is not this very species."""
    from_: list[Words] | None = Field(default=None, alias="from")
    """With estimated: the figures it rests on, as property, material.property or source: place."""
    added_error: Annotated[float | int, Field(gt=0)] | None = None
    """With estimated: the error that the rule adds. [%]"""

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
