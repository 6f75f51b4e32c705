"""`woodref explore`: the same in a browser."""

from __future__ import annotations

import shutil
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import guarded, on_terminal, say
from woodref.errors import BadRequest

if TYPE_CHECKING:
    from woodref.explorer.asking import Shop
    from woodref.explorer.running import Opened

PORT = 8321
#: after how long a bar is shown [s]
PATIENCE = 2.0


@click.command("explore")
@click.option("--port", type=click.IntRange(0, 65535), help=f"Usual: {PORT}; 0 takes a free one.")
@click.option("--open", "show", is_flag=True, help="Open it in the browser.")
@click.option(
    "--book-copy", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
    help="Also the public copy of a stock book, as book publish writes it.",
)  # fmt: skip
@click.option(
    "--phone", is_flag=True,
    help="Let phones in the shop in, by a link with a word that holds until you stop it.",
)  # fmt: skip
@click.option(
    "--address", metavar="ADDRESS",
    help="With --phone: listen on this address or name of this machine; usual: on all of them.",
)  # fmt: skip
@click.option(
    "--folder", type=click.Path(file_okay=False, path_type=Path), metavar="OUT",
    help="Write the pages to read as plain files instead, for a phone with no network.",
)  # fmt: skip
@guarded
def command(port: int | None, show: bool, book_copy: Path | None, phone: bool, address: str | None,
            folder: Path | None) -> None:  # fmt: skip
    """Browse, compare, choose and check in a browser on this machine. Control-C stops it.

    \b
    Example: woodref explore --open
             woodref explore --phone --book-copy my-shop.sqlite
             woodref explore --folder for-the-phone
    """
    _hold_together(port, show, phone, address, folder)
    from woodref.catalogue.reader import open_catalogue
    from woodref.explorer.asking import Shop

    with open_catalogue() as catalogue:
        shop = Shop(catalogue, book_copy, public=phone)
        with_shelf = _has_shelf(book_copy)
        if folder is not None:
            _write(shop, folder)
            return
        from woodref.explorer.running import for_phones, for_this_machine, serve

        if phone:
            opened = for_phones(address, PORT if port is None else port)
            _tell_phones(opened, shop, with_shelf)
        else:
            opened = for_this_machine(PORT if port is None else port)
            say(f"woodref is open at {opened.links[0]} on this machine alone. Control-C stops it.")
        serve(shop, opened, say, show)


def _hold_together(
    port: int | None, show: bool, phone: bool, address: str | None, folder: Path | None
) -> None:
    """BadRequest when options are given that would not be used."""
    if address is not None and not phone:
        raise BadRequest("--address goes with --phone", next="Without --phone only this machine is answered.")
    if folder is not None:
        given = [("--port", port is not None), ("--open", show), ("--phone", phone)]
        wrong = [option for option, there in given if there]
        if wrong:
            raise BadRequest(
                f"{' and '.join(wrong)}: with --folder nothing is served", next="Give one or the other."
            )


def _has_shelf(book_copy: Path | None) -> bool:
    """Looks at the copy before anything is served: BadRequest when it is no public copy."""
    if book_copy is None:
        return False
    from woodref.provenance.publiccopy import open_here

    return open_here(book_copy).has_shelf


def _tell_phones(opened: Opened, shop: Shop, with_shelf: bool) -> None:
    from woodref.explorer.running import qr_drawn, who_sees

    say("woodref is open to phones on the network of this machine. Open this on the phone:")
    click.echo(f"\n  {opened.links[0]}\n")
    if on_terminal():
        columns = shutil.get_terminal_size((80, 24)).columns
        drawn = qr_drawn(opened.links[0], sys.stdout.encoding, columns)
        if drawn:
            click.echo(f"{drawn}\n")
    for line in who_sees(opened, shop, with_shelf):
        say(line)


def _write(shop: Shop, folder: Path) -> None:
    from woodref.explorer.folder import write_folder

    begun, bars = time.monotonic(), list[Any]()

    def step(done: int, known: int) -> None:
        """A bar on a terminal once it takes a while."""
        if not bars and sys.stderr.isatty() and time.monotonic() - begun > PATIENCE:
            bars.append(click.progressbar(length=known, file=sys.stderr, label="writing"))
        for bar in bars:
            bar.length = known
            bar.update(done - bar.pos)

    written = write_folder(shop, folder, step)
    for bar in bars:
        bar.render_finish()
    for line in written.sentences():
        say(line)
