"""One twentieth of the largest catalogue and book: every command that reads and every page, the same answers
at each size, times that grow no faster than they should, and eight writers on one PostgreSQL book.

What is held is equality and growth, never seconds: growth of the processor's time of this process, the least
of a few runs, from three sizes, by the margin that `growing.within` states. `scale.py --full` is the whole.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from asked import BY_MATERIALS, Grown
from booked import books, checked
from growing import grown_by, within
from scale import by_events, by_materials

from woodref.provenance.replaying import CACHE

WOODS = (250, 500, 1_000)
EVENTS = (2_500, 12_500, 50_000)
#: events of the eight writers
WRITTEN = 5_000


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the catalogues of this file stay: each is built once."""
    return tmp_path_factory.mktemp("grown")


@pytest.fixture(scope="module")
def kept_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The books, likewise."""
    return tmp_path_factory.mktemp("books")


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


@pytest.mark.parametrize("sizes", [WOODS, EVENTS, (1_000, 5_000, 20_000)])
@pytest.mark.parametrize("sway", [(1.0, 1.0, 1.0), (1.0, 1.1, 1.0), (0.92, 1.0, 1.08), (1.1, 1.0, 1.1)])
def test_what_grows_too_fast_is_seen(sizes: tuple[int, ...], sway: tuple[float, ...]) -> None:
    """Though times sway by a tenth; and what grows as it may is let through."""

    def holds(may: str, work: Callable[[float], float]) -> bool:
        return within(sizes, [by * work(n / sizes[0]) for n, by in zip(sizes, sway, strict=True)], may, 25.0)

    assert holds("constant", lambda n: 300 + 10 * math.log(n))
    assert holds("linear", lambda n: 300.0)
    assert holds("linear", lambda n: 40 + 100 * n)
    assert holds("linear", lambda n: 400 + 60 * n)
    assert holds("linear", lambda n: 3000 * n)
    assert holds("linear", lambda n: 10 * n * math.log(n * sizes[0]))
    assert not holds("constant", lambda n: 40 + 100 * n)
    assert not holds("linear", lambda n: 40 + 100 * n**2)
    assert not holds("linear", lambda n: 200 * n + 200 * n**2)
    assert not holds("linear", lambda n: 3000 * n**2)


def test_a_step_that_lays_each_wood_against_each_is_seen(
    grown: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bench of `substitute` with such a step put into it: it must not pass, and passes without it."""
    from woodref.selection import placing

    line, page = "substitute 'Brazilian rosewood' --role face", "/instead?of=Brazilian+rosewood"
    asked = {line: BY_MATERIALS[line]}
    commands, pages = by_materials(WOODS, grown, inside=True, asked=asked, only=(page,))
    held_to(commands, WOODS)
    held_to(pages, WOODS)
    fill = placing.fill

    def slow(told: placing.Told) -> None:
        ids = told.table.ids
        assert sum(sorted(one) <= sorted(other) for one in ids for other in ids) > len(ids)
        fill(told)

    monkeypatch.setattr("woodref.selection.substitutes.fill", slow)
    monkeypatch.setattr("scale.AGAIN", 0)
    commands, pages = by_materials(WOODS, grown, inside=True, asked=asked, only=(page,))
    for rows in (commands, pages):
        with pytest.raises(AssertionError, match=r"substitute|instead"):
            held_to(rows, WOODS)


def test_a_thousand_woods(grown: Path) -> None:
    commands, pages = by_materials(WOODS, grown, inside=True)
    held_to(commands, WOODS)
    held_to(pages, WOODS)


def test_fifty_thousand_events(kept_books: Path) -> None:
    commands, pages, told = by_events(EVENTS, kept_books, inside=True)
    held_to(commands, EVENTS)
    held_to(pages, EVENTS)
    assert sum("30 traces as by networkx" in line for line in told) == len(EVENTS)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak of memory is read from /proc")
def test_a_check_holds_no_more_of_a_longer_book(kept_books: Path) -> None:
    """Whatever is worked out is put away after every so many events: of four times as many no more is held,
    but for the pages of the working file."""
    short, long = (
        checked(path, size) for path, size in zip(books(EVENTS[1:], kept_books), EVENTS[1:], strict=True)
    )
    assert long < short + CACHE / 1024 + 16, (short, long)
    assert long < 150, long


def test_eight_writers_on_one_book(postgres_url: str, tmp_path: Path) -> None:
    from writers import WRITERS, kept, write

    assert WRITERS == 8 and os.environ["WOODREF_TEST_POSTGRES"]
    _, _, twice = write(postgres_url, WRITTEN, tmp_path)
    assert twice > 0
    kept(postgres_url, WRITTEN)
