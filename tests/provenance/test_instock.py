"""What the shelf holds for a job: the scenario after E20, counted by hand, and what each lot lacks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.provenance.instock import InStock, in_stock
from woodref.provenance.shelf import SOLID, Job
from woodref.provenance.store import Store
from woodref.selection.find import Query, find
from woodref.selection.onhand import OnHand
from woodref.selection.request import Piece, Request
from woodref.selection.substitutes import substitutes

ON = dt.date(2026, 1, 15)
NAMES = {"SI": "Slovenia", "IN": "India", "FI": "Finland"}
SEAT = Piece(490, 460, 2)


def asked(store: Store, piece: Piece | None = SEAT, pieces: int = 4, **more: Any) -> InStock:
    return in_stock(store, Job(piece, pieces, **more), NAMES)


def counts(found: InStock) -> dict[str, tuple[int | None, int | None]]:
    return {f.held.lot.id: (f.count.leaves if f.count else None, f.free) for f in found.fits}


def codes(found: InStock) -> dict[str, str]:
    return {m.held.lot.id: m.code for m in found.misses}


def test_four_seat_sheets_from_the_shelf(full: Store) -> None:
    # L-A: 34 of 40 leaves of 2000 x 250 are left; 460 takes 2 side by side, 4 lengths to a leaf: 2 leaves.
    # L-B: 10 of 12 leaves of 1800 x 200; 3 side by side, 3 lengths, so two groups of 3. L-E: 18 of 20 sheets
    # of 1200 x 1200, each of which gives 2 x 2. L-C: 2 of 3 leaves, and 6 are wanted.
    found = asked(full)
    assert counts(found) == {"L-A": (2, 34), "L-B": (6, 10), "L-E": (1, 18)}
    assert codes(found) == {
        "L-C": "short", "L-D": "engineered", "L-K": "engineered", "L-F": "no-size", "L-G": "no-size",
        "L-J": "no-size",
    }  # fmt: skip
    (short,) = [m.sentence for m in found.misses if m.code == "short"]
    assert short == "L-C (Dalbergia latifolia): 4 pieces take 6 leaves, and 2 are free: short by 4 leaves."


@pytest.mark.parametrize(
    ("piece", "pieces", "lot", "code", "says"),
    [
        (Piece(490, 460, 1), 1, "L-B", "too-narrow", "3 side by side with 2 joints, and you allow 1 joint."),
        (Piece(490, 460, 0), 1, "L-B", "too-narrow", "and you allow none."),
        (Piece(1801, 100, 0), 1, "L-B", "too-short", "its leaves are 1800 mm long and a piece takes 1801 mm"),
        (Piece(1800, 200, 0), 11, "L-B", "short", "take 11 leaves, and 10 are free: short by 1 leaf."),
        (SEAT, 12, "L-B", "short", "short by 2 leaves."),
        # a lot of 10: 13 pieces in sequence take 5 groups of 3, unmatched 39 strips of 3 to a leaf
        (SEAT, 13, "L-B", "short", "take 15 leaves, and 10 are free: short by 5 leaves."),
    ],
)  # fmt: skip
def test_what_a_lot_lacks_is_told_with_its_figures(
    full: Store, piece: Piece, pieces: int, lot: str, code: str, says: str
) -> None:
    (miss,) = [m for m in asked(full, piece, pieces).misses if m.held.lot.id == lot]
    assert miss.code == code and says in miss.sentence


def test_unmatched_leaves_that_would_do_are_named(full: Store) -> None:
    # 10 pieces of 3 strips: in sequence 4 groups of 3 = 12 leaves; unmatched 30 strips, 3 to a leaf = 10
    (miss,) = [m for m in asked(full, SEAT, 10).misses if m.held.lot.id == "L-B"]
    assert miss.sentence.endswith(
        "take 12 leaves, and 10 are free: short by 2 leaves; unmatched, 10 would do."
    )
    assert counts(asked(full, SEAT, 10, matched=False))["L-B"] == (10, 10)


def test_reserved_leaves_are_not_free(full: Store, make: Callable[..., Any]) -> None:
    full.record([make("R1", "reserve", lot="L-B", qty=5 * 1800 * 200)])
    (miss,) = [m for m in asked(full).misses if m.held.lot.id == "L-B"]
    assert miss.code == "reserved"
    assert "4 pieces take 6 leaves, and of 10 on hand 5 are reserved: short by 1 leaf" in miss.sentence
    full.record([make("R2", "release", reservation="R1")])
    assert counts(asked(full))["L-B"] == (6, 10)
    full.record([make("R3", "reserve", lot="L-B", qty=3_600_000)])
    (miss,) = [m for m in asked(full, None, 1).misses if m.held.lot.id == "L-B"]
    assert (miss.code, miss.sentence) == ("reserved", "L-B (Dalbergia latifolia): all of it is reserved.")


def received(make: Callable[..., Any], name: str, **facts: Any) -> Any:
    told = {"form": "veneer", "thickness_um": 600, "leaf_mm": [1800, 500], "leaves": 10} | facts
    return make(f"E-{name}", "receive", out=[(name, 9_000_000)], lots={name: told})


def test_the_shelf_is_the_last_one_that_was_noted(full: Store, make: Callable[..., Any]) -> None:
    full.record([received(make, "S-1", species="Fagus sylvatica", shelf="A-3")])

    def told() -> str:
        found = asked(full)
        (fit,) = [f for f in found.fits if f.held.lot.id == "S-1"]
        return found.fit_words(fit)

    assert told().startswith("S-1 (Fagus sylvatica), shelf A-3: 10 leaves of 1800 x 500 mm are free")
    full.record([make("A-1", "annotate", lot="S-1", shelf="C-1", time="2025-11-04T09:00:00+01:00")])
    assert told().startswith("S-1 (Fagus sylvatica), shelf C-1:")


def test_a_lot_that_nobody_has_named_never_holds_the_job(full: Store, make: Callable[..., Any]) -> None:
    full.record([
        received(make, "N-1", trade="dark, no label"),
        received(make, "N-2", one_of=["Fagus sylvatica", "Betula pendula"]),
    ])  # fmt: skip
    found = asked(full)
    assert {"N-1", "N-2"} <= codes(found).keys() and "N-1" not in counts(found)
    told = [m.sentence for m in found.misses if m.code == "unidentified"]
    assert "dark, no label" in told[0] and "one of Fagus sylvatica, Betula pendula" in told[1]
    # whatever wood was asked for, it may be one of these
    assert [m.held.lot.id for m in found.left_out(["Acer rubrum"], [])] == [
        "N-1",
        "N-2",
    ]


def test_what_is_on_record_of_a_lot_goes_through_all_it_was_made_of(full: Store) -> None:
    found = asked(full, None, 1)
    by_lot = {f.held.lot.id: f.standing for f in found.fits}
    assert by_lot["L-B"].purchase == "documented" and by_lot["L-B"].countries == ("IN",)
    assert by_lot["L-J"].countries == ("SI",) and [p.id for p in by_lot["L-J"].papers] == ["D-01", "D-02"]
    assert by_lot["L-G"].purchase == "not known" and by_lot["L-G"].unknown and not by_lot["L-G"].papers
    assert by_lot["L-C"].sentence(NAMES) == (
        "Of its purchase nothing is known, and no paper is on record; where it grew is not known."
    )


def test_a_blend_stands_as_its_weakest_part(full: Store, make: Callable[..., Any]) -> None:
    # one strip of each: half of the sheet has its papers, half has none
    full.record([make("J1", "edge-join", in_=[("L-F", 92_000), ("L-G", 92_000)], out=[("L-X", 184_000)])])
    (mixed,) = [f.standing for f in asked(full, None, 1).fits if f.held.lot.id == "L-X"]
    assert mixed.purchase == "not known" and mixed.unknown and mixed.countries == ("IN",)
    assert mixed.sentence(NAMES).endswith("some of it grew in India, of the rest it is not known.")
    assert asked(full, None, 1).shelf()["Dalbergia latifolia"] == OnHand(frozenset({"IN"}), True)


def test_solid_roles_look_at_boards(full: Store, make: Callable[..., Any]) -> None:
    assert not asked(full, None, 1, forms=SOLID).fits
    full.record([received(make, "B-1", form="board", species="Fagus sylvatica", thickness_um=20000)])
    assert [f.held.lot.id for f in asked(full, None, 1, forms=SOLID).fits] == ["B-1"]


# --- selection is told of it in plain values


def test_find_holds_to_the_shelf_and_judges_by_where_the_lots_grew(full: Store, catalogue: Catalogue) -> None:
    shelf = asked(full).shelf()
    found = find(Query(in_stock=True), catalogue, ON, shelf)
    assert [r.material.id for r in found.rows] == ["betula-pendula", "dalbergia-latifolia", "fagus-sylvatica"]
    by_id = {r.material.id: r.origins for r in found.rows}
    assert by_id["fagus-sylvatica"].free == ("SI",) and set(by_id["dalbergia-latifolia"].listed) == {"IN"}
    assert "Acer rubrum" in found.not_held and "Fagus sylvatica" not in found.not_held
    free = find(Query(in_stock=True, not_listed=True), catalogue, ON, shelf)
    assert [r.material.id for r in free.rows] == ["betula-pendula", "fagus-sylvatica"]


def test_of_wood_whose_country_is_not_known_no_listing_is_ruled_out(catalogue: Catalogue) -> None:
    # mahogany is listed from the Neotropics and not from where it is planted in Asia and the Pacific
    name = "Swietenia macrophylla"
    for shelf, shown in (
        ({name: OnHand(frozenset({"FJ"}))}, True), ({name: OnHand(frozenset({"PE"}))}, False),
        ({name: OnHand(frozenset(), True)}, False),
    ):  # fmt: skip
        found = find(Query(in_stock=True, not_listed=True), catalogue, ON, shelf)
        assert bool(found.rows) is shown


@pytest.mark.parametrize(
    ("countries", "unknown", "group"), [({"FJ"}, False, "ranked"), ({"PE"}, False, "with_papers"),
                                        (set(), True, "cannot_say")],
)  # fmt: skip
def test_a_stand_in_is_placed_by_where_the_lot_grew(
    catalogue: Catalogue, countries: set[str], unknown: bool, group: str
) -> None:
    shelf = {"Swietenia macrophylla": OnHand(frozenset(countries), unknown)}
    request = Request("sapele", "face", ON, piece=SEAT, in_stock=True)
    answer = substitutes(request, resolve("sapele", catalogue, ON, None), catalogue, shelf=shelf)
    assert [r.material.id for r in getattr(answer, group)] == ["swietenia-macrophylla"]
    assert answer.not_held > 200


def test_leaves_at_hand_are_measured_and_not_those_usually_sold(catalogue: Catalogue) -> None:
    # no catalogue width bars what lies on the shelf: a piece of 3 m across in one leaf
    shelf = {"Fagus sylvatica": OnHand(frozenset({"SI"}))}
    request = Request("sapele", "face", ON, piece=Piece(490, 3000, 0), in_stock=True)
    answer = substitutes(request, resolve("sapele", catalogue, ON, None), catalogue, shelf=shelf)
    assert [r.material.id for r in answer.ranked] == ["fagus-sylvatica"]


def test_an_empty_shelf_is_told(catalogue: Catalogue) -> None:
    request = Request("sapele", "face", ON, in_stock=True)
    matched = resolve("sapele", catalogue, ON, None)
    answer = substitutes(request, matched, catalogue, shelf={}, why_not="fagus-sylvatica")
    assert "No wood on hand can stand in. Leave out --in-stock to see others." in answer.opening
    assert answer.why_not == ["European beech is not on hand in what is asked, or no lot of it is named."]
    with pytest.raises(BadRequest, match="for sheets"):
        substitutes(Request("sapele", "solid", ON, piece=SEAT, in_stock=True), matched, catalogue, shelf={})
