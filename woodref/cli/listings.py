"""`woodref listings`."""

from __future__ import annotations

import click

from woodref.cli.common import csv_option, guarded, json_option, print_csv, print_json, print_notices, say


@click.command("listings")
@click.argument("taxon", required=False)
@click.option("--on", metavar="DATE", help="The day asked about, YYYY-MM-DD; usual: today.")
@click.option("--since", metavar="DATE", help="Only what began or ended after this day.")
@csv_option
@json_option
@guarded
def command(taxon: str | None, on: str | None, since: str | None, as_csv: bool, as_json: bool) -> None:
    """Which woods are listed on a day; with --since, what changed.

    TAXON narrows the list to a genus or species (botanical name).

    \b
    Example: woodref listings --since 2024-01-01
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.listed import listed
    from woodref.units import today

    with open_catalogue() as catalogue:
        found = listed(taxon, on, since, catalogue, today())
    if as_json:
        print_json(found.as_dict())
        return
    if as_csv:
        print_csv(list(found.rows))
        return
    print_notices(found.notices)
    for sentence in found.sentences:
        say(sentence, hang="    ")
    say(found.caution)
