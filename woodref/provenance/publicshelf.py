"""The shelf as the maker's own phone shows it: a row for each lot on hand, in the public copy when asked for.

Each value is named here. No price, supplier, paper, note or person is among them; but where a lot lies and
how much of it is left is nobody's business, so a copy that holds this table is not for giving away.
"""

from __future__ import annotations

from typing import Any

from woodref.provenance.latest import NOTHING, noted, shelf_of
from woodref.provenance.rows import LOTS, held_from
from woodref.provenance.shelf import free_of, leaf_of, standing
from woodref.provenance.stock import ITEM
from woodref.provenance.store import Store

TABLE = "shelf"
CREATE = (
    "CREATE TABLE shelf (lot TEXT PRIMARY KEY, form TEXT NOT NULL, wood TEXT NOT NULL, words TEXT, cut TEXT, "
    "thickness_um INTEGER, unit TEXT NOT NULL, on_hand INTEGER NOT NULL, free INTEGER NOT NULL, "
    "leaf_length_mm INTEGER, leaf_width_mm INTEGER, leaves INTEGER, leaves_free INTEGER, lies TEXT, "
    "countries TEXT NOT NULL, country_unknown INTEGER NOT NULL, proof TEXT NOT NULL) STRICT"
)


def shelf_rows(store: Store) -> list[tuple[Any, ...]]:
    """Lots with something left, items apart, in the order of the columns. leaves: whole leaves of the lot's
    size that the area on hand is; proof: the weakest of all received lots it was made of."""
    known = noted(store)
    out: list[tuple[Any, ...]] = []
    for held in map(held_from, store.rows(f"{LOTS} WHERE b.qty > 0 ORDER BY l.id")):
        lot = held.lot
        if lot.form == ITEM:
            continue
        leaf, stands = leaf_of(held), standing(store, held)
        area = None if leaf is None else leaf[0] * leaf[1]
        out.append(
            (
                lot.id, lot.form, lot.wood, lot.told.get("trade") or lot.told.get("material"),
                lot.told.get("cut"), lot.thickness_um, lot.unit, held.qty, free_of(held),
                leaf and leaf[0], leaf and leaf[1], area and held.qty // area, area and free_of(held) // area,
                shelf_of(held, known.get(lot.id, NOTHING)), ", ".join(stands.countries),
                int(lot.wooden and stands.unknown), stands.purchase,
            )
        )  # fmt: skip
    return out
