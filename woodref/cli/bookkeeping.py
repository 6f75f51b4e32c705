"""`woodref book publish`, `backup`, `restore`: copies of the book, for others and for the day it is lost."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say


@click.command("publish")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--shelf", is_flag=True, help="The lots on hand too, with where they lie: for your own phone alone."
)
@click.option(
    "--customer-sheets",
    "sheets",
    is_flag=True,
    help="The customer sheet given out last of each item too, word for word.",
)
@book_option
@json_option
@guarded
def publish(file: Path, shelf: bool, sheets: bool, book: str | None, as_json: bool) -> None:
    """Write the public copy of the book for the explorer: closed and shipped items, their woods, origins and
    public papers. No prices, suppliers, notes or persons.

    \b
    Example: woodref book publish public.sqlite
             woodref book publish public.sqlite --customer-sheets
             woodref book publish my-shop.sqlite --shelf
    """
    from woodref.provenance.publish import publish as written
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        done = written(store, file, shelf, sheets)
    if as_json:
        print_json(done.as_dict())
        return
    for line in done.sentences():
        say(line)


@click.command("backup")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--keep", type=click.IntRange(min=1), default=3, show_default=True, help="Copies to keep.")
@click.option("--with-parties", is_flag=True, help="The parties' file too: it holds personal data.")
@book_option
@json_option
@guarded
def backup(folder: Path, keep: int, with_parties: bool, book: str | None, as_json: bool) -> None:
    """Copy the book into FOLDER while it is in use, and check the copy.

    \b
    Example: woodref book backup /media/stick/woodref
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.backup import backup as made
    from woodref.provenance.engine import book_url
    from woodref.provenance.naming import knows_of

    with open_catalogue() as catalogue:
        done = made(book_url(book), folder, keep, knows_of(catalogue), with_parties)
    if as_json:
        print_json(done.as_dict())
        return
    for line in done.sentences():
        say(line)


@click.command("restore")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--yes", is_flag=True, help="The book that is there makes way; it is set aside, not deleted.")
@book_option
@json_option
@guarded
def restore(file: Path, yes: bool, book: str | None, as_json: bool) -> None:
    """Put a backup back. Where a book is, what it would lose is told first, and --yes is wanted. A copy of
    the parties is known as such and put in their place.

    \b
    Example: woodref book restore book-1a2b3c4d-20260105T091500Z-0000020-9f8e7d6c5b4a.sqlite
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.errors import BadRequest
    from woodref.provenance.naming import knows_of
    from woodref.provenance.restoring import is_parties, plan, restore_parties
    from woodref.provenance.restoring import restore as put_back

    if file.is_file() and is_parties(file):
        if book is not None:
            raise BadRequest("this is a copy of the parties, of no book", where="--book")
        lines, done = restore_parties(file, yes)
        told = {"file": str(file), "done": done, "sentences": lines, "notices": []}
    else:
        with open_catalogue() as catalogue:
            planned = plan(file, book, knows_of(catalogue))
        if yes or not planned.asks:
            planned = put_back(planned)
        done = planned.done is not None
        lines = [*planned.sentences(), *(planned.after() if done else [])]
        told = planned.as_dict()
    if as_json:
        print_json(told)
    else:
        for line in lines:
            say(line)
        if not done:
            say("Nothing was changed. To go on: the same command with --yes.")
    sys.exit(0 if done else 1)


COMMANDS = (publish, backup, restore)
