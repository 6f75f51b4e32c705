"""`woodref item`: what comes after it is made: closed with what it keeps, repaired, taken apart, remade."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import book_option, guarded, json_option, on_terminal, print_json, say, write_text
from woodref.cli.recording import do, proving, to_record, work_options

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done


def _do_all(
    make: Callable[[Store], Sequence[Done]], book: str | None, actor: str | None, as_json: bool,
    claims: bool = False,
) -> None:  # fmt: skip
    """Record several events that belong together, all or none, and tell them. claims: one of them claims that
    all wood is proven."""
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        done = list(make(store))
    with to_record(book) as store, proving(store, claims) as prove:
        stood = store.record([d.event for d in done], actor, prove=prove)
    if as_json:
        rows = [
            {"event": d.event.id, "number": s.seq or None, "again": s.again, "sentences": list(d.sentences)}
            for d, s in zip(done, stood, strict=True)
        ]
        main = next(r for r, d in zip(rows, done, strict=True) if d.event.kind not in ("reserve", "release"))
        print_json(main | {"count": len(rows), "rows": rows, "notices": []})
        return
    for d, s in zip(done, stood, strict=True):
        if s.again:
            say(f"{d.event.id} stood there already; nothing was changed.")
            continue
        for line in d.sentences:
            say(line)


def asks() -> bool:
    """Whether a person sits at a terminal and can be asked."""
    return on_terminal() and sys.stdin.isatty()


def _offer(store: Store, item: str, roles: Sequence[str]) -> list[str]:
    """What the maker wants kept back of the lots that the face came from: LOT=AMOUNT each."""
    from woodref.provenance.closing import following

    wanted: list[str] = []
    offers = following(store, item, roles)
    if offers:
        say(f"Leaves that follow those of {item} match them in a repair.", err=True)
    for offer in offers:
        say(offer.question(), err=True)
        said = click.prompt(
            f"How much of {offer.held.lot.id} to keep back (such as {offer.example}; Enter for nothing)",
            default="", show_default=False, err=True,
        ).strip()  # fmt: skip
        if said:
            wanted.append(f"{offer.held.lot.id}={said}")
    return wanted


@click.command("close")
@click.argument("item")
@click.option("--label", metavar="TEXT", help="What its label says of what is not proven.")
@click.option("--claim", type=click.Choice(["all-proven"]), help="Refused where the book does not carry it.")
@click.option("--layup", metavar="FILE", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path),
              help="The layup it was pressed by: title, hash and text are kept.")  # fmt: skip
@click.option("--mould", metavar="TEXT", help='Name of the mould, such as "stool seat".')
@click.option("--radius", metavar="LENGTH", help='Radius of the mould, such as "300 mm".')
@click.option(
    "--glue-lot", "glue_lots", multiple=True, metavar="LOT", help="The lot of glue; again for more."
)
@click.option("--finish-words", "finish", metavar="TEXT", help="Which finish, and how it was put on.")
@click.option("--finish-lot", metavar="LOT", help="The lot of finish.")
@click.option("--set-moisture", metavar="PERCENT", help='Moisture of the wood at set, such as "7 %".')
@click.option("--serial", metavar="TEXT", help="The number on the item.")
@click.option("--role", "roles", multiple=True, metavar="ROLE=LOT",
              help="Which lot is face, crossband, core, back, leg; usual: as pressed.")  # fmt: skip
@click.option("--emission", metavar="DOCUMENT[=WORDS]", help="The emission report of a glue or sheet in it.")
@click.option("--care", metavar="TEXT", help="How to look after it.")
@click.option("--repairable", metavar="yes|no[: WORDS]", help="Whether it can be mended, and how or why not.")
@click.option("--reserve", multiple=True, metavar="LOT=AMOUNT",
              help="Following leaves kept back for its repairs; asked for on a terminal.")  # fmt: skip
@work_options
@guarded
def close(
    item: str, label: str | None, claim: str | None, reserve: tuple[str, ...], book: str | None,
    actor: str | None, as_json: bool, time: str | None, note: str | None, **said: Any,
) -> None:  # fmt: skip
    """Finish an item: from now on only a correction or a repair changes it.

    What it keeps is printed by item show, and what is needed to remake a part by item repair-kit.

    \b
    Example: woodref item close TRAY-1 --mould "tray, low" --radius "800 mm" --set-moisture "7 %"
    """
    from woodref.provenance import closing

    def build(store: Store) -> list[Done]:
        keeping = closing.Keeping(**said)
        wanted = list(reserve)
        # tells a fault before it asks
        done = closing.close(store, item, keeping, label, wanted, time, note, claim)
        if not wanted and not as_json and asks():
            wanted = _offer(store, item, said["roles"])
        if not wanted:
            return done
        return closing.close(store, item, keeping, label, wanted, time, note, claim)

    _do_all(build, book, actor, as_json, claim is not None)


@click.command("repair")
@click.argument("item")
@click.option("--with", "with_", multiple=True, required=True, metavar="LOT=AMOUNT", help="What goes in.")
@click.option("--out-part", metavar="TEXT", help='What came out, such as "corner of the seat, split".')
@work_options
@guarded
def repair(item: str, with_: tuple[str, ...], out_part: str | None, book: str | None, actor: str | None,
           as_json: bool, **when: Any) -> None:  # fmt: skip
    """New parts into an item that is open, closed or has come back. Trim them first: they go in whole.

    \b
    Example: woodref item repair TRAY-1 --with "PATCH=1 sheet of 60 x 40 mm" --out-part "split corner"
    """
    from woodref.provenance import repairs

    _do_all(lambda s: repairs.repair(s, item, with_, out_part, **when), book, actor, as_json)


@click.command("return")
@click.argument("item")
@work_options
@guarded
def come_back(item: str, book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:
    """A shipped item is on the bench again.

    \b
    Example: woodref item return TRAY-1 --note "corner split"
    """
    from woodref.provenance import repairs

    do(lambda _: repairs.come_back(item, **when), book, actor, as_json)


@click.command("dismantle")
@click.argument("item")
@work_options
@guarded
def dismantle(item: str, book: str | None, actor: str | None, as_json: bool, **when: Any) -> None:
    """An item is taken apart for good.

    \b
    Example: woodref item dismantle TRAY-1 --note "beyond repair"
    """
    from woodref.provenance import repairs

    do(lambda _: repairs.dismantle(item, **when), book, actor, as_json)


@click.command("repair-kit")
@click.argument("item")
@click.option("--out", metavar="FILE.html", type=click.Path(dir_okay=False, path_type=Path),
              help="Write one page to print.")  # fmt: skip
@book_option
@json_option
@guarded
def repair_kit(item: str, out: Path | None, book: str | None, as_json: bool) -> None:
    """What is needed to remake a part years later: layup, mould, glue, plies, leaves that are left.

    \b
    Example: woodref item repair-kit STOOL-001 --out stool-kit.html
    """
    from woodref.provenance.repairkit import kit_of, kit_page
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        kit = kit_of(store, item)
    if out is not None:
        write_text(out, kit_page(kit))
    if as_json:
        print_json(kit.as_dict())
        return
    if out is not None:
        return
    for part in kit.sections():
        say(f"{part.heading}")
        for line in part.sentences:
            if part.verbatim:
                click.echo(f"  {line}")
            else:
                say(line, indent="  ", hang="    ")


COMMANDS = (close, repair, come_back, dismantle, repair_kit)
