"""Lots of the shelf held against a job: which hold its pieces, which do not and why, and what is on record of
each through everything it was made of.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from woodref.layup.piececount import TOO_NARROW, TOO_SHORT, PieceCount, pieces_from
from woodref.layup.saying import Say, plural
from woodref.provenance.book import Held
from woodref.provenance.documents import Paper
from woodref.provenance.proof import papers_of
from woodref.provenance.proofwords import (
    DOCUMENTED,
    NOT_KNOWN,
    STATED_BY,
    countries_of,
    paper_words,
    purchase,
)
from woodref.provenance.stock import taken_in
from woodref.provenance.store import Store
from woodref.provenance.trace import Root, whence
from woodref.selection.request import Piece
from woodref.selection.words import joined

LEAVES, SOLID = ("veneer",), ("board", "sawn")
#: a sheet made of leaves is looked at at the shelf: what it is sold as no lot says
MADE = "engineered-veneer"
_WORST = (NOT_KNOWN, STATED_BY, DOCUMENTED)


@dataclass(frozen=True)
class Job:
    """What the shelf is asked for. piece: None for anything free; pieces: how many of it; matched: out of
    leaves that follow one another; forms: of lots that serve."""

    piece: Piece | None = None
    pieces: int = 1
    matched: bool = True
    forms: tuple[str, ...] = (*LEAVES, *SOLID)

    def as_dict(self) -> dict[str, Any]:
        return {
            "piece": self.piece.as_dict() if self.piece else None,
            "pieces": self.pieces if self.piece else None,
            "in_sequence": self.matched if self.piece else None,
        }


@dataclass(frozen=True)
class Standing:
    """What is on record of a lot: of all the received lots it was made of, the weakest."""

    purchase: str
    papers: tuple[Paper, ...]
    countries: tuple[str, ...]
    #: whether of some of it the country is not known
    unknown: bool

    def sentence(self, names: Mapping[str, str]) -> str:
        """'Its purchase is documented (invoice D-03 of 2009-05-14); grown in India.'"""
        shown = f" ({', '.join(paper_words(p) for p in self.papers)})" if self.papers else ""
        bought = {
            DOCUMENTED: f"Its purchase is documented{shown}",
            STATED_BY: f"Its purchase is stated by the supplier alone{shown}",
            NOT_KNOWN: f"Not all of its purchase is documented{shown}" if self.papers
            else "Of its purchase nothing is known, and no paper is on record",
        }[self.purchase]  # fmt: skip
        told = joined([names.get(c, c) for c in self.countries]) if self.countries else ""
        if not told:
            grown = "where it grew is not known"
        elif self.unknown:
            grown = f"some of it grew in {told}, of the rest it is not known"
        else:
            grown = f"grown in {told}"
        return f"{bought}; {grown}."


@dataclass(frozen=True)
class Fit:
    """A lot that holds the job. free: whole leaves free, None where it has no leaf size; count: how the
    pieces come out of it, None where no piece was asked; shelf: where it was last seen."""

    held: Held
    free: int | None
    count: PieceCount | None
    standing: Standing
    shelf: str | None = None

    @property
    def wood(self) -> str:
        return str(self.held.lot.species)


@dataclass(frozen=True)
class Miss:
    """A lot that does not hold the job: code, and why in a sentence."""

    held: Held
    code: str
    sentence: str


def leaf_of(held: Held) -> tuple[int, int] | None:
    """Length along the grain and width [mm] of the leaves of a lot, where they are told."""
    size = held.lot.told.get("leaf_mm")
    return (int(size[0]), int(size[1])) if size and held.lot.unit == "mm2" else None


def free_of(held: Held) -> int:
    return held.qty - held.reserved


def size_words(size: tuple[float, float] | None, say: Say) -> str:
    """'1800 x 200 mm'."""
    one, two = size or (0, 0)
    return f"{say.mm(one).rpartition(' ')[0]} x {say.mm(two)}"


def standing(store: Store, held: Held) -> Standing:
    """What is on record of a lot, through everything it was made of."""
    lot = held.lot
    roots = (
        [Root(held, Fraction(1), Fraction(1))]
        if taken_in(held)
        else [r for r in whence(store, lot.id) if r.held.lot.wooden]
    )
    papers = {r.held.lot.id: papers_of(store, r.held.lot.id) for r in roots}
    bought = min((purchase(p) for p in papers.values()), key=_WORST.index, default=NOT_KNOWN)
    every = {p.id: p for mine in papers.values() for p in mine}
    grown = [countries_of(r) for r in roots]
    known = tuple(dict.fromkeys(c for cs in grown for c in cs))
    return Standing(bought, tuple(every.values()), known, not roots or not all(grown))


def judge(held: Held, job: Job, say: Say) -> PieceCount | Miss | None:
    """How the pieces come out of a lot, None where none were asked; a Miss with what fails first."""
    lot = held.lot

    def miss(code: str, why: str) -> Miss:
        called = lot.species or lot.told.get("trade") or lot.wood
        return Miss(held, code, f"{lot.id} ({called}): {why}.")

    if lot.form == MADE:
        return miss("engineered", "an engineered sheet, no leaf of that wood; look at it at the shelf")
    if lot.species is None:
        may = f"one of {', '.join(lot.may_be)}" if lot.may_be else "nobody knows what"
        return miss("unidentified", f"what wood it is is not settled: {may}")
    if job.piece is None:
        return None if free_of(held) else miss("reserved", "all of it is reserved")
    leaf = leaf_of(held)
    if leaf is None:
        return miss("no-size", "the size of its leaves is not told")
    piece = job.piece
    size = (piece.length, piece.width)
    count = pieces_from(leaf, size, job.pieces, piece.joints, job.matched)
    if count.why_not == TOO_SHORT:
        long, along = say.mm(leaf[0]), say.mm(piece.length)
        why = f"too short, its leaves are {long} long and a piece takes {along} along the grain"
        return miss(TOO_SHORT, why)
    if count.why_not == TOO_NARROW:
        allowed = plural(piece.joints, "joint") if piece.joints else "none"
        how = f"{count.across} side by side with {plural(count.joints, 'joint')}"
        why = f"too narrow, its leaves are {say.mm(leaf[1])} wide: {say.mm(piece.width)} takes {how}"
        return miss(TOO_NARROW, f"{why}, and you allow {allowed}")
    area, need = leaf[0] * leaf[1], count.leaves or 0
    free, whole = free_of(held) // area, held.qty // area
    if free >= need:
        return count
    takes = "takes" if job.pieces == 1 else "take"
    asks = f"{plural(job.pieces, 'piece')} {takes} {plural(need, 'leaf', 'leaves')}"
    lacks = f"short by {plural(need - free, 'leaf', 'leaves')}{_unmatched(leaf, size, job, free)}"
    if whole >= need:
        kept = whole - free
        return miss("reserved", f"{asks}, and of {whole} on hand {kept} {_are(kept)} reserved: {lacks}")
    return miss("short", f"{asks}, and {free} {_are(free)} free: {lacks}")


def _are(number: int) -> str:
    return "is" if number == 1 else "are"


def _unmatched(leaf: tuple[int, int], size: tuple[float, float], job: Job, free: int) -> str:
    """That the leaves would do, if any may lie beside any other."""
    if not job.matched or job.piece is None:
        return ""
    any_way = pieces_from(leaf, size, job.pieces, job.piece.joints, matched=False).leaves or 0
    return f"; unmatched, {any_way} would do" if any_way <= free else ""
