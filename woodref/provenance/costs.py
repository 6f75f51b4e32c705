"""What the veneer and the glue of a layup cost, by the prices of lots: for each ply what is bought on top of
what stays in the parts, for each glue what is spread. Wood and glue alone: no labour, finish or machine.

Money is told in words alone (`sentences`, `table`); `as_dict` holds areas, yields and grams, and no price.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from woodref.catalogue.reader import Notice
from woodref.layup.asked import Layup
from woodref.layup.saying import plies_called, plural
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.prices import Paid, Purse, money

#: square millimetres in a square metre
M2 = 1_000_000
IN_WORDS = Notice("prices-in-words", "Prices are for the shop alone: they are told in words, never in JSON.")


@dataclass(frozen=True)
class Bought:
    """Plies that are cut alike out of one lot. net: area that stays in the parts of the job; blank: of the
    blanks with their trim; bought [mm2]; basis: file-waste, whole-leaves, own-yield or usual-waste; told: the
    same in words; lot None: none is named or serves, and wanting says why."""

    plies: tuple[int, ...]
    name: str
    kind: str
    net: int
    blank: int
    bought: int
    basis: str
    told: str
    held: Held | None
    paid: Paid | None
    wanting: str | None

    @property
    def yield_(self) -> Fraction:
        """Net area over bought area."""
        return Fraction(self.net, self.bought) if self.bought else Fraction(0)

    @property
    def cost(self) -> Fraction | None:
        return None if self.paid is None else self.paid.of(self.bought)

    @property
    def percent(self) -> str:
        """The yield as '71 %'."""
        return f"{float(100 * self.yield_):.0f} %"

    @property
    def called(self) -> str:
        return f"{plies_called(self.plies)}, {self.name}"

    def sentence(self, prices: bool) -> str:
        """prices: whether money is told."""
        of = f", out of {self.held.lot.id}" if self.held else ""
        price = ""
        if prices and self.paid:
            whole = f"{money(self.paid.price, self.paid.currency)} for {plainly(self.paid.qty, 'mm2')}"
            price = f" ({whole}, {money(self.paid.of(M2), self.paid.currency)} a square metre)"
        return (
            f"{self.called}{of}{price}: {plainly(self.net, 'mm2')} net, {plainly(self.bought, 'mm2')} "
            f"bought, a yield of {self.percent}: {self.told}."
        )

    def as_dict(self) -> dict[str, Any]:
        return {
            "plies": list(self.plies), "wood": self.name, "lot": self.held.lot.id if self.held else None,
            "kind": self.kind, "net_area_mm2": self.net, "blank_area_mm2": self.blank,
            "bought_area_mm2": self.bought, "yield": round(float(self.yield_), 4), "basis": self.basis,
            "priced": self.paid is not None,
        }  # fmt: skip


@dataclass(frozen=True)
class Glued:
    """Lines of one glue and spread out of one lot. area: of one line in one part [mm2]; mass: for the job
    [mg]; qty: the same in the lot's unit; told: where the spread is from."""

    lines: tuple[int, ...]
    name: str
    adhesive: str
    spread: Fraction
    told: str
    source: str | None
    area: int
    mass: int
    parts: int
    held: Held | None
    paid: Paid | None
    qty: int | None
    wanting: str | None

    @property
    def cost(self) -> Fraction | None:
        return None if self.paid is None or self.qty is None else self.paid.of(self.qty)

    def sentence(self, prices: bool) -> str:
        of = f", out of {self.held.lot.id}" if self.held else ""
        price = ""
        if prices and self.paid:
            paid = self.paid
            price = f" ({money(paid.price, paid.currency)} for {plainly(paid.qty, paid.unit)})"
        area, lines, parts = (
            plainly(self.area, "mm2"),
            plural(len(self.lines), "line"),
            plural(self.parts, "part"),
        )
        name, spread = f"{self.name[0].upper()}{self.name[1:]}", f"{float(self.spread):g} g/m2 ({self.told})"
        return (
            f"{name}{of}{price}: {spread} x {area} x {lines} x {parts} is {plainly(self.mass, 'mg')}, "
            "nothing for the pot."
        )

    def as_dict(self) -> dict[str, Any]:
        return {
            "lines": list(self.lines), "adhesive": self.adhesive,
            "lot": self.held.lot.id if self.held else None,
            "spread_g_m2": float(self.spread), "spread_is": self.told, "source": self.source,
            "area_mm2": self.area, "mass_mg": self.mass, "priced": self.cost is not None,
        }  # fmt: skip


@dataclass(frozen=True)
class Costs:
    """veneer, glue: what the job takes; glue_left_out: why there is none."""

    layup: Layup
    parts: int
    veneer: tuple[Bought, ...]
    glue: tuple[Glued, ...]
    glue_left_out: str | None
    notices: tuple[Notice, ...]
    stamp: Mapping[str, str]

    def headline(self) -> str:
        return f"{self.layup.title}, {plural(self.parts, 'part')}: what its veneer and its glue cost."

    def _purse(self, rows: Sequence[Bought] | Sequence[Glued]) -> Purse:
        out = Purse()
        for row in rows:
            if row.cost is not None and row.paid is not None:
                out.put(row.cost, row.paid.currency)
        return out

    def wanting(self) -> list[str]:
        """Why the sum is not whole."""
        each = [*(row.wanting for row in self.veneer), *(row.wanting for row in self.glue)]
        return [
            *dict.fromkeys(why for why in each if why),
            *([self.glue_left_out] if self.glue_left_out else []),
        ]

    def table(self) -> tuple[list[str], list[list[str]]]:
        """A row for plies alike and for each glue, with what they cost."""
        head = ["what", "lot", "net", "bought", "yield", "a part", "the job"]
        rows = [
            [
                row.called, row.held.lot.id if row.held else "-", plainly(row.net, "mm2"),
                plainly(row.bought, "mm2"), row.percent, *self._cost(row),
            ]
            for row in self.veneer
        ]  # fmt: skip
        for glue in self.glue:
            lot = glue.held.lot.id if glue.held else "-"
            rows.append([glue.name, lot, "-", plainly(glue.mass, "mg"), "-", *self._cost(glue)])
        return head, rows

    def _cost(self, row: Bought | Glued) -> tuple[str, str]:
        if row.cost is None or row.paid is None:
            return "not known", "not known"
        return money(row.cost / self.parts, row.paid.currency), money(row.cost, row.paid.currency)

    def sentences(self, prices: bool = True) -> list[str]:
        """How each is reckoned, then the sums. prices: whether money is told; without it these may go into
        JSON."""
        out = [row.sentence(prices) for row in self.veneer]
        out += [pot.sentence(prices) for pot in self.glue]
        missing = self.wanting()
        if missing:
            out.append(f"{'The sum' if prices else 'This'} is incomplete: {'; '.join(missing)}.")
        return [*out, *(self._sums() if prices else [])]

    def _sums(self) -> list[str]:
        veneer, glue = self._purse(self.veneer), self._purse(self.glue)
        both = veneer.with_([glue])
        if not both.held:
            return []
        out = []
        for name, purse in (("Veneer", veneer), ("Glue", glue), ("Both", both)):
            if purse.held:
                job = f", {purse.said()} for the job" if self.parts > 1 else ""
                out.append(f"{name}: {purse.said(self.parts)} a part{job}.")
        if len(both.held) > 1:
            out.append("Currencies are told side by side: nothing is converted.")
        out.append(
            "That is wood and glue alone, each sum rounded by itself: no labour, no finish, no machine."
        )
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `stock cost`: no price is in it."""
        return {
            "query": {"file": self.layup.file, "title": self.layup.title, "parts": self.parts},
            "count": len(self.veneer),
            "rows": [row.as_dict() for row in self.veneer],
            "glue": [row.as_dict() for row in self.glue],
            "complete": not self.wanting(),
            "sentences": self.sentences(prices=False),
            "notices": [n.as_dict() for n in (*self.notices, IN_WORDS)],
            "catalogue": dict(self.stamp),
        }
