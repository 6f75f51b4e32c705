"""`woodref compare`."""

from __future__ import annotations

import click

from woodref.cli.common import (
    estimates_option,
    guarded,
    json_option,
    print_json,
    print_notices,
    region_option,
    say,
    units_option,
)


@click.command("compare")
@click.argument("names", nargs=-1, required=True)
@estimates_option
@region_option
@units_option
@json_option
@guarded
def command(names: tuple[str, ...], estimates: bool, region: str | None, units: str, as_json: bool) -> None:
    """Two to six woods side by side; differences are from the first.

    \b
    Example: woodref compare "black walnut" ovangkol imbuia
    """
    from woodref.catalogue.names import resolve
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.compare import compare
    from woodref.units import today

    with open_catalogue() as catalogue:
        on = today()
        matched = [resolve(n, catalogue, on, region) for n in names]
        found = compare(matched, catalogue, on, units, estimates)
    if as_json:
        print_json(found.as_dict())
        return
    print_notices(found.notices)
    widest = max(len(m.name) for m in found.materials)
    for aspect in found.aspects:
        click.secho(f"{aspect.asks[0].upper()}{aspect.asks[1:]}", bold=True)
        for material, cell in zip(found.materials, aspect.cells, strict=True):
            say(f"{material.name:<{widest}}  {cell}", indent="  ", hang=" " * (widest + 4))
    click.secho("In words", bold=True)
    for sentence in found.in_words:
        say(sentence, indent="  ", hang="    ")
    click.secho("May I?", bold=True)
    for sentence in found.sentences:
        say(sentence, indent="  ", hang="    ")
