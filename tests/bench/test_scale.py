"""One twentieth of the largest catalogue and book: every command that reads and every page, the same answers
at each size, times that grow no faster than they should, and eight writers on one PostgreSQL book.

What is held is equality and growth, never seconds; `scale.py --full` is the whole.
"""

from __future__ import annotations

import math
import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from asked import Grown
from growing import grown_by, no_worse
from scale import by_events, by_materials

WOODS = (250, 500, 1_000)
EVENTS = (2_500, 12_500, 50_000)
#: events of the eight writers
WRITTEN = 10_000


def held_to(rows: list[Grown], sizes: tuple[int, ...]) -> None:
    """Every row was measured at each size and grows no faster than it may."""
    assert rows and all(len(row.times) == len(sizes) for row in rows)
    wrong = [(row.what, row.law, row.may, [round(t) for t in row.times]) for row in rows if not row.holds]
    assert not wrong, wrong


@pytest.mark.parametrize("sizes", [WOODS, EVENTS, (1_000, 5_000, 20_000)])
def test_a_law_is_told_from_three_sizes(sizes: tuple[int, ...]) -> None:
    def of(work: object) -> str:
        return grown_by(sizes, [work(n) for n in sizes], 5.0)  # type: ignore[operator]

    assert of(lambda n: 300 + n / sizes[-1]) == "constant"
    assert of(lambda n: 40 * math.log(n / sizes[0]) + 20) == "logarithmic"
    assert of(lambda n: 100 + 400 * n / sizes[0]) == "linear"
    assert of(lambda n: 100 * n * math.log(n) / sizes[0]) == "linear"
    assert of(lambda n: 100 + 400 * (n / sizes[0]) ** 2) == "quadratic"
    assert no_worse("linear", "linear") and not no_worse("quadratic", "linear")
    assert not no_worse("linear", "constant")


def test_a_thousand_woods(tmp_path: Path) -> None:
    commands, pages = by_materials(WOODS, tmp_path, inside=True)
    held_to(commands, WOODS)  # type: ignore[arg-type]
    held_to(pages, WOODS)  # type: ignore[arg-type]


def test_fifty_thousand_events(tmp_path: Path) -> None:
    commands, pages, told = by_events(EVENTS, tmp_path, inside=True)
    held_to(commands, EVENTS)  # type: ignore[arg-type]
    held_to(pages, EVENTS)  # type: ignore[arg-type]
    assert sum("30 traces as by networkx" in line for line in told) == len(EVENTS)


def test_eight_writers_on_one_book(postgres_url: str, tmp_path: Path) -> None:
    from writers import WRITERS, kept, write

    assert WRITERS == 8 and os.environ["WOODREF_TEST_POSTGRES"]
    _, _, twice = write(postgres_url, WRITTEN, tmp_path)
    assert twice > 0
    kept(postgres_url, WRITTEN)
