"""Older events put right by command: what it was, what it is now, what changes; the older event stays."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance.book import Book
from woodref.provenance.correcting import correct
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

WHEN = "2025-11-05T09:00:00+01:00"


def test_more_glue_was_mixed(full: Store) -> None:
    # step S4 of the scenario: E13 took 320,000 mg of glue and not 300,000
    done = correct(full.book(), "E13", False, in_=["G-1=320 g"], note="weighed again", time=WHEN)
    full.record([done.event])
    assert full.balance("G-1") == 9_060_000
    kept = full.event("E13")
    assert kept is not None and [s.qty for s in kept.in_ if s.lot == "G-1"] == [300_000]
    now = full.book().event("E13", "test")
    assert [(s.lot, s.qty, s.plies) for s in now.in_] == [
        ("L-H2", 270_480, 1), ("L-I", 1_085_600, 4), ("L-K", 271_400, 1), ("G-1", 320_000, 1)
    ]  # fmt: skip
    assert [(s.lot, s.qty) for s in now.waste] == [("L-I", 3_680), ("L-K", 920)]
    assert done.sentences == [
        "Corrected E13 (pressed on 2025-10-08).",
        "It was: in L-H2 270,480 mm2, L-I 1,085,600 mm2 in 4 plies, L-K 271,400 mm2, G-1 300,000 mg; out P-2 "
        "270,480 mm2; waste L-I 3,680 mm2, L-K 920 mm2.",
        "Now: in L-H2 270,480 mm2, L-I 1,085,600 mm2 in 4 plies, L-K 271,400 mm2, G-1 320,000 mg; out P-2 "
        "270,480 mm2; waste L-I 3,680 mm2, L-K 920 mm2.",
        "G-1: 20,000 mg less; on hand now 9.06 kg (9,060,000 mg).",
    ]
    assert done.event.more["note"] == "weighed again" and check_book(full).sound


def test_an_event_that_did_not_occur_gives_its_wood_back(full: Store) -> None:
    done = correct(full.book(), "E19", True, note="the leaves were found", time=WHEN)
    full.record([done.event])
    # by hand: 17,000,000 + 500,000 mm2
    assert full.balance("L-A") == 17_500_000
    assert done.sentences[2:] == [
        "Now: it did not occur.", "L-A: 500,000 mm2 more; on hand now 17.5 m2 (17,500,000 mm2)."
    ]  # fmt: skip
    with pytest.raises(WoodrefError) as told:
        correct(full.book(), "E19", True, note="again")
    assert told.value.code == "bad-state" and "did not occur" in str(told.value)
    with pytest.raises(WoodrefError) as told:
        correct(full.book(), done.event.id, True, note="again")
    assert told.value.code == "bad-shape" and "Correct the event itself once more" in str(told.value)
    assert check_book(full).sound


def test_a_lot_that_was_never_made_is_struck(full: Store, make: Callable[..., Event]) -> None:
    full.record([make("X", "cut", in_=[("L-A", 100)], out=[("NEW", 100)])])
    done = correct(full.book(), "X", True, note="not done", time=WHEN)
    full.record([done.event])
    assert "Struck from the book: NEW." in done.sentences and full.balance("NEW") is None
    assert not any(line.startswith("NEW:") for line in done.sentences)


def test_a_reading_taken_back_is_named(full: Store, make: Callable[..., Event]) -> None:
    full.record([make("X", "annotate", lot="L-A", moisture={"permille": 85, "by": "meter"}, shelf="A1")])
    done = correct(full.book(), "X", True, note="wrong lot", time=WHEN)
    assert done.sentences[1:] == [
        'It was: of L-A moisture 8.5 %, shelf "A1".', "Now: it did not occur.", "No amount changes."
    ]  # fmt: skip
    with pytest.raises(WoodrefError, match="has no amounts to correct"):
        correct(full.book(), "X", False, ["L-A=1 cm2"], note="no amounts there", time=WHEN)


def test_a_closer_name_and_a_paper_taken_back_are_told(full: Store, make: Callable[..., Event]) -> None:
    lots = {"Q": {"form": "veneer", "thickness_um": 600, "genus": "Dalbergia"}}
    paper = {"id": "D-Q", "kind": "invoice", "lot": "Q"}
    full.record([make("R", "receive", out=[("Q", 100)], lots=lots, documents=[paper])])
    full.record([make("N", "narrow", lot="Q", species="Dalbergia latifolia", identified_by="eye")])
    done = correct(full.book(), "N", True, note="seen again", time=WHEN)
    assert done.sentences[1] == 'It was: of Q wood "Dalbergia latifolia".'
    assert "Q is told as Dalbergia spp." in done.sentences
    full.record([done.event])
    done = correct(full.book(), "R", True, note="sent back", time=WHEN)
    assert done.sentences[-2:] == ["Struck from the book: Q.", "Papers that are gone with it: D-Q."]
    full.record([done.event])
    assert check_book(full).sound


def test_an_item_that_was_not_shipped(full: Store) -> None:
    done = correct(full.book(), "E20", True, note="it stands here", time=WHEN)
    assert "STOOL-001 is closed again." in done.sentences


def test_a_second_correction_goes_by_the_first(full: Store) -> None:
    full.record([correct(full.book(), "E13", False, ["G-1=320 g"], note="a", time=WHEN).event])
    done = correct(full.book(), "E13", False, ["G-1=330 g"], note="b", time=WHEN)
    assert "G-1 320,000 mg" in done.sentences[1] and "10,000 mg less" in done.sentences[3]
    full.record([done.event])
    assert full.balance("G-1") == 9_050_000


def test_waste_that_was_none(full: Store, make: Callable[..., Event]) -> None:
    full.record([make("X", "cut", in_=[("L-A", 100)], out=[("N", 60)], waste=[("L-A", 40)])])
    book = full.book()
    full.record([correct(book, "X", False, [], ["N=100 mm2"], ["L-A=none"], note="whole", time=WHEN).event])
    assert full.balance("N") == 100 and check_book(full).sound


@pytest.mark.parametrize(
    ("act", "code", "says"),
    [
        (lambda b: correct(b, "E06", True), "in-use", "E08, E13, E15, E18 use its output"),
        (lambda b: correct(b, "E99", True), "unknown-event", "E99"),
        (lambda b: correct(b, "E05", False), "bad-request", "nothing is told to put right"),
        (lambda b: correct(b, "E05", True, ["L-B=1 m2"]), "bad-request", "did not occur has no figures"),
        (lambda b: correct(b, "E05", False, ["L-B"]), "bad-request", "not understood"),
        (lambda b: correct(b, "E05", False, ["L-A=none"]), "bad-request", "L-A has no part in it"),
        (lambda b: correct(b, "E05", False, ["L-ZZ=1 m2"]), "unknown-lot", "L-ZZ"),
        (lambda b: correct(b, "E05", False, ["L-B=721000 mm2"]), "unbalanced", "Tell the waste too"),
        (lambda b: correct(b, "E05", False, ["L-B=3 kg"]), "no-unit", "counted in mm2"),
        (lambda b: correct(b, "E19", False, ["L-A=100 m2"], [], ["L-A=100 m2"]), "overdrawn", "L-A"),
        (lambda b: correct(b, "E05", False, [], ["L-G=1 m2"]), "bad-shape", "makes no other lots"),
    ],
)
def test_what_cannot_be(full: Store, act: Callable[[Book], object], code: str, says: str) -> None:
    head = full.head()
    with pytest.raises(WoodrefError) as told:
        act(full.book())
    assert told.value.code == code and says in str(told.value) and full.head() == head
