"""`woodref book party`: who bought, supplied and recorded, apart from the book."""

from __future__ import annotations

import click

from woodref.cli.common import (
    book_option,
    guarded,
    json_option,
    papers_option,
    parties_option,
    print_json,
    say,
    table,
)


@click.group("party", context_settings={"help_option_names": ["-h", "--help"]})
def party() -> None:
    """Persons, in a file of their own. The book holds their random id alone, so that they can be erased."""


@party.command("add")
@click.option("--role", type=click.Choice(["buyer", "supplier", "recorder"]), required=True)
@click.option("--name", metavar="NAME", help="Asked for where it is not given, so that no shell keeps it.")
@click.option("--contact", multiple=True, metavar="TEXT", help="Mail, phone or address; give it for each.")
@click.option("--consent", metavar="TEXT", help="What they agreed to be kept for, and when.")
@parties_option
@json_option
@guarded
def add(role: str, name: str | None, contact: tuple[str, ...], consent: str | None, parties: str | None,
        as_json: bool) -> None:  # fmt: skip
    """Take a person in and tell the id that stands for them in the book.

    \b
    Example: woodref book party add --role buyer
    """
    from woodref.provenance.parties import open_parties

    said = name if name is not None else click.prompt("Name", err=True)
    with open_parties(parties) as opened:
        made = opened.add(role, said, contact, consent)
        where = opened.path
    if as_json:
        print_json({"party": made.as_dict(), "notices": []})
        return
    say(f"{made.id} stands for this {role}; name and contact are in {where} alone.")
    say("Write this id into the book, as in: woodref item ship ITEM --to " + made.id[:8])


@party.command("list")
@parties_option
@json_option
@guarded
def listed(parties: str | None, as_json: bool) -> None:
    """Every party with its id.

    \b
    Example: woodref book party list
    """
    from woodref.provenance.parties import open_parties

    with open_parties(parties, must_be=True) as opened:
        found = opened.all()
    if as_json:
        rows = [one.as_dict() for one in found]
        print_json({"query": {}, "count": len(rows), "rows": rows, "notices": []})
        return
    if not found:
        say("No party is known yet.")
        return
    rows_ = [
        [p.id, p.role, p.name or f"erased on {p.erased_at}", p.contact or "-", str(len(p.links))]
        for p in found
    ]
    table(["id", "role", "name", "contact", "links"], rows_, right={4})


@party.command("show")
@click.argument("id_", metavar="ID")
@parties_option
@json_option
@guarded
def show(id_: str, parties: str | None, as_json: bool) -> None:
    """One party: name, contact, and the items and papers it has to do with. ID: its first letters do.

    \b
    Example: woodref book party show 3f2a9c1e
    """
    from woodref.provenance.parties import open_parties

    with open_parties(parties, must_be=True) as opened:
        found = opened.one(id_)
    if as_json:
        print_json({"party": found.as_dict(), "sentences": found.sentences(), "notices": []})
        return
    for line in found.sentences():
        say(line)


@party.command("link")
@click.argument("id_", metavar="ID")
@click.argument("target", metavar="ITEM|DOCUMENT")
@parties_option
@book_option
@json_option
@guarded
def link(id_: str, target: str, parties: str | None, book: str | None, as_json: bool) -> None:
    """Note that a party has to do with an item, or that a private paper speaks of it: the paper is erased
    with them.

    \b
    Example: woodref book party link 3f2a9c1e TRAY-1
    """
    from woodref.errors import BadRequest
    from woodref.provenance.parties import open_parties
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        state = store.book()
        paper = state.paper(target)
        what = "document" if paper else "item"
        if paper is None:
            state.item(target, "book party link")
        elif paper.told.get("tier") != "private":
            raise BadRequest(
                f"{target} is no private paper, so it would not be erased with the party",
                where="book party link", next="Add it again with --tier private and --party.",
            )  # fmt: skip
    with open_parties(parties, must_be=True) as opened:
        whom = opened.present(id_)
        opened.link(whom, what, target)
    if as_json:
        print_json({"party": whom.id, "what": what, "id": target, "notices": []})
        return
    say(f"{whom.id} has to do with {what} {target}. The book itself is unchanged.")


@party.command("erase")
@click.argument("id_", metavar="ID")
@click.option("--keep-papers", metavar="TEXT", help="Keep the papers about them: the duty of law, in words.")
@click.option("--yes", is_flag=True, help="Do it: it cannot be taken back.")
@papers_option
@parties_option
@book_option
@json_option
@guarded
def erase(id_: str, keep_papers: str | None, yes: bool, papers: str | None, parties: str | None,
          book: str | None, as_json: bool) -> None:  # fmt: skip
    """Erase a person: name and contact, and the private papers about them. The book stays as it is.

    \b
    Example: woodref book party erase 3f2a9c1e --yes
    """
    from woodref.errors import BadRequest
    from woodref.provenance.engine import book_url, file_of
    from woodref.provenance.erasing import erase as erased
    from woodref.provenance.parties import open_parties
    from woodref.provenance.places import papers_place

    folder = papers_place(papers, file_of(book_url(book)))
    with open_parties(parties, must_be=True) as opened:
        whom = opened.one(id_)
        if not yes:
            raise BadRequest(
                f"this erases party {whom.id} for good", where="book party erase",
                next="If that is meant, say it again with --yes.",
            )  # fmt: skip
        done = erased(opened, whom, folder, keep_papers)
    if as_json:
        print_json(done.as_dict())
        return
    for line in done.sentences():
        say(line)


COMMANDS = (party,)
