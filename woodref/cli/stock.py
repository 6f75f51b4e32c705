"""`woodref stock`: what comes in and what is on hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say, table

if TYPE_CHECKING:
    from woodref.provenance.book import Held
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done

F = TypeVar("F", bound=Callable[..., Any])
FORMS = ("veneer", "engineered-veneer", "board", "sawn", "adhesive", "finish", "hardware")


@click.group("stock", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Lots of the stock book: take one in, work on it, see what is on hand."""


@command.command("receive")
@click.argument("lot")
@click.argument("amount")
@click.option("--form", type=click.Choice(FORMS), default="veneer", show_default=True)
@click.option("--species", metavar="NAME", help="The botanical name on the paper.")
@click.option("--one-of", multiple=True, metavar="NAME", help="It is one of these; give it for each.")
@click.option("--genus", metavar="GENUS", help="Only the genus is known.")
@click.option("--words", metavar="TEXT", help="What the paper or the chalk says, word for word.")
@click.option(
    "--identified-by", type=click.Choice(["nobody", "eye", "paper", "other-test", "microscopy"]),
    help="How the wood is known.",
)  # fmt: skip
@click.option("--thickness", metavar="LENGTH", help="Where the amount does not say it, such as '0.6 mm'.")
@click.option("--density", "density_kg_m3", type=click.IntRange(30, 1500), metavar="KG/M3",
              help="As weighed or as the paper says, in kg/m3: masses are reckoned with it.")  # fmt: skip
@click.option("--country", multiple=True, metavar="CC", help="Where it grew; give it for each country.")
@click.option("--harvest", metavar="WHEN", help="When it was felled, as the paper says.")
@click.option("--flitch", metavar="TEXT")
@click.option("--bundle", metavar="TEXT")
@click.option("--shelf", metavar="TEXT", help="Where it lies.")
@click.option("--found", is_flag=True, help="Old stock found on the shelf, not a delivery.")
@click.option("--time", metavar="TIME", help="When, with offset (2026-01-05T09:00:00+01:00); usual: now.")
@click.option("--event", metavar="ID", help="Id of the event; usual: made of the lot's id.")
@click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name.")
@book_option
@json_option
@guarded
def receive(lot: str, amount: str, book: str | None, actor: str | None, as_json: bool, **told: Any) -> None:
    """Take a lot in. AMOUNT as you would say it: "12 leaves of 1800 x 200 mm, 0.6 mm", "1.5 m2", "10 kg".

    \b
    Example: woodref stock receive W-7 "12 leaves of 1800 x 200 mm, 0.6 mm" --species "Juglans nigra"
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import knows_of
    from woodref.provenance.receiving import received
    from woodref.provenance.store import open_book

    event, said = received(lot, amount, thickness_said=told.pop("thickness"), **told)
    with open_catalogue() as catalogue, open_book(book, knows_of(catalogue)) as store:
        done = store.record([event], actor)[0]
    if as_json:
        print_json(
            {"lot": lot, "event": event.id, "number": done.seq or None, "again": done.again,
             "qty": said.qty, "unit": said.unit, "notices": []}
        )  # fmt: skip
        return
    stood = " It stood there already." if done.again else ""
    say(f"{'Found' if told['found'] else 'Received'} {lot}: {said.echo()}.{stood}")


def work_options(function: F) -> F:
    """What every kind of work on a lot takes."""
    for option in (
        json_option, book_option,
        click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name."),
        click.option("--time", metavar="TIME", help="When, as 2026-01-05T09:00:00+01:00; usual: now."),
        click.option("--note", metavar="TEXT", help="Why, or what was seen."),
    ):  # fmt: skip
        function = option(function)
    return function


def do(make: Callable[[Store], Done], book: str | None, actor: str | None, as_json: bool) -> None:
    """Record one piece of work and tell it."""
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        done = make(store)
    with open_book(book) as store:
        stood = store.record([done.event], actor)[0]
    if as_json:
        print_json(
            {"event": done.event.id, "number": stood.seq or None, "again": stood.again,
             "sentences": list(done.sentences), "notices": []}
        )  # fmt: skip
        return
    if stood.again:
        say(f"{done.event.id} stood there already; nothing was changed.")
        return
    for line in done.sentences:
        say(line)


def finder(store: Store, where: str) -> Callable[[str], Held]:
    """Looks lots up in one state of the book."""
    state = store.book()
    return lambda lot: state.lot(lot, where)


@command.command("cut")
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


@command.command("joint")
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


@command.command("press")
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


@command.command("scrap")
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


@command.command("reserve")
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


@command.command("release")
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


@command.command("list")
@click.argument("words", required=False)
@click.option("--all", "everything", is_flag=True, help="Lots that are used up, too.")
@book_option
@json_option
@guarded
def listed(words: str | None, everything: bool, book: str | None, as_json: bool) -> None:
    """What is on hand; WORDS look in lot, every name of its wood, form, flitch, bundle and shelf.

    \b
    Example: woodref stock list rosewood
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import woods_called
    from woodref.provenance.stock import on_hand
    from woodref.provenance.store import open_book

    woods: frozenset[str] = frozenset()
    with open_book(book, read_only=True) as store:
        if words:
            with open_catalogue() as catalogue:
                woods = woods_called(words, catalogue)
        found = on_hand(store, words, everything, woods)
    if as_json:
        print_json(found.as_dict())
        return
    if found.rows:
        head, rows = found.table()
        table(head, rows, right={4, 5, 6})
    for line in found.sentences():
        say(line)


@command.command("show")
@click.argument("lot")
@book_option
@json_option
@guarded
def shown(lot: str, book: str | None, as_json: bool) -> None:
    """One lot: its wood, what is left, where it grew, its papers, every move.

    \b
    Example: woodref stock show L-B
    """
    from woodref.provenance.stock import one_lot
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        found = one_lot(store, lot)
    if as_json:
        print_json(found.as_dict())
        return
    for line in found.sentences():
        say(line)
    head, rows = found.table()
    table(head, rows, right={3, 4})
