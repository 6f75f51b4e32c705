"""`woodref stock`: paper for the bench, and what comes back from it: labels, slips, a day's slips, a page to
fetch by."""

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
    write_text,
)
from woodref.cli.stockday import day
from woodref.errors import BadRequest

OUT = click.Path(dir_okay=False, path_type=Path)


@click.command("label")
@click.argument("lots", metavar="LOT [LOT ...]", nargs=-1, required=True)
@click.option("--out", required=True, metavar="FILE.html", type=OUT, help="The page to print.")
@click.option(
    "--size", type=click.Choice(["a4", "strip"]), default="a4", show_default=True,
    help="a4: six on a page, to cut apart; strip: a roll of 62 mm.",
)  # fmt: skip
@book_option
@guarded
def label(lots: tuple[str, ...], out: Path, size: str, book: str | None) -> None:
    """A label for each LOT: its wood, size, flitch, shelf, a box for each leaf, a code that holds its id.

    \b
    Example: woodref stock label W-7 BIRCH --out labels.html
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance import labels
    from woodref.provenance.store import open_book
    from woodref.selection.status import law_caution
    from woodref.units import today

    paper, on = labels.PAPERS[size], today()
    with open_catalogue() as catalogue, open_book(book, read_only=True) as store:
        made = labels.labels_of(store, lots, catalogue.law, on)
        html, caution = labels.sheet_of(made, paper, on, catalogue.stamp), law_caution(catalogue)
    write_text(out, html)
    for line in labels.sentences(made, paper):
        say(line)
    say(caution)


@click.command("slip")
@click.argument("lot", required=False)
@click.option("--out", required=True, metavar="FILE.html", type=OUT, help="The page to print.")
@book_option
@guarded
def slip(lot: str | None, out: Path, book: str | None) -> None:
    """A blank cutting slip for the bench; with LOT it says what the lot is and what is free of it.

    \b
    Example: woodref stock slip W-7 --out slip.html
    """
    from woodref.provenance.latest import NOTHING, noted, shelf_of
    from woodref.provenance.slips import slip as slip_of
    from woodref.provenance.store import open_book
    from woodref.units import today

    held = shelf = None
    if lot is None and book is not None:
        raise BadRequest("--book is of no use without LOT", next="Name a lot, or leave --book out.")
    if lot is not None:
        with open_book(book, read_only=True) as store:
            held = store.book().lot(lot, "stock slip")
            shelf = shelf_of(held, noted(store, lot).get(lot, NOTHING))
    write_text(out, slip_of(held, today(), shelf))


@click.command("pick")
@click.option("--layup", "file", required=True, metavar="FILE", help="The layup, or - for standard input.",
              type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))  # fmt: skip
@click.option("--out", metavar="FILE.html", type=OUT, help="The same as one page to print.")
@region_option
@book_option
@json_option
@guarded
def pick(file: Path, out: Path | None, region: str | None, book: str | None, as_json: bool) -> None:
    """What to fetch for a layup: lots that serve each ply, in shelf order, what to take, what is short.

    \b
    Example: woodref stock pick --layup seat-shell.yaml --out fetch.html
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.layup.reader import read_layup
    from woodref.provenance import picking
    from woodref.provenance.store import open_book
    from woodref.units import today

    layup, on = read_layup(file), today()
    with open_catalogue() as catalogue, open_book(book, read_only=True) as store:
        found = picking.pick(layup, store, catalogue, on, region)
    if out is not None:
        write_text(out, picking.pick_page(found, on))
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    say(f"{layup.title}: {found.summary()}")
    for (head, rows), right, spare in ((found.walk(), {6, 7}, (4, 3)), (found.by_ply(), {4}, (3, 2))):
        if rows:
            table(head, rows, right=right, spare=spare)
            click.echo()
    for line in found.sentences():
        say(line)


COMMANDS = (label, slip, day, pick)
