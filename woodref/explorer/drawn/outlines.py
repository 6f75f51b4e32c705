"""Outlines of the parts of a grid that lie at or above a level, as rings of points (marching squares)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Point = tuple[float, float]
#: which sides of a cell a piece of outline leads from and to, by the corners that lie inside (1 top left, 2
#: top right, 4 bottom right, 8 bottom left); the inside is kept on the same hand
_PIECES: dict[int, tuple[tuple[str, str], ...]] = {
    1: (("l", "t"),), 2: (("t", "r"),), 3: (("l", "r"),), 4: (("r", "b"),), 6: (("t", "b"),),
    7: (("l", "b"),), 8: (("b", "l"),), 9: (("b", "t"),), 11: (("b", "r"),), 12: (("r", "l"),),
    13: (("r", "t"),), 14: (("t", "l"),),
}  # fmt: skip
_SADDLES = {
    (5, True): (("r", "t"), ("l", "b")), (5, False): (("l", "t"), ("r", "b")),
    (10, True): (("t", "l"), ("b", "r")), (10, False): (("t", "r"), ("b", "l")),
}  # fmt: skip


def rings(field: Floats, level: float, step: float) -> list[list[Point]]:
    """Closed rings round the part of a grid (rows, columns) at or above a level, in units of the picture:
    grid points stand `step` apart, the first at 0, 0. Straight between grid points; rings of parts that
    reach the edge run along it. A hole has a ring of its own, to be filled by the even-odd rule."""
    import numpy as np

    rows, columns = field.shape
    low = min(float(field.min()), level) - 1.0
    padded = np.full((rows + 2, columns + 2), low)
    padded[1:-1, 1:-1] = field
    inside = padded >= level
    case = inside[:-1, :-1] * 1 + inside[:-1, 1:] * 2 + inside[1:, 1:] * 4 + inside[1:, :-1] * 8
    follows: dict[tuple[str, int, int], tuple[str, int, int]] = {}
    for j, i in zip(*(axis.tolist() for axis in np.nonzero((case > 0) & (case < 15))), strict=True):
        kind = int(case[j, i])
        pieces = _PIECES.get(kind)
        if pieces is None:
            pieces = _SADDLES[kind, float(padded[j : j + 2, i : i + 2].mean()) >= level]
        for start, end in pieces:
            follows[_side(start, j, i)] = _side(end, j, i)
    place = _Place(padded, level, step, rows, columns)
    out = []
    while follows:
        first = at = next(iter(follows))
        ring = []
        while True:
            ring.append(place.of(at))
            at = follows.pop(at)
            if at == first:
                break
        out.append(ring)
    return out


def _side(side: str, j: int, i: int) -> tuple[str, int, int]:
    """A side of a cell, named so that both cells beside it call it the same."""
    return {"t": ("h", j, i), "b": ("h", j + 1, i), "l": ("v", j, i), "r": ("v", j, i + 1)}[side]


class _Place:
    """Where an outline crosses a side of the padded grid."""

    def __init__(self, padded: Floats, level: float, step: float, rows: int, columns: int) -> None:
        self.held, self.level, self.step, self.rows, self.columns = padded, level, step, rows, columns

    def of(self, side: tuple[str, int, int]) -> Point:
        way, j, i = side
        one = float(self.held[j, i])
        two = float(self.held[j, i + 1] if way == "h" else self.held[j + 1, i])
        share = (self.level - one) / (two - one)
        x, y = (i + share, float(j)) if way == "h" else (float(i), j + share)
        return (
            min(max(x - 1, 0.0), self.columns - 1.0) * self.step,
            min(max(y - 1, 0.0), self.rows - 1.0) * self.step,
        )


def simpler(ring: list[Point], most: float) -> list[Point]:
    """A ring with fewer points, none of those left out farther than `most` from the line that replaces it
    (Douglas and Peucker 1973)."""
    if len(ring) < 4:
        return ring
    start = ring[0]
    far = max(range(len(ring)), key=lambda k: math.dist(start, ring[k]))
    one, two = ring[: far + 1], [*ring[far:], start]
    return [*_thinned(one, most)[:-1], *_thinned(two, most)[:-1]]


def _thinned(line: list[Point], most: float) -> list[Point]:
    keep = [False] * len(line)
    keep[0] = keep[-1] = True
    todo = [(0, len(line) - 1)]
    while todo:
        a, b = todo.pop()
        (x0, y0), (x1, y1) = line[a], line[b]
        dx, dy = x1 - x0, y1 - y0
        length = math.hypot(dx, dy)
        worst, where = most, -1
        for k in range(a + 1, b):
            x, y = line[k]
            off = abs(dx * (y - y0) - dy * (x - x0)) / length if length else math.hypot(x - x0, y - y0)
            if off > worst:
                worst, where = off, k
        if where >= 0:
            keep[where] = True
            todo += [(a, where), (where, b)]
    return [point for point, kept in zip(line, keep, strict=True) if kept]


def path(rings_: list[list[Point]]) -> str:
    """The d of a path: rings closed, numbers to a tenth."""
    out = []
    for ring in rings_:
        if len(ring) < 3:
            continue
        (x, y), *rest = [(round(10 * x), round(10 * y)) for x, y in ring]
        parts = [f"M{_tenths(x)} {_tenths(y)}l"]
        steps = []
        for nx, ny in rest:
            if (nx, ny) != (x, y):
                steps.append(f"{_tenths(nx - x)} {_tenths(ny - y)}")
            x, y = nx, ny
        if len(steps) > 1:
            out.append(parts[0] + " ".join(steps).replace(" -", "-") + "z")
    return "".join(out)


def _tenths(value: int) -> str:
    """12.3 from 123, without what says nothing."""
    return f"{value / 10:g}".replace("0.", ".", 1) if abs(value) < 10 and value % 10 else f"{value / 10:g}"
