"""Items of a book: put together and shipped by command, and told; `closing` and `repairs` do the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Item, Reservation
from woodref.provenance.closing import last_closing
from woodref.provenance.documents import Paper
from woodref.provenance.joining import Find
from woodref.provenance.kept import Kept, roles_said
from woodref.provenance.partroles import roles_of
from woodref.provenance.receiving import named_by_content
from woodref.provenance.repairs import Step, kept_for, life
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


def ship(item: str, to: str | None = None, time: str | None = None, note: str | None = None) -> Done:
    """A closed item leaves the shop. to: the random id of a party; nothing else of who it is stands in the
    book."""
    told: dict[str, Any] = {"in": [{"lot": item, "qty": 1, "unit": "pcs"}]} | ({"to": to} if to else {})
    says = [
        f"Shipped {item}{f' to party {to}' if to else ''}.",
        f"Which papers its journey wants is not checked here: `woodref item proof {item} --to EU` (or GB, "
        "US, export) tells what the book holds of them and what is wanting.",
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
    """An item, the received lots in it, what it keeps (report: the document of its emission line), which lot
    is what, what is kept back for its repairs with the unit of the lot, and its life."""

    item: Item
    made: str
    roots: Sequence[Root]
    kept: Kept = field(default_factory=Kept)
    report: Paper | None = None
    roles: Mapping[str, Sequence[str]] = field(default_factory=dict)
    reserved: Sequence[tuple[Reservation, str]] = ()
    life: Sequence[Step] = ()

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
        out += self.kept.sentences(self.report)
        if self.roles and not self.kept.roles:
            out.append(f"Which lot is what, as pressed: {roles_said(self.roles)}.")
        for kept, unit in self.reserved:
            out.append(f"Kept back for its repairs: {plainly(kept.qty, unit)} of {kept.lot} ({kept.id}).")
        return [*out, *(step.sentence() for step in self.life[1:])]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `item show`."""
        item = self.item
        return {
            "query": {"item": item.id}, "item": item.id, "state": item.state, "serial": item.serial,
            "label": item.label, "made": self.made, "made_by": item.made_by, "closed_by": item.closed_by,
            "lots": [r.held.lot.id for r in self.roots], "kept": self.kept.as_dict(),
            "roles": {role: list(lots) for role, lots in self.roles.items()},
            "reserved": [
                {"reservation": r.id, "lot": r.lot, "qty": r.qty, "unit": unit} for r, unit in self.reserved
            ],
            "life": [step.as_dict() for step in self.life],
            "sentences": self.sentences(), "notices": [],
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
    item = book.item(item_id, "item show")
    kept = Kept.of(last_closing(store, item_id))
    report = None if kept.report is None else book.paper(kept.report)
    return OneItem(
        item, held.made, whence(store, item_id), kept, report,
        roles_of(store, item_id, kept),
        [(r, book.lot(r.lot, item_id).lot.unit) for r in kept_for(store, item_id)], life(store, item_id),
    )  # fmt: skip
