"""`woodref book`: the stock book as a whole."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from woodref.cli import bookkeeping, bookkey, bookparty
from woodref.cli.common import book_option, count, guarded, json_option, papers_option, print_json, say
from woodref.cli.recording import to_record

if TYPE_CHECKING:
    from woodref.provenance.sheetcheck import SheetChecked
    from woodref.provenance.verify import Checked
    from woodref.provenance.writer import Recorded

#: events from which a bar is shown, and how often it moves
LONG, STEP = 2000, 200


@click.group("book", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """The stock book: record many events at once, check that it holds, back it up, hand out a copy."""


@command.command("record")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--actor", metavar="ID", help="Who records it: an id of your own, never a name.")
@book_option
@json_option
@guarded
def record(file: Path, actor: str | None, book: str | None, as_json: bool) -> None:
    """Record the events of a file, all or none. FILE is JSON ({documents, lots, events}) or CSV, or -.

    \b
    Example: woodref book record day.json
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.importing import events_of, read_file, record_placed
    from woodref.provenance.naming import knows_of
    from woodref.provenance.proof import Prover
    from woodref.units import today

    body, name = read_file(file), "standard input" if str(file) == "-" else str(file)
    placed = events_of(body, name)
    with open_catalogue() as catalogue, to_record(book, knows_of(catalogue)) as store:
        claims = any("claim" in event.more for _, event in placed)
        prove = Prover(store, catalogue.rules, today()) if claims else None
        with _bar(len(placed)) as step:
            done = record_placed(store, placed, actor, step, prove)
        seq, head = store.head()
    if as_json:
        print_json(_told(done, seq, head))
        return
    new, again = sum(not r.again for r in done), sum(r.again for r in done)
    stood = f"; {again} stood there already" if again else ""
    say(f"Recorded {count(new, 'event')}{stood}. The book has {seq:,}.")


def _told(done: list[Recorded], seq: int, head: str) -> dict[str, object]:
    return {
        "count": sum(not r.again for r in done),
        "events": seq,
        "head": head,
        "rows": [{"id": r.event.id, "number": r.seq or None, "again": r.again} for r in done],
        "notices": [],
    }


@contextmanager
def _bar(length: int) -> Iterator[Callable[[int], None] | None]:
    """A progress bar on a terminal for a long list; None elsewhere."""
    if length <= LONG or not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=length, file=sys.stderr, label="recording") as bar:

        def step(done: int) -> None:
            if done - bar.pos >= STEP or done == length:
                bar.update(done - bar.pos)

        yield step


@command.command("check")
@click.option("--deposit", "deposits", multiple=True, type=click.Path(dir_okay=False, path_type=Path),
              metavar="FILE", help="A signed head that somebody kept for you; give it for each.")  # fmt: skip
@click.option("--sheet", type=click.Path(allow_dash=True, path_type=Path), metavar="FILE",
              help="Check a customer sheet instead: sheet.json, or the folder that holds it.")  # fmt: skip
@click.option("--key", metavar="FINGERPRINT", help="With --sheet: the fingerprint as the maker told it.")
@papers_option
@book_option
@json_option
@guarded
def check(deposits: tuple[Path, ...], sheet: Path | None, key: str | None, papers: str | None,
          book: str | None, as_json: bool) -> None:  # fmt: skip
    """Work every event out anew: chain, balances, tables, signed heads, the papers' files. Exit 1 when
    something is wrong.

    With --sheet a customer sheet is checked from its files; that needs no book.

    \b
    Example: woodref book check
             woodref book check --sheet tray-12 --key "1f0c 9a3e ..."
    """
    if sheet is None and key is not None:
        raise click.UsageError("--key goes with --sheet.")
    if sheet is not None and (deposits or papers):
        raise click.UsageError("--deposit and --papers are for the book: check sheet and book one by one.")
    found = _book(book, deposits, papers) if sheet is None else _sheet(sheet, key, book)
    if as_json:
        print_json(found.as_dict() | {"notices": []})
    else:
        for line in found.sentences():
            say(line)
    sys.exit(0 if found.sound else 1)


def _book(book: str | None, deposits: tuple[Path, ...], papers: str | None) -> Checked:
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.naming import knows_of
    from woodref.provenance.paperfiles import with_files
    from woodref.provenance.signing import read_deposit
    from woodref.provenance.store import open_book
    from woodref.provenance.verify import check_book

    with open_catalogue() as catalogue, open_book(book, knows_of(catalogue), read_only=True) as store:
        return with_files(check_book(store, [read_deposit(file) for file in deposits]), store, papers)


def _sheet(sheet: Path, key: str | None, book: str | None) -> SheetChecked:
    """Against the book at hand too, where there is one: a stranger has none."""
    from woodref.provenance.engine import book_url, file_of
    from woodref.provenance.sheetcheck import check_sheet
    from woodref.provenance.store import open_book

    file = file_of(book_url(book))
    if book is None and file is not None and not file.exists():
        return check_sheet(sheet, key)
    with open_book(book, read_only=True) as store:
        return check_sheet(sheet, key, store)


for _made in (*bookkeeping.COMMANDS, *bookparty.COMMANDS, *bookkey.COMMANDS):
    command.add_command(_made)
