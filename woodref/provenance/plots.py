"""Where wood grew, as GeoJSON: a point with its area, or a polygon. Checked as the EU information system asks
(as transcribed; see data/trade for what is read): WGS84, longitude first, closed rings, no holes, no
crossing.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from woodref.provenance.faults import BadPlace

#: hectares a point may stand for
SMALLEST, LARGEST = 0.0001, 4.0
Point = tuple[float, float]


def plot_of(value: Any, where: str | None = None) -> dict[str, Any]:
    """A GeoJSON Point or Polygon (with or without Feature around it); BadPlace says what is wrong."""
    feature = value if isinstance(value, dict) and value.get("type") == "Feature" else {"geometry": value}
    shape, told = feature.get("geometry"), feature.get("properties") or {}
    if not isinstance(shape, dict) or shape.get("type") not in ("Point", "Polygon"):
        kind = shape.get("type") if isinstance(shape, dict) else shape
        raise BadPlace(f"{kind}: kind not accepted", where=where, expected="a Point or a Polygon")
    if shape["type"] == "Point":
        _point(shape.get("coordinates"), where)
        _area(told.get("Area", LARGEST), where)
    else:
        _polygon(shape.get("coordinates"), where)
    return dict(value)


def _area(area: Any, where: str | None) -> None:
    if isinstance(area, bool) or not isinstance(area, int | float) or not SMALLEST <= area <= LARGEST:
        raise BadPlace(
            f"Area {area!r} must be a number from {SMALLEST:g} to {LARGEST:g}",
            where=where,
            expected="hectares; larger plots need a polygon",
        )


def _point(pair: Any, where: str | None) -> Point:
    if not isinstance(pair, Sequence) or isinstance(pair, str) or len(pair) < 2:
        raise BadPlace(f"{pair!r} is no point", where=where, expected="[longitude, latitude]")
    longitude, latitude = pair[0], pair[1]
    for number in (longitude, latitude):
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise BadPlace(f"{pair!r}: numbers are wanted", where=where, expected="[longitude, latitude]")
    if not -90 <= latitude <= 90:
        raise BadPlace(
            f"latitude {latitude:g} is out of range: the order is longitude, latitude",
            where=where,
            expected="-90 to 90",
        )
    if not -180 <= longitude <= 180:
        raise BadPlace(f"longitude {longitude:g} is out of range", where=where, expected="-180 to 180")
    return round(float(longitude), 6), round(float(latitude), 6)


def _polygon(rings: Any, where: str | None) -> None:
    if not isinstance(rings, Sequence) or isinstance(rings, str) or not rings:
        raise BadPlace("a polygon without a ring", where=where, expected="[[[longitude, latitude], ...]]")
    if len(rings) > 1:
        raise BadPlace("a polygon with a hole is not accepted", where=where, expected="one ring")
    ring = [_point(pair, where) for pair in rings[0]]
    if len(ring) < 4:
        raise BadPlace(
            f"a ring of {len(ring)} points", where=where, expected="four at least, the last as the first"
        )
    if ring[0] != ring[-1]:
        raise BadPlace("first point differs from last: the ring is not closed", where=where)
    for k, (a, b) in enumerate(itertools.pairwise(ring)):
        if a == b:
            raise BadPlace(f"points {k + 1} and {k + 2} are the same to six decimals", where=where)
    sides = list(itertools.pairwise(ring))
    for i, (a, b) in enumerate(sides):
        for j in range(i + 2, len(sides)):
            if i == 0 and j == len(sides) - 1:
                continue
            if _cross(a, b, *sides[j]):
                raise BadPlace(
                    f"sides cross at point {j + 1}", where=where, expected="a ring that does not cross itself"
                )


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two sides meet, ends and overlaps included."""
    one, two, three, four = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if one * two < 0 and three * four < 0:
        return True

    def on(p: Point, q: Point, r: Point) -> bool:
        return min(p[0], q[0]) <= r[0] <= max(p[0], q[0]) and min(p[1], q[1]) <= r[1] <= max(p[1], q[1])

    return (
        (one == 0 and on(a, b, c))
        or (two == 0 and on(a, b, d))
        or (three == 0 and on(c, d, a))
        or (four == 0 and on(c, d, b))
    )
