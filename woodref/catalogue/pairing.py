"""Which figure of an older state is which one of the newer, within one material and property.

Those alike in every field go together first, then those of the same place and condition, the same source
and condition, the same condition and number, the same condition, the same place and number. What finds no
partner came or went.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from woodref.catalogue.change import NUMBERS
from woodref.catalogue.edition import HeldFigure
from woodref.catalogue.material import Figure


def _numbers(figure: Figure) -> tuple[Any, ...]:
    return (*(getattr(figure, key) for key in NUMBERS), figure.unit)


def _taken(figure: Figure) -> tuple[Any, ...]:
    """How and on what it was taken."""
    return (sorted((key, str(value)) for key, value in figure.condition.items()), figure.for_taxon)


#: by what two figures are held to be the same one, the surest first
_SAME: tuple[Callable[[Figure], Any], ...] = (
    lambda f: f,
    lambda f: (_taken(f), f.source, f.locator),
    lambda f: (_taken(f), f.source),
    lambda f: (_taken(f), _numbers(f)),
    _taken,
    lambda f: (f.source, f.locator, _numbers(f)),
)


def paired(old: list[HeldFigure], new: list[HeldFigure]) -> list[tuple[HeldFigure | None, HeldFigure | None]]:
    """Each figure with its partner on the other side: the newer ones in their order, then those gone."""
    left = list(range(len(old)))
    partner: dict[int, int] = {}
    for same in _SAME:
        for index, held in enumerate(new):
            if index in partner:
                continue
            key = same(held.figure)
            match = next((i for i in left if same(old[i].figure) == key), None)
            if match is not None:
                partner[index] = match
                left.remove(match)
    both: list[tuple[HeldFigure | None, HeldFigure | None]] = [
        (old[partner[i]] if i in partner else None, held) for i, held in enumerate(new)
    ]
    return both + [(old[i], None) for i in left]
