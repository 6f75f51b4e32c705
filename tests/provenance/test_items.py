"""Items by command: put together of whole parts, closed, shipped, and told."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance import closing, items
from woodref.provenance.book import Held
from woodref.provenance.receiving import received
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

WHEN = "2026-01-05T09:00:00+01:00"


@pytest.fixture
def find(store: Store) -> Callable[[str], Held]:
    """A leaf and oil on the shelf."""
    leaf = received(
        "LEAF", "2 leaves of 400 x 300 mm, 0.6 mm", "veneer", time=WHEN, species="Betula pendula"
    )[0]
    oil = received("OIL", "1 kg", "finish", time=WHEN, words="oil and wax")[0]
    store.record([leaf, oil])
    return lambda lot: store.book().lot(lot, "test")


def test_an_item_from_parts_to_the_door(store: Store, find: Callable[[str], Held]) -> None:
    made = items.make(find, "TRAY-1", ["LEAF=1 leaf"], ["OIL=40 g"], serial="001")
    store.record([made.event])
    assert (store.balance("LEAF"), store.balance("OIL"), store.balance("TRAY-1")) == (120_000, 960_000, 1)
    assert "OIL keeps 0.96 kg (960,000 mg)." in made.sentences
    head = store.head()
    with pytest.raises(WoodrefError, match="close it first"):
        store.record([items.ship("TRAY-1").event])
    assert store.head() == head
    store.record([closing.close(store, "TRAY-1", label="birch, country of harvest not known")[0].event])
    store.record([items.ship("TRAY-1").event])
    told = " ".join(items.one_item(store, "TRAY-1").sentences())
    assert "TRAY-1, serial 001: shipped" in told and "LEAF, Betula pendula" in told
    assert "Used on it: OIL (oil and wax)" in told and "Where it grew is not known of LEAF" in told
    assert "Its label says: birch, country of harvest not known." in told
    assert items.all_items(store).table()[1][0][:2] == ["TRAY-1", "shipped"]
    assert check_book(store).sound


def test_closed_as_it_is_made(store: Store, find: Callable[[str], Held]) -> None:
    store.record([items.make(find, "TRAY-2", ["LEAF=2 leaves"], close=True).event])
    assert items.all_items(store).rows[0][0].state == "closed"
    assert items.one_item(store, "TRAY-2").as_dict()["lots"] == ["LEAF"]


def test_masses_of_the_two_stools(full: Store) -> None:
    # the scenario's own figures: 133,333.3 mm2 x 0.6 mm x 850 kg/m3 = 68 g of rosewood from L-C in STOOL-002
    told = " ".join(items.one_item(full, "STOOL-002").sentences())
    assert "L-C, Dalbergia latifolia, 68 g" in told and "Where it grew is not known of L-C" in told
    assert [i.id for i, _ in items.all_items(full).rows] == ["STOOL-001", "STOOL-002"]


def test_what_is_no_item(store: Store, full: Store, find: Callable[[str], Held]) -> None:
    with pytest.raises(WoodrefError, match="is a lot, no item"):
        items.one_item(full, "L-B")
    with pytest.raises(WoodrefError) as told:
        items.one_item(full, "NOPE")
    assert told.value.exit_code == 3
    with pytest.raises(WoodrefError, match="as part and as finish"):
        items.make(find, "X", ["OIL=1 g"], ["OIL=1 g"])


def test_no_item_yet(store: Store) -> None:
    assert items.all_items(store).sentences() == ["No item has been made yet."]
