"""What the pictures of all woods show: where each wood stands, which lines help the eye, the sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.material import KINDS, Figure, Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, echo
from woodref.selection import status
from woodref.selection.movement import DAMP, DRY, movement_per_100
from woodref.selection.roles import variation

#: woods whose lines of equal stiffness for weight are drawn: an uncommonly good one, a middling one and a
#: poor one, all known at the bench (our choice)
REFERENCES = ("picea-sitchensis", "quercus-rubra", "terminalia-superba")
#: marks that are drawn at the most (our choice: more of them run together)
DRAWN = 250
KIND_WORDS = {
    "species": "woods as they grew",
    "engineered": "engineered veneers",
    "modified": "changed woods",
    "core": "core boards",
}
FILL = (
    "The fill is the coarse colour word of the wood, not a measured colour. Round marks are woods as they "
    "grew, square ones engineered veneers, diamonds changed woods, triangles core boards."
)


@dataclass(frozen=True)
class Choice:
    """How a picture is narrowed. near: the wood to be marked; within: only woods within reach of it."""

    kind: str | None = None
    planted: bool = False
    near: Matched | None = None
    within: bool = False

    def as_dict(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "planted": self.planted,
            "near": self.near.id if self.near else None,
            "within_reach": self.within,
        }


@dataclass(frozen=True)
class Spot:
    """One wood on a picture. x, y in the units of the axes, figures what they rest on; words: how it is
    said, when it is; within: whether it is within reach of the marked one, None where none is."""

    material: Material
    x: float
    y: float
    figures: tuple[Figure, Figure]
    words: Callable[[Spot], str]
    within: bool | None = None
    marked: bool = False

    @property
    def says(self) -> str:
        return self.words(self)

    def as_dict(self, x: str, y: str) -> dict[str, Any]:
        m = self.material
        return {
            "id": m.id,
            "name": m.name,
            "kind": m.kind,
            "colour_class": m.look["class"],
            x: round(self.x, 3),
            y: round(self.y, 3),
            "evidence": [figure.evidence for figure in self.figures],
            "marked": self.marked,
            "within_reach": self.within,
            "says": self.says,
        }


@dataclass(frozen=True)
class Line:
    """A straight line through nothing: y = slope times x; short: its words where there is little room."""

    slope: float
    says: str
    short: str


@dataclass(frozen=True)
class Axis:
    """key: the name of the number in JSON; words: what stands at the axis, with its unit."""

    key: str
    words: str
    digits: int = 0


@dataclass
class Spread:
    """A picture of spots, by x. reach: the lowest and highest x and y within reach of the marked wood;
    drawn: those that are drawn, all of them unless they are too many to be told apart."""

    name: str
    title: str
    choice: Choice
    x: Axis
    y: Axis
    spots: list[Spot]
    lines: list[Line]
    reach: tuple[float, float, float, float] | None = None
    opening: list[str] = field(default_factory=list)
    closing: list[str] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    stamp: dict[str, str] = field(default_factory=dict)
    drawn: list[Spot] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        return {
            "picture": self.name,
            "query": self.choice.as_dict(),
            "opening": self.opening,
            "count": len(self.spots),
            "drawn": len(self.drawn),
            "rows": [spot.as_dict(self.x.key, self.y.key) for spot in self.spots],
            "lines": [{"slope": round(line.slope, 5), "says": line.says} for line in self.lines],
            "closing": self.closing,
            "notices": [notice.as_dict() for notice in self.notices],
            "catalogue": self.stamp,
        }

    def rows(self) -> list[dict[str, Any]]:
        """One line a wood, for CSV."""
        return [spot.as_dict(self.x.key, self.y.key) for spot in self.spots]


def chosen(choice: Choice, catalogue: Catalogue) -> list[Material]:
    """The materials a choice leaves, its marked wood always among them. BadRequest for an unknown kind, or
    for a reach of nothing."""
    if choice.kind is not None and choice.kind not in KINDS:
        raise BadRequest(f"{echo(choice.kind)} is not a kind", expected=", ".join(KINDS))
    if choice.within and choice.near is None:
        raise BadRequest(
            "within reach of which wood", expected="the name of a wood", next="Name a wood, too."
        )
    kept = choice.near.id if choice.near else None
    return [
        m
        for m in catalogue.materials()
        if m.id == kept
        or ((choice.kind is None or m.kind == choice.kind) and (not choice.planted or status.planted(m)))
    ]


def _held(
    choice: Choice, catalogue: Catalogue, name: str, spot: Callable[[Material], Spot | None]
) -> list[Spot]:
    """The spots of the woods chosen; those of all woods are worked out once for a catalogue."""

    def every() -> dict[str, Spot]:
        found = ((m.id, spot(m)) for m in catalogue.materials())
        return {wood: held for wood, held in found if held is not None}

    spots = catalogue.remembered(("spots", name), every)
    return [spots[m.id] for m in chosen(choice, catalogue) if m.id in spots]


def _weight_spot(m: Material) -> Spot | None:
    density, moe = m.figure("density"), m.figure("moe")
    if density is None or moe is None:
        return None
    return Spot(m, density.typical, moe.typical, (density, moe), _weight_words)


def _weight_words(spot: Spot) -> str:
    density, moe = spot.figures
    return f"{spot.material.name}: {spot.x:,.0f} kg/m3 ({density.grade}), {spot.y:.1f} GPa ({moe.grade})"


def _movement_spot(m: Material) -> Spot | None:
    quarter, crown = movement_per_100(m, "radial"), movement_per_100(m, "tangential")
    if not quarter or not crown:
        return None
    return Spot(m, quarter[0], crown[0], (quarter[1], crown[1]), _movement_words)


def _movement_words(spot: Spot) -> str:
    quarter, crown = spot.figures
    return (
        f"{spot.material.name}: a quarter leaf {spot.x:.1f} mm ({quarter.grade}), "
        f"a crown leaf {spot.y:.1f} mm ({crown.grade})"
    )


def weight_against_stiffness(choice: Choice, catalogue: Catalogue) -> Spread:
    """Stiffness in bending [GPa] over weight [kg/m3], both preferred figures."""
    held = _held(choice, catalogue, "weight", _weight_spot)
    made = _spread(
        "weight",
        "Weight against stiffness",
        choice,
        (Axis("density_kg_m3", "weight, kg/m3"), Axis("moe_gpa", "stiffness in bending, GPa", 1)),
        held,
        (variation("density"), variation("moe")),
        "the weight or the stiffness",
        catalogue,
    )
    made.lines = _stiff_lines(choice, catalogue)
    made.closing = [
        "Every wood on one line is as stiff for its weight as the wood the line is named after; above it, a "
        "wood is stiffer for its weight.",
        FILL,
        f"Pieces of one wood vary by about {variation('density'):g} % in weight and {variation('moe'):g} % "
        "in stiffness (Wood Handbook Table 5-6), so that near neighbours may change places.",
    ]
    return made


def _stiff_lines(choice: Choice, catalogue: Catalogue) -> list[Line]:
    names = (choice.near.id,) if choice.near else REFERENCES
    held = {m.id: m for m in catalogue.materials()}
    out = []
    for name in names:
        m = held.get(name)
        density, moe = (m.figure("density"), m.figure("moe")) if m else (None, None)
        if m and density and moe:
            out.append(
                Line(moe.typical / density.typical, f"as stiff for its weight as {m.name}", f"as {m.name}")
            )
    return out


def movement_both_ways(choice: Choice, catalogue: Catalogue) -> Spread:
    """What a crown leaf moves (along the rings) over what a quarter leaf moves (across): mm per 100 mm."""
    held = _held(choice, catalogue, "movement", _movement_spot)
    made = _spread(
        "movement",
        "Movement across the rings against along them",
        choice,
        (
            Axis("quarter_mm_per_100_mm", "a quarter leaf (across the rings), mm per 100 mm", 1),
            Axis("crown_mm_per_100_mm", "a crown leaf (along the rings), mm per 100 mm", 1),
        ),
        held,
        (variation("quarter_movement"), variation("movement")),
        "the movement of a crown or a quarter leaf",
        catalogue,
    )
    made.lines = [
        Line(1.0, "even: crown and quarter move alike", "even"),
        Line(2.0, "crown moves twice as far as quarter", "twice as far"),
    ]
    made.closing = [
        f"What 100 mm of leaf moves from {DRY:g} to {DAMP:g} % moisture, as from a dry heated room to a damp "
        "one. Along the grain a leaf hardly moves at all.",
        "On the line called even a wood moves alike whichever way it was cut. From the line called twice as "
        "far, on which a crown leaf moves twice as far as a quarter leaf, wide crown leaves tend to cup.",
        FILL,
        f"Pieces of one wood vary by about {variation('movement'):g} % in movement (from memory).",
    ]
    return made


def _spread(
    name: str,
    title: str,
    choice: Choice,
    axes: tuple[Axis, Axis],
    held: Sequence[Spot],
    reach: tuple[float, float],
    lacking: str,
    catalogue: Catalogue,
) -> Spread:
    """A picture without its lines: the marked wood, its reach, and what is not drawn, said."""
    marked = next((s for s in held if choice.near and s.material.id == choice.near.id), None)
    spots, box, opening = list(held), None, []
    every = len(chosen(choice, catalogue))
    if marked is not None:
        (dx, dy) = (marked.x * reach[0] / 100, marked.y * reach[1] / 100)
        box = (marked.x - dx, marked.x + dx, marked.y - dy, marked.y + dy)
        spots = [_judged(spot, marked, box) for spot in held]
        near = sum(bool(s.within) for s in spots) - 1
        opening.append(f"Marked: {marked.says}.")
        woods = "1 other lies" if near == 1 else f"{near} others lie"
        opening.append(
            f"{woods} within reach of it, that is within as much as pieces of one wood vary: {reach[0]:g} % "
            f"sideways and {reach[1]:g} % up and down."
        )
        if choice.within:
            spots = [s for s in spots if s.within]
    elif choice.near is not None:
        wood = next(m for m in catalogue.materials() if m.id == choice.near.id)
        opening.append(f"Of {wood.name} {lacking} is not known, so it cannot be marked.")
        if choice.within:
            spots = []
    opening.append(_count(len(held), every, lacking))
    notices = [*catalogue.notices, *(choice.near.notices if choice.near else ())]
    spots.sort(key=lambda s: (s.x, s.material.id))
    drawn = thinned(spots)
    if len(drawn) < len(spots):
        opening.append(
            f"Of these {len(spots)} the picture draws {len(drawn)}: it is parted into small squares, and "
            "in each the first wood by name stands for the others, so that it shows where woods lie and not "
            "how many lie there. The table holds them all."
        )
    return Spread(
        name, title, choice, *axes, spots, [], box, opening, notices=notices, stamp=catalogue.stamp,
        drawn=drawn,
    )  # fmt: skip


def thinned(spots: Sequence[Spot], most: int = DRAWN) -> list[Spot]:
    """Spots that may be told apart on a picture, in their order: all when there are no more than `most`, else
    the first by name of each square of the finest parting that gives no more; the marked wood and those that
    lines are named after are among them always."""
    if len(spots) <= most:
        return list(spots)
    kept = {k for k, s in enumerate(spots) if s.marked or s.material.id in REFERENCES}
    low_x, low_y = min(s.x for s in spots), min(s.y for s in spots)
    wide, high = max(s.x for s in spots) - low_x, max(s.y for s in spots) - low_y
    order = sorted(range(len(spots)), key=lambda k: (spots[k].material.name, spots[k].material.id))

    def first_of_each(parts: int) -> set[int]:
        found: dict[tuple[int, int], int] = {}
        for k in order:
            across = int(parts * (spots[k].x - low_x) / wide) if wide else 0
            up = int(parts * (spots[k].y - low_y) / high) if high else 0
            found.setdefault((across, up), k)
        return kept | set(found.values())

    # halving: from one square, which is never too many, to more squares a side than there may be marks
    few, many = 1, most
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (middle, many) if len(first_of_each(middle)) <= most else (few, middle)
    chosen_ = first_of_each(few)
    return [spot for k, spot in enumerate(spots) if k in chosen_]


def _judged(spot: Spot, marked: Spot, box: tuple[float, float, float, float]) -> Spot:
    inside = box[0] <= spot.x <= box[1] and box[2] <= spot.y <= box[3]
    return Spot(spot.material, spot.x, spot.y, spot.figures, spot.words, inside, spot is marked)


def _count(drawn: int, every: int, lacking: str) -> str:
    if not every:
        return "No wood of the catalogue is left by that choice."
    if drawn == every:
        return f"All {every} that fit have both figures."
    rest = every - drawn
    tail = f"of the other {rest}" if rest > 1 else "of the other one"
    told = "1 has" if drawn == 1 else f"{drawn} have" if drawn else "none has"
    return f"Of {every} that fit, {told} both figures; {tail} {lacking} is not known."
