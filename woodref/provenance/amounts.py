"""Amounts as people say them -> whole units of the book. Nothing is rounded and nothing is guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from woodref.errors import BadQuantity, echo
from woodref.provenance.canonical import LARGEST
from woodref.provenance.faults import BadAmount, NotWhole, NoUnit, OutOfRange
from woodref.units import UNITS, convert, number, unit_named

#: unit as written -> (unit of the book, how many of those it is)
_TO_BOOK = {
    "mm2": ("mm2", Decimal(1)), "cm2": ("mm2", Decimal(100)), "m2": ("mm2", Decimal(1_000_000)),
    "sq ft": ("mm2", Decimal("92903.04")), "ft2": ("mm2", Decimal("92903.04")),
    "nL": ("nL", Decimal(1)), "mm3": ("nL", Decimal(1000)), "cm3": ("nL", Decimal(1_000_000)),
    "l": ("nL", Decimal(1_000_000_000)), "m3": ("nL", Decimal(1_000_000_000_000)),
    "mg": ("mg", Decimal(1)), "g": ("mg", Decimal(1000)), "kg": ("mg", Decimal(1_000_000)),
    "lb": ("mg", Decimal("453592.37")), "pcs": ("pcs", Decimal(1)), "": ("pcs", Decimal(1)),
}  # fmt: skip
_SPELT = {
    "mm²": "mm2",
    "cm²": "cm2",
    "m²": "m2",
    "m³": "m3",
    "pieces": "pcs",
    "piece": "pcs",
    "litres": "l",
    "L": "l",
}
#: '12 leaves of 1800 x 200 mm, 0.6 mm'
_LEAVES = re.compile(
    r"(?P<count>[0-9]{1,30})\s*(?:leaf|leaves|sheets?|strips?|boards?)\s+(?:of\s+)?"
    r"(?P<length>[0-9.,]+)\s*(?P<one>[a-z]*)\s*[x×]\s*(?P<width>[0-9.,]+)\s*(?P<two>[a-z]+)?"
    r"(?:\s*[,x×]\s*(?P<thick>[0-9.,]+)\s*(?P<unit>[a-z/0-9 ]*))?",
    re.IGNORECASE,
)
_AMOUNT = re.compile(r"(?P<number>[+-]?[0-9][0-9.,]*)\s*(?P<unit>.*)")


@dataclass(frozen=True)
class Amount:
    """A whole number of a unit of the book; leaves, size [mm] and thickness [um] where they were said."""

    qty: int
    unit: str
    said: str
    leaves: int | None = None
    leaf_mm: tuple[int, int] | None = None
    thickness_um: int | None = None

    @property
    def sheets(self) -> dict[str, Any]:
        """Number and size of the leaves as facts of a lot; empty where they were not said."""
        return {"leaves": self.leaves, "leaf_mm": list(self.leaf_mm)} if self.leaf_mm else {}

    def echo(self) -> str:
        """'12 leaves of 1800 x 200 mm, 0.6 mm (4,320,000 mm2)'."""
        return f"{self.said} ({self.qty:,} {self.unit})"


def amount(text: str) -> Amount:
    """'12 leaves of 1800 x 200 mm, 0.6 mm', '1.5 m2', '300 g', '1' -> an amount. BadAmount, NoUnit,
    NotWhole or OutOfRange say what is wrong."""
    tidy = " ".join(text.split())
    leaves = _LEAVES.fullmatch(tidy)
    if leaves:
        return _leaves(tidy, leaves)
    match = _AMOUNT.fullmatch(tidy)
    if not match:
        raise BadAmount(
            f"{echo(text)} is no amount", expected="such as 1.5 m2, 300 g or 12 leaves of 1800 x 200 mm"
        )
    unit = _SPELT.get(match["unit"].strip(), match["unit"].strip())
    if unit not in _TO_BOOK:
        raise NoUnit(
            f"{echo(text)}: {echo(unit)} is not a unit here", expected=", ".join(u for u in _TO_BOOK if u)
        )
    book, factor = _TO_BOOK[unit]
    return Amount(_whole(_number(match["number"], text) * factor, book, text), book, tidy)


def _number(text: str, whole_text: str) -> Decimal:
    if "," in text:
        raise BadAmount(
            f"{echo(whole_text)}: a comma can be read in two ways", expected="write 1.5; nothing is guessed"
        )
    try:
        return number(text)
    except BadQuantity as fault:
        raise BadAmount(f"{echo(whole_text)}: {fault.message}", expected=fault.expected) from None


def _whole(value: Decimal, unit: str, text: str) -> int:
    if value != value.to_integral_value():
        raise NotWhole(
            f"{echo(text)} is not a whole number of {unit} ({value.normalize()})", expected=f"whole {unit}"
        )
    if value <= 0:
        raise BadAmount(f"{echo(text)} must be above zero")
    if value > LARGEST:
        raise OutOfRange(
            f"{echo(text)} is too large", expected=f"the largest allowed value is {LARGEST:,} {unit}"
        )
    return int(value)


def _leaves(text: str, match: re.Match[str]) -> Amount:
    unit = match["two"] or match["one"]
    if not unit:
        raise NoUnit(f"{echo(text)}: the unit of the size is missing", expected="such as 1800 x 200 mm")
    sizes = [length(f"{match[key]} {unit}", 1) for key in ("length", "width")]
    count = int(match["count"])
    thick = None if match["thick"] is None else thickness(f"{match['thick']} {match['unit']}".strip())
    area = Decimal(count) * sizes[0] * sizes[1]
    return Amount(_whole(area, "mm2", text), "mm2", text, count, (sizes[0], sizes[1]), thick)


def length(text: str, per_mm: int) -> int:
    """A length in 1/per_mm of a millimetre, whole."""
    match = _AMOUNT.fullmatch(" ".join(text.split()))
    if not match:
        raise BadAmount(f"{echo(text)} is no length", expected="such as 0.6 mm")
    if not match["unit"].strip():
        raise NoUnit(f"{echo(text)}: unit missing", expected="mm or um, such as 0.6 mm")
    unit = "um" if match["unit"].strip() in ("um", "µm") else None
    value = _number(match["number"], text)
    if unit is None:
        try:
            named = unit_named(match["unit"])
        except BadQuantity as fault:
            raise NoUnit(f"{echo(text)}: {fault.message}", expected="mm, cm, m, in or um") from None
        if UNITS[named][0] != "length":
            raise NoUnit(f"{echo(text)} is no length", expected="mm, cm, m, in or um")
        value = convert(value, named, "mm") * 1000
    return _whole(value * per_mm / 1000, "um" if per_mm == 1000 else "mm", text)


def thickness(text: str) -> int:
    """A thickness in um: '0.6 mm' -> 600. NoUnit when the unit is missing."""
    return length(text, 1000)


#: unit of the book -> (unit people say, how many of the book's it is)
_SAID = {
    "mm2": ("m2", Decimal(1_000_000)),
    "nL": ("l", Decimal(1_000_000_000)),
    "mg": ("kg", Decimal(1_000_000)),
}


def ended(text: str) -> str:
    """A sentence with its full stop, where what a person typed may have one already."""
    return text if text.endswith((".", "?", "!")) else f"{text}."


def plainly(qty: int, unit: str) -> str:
    """'3.6 m2', '9.08 kg', '1 piece': to a thousandth of the unit people say, which is for reading and
    never for reckoning; what is less than that stays in the unit of the book."""
    if unit == "pcs":
        return f"{qty:,} piece" + ("" if qty == 1 else "s")
    named, size = _SAID[unit]
    if 0 < qty < size / 1000:
        return f"{qty:,} {unit}"
    value = (Decimal(qty) / size).quantize(Decimal("0.001"))
    return f"{value:,f}".rstrip("0").rstrip(".") + f" {named}"
