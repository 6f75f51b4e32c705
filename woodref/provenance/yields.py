"""What work leaves over: a yield that is odd, and an offcut that is worth a place on the shelf. It is told,
never refused. The bands are shop rules of ours, without a source."""

from __future__ import annotations

from woodref.catalogue.reader import Notice
from woodref.provenance.amounts import Amount, plainly

#: kind of work -> least share of what was taken that is usually kept [%] (shop rule)
LEAST = {"cut": 50, "edge-join": 85, "laminate": 85, "slice": 40}
#: an offcut with longer sides than these [mm] is kept (shop rule) ...
OFFCUT_MM = (150, 100)
#: ... when it is more than this share of what was cut [%] (shop rule)
OFFCUT_SHARE = 10


def low_yield(kind: str, taken: int, kept: int) -> list[Notice]:
    """One notice when less than the usual share of what was taken is kept; both in one unit."""
    least = LEAST[kind]
    if not taken or kept * 100 >= least * taken:
        return []
    return [
        Notice(
            "low-yield",
            f"{100 * kept / taken:.0f} % of what was taken is kept, less than the usual {least} % (shop "
            "rule). Look whether the figures are right.",
        )
    ]


def may_hold_offcut(wasted: int, taken: int, unit: str) -> list[Notice]:
    """One notice when the waste of a cut is large enough, by its area alone, for an offcut to keep."""
    long, wide = OFFCUT_MM
    if unit != "mm2" or wasted <= long * wide or wasted * 100 <= OFFCUT_SHARE * taken:
        return []
    return [
        Notice(
            "offcut",
            f"The waste of {plainly(wasted, unit)} could hold an offcut to keep, of more than {long} x "
            f"{wide} mm and {OFFCUT_SHARE} % of what was cut (shop rule). That goes by its area alone: it "
            "may as well be strips. Name the piece with --offcut LOT=AMOUNT, or say --no-offcut.",
        )
    ]


def small_offcut(name: str, piece: Amount) -> list[Notice]:
    """One notice when a named offcut is smaller than those that are usually kept."""
    size = piece.leaf_mm
    if size is None or (max(size) > OFFCUT_MM[0] and min(size) > OFFCUT_MM[1]):
        return []
    return [
        Notice(
            "small-offcut",
            f"{name} is smaller than the offcuts that are usually kept, which are over {OFFCUT_MM[0]} x "
            f"{OFFCUT_MM[1]} mm (shop rule). It is recorded all the same.",
        )
    ]
