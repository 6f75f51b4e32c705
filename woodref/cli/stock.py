"""`woodref stock`: what is on hand; what comes in and the work on it stand in files of their own."""

from __future__ import annotations

import click

from woodref.cli import stockcost, stockin, stockmore, stockpages, stockwork
from woodref.cli.common import book_option, guarded, json_option, print_json, say, table
from woodref.errors import BadRequest


@click.group("stock", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Lots of the stock book: take one in, work on it, see what is on hand."""


@command.command("list")
@click.argument("words", required=False)
@click.option("--all", "everything", is_flag=True, help="Lots that are used up, too.")
@book_option
@json_option
@guarded
def listed(words: str | None, everything: bool, book: str | None, as_json: bool) -> None:
    """What is on hand; WORDS look in lot, every name of its wood, form, flitch, bundle and shelf.

    \b
    Example: woodref stock list rosewood
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import woods_called
    from woodref.provenance.stock import on_hand
    from woodref.provenance.store import open_book

    woods: frozenset[str] = frozenset()
    with open_book(book, read_only=True) as store:
        if words:
            with open_catalogue() as catalogue:
                woods = woods_called(words, catalogue)
        found = on_hand(store, words, everything, woods)
    if as_json:
        print_json(found.as_dict())
        return
    if found.rows:
        head, rows = found.table()
        table(head, rows, right={4, 5, 6})
    for line in found.sentences():
        say(line)


@command.command("show")
@click.argument("lot")
@click.option("--price", is_flag=True, help="Tell what was paid too, for the shop alone; never in JSON.")
@book_option
@json_option
@guarded
def shown(lot: str, price: bool, book: str | None, as_json: bool) -> None:
    """One lot: its wood, what is left, where it grew, its papers, every move.

    \b
    Example: woodref stock show L-B
    """
    from woodref.provenance.stock import one_lot
    from woodref.provenance.store import open_book

    if price and as_json:
        raise BadRequest("a price is never told in JSON", next="Leave out one of the two.")
    with open_book(book, read_only=True) as store:
        found = one_lot(store, lot)
    if as_json:
        print_json(found.as_dict())
        return
    for line in [*found.sentences(), *([found.price()] if price else [])]:
        say(line)
    head, rows = found.table()
    table(head, rows, right={3, 4})


for _made in (
    *stockin.COMMANDS,
    *stockwork.COMMANDS,
    *stockmore.COMMANDS,
    *stockpages.COMMANDS,
    *stockcost.COMMANDS,
):
    command.add_command(_made)
