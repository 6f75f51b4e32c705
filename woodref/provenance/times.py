"""Times with their offset (RFC 3339): kept as UTC text that sorts, beside the offset that was meant."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from woodref.errors import echo
from woodref.provenance.faults import BadTime

_FORM = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[Tt]([0-9]{2}:[0-9]{2}:[0-9]{2})(\.[0-9]{1,6})?([Zz]|[+-][0-9]{2}:[0-9]{2})?"
)

_OFFSET = re.compile(r"Z|[+-](0[0-9]|1[0-4]):[0-5][0-9]")


@dataclass(frozen=True, order=True)
class Moment:
    """utc: '2025-09-02T07:15:00Z' (with six decimals where a fraction was given); offset: '+02:00' or 'Z'."""

    utc: str
    offset: str = "Z"

    @property
    def local(self) -> str:
        """As it was meant: '2025-09-02T09:15:00+02:00'."""
        if self.offset == "Z":
            return self.utc
        sign = 1 if self.offset[0] == "+" else -1
        shift = dt.timedelta(hours=int(self.offset[1:3]), minutes=int(self.offset[4:6])) * sign
        there = dt.datetime.fromisoformat(self.utc.removesuffix("Z")) + shift
        return f"{there.isoformat()}{self.offset}"

    def meant(self, offset: object, where: str | None = None) -> Moment:
        """The same moment with the offset it was meant in; BadTime for what is no offset."""
        if not isinstance(offset, str) or not _OFFSET.fullmatch(offset):
            raise BadTime(f"{echo(str(offset))} is no offset", where=where, expected="Z or such as +02:00")
        return Moment(self.utc, offset)

    @property
    def day(self) -> dt.date:
        """The day where it happened."""
        return dt.date.fromisoformat(self.local[:10])


def later(one: Moment, other: Moment) -> dt.timedelta:
    """How long after the other the one is; below zero when it was before."""
    return dt.datetime.fromisoformat(one.utc) - dt.datetime.fromisoformat(other.utc)


def moment(text: object, where: str | None = None) -> Moment:
    """Read YYYY-MM-DDThh:mm:ss with Z or +hh:mm; BadTime says what is missing."""
    expected = "a date and time with offset, such as 2025-10-06T08:20:00+02:00"
    if not isinstance(text, str) or not (match := _FORM.fullmatch(text.strip())):
        raise BadTime(f"{echo(str(text))} is no time", where=where, expected=expected)
    date, clock, fraction, offset = match.groups()
    if offset is None:
        raise BadTime(f"{echo(text)}: offset missing", where=where, expected=expected)
    zone = "Z" if offset in "Zz" or offset == "+00:00" else offset
    try:
        there = dt.datetime.fromisoformat(
            f"{date}T{clock}{fraction or ''}{'+00:00' if zone == 'Z' else zone}"
        )
        utc = there.astimezone(dt.UTC)
    except (ValueError, OverflowError):
        raise BadTime(f"{echo(text)}: no such date or time", where=where, expected=expected) from None
    if abs(there.utcoffset() or dt.timedelta()) > dt.timedelta(hours=14):
        raise BadTime(f"{echo(text)}: no place has that offset", where=where, expected="up to 14:00")
    kind = "microseconds" if utc.microsecond else "seconds"
    return Moment(utc.replace(tzinfo=None).isoformat(timespec=kind) + "Z", zone)


def now() -> Moment:
    """This moment, in UTC."""
    return moment(dt.datetime.now(dt.UTC).replace(microsecond=0).isoformat())
