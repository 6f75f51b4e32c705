"""Faults that a ledger has to stand: several writers at once, and a writer killed in the middle. Bounded."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable

from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

TAKE = """
import sys
from woodref.provenance.faults import Overdrawn
from woodref.provenance.shapes import event_of
from woodref.provenance.store import Store
url, me, times = sys.argv[1], sys.argv[2], int(sys.argv[3])
store, done, refused = Store(url), 0, 0
for k in range(times):
    lot = "A" if (k + int(me)) % 2 else "B"
    try:
        store.record([event_of({"id": f"W{me}-{k}", "kind": "scrap", "time": "2026-01-02T00:00:00Z",
                                "in": [{"lot": lot, "qty": 1, "unit": "mm2"}]})])
        done += 1
    except Overdrawn:
        refused += 1
    print("done", f"W{me}-{k}", flush=True)
print("sum", done, refused, flush=True)
"""


def writer(url: str, me: int, times: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", TAKE, url, str(me), str(times)], stdout=subprocess.PIPE, text=True
    )


Begin = Callable[[str, int], None]


def test_f2_several_writers_take_exactly_what_there_is(url: str, begin: Begin) -> None:
    """Eight of them on PostgreSQL, four on SQLite, two lots crosswise: whoever comes first, what is taken and
    what is refused is exact, and nobody is told to wait."""
    writers, each = (8, 30) if url.startswith("postgres") else (4, 60)
    begin(url, 80)
    running = [writer(url, me, each) for me in range(writers)]
    sums = [process.communicate(timeout=120)[0].split("sum")[1].split() for process in running]
    assert sum(int(done) for done, _ in sums) == 160
    assert sum(int(refused) for _, refused in sums) == writers * each - 160
    with Store(url) as store:
        assert [store.balance(lot) for lot in "AB"] == [0, 0]
        assert store.head()[0] == 161 and check_book(store).sound


def test_several_make_one_book_at_once(url: str) -> None:
    make = "import sys; from woodref.provenance.store import Store; print(Store(sys.argv[1]).head()[0])"
    command = [sys.executable, "-c", make, url]
    both = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    running = [subprocess.Popen(command, **both) for _ in range(4)]  # type: ignore[call-overload]
    for process in running:
        out, err = process.communicate(timeout=60)
        assert (out, err, process.returncode) == ("0\n", "", 0)
    with Store(url) as store:
        assert len(store.rows("SELECT key FROM meta")) == 2 and check_book(store).sound


def test_a_book_is_checked_while_others_write(url: str, begin: Begin) -> None:
    """What is checked stands still: events recorded in between are no flaw."""
    begin(url, 1_000_000)
    process = writer(url, 7, 100_000)
    assert process.stdout is not None
    process.stdout.readline()
    with Store(url, read_only=True) as store:
        for _ in range(8):
            found = check_book(store)
            assert found.sound, found.sentences()
        process.kill()
        process.stdout.close()
        process.wait(timeout=30)
        assert store.head()[0] > found.events - 1 > 1


def test_f1_what_was_told_as_recorded_is_there_after_a_kill(url: str, begin: Begin) -> None:
    begin(url, 1_000_000)
    pause = random.Random(11)
    told: set[str] = set()
    for round_ in range(6):
        process = writer(url, 100 + round_, 100_000)
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(pause.uniform(0.05, 0.25))
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read()
        process.stdout.close()
        process.wait(timeout=30)
        # a line cut off by the kill was not told
        told |= {line.split()[1] for line in (first + rest).splitlines(keepends=True) if line.endswith("\n")}
    # of one moment: a server may still be at the last commit of a writer that is gone
    with Store(url) as store, store.at_one_moment() as still:
        held = {row[0] for row in still.rows("SELECT id FROM event")}
        assert told <= held and len(told) > 6
        assert check_book(still).sound
        assert sum(still.balance(lot) or 0 for lot in "AB") == 2_000_000 - (len(held) - 1)
