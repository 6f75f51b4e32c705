"""A trace told: where an item came from and what a lot went into, in sentences and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from woodref.provenance.book import Held
from woodref.provenance.store import Store
from woodref.provenance.trace import Root, ways, went_into, whence


@dataclass(frozen=True)
class Whence:
    """Roots of one unit of a lot, or of an item."""

    asked: Held
    roots: Sequence[Root]
    ways: Sequence[tuple[str, ...]]

    def table(self) -> tuple[list[str], list[list[str]]]:
        """One row a root."""
        head = ["lot", "wood", "words on it", "from", "contained", "mass"]
        return head, [_row(root) for root in self.roots]

    def sentences(self) -> list[str]:
        """What the table does not say."""
        lot = self.asked.lot
        what = "it" if lot.unit == "pcs" else f"one {lot.unit} of it"
        out = [f"{lot.id}, made by {self.asked.by} on {self.asked.made[:10]}: what is in {what}."]
        for root in self.roots:
            if root.used:
                out.append(
                    f"{root.held.lot.id} ({root.held.lot.form}): {_amount(root.gross)} "
                    f"{root.held.lot.unit} used."
                )
        unknown = [r.held.lot.id for r in self.roots if r.held.lot.wooden and not r.held.lot.may_be]
        if unknown:
            out.append(
                f"What wood it is nobody knows of: {', '.join(unknown)}. It is judged as the "
                "strictest it may be."
            )
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `whence`; amounts as exact fractions in text, masses in g."""
        return {
            "query": {"lot": self.asked.lot.id},
            "count": len(self.roots),
            "rows": [
                {
                    "lot": r.held.lot.id,
                    "form": r.held.lot.form,
                    "species": r.held.lot.species,
                    "may_be": list(r.held.lot.may_be),
                    "trade": r.held.lot.trade,
                    "countries": list(r.held.lot.countries),
                    "unit": r.held.lot.unit,
                    "contained": None if r.used else str(r.net),
                    "used": str(r.gross),
                    "mass_g": None if r.used or r.ng is None else round(float(r.ng) / 1e9, 6),
                    "wood_g": None if r.used or r.wood_ng is None else round(float(r.wood_ng) / 1e9, 6),
                }
                for r in self.roots
            ],
            "ways": [list(way) for way in self.ways],
            "notices": [],
        }


def _row(root: Root) -> list[str]:
    lot = root.held.lot
    if root.used:
        return [lot.id, "-", lot.trade if lot.told.get("trade") else lot.form, "-", "-", "-"]
    mass = "-" if root.ng is None else f"{float(root.ng) / 1e9:,.1f} g"
    return [
        lot.id,
        lot.wood,
        lot.trade,
        ", ".join(lot.countries) or "not known",
        f"{_amount(root.net)} {lot.unit}",
        mass,
    ]


def _amount(value: Fraction) -> str:
    """'880,000' or '66,666.7' for an amount that is no whole number."""
    return f"{value.numerator:,}" if value.denominator == 1 else f"{float(value):,.1f}"


def trace_back(store: Store, lot_id: str) -> Whence:
    """UnknownLot when there is none of that id."""
    roots = whence(store, lot_id)
    return Whence(store.book().lot(lot_id, lot_id), roots, ways(store, lot_id))


@dataclass(frozen=True)
class WentInto:
    """Everything made with some of a lot, and what of it is still on hand."""

    asked: Held
    made: Sequence[Held]

    def table(self) -> tuple[list[str], list[list[str]]]:
        head = ["lot", "what", "made", "on hand"]
        rows = [[h.lot.id, h.lot.form, h.made[:10], f"{h.qty:,} {h.lot.unit}"] for h in self.made]
        return head, rows

    def sentences(self) -> list[str]:
        left = f"{self.asked.qty:,} {self.asked.lot.unit} of {self.asked.lot.id} itself are on hand."
        if not self.made:
            return [f"{self.asked.lot.id} went into nothing yet.", left]
        return [left]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `went-into`."""
        return {
            "query": {"lot": self.asked.lot.id},
            "on_hand": self.asked.qty,
            "unit": self.asked.lot.unit,
            "count": len(self.made),
            "rows": [
                {"lot": h.lot.id, "form": h.lot.form, "made": h.made, "on_hand": h.qty, "unit": h.lot.unit}
                for h in self.made
            ],
            "notices": [],
        }


def trace_forth(store: Store, lot_id: str) -> WentInto:
    """UnknownLot when there is none of that id."""
    return WentInto(store.book().lot(lot_id, lot_id), went_into(store, lot_id))
