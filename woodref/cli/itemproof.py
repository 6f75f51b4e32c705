"""`woodref item proof`: what is proven of an item, for a destination."""

from __future__ import annotations

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say


@click.command("proof")
@click.argument("item")
@click.option(
    "--to",
    "destination",
    type=click.Choice(["home", "EU", "GB", "US", "export"]),
    default="home",
    show_default=True,
    help="Whose rules: the shop's own, a market's, or those for a listed wood over a border.",
)
@click.option("--on", "day", metavar="DATE", help="Day it is sold or sent, YYYY-MM-DD; usual: today.")
@click.option("--form", metavar="FORM", default="furniture", show_default=True,
              help="What it is in law: furniture, seat, turned-ware, other-finished ...")  # fmt: skip
@click.option(
    "--home", metavar="CC", help="Country where it is made; left out, a border is taken to be crossed."
)
@click.option("--value", metavar="PRICE", help="Its price, for a declaration: '420.00 EUR'.")
@click.option("--business", type=click.Choice(["large", "medium", "small", "micro"]),
              help="Size of the business that sells it or brings it in.")  # fmt: skip
@click.option(
    "--book-at",
    "recorded_by",
    metavar="TIME",
    help="The book as it stood then (2026-01-05T09:00:00+01:00); usual: all of it.",
)
@book_option
@json_option
@guarded
def proof(
    item: str, destination: str, day: str | None, form: str, home: str | None, value: str | None,
    business: str | None, recorded_by: str | None, book: str | None, as_json: bool,
) -> None:  # fmt: skip
    """What the book proves of an item, what is wanting, and what would close it.

    \b
    Example: woodref item proof STOOL-002 --to EU --home DE --form seat
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.proof import evidence_of
    from woodref.provenance.proofwords import Sale
    from woodref.provenance.store import open_book
    from woodref.provenance.times import moment
    from woodref.units import date, today

    on = date(day, "--on") if day else today()
    by = moment(recorded_by, "--book-at") if recorded_by else None
    sale = Sale(form, home, value, business)
    with open_catalogue() as catalogue, open_book(book, read_only=True) as store:
        found = evidence_of(store, catalogue.rules, item, destination, on, by, sale)
    if as_json:
        print_json(found.as_dict())
        return
    for heading, lines in found.sections():
        click.secho(heading, bold=True)
        for line in lines:
            say(line, indent="  ", hang="    ")


COMMANDS = (proof,)
