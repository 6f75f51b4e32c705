"""The same work recorded on a PostgreSQL server by several processes at once."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import resource
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from booked import work

from woodref.provenance.shapes import Event
from woodref.provenance.store import Store

WRITERS = 8
#: events in one transaction: a day's slips; and one event a transaction, as at the bench, of so many
LIST, SINGLE = 100, 2_000
#: lots of a hundred items have to do with each other alone
ROUND = 100


@contextmanager
def schema(server: str) -> Iterator[str]:
    """The address of an empty schema of its own, dropped afterwards."""
    from psycopg import connect

    name = f"woodref_{secrets.token_hex(6)}"
    with connect(server, autocommit=True) as opened:
        opened.execute(f"CREATE SCHEMA {name}")
    try:
        yield f"{server}{'&' if '?' in server else '?'}options=-csearch_path%3D{name}"
    finally:
        with connect(server, autocommit=True) as opened:
            opened.execute(f"DROP SCHEMA {name} CASCADE")


def rounds(events: int) -> Iterator[tuple[int, Event]]:
    """Each event with the number of its round."""
    number = 0
    for event in itertools.islice(work(), events):
        # the first lot of a round is received when all of the one before is thrown together and sent
        lots = [share.lot for share in event.out]
        if event.kind == "receive" and lots[0][1:].isdigit():
            number = int(lots[0][1:]) // ROUND
        yield number, event


def _write(url: str, writer: int, writers: int, events: int, size: int, told: Any, ready: Any) -> None:
    """One process: every so-manieth round, in lists; each tenth list is told again. All begin at once."""
    twice, again = 0, 0
    with Store(url) as store:
        store.head()
        ready.wait(timeout=120)
        begun = time.time()
        mine = (event for number, event in rounds(events) if number % writers == writer)
        for turn in itertools.count():
            part = list(itertools.islice(mine, size))
            if not part:
                break
            store.record(part)
            if turn % 10 == 9:
                again += sum(one.again for one in store.record(part))
                twice += len(part)
    assert twice == again
    used = resource.getrusage(resource.RUSAGE_SELF).ru_utime
    told.put((os.getpid(), twice, used, begun, time.time()))


def write(url: str, events: int, size: int = LIST, writers: int = WRITERS) -> tuple[float, float, int]:
    """Seconds, user seconds of all, and events told twice."""
    with Store(url) as store:  # the tables are made once
        assert store.head()[0] == 0
    context = multiprocessing.get_context("spawn")
    told, ready = context.Queue(), context.Barrier(writers)
    at_work = [
        context.Process(target=_write, args=(url, writer, writers, events, size, told, ready))
        for writer in range(writers)
    ]
    for process in at_work:
        process.start()
    for process in at_work:
        process.join()
        assert process.exitcode == 0, f"a writer ended with {process.exitcode}"
    pids, twice, used, begun, ended = zip(*(told.get(timeout=60) for _ in at_work), strict=True)
    assert len(set(pids)) == writers
    return max(ended) - min(begun), sum(used), sum(twice)


def kept(url: str, events: int) -> None:
    """Nothing lost, nothing twice, every amount as reckoned apart, and the whole book worked out anew."""
    from collections import Counter

    from booked import reckoned

    from woodref.provenance.verify import check_book

    with Store(url, read_only=True) as store:
        held = Counter(one for (one,) in store.rows("SELECT id FROM event"))
        wanted = {event.id for event in itertools.islice(work(), events)}
        assert held.keys() == wanted and set(held.values()) == {1}
        (first, last, many), *_ = store.rows("SELECT min(seq), max(seq), count(*) FROM event")
        assert (first, last, many) == (1, events, events)
        left = reckoned(itertools.islice(work(), events))
        balance = {lot: int(qty) for lot, qty in store.rows("SELECT lot, qty FROM balance") if qty}
        assert balance == {lot: qty for lot, qty in left.items() if qty}
        found = check_book(store)
        assert found.sound and found.events == events, found.sentences()[:3]
