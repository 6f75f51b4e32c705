"""What `find` and `substitute` share of --in-stock."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar

import click

from woodref.cli.common import book_option, say
from woodref.errors import BadRequest

if TYPE_CHECKING:
    from woodref.provenance.instock import InStock
    from woodref.provenance.shelf import Job

F = TypeVar("F", bound=Callable[..., Any])


def stock_options(function: F) -> F:
    """--in-stock, --pieces and --book."""
    for option in (
        book_option,
        click.option("--pieces", type=click.IntRange(1, 100_000), help="How many of --piece; usual: 1."),
        click.option("--in-stock", is_flag=True, help="Only woods of which a lot on hand holds the pieces."),
    ):
        function = option(function)
    return function


def only_in_stock(in_stock: bool, given: Mapping[str, Any]) -> None:
    """BadRequest when an option was given that asks something of the shelf alone. given: option -> value."""
    wrong = [option for option, value in given.items() if value is not None]
    if wrong and not in_stock:
        it = "it" if len(wrong) == 1 else "them"
        raise BadRequest(
            f"{' and '.join(wrong)} {'goes' if len(wrong) == 1 else 'go'} with --in-stock",
            next=f"Add --in-stock, or leave {it} out.",
        )


def pieces_of(piece: str | None, pieces: int | None) -> int:
    """How many pieces; BadRequest when no piece is told."""
    if pieces is not None and piece is None:
        raise BadRequest("--pieces needs --piece", next="Say how large a piece is: --piece 490x460.")
    return pieces or 1


def look(job: Job, names: Mapping[str, str], units: str, book: str | None) -> InStock:
    """The shelf of the book held against the job."""
    from woodref.provenance.instock import in_stock
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        return in_stock(store, job, names, units)


def print_stock(sections: list[tuple[str, list[str]]]) -> None:
    """What the shelf says, below the answer."""
    for heading, lines in sections:
        click.echo()
        click.secho(heading, bold=True)
        for line in lines:
            say(line, indent="  ", hang="    ")
    if sections:
        click.echo()
