"""Cells of a list of the user's own as values: numbers, prices, names. Text in, values or BadQuantity out.

Numbers stay Decimal: what is kept of a list is kept as written, converted by exact factors alone.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal

from woodref.errors import BadQuantity, echo
from woodref.units import UNITS, Quantity, quantity, unit_named

#: signs of a cell at the most: a name or a remark has fewer
LONGEST = 2_000
#: what a price may be for
PER = ("m2", "m3", "leaf", "kg")
MARKS = {"point": ".", "comma": ",", "space": " ", "apostrophe": "'"}
#: signs that stand for a currency in a cell, and the codes they may stand for
_SIGNS = {"€": ("EUR",), "£": ("GBP",), "$": ("USD", "CAD", "AUD", "NZD")}
_ENDS = re.compile(r"(?P<low>[0-9][0-9.,' ]*)\s*(?:\.\.|-|–|to)\s*(?P<high>[0-9].*)")


@dataclass(frozen=True)
class Writing:
    """How a list writes its numbers: the decimal mark and the mark between thousands, if any."""

    decimal: str = "."
    thousands: str | None = None


@dataclass(frozen=True)
class Band:
    """A figure as a value, or as a low and a high end, all in one unit."""

    value: Decimal | None
    low: Decimal | None
    high: Decimal | None


def tidy(text: str) -> str:
    """A cell with its white space single and its letters composed; BadQuantity for what no list needs: a
    cell as long as a page, or signs that cannot be seen."""
    if len(text) > LONGEST:
        raise BadQuantity(f"{echo(text, 20)} has {len(text):,} signs", expected=f"at most {LONGEST:,}")
    plain = " ".join(unicodedata.normalize("NFC", text).split())
    if not plain.isprintable():
        wrong = next(sign for sign in plain if not sign.isprintable())
        raise BadQuantity(f"a sign that cannot be seen (U+{ord(wrong):04X}) stands in {echo(plain, 20)}")
    return plain


def plain_number(text: str, how: Writing) -> str:
    """A quantity with a decimal point and no marks between thousands, as `units` reads it."""
    if how.thousands is not None:
        mark = re.escape(how.thousands)
        grouped = re.match(rf"[0-9]{{1,3}}(?:{mark}[0-9]{{3}})+(?![0-9{mark}])", text)
        if grouped:
            text = grouped.group().replace(how.thousands, "") + text[grouped.end() :]
    other = "," if how.decimal == "." else "."
    if re.search(rf"[0-9]{re.escape(other)}[0-9]", text):
        word, told = ("comma", "point") if other == "," else ("point", "comma")
        raise BadQuantity(
            f"{echo(text)} has a {word}, and by the map numbers are written with a decimal {told}",
            expected=f"decimal: {word}, or thousands: {word}, in the map if the list is so",
        )
    return text.replace(",", ".") if how.decimal == "," else text


def _in(text: str, how: Writing, unit: str) -> Quantity:
    found = quantity(plain_number(text, how), unit)
    if UNITS[found.unit][0] != UNITS[unit][0]:
        raise BadQuantity(f"{echo(text)} is no {UNITS[unit][0]}", expected=f"a number, or one in {unit}")
    return found


def band(text: str, how: Writing, unit: str, to: str) -> Band:
    """'620', '0,62', '600-650' or '620 kg/m3' in the column's unit -> the same in `to`. A unit in the cell
    goes before that of the column."""
    ends = _ENDS.fullmatch(text)
    if ends is None:
        return Band(_in(text, how, unit).to(to).value, None, None)
    last = _in(ends["high"], how, unit)
    low, high = _in(ends["low"].strip(), how, last.unit).to(to).value, last.to(to).value
    if low > high:
        raise BadQuantity(f"{echo(text)} runs backwards", expected="the smaller end first")
    return Band(None, low, high)


def length(text: str, how: Writing, unit: str) -> Decimal:
    """A thickness in mm, above 0 and at most 300."""
    found = _in(text, how, unit).to("mm").value
    if not 0 < found <= 300:
        raise BadQuantity(f"{echo(text)} is no thickness", expected="above 0, up to 300 mm")
    return found


def price(text: str, how: Writing, currency: str) -> Decimal:
    """A price; the currency's code or sign may stand beside the number and must then be the column's."""
    bare = text
    for sign, codes in (*_SIGNS.items(), (currency, (currency,))):
        if bare.startswith(sign) or bare.endswith(sign):
            if currency not in codes:
                raise BadQuantity(f"{echo(text)} is not in {currency}, which the map names")
            bare = bare.removeprefix(sign).removesuffix(sign).strip()
    plain = plain_number(bare, how)
    if not re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", plain) or len(plain) > 15:
        raise BadQuantity(f"{echo(text)} is no price", expected=f"a number such as 14{how.decimal}20")
    found = Decimal(plain)
    if not found:
        raise BadQuantity(f"{echo(text)} is no price", expected="more than 0; leave the cell empty")
    return found


def unit_of(text: str, kind: str) -> str:
    """A unit of the kind wanted; BadQuantity otherwise."""
    unit = unit_named(text)
    if UNITS[unit][0] != kind:
        fitting = ", ".join(name for name, (its, _) in UNITS.items() if its == kind)
        raise BadQuantity(f"{echo(text)} is no unit of {kind}", expected=f"one of {fitting}")
    return unit


def written(value: Decimal) -> str:
    """A Decimal as plain digits, no exponent, no needless zeros behind the point."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
