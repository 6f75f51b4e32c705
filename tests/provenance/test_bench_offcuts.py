"""Offcuts worth keeping and odd yields: told, never refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.errors import WoodrefError
from woodref.provenance import working
from woodref.provenance.book import Held
from woodref.provenance.joining import joint, press
from woodref.provenance.receiving import received
from woodref.provenance.store import Store

WHEN = "2026-01-05T09:00:00+01:00"
LATER = "2026-01-06T09:00:00+01:00"
Find = Callable[[str], Held]


@pytest.fixture
def find(store: Store) -> Find:
    """Twelve leaves, of one flitch."""
    told = {"species": "Betula pendula", "flitch": "33", "bundle": "B2", "cut": "crown"}
    said = "12 leaves of 1000 x 200 mm, 0.6 mm"
    store.record([received("W", said, "veneer", time=WHEN, **told)[0]])  # type: ignore[arg-type]
    return lambda lot: store.book().lot(lot, "test")


@pytest.mark.parametrize(
    ("taken", "kept", "codes"),
    [
        # by hand, of a leaf of 200,000 mm2: an offcut is over 15,000 mm2 and over a tenth of what was cut
        ("1 leaf", "185000 mm2", []),
        ("1 leaf", "180000 mm2", []),
        ("1 leaf", "179999 mm2", ["offcut"]),
        ("15001 mm2", "1 mm2", ["low-yield"]),
        ("15002 mm2", "1 mm2", ["low-yield", "offcut"]),
        ("1 leaf", "100000 mm2", ["offcut"]),
        ("1 leaf", "99999 mm2", ["low-yield", "offcut"]),
        ("1 leaf", "200000 mm2", []),
    ],
)
def test_the_bands_at_their_edges(find: Find, taken: str, kept: str, codes: list[str]) -> None:
    done = working.cut(find("W"), taken, [f"F={kept}"])
    assert [n.code for n in done.notices] == codes
    for notice in done.notices:
        assert "shop rule" in notice.message


def test_a_named_offcut_is_a_lot_and_ends_the_question(store: Store, find: Find) -> None:
    done = working.cut(
        find("W"), "2 leaves", ["F=2 leaves of 490 x 180 mm"], ["O=1 leaf of 600 x 180 mm"], time=LATER
    )
    store.record([done.event])
    # by hand: 400,000 - 176,400 - 108,000 = 115,600 mm2
    assert [s.qty for s in done.event.waste] == [115_600] and store.balance("O") == 108_000
    assert "Offcut O: 1 leaf of 600 x 180 mm (108,000 mm2)." in done.sentences and not done.notices
    lot = find("O").lot
    assert (lot.told["flitch"], lot.told["bundle"], lot.told["cut"]) == ("33", "B2", "crown")


def test_a_small_offcut_is_kept_all_the_same(store: Store, find: Find) -> None:
    done = working.cut(find("W"), "1 leaf", ["F=150000 mm2"], ["O=1 leaf of 300 x 100 mm"], time=LATER)
    assert [n.code for n in done.notices] == ["small-offcut"]
    store.record([done.event])
    assert store.balance("O") == 30_000


def test_what_is_left_may_be_waste(find: Find) -> None:
    assert not working.cut(find("W"), "1 leaf", ["F=150000 mm2"], no_offcut=True).notices


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"offcut": ["O=1 cm2"], "no_offcut": True}, "says there is none"),
        ({"offcut": ["F=1 cm2"]}, "as piece and as offcut"),
        ({"offcut": ["O"]}, "not understood"),
        ({"offcut": ["O=1 leaf of 1200 x 150 mm"]}, "cannot be cut from leaves"),
        ({"offcut": ["O=60000 mm2"]}, "10,000 mm2 more than"),
    ],
)
def test_what_cannot_be(find: Find, more: dict[str, object], says: str) -> None:
    with pytest.raises(WoodrefError) as told:
        working.cut(find("W"), "1 leaf", ["F=150000 mm2"], **more)  # type: ignore[arg-type]
    assert says in str(told.value)


def test_jointing_and_pressing_tell_a_low_yield(store: Store, find: Find) -> None:
    poor = joint(find, "S", "1 sheet of 800 x 350 mm", ["W=2 leaves"], time=LATER)
    # by hand: 280,000 of 400,000 mm2 are 70 %
    assert "70 %" in poor.notices[0].message and poor.notices[0].code == "low-yield"
    store.record([poor.event])
    assert find("S").lot.told["flitch"] == "33"
    poor = press(find, "P", "1 sheet of 400 x 350 mm", ["S"], taken=["S=280000 mm2"])
    assert [n.code for n in poor.notices] == ["low-yield"] and "50 %" in poor.notices[0].message
    assert not press(find, "P", "1 sheet of 400 x 350 mm", ["S"]).notices
