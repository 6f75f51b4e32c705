"""`woodref trade`."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import (
    guarded,
    json_option,
    print_json,
    print_notices,
    region_option,
    say,
)


@click.command("trade")
@click.argument("name", required=False)
@click.option("--goods", "item_file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path),
              help="A YAML file of goods and journey: woods, and these options as keys; or -.")  # fmt: skip
@click.option("--form", help="What the wood is made into: veneer, plywood, furniture, seat ...")
@click.option("--from", "start", metavar="CC", help="Country it leaves.")
@click.option("--to", metavar="CC", help="Country it enters (the same: a sale inside).")
@click.option("--on", metavar="DATE", help="Day of the journey, YYYY-MM-DD; usual: today.")
@click.option("--origin", metavar="CC", help="Country of harvest; usual: not known.")
@click.option("--acquired", metavar="DATE", help="Day the wood was felled or first held by anybody.")
@click.option("--kg", help="Mass of listed wood in one item, the upper end; kg if no unit is given.")
@click.option("--items", type=click.IntRange(1), default=1, show_default=True, help="How many items.")
@click.option("--mode", default="cargo", show_default=True,
              help="cargo, post, hand-luggage, household-move, instrument-travel, sale-inside.")  # fmt: skip
@click.option("--commercial/--personal", default=True, show_default=True, help="For trade or not.")
@click.option("--source-code", metavar="W|A|Y|...", help="Source code on the permit.")
@click.option("--shape", type=click.Choice(["flat", "curved", "partly-flat"]), help="For formaldehyde law.")
@click.option("--state", type=click.Choice(["blank", "trimmed", "finished"]),
              help="State of a pressed part; usual: both verdicts when they differ.")  # fmt: skip
@click.option("--business", type=click.Choice(["large", "medium", "small", "micro"]),
              help="Size of the importing business.")  # fmt: skip
@click.option("--shipped", metavar="DATE", help="Day of sailing, if before a listing began.")
@region_option
@json_option
@guarded
def command(
    name: str | None, item_file: Path | None, region: str | None, as_json: bool, **given: object
) -> None:
    """Which papers this wood needs, as this item, on this journey, on this day.

    \b
    Example: woodref trade "Indian rosewood" --form veneer --from IN --to DE
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.journey import answer, from_file, from_options
    from woodref.units import today

    with open_catalogue() as catalogue:
        on = today()
        if item_file is not None:
            asked = from_file(item_file, catalogue, on, region)
        else:
            asked = from_options(name, dict(given), catalogue, on, region)
        found = answer(asked, catalogue)
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    for heading, lines in found.page():
        click.secho(heading, bold=True)
        for line in lines:
            say(line, indent="  ", hang="    ")
