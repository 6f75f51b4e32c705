"""Corrections: every kind of event that can be taken back leaves the book as if it had not been; what later
events rest on is refused, and so is a correction that would change nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from woodref.provenance import faults
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book

Make = Callable[..., Event]
TABLES = ("lot", "balance", "edge", "item", "reservation", "paper", "paper_lot")


def state(store: Store) -> dict[str, set[tuple[Any, ...]]]:
    """Every worked-out table but for the times and numbers of rows."""
    columns = {
        "lot": "id, form, unit, facts, made_by", "balance": "lot, qty, reserved",
        "edge": "child, parent, event, net_num, net_den, gross_num, gross_den, plies",
        "item": "id, state, made_by, closed_by, label, serial", "reservation": "id, lot, qty, until",
        "paper": "id, kind, sha256, event, told", "paper_lot": "lot, paper",
    }  # fmt: skip
    out = {table: {tuple(r) for r in store.rows(f"SELECT {columns[table]} FROM {table}")} for table in TABLES}
    return out | {"use": {tuple(r) for r in store.rows("SELECT lot, event FROM use")}}


def undo(make: Make, event: str, name: str = "U") -> Event:
    return make(name, "correct", corrects=event, reason="did_not_occur", time="2025-11-04T09:00:00+01:00")


PAPER = {"id": "D-X", "kind": "invoice", "lot": "N-1"}
VENEER = {"form": "veneer", "thickness_um": 600, "species": "Fagus sylvatica"}
#: what is done after E20, and is then said not to have occurred
STEPS: dict[str, dict[str, Any]] = {
    "receive": {"kind": "receive", "out": [("N-1", 500)], "lots": {"N-1": VENEER}, "documents": [PAPER]},
    "open-stock": {"kind": "open-stock", "out": [("N-1", 500)], "lots": {"N-1": VENEER}},
    "cut": {"kind": "cut", "in_": [("L-B", 500)], "out": [("N-1", 400)], "waste": [("L-B", 100)]},
    "edge-join": {"kind": "edge-join", "in_": [("L-B", 500)], "out": [("N-1", 500)]},
    "scrap": {"kind": "scrap", "in_": [("L-B", 500)]},
    "assemble": {"kind": "assemble", "in_": [("F-1", 10, "mg")], "out": [("STOOL-003", 1, "pcs")]},
    "assemble-close": {
        "kind": "assemble-close", "in_": [("F-1", 10, "mg")], "out": [("STOOL-003", 1, "pcs")],
    },
    "more parts": {"kind": "assemble", "in_": [("F-1", 10, "mg")], "out": [("STOOL-002", 1, "pcs")]},
    "more parts and closed": {
        "kind": "assemble-close", "in_": [("F-1", 10, "mg")], "out": [("STOOL-002", 1, "pcs")],
    },
    "close": {"kind": "close", "item": "STOOL-002", "label": "holds wood that is not proven"},
    "return": {"kind": "return", "item": "STOOL-001"},
    "attach-document": {
        "kind": "attach-document", "document": {"id": "D-X", "kind": "invoice", "lot": "L-C"},
    },
    "annotate": {"kind": "annotate", "lot": "L-B", "note": "a split in the third leaf"},
}  # fmt: skip


@pytest.mark.parametrize("what", STEPS)
def test_taken_back_it_never_was(full: Store, make: Make, what: str) -> None:
    before = state(full)
    full.record([make("X", **STEPS[what])])
    if what != "annotate":
        assert state(full) != before
    full.record([undo(make, "X")])
    assert state(full) == before
    assert check_book(full).sound, check_book(full).sentences()


def test_a_shipping_and_a_repair_taken_back(full: Store, make: Make) -> None:
    full.record([make("B", "return", item="STOOL-001")])
    before = state(full)
    repair = make("X", "repair", item="STOOL-001", in_=[("F-1", 10, "mg")])
    full.record([repair])
    assert {r.held.lot.id: r.gross for r in whence(full, "STOOL-001")}["F-1"] == 60_010
    full.record([undo(make, "X")])
    assert state(full) == before and check_book(full).sound
    full.record([undo(make, "B", "U2")])
    (shipped,) = full.rows("SELECT state FROM item WHERE id = 'STOOL-001'")
    assert shipped[0] == "shipped" and check_book(full).sound
    full.record([undo(make, "E20", "U3")])
    assert full.balance("STOOL-001") == 1
    assert full.rows("SELECT state FROM item WHERE id = 'STOOL-001'")[0][0] == "closed"
    assert check_book(full).sound


def test_a_closer_name_taken_back(full: Store, make: Make) -> None:
    lots = {"N-1": {"form": "sawn", "genus": "Fagus", "country": "SI"}}
    full.record([make("R", "receive", out=[("N-1", 500, "nL")], lots=lots)])
    before = state(full)
    full.record([make("X", "narrow", lot="N-1", species="Fagus sylvatica", identified_by="microscopy")])
    assert full.book().lot("N-1", "x").lot.species == "Fagus sylvatica"
    full.record([undo(make, "X")])
    assert state(full) == before and check_book(full).sound
    # and so it can be named again
    full.record([make("Y", "narrow", lot="N-1", species="Fagus sylvatica", identified_by="eye")])
    assert check_book(full).sound


def test_a_lot_made_of_others_is_not_named_by_itself(full: Store, make: Make) -> None:
    with pytest.raises(faults.BadShape, match="L-F is made of others"):
        full.record([make("X", "narrow", lot="L-F", species="Dalbergia latifolia", identified_by="eye")])


@pytest.mark.parametrize(
    ("steps", "target", "says"),
    [
        ([], "E18", "STOOL-002 is closed since then, closed by K"),
        (["kept"], "R", "Q is about N-1"),
        (["paper"], "R", "A is about N-1"),
        (["kept"], "Q", "of reserve nothing can be corrected"),
        (["undone"], "R", "R did not occur, says U0"),
        (["undone"], "U0", "of correct nothing can be corrected"),
        ([], "K0", "STOOL-001 is shipped since then"),
        ([], "E17", "STOOL-001 is shipped since then, closed by E17"),
    ],
)
def test_what_later_events_rest_on_stays(
    full: Store, make: Make, steps: list[str], target: str, says: str
) -> None:
    full.record([
        make("K", "close", item="STOOL-002", label="not proven"),
        make("R", "receive", out=[("N-1", 500)], lots={"N-1": VENEER}),
        make("B", "return", item="STOOL-001"), make("K0", "annotate", note="x"),
    ])  # fmt: skip
    if target in ("K0", "E17"):
        full.record([undo(make, "B", "U-B")])
        target = {"K0": "E17", "E17": "E17"}[target]
    if "kept" in steps:
        full.record([make("Q", "reserve", lot="N-1", qty=5)])
    if "paper" in steps:
        full.record([make("A", "attach-document", document={"id": "D-Y", "kind": "invoice", "lot": "N-1"})])
    if "undone" in steps:
        full.record([undo(make, "R", "U0")])
    before = state(full), full.head()
    with pytest.raises(faults.BookFault) as caught:
        full.record([undo(make, target)])
    assert says in str(caught.value)
    assert (state(full), full.head()) == before


def amend(event: str, **more: Any) -> Event:
    told = {"id": "C", "kind": "correct", "time": "2025-11-04T09:00:00+01:00", "corrects": event,
            "reason": "incorrect_data"}  # fmt: skip
    return event_of(told | more)


def test_another_lot_went_in(full: Store, make: Make) -> None:
    """The strip came from L-C and not from L-B: from then on L-C is used by it, and L-B is not."""
    full.record([make("X", "scrap", in_=[("L-B", 500)])])
    full.record([amend("X", **{"in": [{"lot": "L-C", "qty": 500, "unit": "mm2"}]})])
    assert full.balance("L-B") == 3_600_000 and full.balance("L-C") == 719_500
    uses = {tuple(r) for r in full.rows("SELECT lot, event FROM use WHERE event = 'X'")}
    assert uses == {("L-C", "X")}
    assert check_book(full).sound


def test_facts_of_a_delivery_are_told_anew(full: Store) -> None:
    """The country was wrong: what was made of the lot knows it from there; its wood would have gone on."""
    told = dict(full.book().event("E01", "x").lots["L-A"])
    out = [{"lot": "L-A", "qty": 20_000_000, "unit": "mm2"}]
    full.record([amend("E01", out=out, lots={"L-A": told | {"country": "HR"}})])
    assert full.book().lot("L-A", "x").lot.countries == ("HR",)
    assert check_book(full).sound
    with pytest.raises(faults.InUse, match="species of L-A went on into what was made"):
        full.record([event_of({
            "id": "C2", "kind": "correct", "time": "2025-11-04T09:00:00+01:00", "corrects": "E01",
            "reason": "incorrect_data", "out": out, "lots": {"L-A": told | {"species": "Betula pendula"}},
        })])  # fmt: skip


@pytest.mark.parametrize(
    ("event", "more", "says"),
    [
        ("E05", {}, "nothing in it differs from E05"),
        ("E17", {"in": [{"lot": "SEAT-1", "qty": 200000, "unit": "mg"}]}, "counted in mm2, not mg"),
        ("E20", {"in": [{"lot": "STOOL-001", "qty": 1, "unit": "pcs"}]}, "has no amounts to correct"),
        ("E05", {"out": [{"lot": "N-9", "qty": 1, "unit": "mm2"}]}, "makes no other lots"),
    ],
)
def test_a_correction_that_is_none(full: Store, event: str, more: dict[str, Any], says: str) -> None:
    before = state(full), full.head()
    with pytest.raises(faults.BookFault) as caught:
        full.record([amend(event, **more)])
    assert says in str(caught.value)
    assert (state(full), full.head()) == before


def test_one_of_two_steps_at_an_item_is_corrected_alone(full: Store, make: Make) -> None:
    """What the first step put in stays when the second is corrected, in the tables and in the check."""
    full.record([make("X", "assemble", in_=[("F-1", 10, "mg")], out=[("STOOL-002", 1, "pcs")])])
    full.record([amend("X", **{"in": [{"lot": "F-1", "qty": 20, "unit": "mg"}]})])
    assert {r.held.lot.id: r.gross for r in whence(full, "STOOL-002")}["F-1"] == 60_020
    assert check_book(full).sound
