"""Moisture of wood as it is read and kept: per mille of the dry mass, whole; and when a reading is of no use
for the press. The bands are shop rules of ours, without a source."""

from __future__ import annotations

from decimal import Decimal

from woodref.catalogue.reader import Notice
from woodref.errors import echo
from woodref.provenance.faults import NotWhole, OutOfRange
from woodref.units import quantity

#: most moisture that wood holds, and then some [per mille of the dry mass]
MOST = 3000
#: moisture at which plies usually go to the press [per mille] (shop rule)
USUAL = (60, 90)
#: how far a reading may lie from what the layup says [per mille] (shop rule)
NEAR = 10
#: days after which a reading is old (shop rule)
OLD = 14


def permille(text: str, where: str) -> int:
    """'8.5 %' -> 85, per mille of the dry mass; a bare number is percent. NotWhole for a hundredth of a
    percent, OutOfRange beyond 300 %, BadQuantity for what is no percentage."""
    value = quantity(text, "%").to("%").value * 10
    if value != value.to_integral_value():
        raise NotWhole(
            f"{echo(text)} is finer than a tenth of a percent", where=where, expected="such as 8.5 %"
        )
    if not 1 <= value <= MOST:
        raise OutOfRange(f"{echo(text)} is no moisture of wood", where=where, expected="0.1 to 300 %")
    return int(value)


def percent(permille: int) -> str:
    """85 -> '8.5 %'."""
    return f"{Decimal(permille) / 10:f}".removesuffix(".0") + " %"


def off_usual(lot: str, read: int) -> list[Notice]:
    """One notice when a reading lies outside what plies usually have at the press."""
    low, high = USUAL
    if low <= read <= high:
        return []
    return [
        Notice(
            "moisture-off",
            f"{lot}: {percent(read)} is outside the {low // 10} to {high // 10} % at which plies usually go "
            "to the press (shop rule).",
        )
    ]


def off_asked(lot: str, read: int, asked: int) -> list[Notice]:
    """One notice when a reading is not what the layup says."""
    if abs(read - asked) <= NEAR:
        return []
    return [
        Notice(
            "moisture-off",
            f"{lot}: {percent(read)} was read, and the layup says {percent(asked)}; more than "
            f"{percent(NEAR)} apart (shop rule).",
        )
    ]


def old(lot: str, day: str, days: int) -> list[Notice]:
    """One notice when a reading is too old to go by. day: when it was."""
    if days <= OLD:
        return []
    return [
        Notice(
            "moisture-old",
            f"{lot}: its last moisture reading is {days} days old ({day}); more than {OLD} are too many "
            "(shop rule). Measure again before the press.",
        )
    ]


def missing(lot: str) -> Notice:
    """Nobody measured."""
    return Notice(
        "moisture-missing",
        f"{lot}: no moisture reading is on record. Measure, and note it: woodref stock moisture {lot}",
    )
