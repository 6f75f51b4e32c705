"""`woodref stock cost`: what the veneer and the glue of a layup cost."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import (
    book_option,
    guarded,
    json_option,
    print_json,
    print_notices,
    region_option,
    say,
    table,
)


@click.command("cost")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--ply", "plies", multiple=True, metavar="PLY=LOT",
              help="The lot of a ply: 1=FACE-S, 2-6=BIRCH; usual: the one on hand that serves.")  # fmt: skip
@click.option(
    "--glue", multiple=True, metavar="[LINE=]LOT", help="The lot of glue, for all lines or for some."
)
@click.option(
    "--parts", type=click.IntRange(1, 100_000), metavar="N", help="How many; usual: as the layup says."
)
@region_option
@book_option
@json_option
@guarded
def cost(file: Path, plies: tuple[str, ...], glue: tuple[str, ...], parts: int | None, region: str | None,
         book: str | None, as_json: bool) -> None:  # fmt: skip
    """What the veneer and the glue of a layup cost, a part and the job, by the prices of the lots.

    FILE is a layup, or - for standard input. On top of the net area goes the waste that the layup writes
    (waste: {plain: 20 %, matched: 40 %, burr: 80 %}), or whole leaves where it tells their size, or your own
    yield once ten cuts of the kind are in the book, or what is usual. Prices are told to you alone: --json
    tells areas and grams without them.

    \b
    Example: woodref stock cost seat-shell.yaml --ply 1=FACE-S --ply 2-6=BIRCH --glue UF-2 --parts 12
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.layup.reader import read_layup
    from woodref.provenance.costing import costs
    from woodref.provenance.store import open_book
    from woodref.units import today

    layup, on = read_layup(file), today()
    with open_catalogue() as catalogue, open_book(book, read_only=True) as store:
        found = costs(store, catalogue, layup, on, plies=plies, glue=glue, parts=parts, region=region)
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    say(found.headline())
    head, rows = found.table()
    table(head, rows, right={2, 3, 4, 5, 6})
    click.echo()
    for line in found.sentences():
        say(line, hang="  ")


COMMANDS = (cost,)
