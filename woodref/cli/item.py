"""`woodref item`: what the parts become."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from woodref.cli import itemmore, itemproof
from woodref.cli.common import book_option, guarded, json_option, parties_option, print_json, say, table
from woodref.cli.recording import do, finder, work_options

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done


@click.group("item", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Items of the stock book: put one together, close it, ship it, see what is in it."""


@command.command("make")
@click.argument("item")
@click.option("--part", "parts", multiple=True, required=True, metavar="LOT=AMOUNT", help="Give it for each.")
@click.option("--finish", multiple=True, metavar="LOT=AMOUNT", help="Finish or glue used on it.")
@click.option("--serial", metavar="TEXT", help="The number on the item.")
@click.option("--close", is_flag=True, help="It is finished with this.")
@work_options
@guarded
def make(item: str, parts: tuple[str, ...], finish: tuple[str, ...], serial: str | None, close: bool,
         book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:  # fmt: skip
    """Put parts together to ITEM. Trim parts first: they go in whole.

    \b
    Example: woodref item make TRAY-1 --part "P-1=1 sheet of 490 x 350 mm" --finish "OIL-1=40 g"
    """
    from woodref.provenance import items

    def build(store: Store) -> Done:
        return items.make(finder(store, "item make"), item, parts, finish, serial, close, **when)

    do(build, book, actor, as_json)


@command.command("ship")
@click.argument("item")
@click.option("--to", metavar="ID", help="Who gets it: the id of a party, never a name.")
@parties_option
@work_options
@guarded
def ship(item: str, to: str | None, parties: str | None, book: str | None, actor: str | None, as_json: bool,
         **when: Any) -> None:  # fmt: skip
    """A closed item leaves the shop.

    \b
    Example: woodref item ship TRAY-1
    """
    from woodref.errors import BadRequest
    from woodref.provenance import items
    from woodref.provenance.parties import open_parties

    if to is None:
        if parties is not None:
            raise BadRequest("--parties is of use with --to only", where="--parties")
        do(lambda _: items.ship(item, **when), book, actor, as_json)
        return
    with open_parties(parties, must_be=True) as opened:
        whom = opened.present(to)
        do(lambda _: items.ship(item, whom.id, **when), book, actor, as_json)
        opened.link(whom, "item", item)


@command.command("list")
@book_option
@json_option
@guarded
def listed(book: str | None, as_json: bool) -> None:
    """Every item and its state.

    \b
    Example: woodref item list
    """
    from woodref.provenance.items import all_items
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        found = all_items(store)
    if as_json:
        print_json(found.as_dict())
        return
    if found.rows:
        head, rows = found.table()
        table(head, rows)
    for line in found.sentences():
        say(line)


@command.command("show")
@click.argument("item")
@book_option
@json_option
@guarded
def shown(item: str, book: str | None, as_json: bool) -> None:
    """One item: its state and the woods in it.

    \b
    Example: woodref item show STOOL-001
    """
    from woodref.provenance.items import one_item
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        found = one_item(store, item)
    if as_json:
        print_json(found.as_dict())
        return
    for line in found.sentences():
        say(line)


for _made in (*itemmore.COMMANDS, *itemproof.COMMANDS):
    command.add_command(_made)
