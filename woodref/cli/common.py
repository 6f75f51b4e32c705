"""What the commands share: options, printing, and one way to turn a fault into words and an exit."""

from __future__ import annotations

import functools
import json
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from woodref.catalogue.reader import Notice
from woodref.errors import BadRequest, WoodrefError

F = TypeVar("F", bound=Callable[..., Any])


def json_option(function: F) -> F:
    """--json."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")(function)


def csv_option(function: F) -> F:
    """--csv."""
    return click.option("--csv", "as_csv", is_flag=True, help="Print the rows as CSV.")(function)


def print_csv(rows: list[dict[str, Any]]) -> None:
    """Flat rows with one head line, safe cells; keys in the order of the first row."""
    from woodref.catalogue.export import as_csv

    if rows:
        click.echo(as_csv(rows, list(rows[0])), nl=False)


def units_option(function: F) -> F:
    """--units metric|us."""
    return click.option(
        "--units",
        type=click.Choice(["metric", "us"]),
        default="metric",
        show_default=True,
        help="Units printed; JSON stays metric.",
    )(function)


def book_option(function: F) -> F:
    """--book PATH|URL."""
    return click.option(
        "--book",
        metavar="PATH|URL",
        help="The stock book; usual: WOODREF_BOOK, or book.sqlite in your data folder.",
    )(function)


def papers_option(function: F) -> F:
    """--papers DIR."""
    return click.option(
        "--papers",
        metavar="DIR",
        help="Folder of the papers' files; usual: WOODREF_PAPERS, or papers beside the book.",
    )(function)


def parties_option(function: F) -> F:
    """--parties PATH."""
    return click.option(
        "--parties",
        metavar="PATH",
        help="The parties' file; usual: WOODREF_PARTIES, or parties.sqlite in your data folder.",
    )(function)


def estimates_option(function: F) -> F:
    """--estimates."""
    return click.option(
        "--estimates", is_flag=True, help="Work out from its weight what is not known of a wood, marked."
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


def refuse_for_a_glue(given: dict[str, Any]) -> None:
    """BadRequest when an option was given that asks something of a wood. given: option -> its value."""
    _refuse(given, "a glue", "Leave it out, or ask of a wood.")


def refuse_for_a_list(given: dict[str, Any]) -> None:
    """The same for a row of a user's own list, which tells no more than its columns."""
    _refuse(given, "a row of a list", "Leave it out, or ask of a wood of the catalogue.")


def _refuse(given: dict[str, Any], what: str, next_: str) -> None:
    wrong = [option for option, value in given.items() if value]
    if wrong:
        raise BadRequest(f"{' and '.join(wrong)} cannot be asked of {what}", next=next_)


def among_option(function: F) -> F:
    """--among LIST."""
    return click.option(
        "--among", metavar="LIST", help="Only what stands on this list of your own (woodref data lists)."
    )(function)


def print_json(value: Any) -> None:
    """One object, keys in contract order, real letters."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=1, default=str, allow_nan=False))


def write_text(path: Path, text: str) -> None:
    """Write a file a person asked for; a fault of the disk is told, not raised."""
    from woodref.files import write_text as written

    written(path, text)
    say(f"Written: {path}", err=True)


def count(number: int, word: str) -> str:
    """'1 error', '2 errors'."""
    return f"{number} {word}{'' if number == 1 else 's'}"


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


def table(
    head: list[str], rows: list[list[str]], right: set[int] | None = None, spare: tuple[int, ...] = ()
) -> None:
    """A table: rich on a terminal, plain columns in a pipe.

    right: columns set flush right. spare: columns left out on a narrow terminal, the first named first;
    what they say stands in the sentences below the table too.
    """
    right = right or set()
    shown = list(range(len(head)))
    if on_terminal():
        room = shutil.get_terminal_size((100, 40)).columns
        for column in spare:
            if _natural_width(head, rows, shown) <= room:
                break
            shown.remove(column)
        _rich_table(head, rows, right, shown)
        return
    from woodref.layup.astext import columns

    for line in columns(head, rows, right):
        click.echo(line)


def _natural_width(head: list[str], rows: list[list[str]], shown: list[int]) -> int:
    return sum(max(len(row[i]) for row in [head, *rows]) + 2 for i in shown) - 2


def _rich_table(head: list[str], rows: list[list[str]], right: set[int], shown: list[int]) -> None:
    from rich.console import Console
    from rich.table import Table

    drawn = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for index in shown:
        drawn.add_column(head[index], justify="right" if index in right else "left", overflow="fold")
    for row in rows:
        drawn.add_row(*(row[index] for index in shown))
    Console(highlight=False, markup=False, emoji=False).print(drawn)
