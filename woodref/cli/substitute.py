"""`woodref substitute`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.catalogue.material import KINDS
from woodref.cli.common import (
    among_option,
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
from woodref.cli.instock import look, only_in_stock, pieces_of, print_stock, stock_options
from woodref.errors import BadRequest
from woodref.selection.roles import ROLES
from woodref.selection.wanted import STATES

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue
    from woodref.provenance.instock import InStock
    from woodref.selection.among import Among
    from woodref.selection.answer import Answer


@click.command("substitute")
@click.argument("name", required=False)
@click.option(
    "--role",
    type=click.Choice(ROLES),
    default="face",
    show_default=True,
    help="Where in the work the wood sits; it decides what counts.",
)
@click.option(
    "--like",
    "likes",
    metavar="PROPERTY=VALUE",
    multiple=True,
    help="Describe what you want instead of naming a wood: colour='#3a2417', density=850, moe=14, "
    "pores=diffuse. Again for more.",
)
@click.option(
    "--keep", metavar="PROPERTY=PERCENT", multiple=True, help="How near it must stay: --keep density=5%."
)
@click.option(
    "--counts",
    "weights",
    metavar="PROPERTY=N",
    multiple=True,
    help="How much it counts: --counts colour=3; 0 drops it.",
)
@click.option(
    "--max", "most", metavar="PROPERTY=VALUE", multiple=True, help="No more than this: --max density=600."
)
@click.option(
    "--min", "least", metavar="PROPERTY=VALUE", multiple=True, help="No less than this: --min moe=10."
)
@click.option(
    "--profile",
    "profile_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A YAML file that holds counts:, keep:, min: and max:; options given here go before it.",
)
@click.option("--piece", metavar="LxW", help="What a sheet must cover in mm, along the grain first: 490x460.")
@click.option(
    "--joints", type=click.IntRange(0, 40), default=0, help="Joints allowed in that piece.", show_default=True
)
@among_option
@stock_options
@click.option(
    "--for-face", metavar="NAME@THICKNESS", help='The face a back must balance: "black walnut@0.6mm".'
)
@click.option("--cut", type=click.Choice(("crown", "quarter")), help="How that face is cut; usual: crown.")
@click.option(
    "--colour-state",
    "state",
    type=click.Choice(STATES),
    default="planed",
    show_default=True,
    help="The state of the surface whose measured colours are compared.",
)
@click.option("--stain-ok", is_flag=True, help="A paler wood of right figure and pores may be stained to it.")
@click.option(
    "--estimates", is_flag=True, help="Fill figures a wood lacks from its density; marked, with their error."
)
@click.option("--plantation", is_flag=True, help="Only woods planted for timber.")
@click.option("--kind", type=click.Choice(KINDS), help="Only this kind of material.")
@click.option("--origin", metavar="CC", help="Only wood harvested in this country, such as GH.")
@click.option(
    "--natural", is_flag=True, help="Replace natural-forest wood: the same wood planted may answer."
)
@click.option("--home", metavar="CC", help="Country where the part is made.")
@click.option("--veneer-from", metavar="CC", help="Country the sheets are bought in; usual: where they grew.")
@click.option("--sell-to", metavar="CC", help="Country the finished part is sold to (needs --home).")
@click.option("--why-not", metavar="NAME", help="Say why this wood is not higher, or not there.")
@click.option(
    "--batch",
    metavar="FILE.csv",
    type=click.Path(path_type=Path),
    help="A parts list with the columns part, wood, role: one answer a line. - reads standard input.",
)
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
def command(**given: Any) -> None:
    """What may lawfully stand in for a wood, ranked, with reasons.

    \b
    Example: woodref substitute "Brazilian rosewood" --role face
    Described: woodref substitute --like colour=dark-brown --like density=850
    On a list of your own: woodref substitute wenge --among harrow-veneers
    A back: woodref substitute sapele --role back --for-face "black walnut@0.6mm"
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.answer import GROUPS

    _sane(given)
    with open_catalogue() as catalogue:
        if given["batch"]:
            _batch(given, catalogue)
            return
        stock = _shelf(given, catalogue) if given["in_stock"] else None
        own = _own(given["among"], catalogue)
        answer = _ask(given, catalogue, given["name"], given["role"], stock, own)
    # what is on hand is told of every wood of the answer; without a shelf no row need be written for it
    told = [row for name in GROUPS for row in getattr(answer, name)] if stock else []
    woods = [answer.target.botanical_name if answer.target else None]
    woods += [row.material.botanical_name for row in told]
    if given["as_json"]:
        print_json(answer.as_dict() | ({"in_stock": stock.as_dict(woods)} if stock else {}))
    elif given["as_csv"]:
        mine = [stock.lots(row.material.botanical_name) if stock else {} for row in answer.ranked]
        print_csv([row.flat() | lots for row, lots in zip(answer.ranked, mine, strict=True)])
    else:
        _print(answer, given["units"], stock.sections(woods) if stock else [])


def _shelf(given: dict[str, Any], catalogue: Catalogue) -> InStock:
    """The shelf held against the pieces: leaves for a sheet, boards for solid work. Plies that nobody sees
    take any leaf beside any other."""
    from woodref.provenance.shelf import LEAVES, SOLID, Job
    from woodref.selection.gates import PLIES
    from woodref.selection.request import piece_of
    from woodref.selection.roles import VENEER_ROLES

    role = given["role"]
    forms = LEAVES if role in VENEER_ROLES else SOLID
    pieces = pieces_of(given["piece"], given["pieces"])
    job = Job(piece_of(given["piece"], given["joints"]), pieces, role not in PLIES, forms)
    return look(job, catalogue.countries, given["units"], given["book"])


def _sane(given: dict[str, Any]) -> None:
    """One thing to replace: a name, a description or a list; the shelf for one thing at a time."""
    only_in_stock(given["in_stock"], {"--pieces": given["pieces"], "--book": given["book"]})
    if given["in_stock"] and given["batch"] is not None:
        raise BadRequest("--in-stock and --batch do not go together", next="Ask for one part at a time.")
    asked = [given["name"] is not None, bool(given["likes"]), given["batch"] is not None]
    if sum(asked) != 1:
        told = "nothing to replace is named" if not any(asked) else "more than one thing to replace is named"
        raise BadRequest(
            told,
            expected="the name of a wood, or --like PROPERTY=VALUE, or --batch FILE.csv, one of the three",
        )


def _ask(
    given: dict[str, Any], catalogue: Catalogue, name: str | None, role: str, stock: InStock | None = None,
    own: Among | None = None,
) -> Answer:  # fmt: skip
    from woodref.catalogue.names import resolve
    from woodref.selection.legs import Route
    from woodref.selection.request import Request, face_of, piece_of
    from woodref.selection.roles import profile
    from woodref.selection.substitutes import substitutes
    from woodref.units import today

    on, region = today(), given["region"]
    face = face_of(given["for_face"], given["cut"], role)
    request = Request(
        name or ", ".join(given["likes"]),
        role,
        on,
        given["plantation"],
        given["kind"],
        given["origin"],
        given["rows"],
        given["natural"],
        Route(given["home"], given["veneer_from"], given["sell_to"]),
        profile(role, given["weights"], given["keep"], given["least"], given["most"], given["profile_file"]),
        piece_of(given["piece"], given["joints"]),
        face,
        given["state"],
        given["stain_ok"],
        given["estimates"],
        given["units"],
        given["in_stock"],
        given["among"],
    )
    shelf = stock.shelf() if stock else None
    matched = resolve(name, catalogue, on, region) if name is not None else None
    held = catalogue.material(resolve(face.name, catalogue, on, region).id) if face else None
    why = given["why_not"]
    if why and not (own and why.startswith("my/")):
        why = resolve(why, catalogue, on, region).id
    return substitutes(
        request, matched, catalogue, like=given["likes"], face=held, why_not=why, shelf=shelf, own=own
    )


def _own(list_id: str | None, catalogue: Catalogue) -> Among | None:
    """The list among whose rows alone is ranked, taken apart once for a whole parts list."""
    if list_id is None:
        return None
    from woodref.selection.among import among

    return among(list_id, catalogue)


def _batch(given: dict[str, Any], catalogue: Catalogue) -> None:
    from woodref.selection import partslist
    from woodref.selection.board import parts_table

    path = given["batch"]
    text = sys.stdin.read(partslist.MAX_BYTES + 1) if str(path) == "-" else None
    parts = partslist.read(path, text)
    own = _own(given["among"], catalogue)
    choices = partslist.choose(parts, lambda part: _ask(given, catalogue, part.wood, part.role, None, own))
    rows = [choice.as_dict() for choice in choices]
    if given["as_json"]:
        print_json(
            {
                "query": {"batch": str(path)},
                "count": len(rows),
                "rows": rows,
                "notices": [n.as_dict() for n in catalogue.notices],
                "catalogue": catalogue.stamp,
            }
        )
    elif given["as_csv"]:
        print_csv(rows)
    else:
        from woodref.selection import status

        table(*parts_table(choices))
        say("Stand-ins by likeness; each with its reasons by `woodref substitute WOOD --role ROLE`.")
        say(status.law_caution(catalogue))


def _print(answer: Answer, units: str, shelf: list[tuple[str, list[str]]]) -> None:
    from woodref.selection.board import LOOK_HEAD, board

    print_notices(answer.notices)
    page = board(answer, units)
    for text in page.opening:
        say(text)
    if answer.why_not:
        click.echo()
        for text in answer.why_not:
            say(text)
    if page.rows:
        click.echo()
        table(page.head, page.rows, page.right, page.spare)
        say(page.legend)
        click.echo()
        table(LOOK_HEAD, page.looks, {0})
    for group in page.groups:
        click.echo()
        click.secho(group.heading, bold=True)
        for line in group.lines:
            say(line, indent="  ", hang="    ")
    print_stock(shelf)
    if not shelf:
        click.echo()
    for text in page.closing:
        say(text)
