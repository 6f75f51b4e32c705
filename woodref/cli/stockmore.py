"""`woodref stock`: a lot parted or made thinner, noted of, named more closely; events put right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import guarded
from woodref.cli.recording import do, record_options, work_options
from woodref.provenance.shapes import IDENTIFIED_BY

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done

#: nobody gives no closer name
WAYS = tuple(way for way in IDENTIFIED_BY if way != "nobody")


@click.command("split")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--into", multiple=True, required=True, metavar="LOT=AMOUNT", help="A new lot; give it for each."
)
@work_options
@guarded
def split(lot: str, amount: str, into: tuple[str, ...], book: str | None, actor: str | None, as_json: bool,
          **when: Any) -> None:  # fmt: skip
    """Part AMOUNT of a lot into new lots; nothing is lost, so they are together what was taken.

    \b
    Example: woodref stock split W-7 "5 leaves" --into "W-7-A=3 leaves" --into "W-7-B=2 leaves"
    """
    from woodref.provenance import splitting

    do(
        lambda s: splitting.split(s.book().lot(lot, "stock split"), amount, into, **when),
        book,
        actor,
        as_json,
    )


@click.command("sand")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--thickness", "to", required=True, metavar="LENGTH", help="How thick it is now, such as '0.5 mm'."
)
@click.option("--into", required=True, metavar="LOT", help="The new lot of it.")
@work_options
@guarded
def sand(lot: str, amount: str, to: str, into: str, book: str | None, actor: str | None, as_json: bool,
         **when: Any) -> None:  # fmt: skip
    """Sand or plane AMOUNT of a lot thinner: the area stays, the thickness falls.

    \b
    Example: woodref stock sand W-7 "2 leaves" --thickness "0.5 mm" --into W-7-THIN
    """
    from woodref.provenance import splitting

    do(
        lambda s: splitting.sand(s.book().lot(lot, "stock sand"), amount, to, into, **when),
        book,
        actor,
        as_json,
    )


@click.command("slice")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--into", multiple=True, required=True, metavar="LOT=LEAVES", help="A new lot; give it for each."
)
@work_options
@guarded
def slice_(lot: str, amount: str, into: tuple[str, ...], book: str | None, actor: str | None, as_json: bool,
           **when: Any) -> None:  # fmt: skip
    """Slice, peel or saw AMOUNT of solid wood, told by its volume, into leaves; the rest is waste.

    \b
    Example: woodref stock slice ELM-1 "6 l" --into "ELM-V=24 leaves of 800 x 200 mm, 1 mm"
    """
    from woodref.provenance import splitting

    def make(store: Store) -> Done:
        return splitting.cut_leaves(store.book().lot(lot, "stock slice"), amount, into, **when)

    do(make, book, actor, as_json)


@click.command("sample")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--given-to",
    "to",
    required=True,
    metavar="TEXT",
    help="Where it went: a laboratory, a customer's number.",
)
@work_options
@guarded
def sample(lot: str, amount: str, to: str, book: str | None, actor: str | None, as_json: bool,
           **when: Any) -> None:  # fmt: skip
    """Give AMOUNT of a lot away to be looked at, and keep where it went; no private person's name.

    \b
    Example: woodref stock sample R-1 "20 cm2" --given-to "wood laboratory, for the microscope"
    """
    from woodref.provenance import splitting

    do(
        lambda s: splitting.sample(s.book().lot(lot, "stock sample"), amount, to, **when),
        book,
        actor,
        as_json,
    )


@click.command("correct")
@click.argument("event")
@click.option("--did-not-occur", "undo", is_flag=True, help="It was written down and never done.")
@click.option(
    "--went-in", "in_", multiple=True, metavar="LOT=AMOUNT", help="What went in, in truth; or LOT=none."
)
@click.option("--came-out", "out", multiple=True, metavar="LOT=AMOUNT", help="What came out, in truth.")
@click.option("--waste", multiple=True, metavar="LOT=AMOUNT", help="What was lost, in truth; or LOT=none.")
@click.option("--reason", "note", metavar="TEXT", required=True, help="Why it was written down wrongly.")
@record_options
@guarded
def correct(event: str, undo: bool, in_: tuple[str, ...], out: tuple[str, ...], waste: tuple[str, ...],
            note: str, time: str | None, book: str | None, actor: str | None,
            as_json: bool) -> None:  # fmt: skip
    """Put an older event right by a new one: it did not occur, or its figures were wrong.

    Figures that are not told stay. `woodref stock show LOT` names the events of a lot.

    \b
    Example: woodref stock correct cut-W-7-1a2b3c4d --did-not-occur --reason "written down twice"
    """
    from woodref.provenance import correcting

    def make(store: Store) -> Done:
        return correcting.correct(store.book(), event, undo, in_, out, waste, note, time)

    do(make, book, actor, as_json)


@click.command("identify")
@click.argument("lot")
@click.argument("name")
@click.option("--by", type=click.Choice(WAYS), required=True, help="How it is known.")
@work_options
@guarded
def identify(lot: str, name: str, by: str, book: str | None, actor: str | None, as_json: bool,
             **when: Any) -> None:  # fmt: skip
    """Say which wood a lot is, NAME being botanical, where till now that was open.

    \b
    Example: woodref stock identify R-1 "Dalbergia latifolia" --by microscopy
    """
    from woodref.provenance import noting

    do(lambda s: noting.identify(s.book(), lot, name, by, **when), book, actor, as_json, by_name=True)


@click.command("note")
@click.argument("lot")
@click.argument("text")
@record_options
@guarded
def note(lot: str, text: str, time: str | None, book: str | None, actor: str | None, as_json: bool) -> None:
    """Note TEXT of a lot; `woodref stock show` tells it.

    \b
    Example: woodref stock note W-7 "the top leaf has darkened in the light"
    """
    from woodref.provenance import noting

    do(lambda s: noting.note(s.book().lot(lot, "stock note"), text, time), book, actor, as_json)


@click.command("moisture")
@click.argument("lot")
@click.argument("percent")
@click.option("--by", required=True, metavar="TEXT", help="How it was measured, such as meter or oven.")
@work_options
@guarded
def moisture(lot: str, percent: str, by: str, book: str | None, actor: str | None, as_json: bool,
             **when: Any) -> None:  # fmt: skip
    """Note a moisture reading of a lot, PERCENT of its dry mass.

    \b
    Example: woodref stock moisture W-7 "8.5 %" --by meter
    """
    from woodref.provenance import noting

    do(
        lambda s: noting.moisture(s.book().lot(lot, "stock moisture"), percent, by, **when),
        book,
        actor,
        as_json,
    )


@click.command("move")
@click.argument("lot")
@click.argument("shelf")
@work_options
@guarded
def move(lot: str, shelf: str, book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:
    """Say that a lot lies on another SHELF.

    \b
    Example: woodref stock move W-7 "rack 2, shelf 4"
    """
    from woodref.provenance import noting
    from woodref.provenance.latest import NOTHING, noted, shelf_of

    def make(store: Store) -> Done:
        held = store.book().lot(lot, "stock move")
        was = shelf_of(held, noted(store, lot).get(lot, NOTHING))
        return noting.move(held, shelf, was, **when)

    do(make, book, actor, as_json)


COMMANDS = (split, sand, slice_, sample, correct, identify, note, moisture, move)
