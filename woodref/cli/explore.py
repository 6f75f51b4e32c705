"""`woodref explore`: the same in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import guarded, say


@click.command("explore")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8321, show_default=True, help="0 takes a free one."
)
@click.option("--open", "show", is_flag=True, help="Open it in the browser.")
@click.option(
    "--book-copy", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
    help="Also the public copy of a stock book, as book publish writes it.",
)  # fmt: skip
@guarded
def command(port: int, show: bool, book_copy: Path | None) -> None:
    """Browse, compare, choose and check in a browser on this machine. Control-C stops it.

    \b
    Example: woodref explore --open
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.explorer.asking import Shop
    from woodref.explorer.running import run

    with open_catalogue() as catalogue:
        run(Shop(catalogue, book_copy), port, show, say)
