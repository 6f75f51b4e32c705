"""Taking lots in by command and looking at the shelf: amounts as said, facts as on the paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance.amounts import plainly
from woodref.provenance.receiving import received
from woodref.provenance.shapes import Event
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.times import moment

TWELVE = "12 leaves of 1800 x 200 mm, 0.6 mm"
WHEN = "2026-01-05T09:00:00+01:00"


def test_the_shelf_after_the_two_stools(full: Store) -> None:
    found = on_hand(full)
    rows = {held.lot.id: row for held, row in zip(found.rows, found.table()[1], strict=True)}
    # L-B: 4,320,000 mm2 came, 720,000 were cut: 3,600,000 are ten leaves of 1800 x 200 mm
    assert rows["L-B"][3:] == ["IN", "3.6 m2", "3.6 m2", "10", "-"]
    assert rows["G-1"][2:6] == ["-", "-", "9.08 kg", "9.08 kg"]
    assert "STOOL-002" not in rows and "P-1" not in rows and found.empty == 9
    assert {h.lot.id for h in on_hand(full, "ROSEWOOD").rows} == {"L-B", "L-C"}
    assert {h.lot.id for h in on_hand(full, "latifolia", everything=True).rows} >= {"L-F", "L-H1", "P-1"}
    assert on_hand(full, "teak").sentences()[0] == 'Nothing is on hand with "teak" in it.'


def test_one_lot_tells_what_is_known_and_what_is_not(full: Store) -> None:
    known = " ".join(one_lot(full, "L-B").sentences())
    assert "D-03, invoice of 2009-05-14" in known and "Grown in IN" in known and "10 whole leaves" in known
    pencil = " ".join(one_lot(full, "L-C").sentences())
    assert "Country of harvest not known" in pencil and "No paper is on record" in pencil
    assert "labelled in pencil" in pencil and "how the wood is known nobody has said" in pencil
    assert "none left" in " ".join(one_lot(full, "P-1").sentences())
    assert one_lot(full, "L-B").table()[1][-1][2:] == ["cut", "-720,000 mm2", "3,600,000 mm2"]
    with pytest.raises(WoodrefError, match="L-ZZ") as told:
        one_lot(full, "L-ZZ")
    assert told.value.exit_code == 3


def test_what_is_reserved_is_on_hand_but_not_free(full: Store, make: Callable[..., Event]) -> None:
    full.record([make("X", "reserve", lot="L-B", qty=360_000)])
    row = next(r for r in on_hand(full).as_dict()["rows"] if r["lot"] == "L-B")
    assert (row["on_hand"], row["reserved"], row["free"]) == (3_600_000, 360_000, 3_240_000)
    assert "0.36 m2 (360,000 mm2) of it reserved, 3.24 m2 (3,240,000 mm2) free" in " ".join(
        one_lot(full, "L-B").sentences()
    )


def test_a_delivery_as_it_is_said(store: Store) -> None:
    event, said = received(
        "W-7", TWELVE, "veneer", time=WHEN, country=["IN"], species="Dalbergia latifolia", words="rosewood"
    )
    store.record([event])
    held = on_hand(store).rows[0]
    assert (held.qty, held.lot.thickness_um, held.lot.told["leaf_mm"]) == (12 * 1800 * 200, 600, [1800, 200])
    assert (said.leaves, held.lot.countries, held.lot.trade) == (12, ("IN",), "rosewood")
    assert store.record([event])[0].again
    other, _ = received("W-7", "3 m2", "veneer", thickness_said="0.6 mm", time=WHEN, words="rosewood")
    with pytest.raises(WoodrefError) as told:
        store.record([other])
    assert told.value.code == "lot-exists"
    found, _ = received("W-8", "3 m2", "veneer", thickness_said="0.6 mm", found=True, words="chalk: rose?")
    store.record([found])
    assert found.kind == "open-stock"
    assert "not identified: judged as the strictest it may be" in one_lot(store, "W-8").sentences()[0]


@pytest.mark.parametrize(
    ("amount", "more", "code", "says"),
    [
        ("1.5 m2", {}, "no-unit", "the thickness is missing"),
        (TWELVE, {"thickness_said": "0.9 mm"}, "bad-request", "600 um and --thickness says 900 um"),
        ("1,5 m2", {"thickness_said": "0.6 mm"}, "bad-amount", "comma"),
        ("12 leaves of 1800 x 200, 0.6 mm", {}, "no-unit", "unit of the size"),
        (TWELVE, {"time": "2026-01-05"}, "bad-time", "offset"),
    ],
)
def test_a_delivery_that_cannot_be_understood(
    amount: str, more: dict[str, str], code: str, says: str
) -> None:
    with pytest.raises(WoodrefError) as told:
        received("W-7", amount, "veneer", species="Dalbergia latifolia", **more)  # type: ignore[arg-type]
    assert told.value.code == code and says in str(told.value)


def test_an_event_of_next_year_is_refused(store: Store) -> None:
    event, _ = received("W-7", TWELVE, "veneer", time="2027-01-05T09:00:00Z", words="rosewood")
    with pytest.raises(WoodrefError) as told:
        store.record([event], recorded=moment("2026-01-05T09:00:00Z"))
    assert told.value.code == "in-future" and store.head()[0] == 0
    # a clock that is some hours off is no reason to lose a delivery
    assert store.record([event], recorded=moment("2027-01-04T20:00:00Z"))[0].seq == 1


@pytest.mark.parametrize(
    ("qty", "unit", "said"),
    [
        (3_600_000, "mm2", "3.6 m2"), (999, "mm2", "999 mm2"), (1_000_000, "mm2", "1 m2"),
        (25_920_000_000, "mm2", "25,920 m2"), (10_000_000, "mg", "10 kg"), (1, "pcs", "1 piece"),
        (2, "pcs", "2 pieces"), (0, "mm2", "0 m2"), (1_500_000_000, "nL", "1.5 l"),
    ],
)  # fmt: skip
def test_amounts_read_plainly(qty: int, unit: str, said: str) -> None:
    assert plainly(qty, unit) == said
