"""The pattern of a reconstituted veneer: which sheet of the block is seen at each point of a sliced leaf.

Sheets of thickness t are laid up over a mould whose height is h(x, y); the faces between them lie at
h(x, y) + S_k, where S_k is the sum of the sheets below. A flat knife cuts at z = z0 + x tan a + y tan b. The
sheet seen at a point is the k with S_k <= z - h(x, y) < S_(k+1), so the lines of the pattern are the level
sets of cut minus mould: plain geometry of stacked sheets, which needs no source but itself.

It holds for sheets stacked straight up, within a few percent while the mould is no steeper than about 15
degrees. x runs along the leaf, y across it, all lengths in mm, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Whole = NDArray[np.int64]

SHAPES = ("flat", "ridges", "bumps")
#: a mould no steeper than this keeps sheets stacked straight up near enough [degrees]
STEEP = 15.0


@dataclass(frozen=True)
class Mould:
    """height: valley to top; pitch: top to top [mm]. Ridges follow one another along the leaf, each lying
    across it; bumps stand in rows both ways. Both are cosine waves here. ValueError for another shape, a
    height below 0, or waves without a pitch above 0."""

    shape: str = "flat"
    height: float = 0.0
    pitch: float | None = None

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise ValueError(f"a mould is one of {', '.join(SHAPES)}, not {self.shape}")
        if self.height < 0 or (self.shape != "flat" and not (self.pitch and self.pitch > 0)):
            raise ValueError("waves of a mould need a height of 0 or more and a pitch above 0")

    def at(self, x: Floats, y: Floats) -> Floats:
        """Height h(x, y) of the mould [mm], 0 in the valleys, at points of equal shape."""
        import numpy as np

        if self.shape == "flat" or self.pitch is None:
            return np.zeros(np.broadcast(x, y).shape)
        turn = 2 * math.pi / self.pitch
        if self.shape == "ridges":
            return self.height / 2 * (1 + np.cos(turn * x) + 0.0 * y)
        return self.height / 4 * (2 + np.cos(turn * x) + np.cos(turn * y))

    @property
    def steepest(self) -> tuple[float, float]:
        """The steepest slope along and across the leaf, as rise over run."""
        if self.shape == "flat" or self.pitch is None:
            return 0.0, 0.0
        whole = math.pi * self.height / self.pitch
        return (whole, 0.0) if self.shape == "ridges" else (whole / 2, whole / 2)

    @property
    def angle(self) -> float:
        """The steepest slope of all [degrees]."""
        return math.degrees(math.atan(math.hypot(*self.steepest)))


@dataclass(frozen=True)
class Cut:
    """How the knife's plane leans: angles along and across the leaf [degrees], each between -90 and 90.
    ValueError outside."""

    along: float = 0.0
    across: float = 0.0

    def __post_init__(self) -> None:
        if not max(abs(self.along), abs(self.across)) < 90:
            raise ValueError("a cut leans less than 90 degrees")

    @property
    def slopes(self) -> tuple[float, float]:
        """tan a and tan b."""
        return math.tan(math.radians(self.along)), math.tan(math.radians(self.across))

    def rise(self, leaf: float) -> float:
        """How much higher, straight up, the next cut lies for leaves so thick [mm]: a leaf's thickness is
        measured square to its face, so d sqrt(1 + tan2 a + tan2 b)."""
        return leaf * math.sqrt(1 + sum(slope**2 for slope in self.slopes))

    def plan(self, u: Floats, v: Floats) -> tuple[Floats, Floats, Floats]:
        """Points of the leaf's own face, u along and v across [mm], as x, y and the height of the cut
        above its lowest corner's plane z0: x tan a + y tan b."""
        along, across = self.slopes
        e1 = math.sqrt(1 + along**2)
        # the second direction of the face: square to the first and to the normal (-tan a, -tan b, 1)
        e2 = e1 * math.sqrt(1 + along**2 + across**2)
        x = u / e1 - v * along * across / e2
        y = v * (1 + along**2) / e2
        return x, y, x * along + y * across


def pressed(sheets: Sequence[float], compression: float = 0.0, glue: float = 0.0) -> list[float]:
    """Thickness in the block of each sheet [mm]: t (1 - c) plus its glue line. compression: 0 to below 1.
    ValueError for no sheets, or one that would have no thickness left."""
    out = [sheet * (1 - compression) + glue for sheet in sheets]
    if not out or min(out) <= 0:
        raise ValueError("every sheet of a block needs a thickness above 0")
    return out


def levels(mould: Mould, cut: Cut, u: Floats, v: Floats, z0: float = 0.0) -> Floats:
    """Height of the cut over the mould, z - h [mm], at points of the face; u, v: of equal shape."""
    x, y, z = cut.plan(u, v)
    return z0 + z - mould.at(x, y)


def sheet_seen(level: Floats, thicknesses: Sequence[float]) -> Whole:
    """Index of the sheet seen where the cut lies `level` [mm] above the mould, counted from 0 upward
    through one repeat of the block, which goes on without end: S_k <= level < S_(k+1)."""
    import numpy as np

    tops = np.cumsum(np.asarray(thicknesses, dtype=np.float64))
    within = np.mod(level, tops[-1])
    found: Whole = np.searchsorted(tops, within, side="right").astype(np.int64)
    # a level a hair below a whole repeat comes out of the remainder as the repeat itself
    return np.where(found == len(tops), 0, found)


def boundaries(low: float, high: float, thicknesses: Sequence[float]) -> list[tuple[float, int]]:
    """(level, sheet above it) of every face between two sheets above low and up to high [mm], upward."""
    period = math.fsum(thicknesses)
    out = []
    for turn in range(math.floor(low / period), math.floor(high / period) + 1):
        below = 0.0
        for k, thick in enumerate(thicknesses):
            level = turn * period + below
            if low < level <= high:
                out.append((level, k))
            below += thick
    return out


def line_width(thickness: float, slope: float) -> float:
    """Width on the face [mm] of a sheet of that thickness where face and sheets part at a slope: t over the
    sine of the angle between them. slope: rise over run, above 0."""
    return thickness * math.sqrt(1 + slope**2) / slope


def shift(rise: float, slope: float) -> float:
    """How far along the face a line moves from one leaf to the next [mm], where the cuts lie `rise` apart
    straight up and the face leans against the sheets by `slope` (above 0)."""
    return rise * math.sqrt(1 + slope**2) / slope
