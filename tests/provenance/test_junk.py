"""Files of events that are wrong somewhere: the scenario with one value of it replaced by junk. Either the
book refuses with a sentence and nothing changes, or it can be read and checked afterwards."""

import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest

from woodref.errors import WoodrefError
from woodref.provenance.importing import events_of, record_placed
from woodref.provenance.items import all_items, one_item
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.traced import trace_back, trace_forth
from woodref.provenance.verify import check_book

SCENARIO = json.loads((Path(__file__).parent / "data" / "scenario.json").read_text())
JUNK = (
    None, True, 0, -1, 2**60, "", [], {}, "x", [1], ["x"], {"a": 1}, "\ud800", [[1]], "2025-99-99",
    {"lot": "x"}, "é" * 100, "a\nb",
)  # fmt: skip
#: keys that the scenario does not use, or not everywhere
BESIDE = (
    "leaf_mm", "leaves", "offset", "shelf", "one_of", "genus", "countries", "composition", "identified_by",
    "leaf_notes", "document", "documents", "lots", "form", "thickness_um", "plot", "until", "serial", "label",
    "note", "kind", "unit", "acquired", "wood_share_permille", "density_kg_m3", "trade", "tier", "file",
    "covers_qty", "cut", "flitch",
)  # fmt: skip


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    entries = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    return [*([path] if path else []), *(p for key, entry in entries for p in _paths(entry, (*path, key)))]


PATHS = _paths(SCENARIO)


def _spoilt(rnd: random.Random) -> tuple[Any, tuple[Any, ...], Any]:
    whole, path, junk = copy.deepcopy(SCENARIO), rnd.choice(PATHS), rnd.choice(JUNK)
    at = whole
    for step in path[:-1]:
        at = at[step]
    if isinstance(at, dict) and rnd.random() < 0.35:
        path = (*path[:-1], rnd.choice(BESIDE))
    at[path[-1]] = junk
    return whole, path, junk


@pytest.mark.parametrize("seed", range(12))
def test_a_spoilt_file_is_refused_in_words_or_leaves_a_readable_book(seed: int, tmp_path: Path) -> None:
    rnd = random.Random(seed)
    refused = 0
    for number in range(25):
        whole, path, junk = _spoilt(rnd)
        with Store(f"sqlite:///{tmp_path}/{number}.sqlite") as store:
            before = store.head()
            try:
                record_placed(store, events_of(json.dumps(whole).encode(), "events.json"))
            except WoodrefError as fault:
                refused += 1
                assert str(fault).strip(), (path, junk)
                assert store.head() == before, (path, junk)
                continue
            _read_everything(store)
            report = check_book(store)
            assert report.sound, (path, junk, report.sentences())
    # the junk is junk: by far most of it has to be refused
    assert refused > 10


def _read_everything(store: Store) -> None:
    for held in on_hand(store, everything=True).rows:
        assert one_lot(store, held.lot.id).sentences()
        assert trace_forth(store, held.lot.id).table()
    for item, _ in all_items(store).rows:
        assert one_item(store, item.id).sentences()
        traced = trace_back(store, item.id)
        assert traced.table() and traced.sentences() and traced.as_dict()


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ('{"events": [{"id": "A", "id": "B"}]}', 'the key "id" stands twice in one mapping'),
        ('{"events": [], "events": []}', 'the key "events" stands twice'),
        ('{"events": [' + "9" * 5000 + "]}", "a number of thousands of digits"),
        ('{"events": [1.' + "9" * 5000 + "]}", "9…\" is no whole number"),
        ("id,time,kind,in\nA,2026-01-01T00:00:00Z,scrap,L 1 mm2,M 2 mm2\n", "line 2: it has 5 cells under 4"),
        ("id,time,kind,in,in\nA,2026-01-01T00:00:00Z,scrap,L 1 mm2,M 2 mm2\n", "its first line is"),
        ("id,time,kind,in\nA,2026-01-01T00:00:00Z,scrap,L " + "9" * 5000 + " mm2\n", "is no share"),
    ],
    ids=["key twice", "list twice", "digits", "after a point", "cell too many", "column twice", "share"],
)  # fmt: skip
def test_nothing_that_is_written_is_lost_or_guessed(body: str, says: str) -> None:
    with pytest.raises(WoodrefError) as refused:
        events_of(body.encode(), "events")
    assert says in str(refused.value)
    assert len(str(refused.value)) < 300


def test_lots_that_no_event_makes_are_named_up_to_ten() -> None:
    body = json.dumps({"events": [], "lots": [{"id": f"A{n:02}"} for n in range(13)]})
    with pytest.raises(WoodrefError, match=r"no event makes lot A00, .*, A09 and 3 more\."):
        events_of(body.encode(), "events")
