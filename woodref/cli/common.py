"""What the commands share: options, printing, and one way to turn a fault into words and an exit."""

from __future__ import annotations

import functools
import json
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import click

from woodref.catalogue.reader import Notice
from woodref.errors import WoodrefError

F = TypeVar("F", bound=Callable[..., Any])


def json_option(function: F) -> F:
    """--json."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")(function)


def units_option(function: F) -> F:
    """--units metric|us."""
    return click.option(
        "--units",
        type=click.Choice(["metric", "us"]),
        default="metric",
        show_default=True,
        help="Units printed; JSON stays metric.",
    )(function)


def region_option(function: F) -> F:
    """--region CC."""
    return click.option(
        "--region",
        metavar="CC",
        help="Country whose trade names are meant, such as US or GB.",
    )(function)


def guarded(function: F) -> F:
    """Print a fault as its sentence (or as JSON) and leave with its exit code; never a traceback."""

    @functools.wraps(function)
    def wrapper(*args: Any, **kwargs: Any) -> Any:
        try:
            return function(*args, **kwargs)
        except WoodrefError as fault:
            if kwargs.get("as_json"):
                print_json({"error": fault.as_dict()})
            else:
                say(str(fault), err=True)
                for c in fault.candidates:
                    says = f": {c.says}" if c.says else ""
                    name = f"{c.name} [{c.id}]" if c.id else c.name
                    say(f"  {name}{says}", err=True, hang="    ")
            sys.exit(fault.exit_code)
        except BrokenPipeError:  # the reader of our pipe had enough
            sys.stderr.close()
            sys.exit(0)

    return wrapper  # type: ignore[return-value]


def print_json(value: Any) -> None:
    """One object, keys in contract order, real letters."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=1, default=str))


def on_terminal() -> bool:
    """Whether a person reads this directly."""
    return sys.stdout.isatty()


def width() -> int:
    """Columns to wrap at: the terminal's, at most 100; 100 in a pipe."""
    return min(100, shutil.get_terminal_size((100, 40)).columns) if on_terminal() else 100


def say(text: str, err: bool = False, indent: str = "", hang: str | None = None) -> None:
    """One sentence or paragraph, wrapped between words only."""
    click.echo(
        textwrap.fill(
            text,
            width(),
            initial_indent=indent,
            subsequent_indent=indent if hang is None else hang,
            break_long_words=False,
            break_on_hyphens=False,
        ),
        err=err,
    )


def print_notices(notices: Iterable[Notice]) -> None:
    """Notices go to stderr, so that a pipe gets the answer alone."""
    for notice in notices:
        say(f"Note: {notice.message}", err=True, hang="  ")


def table(head: list[str], rows: list[list[str]], right: set[int] | None = None) -> None:
    """A table: rich on a terminal, plain columns in a pipe. right: columns set flush right."""
    right = right or set()
    if on_terminal():
        from rich.console import Console
        from rich.table import Table

        drawn = Table(box=None, pad_edge=False, header_style="bold")
        for index, name in enumerate(head):
            drawn.add_column(name, justify="right" if index in right else "left")
        for row in rows:
            drawn.add_row(*row)
        Console(highlight=False, markup=False, emoji=False).print(drawn)
        return
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    for row in [head, *rows]:
        cells = [
            cell.rjust(size) if index in right else cell.ljust(size)
            for index, (cell, size) in enumerate(zip(row, widths, strict=True))
        ]
        click.echo("  ".join(cells).rstrip())
