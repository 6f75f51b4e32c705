"""What to cut for a run of parts: each ply at its own length, the leaves it takes, and what to mind at the
bench. Sizes in mm, areas in m2; how leaves are counted stands in `leafcount`.

A blank is the ply's own length along the curve and the panel's width, with the allowance on every edge. A
closed ring has no ends to trim: its plies get a scarf's length more instead. Parts that bend neither along
nor across have no square ends, and nothing is worked out for them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from woodref.layup import geometry, leafcount
from woodref.layup.asked import Layup, LeafStock
from woodref.layup.findings import Finding
from woodref.layup.leafcount import NARROW, LeafCount, PlyCut, joints_over, leaf_findings, size
from woodref.layup.rounds import SCARF
from woodref.layup.saying import Say, plies_called, plural

#: a slip at the ends that is worth a word [mm]
SLIP_SAID = 0.1
#: matches in which every second leaf is turned over
TURNED_OVER = ("book", "end", "four-way")


@dataclass(frozen=True)
class Cutting:
    """left_out: why there are no rows."""

    rows: tuple[PlyCut, ...] = ()
    sentences: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    left_out: str | None = None

    def as_list(self) -> list[dict[str, Any]]:
        return [row.as_dict() for row in self.rows]


def cutting(layup: Layup, names: Sequence[str], say: Say) -> Cutting:
    """What to cut; names: one a ply, as people read them, show face first."""
    left_out = _left_out(layup)
    if left_out:
        return Cutting(left_out=left_out)
    rows = _shifted(layup, [_row(layup, i, name, say) for i, name in enumerate(names)])
    return Cutting(tuple(rows), tuple(_sentences(layup, rows, say)), tuple(_findings(layup, rows, say)))


def is_ring(layup: Layup) -> bool:
    return layup.mould.closed and layup.mould.radius is not None


def _left_out(layup: Layup) -> str | None:
    begun, panel, mould = "How much to cut is left out: ", layup.panel, layup.mould
    if is_ring(layup):
        if mould.bend:
            return begun + "the length of a ring runs all round, and here the bend does not (mould: bend)."
        return None if panel.width else begun + "the file gives no width of the ring (panel: width)."
    if not panel.length or not panel.width:
        return begun + "the file gives no panel size (panel: length and width)."
    if mould.radius is not None and not geometry.straight_bend(layup):
        return (
            f"{begun}the bend runs at {mould.bend:g} degrees to the length, so no ply keeps square ends; "
            "take a paper pattern of each from the mould."
        )
    return None if geometry.own_lengths(layup) else begun + "the length of the plies is not known."


def _blank(layup: Layup, index: int) -> tuple[float, float, float]:
    """Blank along the panel's length and across it [mm]; what stays of it in one part [mm2]."""
    panel, own = layup.panel, (geometry.own_lengths(layup) or [])[index]
    width, edges = panel.width or 0.0, 2 * panel.trim
    if is_ring(layup):
        return own + SCARF * layup.plies[index].thickness, width + edges, own * width
    if layup.mould.radius is not None and abs(layup.mould.bend) == 90:
        length = panel.length or 0.0
        return length + edges, own + edges, length * own
    return own + edges, width + edges, own * width


def _row(layup: Layup, index: int, name: str, say: Say) -> PlyCut:
    ply, parts = layup.plies[index], layup.panel.count
    length, width, net = _blank(layup, index)
    along, across = leafcount.turned(length, width, ply.grain)
    face = layup.face if index == 0 else None
    counts = [
        leafcount.count(stock, along, across, parts, face, even=is_ring(layup) and not ply.long)
        for stock in _stocks(layup, index + 1)
    ]
    # the first lot that is enough, else the first that is long enough, else the first
    counts.sort(key=lambda c: (c.needed is None, c.missing > 0))
    row = PlyCut(
        index + 1, name, length, width, along, across, parts, net * parts / 1e6, counts[0] if counts else None
    )
    return replace(row, cut=_cut_words(row, ply.grain, say))


def _stocks(layup: Layup, number: int) -> list[LeafStock]:
    """The lots of leaves for a ply. Lots of one size are thrown together, but not for a matched face."""
    lots = [leaf for leaf in layup.leaves if leaf.ply == number]
    if number == 1 and layup.face.match != "random":
        return lots
    sizes: dict[tuple[float, float], LeafStock] = {}
    for leaf in lots:
        had = sizes.get((leaf.width, leaf.length))
        if had is not None:
            both = None if had.count is None or leaf.count is None else had.count + leaf.count
            leaf = replace(had, count=both)
        sizes[leaf.width, leaf.length] = leaf
    return list(sizes.values())


def _cut_words(row: PlyCut, grain: float, say: Say) -> str:
    length, width = size(say, row.length), size(say, row.width)
    words = f"{length.rpartition(' ')[0]} x {width}, "
    if grain == 0:
        words += "grain along the length"
    elif abs(grain) == 90:
        words += "grain across"
    else:
        words += (
            f"grain at {grain:g} degrees to the length, out of a sheet {size(say, row.along)} along the "
            f"grain and {size(say, row.across)} across it"
        )
    c = row.leaves
    if c is None:
        return f"{words}; {plural(row.parts, 'sheet')}"
    if c.needed is None:
        return f"{words}; the leaves are too short"
    side = "one leaf wide" if c.leaves_across == 1 else f"{c.leaves_across} leaves side by side"
    ends = f", {c.lengths_along} end to end" if c.lengths_along > 1 else ""
    run = f"{plural(c.needed, 'leaf', 'leaves')} for {plural(row.parts, 'part')}"
    return f"{words}; {side}{ends}, {plural(c.lengths_per_leaf, 'length')} to a leaf, {run}"


def _joints_laid(row: PlyCut) -> tuple[float, ...]:
    return row.joints_shifted if row.joints_shifted is not None else row.joints or ()


def _neighbours(layup: Layup, rows: Sequence[PlyCut], index: int) -> bool:
    """Whether joints of this ply lie over those of the one before it, as that one is laid."""
    grains = [layup.plies[i].grain for i in (index - 1, index)]
    if not leafcount.same_way(*grains):
        return False
    if is_ring(layup) and not layup.plies[index].long:
        return False  # such plies are turned round the ring with their closing joints
    before, here = rows[index - 1], rows[index]
    return leafcount.over_one_another(_joints_laid(before), before.across, here.joints or (), here.across)


def _shifted(layup: Layup, rows: list[PlyCut]) -> list[PlyCut]:
    """From the face inward: joints that lie over those of the ply before are shifted, where that helps."""
    for index in range(1, len(rows)):
        row, before = rows[index], rows[index - 1]
        if row.leaves is None or not _neighbours(layup, rows, index):
            continue
        there = leafcount.shifted(row.across, row.leaves.stock.width, row.leaves.leaves_across)
        if not leafcount.over_one_another(_joints_laid(before), before.across, there, row.across):
            rows[index] = replace(row, joints_shifted=there)
    return rows


def _findings(layup: Layup, rows: Sequence[PlyCut], say: Say) -> list[Finding]:
    out = []
    for index, row in enumerate(rows):
        if row.leaves is not None:
            found = leaf_findings(row, row.leaves, say)
            # joints of a face whose match is drawn are no surprise
            drawn = index == 0 and "face" in layup.given
            out += [f for f in found if not (drawn and f.code == "joint-needed")]
        if index and _neighbours(layup, rows, index):
            out.append(joints_over(row, say))
    return out


def _sentences(layup: Layup, rows: Sequence[PlyCut], say: Say) -> list[str]:
    out = _what_to_cut(layup, rows, say)
    if layup.panel.trim:
        edge = "Both edges carry" if is_ring(layup) else "Every edge carries"
        out.append(f"{edge} {say.mm(layup.panel.trim)} to trim after pressing: the edges bond worst.")
    else:
        out.append("No edge carries anything to trim, and the edges bond worst.")
    slip = geometry.end_slip(layup) or 0.0
    if slip >= SLIP_SAID:
        long, short = (1, len(rows)) if layup.mould.show_outside else (len(rows), 1)
        out.append(
            f"Lay the pack centred on the mould: ply {long}, on the round side, is longer than ply {short} "
            f"by {say.mm(slip)} at each end."
        )
    if layup.mould.second_radius is not None:
        out.append(
            "The mould is round both ways and these sizes follow the first curve alone: try a paper pattern "
            "on it."
        )
    if is_ring(layup):
        out += _ring_sentences(layup)
    if any(row.leaves for row in rows):
        out.append("Widths of leaves are what is left once both edges are jointed.")
    return out + _face_sentences(layup, rows, say)


def _what_to_cut(layup: Layup, rows: Sequence[PlyCut], say: Say) -> list[str]:
    """A sentence a ply, one for all that are cut alike; the face always has its own."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for row, ply in zip(rows, layup.plies, strict=True):
        alike.setdefault((row.number == 1, row.name, ply.thickness, row.cut), []).append(row.number)
    out = []
    for (face, name, _, cut), numbers in alike.items():
        thick = say.mm(layup.plies[numbers[0] - 1].thickness)
        plies = plies_called(numbers)
        each = ", each" if len(numbers) > 1 else ""
        out.append(f"{plies}{', the face' if face else ''}, {name} {thick}{each}: {cut}.")
    return out


def joint_places(number: int) -> list[float]:
    """Where the closing joint of each ply of a ring lies [degrees], show face first."""
    step = _stride(number) if number > 1 else 1
    return [360 * (i * step % number) / number for i in range(number)]


def _stride(number: int) -> int:
    """How many places round the ring from one ply's joint to the next one's: as far apart as `number` places
    allow, each place taken once."""
    return max(step for step in range(1, number // 2 + 1) if math.gcd(step, number) == 1)


def _ring_sentences(layup: Layup) -> list[str]:
    number = len(layup.plies)
    out = [
        f"Each ply goes once round, 2 pi R to its own middle, with {SCARF} thicknesses more for a scarf of "
        f"1:{SCARF}; for a butt joint cut those off."
    ]
    if any(not ply.long for ply in layup.plies):
        out.append("A ply whose grain runs across closes with a butt joint.")
    if number > 1:
        step = _stride(number)
        at = [f"ply {i + 1} at {place:.0f}" for i, place in enumerate(joint_places(number))]
        at = at if number <= 12 else [*at[:3], "and so on to " + at[-1]]
        out.append(
            f"Spread the closing joints round the ring, those of neighbours {360 * step / number:.0f} "
            "degrees "
            f"apart: {', '.join(at)} degrees."
        )
    return out


def _face_sentences(layup: Layup, rows: Sequence[PlyCut], say: Say) -> list[str]:
    out, row, face = [], rows[0], layup.face
    c = row.leaves
    if len(layup.plies) > 1 and layup.plies[0].cut != "board":
        turned = c is not None and c.needed is not None and c.group > 1 and face.match in TURNED_OVER
        but = (
            f", but for every second leaf of the {face.match} match: it shows its loose side and "
            "takes stain and "
            "light differently."
        )
        out.append(f"Lay the loose side of face and back to the glue{but if turned else '.'}")
    if c is None or c.in_sequence is None or c.needed is None:
        return out
    if c.group > 1:
        middle = "the centre joint" if c.leaves_across % 2 == 0 else "the middle of the centre leaf"
        if c.lengths_along == 2:
            middle = "the point where four pieces meet" if c.leaves_across % 2 == 0 else "the end joint"
        place = "caul" if layup.mould.radius is None else "mould"
        out.append(f"Mark the middle of the face sheet and of the {place}, and lay {middle} on the mark.")
        out.append(f"Cut each face from one place along {c.group} leaves that follow one another.")
    out.append(f"Number the leaves before they are cut{', all of one flitch' if face.same_flitch else ''}.")
    match = min(face.parts_to_match, row.parts)
    if match > 1:
        out.append(f"The {match} parts that match take {c.in_sequence} leaves that follow one another.")
    under = rows[1] if len(rows) > 1 and leafcount.same_way(*(p.grain for p in layup.plies[:2])) else None
    if under is None or not under.joints:
        out += _edge_leaves(layup, row, c, say)
    if c.left:
        leaves = "leaf" if c.left == 1 else f"{c.left} leaves"
        out.append(f"Keep the next {leaves} of the sequence for repairs.")
    elif c.stock.count is None:
        out.append(f"Order one leaf of the sequence more than these {c.needed}, for repairs.")
    return out


def _edge_leaves(layup: Layup, row: PlyCut, c: LeafCount, say: Say) -> list[str]:
    """Outer leaves of the face that trimming leaves narrow, and the width at which all show alike; not
    where a ply with joints of its own runs under them the same way."""
    trim, n = layup.panel.trim, c.leaves_across
    if n < 3 or is_ring(layup) or layup.plies[0].grain not in (0.0, 90.0, -90.0):
        return []
    edge, alike = (row.joints or (0.0,))[0] - trim, (row.across - 2 * trim) / n
    if edge >= min(NARROW, alike) or alike + trim > c.stock.width:
        return []
    shown = f"show {say.mm(edge)}" if edge > 0 else "are trimmed away"
    return [
        f"Trimmed, the outer leaves of the face {shown}; joint the inner "
        f"{'one' if n == 3 else 'ones'} down to "
        f"{say.mm(alike)} and all show alike."
    ]
