"""`woodref data diff`."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import csv_option, guarded, json_option, print_json, print_notices, say


@click.command("diff")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@csv_option
@json_option
@guarded
def command(old: Path, new: Path, as_csv: bool, as_json: bool) -> None:
    """What differs between two states of the data: materials, figures, names, listings.

    OLD and NEW are data folders or built catalogues (.sqlite), also one of each. --csv prints the figures.

    \b
    Example: woodref data diff ../last-release/data data
    """
    from woodref.catalogue.change import CSV_COLUMNS
    from woodref.catalogue.diff import compare
    from woodref.catalogue.edition import read_edition
    from woodref.catalogue.export import as_csv as csv_text

    found = compare(read_edition(old), read_edition(new))
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    if as_csv:
        click.echo(csv_text([f.as_row() for f in found.figures], list(CSV_COLUMNS)), nl=False)
        return
    say(found.summary)
    for head, sentences in found.paragraphs:
        click.echo()
        click.echo(head)
        for sentence in sentences:
            say(sentence, indent="  ", hang="    ")
