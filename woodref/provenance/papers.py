"""A paper as people say it -> the event that adds it to a lot; and the papers of a book, told."""

from __future__ import annotations

import datetime as dt
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

    done: Done
    kept: paperfiles.Kept | None = None
    salted: str | None = None
    linked: tuple[Party, str] | None = None

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
    adding = Adding(Done(named_by_content("annotate", lot, {}, time), []), kept)
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
        says = [f"{paper['id']}: {_kind(kind)} of {held.lot.id}."]
        says.append(_file_says(kept, folder, bool(salt)))
        says.append(f"Who sees it: {SEEN_BY[tier]}.")
        if said:
            says += _covers(read, same, book)
        elif same:
            says.append("The same file is on record as " + ", ".join(p.id for p in same) + ".")
        adding.done = Done(event, says)
        return adding
    except BaseException:
        adding.undo(parties)
        raise


def _kind(kind: str) -> str:
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
    out = []
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
                f"the same file covers {_said(*other.covers)} as {other.id}", where="--covers",
                expected="what the whole paper is good for, the same wherever it is named",
                next="Leave --covers, or correct the other paper first.",
            )  # fmt: skip


def _covers(paper: documents.Paper, same: Sequence[documents.Paper], book: Book) -> list[str]:
    assert paper.covers is not None
    most, unit = paper.covers
    lots = list(dict.fromkeys([*(lot for p in same for lot in p.lots), *paper.lots]))
    return [f"It covers {plainly(most, unit)} ({most:,} {unit}). {_drawn_says(most, unit, lots, book)}"]


def _drawn_says(most: int, unit: str, lots: Sequence[str], book: Book) -> str:
    other = [lot for lot in lots if not _counted(book.received(lot)[1], unit)]
    drawn = documents.drawn_by(lots, unit, book.received)
    out = f"Drawn on it: {drawn:,} {unit}; {most - drawn:,} {unit} left."
    if other:
        verb = "is" if len(other) == 1 else "are"
        out += f" {', '.join(other)} {verb} counted in another unit and not in it."
    return out


def _counted(unit: str, of_paper: str) -> bool:
    return unit == of_paper or (of_paper, unit) == ("g", "mg")


@dataclass(frozen=True)
class Listed:
    """A paper with what is drawn on it, and how its file was found."""

    paper: documents.Paper
    drawn: int | None
    not_counted: tuple[str, ...]
    file: paperfiles.Look
    same: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        p, told = self.paper, self.paper.told
        covers, unit = p.covers or (None, None)
        return {
            "id": p.id, "kind": p.kind, "lots": list(p.lots), "tier": told.get("tier"),
            "issuer": told.get("issuer"), "number": told.get("number"), "issued_on": p.issued_on,
            "expires_on": p.expires_on, "about": p.about or None, "covers": covers, "unit": unit,
            "drawn": self.drawn, "not_counted": list(self.not_counted), "file": self.file.state,
            "size": told.get("size"), "sha256": p.sha256, "same_file_as": list(self.same),
        }  # fmt: skip


@dataclass(frozen=True)
class Papers:
    """Papers of a book, or of one lot. checked: their files were read, not only looked for."""

    lot: str | None
    rows: Sequence[Listed]
    folder: Path
    checked: bool
    on: dt.date

    @property
    def sound(self) -> bool:
        return not any(row.file.bad for row in self.rows)

    def table(self) -> tuple[list[str], list[list[str]]]:
        """One row a paper."""
        head = ["paper", "what", "of", "issued", "covers", "drawn", "left", "file"]
        return head, [_row(row) for row in self.rows]

    def sentences(self) -> list[str]:
        """What the table does not say."""
        out = []
        if not self.rows:
            out.append(f"No paper is on record{f' of {self.lot}' if self.lot else ''}.")
        for row in self.rows:
            p = row.paper
            said = p.told.get("number"), p.told.get("issuer"), p.about
            about = "; ".join(str(text) for text in said if text)
            if about:
                out.append(f"{p.id}: {about}.")
            if p.covers and row.not_counted:
                verb = "is" if len(row.not_counted) == 1 else "are"
                out.append(
                    f"{p.id}: {', '.join(row.not_counted)} {verb} counted in another unit than the paper, so "
                    "that is not among what is drawn."
                )
            if p.covers and row.drawn is not None and row.drawn > p.covers[0]:
                out.append(f"{p.id}: more is drawn on it than it covers.")
            if row.same:
                out.append(f"{p.id} has the same file as {', '.join(row.same)}.")
            if p.expires_on and p.expires_on < self.on.isoformat():
                out.append(f"{p.id} ran out on {p.expires_on}.")
            if row.file.says:
                out.append(row.file.says)
        held = [row for row in self.rows if row.file.state in (paperfiles.THERE, paperfiles.SAME)]
        if held and not self.checked:
            out.append("Whether a file is still the same as recorded: --check reads each.")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `document list`; amounts in whole units."""
        return {
            "query": {"lot": self.lot, "checked": self.checked}, "count": len(self.rows),
            "sound": self.sound, "rows": [row.as_dict() for row in self.rows],
            "sentences": self.sentences(), "notices": [],
        }  # fmt: skip


def _row(row: Listed) -> list[str]:
    p = row.paper
    covers = drawn = left = "-"
    if p.covers and row.drawn is not None:
        most, unit = p.covers
        covers, drawn = _said(most, unit), _said(row.drawn, unit)
        left = _said(most - row.drawn, unit)
    return [p.id, _kind(p.kind), ", ".join(p.lots), p.issued_on or "-", covers, drawn, left, row.file.state]


def _said(qty: int, unit: str) -> str:
    return f"{qty:,} g" if unit == "g" else plainly(qty, unit)


def listed(
    store: Store,
    lot: str | None,
    folder: Path,
    salts: dict[str, tuple[str | None, str | None]] | None,
    read: bool,
    on: dt.date,
) -> Papers:
    """Papers of a book, or of one lot (UnknownLot with near ids). read: their files are hashed anew."""
    book = store.book()
    if lot:
        book.lot(lot, "document list")
    whole = paperfiles.papers_of(store)
    rows = []
    for paper in whole:
        if lot and lot not in paper.lots:
            continue
        same = [p for p in whole if p.sha256 and p.sha256 == paper.sha256 and p.id != paper.id]
        drawn, other = None, list[str]()
        if paper.covers:
            unit = paper.covers[1]
            lots = list(dict.fromkeys([*paper.lots, *(one for p in same for one in p.lots)]))
            drawn = documents.drawn_by(lots, unit, book.received)
            other = [one for one in lots if not _counted(book.received(one)[1], unit)]
        seen = paperfiles.look(paper, folder, salts, read)
        rows.append(Listed(paper, drawn, tuple(other), seen, tuple(p.id for p in same)))
    return Papers(lot, rows, folder, read, on)
