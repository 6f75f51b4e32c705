"""What the commands share that record a piece of work in the stock book."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from typing import TYPE_CHECKING, Any, TypeVar

import click

from woodref.cli.common import book_option, json_option, on_terminal, print_json, print_notices, say

if TYPE_CHECKING:
    from woodref.provenance.book import Held
    from woodref.provenance.lots import Knows
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done
    from woodref.provenance.writer import Recorded

F = TypeVar("F", bound=Callable[..., Any])


def record_options(function: F) -> F:
    """What every command takes that records."""
    for option in (
        json_option, book_option,
        click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name."),
        click.option("--time", metavar="TIME", help="When, as 2026-01-05T09:00:00+01:00; usual: now."),
    ):  # fmt: skip
        function = option(function)
    return function


def work_options(function: F) -> F:
    """What every kind of work on a lot takes."""
    return click.option("--note", metavar="TEXT", help="Why, or what was seen.")(record_options(function))


def do(
    make: Callable[[Store], Done] | Done, book: str | None, actor: str | None, as_json: bool,
    by_name: bool = False,
) -> None:  # fmt: skip
    """Record one piece of work and tell it. make: works it out from the book, or it is done already; by_name:
    it names woods, which are looked up in the catalogue."""
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import knows_of
    from woodref.provenance.store import open_book

    with open_catalogue() if by_name else nullcontext() as catalogue:
        knows = knows_of(catalogue) if catalogue else None
        if callable(make):
            with open_book(book, knows, read_only=True) as store:
                done = make(store)
        else:
            done = make
        with to_record(book, knows) as store:
            stood = store.record([done.event], actor)[0]
    tell(done, stood, as_json)


@contextmanager
def to_record(book: str | None, knows: Knows | None = None) -> Iterator[Store]:
    """The book, open for writing. Whoever records is told when the clock cannot be right."""
    from woodref.provenance.clock import gone_back
    from woodref.provenance.store import open_book

    with open_book(book, knows) as store:
        print_notices(gone_back(store))
        yield store


def tell(done: Done, stood: Recorded, as_json: bool) -> None:
    """What was recorded, or that it stood there already."""
    if as_json:
        print_json(
            {"event": done.event.id, "number": stood.seq or None, "again": stood.again, **done.told,
             "sentences": list(done.sentences), "notices": [n.as_dict() for n in done.notices]}
        )  # fmt: skip
        return
    if stood.again:
        say(f"{done.event.id} stood there already; nothing was changed.")
        return
    for line in done.sentences:
        say(line)
    print_notices(done.notices)


def can_ask(as_json: bool) -> bool:
    """Whether a person sits at both ends, so that a question can be put."""
    return not as_json and on_terminal() and sys.stdin.isatty()


@contextmanager
def proving(store: Store, asked: bool = True) -> Iterator[Callable[[str], list[str]] | None]:
    """What a claim in an event is weighed by: the shop's rules of today; None where none is asked for."""
    if not asked:
        yield None
        return
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.proof import Prover
    from woodref.units import today

    with open_catalogue() as catalogue:
        yield Prover(store, catalogue.rules, today())


def finder(store: Store, where: str) -> Callable[[str], Held]:
    """Looks lots up in one state of the book."""
    state = store.book()
    return lambda lot: state.lot(lot, where)
