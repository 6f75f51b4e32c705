"""`woodref show`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import (
    estimates_option,
    guarded,
    json_option,
    print_json,
    print_notices,
    refuse_for_a_glue,
    refuse_for_a_list,
    region_option,
    say,
    units_option,
)

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue
    from woodref.selection.glues import GlueMatched


@click.command("show")
@click.argument("name")
@click.option("--all", "full", is_flag=True, help="Also every figure held, not only the preferred.")
@click.option("--at", "at", multiple=True, metavar="rh=45", help="Also in a room: rh=45, temperature=20C.")
@estimates_option
@region_option
@units_option
@json_option
@guarded
def command(
    name: str,
    full: bool,
    at: tuple[str, ...],
    estimates: bool,
    region: str | None,
    units: str,
    as_json: bool,
) -> None:
    """Everything known about one wood or one glue, in the order a bench asks.

    NAME is an id, a botanical name, an older one, or a trade name; or a row of a list of your own,
    such as my/harrow-veneers/bog-oak.

    \b
    Example: woodref show "black walnut"
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.errors import UnknownName
    from woodref.selection.glues import GlueMatched, wood_or_glue
    from woodref.selection.portrait import portrait
    from woodref.selection.room import air, in_the_room
    from woodref.units import today

    room = air(at)
    with open_catalogue() as catalogue:
        on = today()
        try:
            matched = wood_or_glue(name, catalogue, on, region)
        except UnknownName:
            asked = {"--all": full, "--at": at, "--estimates": estimates, "--region": region}
            if _show_own(name, asked, catalogue, units, as_json):
                return
            raise
        if isinstance(matched, GlueMatched):
            refuse_for_a_glue({"--all": full, "--at": at, "--estimates": estimates})
            _show_glue(matched, catalogue, units, as_json)
            return
        found = portrait(matched, catalogue, on, units, full, estimates)
    there = in_the_room(found.material, room, units) if room else []
    if as_json:
        more = {"at": [t.as_dict() for t in there]} if room else {}
        print_json(found.as_dict() | more)
        return
    print_notices(found.notices)
    for section in found.sections:
        _print_section(section.heading, [line.text for line in section.lines])
    if room:
        air_words = f"{100 * room.rh:g} % relative humidity and {room.temperature:g} C"
        click.secho(f"In a room of {air_words} (worked out)", bold=True)
        for item in there:
            say(f"{item.sentence} [{item.rule}]", indent="  ", hang="    ")


def _show_own(name: str, asked: dict[str, Any], catalogue: Catalogue, units: str, as_json: bool) -> bool:
    """Show the row of a list that a name stands for; False where none does."""
    from woodref.selection.ownlists import own_named, show_row
    from woodref.units import today

    held = own_named(name)
    if held is None:
        return False
    refuse_for_a_list(asked)
    found = show_row(*held, catalogue, today(), units)
    if as_json:
        print_json(found.as_dict())
        return True
    print_notices(found.notices)
    for section in found.sections:
        _print_section(section.heading, [line.text for line in section.lines])
    return True


def _print_section(heading: str, lines: Sequence[str]) -> None:
    click.secho(heading, bold=True)
    for line in lines:
        say(line, indent="  ", hang="    ")


def _show_glue(matched: GlueMatched, catalogue: Catalogue, units: str, as_json: bool) -> None:
    from woodref.selection.glueportrait import glue_portrait

    found = glue_portrait(matched, catalogue, units)
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    for section in found.sections:
        _print_section(section.heading, section.lines)
