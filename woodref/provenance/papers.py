"""A paper as people say it -> the event that adds it to a lot; and the papers of a book, told."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance import documents, paperfiles
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Book
from woodref.provenance.canonical import canonical, digest
from woodref.provenance.faults import EventConflict
from woodref.provenance.parties import Parties, Party
from woodref.provenance.receiving import named_by_content
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.working import Done

#: who sees a paper of a tier
SEEN_BY = {
    "public": "anyone, on the public copy: its kind and date", "customer": "the customer",
    "auditor": "an auditor, no customer", "private": "nobody but you: its file holds personal data",
}  # fmt: skip
_ONLY = {"verification": ("eudr-reference",), "acquired_on": ("pre-listing-claim",),
         "listed_on": ("pre-listing-claim",)}  # fmt: skip


@dataclass
class Adding:
    """A paper being added: what came with it is taken back when the book refuses it."""

    kept: paperfiles.Kept | None
    event: Event | None = None
    sentences: Sequence[str] = ()
    salted: str | None = None
    linked: tuple[Party, str] | None = None

    @property
    def done(self) -> Done:
        """The event to record, and the sentences to say when it stands."""
        assert self.event is not None
        return Done(self.event, self.sentences)

    def undo(self, parties: Parties | None) -> None:
        """As if it had never been asked."""
        if self.kept:
            self.kept.undo()
        if parties and self.linked:
            parties.unlink(self.linked[0], "document", self.linked[1])
        if parties and self.salted:
            parties.forget_salt(self.salted)


def add(
    store: Store,
    lot: str,
    kind: str,
    tier: str,
    file: Path | None,
    folder: Path,
    parties: Parties | None = None,
    party: str | None = None,
    name: str | None = None,
    covers: str | None = None,
    time: str | None = None,
    note: str | None = None,
    **told: str | None,
) -> Adding:
    """The event that adds a paper to a lot, its file kept. told: number, issuer, about, issued_on,
    expires_on, verification, acquired_on, listed_on. parties, party: wanted for a private paper with a
    file, and whom it speaks of.

    Raises what the book would refuse as far as it is known here; nothing is kept then.
    """
    for key, kinds in _ONLY.items():
        if told.get(key) and kind not in kinds:
            option = "--" + key.replace("_", "-")
            raise BadRequest(f"{option} belongs to {' or '.join(kinds)}, not to {kind}", where=option)
    if party and tier != "private":
        raise BadRequest(
            "a paper about a person is private", where="--party", next="Add --tier private, or leave --party."
        )
    book = store.book()
    held = book.lot(lot, "document add")
    paper: dict[str, Any] = {"kind": kind, "lot": lot, "tier": tier}
    paper |= {key: value for key, value in told.items() if value}
    if covers:
        said = read_amount(covers)
        paper |= {"covers_qty": said.qty, "covers_unit": said.unit}
    else:
        said = None
    whom = parties.present(party) if parties and party else None
    salt = secrets.token_bytes(32) if tier == "private" and file else None
    kept = paperfiles.keep(file, folder, salt) if file else None
    adding = Adding(kept)
    try:
        if kept:
            paper |= {"file": kept.name, "size": kept.size}
            paper["salted_sha256" if salt else "sha256"] = kept.sha256
        same = _same_file(store, book, kept, parties if salt else None, folder)
        paper["id"] = name or _name(book, kind, lot, kept.sha256 if kept else digest(canonical(paper)), same)
        event = named_by_content("attach-document", lot, {"document": paper}, time, note)
        read = documents.paper_of(paper, event.id)
        _one_amount(read, same)
        if salt and same:
            documents.check_amount(read, same, book.received, event.id)
        if parties and salt and kept:
            parties.salt(paper["id"], kept.name, salt)
            adding.salted = paper["id"]
        if parties and whom:
            parties.link(whom, "document", paper["id"])
            adding.linked = whom, paper["id"]
        says = [f"{paper['id']}: {in_words(kind)} of {held.lot.id}."]
        says.append(_file_says(kept, folder, bool(salt)))
        says.append(f"Who sees it: {SEEN_BY[tier]}.")
        if said:
            says += _covers(read, same, book)
        elif same:
            says.append("The same file is on record as " + ", ".join(p.id for p in same) + ".")
        adding.event, adding.sentences = event, says
        return adding
    except BaseException:
        adding.undo(parties)
        raise


def in_words(kind: str) -> str:
    return kind.replace("-", " ").replace("eudr", "EUDR")


def _file_says(kept: paperfiles.Kept | None, folder: Path, private: bool) -> str:
    if kept is None:
        return "No file: a paper we know of and do not hold."
    size = f"{kept.size:,} byte{'' if kept.size == 1 else 's'}"
    how = ", for your eyes only" if private else ""
    return f"Its file of {size} is kept in {folder}{how} ({kept.sha256[:12]})."


def _same_file(
    store: Store, book: Book, kept: paperfiles.Kept | None, parties: Parties | None, folder: Path
) -> list[documents.Paper]:
    """Papers on the record with the very same file. A private one has another salted hash each time, so its
    file is hashed again with the salt of each private paper of the same size."""
    if kept is None:
        return []
    if parties is None:
        return book.papers_of(kept.sha256)
    salts = parties.salts()
    out = book.papers_of(paperfiles.digest_of(kept.path, b""))
    for paper in paperfiles.papers_of(store):
        salt = salts.get(paper.id, (None, None))[0]
        if salt and paper.told.get("size") == kept.size:
            found = paperfiles.digest_of(kept.path, bytes.fromhex(salt))
            if found == paper.told.get("salted_sha256"):
                out.append(paper)
    return out


def _name(book: Book, kind: str, lot: str, hash_: str, same: Sequence[documents.Paper]) -> str:
    """An id made of kind and hash, with a number where a paper of another lot has it."""
    for paper in same:
        if lot in paper.lots and paper.kind == kind:
            raise EventConflict(
                f"the same file is on record of {lot} already, as {paper.id}",
                next="Nothing is to be done; for another paper in the same file, name it with --id.",
            )
    base, n = f"{kind}-{hash_[:8]}", 1
    while book.paper(base if n == 1 else f"{base}-{n}") is not None:
        n += 1
    return base if n == 1 else f"{base}-{n}"


def _one_amount(paper: documents.Paper, same: Sequence[documents.Paper]) -> None:
    """BadRequest when the very same file is said to cover one amount here and another there."""
    for other in same:
        if paper.covers and other.covers and other.covers != paper.covers:
            raise BadRequest(
                f"the same file covers {amount_in_words(*other.covers)} as {other.id}", where="--covers",
                expected="what the whole paper is good for, the same wherever it is named",
                next="Leave --covers, or correct the other paper first.",
            )  # fmt: skip


def _covers(paper: documents.Paper, same: Sequence[documents.Paper], book: Book) -> list[str]:
    assert paper.covers is not None
    most, unit = paper.covers
    lots = list(dict.fromkeys([*(lot for p in same for lot in p.lots), *paper.lots]))
    return [f"It covers {plainly(most, unit)} ({most:,} {unit}). {_drawn_says(most, unit, lots, book)}"]


def _drawn_says(most: int, unit: str, lots: Sequence[str], book: Book) -> str:
    other = [lot for lot in lots if not counted(book.received(lot)[1], unit)]
    drawn = documents.drawn_by(lots, unit, book.received)
    out = f"Drawn on it: {drawn:,} {unit}; {most - drawn:,} {unit} left."
    if other:
        verb = "is" if len(other) == 1 else "are"
        out += f" {', '.join(other)} {verb} counted in another unit and not in it."
    return out


def counted(unit: str, of_paper: str) -> bool:
    return unit == of_paper or (of_paper, unit) == ("g", "mg")


def amount_in_words(qty: int, unit: str) -> str:
    return f"{qty:,} g" if unit == "g" else plainly(qty, unit)
