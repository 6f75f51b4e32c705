"""`woodref book key` and `book deposit`: what the book signs with, and a head to give out of the house."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, say, write_text

key_option = click.option(
    "--key-file", metavar="FILE",
    help="The private key; usual: WOODREF_KEY, or maker.key in the settings folder.",
)  # fmt: skip


@click.group("key", context_settings={"help_option_names": ["-h", "--help"]})
def key() -> None:
    """The key that sheets and deposits are signed with. It is made on first use."""


@key.command("show")
@book_option
@json_option
@guarded
def show(book: str | None, as_json: bool) -> None:
    """Every key of the book with its fingerprint, the one in use last.

    \b
    Example: woodref book key show
    """
    from woodref.provenance.signing import key_sentences, keys_of
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        said = keys_of(store)
    if as_json:
        rows = [
            {"fingerprint": k.fingerprint, "public_key": k.public_key, "what": k.what, "since": k.since}
            for k in said
        ]
        print_json({"query": {}, "count": len(rows), "rows": rows, "notices": []})
        return
    for line in key_sentences(said):
        say(line)


@key.command("export")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--private", is_flag=True, help="The private key under a passphrase, to lay away.")
@book_option
@key_option
@guarded
def export(file: Path, private: bool, book: str | None, key_file: str | None) -> None:
    """Write the public key, for whoever checks your sheets; with --private a locked copy for yourself.

    \b
    Example: woodref book key export quillbeck-public.pem
    """
    from woodref.provenance import keys
    from woodref.provenance.signing import in_use
    from woodref.provenance.store import open_book

    with open_book(book, read_only=True) as store:
        signer, said = in_use(store, keys.key_path(key_file), private)
    if private:
        assert signer is not None
        passphrase = click.prompt("Passphrase", hide_input=True, confirmation_prompt=True, err=True)
        keys.write_secret(file, keys.locked(signer, passphrase))
        say(f"Written: {file}, the private key under your passphrase. Lay it away apart from the book.")
        return
    file.write_bytes(keys.public_pem(said.public_key))
    say(f"Written: {file}, the public key with the fingerprint {said.fingerprint}.")


@key.command("replace")
@click.option("--lost", is_flag=True, help="The old key is lost or may be in other hands: it cannot sign.")
@click.option("--note", metavar="TEXT", help="Why.")
@book_option
@key_option
@guarded
def replace(lost: bool, note: str | None, book: str | None, key_file: str | None) -> None:
    """Sign with a new key from now on; the old one signs that it hands over.

    \b
    Example: woodref book key replace --note "new computer in the office"
    """
    from woodref.provenance.keys import key_path
    from woodref.provenance.signing import replace_key, replaced_sentences
    from woodref.provenance.store import open_book

    with open_book(book) as store:
        before, now = replace_key(store, key_path(key_file), lost, note)
    for line in replaced_sentences(before, now):
        say(line)


@click.command("deposit")
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
    help="Where to write it; usual: head-DATE.json here.",
)  # fmt: skip
@book_option
@key_option
@json_option
@guarded
def deposit(out: Path | None, book: str | None, key_file: str | None, as_json: bool) -> None:
    """Sign the book as it is now, for somebody outside the house to keep.

    \b
    Example: woodref book deposit --out head-for-the-accountant.json
    """
    from woodref.provenance import signing
    from woodref.provenance.keys import key_path
    from woodref.provenance.store import open_book

    with open_book(book) as store:
        signer, fresh = signing.signer_of(store, key_path(key_file))
        made = signing.deposit(store, signer)
    file = out or Path(f"head-{made.told['at'][:10]}.json")
    write_text(file, made.as_text())
    if as_json:
        print_json(made.told | {"signature": made.signature, "fingerprint": made.fingerprint,
                                "file": str(file), "notices": []})  # fmt: skip
        return
    for line in (*(signing.fresh_sentences(signer) if fresh else ()), *made.sentences()):
        say(line)


COMMANDS = (key, deposit)
