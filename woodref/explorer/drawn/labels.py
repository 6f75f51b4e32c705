"""Which words are put beside which marks: as many as fit without covering each other or a mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from woodref.explorer.drawn.shapes import Box, wide

#: ways a label may lie from its mark, best first: sideways and up or down, -1 to 1
WAYS = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (1, 1), (-1, -1), (-1, 1))


@dataclass(frozen=True)
class Wish:
    """A mark at x, y that would like these words beside it; more: how much farther off than usual."""

    x: float
    y: float
    words: str
    more: float = 0.0


@dataclass(frozen=True)
class Label:
    """Words that found room: which wish (its place in the list), where, and which end of them is held
    (start, middle or end): a text is often narrower than its room."""

    wish: int
    words: str
    box: Box
    anchor: str = "start"

    @property
    def x(self) -> float:
        return {"start": self.box.x, "middle": self.box.x + self.box.width / 2, "end": self.box.right}[
            self.anchor
        ]


def placed(
    wishes: Sequence[Wish],
    field: Box,
    taken: Sequence[Box] = (),
    *,
    size: float = 12.0,
    gap: float = 7.0,
    most: int = 40,
) -> list[Label]:
    """Labels for the wishes in their order, each in the first way in which it lies inside the field and
    covers no earlier label, nothing taken and no mark of any wish; a wish with no such way goes without.

    gap: from the middle of a mark to its label, and the half size of a mark that is kept clear.
    """
    marks = [Box(w.x - gap + 1.5, w.y - gap + 1.5, 2 * gap - 3, 2 * gap - 3) for w in wishes]
    labels: list[Label] = []
    for k, wish in enumerate(wishes):
        if len(labels) >= most:
            break
        width = wide(wish.words, size)
        for across, down in WAYS:
            box = _at(wish, width, size, gap + wish.more, across, down)
            if (
                box.within(field)
                and not any(box.meets(label.box, 1) for label in labels)
                and not any(box.meets(other) for other in taken)
                and not any(box.meets(mark) for n, mark in enumerate(marks) if n != k)
            ):
                labels.append(Label(k, wish.words, box, {1: "start", 0: "middle", -1: "end"}[across]))
                break
    return labels


def _at(wish: Wish, width: float, size: float, gap: float, across: int, down: int) -> Box:
    lean = 0.8 if across and down else 1.0
    x = wish.x + across * gap * lean - (width if across < 0 else width / 2 if across == 0 else 0)
    y = wish.y + down * gap * lean - (size if down < 0 else size / 2 if down == 0 else 0)
    return Box(x, y, width, size)


def loneliest_first(points: Sequence[tuple[float, float]]) -> list[int]:
    """Places of points, those farthest from their nearest neighbour first: there is room beside them."""
    import math

    alone = []
    for k, (x, y) in enumerate(points):
        nearest = min((math.hypot(x - a, y - b) for n, (a, b) in enumerate(points) if n != k), default=0.0)
        alone.append((-nearest, k))
    return [k for _, k in sorted(alone)]
