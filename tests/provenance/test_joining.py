"""Leaves jointed and plies pressed by command: what goes in, less the waste, comes out, to the mm2."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance.book import Held
from woodref.provenance.joining import joint, press
from woodref.provenance.receiving import received
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book

WHEN = "2026-01-05T09:00:00+01:00"
SHEET = "1 sheet of 490 x 350 mm"
Find = Callable[[str], Held]


@pytest.fixture
def shelf(store: Store) -> Store:
    """Faces of two flitches, birch, and glue."""
    said = (
        ("F-1", "4 leaves of 490 x 180 mm, 0.6 mm", "veneer", "Dalbergia latifolia"),
        ("F-2", "4 leaves of 490 x 180 mm, 0.6 mm", "veneer", "Dalbergia latifolia"),
        ("BIRCH", "4 leaves of 490 x 360 mm, 1.5 mm", "veneer", "Betula pendula"),
        ("UF", "10 kg", "adhesive", None),
    )
    for lot, amount, form, species in said:
        store.record([received(lot, amount, form, time=WHEN, species=species)[0]])
    return store


@pytest.fixture
def find(shelf: Store) -> Find:
    return lambda lot: shelf.book().lot(lot, "test")


def test_two_leaves_of_one_lot(shelf: Store, find: Find) -> None:
    done = joint(find, "S", SHEET, ["F-1=2 leaves"])
    shelf.record([done.event])
    # by hand: 2 x 490 x 180 = 176,400; the sheet 490 x 350 = 171,500; trimmed 4,900
    assert [s.qty for s in done.event.waste] == [4_900]
    assert (shelf.balance("S"), shelf.balance("F-1")) == (171_500, 176_400)


def test_leaves_of_two_lots_want_the_waste_of_each(shelf: Store, find: Find) -> None:
    of = ["F-1=1 leaf", "F-2=1 leaf"]
    with pytest.raises(WoodrefError, match="4,900 mm2 are left over"):
        joint(find, "S", SHEET, of)
    shelf.record([joint(find, "S", SHEET, of, ["F-2=4900 mm2"]).event])
    shares = {r.held.lot.id: r.net * 171_500 for r in whence(shelf, "S")}
    assert shares == {"F-1": 88_200, "F-2": 83_300}
    assert check_book(shelf).sound


def test_a_panel_of_five_plies(shelf: Store, find: Find) -> None:
    shelf.record([joint(find, "S", SHEET, ["F-1=2 leaves"]).event])
    done = press(find, "P", SHEET, ["S", "BIRCH=4"], ["UF=60 g"], ["BIRCH=4 leaves"])
    shelf.record([done.event])
    # by hand: 4 x 490 x 360 = 705,600 taken; 4 plies of 171,500 = 686,000; 19,600 trimmed
    assert [(s.lot, s.qty) for s in done.event.waste] == [("BIRCH", 19_600)]
    assert [shelf.balance(lot) for lot in ("P", "S", "BIRCH", "UF")] == [171_500, 0, 0, 9_940_000]
    plies = {r.held.lot.id: r.net for r in whence(shelf, "P") if not r.used}
    assert plies == {"F-1": 1, "BIRCH": 4}
    assert check_book(shelf).sound


def test_no_glue_told_is_said(find: Find) -> None:
    assert any("No glue is told" in line for line in press(find, "P", "1 cm2", ["BIRCH"]).sentences)


@pytest.mark.parametrize(
    ("make", "code", "says"),
    [
        (lambda f: joint(f, "S", SHEET, ["F-1=1 leaf"]), "unbalanced", "83,300 mm2 are wanting"),
        (lambda f: joint(f, "S", SHEET, ["F-1"]), "bad-request", "not understood"),
        (
            lambda f: joint(f, "S", SHEET, ["F-1=2 leaves"], ["F-2=1 cm2"]),
            "bad-request",
            "F-2 is not jointed",
        ),
        (lambda f: joint(f, "S", SHEET, ["NO=2 leaves"]), "unknown-lot", "NO"),
        (lambda f: press(f, "P", SHEET, ["BIRCH=x"]), "bad-amount", "no number of plies"),
        (lambda f: press(f, "P", SHEET, ["BIRCH=0"]), "bad-amount", "no number of plies"),
        (lambda f: press(f, "P", "3 kg", ["BIRCH"]), "no-unit", "no area"),
        (lambda f: press(f, "P", SHEET, ["BIRCH"], ["F-1=1 cm2"]), "bad-request", "no glue"),
        (lambda f: press(f, "P", SHEET, ["BIRCH"], [], ["F-1=1 cm2"]), "bad-request", "F-1 is no ply"),
        (lambda f: press(f, "P", SHEET, ["BIRCH"], [], ["BIRCH=1 cm2"]), "unbalanced", "100 were taken"),
        (lambda f: press(f, "P", SHEET, ["BIRCH", "BIRCH=2"]), "bad-request", "told twice"),
    ],
)
def test_what_cannot_be(find: Find, make: Callable[[Find], object], code: str, says: str) -> None:
    with pytest.raises(WoodrefError) as told:
        make(find)
    assert told.value.code == code and says in str(told.value)


def test_more_plies_than_there_is_wood_for(shelf: Store, find: Find) -> None:
    head = shelf.head()
    with pytest.raises(WoodrefError) as told:
        shelf.record([press(find, "P", SHEET, ["BIRCH=5"]).event])
    assert told.value.code == "overdrawn" and shelf.head() == head
