"""A book of any number of events, and what stands in it by a reckoning of our own."""

from __future__ import annotations

import datetime as dt
import itertools
import random
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

from test_book_time import by_networkx, years

from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.trace import whence

#: minutes between two events, so that a million of them end before today
PACE = dt.timedelta(minutes=7)
#: events in one call of `record`
LIST = 5_000


def work() -> Iterator[Event]:
    """The work of a shop that never had such a pace."""
    return years(PACE)


def reckoned(events: Iterator[Event]) -> dict[str, int]:
    """lot -> what is left of it: all that came, less all that went; waste is a part of what goes in."""
    left: Counter[str] = Counter()
    for event in events:
        for share in event.out:
            left[share.lot] += share.qty
        for share in event.in_:
            left[share.lot] -= share.qty
    return dict(left)


def books(sizes: Sequence[int], folder: Path) -> list[Path]:
    """One book after another: each holds the events of the one before and more. What stands in the folder
    from another run is taken as it is."""
    out, stream, held = [], work(), 0
    for size in sizes:
        path = folder / f"book-{size}.sqlite"
        if path.exists() and _whole(path, size):
            held += sum(1 for _ in itertools.islice(stream, size - held))
            out.append(path)
            continue
        for old in folder.glob(f"{path.name}*"):
            old.unlink()
        if out:
            shutil.copyfile(out[-1], path)
        with Store(f"sqlite:///{path}") as store:
            while held < size:
                told = list(itertools.islice(stream, min(LIST, size - held)))
                store.record(told)
                held += len(told)
        out.append(path)
    return out


def _whole(path: Path, size: int) -> bool:
    with Store(f"sqlite:///{path}", read_only=True) as store:
        return store.head()[0] == size


def balanced(store: Store, events: int) -> int:
    """That a book holds these events in this order, each once, and just what is left by our own reckoning.
    Gives how many lots were compared."""
    ids = [one for (one,) in store.rows("SELECT id FROM event ORDER BY seq")]
    assert len(ids) == events and len(set(ids)) == events
    left = reckoned(itertools.islice(work(), events))
    held = dict(store.rows("SELECT lot, qty FROM balance"))
    assert {lot: int(qty) for lot, qty in held.items() if qty} == {
        lot: qty for lot, qty in left.items() if qty
    }
    return len(left)


_CHECK = """
import sys
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

def peak():
    told = open("/proc/self/status").read()
    return int(told.split("VmHWM:")[1].split()[0]) // 1024

with Store("sqlite:///" + sys.argv[1], read_only=True) as store:
    store.head()
    before, found = peak(), check_book(store)
    assert found.sound and found.events == int(sys.argv[2]), found.sentences()
    print(before, peak())
"""


def checked(path: Path, events: int) -> int:
    """Peak memory [MB] that a check of a book takes above that of a process that has just opened it."""
    done = subprocess.run(
        [sys.executable, "-c", _CHECK, str(path), str(events)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    before, peak = map(int, done.stdout.split())
    return peak - before


def traced(store: Store) -> int:
    """That whence gives the same roots and shares as networkx over the same edges. Gives how many items."""
    import networkx

    graph = networkx.DiGraph()
    for child, parent, num, den in store.rows("SELECT child, parent, net_num, net_den FROM edge"):
        graph.add_edge(child, parent, net=Fraction(num, den))
    items = [item for (item,) in store.rows("SELECT id FROM item ORDER BY id")]
    chosen = random.Random(4).sample(items, 30)
    for item in chosen:
        assert {root.held.lot.id: root.net for root in whence(store, item)} == by_networkx(graph, item)
    return len(chosen)
