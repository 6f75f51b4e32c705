"""The shape of what a bundle holds beside its layup: strict, for a stranger may have sent it.

A docstring below a field says what it means, with its unit in square brackets. pydantic is loaded with this
file: import it inside the function that reads a bundle.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from woodref.catalogue.blockschema import Look, Veneer, Working
from woodref.catalogue.figureschema import Day, Evidence, Strict
from woodref.catalogue.glueschema import AdhesiveIn
from woodref.catalogue.madeschema import MadeFrom
from woodref.catalogue.material import KINDS
from woodref.catalogue.properties import PROPERTIES


def _printable(text: str) -> str:
    if not text.isprintable() or not text.strip():
        raise ValueError("no printed words")
    return text


Said = Annotated[str, Field(max_length=2000), AfterValidator(_printable)]
Number = float | int
#: numbers of a board's rule: shares of a stiffness or of a size
Share = Annotated[Number, Field(gt=0, le=2)]


class NoticeIn(Strict):
    """What is to be known about a name."""

    code: Said
    message: Said


class NamedIn(Strict):
    """What a name of the layup stands for."""

    said: Said
    """As the layup writes it."""
    id: Said
    """The wood that answers."""
    name: Said
    """The name of the wood that matched."""
    kind: Said
    """What kind of name that is."""
    notices: list[NoticeIn]


class UsedFigure(Strict):
    """One figure that went into the report."""

    property: Said
    """Which one, by the closed list of properties."""
    value: Number | None
    """Its number; null where only a range is known. [the unit]"""
    low: Number | None
    """Lower end of its range. [the unit]"""
    high: Number | None
    """Upper end of its range. [the unit]"""
    unit: Said
    condition: dict[Said, Said | Number | None]
    """At which moisture, by which method, of which part."""
    source: Said | None
    """Id of the document or rule in sources."""
    locator: Said | None
    """Table or page in it."""
    evidence: Evidence
    printed: Said | None
    for_taxon: Said | None
    from_: list[Said] = Field(alias="from")
    """What a figure that is worked out comes from."""
    added_error: Annotated[Number, Field(ge=0)] | None
    """Error that the working out adds. [%]"""
    n: int | None
    note: Said | None

    @model_validator(mode="after")
    def _as_wood_has_it(self) -> Self:
        known = PROPERTIES.get(self.property)
        if known is None:
            raise ValueError("no property of that name is known")
        if self.unit != known.unit:
            raise ValueError(f"its unit is {known.unit}")
        if self.value is None and (self.low is None or self.high is None):
            raise ValueError("it has neither a value nor a range")
        for number in (self.value, self.low, self.high):
            if number is not None and not known.low <= number <= known.high:
                raise ValueError(f"{number:g} is outside {known.low:g} to {known.high:g} {known.unit}")
        if self.evidence == "estimated" and self.added_error is None:
            raise ValueError("it is worked out, and its error is not told")
        return self


class Board(Strict):
    """The shop rule a core board was reckoned by (common practice, no source)."""

    e2: Share
    """Stiffness across over that along the face. [share]"""
    nu: Annotated[Number, Field(ge=0, lt=1)]
    """Poisson ratio. [share]"""
    g: Share
    """Shear over stiffness along. [share]"""
    in_plane: Annotated[Number, Field(ge=0, le=0.02)]
    """Movement in its plane. [share per point of moisture]"""
    through: Annotated[Number, Field(ge=0, le=0.02)]
    """Movement through its thickness. [share per point of moisture]"""


class UsedWood(Strict):
    """One wood or sheet of the layup, with the figures that went into the report and what is said of it."""

    id: Said
    kind: Said
    hardness_group: Literal["hardwood", "softwood"]
    name: Said
    botanical_name: Said | None
    woods: list[Said]
    """Latin names of every wood in it, which is what the law asks about."""
    plies: list[int]
    """Plies it lies in, from the show face; empty for a base wood and for the solid plate beside the part."""
    figures: list[UsedFigure]
    look: Look
    veneer: Veneer
    working: Working
    made_from: MadeFrom | None
    board: Board | None
    cautions: list[Said]

    @model_validator(mode="after")
    def _of_a_kind(self) -> Self:
        if self.kind not in KINDS:
            raise ValueError(f"kind is one of {', '.join(KINDS)}")
        names = [figure.property for figure in self.figures]
        if len(names) != len(set(names)):
            raise ValueError("a property stands in it twice")
        return self


class ColourIn(Strict):
    """A class of colour and how it is drawn, by which a dark sheet under a pale face is told."""

    id: Said
    lab: Annotated[list[Annotated[Number, Field(ge=-200, le=200)]], Field(min_length=3, max_length=3)]


class FiguresIn(Strict):
    """figures.json: everything of the catalogue that the report rests on."""

    names: list[NamedIn]
    woods: list[UsedWood]
    glues: list[AdhesiveIn]
    colours: list[ColourIn]
    sources: list[dict[str, Any]]
    """Every document and rule that a figure names."""


class AskedIn(Strict):
    """How the report was asked for."""

    estimates: bool
    region: Annotated[str, Field(pattern=r"^[A-Z]{2}$")] | None
    units: Literal["metric", "us"]


class StampIn(Strict):
    """The catalogue the figures were taken from."""

    version: Said
    digest: Said


class BundleIn(Strict):
    """bundle.json: what made it, from what, and on which day."""

    bundle: Literal[1]
    """Edition of this shape."""
    woodref: Said
    """Version of the program."""
    catalogue: StampIn
    layup: Annotated[Said, Field(max_length=200)]
    """Name of the layup's file."""
    day: Day
    """Day for which the law was asked."""
    asked: AskedIn
