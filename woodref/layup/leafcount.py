"""How a sheet of veneer comes out of leaves: lengths from a leaf, leaves side by side, where the joints lie,
how many leaves a run takes. Whole numbers and mm; it knows nothing of curves.

How a face is matched, as decided here:
- slip: the leaves lie side by side, all the same side up. Any number goes across.
- book: every second leaf is turned over on the joint. With a joint on the centre line the number across is
  even (two at least, even where one leaf would be wide enough); with a leaf on the centre line it is odd.
- end: one row of leaves and its mirror image over an end joint. Each piece is half as long as the sheet and
  both halves come from the same place of leaves that follow one another; side by side they are slipped.
- four-way: book and end at once. The number across is even and the four pieces meet in the middle.
- random: any leaf beside any other.
A matched face takes all its pieces from one place along leaves that follow one another, so that a group of
leaves gives as many faces as a leaf gives lengths. Random faces and hidden plies use up every length.

The leaves lie centred on the sheet at their full width, and the two outermost are trimmed alike. A ply that
is shifted by half a leaf has one more joint and takes no more leaves: one leaf, ripped down the middle, makes
both edges, which together are never wider than a leaf.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from woodref.layup.asked import Face, LeafStock, apart
from woodref.layup.findings import Finding
from woodref.layup.saying import Say, plural

#: joints of neighbouring plies lie at least so far from one another [mm] (common practice, no source)
JOINTS_APART = 25.0
#: grain that differs by less counts as running the same way [degrees] (common practice, no source)
SAME_WAY = 20.0
#: a leaf narrower than this [mm], or more side by side than that, is slow and shows (common practice)
NARROW, MOST_ACROSS = 80.0, 6
#: leaves wider than this [mm] are seldom to be had, and nobody is sent for them (common practice)
WIDEST = 350.0
#: far below what a knife can cut [mm, leaves]
FUZZ = 1e-6


@dataclass(frozen=True)
class LeafCount:
    """One ply out of its leaves. lengths_per_leaf 0: the leaf is too short, and needed is None.
    lengths_along: pieces end to end in a sheet. in_sequence: leaves that follow one another, None where
    any will do."""

    stock: LeafStock
    lengths_per_leaf: int
    leaves_across: int
    lengths_along: int
    in_sequence: int | None
    needed: int | None

    @property
    def group(self) -> int:
        """Pieces in one sheet."""
        return self.leaves_across * self.lengths_along

    @property
    def missing(self) -> int:
        """Leaves that are not to hand."""
        if self.needed is None or self.stock.count is None:
            return 0
        return max(0, self.needed - self.stock.count)

    @property
    def left(self) -> int | None:
        """Whole leaves that stay over; None when it is not known how many are to hand, or are needed."""
        if self.needed is None or self.stock.count is None:
            return None
        return max(0, self.stock.count - self.needed)

    @property
    def parts_from_stock(self) -> int | None:
        """Sheets that the leaves to hand give."""
        if self.stock.count is None:
            return None
        if self.in_sequence is None:
            return self.stock.count * self.lengths_per_leaf // self.group
        return self.stock.count // self.group * self.lengths_per_leaf


def turned(length: float, width: float, grain: float) -> tuple[float, float]:
    """Size along and across the grain [mm] of the sheet that a blank at an angle to its grain is cut from."""
    c, s = abs(math.cos(math.radians(grain))), abs(math.sin(math.radians(grain)))
    return round(length * c + width * s, 6), round(length * s + width * c, 6)


def leaves_across(across: float, width: float, match: str = "random", centre_joint: bool = True) -> int:
    """Leaves side by side, with the number that the match asks for."""
    number = max(1, math.ceil(across / width - FUZZ))
    if match == "four-way" or (match == "book" and centre_joint):
        return number + number % 2
    if match == "book":
        return number + 1 - number % 2
    return number


def count(
    stock: LeafStock, along: float, across: float, parts: int, face: Face | None = None, even: bool = False
) -> LeafCount:
    """A sheet of that size along and across the grain, `parts` times. face: how it is matched, None for a
    hidden ply; even: a book match that closes on itself, so that no leaf can stand alone in its middle."""
    match = face.match if face else "random"
    number = leaves_across(across, stock.width, match, even or face is None or face.centre_joint)
    rows = 2 if match in ("end", "four-way") else 1
    lengths = math.floor(stock.length / (along / rows) + FUZZ)
    group = number * rows
    sequence = needed = None
    if lengths and (face is None or match == "random"):
        needed = math.ceil(parts * group / lengths)
    elif lengths and face is not None:
        needed = math.ceil(parts / lengths) * group
        sequence = math.ceil(min(face.parts_to_match, parts) / lengths) * group
    return LeafCount(stock, lengths, number, rows, sequence, needed)


def joints(across: float, width: float, number: int) -> tuple[float, ...]:
    """Where the joints lie [mm from one edge] when `number` leaves lie centred on the sheet."""
    middle = across / 2
    there = (round(middle + (k - number / 2) * width, 6) for k in range(1, number))
    return tuple(at for at in there if FUZZ < at < across - FUZZ)


def shifted(across: float, width: float, number: int) -> tuple[float, ...]:
    """The same, shifted by half a leaf."""
    return joints(across, width, number + 1)


def over_one_another(
    first: tuple[float, ...], first_across: float, second: tuple[float, ...], second_across: float
) -> bool:
    """Whether a joint of one sheet lies too near one of the other, both laid centred."""
    one = [at - first_across / 2 for at in first]
    two = [at - second_across / 2 for at in second]
    return any(abs(a - b) < JOINTS_APART - FUZZ for a in one for b in two)


def same_way(grain: float, other: float) -> bool:
    """Whether the grain of two plies runs within 20 degrees; 90 and -90 are one direction."""
    return apart(grain, other) <= SAME_WAY


@dataclass(frozen=True)
class PlyCut:
    """One ply. length and width: its blank along the panel's length and across; along and across: the same
    to the grain; net_area: what stays in the parts. leaves None: no leaves are given for it."""

    number: int
    name: str
    length: float
    width: float
    along: float
    across: float
    parts: int
    net_area: float
    leaves: LeafCount | None = None
    joints_shifted: tuple[float, ...] | None = None
    cut: str = ""

    @property
    def joints(self) -> tuple[float, ...] | None:
        """Where its joints lie across the grain [mm from one edge], laid centred; empty for a single leaf."""
        c = self.leaves
        return None if c is None else joints(self.across, c.stock.width, c.leaves_across)

    @property
    def end_joint(self) -> float | None:
        """Where the end joint lies along the grain [mm from one end]."""
        return self.along / 2 if self.leaves and self.leaves.lengths_along == 2 else None

    @property
    def bought_area(self) -> float | None:
        """Area of the whole leaves that the run takes [m2]."""
        c = self.leaves
        return None if c is None or c.needed is None else c.needed * c.stock.width * c.stock.length / 1e6

    def as_dict(self) -> dict[str, Any]:
        c, joints, shifted, end = self.leaves, self.joints, self.joints_shifted, self.end_joint
        bought = self.bought_area
        return {
            "ply": self.number,
            "name": self.name,
            "blank_length_mm": round(self.length, 2),
            "blank_width_mm": round(self.width, 2),
            "along_grain_mm": round(self.along, 2),
            "across_grain_mm": round(self.across, 2),
            "lengths_per_leaf": c.lengths_per_leaf if c else None,
            "leaves_across": c.leaves_across if c else None,
            "lengths_along": c.lengths_along if c else None,
            "pieces_per_part": c.group if c else None,
            "pieces": c.group * self.parts if c else None,
            "leaves_in_sequence": c.in_sequence if c else None,
            "leaves_needed": c.needed if c else None,
            "leaves_to_hand": c.stock.count if c else None,
            "leaves_left": c.left if c else None,
            "joints_mm": None if joints is None else [round(at, 1) for at in joints],
            "joints_shifted_mm": None if shifted is None else [round(at, 1) for at in shifted],
            "end_joint_mm": None if end is None else round(end, 1),
            "bought_area_m2": None if bought is None else round(bought, 4),
            "net_area_m2": round(self.net_area, 4),
            "cut": self.cut,
        }


def size(say: Say, mm: float) -> str:
    """A size to cut, rounded up: to a whole mm, or to the last figure of the inches."""
    step = 1.0 if not say.us else 0.254 if mm <= 508 else 2.54
    return say.mm(math.ceil(mm / step - FUZZ) * step)


def leaf_findings(row: PlyCut, c: LeafCount, say: Say) -> list[Finding]:
    """What the leaves of a ply lack, and what to know of them."""
    out, stock, ply = [], c.stock, f"Ply {row.number}"

    def add(code: str, severity: str, message: str, mend: str) -> None:
        out.append(Finding(code, severity, message, mend, row.number, stock.where or None))

    if c.needed is None:
        piece = size(say, row.along / c.lengths_along)
        would = row.number == 1 and c.lengths_along == 1 and 2 * stock.length >= row.along
        halves = ", or match the face end to end" if would else ""
        add(
            "short-leaf", "stop",
            f"{ply} takes {piece} along the grain, and the leaves are {say.mm(stock.length)} long.",
            f"Order leaves of {piece} or longer{halves}.",
        )  # fmt: skip
    if c.leaves_across > 1:
        had = stock.width < row.across <= WIDEST
        wide = f", or order leaves {size(say, row.across)} wide" if had else ""
        add(
            "joint-needed", "mind",
            f"{ply} is {size(say, row.across)} across the grain: {c.leaves_across} leaves side by side.",
            f"Joint the edges straight and tape them{wide}.",
        )  # fmt: skip
    if c.leaves_across > 1 and (stock.width < NARROW or c.leaves_across > MOST_ACROSS):
        add(
            "narrow-leaf", "mind",
            f"{ply} is pieced from {c.leaves_across} leaves of {say.mm(stock.width)}: every joint takes time "
            "and may show.",
            "Order wider leaves.",
        )  # fmt: skip
    if c.missing:
        sort = " of the same sequence" if c.in_sequence is not None else ""
        fewer = f", or press {plural(c.parts_from_stock, 'part')}" if c.parts_from_stock else ""
        add(
            "too-few-leaves", "mend",
            f"{ply} takes {plural(c.needed or 0, 'leaf', 'leaves')} for {plural(row.parts, 'part')}, and "
            f"{stock.count} are to hand: {c.missing} missing.",
            f"Find {c.missing} more{sort}{fewer}.",
        )  # fmt: skip
    elif c.in_sequence is not None and c.left == 0:
        add(
            "no-repair-leaf", "mind",
            "The run takes every leaf of the face: none is left for repairs.",
            "Order one leaf more of the same sequence.",
        )  # fmt: skip
    return out


def joints_over(row: PlyCut, say: Say) -> Finding:
    """Joints of this ply over those of the one before it."""
    mend = "Take leaves of another width for one of the two, so that the joints come further apart."
    if row.joints_shifted:
        mend = (
            f"Shift ply {row.number} by half a leaf, its first joint {say.mm(row.joints_shifted[0])} from "
            "the edge: one leaf ripped down the middle makes both edges."
        )
    return Finding(
        "joints-over",
        "mend",
        f"Joints of plies {row.number - 1} and {row.number} lie within {say.mm(JOINTS_APART)} of "
        "one another.",
        mend,
        row.number,
        row.leaves.stock.where or None if row.leaves else None,
    )
