"""`woodref went-into`."""

from __future__ import annotations

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say, table


@click.command("went-into")
@click.argument("lot")
@book_option
@json_option
@guarded
def command(lot: str, book: str | None, as_json: bool) -> None:
    """What a lot went into: every lot and item made with some of it, for a recall or a count.

    \b
    Example: woodref went-into L-C
    """
    from woodref.provenance.store import open_book
    from woodref.provenance.traced import trace_forth

    with open_book(book, read_only=True) as store:
        found = trace_forth(store, lot)
    if as_json:
        print_json(found.as_dict())
        return
    head, rows = found.table()
    if rows:
        table(head, rows, right={3})
    for line in found.sentences():
        say(line)
