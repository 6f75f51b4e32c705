"""The stock book: one event, many at once, whence, the check; beside bare SQLite and networkx."""

from __future__ import annotations

import datetime as dt
import random
import tempfile
import time
from fractions import Fraction
from itertools import islice
from pathlib import Path
from typing import Any

from test_book_time import START, bare, by_networkx, mm2, years
from timing import Row, Took, absent, interleaved, missing, of

from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book


def rows(runs: int, full: bool) -> list[Row]:
    """5,000 events, with --full 100,000 too."""
    out = []
    for n in (5_000, 100_000) if full else (5_000,):
        with tempfile.TemporaryDirectory() as name:
            out += _sized(list(islice(years(), n)), Path(name), runs)
    return out


def _timed(work: Any) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def _sized(told: list[Event], folder: Path, runs: int) -> list[Row]:
    size = f"{len(told):,} events"
    raw = bare(folder / "bare.sqlite")
    listed = [(k, event.id, str(event.as_dict())) for k, event in enumerate(told)]

    def insert() -> None:
        raw.execute("BEGIN IMMEDIATE")
        raw.executemany("INSERT INTO event VALUES (?, ?, ?)", listed)
        raw.execute("COMMIT")

    with Store(f"sqlite:///{folder / 'book.sqlite'}") as store:
        own, other = _timed(lambda: store.record(told)), _timed(insert)
        kept = [one for (one,) in store.rows("SELECT id FROM event ORDER BY seq")]
        assert kept == [one for (one,) in raw.execute("SELECT id FROM event ORDER BY seq")]
        same = "the same ids in the same order"
        out = [
            Row("book", "record all at once", size, of([own]), "bare insert of the text", of([other]), same)
        ]
        out.append(_more(store, raw, size, runs))
        out += _traced(store, size, runs)
        found: list[Any] = []
        took = [_timed(lambda: found.append(check_book(store))) for _ in range(3)]
        assert all(one.sound for one in found)
        out.append(Row("book", "check: replay of all", size, of(took), "none does this", None, "sound"))
    raw.close()
    return out


def _more(store: Store, raw: Any, size: str, runs: int) -> Row:
    """One more event, on the disk before it is told: waiting on the clock, the disk's part in it."""
    number, ours, theirs = store.head()[0], [], []
    merged = [lot for (lot,) in store.rows("SELECT lot FROM balance WHERE qty > 1000 AND lot LIKE 'A%'")]
    for k in range(runs):
        when = (START + (number + k + 1) * dt.timedelta(hours=1)).isoformat() + "Z"
        event = event_of({"id": f"Z{k}", "kind": "scrap", "time": when, "in": [mm2(merged[-1], 1)]})
        begun = time.perf_counter()
        store.record([event])
        ours.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("INSERT INTO event VALUES (?, ?, ?)", (number + k, event.id, str(event.as_dict())))
        raw.execute("COMMIT")
        theirs.append(time.perf_counter() - begun)
    assert store.head()[0] == number + runs
    same = "both on the disk; time on the clock"
    return Row(
        "book", "append one event", f"after {size}", of(ours), "bare insert and commit", of(theirs), same
    )


def _traced(store: Store, size: str, runs: int) -> list[Row]:
    gone = missing("networkx")
    if gone:
        return [absent("book", "whence", size, gone)]
    import networkx

    graph = networkx.DiGraph()

    def load() -> None:
        for child, parent, num, den in store.rows("SELECT child, parent, net_num, net_den FROM edge"):
            graph.add_edge(child, parent, net=Fraction(num, den))

    loading = of([_timed(load)])
    items = [item for (item,) in store.rows("SELECT id FROM item ORDER BY id")]
    chosen = random.Random(4).sample(items, min(runs, len(items)))
    ours: list[float] = []
    theirs: list[float] = []
    for item in chosen:
        assert {root.held.lot.id: root.net for root in whence(store, item)} == by_networkx(graph, item)
        for held, took in zip(
            (ours, theirs),
            interleaved(lambda i=item: whence(store, i), lambda i=item: by_networkx(graph, i), runs=3),  # type: ignore[misc]
            strict=True,
        ):
            held.append(took.median / 1000)
    same = "the same roots and shares"
    cold: list[Took] = [of(theirs), loading]
    with_load = Took(cold[0].median + cold[1].median, cold[0].p95 + cold[1].p95, 1)
    return [
        Row("book", "whence", size, of(ours), "networkx, graph loaded", of(theirs), same),
        Row("book", "whence", size, of(ours), "networkx, from the file", with_load, same),
    ]
