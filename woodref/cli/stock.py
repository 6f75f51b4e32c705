"""`woodref stock`: what comes in and what is on hand."""

from __future__ import annotations

from typing import Any

import click

from woodref.cli import stockpages, stockwork
from woodref.cli.common import book_option, guarded, json_option, print_json, say, table

FORMS = ("veneer", "engineered-veneer", "board", "sawn", "adhesive", "finish", "hardware")


@click.group("stock", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Lots of the stock book: take one in, work on it, see what is on hand."""


@command.command("receive")
@click.argument("lot")
@click.argument("amount")
@click.option("--form", type=click.Choice(FORMS), default="veneer", show_default=True)
@click.option("--species", metavar="NAME", help="The botanical name on the paper.")
@click.option("--one-of", multiple=True, metavar="NAME", help="It is one of these; give it for each.")
@click.option("--genus", metavar="GENUS", help="Only the genus is known.")
@click.option("--words", metavar="TEXT", help="What the paper or the chalk says, word for word.")
@click.option(
    "--identified-by", type=click.Choice(["nobody", "eye", "paper", "other-test", "microscopy"]),
    help="How the wood is known.",
)  # fmt: skip
@click.option("--thickness", metavar="LENGTH", help="Where the amount does not say it, such as '0.6 mm'.")
@click.option("--density", "density_kg_m3", type=click.IntRange(30, 1500), metavar="KG/M3",
              help="As weighed or as the paper says, in kg/m3: masses are reckoned with it.")  # fmt: skip
@click.option("--country", multiple=True, metavar="CC", help="Where it grew; give it for each country.")
@click.option("--harvest", metavar="WHEN", help="When it was felled, as the paper says.")
@click.option("--flitch", metavar="TEXT")
@click.option("--bundle", metavar="TEXT")
@click.option("--shelf", metavar="TEXT", help="Where it lies.")
@click.option("--found", is_flag=True, help="Old stock found on the shelf, not a delivery.")
@click.option("--time", metavar="TIME", help="When, with offset (2026-01-05T09:00:00+01:00); usual: now.")
@click.option("--event", metavar="ID", help="Id of the event; usual: made of the lot's id.")
@click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name.")
@book_option
@json_option
@guarded
def receive(lot: str, amount: str, book: str | None, actor: str | None, as_json: bool, **told: Any) -> None:
    """Take a lot in. AMOUNT as you would say it: "12 leaves of 1800 x 200 mm, 0.6 mm", "1.5 m2", "10 kg".

    \b
    Example: woodref stock receive W-7 "12 leaves of 1800 x 200 mm, 0.6 mm" --species "Juglans nigra"
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import knows_of
    from woodref.provenance.receiving import received
    from woodref.provenance.store import open_book

    event, said = received(lot, amount, thickness_said=told.pop("thickness"), **told)
    with open_catalogue() as catalogue, open_book(book, knows_of(catalogue)) as store:
        done = store.record([event], actor)[0]
    if as_json:
        print_json(
            {"lot": lot, "event": event.id, "number": done.seq or None, "again": done.again,
             "qty": said.qty, "unit": said.unit, "notices": []}
        )  # fmt: skip
        return
    stood = " It stood there already." if done.again else ""
    say(f"{'Found' if told['found'] else 'Received'} {lot}: {said.echo()}.{stood}")


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
@book_option
@json_option
@guarded
def shown(lot: str, book: str | None, as_json: bool) -> None:
    """One lot: its wood, what is left, where it grew, its papers, every move.

    \b
    Example: woodref stock show L-B
    """
    from woodref.provenance.stock import one_lot
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        found = one_lot(store, lot)
    if as_json:
        print_json(found.as_dict())
        return
    for line in found.sentences():
        say(line)
    head, rows = found.table()
    table(head, rows, right={3, 4})


for _made in (*stockwork.COMMANDS, *stockpages.COMMANDS):
    command.add_command(_made)
