"""Pieces of one size out of a pile of leaves of one size: how many leaves they take, and why they cannot come
out of these. Whole leaves; the counting itself is that of a ply (`leafcount`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from woodref.layup import leafcount
from woodref.layup.asked import Face, LeafStock
from woodref.layup.leafcount import FUZZ

TOO_SHORT, TOO_NARROW = "too-short", "too-narrow"


@dataclass(frozen=True)
class PieceCount:
    """leaves: how many the pieces take, None where they cannot come out of them; why_not: TOO_SHORT or
    TOO_NARROW; across: leaves side by side in one piece; strips: pieces side by side in one leaf; lengths:
    pieces one after the other along it; sequence: whether the leaves have to follow one another."""

    leaves: int | None
    across: int
    strips: int
    lengths: int
    sequence: bool
    why_not: str | None = None

    @property
    def joints(self) -> int:
        """Joints in one piece."""
        return self.across - 1


def pieces_from(
    leaf: tuple[float, float], piece: tuple[float, float], number: int, joints: int, matched: bool = True
) -> PieceCount:
    """`number` pieces (along the grain, across) [mm] out of leaves (length, width) [mm], with up to `joints`
    joints in each. matched: the leaves of a piece come from one place along leaves that follow one another;
    else any leaf lies beside any other and every length is used.

    A leaf twice as wide as a piece or more gives several side by side. More joints never take more leaves.
    """
    (length, width), (along, across) = leaf, piece
    strips = max(1, math.floor(width / across + FUZZ))
    stock = LeafStock(1, width, length)
    # strips of one leaf follow one another by themselves
    runs = -(-number // strips)
    face = Face("slip", parts_to_match=runs) if matched else None
    count = leafcount.count(stock, along, across, runs, face)
    why = None
    if not count.lengths_per_leaf:
        why = TOO_SHORT
    elif count.leaves_across - 1 > joints:
        why = TOO_NARROW
    return PieceCount(
        None if why else count.needed, count.leaves_across, strips, count.lengths_per_leaf, matched, why
    )
