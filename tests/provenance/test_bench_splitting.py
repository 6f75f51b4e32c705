"""Lots parted and made thinner by command: splitting loses nothing, sanding loses thickness alone, slicing
keeps the volume."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.errors import WoodrefError
from woodref.provenance.book import Held
from woodref.provenance.receiving import received
from woodref.provenance.splitting import cut_leaves, sample, sand, split
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book

WHEN = "2026-01-05T09:00:00+01:00"
LATER = "2026-01-06T09:00:00+01:00"
Find = Callable[[str], Held]


def stocked(store: Store, size: str = "12 leaves of 1800 x 200 mm, 0.6 mm") -> Store:
    """Leaves as W-7, a billet of solid wood as LOG, glue as UF."""
    said: tuple[tuple[str, str, str, dict[str, str]], ...] = (
        ("W-7", size, "veneer", {"species": "Betula pendula", "flitch": "33", "cut": "crown"}),
        ("LOG", "0.02 m3", "sawn", {"species": "Fagus sylvatica"}),
        ("UF", "10 kg", "adhesive", {}),
    )
    for lot, amount, form, more in said:
        store.record([received(lot, amount, form, time=WHEN, **more)[0]])  # type: ignore[arg-type]
    return store


@pytest.fixture
def shelf(store: Store) -> Store:
    return stocked(store)


@pytest.fixture
def find(shelf: Store) -> Find:
    return lambda lot: shelf.book().lot(lot, "test")


def test_five_leaves_split_in_two_lots(shelf: Store, find: Find) -> None:
    done = split(find("W-7"), "5 leaves", ["A=3 leaves", "B=2 leaves"], time=LATER)
    shelf.record([done.event])
    # by hand: a leaf is 1800 x 200 = 360,000 mm2
    assert [shelf.balance(lot) for lot in ("W-7", "A", "B")] == [7 * 360_000, 3 * 360_000, 2 * 360_000]
    lot = find("A").lot
    assert (lot.told["flitch"], lot.told["cut"], lot.told["leaves"], lot.thickness_um) == (
        "33",
        "crown",
        3,
        600,
    )
    assert not done.event.waste and done.sentences[-1] == "W-7 keeps 2.52 m2 (2,520,000 mm2)."
    assert check_book(shelf).sound


@settings(max_examples=30, deadline=None, derandomize=True)
@given(parts=st.lists(st.integers(1, 10**6), min_size=1, max_size=6), more=st.integers(0, 10**6))
def test_a_split_keeps_the_sum(parts: list[int], more: int) -> None:
    with tempfile.TemporaryDirectory() as folder, Store(f"sqlite:///{Path(folder) / 'b.sqlite'}") as store:
        whole = sum(parts)
        store.record([received("R", f"{whole + more} mm2", "veneer", "0.6 mm", time=WHEN, words="r")[0]])
        held = store.book().lot("R", "test")
        into = [f"P{n}={qty} mm2" for n, qty in enumerate(parts)]
        store.record([split(held, f"{whole} mm2", into, time=LATER).event])
        assert [store.balance(f"P{n}") for n in range(len(parts))] == parts
        assert store.balance("R") == more
        assert all(whence(store, f"P{n}")[0].net == 1 for n in range(len(parts)))
        for off in (1, -1):
            if whole + off:
                with pytest.raises(WoodrefError) as told:
                    split(held, f"{whole + off} mm2", into)
                assert told.value.code == "unbalanced"
        assert check_book(store).sound


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    area=st.integers(1, 10**8),
    before=st.integers(2, 10**5),
    off=st.integers(1, 10**5),
    sanded=st.integers(1, 10**8),
)
def test_sanding_loses_the_area_times_the_thickness_taken_off(
    area: int, before: int, off: int, sanded: int
) -> None:
    off, sanded = 1 + off % (before - 1), 1 + sanded % area
    with tempfile.TemporaryDirectory() as folder, Store(f"sqlite:///{Path(folder) / 'b.sqlite'}") as store:
        store.record([received("R", f"{area} mm2", "veneer", f"{before} um", time=WHEN, words="r")[0]])

        def volume() -> int:
            lots = [store.book().maybe(lot) for lot in ("R", "S")]
            return sum(h.qty * (h.lot.thickness_um or 0) for h in lots if h)

        was = volume()
        done = sand(store.book().lot("R", "test"), f"{sanded} mm2", f"{before - off} um", "S", time=LATER)
        store.record([done.event])
        assert was - volume() == sanded * off
        assert f"({sanded * off:,} nL)" in done.sentences[1]
        assert (store.balance("R"), store.balance("S")) == (area - sanded, sanded)
        assert check_book(store).sound


def test_sanding_tells_what_it_takes_off_and_warns_of_the_dust(shelf: Store, find: Find) -> None:
    done = sand(find("W-7"), "2 leaves", "0.5 mm", "THIN", time=LATER)
    shelf.record([done.event])
    # by hand: 720,000 mm2 x 100 um = 72,000,000 nL
    assert "Taken off: 0.1 mm, 0.072 l (72,000,000 nL) of wood." in done.sentences
    assert any("dust harms" in line for line in done.sentences)
    lot = find("THIN").lot
    assert (lot.thickness_um, lot.told["leaf_mm"], lot.told["flitch"]) == (500, [1800, 200], "33")


def test_slicing_keeps_the_volume(shelf: Store, find: Find) -> None:
    done = cut_leaves(find("LOG"), "6 l", ["V=24 leaves of 800 x 200 mm, 1 mm"], time=LATER)
    shelf.record([done.event])
    # by hand: 24 x 800 x 200 x 1000 um = 3,840,000,000 nL of 6,000,000,000; 64 % kept
    assert [s.qty for s in done.event.waste] == [2_160_000_000]
    assert (shelf.balance("V"), shelf.balance("LOG")) == (3_840_000, 14_000_000_000)
    lot = find("V").lot
    assert (lot.form, lot.thickness_um, lot.species) == ("veneer", 1000, "Fagus sylvatica")
    assert not done.notices and check_book(shelf).sound
    poor = cut_leaves(find("LOG"), "6 l", ["X=2 leaves of 800 x 200 mm, 1 mm"], time=LATER)
    # by hand: 320,000,000 of 6,000,000,000 nL are 5 %
    assert [n.code for n in poor.notices] == ["low-yield"] and "5 %" in poor.notices[0].message


def test_a_sample_keeps_where_it_went(shelf: Store, find: Find) -> None:
    done = sample(find("W-7"), "20 cm2", " wood  laboratory ", time=LATER)
    shelf.record([done.event])
    kept = shelf.event(done.event.id)
    assert kept is not None and kept.more["to"] == "wood laboratory" and kept.kind == "sample"
    assert shelf.balance("W-7") == 4_320_000 - 2_000


@pytest.mark.parametrize(
    ("make", "code", "says"),
    [
        (lambda f: split(f("W-7"), "2 leaves", ["X=1 leaf"]), "unbalanced", "360,000 mm2 are left over"),
        (lambda f: split(f("W-7"), "1 leaf", ["X=2 leaves"]), "unbalanced", "360,000 mm2 are wanting"),
        (lambda f: split(f("W-7"), "1 leaf", ["X=1 leaf", "X=1 leaf"]), "bad-request", "X is told twice"),
        (lambda f: split(f("W-7"), "1 leaf", ["X=1 kg"]), "no-unit", "counted in mm2"),
        (lambda f: sand(f("W-7"), "1 leaf", "0.6 mm", "X"), "bad-thickness", "cannot be sanded to 0.6 mm"),
        (lambda f: sand(f("W-7"), "1 leaf", "0.7 mm", "X"), "bad-thickness", "less than 0.6 mm"),
        (lambda f: sand(f("W-7"), "1 leaf", "0.5", "X"), "no-unit", "unit missing"),
        (lambda f: sand(f("LOG"), "1 l", "0.5 mm", "X"), "no-unit", "no sheet of a known thickness"),
        (lambda f: sand(f("UF"), "1 kg", "0.5 mm", "X"), "no-unit", "no sheet"),
        (lambda f: cut_leaves(f("W-7"), "1 leaf", ["X=1 m2"]), "no-unit", "not by its volume"),
        (lambda f: cut_leaves(f("LOG"), "1 l", ["X=1 leaf of 10 x 10 mm"]), "no-unit", "thickness"),
        (
            lambda f: cut_leaves(f("LOG"), "1 cm3", ["X=1 leaf of 100 x 100 mm, 1 mm"]), "unbalanced",
            "9,000,000 nL more than the 1,000,000 nL taken",
        ),
        (lambda f: sample(f("W-7"), "1 cm2", "  "), "bad-request", "is empty"),
    ],
)  # fmt: skip
def test_what_cannot_be(find: Find, make: Callable[[Find], object], code: str, says: str) -> None:
    with pytest.raises(WoodrefError) as told:
        make(find)
    assert told.value.code == code and says in str(told.value)


@pytest.mark.parametrize("make", [
    lambda h: split(h, "13 leaves", ["X=13 leaves"]),
    lambda h: sand(h, "13 leaves", "0.5 mm", "X"),
    lambda h: sample(h, "13 leaves", "lab"),
])  # fmt: skip
def test_no_more_than_there_is(shelf: Store, find: Find, make: Callable[[Held], object]) -> None:
    head = shelf.head()
    with pytest.raises(WoodrefError) as told:
        shelf.record([make(find("W-7")).event])  # type: ignore[attr-defined]
    assert told.value.code == "overdrawn" and shelf.head() == head
