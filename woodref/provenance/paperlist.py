"""The papers of a book, told: what each covers, how much of that is drawn, how its file was found."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.provenance import documents, paperfiles
from woodref.provenance.papers import amount_in_words, counted, in_words
from woodref.provenance.store import Store


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
        covers, drawn = amount_in_words(most, unit), amount_in_words(row.drawn, unit)
        left = amount_in_words(most - row.drawn, unit)
    return [
        p.id,
        in_words(p.kind),
        ", ".join(p.lots),
        p.issued_on or "-",
        covers,
        drawn,
        left,
        row.file.state,
    ]


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
    asked = paperfiles.papers_of(store, lot)
    like = _same_files(store, asked) if lot else _by_file(asked)
    received = book.received if lot else _received(store)
    rows = []
    for paper in asked:
        same = [p for p in like.get(paper.sha256 or "", ()) if p.id != paper.id]
        drawn, other = None, list[str]()
        if paper.covers:
            unit = paper.covers[1]
            lots = list(dict.fromkeys([*paper.lots, *(one for p in same for one in p.lots)]))
            drawn = documents.drawn_by(lots, unit, received)
            other = [one for one in lots if not counted(received(one)[1], unit)]
        seen = paperfiles.look(paper, folder, salts, read)
        rows.append(Listed(paper, drawn, tuple(other), seen, tuple(p.id for p in same)))
    return Papers(lot, rows, folder, read, on)


def _by_file(papers: Sequence[documents.Paper]) -> dict[str, list[documents.Paper]]:
    """Digest of a file -> the papers that have it."""
    out: dict[str, list[documents.Paper]] = {}
    for paper in papers:
        if paper.sha256:
            out.setdefault(paper.sha256, []).append(paper)
    return out


def _same_files(store: Store, papers: Sequence[documents.Paper]) -> dict[str, list[documents.Paper]]:
    """The same of all papers of the book that have the file of one of these."""
    return {sha: paperfiles.papers_with(store, sha) for sha in dict.fromkeys(p.sha256 for p in papers) if sha}


def _received(store: Store) -> Callable[[str], tuple[int, str]]:
    """What each lot with a paper was when it was made, and its unit, as `Book.received`; asked all at once,
    since a long book has many."""
    first: dict[str, tuple[int, str]] = {}
    with closing(store.stream(_FIRST)) as rows:
        for lot, unit, qty in rows:
            first.setdefault(lot, (int(qty), unit))
    book = store.book()
    return lambda lot: first.get(lot) or book.received(lot)


#: what came into lots that have a paper, the earliest first
_FIRST = (
    "SELECT l.id, l.unit, m.qty FROM lot l JOIN move m ON m.lot = l.id WHERE m.qty > 0 AND l.id IN "
    "(SELECT lot FROM paper_lot) ORDER BY m.seq, m.n"
)
