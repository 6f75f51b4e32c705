"""Faults that a ledger has to stand: several writers at once, and a writer killed in the middle. Bounded."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from woodref.provenance.shapes import event_of
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


def begun(tmp_path: Path, each: int) -> str:
    """A book with two lots of `each` mm2."""
    url = f"sqlite:///{tmp_path / 'book.sqlite'}"
    lots = {name: {"form": "veneer", "thickness_um": 600, "species": "Fagus sylvatica"} for name in "AB"}
    out = [{"lot": name, "qty": each, "unit": "mm2"} for name in "AB"]
    with Store(url) as store:
        store.record(
            [
                event_of(
                    {"id": "R", "kind": "receive", "time": "2026-01-01T00:00:00Z", "out": out, "lots": lots}
                )
            ]
        )
    return url


def writer(url: str, me: int, times: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", TAKE, url, str(me), str(times)], stdout=subprocess.PIPE, text=True
    )


def test_f2_four_writers_take_exactly_what_there_is(tmp_path: Path) -> None:
    # 4 x 60 asked of 2 x 80: 160 taken and 80 refused, whoever comes first, two lots crosswise
    url = begun(tmp_path, 80)
    running = [writer(url, me, 60) for me in range(4)]
    sums = [process.communicate(timeout=120)[0].split("sum")[1].split() for process in running]
    assert sum(int(done) for done, _ in sums) == 160
    assert sum(int(refused) for _, refused in sums) == 80
    with Store(url) as store:
        assert [store.balance(lot) for lot in "AB"] == [0, 0]
        assert store.head()[0] == 161 and check_book(store).sound


def test_f1_what_was_told_as_recorded_is_there_after_a_kill(tmp_path: Path) -> None:
    url = begun(tmp_path, 1_000_000)
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
    with Store(url) as store:
        held = {row[0] for row in store.rows("SELECT id FROM event")}
        assert told <= held and len(told) > 6
        assert check_book(store).sound
        assert sum(store.balance(lot) or 0 for lot in "AB") == 2_000_000 - (len(held) - 1)
