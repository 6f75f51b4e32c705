"""`woodref find`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from woodref.catalogue.material import KINDS
from woodref.cli.common import (
    among_option,
    csv_option,
    estimates_option,
    guarded,
    json_option,
    print_csv,
    print_json,
    print_notices,
    refuse_for_a_glue,
    refuse_for_a_list,
    say,
    table,
    units_option,
)
from woodref.cli.instock import look, only_in_stock, pieces_of, print_stock, stock_options

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue
    from woodref.selection.ownfound import OwnFinds
    from woodref.units import Range


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
@among_option
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
    among: str | None,
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

    A name is looked up in the lists of your own too, and what they hold is marked.

    \b
    Example: woodref find --with density=450..600 --plantation
    On a list of your own: woodref find oak --among harrow-veneers
    On the shelf: woodref find --in-stock --piece 490x460 --pieces 4 --joints 2
    """
    only_in_stock(in_stock, {"--piece": piece, "--pieces": pieces, "--joints": joints, "--book": book})
    wanted = {"--plantation": plantation, "--not-listed": not_listed, "--kind": kind, "--only": only,
              "--like-colour": like_colour, "--estimates": estimates, "--in-stock": in_stock}  # fmt: skip
    if among is not None:
        refuse_for_a_list(wanted)
        _among(text, among, limits, rows, units, as_csv, as_json)
        return
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
        own = _own(text, query.limits, catalogue, rows) if text.strip() else None
        refused = [option for option, value in wanted.items() if value]
    woods = [row.material.botanical_name for row in found.rows]
    if as_json:
        told = {"in_stock": stock.as_dict(woods, found.not_held)} if stock else {}
        mine = {"from_lists": own.as_rows() if not refused else []} if own else {}
        print_json(found.as_dict() | told | mine)
        return
    if as_csv:
        if own is not None and own.count:
            print_notices([own.apart])
        lots = [stock.lots(row.material.botanical_name) if stock else {} for row in found.rows]
        print_csv([row.flat(found.asked) | mine for row, mine in zip(found.rows, lots, strict=True)])
        return
    from woodref.selection.cells import find_table

    print_notices(found.notices)
    head, lines, right, legend = find_table(found, units)
    if lines:
        table(head, lines, right, spare=(1, 2))
        say(legend)
    if own is not None:
        _print_own(own, refused, units)
    print_stock(stock.sections(woods, found.not_held) if stock else [])
    for sentence in found.closing:
        say(sentence)


def _own(text: str, limits: dict[str, Range], catalogue: Catalogue, rows: int | None) -> OwnFinds | None:
    """What the lists of the user's own hold of a name; None where no list is kept."""
    from woodref.catalogue.ownstore import list_ids

    lists = list_ids()
    if not lists:
        return None
    from woodref.selection.ownfound import FOUND, find_rows
    from woodref.units import today

    return find_rows(text, lists, limits, catalogue, today(), FOUND if rows is None else rows)


def _print_own(own: OwnFinds, refused: list[str], units: str) -> None:
    from woodref.selection.ownfound import beside, own_table

    print_notices(notice for notice in own.notices if notice.code == "list-unreadable")
    told = beside(own, refused)
    if told and not refused:
        head, lines, right = own_table(own, units)
        click.echo()
        table(head, lines, right, spare=(1,))
    for sentence in told:
        say(sentence)


def _among(
    text: str, among: str, limits: tuple[str, ...], rows: int | None, units: str, as_csv: bool, as_json: bool
) -> None:
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.find import limits_of
    from woodref.selection.ownfound import LEGEND, MOST, find_among, own_table
    from woodref.units import today

    most = MOST if rows is None and not (as_csv or as_json) else rows
    with open_catalogue() as catalogue:
        found = find_among(text, among, limits_of(limits), catalogue, today(), most)
    if as_json:
        print_json(found.as_dict())
        return
    if as_csv:
        print_csv(found.flat())
        return
    print_notices(found.notices)
    head, lines, right = own_table(found, units)
    if lines:
        table(head, lines, right, spare=(1,))
        say(LEGEND)
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
