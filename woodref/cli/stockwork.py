"""`woodref stock`: work on what is on hand: cut, joint, press, scrap, keep back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import guarded
from woodref.cli.recording import do, finder, work_options

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done


@click.command("cut")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--into", multiple=True, required=True, metavar="LOT=AMOUNT", help="A new lot; give it for each."
)
@work_options
@guarded
def cut(lot: str, amount: str, into: tuple[str, ...], book: str | None, actor: str | None, as_json: bool,
        **when: Any) -> None:  # fmt: skip
    """Cut AMOUNT of a lot into new lots; the rest is waste. "2 leaves" are of the size the lot has.

    \b
    Example: woodref stock cut W-7 "2 leaves" --into "FACE-1=4 leaves of 490 x 180 mm"
    """
    from woodref.provenance import working

    do(lambda s: working.cut(s.book().lot(lot, "stock cut"), amount, into, **when), book, actor, as_json)


@click.command("joint")
@click.argument("sheet")
@click.argument("size")
@click.option(
    "--of", multiple=True, required=True, metavar="LOT=AMOUNT", help="What is jointed; give it for each."
)
@click.option(
    "--waste", multiple=True, metavar="LOT=AMOUNT", help="What was trimmed off, where several lots meet."
)
@work_options
@guarded
def joint(sheet: str, size: str, of: tuple[str, ...], waste: tuple[str, ...], book: str | None,
          actor: str | None, as_json: bool, **when: Any) -> None:  # fmt: skip
    """Joint leaves edge to edge into SHEET, which is a new lot.

    \b
    Example: woodref stock joint FACE-S "1 sheet of 490 x 350 mm" --of "FACE-1=2 leaves"
    """
    from woodref.provenance import joining

    do(
        lambda s: joining.joint(finder(s, "stock joint"), sheet, size, of, waste, **when),
        book,
        actor,
        as_json,
    )


@click.command("press")
@click.argument("panel")
@click.argument("size")
@click.option("--ply", "plies", multiple=True, required=True, metavar="LOT[=N]", help="A lot and its plies.")
@click.option("--glue", multiple=True, metavar="LOT=AMOUNT", help="A lot of glue and what was mixed of it.")
@click.option(
    "--taken", multiple=True, metavar="LOT=AMOUNT", help="Where more went to the press than the panel holds."
)
@work_options
@guarded
def press(panel: str, size: str, plies: tuple[str, ...], glue: tuple[str, ...], taken: tuple[str, ...],
          book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:  # fmt: skip
    """Press plies to PANEL, which is a new lot; SIZE as it lies in the press.

    \b
    Example: woodref stock press P-1 "1 sheet of 490 x 350 mm" --ply FACE-S --ply BIRCH=4 --glue "UF-2=60 g"
    """
    from woodref.provenance import joining

    def make(store: Store) -> Done:
        return joining.press(finder(store, "stock press"), panel, size, plies, glue, taken, **when)

    do(make, book, actor, as_json)


@click.command("scrap")
@click.argument("lot")
@click.argument("amount")
@work_options
@guarded
def scrap(lot: str, amount: str, book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:
    """Throw AMOUNT of a lot away.

    \b
    Example: woodref stock scrap W-7 "1 leaf" --note "split from end to end"
    """
    from woodref.provenance import working

    do(lambda s: working.scrap(s.book().lot(lot, "stock scrap"), amount, **when), book, actor, as_json)


@click.command("reserve")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--until",
    metavar="DATE",
    help="YYYY-MM-DD, to look at it again; it stays till it is released.",
)
@work_options
@guarded
def reserve(lot: str, amount: str, until: str | None, book: str | None, actor: str | None, as_json: bool,
            **when: Any) -> None:  # fmt: skip
    """Keep AMOUNT of a lot back, such as following leaves for a repair.

    \b
    Example: woodref stock reserve W-7 "1 leaf" --note "repairs of the tray"
    """
    from woodref.provenance import working

    def make(store: Store) -> Done:
        return working.reserve(store.book().lot(lot, "stock reserve"), amount, until, **when)

    do(make, book, actor, as_json)


@click.command("release")
@click.argument("reservation")
@work_options
@guarded
def release(reservation: str, book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:
    """Give free what was reserved; RESERVATION is the id that reserve told.

    \b
    Example: woodref stock release reserve-W-7-1a2b3c4d
    """
    from woodref.provenance import working

    do(lambda _: working.release(reservation, **when), book, actor, as_json)


COMMANDS = (cut, joint, press, scrap, reserve, release)
