"""What is found out later of a lot: words, shelf, moisture, a closer name; found again from the events."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from woodref.errors import WoodrefError
from woodref.provenance import noting, working
from woodref.provenance.book import Held
from woodref.provenance.joining import press
from woodref.provenance.latest import NOTHING, last_reading, noted, reading_for, shelf_of
from woodref.provenance.receiving import received
from woodref.provenance.shapes import Event
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

WHEN = "2026-01-05T09:00:00+01:00"
Make = Callable[..., Event]


def day(number: int) -> str:
    return f"2026-01-{number:02}T09:00:00Z"


@pytest.fixture
def shelf(store: Store) -> Store:
    """Birch that came with a reading, a board nobody knows the wood of, glue."""
    more: dict[str, Any] = {
        "species": "Betula pendula",
        "moisture": "7 %",
        "moisture_by": "paper",
        "shelf": "A1",
    }
    store.record([received("W", "10 leaves of 1000 x 200 mm, 0.6 mm", "veneer", time=WHEN, **more)[0]])
    store.record([received("Q", "1 m2", "veneer", "0.6 mm", time=WHEN, genus="Dalbergia", words="rose?")[0]])
    store.record([received("UF", "10 kg", "adhesive", time=WHEN)[0]])
    return store


def held(store: Store, lot: str = "W") -> Held:
    return store.book().lot(lot, "test")


def test_the_last_reading_is_the_one_that_happened_last(shelf: Store) -> None:
    first = last_reading(held(shelf))
    assert first is not None and (first.permille, first.by, first.at) == (70, "paper", "2026-01-05T08:00:00Z")
    shelf.record([noting.moisture(held(shelf), "8.5 %", "meter", time=day(9)).event])
    # written down later, and of an earlier day
    shelf.record([noting.moisture(held(shelf), "12 %", "oven", time=day(7)).event])
    found = last_reading(held(shelf), noted(shelf)["W"])
    assert found is not None and (found.permille, found.by, found.at) == (85, "meter", day(9))
    assert on_hand(shelf, "birch", woods=["Betula pendula"]).table()[1][0][-2:] == ["8.5 %", "A1"]
    assert on_hand(shelf).as_dict()["rows"][-1]["moisture"] == {
        "lot": "W", "permille": 85, "by": "meter", "at": day(9)
    }  # fmt: skip
    assert "Moisture: 8.5 % on 2026-01-09, by meter." in one_lot(shelf, "W").sentences()
    assert check_book(shelf).sound


def test_a_reading_that_was_taken_back_is_gone(shelf: Store, make: Make) -> None:
    wrong = noting.moisture(held(shelf), "19 %", "meter", time=day(9)).event
    shelf.record([wrong])
    shelf.record([make("X", "correct", corrects=wrong.id, reason="did_not_occur", time=day(10))])
    found = last_reading(held(shelf), noted(shelf).get("W", NOTHING))
    assert found is not None and found.permille == 70


def test_notes_of_an_older_lot_of_that_id_are_not_taken_over(shelf: Store, make: Make) -> None:
    shelf.record([noting.moisture(held(shelf), "19 %", "meter", time=day(9)).event])
    first = held(shelf).by
    shelf.record([make("X", "correct", corrects=first, reason="did_not_occur", time=day(10))])
    shelf.record([received("W", "1 m2", "veneer", "0.6 mm", time=day(11), words="new")[0]])
    assert noted(shelf).get("W") is None and last_reading(held(shelf)) is None


def test_what_is_cut_has_the_reading_of_what_it_was_cut_from(shelf: Store) -> None:
    shelf.record([working.cut(held(shelf), "2 leaves", ["F=4 leaves of 400 x 200 mm"], time=day(8)).event])
    shelf.record([noting.moisture(held(shelf), "11 %", "meter", time=day(9)).event])
    found = reading_for(shelf, held(shelf, "F"))
    # the 11 % were read after the leaves had left the lot
    assert found is not None and (found.lot, found.permille) == ("W", 70)
    told = one_lot(shelf, "F")
    assert "Moisture: 7 % on 2026-01-05, by paper, read on W, of which it was made." in told.sentences()
    assert told.as_dict()["lot"]["moisture"]["lot"] == "W"
    shelf.record([noting.moisture(held(shelf, "F"), "9.5 %", "meter", time=day(10)).event])
    found = reading_for(shelf, held(shelf, "F"))
    assert found is not None and (found.lot, found.permille) == ("F", 95)
    assert reading_for(shelf, held(shelf, "Q")) is None


def test_glue_brings_water_so_a_panel_has_no_reading(shelf: Store) -> None:
    shelf.record([press(lambda lot: held(shelf, lot), "P", "1 cm2", ["W=3"], time=day(8)).event])
    assert reading_for(shelf, held(shelf, "P")) is None


def test_a_lot_moves_and_is_found_where_it_lies(shelf: Store) -> None:
    done = noting.move(held(shelf), "rack 2", shelf_of(held(shelf)), time=day(9))
    shelf.record([done.event])
    assert done.sentences == ["W lies on rack 2. Till now: A1."]
    assert [h.lot.id for h in on_hand(shelf, "RACK 2").rows] == ["W"]
    assert not on_hand(shelf, "A1").rows
    assert "Shelf: rack 2." in one_lot(shelf, "W").sentences()
    assert noting.move(held(shelf, "Q"), "rack 3", None).sentences == ["Q lies on rack 3."]


def test_words_are_told_with_their_day(shelf: Store) -> None:
    done = noting.note(held(shelf), "the top leaf has  darkened", time=day(9))
    shelf.record([done.event])
    assert done.sentences == ["Noted of W: the top leaf has darkened."]
    assert "Noted on 2026-01-09: the top leaf has darkened." in one_lot(shelf, "W").sentences()
    assert one_lot(shelf, "W").as_dict()["notes"] == [{"at": day(9), "note": "the top leaf has darkened"}]


def test_a_closer_name(shelf: Store) -> None:
    done = noting.identify(shelf.book(), "Q", "Dalbergia latifolia", "microscopy", time=day(9))
    shelf.record([done.event])
    assert done.sentences == [
        "Q is Dalbergia latifolia (identified under the microscope). Till now it was told as: Dalbergia spp."
    ]
    assert held(shelf, "Q").lot.species == "Dalbergia latifolia"
    shelf.record([working.cut(held(shelf, "Q"), "1 m2", ["R=1 m2"], time=day(10)).event])
    again = noting.identify(shelf.book(), "Q", "Dalbergia latifolia", "other-test", time=day(11))
    assert "made of it before keeps" in again.sentences[1]
    head = shelf.head()
    with pytest.raises(WoodrefError, match="Fagus sylvatica is none of them"):
        shelf.record([noting.identify(shelf.book(), "Q", "Fagus sylvatica", "eye", time=day(12)).event])
    assert shelf.head() == head


@pytest.mark.parametrize(
    ("act", "code", "says"),
    [
        (lambda s: noting.note(held(s), " "), "bad-request", "is empty"),
        (lambda s: noting.move(held(s), "", None), "bad-request", "is empty"),
        (lambda s: noting.moisture(held(s), "8 %", " "), "bad-request", "is empty"),
        (lambda s: noting.moisture(held(s), "0 %", "meter"), "out-of-range", "no moisture of wood"),
        (lambda s: noting.moisture(held(s), "wet", "meter"), "bad-quantity", "begin with a number"),
        (lambda s: noting.moisture(held(s, "UF"), "8 %", "meter"), "bad-request", "UF is adhesive"),
        (
            lambda s: noting.identify(s.book(), "Q", "Dalbergia latifola", "eye"),
            "unknown-species",
            "catalogue",
        ),
        (lambda s: noting.identify(s.book(), "NO", "Betula pendula", "eye"), "unknown-lot", "NO"),
    ],
)
def test_what_cannot_be(shelf: Store, act: Callable[[Store], object], code: str, says: str) -> None:
    with pytest.raises(WoodrefError) as told:
        act(shelf)
    assert told.value.code == code and says in str(told.value)


@pytest.mark.parametrize(
    "more",
    [
        {"lot": "W", "moisture": 85}, {"lot": "W", "moisture": {"permille": 8.5}},
        {"lot": "W", "moisture": {"permille": True}}, {"lot": "W", "moisture": {"permille": 0}},
        {"lot": "W", "moisture": {"by": "meter"}}, {"lot": "W", "moisture": {"permille": 85, "at": "x"}},
        {"lot": "W", "moisture": {"permille": 85, "by": 3}}, {"moisture": {"permille": 85}},
        {"shelf": "A1"}, {"lot": "W", "shelf": 3}, {"lot": "W", "shelf": " "},
    ],
)  # fmt: skip
def test_a_note_of_a_file_is_read_strictly(shelf: Store, make: Make, more: dict[str, Any]) -> None:
    head = shelf.head()
    with pytest.raises(WoodrefError):
        shelf.record([make("X", "annotate", **more)])
    assert shelf.head() == head


def test_a_damp_sheet_is_told_and_solid_wood_is_not(shelf: Store) -> None:
    shelf.record([received("LOG", "1 l", "sawn", time=WHEN, species="Betula pendula")[0]])
    assert [n.code for n in noting.moisture(held(shelf), "12 %", "meter").notices] == ["moisture-off"]
    assert not noting.moisture(held(shelf), "9 %", "meter").notices
    assert not noting.moisture(held(shelf, "LOG"), "30 %", "meter").notices
