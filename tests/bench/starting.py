"""Each command in a fresh process, in seconds of the processor, beside a process that loads
click and sqlite3."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from timing import TESTS, Row, of

SEAT = str(TESTS.parent / "data" / "demo" / "seat-shell.yaml")
#: the command line, the times of the peer it is to stay within (None: none is set), what its answer must hold
LINES: list[tuple[list[str], float | None, str]] = [
    (["--help"], 2, "substitute"),
    (["show", "teak"], 3, "Tectona grandis"),
    (["trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE"], 4, "Tectona"),
    (["find", "--with", "density=450..600"], 4, "alder"),
    (["find", "maple"], 4, "Acer"),
    (["substitute", "Brazilian rosewood", "--role", "face"], 7, "Dalbergia nigra"),
    (["layup", SEAT], 7, "mm"),
    (["compare", "teak", "iroko"], None, "iroko"),
    (["listings", "--on", "2026-01-01"], None, "CITES"),
    (["data", "coverage"], None, "density"),
    (["stock", "show", "A0"], None, "Fagus"),
    (["whence", "I1"], None, "Fagus"),
    (["book", "check"], None, "300"),
]
PEER = "click and sqlite3 loaded"


def _cpu(words: list[str], env: dict[str, str]) -> tuple[float, subprocess.CompletedProcess[str]]:
    """User seconds of one fresh process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    done = subprocess.run([sys.executable, *words], capture_output=True, text=True, env=env, check=False)
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before, done


def rows(runs: int, full: bool) -> list[Row]:
    """One row a command. Python's own cache of compiled files is used, as by an installed program. The peer
    is run beside each; since it is the same one each time, all its runs together are its time."""
    took: list[tuple[str, float | None, list[float]]] = []
    theirs: list[float] = []
    with tempfile.TemporaryDirectory() as name:
        env = {k: v for k, v in os.environ.items() if not k.startswith(("OPENBLAS", "PYTHONDONTWRITE"))}
        env |= {
            "WOODREF_CACHE": f"{name}/cache",
            "WOODREF_TODAY": "2026-06-01",
            "WOODREF_BOOK": f"{name}/book.sqlite",
        }
        env |= {"PYTHONPYCACHEPREFIX": f"{name}/compiled", "XDG_DATA_HOME": name}
        _book(Path(name) / "book.sqlite")
        bare = ["-c", "import click, sqlite3"]
        _cpu(bare, env)
        for words, limit, holds in LINES:
            told = ["-m", "woodref", *words]
            _, first = _cpu(told, env)
            if first.returncode or holds not in first.stdout:
                raise AssertionError(
                    f"{words}: exit {first.returncode}, {first.stderr or first.stdout[:200]}"
                )
            ours = []
            for _ in range(runs):
                used, done = _cpu(told, env)
                assert done.stdout == first.stdout, words
                ours.append(used)
                theirs.append(_cpu(bare, env)[0])
            line = " ".join(Path(word).name if word == SEAT else word for word in words)
            took.append((f"`{line}`", limit, ours))
    same = "same answer each time"
    return [Row("start-up", line, "", of(ours), PEER, of(theirs), same, limit) for line, limit, ours in took]


def _book(path: Path) -> None:
    """A book of some hundred events."""
    from itertools import islice

    from test_book_time import years

    from woodref.provenance.store import Store

    with Store(f"sqlite:///{path}") as store:
        store.record(list(islice(years(), 300)))
