"""What may be said of a lot that comes in: each fact is kept under its own key, exactly, or refused."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.errors import WoodrefError
from woodref.provenance.lots import lot_of
from woodref.provenance.moistures import percent, permille
from woodref.provenance.receiving import received
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.takingin import take_in

TWELVE = "12 leaves of 1800 x 200 mm, 0.6 mm"
WHEN = "2026-01-05T09:00:00+01:00"
TOLD: dict[str, Any] = {
    "form": "veneer", "species": "Betula pendula", "country": ["FI"], "region": "Savonia",
    "stand": "Bent Creek", "forest": "managed-natural",
    "supplier": "Alderholt Veneer Merchants", "price": ("412.50", "EUR"),
    "moisture": "7.5 %", "moisture_by": "meter", "acquired": "2025-11",
    "leaf_notes": ("3=sap edge", "5-6=knot"),
    "first_leaf": 13, "source_code": "W", "claim_words": 'controlled blending 70 %', "cut": "crown",
    "shelf": "rack 1",
}  # fmt: skip


def test_every_fact_is_kept_and_told_again_but_the_price(store: Store) -> None:
    done = take_in("W-7", TWELVE, time=WHEN, **TOLD)
    store.record([done.event])
    told = store.book().lot("W-7", "test").lot.told
    kept = {
        "region": "Savonia", "stand": "Bent Creek", "forest": "managed-natural", "price": "412.50",
        "currency": "EUR", "moisture_permille": 75, "moisture_by": "meter", "acquired": "2025-11",
        "leaf_notes": {"3": "sap edge", "5-6": "knot"}, "first_leaf": 13, "source_code": "W", "cut": "crown",
        "claim_words": "controlled blending 70 %", "supplier": "Alderholt Veneer Merchants",
        "as_received": TWELVE,
    }  # fmt: skip
    assert {key: told[key] for key in kept} == kept
    assert done.told == {"lot": "W-7", "qty": 4_320_000, "unit": "mm2"}
    assert done.sentences[1:] == [
        "Moisture: 7.5 %, by meter.", "Price: 412.50 EUR, kept for the shop alone."
    ]  # fmt: skip
    found = one_lot(store, "W-7")
    page = " ".join(found.sentences())
    for words in ("Savonia", "Bent Creek", "Alderholt", "2025-11", "sap edge", "number 13",
                  "7.5 % on 2026-01-05", "controlled blending 70 %"):  # fmt: skip
        assert words in page
    assert "412" not in page and "412" not in str(found.as_dict())
    assert found.price() == "Price: 412.50 EUR, for the shop alone."
    assert on_hand(store).table()[1][0][-2:] == ["7.5 %", "rack 1"]


def test_old_stock_is_the_same_but_for_its_kind(store: Store) -> None:
    done = take_in(
        "R-1", "3 m2", found=True, form="veneer", thickness_said="0.6 mm", words="rose?", time=WHEN
    )
    store.record([done.event])
    assert done.event.kind == "open-stock" and done.sentences == ["Found R-1: 3 m2 (3,000,000 mm2)."]
    assert one_lot(store, "R-1").price() == "No price is on record for it."


def test_the_woods_of_an_engineered_sheet(store: Store) -> None:
    words = "Populus x canadensis=93 %, Fagus sylvatica=20"
    more = {"composition": words, "thickness_said": "0.6 mm", "time": WHEN, "material": "dyed-sheet"}
    store.record([take_in("D", "1 m2", form="engineered-veneer", **more).event])  # type: ignore[arg-type]
    lot = store.book().lot("D", "test").lot
    assert [(name, part) for name, part, _ in lot.composition] == [
        ("Populus x canadensis", 930), ("Fagus sylvatica", 20)
    ]  # fmt: skip
    assert (lot.wood_share, lot.told["material"]) == (950, "dyed-sheet")
    assert "Populus x canadensis, 930 per mille" in " ".join(one_lot(store, "D").sentences())


def test_words_on_all_leaves(store: Store) -> None:
    store.record(
        [take_in("W", TWELVE, form="veneer", words="w", leaf_notes=("light edge",), time=WHEN).event]
    )
    assert "Leaves: light edge." in one_lot(store, "W").sentences()


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        ({"price": ("412,50", "EUR")}, "bad-amount", "no price"),
        ({"price": ("1e3", "EUR")}, "bad-amount", "no price"),
        ({"price": ("-3", "EUR")}, "bad-amount", "no price"),
        ({"price": ("412.50", "euro")}, "no-unit", "no currency"),
        ({"moisture": "7 mm"}, "bad-quantity", "cannot be given in %"),
        ({"moisture": "7.55 %"}, "not-whole", "tenth of a percent"),
        ({"moisture": "301 %"}, "out-of-range", "no moisture of wood"),
        ({"moisture_by": "meter"}, "bad-request", "no moisture"),
        ({"acquired": "last year"}, "bad-time", "is not a date"),
        ({"leaf_notes": ("x=knot",)}, "bad-request", "not understood"),
        ({"leaf_notes": ("3=knot", "3=sap")}, "bad-request", "leaf 3 is told twice"),
        ({"leaf_notes": ("3=knot", "sap")}, "bad-request", "beside notes on single"),
        ({"composition": "Betula pendula=930"}, "bad-request", "veneer has no composition"),
        (
            {"form": "engineered-veneer", "composition": "Betula pendula=930", "species": "Betula pendula"},
            "bad-request", "told twice",
        ),
        (
            {"form": "engineered-veneer", "composition": "Betula pendula=930", "one_of": ["Betula pendula"]},
            "bad-request", "told twice",
        ),
        ({"form": "engineered-veneer", "composition": "Betula pendula"}, "bad-composition", "not understood"),
        ({"form": "engineered-veneer", "composition": "Betula pendula=x"}, "bad-composition", "no share"),
        ({"form": "engineered-veneer", "composition": "A b=600, A b=200"}, "bad-composition", "twice"),
        ({"form": "engineered-veneer", "composition": "A b=600, A c=500"}, "bad-composition", "1,100 per"),
        ({"form": "engineered-veneer", "composition": "A b=60.05 %"}, "not-whole", "no whole share"),
        ({"form": "adhesive", "moisture": "7 %"}, "bad-request", "adhesive is no wood"),
        ({"form": "finish", "forest": "primary", "stand": "x"}, "bad-request", "--forest and --stand"),
    ],
)  # fmt: skip
def test_what_cannot_be_said(more: dict[str, Any], code: str, says: str) -> None:
    told = {"form": "veneer", "words": "w"} | more
    with pytest.raises(WoodrefError) as fault:
        received("W", TWELVE, **told)
    assert fault.value.code == code and says in str(fault.value)


@pytest.mark.parametrize("price", ["1,5", "1.", "01", True, -1, 1.5, "1.23456"])
def test_a_price_in_a_file_is_read_as_strictly(price: object) -> None:
    with pytest.raises(WoodrefError, match="price"):
        lot_of("X", {"form": "sawn", "price": price}, "test")


@given(st.integers(1, 3000))
def test_a_moisture_is_told_as_it_is_read(value: int) -> None:
    assert permille(percent(value), "test") == value
