"""`woodref whence`."""

from __future__ import annotations

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say, table


@click.command("whence")
@click.argument("lot")
@book_option
@json_option
@guarded
def command(lot: str, book: str | None, as_json: bool) -> None:
    """Where an item or a lot came from: every received lot in it, and how much of each.

    \b
    Example: woodref whence STOOL-001
    """
    from woodref.provenance.store import open_book
    from woodref.provenance.traced import trace_back

    with open_book(book, read_only=True) as store:
        found = trace_back(store, lot)
    if as_json:
        print_json(found.as_dict())
        return
    head, rows = found.table()
    table(head, rows, right={4, 5})
    for line in found.sentences():
        say(line)
