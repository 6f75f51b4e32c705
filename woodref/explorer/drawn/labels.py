"""Which words are put beside which marks: as many as fit without covering each other or a mark."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    half = gap - 1.5
    room = _Room()
    for k, w in enumerate(wishes):
        room.take(Box(w.x - half, w.y - half, 2 * half, 2 * half), k)
    for box in taken:
        room.take(box)
    labels: list[Label] = []
    for k, wish in enumerate(wishes):
        if len(labels) >= most:
            break
        width = wide(wish.words, size)
        for across, down in WAYS:
            box = _at(wish, width, size, gap + wish.more, across, down)
            if box.within(field) and room.free(box, k):
                labels.append(Label(k, wish.words, box, {1: "start", 0: "middle", -1: "end"}[across]))
                room.take(Box(box.x - 1, box.y - 1, box.width + 2, box.height + 2))
                break
    return labels


class _Room:
    """What is taken, kept by squares of the picture, so that only what lies near is asked."""

    SIDE = 32.0

    def __init__(self) -> None:
        self.squares: dict[tuple[int, int], list[tuple[Box, int | None]]] = {}

    def _of(self, box: Box) -> Iterator[tuple[int, int]]:
        for i in range(int(box.x // self.SIDE), int(box.right // self.SIDE) + 1):
            for j in range(int(box.y // self.SIDE), int(box.bottom // self.SIDE) + 1):
                yield i, j

    def take(self, box: Box, owner: int | None = None) -> None:
        for square in self._of(box):
            self.squares.setdefault(square, []).append((box, owner))

    def free(self, box: Box, owner: int) -> bool:
        """Whether nothing lies there but what is the owner's own."""
        return not any(
            other != owner and box.meets(held)
            for square in self._of(box)
            for held, other in self.squares.get(square, ())
        )


def _at(wish: Wish, width: float, size: float, gap: float, across: int, down: int) -> Box:
    lean = 0.8 if across and down else 1.0
    x = wish.x + across * gap * lean - (width if across < 0 else width / 2 if across == 0 else 0)
    y = wish.y + down * gap * lean - (size if down < 0 else size / 2 if down == 0 else 0)
    return Box(x, y, width, size)


def loneliest_first(points: Sequence[tuple[float, float]]) -> list[int]:
    """Places of points, those farthest from their nearest neighbour first: there is room beside them."""
    by_x = sorted(range(len(points)), key=lambda k: points[k])
    alone = []
    for n, k in enumerate(by_x):
        x, y = points[k]
        nearest = inf = float("inf")
        for others in (by_x[n + 1 :], by_x[:n][::-1]):
            for other in others:
                gap = (points[other][0] - x) ** 2
                if gap >= nearest:
                    break
                nearest = min(nearest, gap + (points[other][1] - y) ** 2)
        alone.append((0.0 if nearest == inf else -nearest, k))
    return [k for _, k in sorted(alone)]
