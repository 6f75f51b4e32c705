"""Money of lots: exact fractions of what was paid, told to the cent. Currencies stand side by side; nothing
is converted. For the shop alone: no JSON, sheet, copy or page of the explorer tells any of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from woodref.provenance.book import Held
from woodref.provenance.store import Store
from woodref.selection.words import joined

#: what stands in place of a currency that nobody told
NO_CURRENCY = "(no currency told)"


def money(amount: Fraction, currency: str) -> str:
    """'12.35 EUR': to a hundredth, halves up."""
    hundredths = (2 * amount.numerator * 100 + amount.denominator) // (2 * amount.denominator)
    return f"{hundredths // 100:,}.{hundredths % 100:02d} {currency}"


@dataclass(frozen=True)
class Paid:
    """What was paid for a lot as it came: price in its currency for so many units of the book."""

    price: Fraction
    currency: str
    qty: int
    unit: str

    def of(self, qty: int) -> Fraction:
        """The share of the price that falls to so many units."""
        return self.price * qty / self.qty


def paid_for(store: Store, held: Held) -> Paid | None:
    """None when no price is on record, as for every lot that was made of others."""
    lot = held.lot
    if lot.told.get("price") is None:
        return None
    event = store.book().event(held.by, "stock cost")
    came = next((share.qty for share in event.out if share.lot == lot.id), 0)
    if not came:
        return None
    currency = str(lot.told.get("currency") or NO_CURRENCY)
    return Paid(Fraction(str(lot.told["price"])), currency, came, lot.unit)


def made_of_others(store: Store, held: Held) -> bool:
    """Whether a lot was cut, jointed or split from others, and so bought as these."""
    return bool(store.book().event(held.by, "stock cost").in_)


@dataclass
class Purse:
    """A sum in each of its currencies."""

    held: dict[str, Fraction] = field(default_factory=dict)

    def put(self, amount: Fraction, currency: str) -> None:
        self.held[currency] = self.held.get(currency, Fraction(0)) + amount

    def with_(self, others: Iterable[Purse]) -> Purse:
        """All of them together, currency by currency."""
        out = Purse(dict(self.held))
        for other in others:
            for currency, amount in other.held.items():
                out.put(amount, currency)
        return out

    def said(self, parts: int = 1) -> str:
        """'12.35 EUR and 4.00 USD', shared among so many parts; 'nothing' for an empty one."""
        if not self.held:
            return "nothing"
        return joined([money(amount / parts, currency) for currency, amount in sorted(self.held.items())])
