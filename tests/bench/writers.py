"""The same work recorded on a PostgreSQL server by several processes at once."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import pickle
import resource
import secrets
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
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


def _shared_out(events: int, size: int, writers: int, folder: Path) -> list[Path]:
    """The work as files of pickled lists, one file a writer, which takes every so-manieth round."""
    paths = [folder / f"writer-{k}" for k in range(writers)]
    waiting: list[list[Event]] = [[] for _ in paths]
    with ExitStack() as stack:
        files = [stack.enter_context(path.open("wb")) for path in paths]
        for number, event in rounds(events):
            waiting[number % writers].append(event)
            if len(waiting[number % writers]) == size:
                pickle.dump(waiting[number % writers], files[number % writers])
                waiting[number % writers] = []
        for rest, file in zip(waiting, files, strict=True):
            if rest:
                pickle.dump(rest, file)
    return paths


def _lists(path: Path) -> Iterator[list[Event]]:
    with path.open("rb") as file:
        while True:
            try:
                yield pickle.load(file)
            except EOFError:
                return


def _write(url: str, path: Path, told: Any, ready: Any) -> None:
    """One process; each tenth list is told again. All begin at once."""
    twice, again = 0, 0
    with Store(url) as store:
        store.head()
        ready.wait(timeout=120)
        begun, before = time.time(), resource.getrusage(resource.RUSAGE_SELF).ru_utime
        for turn, part in enumerate(_lists(path)):
            store.record(part)
            if turn % 10 == 9:
                again += sum(one.again for one in store.record(part))
                twice += len(part)
    assert twice == again
    used = resource.getrusage(resource.RUSAGE_SELF).ru_utime - before
    told.put((os.getpid(), twice, used, begun, time.time()))


def write(
    url: str, events: int, folder: Path, size: int = LIST, writers: int = WRITERS
) -> tuple[float, float, int]:
    """Seconds, user seconds of all, and events told twice. folder: for the lists of the writers."""
    with Store(url) as store:  # the tables are made once
        assert store.head()[0] == 0
    shared = _shared_out(events, size, writers, folder)
    context = multiprocessing.get_context("spawn")
    told, ready = context.Queue(), context.Barrier(writers)
    at_work = [context.Process(target=_write, args=(url, path, told, ready)) for path in shared]
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
