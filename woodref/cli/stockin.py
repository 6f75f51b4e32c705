"""`woodref stock`: what comes in: a delivery, or old stock found on the shelf."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from woodref.cli.common import guarded, print_notices
from woodref.cli.recording import do, record_options
from woodref.layup.asked import CUTS
from woodref.provenance.lots import FORESTS
from woodref.provenance.shapes import IDENTIFIED_BY

F = TypeVar("F", bound=Callable[..., Any])
FORMS = ("veneer", "engineered-veneer", "board", "sawn", "adhesive", "finish", "hardware")

_OPTIONS = (
    click.option("--form", type=click.Choice(FORMS), default="veneer", show_default=True),
    click.option("--species", metavar="NAME", help="The botanical name on the paper."),
    click.option("--one-of", multiple=True, metavar="NAME", help="It is one of these; give it for each."),
    click.option("--genus", metavar="GENUS", help="Only the genus is known."),
    click.option("--words", metavar="TEXT", help="What the paper or the chalk says, word for word."),
    click.option("--identified-by", type=click.Choice(IDENTIFIED_BY),
                 help="How the wood is known."),
    click.option("--material", metavar="NAME",
                 help="Its name in the catalogue: of a sheet that is no plain leaf, or of a glue."),
    click.option("--composition", metavar="NAME=SHARE,...",
                 help='Woods of an engineered sheet, in per mille or %: "Populus x canadensis=930".'),
    click.option("--thickness", metavar="LENGTH", help="Where the amount does not say it, such as '0.6 mm'."),
    click.option("--density", "density_kg_m3", type=click.IntRange(30, 1500), metavar="KG/M3",
                 help="As weighed or as the paper says, in kg/m3: masses are reckoned with it."),
    click.option("--moisture", metavar="PERCENT", help="When it came, in % of the dry mass, such as '7 %'."),
    click.option("--moisture-by", metavar="TEXT", help="How that was measured, such as meter or oven."),
    click.option("--country", multiple=True, metavar="CC", help="Where it grew; give it for each country."),
    click.option("--district", "region", metavar="TEXT", help="The part of the country it grew in."),
    click.option("--stand", metavar="TEXT", help="The wood or stand it was felled in."),
    click.option("--forest", type=click.Choice(FORESTS), help="What kind of forest it grew in."),
    click.option("--harvest", metavar="WHEN", help="When it was felled, as the paper says."),
    click.option("--acquired", metavar="DATE",
                 help="Day it was felled or first held by anybody, as a paper says; not when you bought it."),
    click.option("--source-code", metavar="LETTER", help="As the permit says it, such as W."),
    click.option("--claim-words", metavar="TEXT", help="A claim of custody, word for word as on the paper."),
    click.option("--supplier", metavar="TEXT", help="The firm it came from; no private person's name."),
    click.option("--price", nargs=2, metavar="AMOUNT CURRENCY", help="As 412.50 EUR; for the shop alone."),
    click.option("--cut", type=click.Choice(CUTS), help="How the leaves were cut."),
    click.option("--flitch", metavar="TEXT"),
    click.option("--bundle", metavar="TEXT"),
    click.option("--first-leaf", type=click.IntRange(1), metavar="N", help="Its first leaf's number."),
    click.option("--leaf-notes", multiple=True, metavar="LEAF=WORDS",
                 help='What is seen on a leaf, "3=sap edge"; or words on all. Again for more.'),
    click.option("--shelf", metavar="TEXT", help="Where it lies."),
    click.option("--event", metavar="ID", help="Id of the event; usual: made of the lot's id."),
)  # fmt: skip


def _facts(function: F) -> F:
    """What may be said of a lot that is taken in."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


def _take_in(lot: str, amount: str, book: str | None, actor: str | None, as_json: bool, **told: Any) -> None:
    from woodref.provenance.takingin import take_in

    if told["material"]:
        told["material"] = _material(told["material"], told["form"])
    do(take_in(lot, amount, thickness_said=told.pop("thickness"), **told), book, actor, as_json, by_name=True)


def _material(name: str, form: str) -> str:
    """The id of a material, or of the glue where the lot is glue, by any of its names."""
    from woodref.catalogue.names import resolve
    from woodref.catalogue.reader import open_catalogue
    from woodref.selection.glues import glue_named
    from woodref.units import today

    with open_catalogue() as catalogue:
        if form == "adhesive":
            glue = glue_named(name, catalogue)
            print_notices(glue.notices)
            return glue.id
        matched = resolve(name, catalogue, today())
    print_notices(matched.notices)
    return matched.id


@click.command("receive")
@click.argument("lot")
@click.argument("amount")
@click.option("--found", is_flag=True, help="Old stock found on the shelf, not a delivery: as `stock open`.")
@_facts
@record_options
@guarded
def receive(lot: str, amount: str, **told: Any) -> None:
    """Take a lot in. AMOUNT as you would say it: "12 leaves of 1800 x 200 mm, 0.6 mm", "1.5 m2", "10 kg".

    \b
    Example: woodref stock receive W-7 "12 leaves of 1800 x 200 mm, 0.6 mm" --species "Juglans nigra"
    """
    _take_in(lot, amount, **told)


@click.command("open")
@click.argument("lot")
@click.argument("amount")
@_facts
@record_options
@guarded
def found(lot: str, amount: str, **told: Any) -> None:
    """Take old stock in that was found on the shelf; what nobody knows of it stays unknown.

    \b
    Example: woodref stock open R-1 "3 leaves of 1800 x 200 mm, 0.6 mm" --words "rose? (chalk)"
    """
    _take_in(lot, amount, found=True, **told)


COMMANDS = (receive, found)
