"""Checking a customer sheet from its files, by whoever holds them; no book is needed.

A signature shows that nothing was changed since a key signed it. Whose key that is nobody can read from the
files: it takes the fingerprint from the maker by another way.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import WoodrefError
from woodref.files import bytes_of
from woodref.provenance import keys
from woodref.provenance.bookname import book_name
from woodref.provenance.canonical import canonical, digest
from woodref.provenance.faults import BadSheet
from woodref.provenance.sheetdata import SHEET
from woodref.provenance.sheets import FILES, FORM, MAIN, SAYS, kept, manifest
from woodref.provenance.store import Store

#: files that go with sheet.json
BESIDE = ("sheet.html", "linked.jsonld", "prov.json", "declaration.csv")
#: a sheet larger than this is none [bytes]
MOST = 5_000_000
NAME_IT = f"Name {MAIN}, or the folder with the files of the sheet."


@dataclass(frozen=True)
class SheetChecked:
    """flaws: what does not hold; notes: what stands beside that."""

    item: str
    version: int
    fingerprint: str
    made_at: str
    flaws: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def sound(self) -> bool:
        return not self.flaws

    def sentences(self) -> list[str]:
        """What a person reads."""
        name = f"Sheet of {self.item}, version {self.version} of {self.made_at[:10]}"
        if self.flaws:
            return [f"{name}: not to be trusted.", *self.flaws, *self.notes]
        return [f"{name}: unchanged since it was signed with key {self.fingerprint}.", *self.notes]

    def as_dict(self) -> dict[str, Any]:
        return {
            "sound": self.sound, "item": self.item, "version": self.version, "made_at": self.made_at,
            "fingerprint": self.fingerprint, "flaws": list(self.flaws), "sentences": self.sentences(),
        }  # fmt: skip


def check_sheet(path: Path, fingerprint: str | None = None, store: Store | None = None) -> SheetChecked:
    """A sheet from sheet.json or from the folder that holds it. fingerprint: as the maker told it by another
    way; store: a book, which is asked where it is the one the sheet is from.

    BadSheet when the file is none; BadKey when the fingerprint is none.
    """
    wanted = None if fingerprint is None else keys.fingerprint_of(fingerprint)
    main = _main_of(path)
    body = body_of(bytes_of(main, MOST, BadSheet, NAME_IT), str(main))
    sheet, key, listed = body["sheet"], str(body["sheet"]["key"]), body["files"]
    flaws = broken_signatures(body)
    notes = []
    if str(main) == "-":
        notes.append("Its other files were not looked at: for that, name the folder that holds them.")
    else:
        flaws += _files(main.parent, listed)
    mark = keys.fingerprint(key)
    if wanted is not None and wanted != mark:
        flaws.append(f"It is signed with key {mark}, not with {wanted}.")
    elif wanted is not None:
        notes.append("That is the key you named.")
    else:
        notes.append(
            "Who that is you know only if you have this fingerprint from the maker by another way: "
            "then add --key FINGERPRINT."
        )
    if store is not None:
        found, beside = _in_book(store, sheet)
        flaws += found
        notes += beside
    return SheetChecked(
        str(sheet["item"]), int(sheet["version"]), mark, str(sheet["made_at"]), tuple(flaws), tuple(notes)
    )


def _main_of(path: Path) -> Path:
    """The file that a check reads: sheet.json, beside whichever of the files was named."""
    if path.is_dir():
        return path / MAIN
    if path.name in BESIDE and (path.parent / MAIN).exists():
        return path.parent / MAIN
    return path


def broken_signatures(body: Mapping[str, Any]) -> list[str]:
    """A sentence for each of the two signatures of a sheet that does not hold. body: of `body_of`."""
    sheet, key, out = body["sheet"], str(body["sheet"]["key"]), []
    if not keys.holds(key, keys.message(SAYS, sheet), str(body["signature"])):
        out.append("What it says was changed since it was signed.")
    seal = keys.message(FILES, manifest(digest(canonical(sheet)), body["files"]))
    if not keys.holds(key, seal, str(body["files_signature"])):
        out.append("The list of its files was changed since it was signed.")
    return out


def body_of(text: str | bytes, where: str) -> dict[str, Any]:
    """What a sheet.json holds, its shape looked at. where: its path. BadSheet when it is none."""
    try:
        body = json.loads(text, parse_float=_no_float)
        sheet = body["sheet"]
        fits = body["woodref"] == FORM and sheet["kind"] == SHEET and isinstance(body["files"], dict)
        fits = fits and {*body} == {"woodref", "sheet", "signature", "files", "files_signature"}
        fits = fits and all(isinstance(sheet[k], str) for k in ("item", "key", "made_at", "book"))
        fits = fits and isinstance(sheet["version"], int) and isinstance(sheet["head"]["events"], int)
        fits = fits and len(bytes.fromhex(sheet["key"])) == 32
        fits = fits and all(isinstance(v, str) for v in body["files"].values())
        canonical(body)
    except (ValueError, KeyError, TypeError, RecursionError, WoodrefError):
        fits = False
    if not fits:
        raise BadSheet(f"{where} is no customer sheet", next=NAME_IT)
    return dict(body)


def _no_float(_: str) -> Any:
    raise ValueError


def _files(folder: Path, listed: Mapping[str, str]) -> list[str]:
    """The other files of a sheet against their hashes."""
    out = []
    for name, wanted in sorted(listed.items()):
        path = folder / name
        if Path(name).name != name:
            out.append(f"Its list of files names {name}, which is no plain name.")
        elif not path.exists():
            out.append(f"{name} is not beside it.")
        elif path.stat().st_size > MOST or digest(path.read_bytes()) != wanted:
            out.append(f"{name} was changed since the sheet was signed.")
    return out


def _in_book(store: Store, sheet: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """(flaws, notes) of a sheet by the book at hand; nothing where it is from another book."""
    if book_name(store) != sheet["book"]:
        return [], ["The book at hand is not the one it is from."]
    count, item = sheet["head"]["events"], str(sheet["item"])
    found = store.rows("SELECT hash FROM event WHERE seq = :seq", seq=count)
    if not found or found[0][0] != sheet["head"]["hash"]:
        return [f"Its head, {count:,} events, is not on the chain of this book."], []
    last = kept(store, item)
    notes = [f"Its head is event {count:,} of this book."]
    if last is not None and last.version > int(sheet["version"]):
        notes.append(
            f"There is a newer sheet of {item}: version {last.version} of {last.told['made_at'][:10]}."
        )
    return [], notes
