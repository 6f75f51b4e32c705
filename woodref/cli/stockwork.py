"""`woodref stock`: work on what is on hand: cut, joint, press, scrap, keep back."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import guarded, print_json, print_notices, region_option, say, table
from woodref.cli.recording import can_ask, do, finder, to_record, work_options
from woodref.errors import BadRequest

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done


@click.command("cut")
@click.argument("lot")
@click.argument("amount")
@click.option(
    "--into", multiple=True, required=True, metavar="LOT=AMOUNT", help="A new lot; give it for each."
)
@click.option(
    "--offcut", multiple=True, metavar="LOT=AMOUNT", help="A piece that is left and kept, as a new lot."
)
@click.option("--no-offcut", is_flag=True, help="What is left is waste: nobody need ask.")
@work_options
@guarded
def cut(lot: str, amount: str, into: tuple[str, ...], offcut: tuple[str, ...], no_offcut: bool,
        book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:  # fmt: skip
    """Cut AMOUNT of a lot into new lots; the rest is waste. "2 leaves" are of the size the lot has.

    If the waste is large enough for an offcut to keep (shop rule), you are asked; in a pipe it is recorded
    as waste and the hint is told.

    \b
    Example: woodref stock cut W-7 "2 leaves" --into "FACE-1=4 leaves of 490 x 180 mm"
    """
    from woodref.provenance import working

    def make(store: Store) -> Done:
        held = store.book().lot(lot, "stock cut")
        done = working.cut(held, amount, into, offcut, no_offcut, **when)
        asks = [n for n in done.notices if n.code == "offcut"]
        if not asks or not can_ask(as_json):
            return done
        say(asks[0].message)
        named = click.prompt("Offcut (LOT=AMOUNT), or Enter for none", default="", show_default=False)
        return working.cut(held, amount, into, [named] if named.strip() else [], not named.strip(), **when)

    do(make, book, actor, as_json)


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
@click.option("--ply", "plies", multiple=True, metavar="LOT[=N]",
              help="A lot and its plies; beside --layup PLY=LOT, such as 1=FACE-S or 2-6=BIRCH.")  # fmt: skip
@click.option("--layup", "file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path),
              metavar="FILE", help="Take the plies of a layup to lots on hand.")  # fmt: skip
@click.option("--glue", multiple=True, metavar="LOT=AMOUNT", help="A lot of glue and what was mixed of it.")
@click.option(
    "--taken", multiple=True, metavar="LOT=AMOUNT", help="Where more went to the press than the panel holds."
)
@click.option("--mould", metavar="NAME", help="The mould it was pressed on.")
@click.option("--set-moisture", metavar="PERCENT", help="Moisture when the glue had set; usual: the layup's.")
@click.option("--yes", is_flag=True, help="With --layup: record it without asking.")
@region_option
@work_options
@guarded
def press(panel: str, size: str, plies: tuple[str, ...], file: Path | None, yes: bool, region: str | None,
          mould: str | None, set_moisture: str | None, book: str | None, actor: str | None, as_json: bool,
          **told: Any) -> None:  # fmt: skip
    """Press plies to PANEL, which is a new lot; SIZE as it lies in the press.

    With --layup the plies of the file are taken to lots of their wood, thickness and cut, and what each lot
    keeps is shown before anything is written: on a terminal you are asked, in a pipe --yes is needed (else
    nothing is written, and the exit code is 1).

    \b
    Example: woodref stock press P-1 "1 sheet of 490 x 350 mm" --ply FACE-S --ply BIRCH=4 --glue "UF-2=60 g"
    Example: woodref stock press P-2 "1 sheet of 490 x 350 mm" --layup tray.yaml --ply 1=FACE-S
    """
    from woodref.provenance import joining
    from woodref.provenance.fromlayup import kept_by_hand

    kept = kept_by_hand(mould, set_moisture)
    if file is not None:
        _from_layup(
            file, panel, size, book, actor, as_json, yes, plies=plies, region=region, more=kept, **told
        )
        return
    if yes or region:
        raise BadRequest(f"{'--yes' if yes else '--region'} goes with --layup", next="Leave it out.")
    if not plies:
        raise BadRequest("no ply is told", expected="--ply LOT=N, or --layup FILE")

    def make(store: Store) -> Done:
        return joining.press(finder(store, "stock press"), panel, size, plies, more=kept, **told)

    do(make, book, actor, as_json)


def _from_layup(
    file: Path, panel: str, size: str, book: str | None, actor: str | None, as_json: bool, yes: bool,
    **told: Any,
) -> None:  # fmt: skip
    """Show what would be pressed, and record it when it is agreed to."""
    from woodref.catalogue.reader import open_catalogue
    from woodref.layup.layupfile import read_body
    from woodref.layup.reader import load_layup
    from woodref.provenance.fromlayup import pressing
    from woodref.provenance.store import open_book
    from woodref.units import today

    body, name = read_body(file), "standard input" if str(file) == "-" else str(file)
    layup = load_layup(body, name)
    with open_catalogue() as catalogue, open_book(book, read_only=True) as store:
        found = pressing(store, catalogue, layup, body, panel, size, today(), **told)
    notices = [n.as_dict() for n in found.done.notices]
    if not as_json:
        head, rows = found.table()
        table(head, rows, right={0, 2, 3})
        for line in found.plan():
            say(line)
        print_notices(found.done.notices)
    if not yes and not (can_ask(as_json) and click.confirm("Record it?", default=False)):
        if as_json:
            print_json(
                found.as_dict() | {"recorded": False, "event": None, "number": None, "notices": notices}
            )
        else:
            say("Nothing was recorded." if can_ask(as_json) else "Nothing was recorded; --yes records it.")
        sys.exit(1)
    with to_record(book) as store:
        stood = store.record([found.done.event], actor)[0]
    if as_json:
        print_json(
            found.as_dict()
            | {
                "recorded": True,
                "event": found.done.event.id,
                "number": stood.seq or None,
                "notices": notices,
            }
        )
        return
    says = f"{found.done.event.id} stood there already; nothing was changed."
    say(says if stood.again else found.done.sentences[0])


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
    """Free what was reserved; RESERVATION is the id that reserve told.

    \b
    Example: woodref stock release reserve-W-7-1a2b3c4d
    """
    from woodref.provenance import working

    do(lambda _: working.release(reservation, **when), book, actor, as_json)


COMMANDS = (cut, joint, press, scrap, reserve, release)
