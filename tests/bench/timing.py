"""What the rows of the bench share: interleaved timing, one row of the table, the machine in words."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import math
import os
import platform
import sqlite3
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

TESTS = Path(__file__).resolve().parents[1]
PEERS = ("sqlite-utils", "scikit-learn", "networkx", "composites")
#: what the figures hang on beside the peers
OURS = (
    "woodref",
    "numpy",
    "pandas",
    "PyYAML",
    "pydantic",
    "SQLAlchemy",
    "sqlmodel",
    "click",
    "rapidfuzz",
    "datasette",
)


@dataclass(frozen=True)
class Took:
    """Milliseconds of several runs."""

    median: float
    p95: float
    runs: int

    def __str__(self) -> str:
        return f"{shown(self.median)} ({shown(self.p95)})"


@dataclass(frozen=True)
class Row:
    """One line of the table. same: what was asserted to be equal before a time was taken; limit: the ratio
    that ours is to stay within, or None."""

    group: str
    what: str
    size: str
    ours: Took | None
    peer: str
    theirs: Took | None
    same: str
    limit: float | None = None

    @property
    def ratio(self) -> float | None:
        """Ours in times of the peer."""
        return self.ours.median / self.theirs.median if self.ours and self.theirs else None

    def cells(self) -> list[str]:
        ratio = (
            "" if self.ratio is None else f"{self.ratio:.2f}" if self.ratio >= 0.1 else f"{self.ratio:.2g}"
        )
        if self.limit is not None and self.ratio is not None:
            ratio += f" (<= {self.limit:g}{'' if self.ratio <= self.limit else ', missed'})"
        held = [str(took) if took else "" for took in (self.ours, self.theirs)]
        return [self.group, self.what, self.size, held[0], self.peer, held[1], ratio, self.same]


HEAD = [
    "part",
    "work",
    "size",
    "ours, ms: median (p95)",
    "peer",
    "peer, ms: median (p95)",
    "ratio",
    "equal first",
]


def shown(ms: float) -> str:
    """Three figures that count."""
    if ms >= 100:
        return f"{ms:,.0f}"
    return f"{ms:.1f}" if ms >= 10 else f"{ms:.2f}" if ms >= 0.1 else f"{ms:.3f}"


def of(seconds: list[float]) -> Took:
    """Seconds of several runs in milliseconds: the middle one, and that within which 95 of 100 lie."""
    ranked = sorted(1000 * one for one in seconds)
    return Took(median(ranked), ranked[max(0, math.ceil(0.95 * len(ranked)) - 1)], len(ranked))


def interleaved(*works: Callable[[], Any], runs: int = 30) -> list[Took]:
    """Seconds of the processor that each work takes, in turn, so that a busy machine is busy for all; each
    once before, not counted."""
    took: list[list[float]] = [[] for _ in works]
    for work in works:
        work()
    for _ in range(runs):
        for held, work in zip(took, works, strict=True):
            begun = time.process_time()
            work()
            held.append(time.process_time() - begun)
    return [of(held) for held in took]


def missing(*modules: str) -> str | None:
    """The reason why a peer's row cannot be taken, or None."""
    lost = [name for name in modules if importlib.util.find_spec(name) is None]
    return f"not installed: {', '.join(lost)} (extra `bench`)" if lost else None


def absent(group: str, what: str, size: str, why: str) -> Row:
    """The row of a peer that is not there."""
    return Row(group, what, size, None, why, None, "")


def machine() -> list[str]:
    """Lines on the machine, the interpreter and the versions."""

    def version(name: str) -> str:
        try:
            return f"{name} {importlib.metadata.version(name)}"
        except importlib.metadata.PackageNotFoundError:
            return f"{name} not installed"

    chip = platform.processor() or platform.machine()
    try:
        told = Path("/proc/cpuinfo").read_text("utf-8")
        chip = next(
            line.split(":", 1)[1].strip() for line in told.splitlines() if line.startswith("model name")
        )
    except (OSError, StopIteration):
        pass
    return [
        f"{os.cpu_count()} processors ({chip}), {platform.system()}, Python {platform.python_version()}, "
        f"SQLite {sqlite3.sqlite_version}.",
        "Versions: " + ", ".join(version(name) for name in (*OURS, *PEERS)) + ".",
    ]


def table(rows: list[Row]) -> str:
    """The rows as a Markdown table."""
    lines = [HEAD, ["---"] * len(HEAD), *(row.cells() for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
