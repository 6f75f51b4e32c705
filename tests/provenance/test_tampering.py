"""What is worked out from the events is held against them: a row changed by hand is named."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import Connection, text

from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

CHANGES = {
    "balance": ("UPDATE balance SET qty = qty + 1 WHERE lot = 'L-B'", "Lot L-B: the table says"),
    "reserved": ("UPDATE balance SET reserved = 1 WHERE lot = 'L-B'", "1 of it reserved"),
    "thickness": (
        "UPDATE lot SET facts = replace(facts, '600', '601') WHERE id = 'L-B'",
        "Lot L-B: thickness in the table",
    ),
    "country": (
        "UPDATE lot SET facts = replace(facts, '[\"SI\"]', '[\"FR\"]') WHERE id = 'L-A'",
        "Lot L-A: country in the table",
    ),
    "wood": (
        "UPDATE lot SET facts = replace(facts, 'Dalbergia latifolia', 'Fagus sylvatica') WHERE id = 'L-C'",
        "Lot L-C: wood in the table",
    ),
    "form": ("UPDATE lot SET form = 'board' WHERE id = 'L-B'", "Lot L-B: form in the table"),
    "item": ("UPDATE item SET state = 'open' WHERE id = 'STOOL-001'", "Item STOOL-001: the table says open"),
    "label": ("UPDATE item SET label = 'all proven' WHERE id = 'STOOL-001'", "state, label and serial"),
    "paper": ("UPDATE paper SET sha256 = 'x' WHERE id = 'D-01'", "Document D-01 in the table"),
    "paper of": ("DELETE FROM paper_lot WHERE paper = 'D-01'", "Whether document D-01 is of lot"),
    "edge": ("UPDATE edge SET net_num = net_num + 1 WHERE child = 'L-F'", "What L-F is made of"),
    "gross": ("UPDATE edge SET gross_num = gross_num + 1 WHERE child = 'L-F'", "What L-F is made of"),
    "use": ("DELETE FROM use WHERE lot = 'L-B'", "uses lot L-B does not follow"),
    "reservation": ("INSERT INTO reservation VALUES ('R-9', 'L-B', 5, NULL)", "Reservation R-9"),
}  # fmt: skip


def test_the_scenario_holds(full: Store) -> None:
    assert check_book(full).sound


@pytest.mark.parametrize("what", CHANGES)
def test_a_row_changed_by_hand_is_found(full: Store, what: str) -> None:
    change, says = CHANGES[what]
    with full.engine.begin() as connection:
        assert connection.execute(text(change)).rowcount > 0
    found = check_book(full)
    assert not found.sound
    assert any(says in told for told in found.sentences()), found.sentences()
    # the events themselves are untouched, and all of them stay trustworthy
    assert found.trusted == found.events == 20


def test_a_move_changed_by_hand_is_found(full: Store, unguarded: Connection) -> None:
    unguarded.execute(text("UPDATE move SET qty = qty - 1 WHERE lot = 'L-C' AND role = 'in'"))
    unguarded.commit()
    assert any("moves of lot L-C" in told for told in check_book(full).sentences())


def test_a_change_that_does_nothing_would_be_noticed(full: Store) -> None:
    """The replacements above rest on how facts are written; this holds that form."""
    facts = {row[0]: json.loads(row[1]) for row in full.rows("SELECT id, facts FROM lot")}
    assert facts["L-B"]["thickness_um"] == 600 and facts["L-A"]["countries"] == ["SI"]
    assert facts["L-C"]["species"] == "Dalbergia latifolia"


@pytest.mark.parametrize(
    "change",
    ["SET id = 'E99' WHERE seq = 3", "SET kind = 'cut' WHERE seq = 1", "SET corrects = 'E02' WHERE seq = 9"],
)
def test_an_event_filed_under_what_it_is_not_is_found(
    full: Store, unguarded: Connection, change: str
) -> None:
    """The hash is over what it says of itself; a later event finds it by these columns."""
    unguarded.execute(text(f"UPDATE event {change}"))
    unguarded.commit()
    found = check_book(full)
    seq = int(change.rsplit(" ", 1)[1])
    assert found.flaws[0].seq == seq and found.trusted == seq - 1
    assert f"Event {seq} is not filed under what it says of itself." in found.sentences()
