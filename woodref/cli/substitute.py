"""`woodref substitute`."""

from __future__ import annotations

import click

from woodref.catalogue.material import KINDS
from woodref.cli.common import (
    csv_option,
    guarded,
    json_option,
    print_csv,
    print_json,
    print_notices,
    region_option,
    say,
    table,
    units_option,
)
from woodref.selection.criteria import ROLES


@click.command("substitute")
@click.argument("name")
@click.option(
    "--role",
    type=click.Choice(ROLES),
    default="face",
    show_default=True,
    help="Where in the pack the wood sits; it decides what counts.",
)
@click.option("--plantation", is_flag=True, help="Only woods planted for timber.")
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    help="Only this kind of material.",
)
@click.option("--origin", metavar="CC", help="Only wood harvested in this country, such as GH.")
@click.option(
    "--natural", is_flag=True, help="Replace natural-forest wood: the same wood planted may answer."
)
@click.option("--home", metavar="CC", help="Country where the part is made.")
@click.option("--veneer-from", metavar="CC", help="Country the sheets are bought in; usual: where they grew.")
@click.option("--sell-to", metavar="CC", help="Country the finished part is sold to (needs --home).")
@click.option(
    "--rows",
    type=click.IntRange(1, 500),
    default=10,
    show_default=True,
    help="How many rows are ranked.",
)
@region_option
@units_option
@csv_option
@json_option
@guarded
def command(
    name: str,
    role: str,
    plantation: bool,
    kind: str | None,
    origin: str | None,
    natural: bool,
    home: str | None,
    veneer_from: str | None,
    sell_to: str | None,
    rows: int,
    region: str | None,
    units: str,
    as_csv: bool,
    as_json: bool,
) -> None:
    """What may lawfully stand in for a wood, ranked, with reasons.

    \b
    Example: woodref substitute "Brazilian rosewood" --role face
    """
    from woodref.catalogue.names import resolve
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.legs import Route
    from woodref.selection.substitutes import Request, substitutes
    from woodref.units import today

    with open_catalogue() as catalogue:
        on = today()
        route = Route(home, veneer_from, sell_to)
        request = Request(name, role, on, plantation, kind, origin, rows, natural, route)
        answer = substitutes(request, resolve(name, catalogue, on, region), catalogue)
    if as_json:
        print_json(answer.as_dict())
        return
    if as_csv:
        print_csv([row.flat() for row in answer.ranked])
        return
    from woodref.selection.board import board

    print_notices(answer.notices)
    page = board(answer, units)
    for text in page.opening:
        say(text)
    if page.rows:
        click.echo()
        table(page.head, page.rows, page.right, page.spare)
        say(page.legend)
    for group in page.groups:
        click.echo()
        click.secho(group.heading, bold=True)
        for line in group.lines:
            say(line, indent="  ", hang="    ")
    click.echo()
    for text in page.closing:
        say(text)
