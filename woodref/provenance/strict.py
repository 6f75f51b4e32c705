"""Single values of events, lots and papers, read strictly: whole numbers, and ids."""

from __future__ import annotations

from woodref.errors import echo
from woodref.provenance.canonical import LARGEST
from woodref.provenance.faults import BadAmount, BadShape, OutOfRange

ID_LENGTH = 80


def whole(value: object, what: str, low: int = 1, where: str | None = None) -> int:
    """A whole number from low up; BadShape for anything but an integer, BadAmount below, OutOfRange above."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadShape(
            f"{what} {echo(str(value))}: number expected",
            where=where,
            expected="a whole number, no true or text",
        )
    if value < low:
        raise BadAmount(
            f"{what} {value:,} must be {'above zero' if low == 1 else f'{low:,} or more'}", where=where
        )
    if value > LARGEST:
        raise OutOfRange(
            f"{what} {value} is too large", where=where, expected=f"the largest allowed value is {LARGEST:,}"
        )
    return value


def named(value: object, what: str, where: str | None = None) -> str:
    """An id or name: text without control characters, up to 80 letters."""
    if not isinstance(value, str) or not value.strip() or len(value) > ID_LENGTH or not value.isprintable():
        raise BadShape(
            f"{what} {echo(str(value))} is no id", where=where, expected=f"1 to {ID_LENGTH} printed letters"
        )
    return value
