"""`woodref find`."""

from __future__ import annotations

import click

from woodref.catalogue.material import KINDS
from woodref.cli.common import (
    csv_option,
    estimates_option,
    guarded,
    json_option,
    print_csv,
    print_json,
    print_notices,
    refuse_for_a_glue,
    say,
    table,
    units_option,
)
from woodref.cli.instock import look, only_in_stock, pieces_of, print_stock, stock_options


@click.command("find")
@click.argument("text", required=False, default="")
@click.option(
    "--with",
    "limits",
    multiple=True,
    metavar="PROPERTY=RANGE",
    help="A limit, such as density=450..600 (kg/m3) or moe=12.. (GPa); may be repeated.",
)
@click.option("--plantation", is_flag=True, help="Only woods planted for timber.")
@click.option("--not-listed", is_flag=True, help="Only with a country of harvest that is not listed.")
@click.option(
    "--kind",
    type=click.Choice([*KINDS, "glue"]),
    help="Only this kind of material; glue lists the glues.",
)
@click.option(
    "--only",
    multiple=True,
    metavar="WHAT=WORD",
    help="Only woods of this word: colour, pores, texture, planted, sold or red_list, such as pores=ring.",
)
@click.option("--like-colour", metavar="'#5a3a22'", help="Woods of about this colour.")
@click.option(
    "--within",
    type=float,
    default=12.0,
    show_default=True,
    help="How far a measured colour may be off (CIEDE2000).",
)
@click.option("--rows", type=click.IntRange(1, 5000), help="Print at most so many.")
@stock_options
@click.option("--piece", metavar="LxW", help="What a sheet must cover in mm, along the grain first: 490x460.")
@click.option("--joints", type=click.IntRange(0, 40), help="Joints allowed in that piece; usual: none.")
@estimates_option
@units_option
@csv_option
@json_option
@guarded
def command(
    text: str,
    limits: tuple[str, ...],
    plantation: bool,
    not_listed: bool,
    kind: str | None,
    only: tuple[str, ...],
    like_colour: str | None,
    within: float,
    rows: int | None,
    estimates: bool,
    units: str,
    as_csv: bool,
    as_json: bool,
    in_stock: bool,
    piece: str | None,
    pieces: int | None,
    joints: int | None,
    book: str | None,
) -> None:
    """Woods by name, within limits, or like a colour; glues with --kind glue.

    \b
    Example: woodref find --with density=450..600 --plantation
    On the shelf: woodref find --in-stock --piece 490x460 --pieces 4 --joints 2
    """
    only_in_stock(in_stock, {"--piece": piece, "--pieces": pieces, "--joints": joints, "--book": book})
    if kind == "glue":
        given = {"--with": limits, "--plantation": plantation, "--not-listed": not_listed,
                 "--only": only, "--like-colour": like_colour, "--estimates": estimates,
                 "--in-stock": in_stock}  # fmt: skip
        refuse_for_a_glue(given)
        _glues(text, rows, units, as_csv, as_json)
        return
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection import facets
    from woodref.selection.find import Query, find, limits_of
    from woodref.units import today

    with open_catalogue() as catalogue:
        query = Query(
            text, limits_of(limits), plantation, not_listed, kind, like_colour, within, rows, estimates,
            facets.only(only, catalogue), in_stock,
        )  # fmt: skip
        stock = None
        if in_stock:
            from woodref.provenance.shelf import Job
            from woodref.selection.request import piece_of

            job = Job(piece_of(piece, joints or 0), pieces_of(piece, pieces))
            stock = look(job, catalogue.countries, units, book)
        found = find(query, catalogue, today(), stock.shelf() if stock else None)
    woods = [row.material.botanical_name for row in found.rows]
    if as_json:
        told = {"in_stock": stock.as_dict(woods, found.not_held)} if stock else {}
        print_json(found.as_dict() | told)
        return
    if as_csv:
        lots = [stock.lots(row.material.botanical_name) if stock else {} for row in found.rows]
        print_csv([row.flat(found.asked) | mine for row, mine in zip(found.rows, lots, strict=True)])
        return
    from woodref.selection.cells import find_table

    print_notices(found.notices)
    head, lines, right, legend = find_table(found, units)
    if lines:
        table(head, lines, right, spare=(1, 2))
        say(legend)
    print_stock(stock.sections(woods, found.not_held) if stock else [])
    for sentence in found.closing:
        say(sentence)


def _glues(text: str, most: int | None, units: str, as_csv: bool, as_json: bool) -> None:
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.glues import find_glues, flat_glue, glue_table

    with open_catalogue() as catalogue:
        found = find_glues(text, catalogue, most)
    if as_json:
        print_json(found.as_dict())
        return
    if as_csv:
        print_csv([flat_glue(glue) for glue in found.rows])
        return
    print_notices(found.notices)
    head, lines = glue_table(found, units)
    if lines:
        table(head, lines, spare=(5, 2, 7))
    for sentence in found.closing:
        say(sentence)
