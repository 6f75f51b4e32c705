"""`woodref show`."""

from __future__ import annotations

import click

from woodref.cli.common import (
    guarded,
    json_option,
    print_json,
    print_notices,
    region_option,
    say,
    units_option,
)


@click.command("show")
@click.argument("name")
@click.option("--all", "full", is_flag=True, help="Also every figure held, not only the preferred.")
@region_option
@units_option
@json_option
@guarded
def command(name: str, full: bool, region: str | None, units: str, as_json: bool) -> None:
    """Everything known about one wood, in the order a bench asks.

    NAME is an id, a botanical name, an older one, or a trade name.

    \b
    Example: woodref show "black walnut"
    """
    from woodref.catalogue.names import resolve
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.portrait import portrait
    from woodref.units import today

    with open_catalogue() as catalogue:
        on = today()
        found = portrait(resolve(name, catalogue, on, region), catalogue, on, units, full)
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    for section in found.sections:
        click.secho(section.heading, bold=True)
        for line in section.lines:
            say(line.text, indent="  ", hang="    ")
