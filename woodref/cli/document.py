"""`woodref document`: the papers of the stock book."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import book_option, guarded, json_option, papers_option, print_json, say, table
from woodref.cli.recording import do, work_options
from woodref.errors import WoodrefError
from woodref.provenance.documents import KINDS, TIERS

if TYPE_CHECKING:
    from woodref.provenance.papers import Adding
    from woodref.provenance.store import Store
    from woodref.provenance.working import Done


@click.group("document", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Papers of the stock book: add one to a lot, see what each covers and whether its file is the same."""


@command.command("add")
@click.argument("lot")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--kind", type=click.Choice(KINDS), required=True, metavar="KIND",
              help=f"What paper it is: {', '.join(KINDS)}.")  # fmt: skip
@click.option("--number", metavar="TEXT", help="The number on it.")
@click.option("--issued", "issued_on", metavar="DATE", help="The day on it, YYYY-MM-DD.")
@click.option("--expires", "expires_on", metavar="DATE", help="The day it runs out.")
@click.option("--issuer", metavar="TEXT", help="The firm or office; a person goes among the parties.")
@click.option(
    "--covers",
    metavar="AMOUNT",
    help="How much the whole paper is good for, as '12 leaves of 1800 x 200 mm'.",
)
@click.option("--tier", type=click.Choice(TIERS), default="auditor", show_default=True,
              help="Who sees it; private: its file holds personal data.")  # fmt: skip
@click.option("--party", metavar="ID", help="Whom a private paper speaks of: erased with them.")
@click.option("--about", metavar="TEXT", help="What it says, in a few words.")
@click.option("--id", "name", metavar="ID", help="Its id; usual: made of its kind and file.")
@click.option("--verification", metavar="TEXT", help="Verification number of an EUDR reference.")
@click.option(
    "--acquired-on", metavar="DATE", help="Of a pre-listing claim: day the wood was felled or first held."
)
@click.option("--listed-on", metavar="DATE", help="Of a pre-listing claim: when the wood was listed.")
@papers_option
@work_options
@guarded
def add(lot: str, file: Path | None, kind: str, tier: str, party: str | None, name: str | None,
        papers: str | None, book: str | None, actor: str | None, as_json: bool,
        **told: Any) -> None:  # fmt: skip
    """Add a paper to LOT and keep its FILE beside the book. Without FILE: a paper you know of and do not
    hold.

    \b
    Example: woodref document add W-7 scan.pdf --kind invoice --number 2026-14 --issued 2026-01-04
    """
    from woodref.provenance.engine import book_url, file_of
    from woodref.provenance.papers import add as added
    from woodref.provenance.parties import open_parties
    from woodref.provenance.places import papers_place

    folder = papers_place(papers, file_of(book_url(book)))
    parties = open_parties() if tier == "private" and (file or party) else None
    adding: Adding | None = None

    def make(store: Store) -> Done:
        nonlocal adding
        adding = added(store, lot, kind, tier, file, folder, parties, party, name, **told)
        return adding.done

    try:
        do(make, book, actor, as_json)
    except WoodrefError:  # the book refused it; once recorded, nothing is taken back
        if adding is not None:
            adding.undo(parties)
        raise
    finally:
        if parties is not None:
            parties.close()


@command.command("list")
@click.argument("lot", required=False)
@click.option("--check", "read", is_flag=True, help="Read each file; exit 1 when one is not as recorded.")
@papers_option
@book_option
@json_option
@guarded
def listed(lot: str | None, read: bool, papers: str | None, book: str | None, as_json: bool) -> None:
    """Every paper, or those of LOT: what it covers, how much of that is drawn, whether its file is there.

    \b
    Example: woodref document list L-B --check
    """
    from woodref.provenance.engine import file_of
    from woodref.provenance.paperfiles import salts_at_hand
    from woodref.provenance.paperlist import listed as found_in
    from woodref.provenance.places import papers_place
    from woodref.provenance.store import open_book
    from woodref.units import today

    with open_book(book, read_only=True) as store:
        folder = papers_place(papers, file_of(store.url))
        found = found_in(store, lot, folder, salts_at_hand(), read, today())
    if as_json:
        print_json(found.as_dict())
    else:
        if found.rows:
            head, rows = found.table()
            table(head, rows, right={4, 5, 6}, spare=(3,))
        for line in found.sentences():
            say(line)
    sys.exit(0 if found.sound or not read else 1)
