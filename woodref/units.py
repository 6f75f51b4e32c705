"""Quantities with units, ranges, dates: the one place where text becomes a number.

A quantity is NUMBER[ ]UNIT. Numbers are Decimal, so that 0.1 stays 0.1 until a formula needs a
float. The unit table is closed; factors are exact by definition (inch 25.4 mm, pound 0.45359237 kg,
standard gravity 9.80665 m/s2: NIST SP 811, appendix B).
"""

from __future__ import annotations

import calendar
import datetime as dt
import os
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from woodref.errors import BadQuantity, echo

_LB = Decimal("0.45359237")  # kg
_IN = Decimal("25.4")  # mm
_G = Decimal("9.80665")  # m/s2
_LBF = _LB * _G  # N
_PSI = _LBF / (_IN * _IN)  # N/mm2 = MPa

#: unit -> (kind, factor to the first unit of its kind)
UNITS: dict[str, tuple[str, Decimal]] = {
    "kg/m3": ("density", Decimal(1)),
    "g/cm3": ("density", Decimal(1000)),
    "lb/ft3": ("density", _LB / (_IN * 12 / 1000) ** 3),
    "MPa": ("stress", Decimal(1)),
    "N/mm2": ("stress", Decimal(1)),
    "kPa": ("stress", Decimal("0.001")),
    "GPa": ("stress", Decimal(1000)),
    "psi": ("stress", _PSI),
    "10^3 psi": ("stress", _PSI * 1000),
    "10^6 psi": ("stress", _PSI * 1000000),
    "mm": ("length", Decimal(1)),
    "cm": ("length", Decimal(10)),
    "m": ("length", Decimal(1000)),
    "in": ("length", _IN),
    "1/42 in": ("length", _IN / 42),
    "ft": ("length", _IN * 12),
    "N": ("force", Decimal(1)),
    "kN": ("force", Decimal(1000)),
    "lbf": ("force", _LBF),
    "kJ/m3": ("work", Decimal(1)),
    "in-lbf/in3": ("work", _PSI * 1000),
    "%": ("percent", Decimal(1)),
    "% per %": ("movement", Decimal(1)),
    "1": ("number", Decimal(1)),
    "g": ("mass", Decimal(1)),
    "kg": ("mass", Decimal(1000)),
    "lb": ("mass", _LB * 1000),
    "g/m2": ("areal", Decimal(1)),
    "kg/m2": ("areal", Decimal(1000)),
}

#: other spellings people write, folded to the table's own
_SPELLINGS = {
    "kg/m³": "kg/m3",
    "g/cm³": "g/cm3",
    "g/cc": "g/cm3",
    "lb/ft³": "lb/ft3",
    "pcf": "lb/ft3",
    "N/mm²": "N/mm2",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "percent": "%",
    "pct": "%",
    "Mpsi": "10^6 psi",
    "ksi": "10^3 psi",
}

#: powers of ten beyond which a number is a slip or a trap
LARGEST = 30

#: signs that a number is written in, and digits that count in it, at most: beyond them a conversion would
#: round, or the reader be kept busy
LONGEST, DIGITS = 60, 20

#: plain digits alone: no underscores, no digits of other scripts, which Decimal would take
_NUMBER = re.compile(r"[+-]?(?:[0-9][0-9.,]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_MINUS = str.maketrans("−", "-")


@dataclass(frozen=True)
class Quantity:
    """A number with its unit, as typed or as converted."""

    value: Decimal
    unit: str

    def to(self, unit: str) -> Quantity:
        """The same quantity in another unit of its kind; BadQuantity when the kinds differ."""
        return Quantity(convert(self.value, self.unit, unit), unit)


@dataclass(frozen=True)
class Range:
    """LOW..HIGH, either end open (None); both in one unit."""

    low: float | None
    high: float | None
    unit: str

    def holds(self, value: float) -> bool:
        """Whether the value lies inside, ends included."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)

    def __str__(self) -> str:
        def end(number: float | None) -> str:
            return "" if number is None else f"{number:g}"

        return f"{end(self.low)}..{end(self.high)} {self.unit}"


def unit_named(text: str) -> str:
    """The table's spelling of a unit; BadQuantity names the accepted ones."""
    tidy = " ".join(text.split())
    tidy = _SPELLINGS.get(tidy, tidy)
    if tidy in UNITS:
        return tidy
    raise BadQuantity(f"{echo(text)} is not a unit I know", expected=f"one of {', '.join(UNITS)}")


def units_of(kind_of: str) -> list[str]:
    """Every unit of the same kind as the given one."""
    kind = UNITS[unit_named(kind_of)][0]
    return [name for name, (its, _) in UNITS.items() if its == kind]


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """value in unit -> value in to; BadQuantity when they measure different things."""
    kind_from, factor_from = UNITS[unit_named(unit)]
    kind_to, factor_to = UNITS[unit_named(to)]
    if kind_from != kind_to:
        raise BadQuantity(
            f"{value} {unit} cannot be given in {to}: one is {kind_from}, the other {kind_to}",
            expected=f"a unit of {kind_to}: {', '.join(units_of(to))}",
        )
    return value * factor_from / factor_to


def number(text: str) -> Decimal:
    """Read one number. A comma is a decimal comma unless three digits follow it alone."""
    tidy = text.strip().replace(" ", "").translate(_MINUS)
    if len(tidy) > LONGEST:
        raise BadQuantity(f"{echo(text)} is no number that wood needs", expected="a number such as 0.6")
    if "," in tidy:
        if "." in tidy or tidy.count(",") > 1 or re.search(r",\d{3}$", tidy):
            raise BadQuantity(
                f"{echo(text)} can be read in two ways",
                expected="a decimal point and no thousands mark, such as 1500 or 1.5",
            )
        tidy = tidy.replace(",", ".")
    if re.match(r"[+-]?0[0-9]", tidy):
        raise BadQuantity(f"{echo(text)} begins with a zero", expected="a plain number such as 12")
    try:
        plain = _NUMBER.fullmatch(tidy) or tidy.lstrip("+-").lower() in ("nan", "inf", "infinity")
        value = Decimal(tidy if plain else "")
    except InvalidOperation:
        raise BadQuantity(f"{echo(text)} is not a number", expected="a number such as 0.6") from None
    digits = value.as_tuple().digits
    if not value.is_finite() or len(digits) > DIGITS or (value and abs(value.adjusted()) > LARGEST):
        raise BadQuantity(f"{echo(text)} is no number that wood needs", expected="a number such as 0.6")
    return value


def quantity(text: str, bare_unit: str | None = None) -> Quantity:
    """Read NUMBER[ ]UNIT. A bare number takes bare_unit; without one a unit is demanded."""
    tidy = text.strip().translate(_MINUS)
    match = _NUMBER.match(tidy)
    if not match:
        raise BadQuantity(
            f"{echo(text)} does not begin with a number",
            expected=f"a quantity such as 12 {bare_unit or 'mm'}",
        )
    rest = tidy[match.end() :].strip()
    if not rest and bare_unit is None:
        raise BadQuantity(f"{echo(text)} has no unit", expected=f"a unit such as {echo(text)[1:-1]} mm")
    return Quantity(number(match.group()), unit_named(rest) if rest else str(bare_unit))


def celsius(text: str) -> float:
    """Read a temperature in degrees Celsius: '20 C', '20', '68 F'; BadQuantity otherwise."""
    tidy = text.replace("°", "").strip()
    if tidy[-1:] == "F":
        return (float(number(tidy[:-1])) - 32) / 1.8
    return float(number(tidy[:-1] if tidy[-1:] == "C" else tidy))


def span(text: str, unit: str) -> Range:
    """Read LOW..HIGH, LOW.. or ..HIGH into the given unit; a unit after an end is converted."""
    text = text.translate(_MINUS)
    if text.count("..") != 1 or "..." in text:
        raise BadQuantity(
            f"{echo(text)} is not a range",
            expected=f"LOW..HIGH, LOW.. or ..HIGH in {unit}, such as 450..600",
        )
    left, right = (part.strip() for part in text.split(".."))
    if not left and not right:
        raise BadQuantity(
            f"{echo(text)} has no end", expected=f"at least one end, such as 450.. or 450..600 in {unit}"
        )
    # "450..600 lb/ft3": the unit after the last number counts for both ends
    tail = _NUMBER.match(right)
    shared = right[tail.end() :].strip() if tail else ""
    if left and shared and _NUMBER.fullmatch(left):
        left = f"{left} {shared}"
    low = float(quantity(left, unit).to(unit).value) if left else None
    high = float(quantity(right, unit).to(unit).value) if right else None
    if low is not None and high is not None and low > high:
        raise BadQuantity(
            f"{echo(text)} runs backwards", expected=f"the smaller end first: {high:g}..{low:g}"
        )
    return Range(low, high, unit)


def today() -> dt.date:
    """The only clock for verdicts; WOODREF_TODAY=YYYY-MM-DD pins it."""
    pinned = os.environ.get("WOODREF_TODAY")
    return date(pinned, "WOODREF_TODAY") if pinned else dt.date.today()


def day_or_year(text: str, where: str | None = None) -> dt.date:
    """Read YYYY-MM-DD, or a year or month alone, which stands for its last day (the stricter
    reading of when wood was taken)."""
    tidy = text.strip()
    if re.fullmatch(r"\d{4}", tidy):
        return date(f"{tidy}-12-31", where)
    month = re.fullmatch(r"(\d{4})-(0[1-9]|1[0-2])", tidy)
    if month:
        first = date(f"{tidy}-01", where)
        return first.replace(day=calendar.monthrange(first.year, first.month)[1])
    return date(tidy, where)


def date(text: str, where: str | None = None) -> dt.date:
    """Read YYYY-MM-DD, and no other of the forms ISO 8601 knows."""
    try:
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            raise ValueError
        return dt.date.fromisoformat(text)
    except ValueError:
        raise BadQuantity(
            f"{echo(text)} is not a date", where=where, expected="YYYY-MM-DD, such as 2026-03-05"
        ) from None
