"""`woodref layup`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import (
    estimates_option,
    guarded,
    json_option,
    print_json,
    print_notices,
    region_option,
    say,
    table,
    units_option,
    write_text,
)
from woodref.errors import BadRequest

if TYPE_CHECKING:
    from woodref.layup.report import Report


def _example(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    """The commented seat shell of the invented workshop."""
    if not wanted or context.resilient_parsing:
        return
    from woodref.paths import DEMO, data_dir

    click.echo((data_dir() / DEMO / "seat-shell.yaml").read_text("utf-8"), nl=False)
    context.exit()


@click.command("layup")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--example", is_flag=True, is_eager=True, expose_value=False, callback=_example,
              help="Print a commented layup to begin from, and stop.")  # fmt: skip
@click.option("--set", "sets", metavar="PATH=VALUE", multiple=True,
              help="What if: --set plies.2.thickness=0.9mm. Again for more.")  # fmt: skip
@click.option("--swap", "swaps", metavar="PLY=NAME", multiple=True, help="What if ply 1 were another wood.")
@click.option("--have", "haves", metavar="PLY=THICKNESS", multiple=True,
              help="What if the sheet to hand for ply 1 is 0.5mm.")  # fmt: skip
@click.option("--range", "ranges", metavar="rh=LOW..HIGH", multiple=True, help="What if the air is another.")
@click.option("--suggest-back", is_flag=True, help="Name backs that would balance the face.")
@click.option("--svg", "svg", metavar="FILE", type=click.Path(path_type=Path), help="Draw the pack to scale.")
@click.option("--bench-card", "card", metavar="FILE", type=click.Path(path_type=Path),
              help="Write one printable page (HTML) for the press.")  # fmt: skip
@click.option("--bundle", "packed", metavar="FILE.zip", type=click.Path(path_type=Path),
              help="Put layup, figures used and report into one file for another shop.")  # fmt: skip
@click.option("--short", is_flag=True, help="Print the short answer alone.")
@click.option("--engineers", is_flag=True, help="Print moduli and matrices too.")
@estimates_option
@region_option
@units_option
@json_option
@guarded
def command(
    file: Path,
    sets: tuple[str, ...],
    swaps: tuple[str, ...],
    haves: tuple[str, ...],
    ranges: tuple[str, ...],
    suggest_back: bool,
    svg: Path | None,
    card: Path | None,
    packed: Path | None,
    short: bool,
    engineers: bool,
    estimates: bool,
    region: str | None,
    units: str,
    as_json: bool,
) -> None:
    """Check a pack of plies before it is glued: shape, bend, weight, glue, cutting, law.

    FILE is a layup in YAML, or - for standard input; --example prints a commented one to begin from. --bundle
    writes it with every figure that went into the report, so that another shop gets the same numbers. Is FILE
    such a bundle, it is checked: its sums, its numbers worked anew from its own figures, and these beside the
    catalogue held here (exit code 1 where a number comes out otherwise).

    \b
    Example: woodref layup seat-shell.yaml --swap 1="European cherry"
    Example: woodref layup seat-shell.yaml --bundle seat-shell.zip
    Example: woodref layup seat-shell.zip
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.layup.reader import body_of, load_layup
    from woodref.layup.report import report
    from woodref.layup.whatif import beside_dict, edits_of
    from woodref.units import today

    name = "standard input" if str(file) == "-" else str(file)
    body, bundled = body_of(file)
    if bundled:
        given = {"--set": sets, "--swap": swaps, "--have": haves, "--range": ranges, "--svg": svg,
                 "--suggest-back": suggest_back, "--bench-card": card, "--bundle": packed, "--short": short,
                 "--engineers": engineers, "--estimates": estimates, "--region": region,
                 "--units": units != "metric"}  # fmt: skip
        _check(body, name, given, as_json)
        return
    edits = edits_of(sets, swaps, haves, ranges)
    on = today()
    if packed is not None:
        from woodref.layup.bundle import bundle, place_for

        place_for(packed, bool(edits))
    with open_catalogue() as catalogue:
        drawn = report(load_layup(body, name), catalogue, on, region=region, guess=estimates, system=units)
        shown = drawn
        if edits:
            layup = load_layup(body, name, edits)
            shown = report(layup, catalogue, on, region=region, guess=estimates, system=units)
        backs = None
        if suggest_back:
            from woodref.layup.backs import suggest_backs

            backs = suggest_backs(shown, catalogue, on)
        colours = {}
        if svg or card:
            from woodref.layup.drawing import class_colours

            colours = class_colours(catalogue)
        made = None
        if packed is not None:
            made = bundle(body, name, catalogue, on, region=region, guess=estimates, system=units)
    _write(shown, svg, card, colours)
    if packed is not None and made is not None:
        from woodref.files import write_bytes

        write_bytes(packed, made)
        say(f"Written: {packed}", err=True)
    if as_json:
        out = beside_dict(drawn, shown, [e.option for e in edits]) if edits else shown.as_dict()
        print_json(out | ({"backs": backs.as_dict()} if backs else {}))
        return
    print_notices(shown.notices)
    if edits:
        _print_beside(drawn, shown)
    _print(shown, engineers, short)
    if backs:
        click.secho("Backs that would balance it", bold=True)
        for line in backs.sentences:
            say(line, indent="  ", hang="    ")


def _check(body: bytes, name: str, given: dict[str, Any], as_json: bool) -> None:
    """Tell what a bundle is worth; exit code 1 when it is not what it says."""
    from woodref.catalogue.reader import open_catalogue
    from woodref.layup.bundle import read_bundle
    from woodref.layup.bundlecheck import check

    wrong = [option for option, value in given.items() if value]
    if wrong:
        raise BadRequest(
            f"{name} is a bundle, which is checked as it is: {' and '.join(wrong)} cannot go with it",
            next="Take layup.yaml out of it to ask more of it.",
        )
    with open_catalogue() as catalogue:
        found = check(read_bundle(body, name), catalogue, name)
    if as_json:
        print_json(found.as_dict())
    else:
        for line in found.sentences():
            say(line, hang="  ")
    sys.exit(0 if found.same else 1)


def _write(shown: Report, svg: Path | None, card: Path | None, colours: dict[str, str]) -> None:
    if svg is None and card is None:
        return
    from woodref.layup.drawing import draw

    drawing = draw(shown, colours)
    if svg is not None:
        write_text(svg, drawing)
    if card is not None:
        from woodref.layup.benchcard import bench_card

        write_text(card, bench_card(shown, drawing))


def _print_beside(drawn: Report, shown: Report) -> None:
    from woodref.layup.whatif import beside

    head, rows = beside(drawn, shown)
    table(head, rows)
    click.echo()


def _print(shown: Report, engineers: bool, short: bool) -> None:
    say(shown.headline())
    for asks, answer in shown.short():
        say(f"{asks + ':':<8}{answer}.", indent="  ", hang=" " * 10)
    if short:
        return
    for heading, lines in shown.page():
        click.secho(heading, bold=True)
        for line in lines:
            say(line, indent="  ", hang="    ")
    click.secho("The pack, show face first", bold=True)
    head, rows = shown.pack_table()
    table(head, rows, right={3, 4, 5, 6})
    if not engineers:
        say("Moduli and matrices: --engineers, or --json.")
        return
    click.secho("For engineers", bold=True)
    for line in shown.engineers():
        say(line, indent="  ", hang="    ")
    for title, matrix in shown.matrices():
        click.echo(f"  {title}")
        for row in matrix:
            click.echo("    " + "  ".join(f"{v:>14,.3f}" for v in row))
