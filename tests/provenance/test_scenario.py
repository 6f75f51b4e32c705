"""Two stools of the Quillbeck Benders, exactly: balances, contents as fractions, traces, corrections.

Expected values: computed twice by others, as an integer ledger and as a trace of fractions.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from woodref.provenance.engine import writing
from woodref.provenance.faults import InUse, Overdrawn, StorageFault
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.tables import APPEND_ONLY, BookTable
from woodref.provenance.trace import ways, went_into, whence
from woodref.provenance.verify import check_book

TABLES = BookTable.metadata.tables
BALANCES = {
    "L-A": 17_000_000, "L-B": 3_600_000, "L-C": 720_000, "L-D": 14_400_000, "L-E": 25_920_000,
    "G-1": 9_080_000, "F-1": 1_880_000, "L-F": 184_000, "L-G": 92_000, "L-H1": 0, "L-H2": 0, "L-I": 0,
    "L-J": 480_000, "L-K": 814_200, "P-1": 0, "P-2": 0, "SEAT-1": 0, "SEAT-2": 0, "LEGS-1": 0, "LEGS-2": 0,
    "STOOL-001": 0, "STOOL-002": 1,
}  # fmt: skip


def balances(store: Store) -> dict[str, int]:
    return {lot: int(qty) for lot, qty in store.rows("SELECT lot, qty FROM balance")}


def test_every_balance(full: Store) -> None:
    assert balances(full) == BALANCES
    assert full.head()[0] == 20
    states = dict(full.rows("SELECT id, state FROM item"))
    assert states == {"STOOL-001": "shipped", "STOOL-002": "open"}
    assert check_book(full).sound


CONTENTS = [
    ("STOOL-001", "L-A", 880_000, 950.4, 950.4), ("STOOL-001", "L-B", 200_000, 102, 102),
    ("STOOL-001", "L-D", 200_000, 60, 55.8), ("STOOL-001", "L-E", 800_000, 768, 768),
    ("STOOL-002", "L-A", 880_000, 950.4, 950.4), ("STOOL-002", "L-B", Fraction(200_000, 3), 34, 34),
    ("STOOL-002", "L-C", Fraction(400_000, 3), 68, 68), ("STOOL-002", "L-D", 200_000, 60, 55.8),
    ("STOOL-002", "L-E", 800_000, 768, 768),
]  # fmt: skip


@pytest.mark.parametrize(("item", "root", "area", "grams", "wood"), CONTENTS)
def test_contents_are_exact(full: Store, item: str, root: str, area: Any, grams: float, wood: float) -> None:
    found = {r.held.lot.id: r for r in whence(full, item)}[root]
    assert found.layer_mm2 == area
    assert found.ng == Fraction(str(grams)) * 10**9
    assert found.wood_ng == Fraction(str(wood)) * 10**9


def test_glue_and_finish_are_told_as_used(full: Store) -> None:
    for item in ("STOOL-001", "STOOL-002"):
        used = {r.held.lot.id: r.gross for r in whence(full, item) if r.used}
        assert used == {"G-1": 460_000, "F-1": 60_000}


def test_each_stool_weighs_what_its_wood_weighs(full: Store) -> None:
    for item in ("STOOL-001", "STOOL-002"):
        wood = [r for r in whence(full, item) if r.held.lot.wooden]
        assert sum(r.ng or 0 for r in wood) == Fraction("1880.4") * 10**9
        assert sum(r.wood_ng or 0 for r in wood) == Fraction("1876.2") * 10**9


CONSERVED = [
    ("L-A", 20_000_000, 17_480_000, 1_760_000, 760_000),
    ("L-B", 4_320_000, 3_784_000, Fraction(800_000, 3), Fraction(808_000, 3)),
    ("L-C", 1_080_000, 812_000, Fraction(400_000, 3), Fraction(404_000, 3)),
    ("L-D", 16_000_000, 15_214_200, 400_000, 385_800),
    ("L-E", 28_800_000, 25_920_000, 1_600_000, 1_280_000),
]


@pytest.mark.parametrize(("root", "received", "held", "in_stools", "waste"), CONSERVED)
def test_nothing_is_lost(
    full: Store, root: str, received: int, held: int, in_stools: Any, waste: Any
) -> None:
    stools = sum(
        {r.held.lot.id: r.net for r in whence(full, item)}.get(root, Fraction(0))
        for item in ("STOOL-001", "STOOL-002")
    )
    assert stools == in_stools
    on_hand = sum(
        qty * {r.held.lot.id: r.net for r in whence(full, lot)}.get(root, Fraction(0))
        for lot, qty in balances(full).items()
        if qty and not lot.startswith("STOOL")
    )
    assert on_hand == held
    assert received - on_hand - stools == waste


def test_traces(full: Store) -> None:
    def forward(lot: str) -> set[str]:
        return {h.lot.id for h in went_into(full, lot)}

    assert {r.held.lot.id for r in whence(full, "STOOL-001")} == {"L-A", "L-B", "L-D", "L-E", "G-1", "F-1"}
    assert {r.held.lot.id for r in whence(full, "STOOL-002")} == {
        "L-A", "L-B", "L-C", "L-D", "L-E", "G-1", "F-1",
    }  # fmt: skip
    assert forward("L-C") == {"L-G", "L-H2", "P-2", "SEAT-2", "STOOL-002"}
    assert forward("L-B") == {
        "L-F", "L-H1", "L-H2", "P-1", "P-2", "SEAT-1", "SEAT-2", "STOOL-001", "STOOL-002",
    }  # fmt: skip
    assert forward("L-A") == {"L-J", "LEGS-1", "LEGS-2", "STOOL-001", "STOOL-002"}
    assert ("L-H1", "L-F", "L-B") in ways(full, "L-H1")


def test_recording_again_changes_nothing(full: Store, events: list[Event]) -> None:
    head = full.head()
    assert all(r.again for r in full.record(events))
    assert full.head() == head


@pytest.mark.parametrize("table", APPEND_ONLY)
@pytest.mark.parametrize("what", ["UPDATE {} SET seq = seq", "DELETE FROM {}"])
def test_s3_what_is_recorded_is_not_changed(full: Store, recorder: Store, table: str, what: str) -> None:
    with full.engine.begin() as connection:  # so that each table has a row to guard
        for name in ("deposit", "sheet"):
            row = {c.name: 1 if c.name in ("seq", "version") else "x" for c in TABLES[name].columns}
            connection.execute(TABLES[name].insert(), [row])
    guard = {"sqlite": f"{table} is append-only", "postgresql": f"permission denied for table {table}"}
    says = guard[full.engine.dialect.name]
    with pytest.raises(StorageFault, match=says), writing(recorder.engine) as connection:
        connection.execute(text(what.format(table)))


def test_who_may_only_record_does_all_the_work(recorder: Store, events: list[Event], make: Any) -> None:
    recorder.record(events)
    recorder.record([make("R1", "reserve", lot="L-C", qty=700_000), make("R2", "release", reservation="R1")])
    recorder.record([make("C4", "correct", corrects="E19", reason="did_not_occur")])
    assert balances(recorder) == BALANCES | {"L-A": 17_500_000} and check_book(recorder).sound


def test_s3_a_changed_row_is_seen(full: Store, unguarded: Connection) -> None:
    # whoever has the whole database in hand can drop the guards
    unguarded.execute(text("UPDATE event SET payload = replace(payload, '70480', '70481') WHERE seq = 14"))
    unguarded.commit()
    found = check_book(full)
    assert not found.sound and found.flaws[0].seq == 14 and found.trusted == 13
    assert "events 1 to 13" in " ".join(found.sentences())


def test_s4_a_wrong_figure_is_corrected_by_an_event(full: Store, make: Any) -> None:
    glued = make(
        "C1", "correct", corrects="E13", reason="incorrect_data",
        in_=[("L-H2", 270480), ("L-I", 1085600, "mm2", 4), ("L-K", 271400), ("G-1", 320000, "mg")],
        waste=[("L-I", 3680), ("L-K", 920)],
    )  # fmt: skip
    full.record([glued])
    assert balances(full) == BALANCES | {"G-1": 9_060_000}
    used = {r.held.lot.id: r.gross for r in whence(full, "STOOL-002")}
    assert used["G-1"] == 320_000 + 160_000
    first = full.event("E13")
    assert first is not None and {s.lot: s.qty for s in first.in_}["G-1"] == 300_000
    assert check_book(full).sound


def test_s5_an_item_that_is_closed_is_corrected_too(full: Store, make: Any) -> None:
    full.record([
        make("C2", "correct", corrects="E17", reason="incorrect_data",
             in_=[("SEAT-1", 200000), ("LEGS-1", 88000), ("F-1", 65000, "mg")]),
    ])  # fmt: skip
    assert balances(full)["F-1"] == 1_875_000
    assert {r.held.lot.id: r.gross for r in whence(full, "STOOL-001")}["F-1"] == 65_000
    assert check_book(full).sound


def test_s7_what_later_events_use_did_occur(full: Store, make: Any) -> None:
    head = full.head()
    with pytest.raises(InUse, match="E08, E13, E15, E18 use its output"):
        full.record([make("C3", "correct", corrects="E06", reason="did_not_occur")])
    assert full.head() == head
    full.record([make("C4", "correct", corrects="E19", reason="did_not_occur")])
    assert balances(full)["L-A"] == 17_500_000
    assert check_book(full).sound


def test_s8_one_of_two_cuts_is_refused(full: Store, make: Any) -> None:
    full.record([make("X1", "cut", in_=[("L-B", 3_000_000)], out=[("N-1", 3_000_000)])])
    with pytest.raises(Overdrawn, match="600,000 left"):
        full.record([make("X2", "cut", in_=[("L-B", 3_000_000)], out=[("N-2", 3_000_000)])])
    assert balances(full)["L-B"] == 600_000


def test_all_or_nothing(full: Store, make: Any) -> None:
    before = full.head(), balances(full)
    good = make("X1", "scrap", in_=[("L-A", 1)])
    bad = make("X2", "scrap", in_=[("L-A", 99_000_000)])
    with pytest.raises(Overdrawn):
        full.record([good, bad])
    assert (full.head(), balances(full)) == before


def test_a_back_dated_use_may_not_empty_an_earlier_moment(full: Store, make: Any) -> None:
    # L-K had 1,357,000 at E10; E12 and E13 took 542,800, so 814,200 are left. 900,000 before E12 would have
    # left 457,000 then, and 185,600 too few after E13
    with pytest.raises(Overdrawn):
        full.record([make("X1", "scrap", time="2025-10-07T12:00:00+02:00", in_=[("L-K", 900_000)])])
    full.record([make("X2", "scrap", time="2025-10-07T12:00:00+02:00", in_=[("L-K", 814_200)])])
    assert balances(full)["L-K"] == 0 and check_book(full).sound


def test_reservations_lower_what_is_free(full: Store, make: Any) -> None:
    full.record([make("R1", "reserve", lot="L-C", qty=700_000)])
    with pytest.raises(Overdrawn, match="20,000 left"):
        full.record([make("X1", "scrap", in_=[("L-C", 30_000)])])
    full.record([make("R2", "release", reservation="R1"), make("X2", "scrap", in_=[("L-C", 30_000)])])
    assert balances(full)["L-C"] == 690_000 and check_book(full).sound


def test_an_item_comes_back_is_repaired_and_goes_again(full: Store, make: Any) -> None:
    full.record([
        make("T1", "return", item="STOOL-001"),
        make("T2", "cut", time="2025-11-03T10:00:00+01:00", in_=[("L-A", 1000)], out=[("PATCH", 1000)]),
        make("T3", "repair", time="2025-11-03T11:00:00+01:00", item="STOOL-001", in_=[("PATCH", 1000)]),
    ])  # fmt: skip
    assert {r.held.lot.id: r.net for r in whence(full, "STOOL-001")}["L-A"] == 881_000
    assert dict(full.rows("SELECT id, state FROM item"))["STOOL-001"] == "returned"
    assert check_book(full).sound


def test_a_wood_is_known_more_closely(store: Store, make: Any) -> None:
    lots = {
        "Q": {"form": "veneer", "thickness_um": 600, "one_of": ["Dalbergia latifolia", "Fagus sylvatica"]}
    }
    store.record([make("Q1", "receive", out=[("Q", 1000)], lots=lots)])
    assert whence(store, "Q")[0].held.lot.may_be == ("Dalbergia latifolia", "Fagus sylvatica")
    store.record([make("Q2", "narrow", lot="Q", species="Fagus sylvatica", identified_by="microscopy")])
    assert whence(store, "Q")[0].held.lot.species == "Fagus sylvatica"
    assert check_book(store).sound


def test_no_column_is_a_float_a_flag_or_a_clock() -> None:
    from sqlalchemy.dialects import postgresql, sqlite
    from sqlalchemy.schema import CreateTable

    from woodref.provenance.tables import BookTable

    for table in BookTable.metadata.sorted_tables:
        for dialect, whole in ((sqlite.dialect(), "INTEGER"), (postgresql.dialect(), "BIGINT")):  # type: ignore[no-untyped-call]
            ddl = str(CreateTable(table).compile(dialect=dialect))
            kinds = {
                line.split()[1].rstrip(",")
                for line in ddl.splitlines()[2:]
                if line.startswith("\t") and "KEY" not in line and "UNIQUE" not in line
            }
            assert kinds <= {"TEXT", whole}, ddl
            assert ("STRICT" in ddl) == (whole == "INTEGER")


def test_the_database_refuses_less_than_nothing(full: Store) -> None:
    with pytest.raises(DBAPIError, match=r"(?i)check constraint"), full.engine.begin() as connection:
        connection.execute(text("UPDATE balance SET qty = -1 WHERE lot = 'L-A'"))
