"""Hostile text in every place that takes words: quotes, NUL, right to left, signs that steer a screen,
formulas, a megabyte. It is kept letter by letter or refused in a sentence; nothing of it is ever obeyed."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from woodref.errors import WoodrefError
from woodref.provenance.importing import events_of, record_placed
from woodref.provenance.items import one_item
from woodref.provenance.shapes import event_of
from woodref.provenance.stock import on_hand, one_lot
from woodref.provenance.store import Store
from woodref.provenance.traced import trace_back
from woodref.provenance.verify import check_book

Run = Callable[..., Result]
WORDS = (
    "'; DROP TABLE event; --", '"', "\\", "\x00", "a\x00b", "\u202eevil", "\u200b", "\u200f", "😀",
    "=cmd|'/C calc'!A0", "+1", "@SUM(A1)", "<script>alert(1)</script>", "&amp;", "{{ 7*7 }}", "%s %n", ":lot",
    "../../x", "\x1b[2J", "\r\n", "\ud800", "e\u0301", "\ufffd", "null", "true", "1", " ", "", "\U0010ffff",
    "ﬁ", "İ", "x" * 81,
)  # fmt: skip
TEXT = st.one_of(
    st.sampled_from(WORDS), st.text(max_size=12),
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=3).map("".join),
)  # fmt: skip
#: places that take words: what is told of an event with the text in it
PLACES: dict[str, Callable[[str, str], dict[str, Any]]] = {
    "note": lambda name, words: {"id": name, "kind": "annotate", "note": words},
    "event id": lambda name, words: {"id": words, "kind": "annotate", "note": name},
    "actor": lambda name, words: {"id": name, "kind": "annotate", "actor": words},
    "lot": lambda name, words: received(name, words),
    "trade name": lambda name, words: received(name, f"L-{name}", trade=words),
    "botanical name": lambda name, words: received(name, f"L-{name}", species=words),
    "shelf": lambda name, words: received(name, f"L-{name}", shelf=words),
    "leaf notes": lambda name, words: received(name, f"L-{name}", leaf_notes=words),
    "leaf notes by leaf": lambda name, words: received(name, f"L-{name}", leaf_notes={words: "split"}),
    "serial": lambda name, words: made(name, serial=words),
    "label": lambda name, words: made(name, label=words),
    "paper id": lambda name, words: papered(name, id=words),
    "paper issuer": lambda name, words: papered(name, issuer=words),
    "paper number": lambda name, words: papered(name, number=words),
    "reservation": lambda name, words: {"id": name, "kind": "release", "reservation": words},
}


def received(name: str, lot: str, **facts: Any) -> dict[str, Any]:
    told = {"form": "veneer", "thickness_um": 600} | facts
    return {
        "id": name,
        "kind": "receive",
        "out": [{"lot": lot, "qty": 5, "unit": "mm2"}],
        "lots": {lot: told},
    }


def made(name: str, **more: Any) -> dict[str, Any]:
    taken = [{"lot": "A", "qty": 1, "unit": "mm2"}]
    item = [{"lot": f"I-{name}", "qty": 1, "unit": "pcs"}]
    return {"id": name, "kind": "assemble-close", "in": taken, "out": item, **more}


def papered(name: str, **more: Any) -> dict[str, Any]:
    return {
        "id": name, "kind": "attach-document",
        "document": {"id": f"P-{name}", "kind": "invoice", "lot": "A"} | more,
    }  # fmt: skip


def normal(value: Any) -> Any:
    """A value with its text as the book keeps it."""
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, dict):
        return {normal(key): normal(sub) for key, sub in value.items()}
    return [normal(v) for v in value] if isinstance(value, list | tuple) else value


class Hostile:
    """A book into which one text after the other is put."""

    def __init__(self, store: Store) -> None:
        self.store, self.number, self.kept, self.refused = store, 0, 0, 0

    def put(self, place: str, words: str) -> None:
        self.number += 1
        name = f"H{self.number}"
        told = PLACES[place](name, words) | {"time": "2026-01-02T00:00:00Z"}
        before = self.store.head()
        try:
            event = event_of(told)
            (done,) = self.store.record([event])
        except WoodrefError as fault:
            assert str(fault).strip() and fault.code not in ("storage", "busy"), (place, words, str(fault))
            assert str(fault).isprintable(), (place, words)  # nor does the sentence steer a screen
            assert self.store.head() == before
            self.refused += 1
            return
        if done.again:  # the same id and the same words once more
            return
        assert self.store.head()[0] == before[0] + 1
        (payload,) = self.store.rows("SELECT payload FROM event WHERE seq = :seq", seq=done.seq)[0]
        kept = {key: value for key, value in json.loads(payload).items() if key != "recorded"}
        assert kept == normal(event.as_dict()), (place, words)
        self.kept += 1


@pytest.mark.parametrize("place", PLACES)
def test_f16_hostile_text(url: str, place: str, begin: Callable[[str, int], None]) -> None:
    """140 texts in each of the places, 40 on PostgreSQL: 2,700 in all."""
    begin(url, 1_000_000)
    with Store(url) as store:
        hostile = Hostile(store)
        for words in WORDS:
            hostile.put(place, words)

        @settings(
            max_examples=8 if url.startswith("postgres") else 108, deadline=None, derandomize=True,
            database=None, suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(TEXT)
        @example("x" * 1_000_000)
        def more(words: str) -> None:
            hostile.put(place, words)

        more()
        assert hostile.refused and (hostile.kept or place == "reservation")
        report = check_book(store)
        assert report.sound, report.sentences()
        for held in on_hand(store, everything=True).rows:
            told = [*one_lot(store, held.lot.id).sentences(), *trace_back(store, held.lot.id).sentences()]
            assert all(line.isprintable() for line in told)
        for (item,) in store.rows("SELECT id FROM item"):
            assert all(line.isprintable() for line in one_item(store, item).sentences())


def test_f16_a_note_of_a_megabyte(url: str, begin: Callable[[str, int], None]) -> None:
    begin(url, 10)
    note = "Füße, 😀, \"'\n" * 80_000
    with Store(url) as store:
        store.record(
            [event_of({"id": "N", "kind": "annotate", "time": "2026-01-02T00:00:00Z", "note": note})]
        )
        held = store.event("N")
        assert held is not None and held.more["note"] == normal(note) and check_book(store).sound


def test_f16_by_command(tmp_path: Path, url: str, begin: Callable[[str, int], None], woodref: Run) -> None:
    """Nothing of a file of hostile words steers the screen."""
    begin(url, 1_000_000)
    told = [received(f"C{k}", f"L-{k}", trade=words) for k, words in enumerate(WORDS)]
    for event in told:
        event["time"] = "2026-01-02T00:00:00Z"
    refused = 0
    for event in told:
        body = tmp_path / "one.json"
        body.write_text(json.dumps({"events": [event]}), "utf-8")
        result = woodref("book", "record", str(body), "--book", url)
        assert result.exit_code in (0, 1), result.output
        refused += result.exit_code
        assert all(line.isprintable() for line in result.output.splitlines()), (event, result.output)
    assert 4 <= refused < len(told) - 10
    for command in (("stock", "list"), ("stock", "show", "L-0"), ("book", "check"), ("whence", "L-0")):
        result = woodref(*command, "--book", url)
        assert result.exit_code == 0, result.output
        assert all(line.isprintable() for line in result.output.splitlines())


def test_f16_many_events_of_one_file_with_one_hostile_word(
    url: str, begin: Callable[[str, int], None]
) -> None:
    """All or nothing, and the event is named."""
    begin(url, 1_000_000)
    told = [received(f"C{k}", f"L-{k}", trade="oak") for k in range(20)]
    told[12] = received("C12", "L-12", trade="oak\x1b[2J")
    for event in told:
        event["time"] = "2026-01-02T00:00:00Z"
    with Store(url) as store:
        before = store.head()
        with pytest.raises(WoodrefError, match=r"day.json: event 13: .*trade.* is no text"):
            record_placed(store, events_of(json.dumps({"events": told}).encode(), "day.json"))
        assert store.head() == before
