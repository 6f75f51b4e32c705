"""What the commands share that record a piece of work in the stock book."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

from woodref.cli.common import book_option, json_option, print_json, say

if TYPE_CHECKING:
    from woodref.provenance.book import Held
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done

F = TypeVar("F", bound=Callable[..., Any])


def work_options(function: F) -> F:
    """What every kind of work on a lot takes."""
    for option in (
        json_option, book_option,
        click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name."),
        click.option("--time", metavar="TIME", help="When, as 2026-01-05T09:00:00+01:00; usual: now."),
        click.option("--note", metavar="TEXT", help="Why, or what was seen."),
    ):  # fmt: skip
        function = option(function)
    return function


def do(
    make: Callable[[Store], Done], book: str | None, actor: str | None, as_json: bool, proves: bool = False
) -> None:
    """Record one piece of work and tell it. proves: it may claim that all wood is proven."""
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        done = make(store)
    with open_book(book) as store, proving(store, proves) as prove:
        stood = store.record([done.event], actor, prove=prove)[0]
    if as_json:
        print_json(
            {"event": done.event.id, "number": stood.seq or None, "again": stood.again,
             "sentences": list(done.sentences), "notices": []}
        )  # fmt: skip
        return
    if stood.again:
        say(f"{done.event.id} stood there already; nothing was changed.")
        return
    for line in done.sentences:
        say(line)


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
