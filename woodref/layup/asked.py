"""What a layup file says, as plain values in one unit each. Lengths in mm, moisture and humidity in percent,
temperatures in C, angles in degrees. Plies stand from the show face inward, as in the file.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

#: what the file may leave out, and what then holds
PLY_MOISTURE = 8.0
TRIM = 20.0
ROOM = (20.0, 30.0, 65.0)
#: moisture of a part when the glue sets in a heated mould [%] (common practice, no source)
HEATED_SET = (5.0, 8.0)
CUTS = ("rotary", "crown", "half-round", "quarter", "rift", "burr", "crotch", "block-sliced", "board")
#: cuts that have no direction of their own: no figure is given for them
FIGURED = ("burr", "crotch")
MATCHES = ("book", "slip", "end", "four-way", "random")
#: mark among what a file gives: a limit across is written in it
ACROSS_GIVEN = "limits.across"
#: kind of leaf -> waste on top of the net area [%]: plain leaves, a matched face, burr and crotch (common
#: practice, no source)
WASTE = {"plain": 20.0, "matched": 40.0, "burr": 80.0}
USES = ("seat", "panel", "sounding-plate", "shell", "drum-shell")


def apart(one: float, two: float) -> float:
    """Angle between two grains [degrees, 0..90]: -90 and 90 are one direction."""
    gap = abs(one - two) % 180
    return min(gap, 180 - gap)


@dataclass(frozen=True)
class PlyAsk:
    """One sheet. material and unidentified: one of the two; moisture, cut, rings None: the default."""

    material: str | None
    unidentified: str | None
    thickness: float
    grain: float
    cut: str | None = None
    moisture: float | None = None
    rings: float | None = None
    figured: bool = False
    origin: str | None = None
    acquired: dt.date | None = None
    where: str = ""

    @property
    def said(self) -> str:
        """The words that name it."""
        return self.material or f"unidentified: {self.unidentified}"

    @property
    def long(self) -> bool:
        """Whether its grain runs nearer the panel's length than across it."""
        return abs(self.grain) < 45


@dataclass(frozen=True)
class LineAsk:
    """One glue line: adhesive as named, spread on one surface [g/m2] or None."""

    adhesive: str
    spread: float | None
    where: str = ""


@dataclass(frozen=True)
class Press:
    """Cold at, or heated to, a temperature. at_set: stated moisture at set [%]. pressure [MPa]."""

    cold: float | None = 20.0
    heated: float | None = None
    from_both: bool = True
    at_set: float | None = None
    pressure: float | None = None
    bag: bool = False
    altitude: float = 0.0

    @property
    def temperature(self) -> float:
        return self.heated if self.heated is not None else (20.0 if self.cold is None else self.cold)


@dataclass(frozen=True)
class Mould:
    """radius: of the mould's working surface. angle: how far the part turns, None: over its whole length.
    bend: direction in which the curve runs, from the length. A flat press: radius None."""

    radius: float | None = None
    convex: bool = True
    show_against: bool = False
    angle: float | None = None
    bend: float = 0.0
    closed: bool = False
    second_radius: float | None = None
    radius_where: str = ""

    @property
    def show_outside(self) -> bool:
        """Whether the show face lies on the round side of the bend."""
        return self.convex != self.show_against


@dataclass(frozen=True)
class Panel:
    """length along the curve on the show face, width across; trim on every edge."""

    length: float | None = None
    width: float | None = None
    count: int = 1
    trim: float = TRIM


@dataclass(frozen=True)
class Face:
    match: str = "slip"
    centre_joint: bool = True
    same_flitch: bool = False
    parts_to_match: int = 1


@dataclass(frozen=True)
class LeafStock:
    """Leaves to hand for one ply: usable width and length, how many (None: as many as it takes)."""

    ply: int
    width: float
    length: float
    count: int | None = None
    where: str = ""


@dataclass(frozen=True)
class Room:
    temperature: float = ROOM[0]
    rh_low: float = ROOM[1]
    rh_high: float = ROOM[2]


@dataclass(frozen=True)
class Finish:
    face: str | None = None
    back: str | None = None

    @property
    def one_sided(self) -> bool:
        return self.face not in (None, "none") and self.back == "none"


@dataclass(frozen=True)
class Target:
    """areal_mass_max [kg/m2], load [N], span [mm], sag_max [mm]."""

    areal_mass_max: float | None = None
    load: float | None = None
    span: float | None = None
    sag_max: float | None = None


@dataclass(frozen=True)
class Plate:
    """A solid plate that a sounding part is held against."""

    material: str
    cut: str
    thickness: float
    where: str = ""


@dataclass(frozen=True)
class Journey:
    start: str
    to: str
    form: str
    state: str | None = None
    origin: str | None = None


@dataclass(frozen=True)
class Limits:
    """How many thicknesses of radius a dry ply takes at its limit, along and across its grain (common
    practice, no source); twice as much is easy. along None: from the wood's own strength and stiffness."""

    along: float | None = None
    across: float = 20.0


@dataclass(frozen=True)
class Waste:
    """What the shop reckons to waste, on top of the net area [%], by kind of leaf; None: not written."""

    plain: float | None = None
    matched: float | None = None
    burr: float | None = None


@dataclass(frozen=True)
class Layup:
    """A whole file. given: the sections that stand in it, and limits.across, so that a default can be said
    to be one."""

    title: str
    plies: tuple[PlyAsk, ...]
    file: str = ""
    glue: LineAsk | None = None
    lines: tuple[LineAsk, ...] = ()
    press: Press = Press()
    mould: Mould = Mould()
    panel: Panel = Panel()
    face: Face = Face()
    leaves: tuple[LeafStock, ...] = ()
    room: Room = Room()
    sanding: tuple[float, float] = (0.0, 0.0)
    finish: Finish = Finish()
    use: str | None = None
    target: Target = Target()
    plate: Plate | None = None
    journey: Journey | None = None
    limits: Limits = Limits()
    waste: Waste = Waste()
    given: frozenset[str] = field(default_factory=frozenset)

    @property
    def thickness(self) -> float:
        """As pressed: the sheets alone [mm]."""
        return sum(p.thickness for p in self.plies)

    @property
    def glue_lines(self) -> tuple[LineAsk, ...]:
        """One a line, from the show face inward; empty when the file names no glue."""
        if self.lines:
            return self.lines
        return (self.glue,) * (len(self.plies) - 1) if self.glue else ()
