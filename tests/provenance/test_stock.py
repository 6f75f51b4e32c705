"""Taking lots in by command and looking at the shelf: amounts as said, facts as on the paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance import working
from woodref.provenance.amounts import plainly
from woodref.provenance.receiving import received
from woodref.provenance.shapes import Event
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.times import moment
from woodref.provenance.verify import check_book

TWELVE = "12 leaves of 1800 x 200 mm, 0.6 mm"
WHEN = "2026-01-05T09:00:00+01:00"


def test_the_shelf_after_the_two_stools(full: Store) -> None:
    found = on_hand(full)
    rows = {held.lot.id: row for held, row in zip(found.rows, found.table()[1], strict=True)}
    # L-B: 4,320,000 mm2 came, 720,000 were cut: 3,600,000 are ten leaves of 1800 x 200 mm
    assert rows["L-B"][3:] == ["IN", "3.6 m2", "3.6 m2", "10", "-", "-"]
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


@pytest.fixture
def walnut(store: Store) -> Store:
    """Twelve leaves of 1800 x 200 mm as W-7; the wood is one that these tests know."""
    store.record([received("W-7", TWELVE, "veneer", time=WHEN, species="Betula pendula")[0]])
    return store


def test_two_leaves_are_cut_into_blanks(walnut: Store) -> None:
    held = walnut.book().lot("W-7", "test")
    into = ["FACE-1=4 leaves of 490 x 180 mm", "OFF-1=1 leaf of 600 x 180 mm"]
    done = working.cut(held, "2 leaves", into, time="2026-01-06T09:00:00+01:00")
    walnut.record([done.event])
    # by hand: 2 x 1800 x 200 = 720,000; 4 x 490 x 180 = 352,800; 600 x 180 = 108,000; waste 259,200
    assert [walnut.balance(lot) for lot in ("W-7", "FACE-1", "OFF-1")] == [3_600_000, 352_800, 108_000]
    assert [s.qty for s in done.event.waste] == [259_200]
    assert done.sentences[-2:] == ["Waste: 0.259 m2, 36 % of it.", "W-7 keeps 3.6 m2 (3,600,000 mm2)."]
    face = walnut.book().lot("FACE-1", "test").lot
    assert (face.thickness_um, face.told["leaf_mm"], face.species) == (600, [490, 180], "Betula pendula")
    # the very same command again changes nothing
    assert walnut.record([done.event])[0].again and walnut.balance("W-7") == 3_600_000
    assert check_book(walnut).sound


def test_leaves_kept_back_cannot_be_used_till_they_are_released(walnut: Store) -> None:
    kept = working.reserve(walnut.book().lot("W-7", "test"), "11 leaves", time="2026-01-06T09:00:00+01:00")
    walnut.record([kept.event])
    assert kept.sentences[1].endswith(kept.event.id)
    held = walnut.book().lot("W-7", "test")
    spoilt = working.scrap(held, "2 leaves", time="2026-01-07T09:00:00+01:00", note="split")
    with pytest.raises(WoodrefError, match="360,000 left") as told:
        walnut.record([spoilt.event])
    assert told.value.code == "overdrawn"
    walnut.record([working.release(kept.event.id, time="2026-01-07T08:00:00+01:00").event, spoilt.event])
    assert walnut.balance("W-7") == 10 * 360_000
    assert check_book(walnut).sound


@pytest.mark.parametrize(
    ("taken", "into", "code", "says"),
    [
        ("1 leaf", ["X=1 m2"], "unbalanced", "640,000 mm2 more than the 360,000 mm2 taken"),
        ("1 leaf", ["X"], "bad-request", "LOT=AMOUNT"),
        ("1 leaf", ["X=1 cm2", "X=1 cm2"], "bad-request", "X is told twice"),
        ("2 leaves", ["X=1 leaf of 1900 x 100 mm"], "bad-request", "cannot be cut from leaves"),
        ("2 leaves", ["X=1 leaf of 210 x 205 mm"], "bad-request", "cannot be cut from leaves"),
        ("1 leaf of 100 x 100 mm, 0.9 mm", ["X=1 cm2"], "bad-thickness", "0.6 mm thick, the amount"),
        ("3 kg", ["X=1 cm2"], "no-unit", "counted in mm2"),
    ],
)  # fmt: skip
def test_a_cut_that_cannot_be(walnut: Store, taken: str, into: list[str], code: str, says: str) -> None:
    with pytest.raises(WoodrefError) as told:
        working.cut(walnut.book().lot("W-7", "test"), taken, into)
    assert told.value.code == code and says in str(told.value)


def test_a_piece_may_lie_across_the_leaf(walnut: Store) -> None:
    done = working.cut(walnut.book().lot("W-7", "test"), "1 leaf", ["X=1 leaf of 200 x 600 mm"])
    assert [s.qty for s in done.event.out] == [120_000]


def test_leaves_without_a_size_are_asked_for_it(store: Store) -> None:
    store.record([received("W-8", "3 m2", "veneer", thickness_said="0.6 mm", time=WHEN, words="rose?")[0]])
    with pytest.raises(WoodrefError, match="size of its leaves is not told"):
        working.scrap(store.book().lot("W-8", "test"), "1 leaf")
