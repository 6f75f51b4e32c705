"""`woodref sheet`: what a customer is given with an item."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.bookkey import key_option
from woodref.cli.common import book_option, guarded, json_option, print_json, say


@click.command("sheet")
@click.argument("item")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder for its files; usual: sheet-ITEM here.")  # fmt: skip
@click.option(
    "--maker", metavar="TEXT", envvar="WOODREF_MAKER", help="The name of the shop, as it stands on top."
)
@click.option(
    "--version", "version", type=click.IntRange(1), metavar="N", help="An older version, as it was given out."
)
@click.option("--form", metavar="FORM", default="furniture", show_default=True,
              help="What it is in law: furniture, seat, turned-ware, other-finished ...")  # fmt: skip
@click.option(
    "--home", metavar="CC", help="Country where it is made; left out, a border is taken to be crossed."
)
@click.option("--answer", is_flag=True, help="Print the reply to 'is it sustainable?' instead.")
@book_option
@key_option
@json_option
@guarded
def command(item: str, out: Path | None, maker: str | None, version: int | None, form: str, home: str | None,
            answer: bool, book: str | None, key_file: str | None, as_json: bool) -> None:  # fmt: skip
    """The customer sheet of a closed item: a page to print, and files that anybody can check.

    \b
    Example: woodref sheet TRAY-12 --maker "Quillbeck Benders, Harrowmere" --out tray-12
    """
    if answer:
        if version is not None or out is not None:
            raise click.UsageError("--answer is printed; it takes neither --out nor --version.")
        _answer(item, book, as_json)
        return
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance import sheets
    from woodref.provenance.keys import key_path
    from woodref.provenance.proofwords import Sale
    from woodref.provenance.sheetasked import asked_of
    from woodref.provenance.sheetdata import sheet_of
    from woodref.provenance.sheetrender import render_of
    from woodref.provenance.signing import fresh_sentences, signer_of
    from woodref.provenance.store import open_book
    from woodref.units import today

    with open_book(book, read_only=version is not None) as store:
        lines: list[str] = []
        if version is not None:
            given = sheets.older(store, item, version)
        else:
            with open_catalogue() as catalogue:
                facts = sheet_of(
                    store, item, asked_of(store, catalogue, item, today(), maker, Sale(form, home))
                )
                signer, fresh = signer_of(store, key_path(key_file))
                lines += fresh_sentences(signer) if fresh else []
                given = sheets.give_out(store, facts, signer, render_of(store, catalogue, item, today()))
    folder = out or Path(f"sheet-{item}")
    paths = sheets.write(given.sheet, folder)
    if as_json:
        print_json({"query": {"item": item}, "new": given.fresh, "version": given.sheet.version,
                    "fingerprint": given.sheet.fingerprint, "sheet": dict(given.sheet.told),
                    "files": [str(path) for path in paths], "notices": []})  # fmt: skip
        return
    for line in (*lines, *given.sentences()):
        say(line)
    say(f"Written to {folder}: {', '.join(path.name for path in paths)}.")


def _answer(item: str, book: str | None, as_json: bool) -> None:
    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.sheetanswer import answer_of
    from woodref.provenance.store import open_book
    from woodref.units import today

    with open_book(book, read_only=True) as store, open_catalogue() as catalogue:
        made = answer_of(store, catalogue, item, today())
    if as_json:
        print_json(made.as_dict())
        return
    for line in made.sentences():
        say(line)
