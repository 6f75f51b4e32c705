"""Items of a book: put together, closed and shipped by command, and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.book import Item
from woodref.provenance.joining import Find
from woodref.provenance.receiving import named_by_content
from woodref.provenance.store import Store
from woodref.provenance.trace import Root, whence
from woodref.provenance.working import Done, amount_of, keeps, pairs

_ITEMS = """SELECT i.id, i.state, i.made_by, i.closed_by, i.label, i.serial, l.made FROM item i
JOIN lot l ON l.id = i.id ORDER BY l.made, i.id"""


def make(
    find: Find, item: str, parts: Sequence[str], finish: Sequence[str] = (), serial: str | None = None,
    close: bool = False, time: str | None = None, note: str | None = None,
) -> Done:  # fmt: skip
    """Parts put together to an item. parts, finish: LOT=AMOUNT; close: finished with it, so that only a
    correction or a repair changes it."""
    used: dict[str, int] = {}
    shares = []
    said = pairs(parts, "--part", 'LOT=AMOUNT, such as "SEAT-1=1 sheet of 480 x 340 mm"')
    more = pairs(finish, "--finish", "LOT=AMOUNT, such as OIL-1=60 g")
    if twice := said.keys() & more.keys():
        raise BadRequest(f"{', '.join(sorted(twice))} is told as part and as finish", where="--finish")
    for lot, amount in (said | more).items():
        held = find(lot)
        used[lot] = amount_of(amount, held).qty
        shares.append({"lot": lot, "qty": used[lot], "unit": held.lot.unit})
    told: dict[str, Any] = {"in": shares, "out": [{"lot": item, "qty": 1, "unit": "pcs"}]}
    if serial:
        told["serial"] = serial
    event = named_by_content("assemble-close" if close else "assemble", item, told, time, note)
    left = [keeps(find(lot), qty) for lot, qty in used.items()]
    return Done(event, [f"Put together {item}{' and closed it' if close else ''}.", *left])


def close(
    item: str, label: str | None = None, time: str | None = None, note: str | None = None,
    claim: str | None = None,
) -> Done:  # fmt: skip
    """An item is finished. claim: 'all-proven', which whoever records it has to weigh (`Store.record`)."""
    told = {"item": item} | ({"label": label} if label else {}) | ({"claim": claim} if claim else {})
    says = [f"Closed {item}: from now on only a correction or a repair changes it."]
    if claim:
        says.append("The book carries the claim that all its wood is proven, by the shop's own rules.")
    return Done(named_by_content("close", item, told, time, note), says)


def ship(item: str, time: str | None = None, note: str | None = None) -> Done:
    """A closed item leaves the shop."""
    told = {"in": [{"lot": item, "qty": 1, "unit": "pcs"}]}
    says = [
        f"Shipped {item}.",
        f"Which papers its journey wants is not checked here: `woodref whence {item}` names its woods, and "
        "`woodref trade` the papers of each.",
    ]
    return Done(named_by_content("ship", item, told, time, note), says)


@dataclass(frozen=True)
class Items:
    """Every item with the day it was made."""

    rows: Sequence[tuple[Item, str]]

    def table(self) -> tuple[list[str], list[list[str]]]:
        head = ["item", "state", "made", "serial"]
        return head, [[i.id, i.state, made[:10], i.serial or "-"] for i, made in self.rows]

    def sentences(self) -> list[str]:
        return [] if self.rows else ["No item has been made yet."]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `item list`."""
        return {
            "query": {}, "count": len(self.rows), "notices": [],
            "rows": [
                {"item": i.id, "state": i.state, "made": made, "serial": i.serial} for i, made in self.rows
            ],
        }  # fmt: skip


def all_items(store: Store) -> Items:
    """In the order they were made."""
    return Items([(Item(*row[:6]), str(row[6])) for row in store.rows(_ITEMS)])


@dataclass(frozen=True)
class OneItem:
    """An item and the received lots in it."""

    item: Item
    made: str
    roots: Sequence[Root]

    def sentences(self) -> list[str]:
        """Its state and its woods, by mass where densities are known."""
        item = self.item
        number = f", serial {item.serial}" if item.serial else ""
        out = [f"{item.id}{number}: {item.state}, put together on {self.made[:10]} ({item.made_by})."]
        if item.label:
            out.append(f"Its label says: {item.label}.")
        woods = [r for r in self.roots if r.held.lot.wooden]
        if woods:
            out.append("Wood in it: " + "; ".join(_wood(r) for r in woods) + ".")
        used = [r.held.lot for r in self.roots if r.used]
        if used:
            out.append(
                "Used on it: "
                + "; ".join(f"{lot.id} ({lot.told.get('trade') or lot.form})" for lot in used)
                + "."
            )
        bare = [r.held.lot.id for r in woods if not r.held.lot.countries]
        if bare:
            out.append(f"Where it grew is not known of {', '.join(bare)}.")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `item show`."""
        item = self.item
        return {
            "query": {"item": item.id}, "item": item.id, "state": item.state, "serial": item.serial,
            "label": item.label, "made": self.made, "made_by": item.made_by, "closed_by": item.closed_by,
            "lots": [r.held.lot.id for r in self.roots], "sentences": self.sentences(), "notices": [],
        }  # fmt: skip


def _wood(root: Root) -> str:
    lot = root.held.lot
    mass = root.wood_ng
    weight = "" if mass is None else f", {float(mass) / 1e9:,.0f} g"
    return f"{lot.id}, {lot.wood}{weight}"


def one_item(store: Store, item_id: str) -> OneItem:
    """UnknownLot when there is none of that id; BadRequest when it is a lot and no item."""
    book = store.book()
    held = book.lot(item_id, "item show")
    if held.lot.form != "item":
        raise BadRequest(f"{item_id} is a lot, no item", next=f"woodref stock show {item_id}")
    return OneItem(book.item(item_id, "item show"), held.made, whence(store, item_id))
