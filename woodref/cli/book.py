"""`woodref book`: the stock book as a whole."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from woodref.cli.common import book_option, count, guarded, json_option, print_json, say

if TYPE_CHECKING:
    from woodref.provenance.store import Recorded

#: events from which a bar is shown, and how often it moves
LONG, STEP = 2000, 200


@click.group("book", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """The stock book: record many events at once, check that it holds."""


@command.command("record")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name.")
@book_option
@json_option
@guarded
def record(file: Path, actor: str | None, book: str | None, as_json: bool) -> None:
    """Record the events of a file, all or none. FILE is JSON ({documents, lots, events}) or CSV, or -.

    \b
    Example: woodref book record day.json
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.importing import events_of, read_file, record_placed
    from woodref.provenance.naming import knows_of
    from woodref.provenance.proof import Prover
    from woodref.provenance.store import open_book
    from woodref.units import today

    body, name = read_file(file), "standard input" if str(file) == "-" else str(file)
    placed = events_of(body, name)
    with open_catalogue() as catalogue, open_book(book, knows_of(catalogue)) as store:
        claims = any("claim" in event.more for _, event in placed)
        prove = Prover(store, catalogue.rules, today()) if claims else None
        with _bar(len(placed)) as step:
            done = record_placed(store, placed, actor, step, prove)
        seq, head = store.head()
    if as_json:
        print_json(_told(done, seq, head))
        return
    new, again = sum(not r.again for r in done), sum(r.again for r in done)
    stood = f"; {again} stood there already" if again else ""
    say(f"Recorded {count(new, 'event')}{stood}. The book has {seq:,}.")


def _told(done: list[Recorded], seq: int, head: str) -> dict[str, object]:
    return {
        "count": sum(not r.again for r in done),
        "events": seq,
        "head": head,
        "rows": [{"id": r.event.id, "number": r.seq or None, "again": r.again} for r in done],
        "notices": [],
    }


@contextmanager
def _bar(length: int) -> Iterator[Callable[[int], None] | None]:
    """A progress bar on a terminal for a long list; None elsewhere."""
    if length <= LONG or not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=length, file=sys.stderr, label="recording") as bar:

        def step(done: int) -> None:
            if done - bar.pos >= STEP or done == length:
                bar.update(done - bar.pos)

        yield step


@command.command("check")
@book_option
@json_option
@guarded
def check(book: str | None, as_json: bool) -> None:
    """Work every event out anew: chain, balances, tables, signed heads. Exit 1 when something is wrong.

    \b
    Example: woodref book check
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import knows_of
    from woodref.provenance.store import open_book
    from woodref.provenance.verify import check_book

    with open_catalogue() as catalogue, open_book(book, knows_of(catalogue), read_only=True) as store:
        found = check_book(store)
    if as_json:
        print_json(found.as_dict() | {"notices": []})
    else:
        for line in found.sentences():
            say(line)
    sys.exit(0 if found.sound else 1)
