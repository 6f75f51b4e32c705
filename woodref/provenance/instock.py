"""What the shelf holds for a job, told: lots with where they lie, how the pieces come out of them and what is
on record; and what the others lack. Selection is told of it in plain values alone.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.layup.piececount import PieceCount
from woodref.layup.saying import Say, plural
from woodref.provenance.amounts import plainly
from woodref.provenance.latest import NOTHING, noted, shelf_of
from woodref.provenance.rows import LOTS, held_from
from woodref.provenance.shelf import MADE, Fit, Job, Miss, free_of, judge, leaf_of, size_words, standing
from woodref.provenance.store import Store
from woodref.selection.onhand import OnHand

#: how many lots that do not hold the job are named in print
NAMED = 8


@dataclass(frozen=True)
class InStock:
    """The answer of the shelf. names: ISO code -> country, for print."""

    job: Job
    fits: Sequence[Fit]
    misses: Sequence[Miss]
    names: Mapping[str, str]
    say: Say

    def shelf(self) -> dict[str, OnHand]:
        """What selection is told: accepted name -> where the lots of it grew that hold the job."""
        out: dict[str, OnHand] = {}
        for fit in self.fits:
            had = out.get(fit.wood, OnHand(frozenset()))
            known = fit.standing
            out[fit.wood] = OnHand(had.countries | set(known.countries), had.unknown or known.unknown)
        return out

    def of(self, woods: Collection[str | None]) -> list[Fit]:
        """Lots that hold the job, in the order of the woods, the earliest first."""
        return [fit for wood in dict.fromkeys(woods) for fit in self.fits if fit.wood == wood]

    def lots(self, wood: str | None) -> dict[str, str]:
        """The lots of a wood for a line of CSV."""
        return {"lots": " ".join(fit.held.lot.id for fit in self.of([wood]))}

    def sections(
        self, woods: Collection[str | None], others: Collection[str] | None = None
    ) -> list[tuple[str, list[str]]]:
        """Headings and sentences for print. woods: those answered; others: further woods whose lots are told
        where they fall short, None for all."""
        out = []
        mine = self.of(woods)
        if mine:
            lines = [self.fit_words(fit) for fit in mine]
            if any(fit.count is not None and fit.count.sequence for fit in mine):
                lines.append(
                    "The book counts area, not leaf numbers: see at the shelf that the leaves follow one "
                    "another."
                )
            out.append(("On the shelf", lines))
        short = self.left_out(woods, others)
        if short:
            lines = [miss.sentence for miss in short[:NAMED]]
            if len(short) > NAMED:
                lines.append(f"{plural(len(short) - NAMED, 'more lot')} (all of them with --json).")
            out.append(("Not from these lots", lines))
        return out

    def left_out(self, woods: Collection[str | None], others: Collection[str] | None = None) -> list[Miss]:
        """Lots that fall short: of these woods, of the others, and those whose wood nobody has named."""
        return [
            miss for miss in self.misses
            if others is None or not miss.held.lot.species or miss.held.lot.species in {*woods, *others}
        ]  # fmt: skip

    def fit_words(self, fit: Fit) -> str:
        """'L-B (Dalbergia latifolia), shelf A-3: 10 leaves of 1800 x 200 mm are free ...'."""
        lot, told = fit.held.lot, fit.held.lot.told
        shelf = f", shelf {fit.shelf}" if fit.shelf else ", no shelf told"
        thick = "" if lot.thickness_um is None else f", {self.say.mm(lot.thickness_um / 1000)} thick"
        out = [f"{lot.id} ({fit.wood}){shelf}: {self._free(fit)}{thick}."]
        if fit.count is not None and fit.free is not None:
            out.append(self._pieces(fit.count, fit.free))
        flitch = [f"{key} {told[key]}" for key in ("flitch", "bundle") if told.get(key)]
        if flitch:
            out.append(f"Of {' and '.join(flitch)}.")
        notes = told.get("leaf_notes")
        if isinstance(notes, Mapping) and notes:
            out.append("Leaves: " + "; ".join(f"{leaf} {note}" for leaf, note in notes.items()) + ".")
        out.append(fit.standing.sentence(self.names))
        return " ".join(out)

    def _free(self, fit: Fit) -> str:
        if fit.free is None:
            return f"{plainly(free_of(fit.held), fit.held.lot.unit)} free"
        verb = "is" if fit.free == 1 else "are"
        return (
            f"{plural(fit.free, 'leaf', 'leaves')} of {size_words(leaf_of(fit.held), self.say)} {verb} free"
        )

    def _pieces(self, count: PieceCount, free: int) -> str:
        piece, need = self.job.piece, count.leaves or 0
        assert piece is not None
        what = f"{plural(self.job.pieces, 'piece')} of {size_words((piece.length, piece.width), self.say)}"
        takes = "takes" if self.job.pieces == 1 else "take"
        one = "1 leaf" if need == 1 else f"{need} leaves"
        follow = " that follow one another" if count.sequence and need > 1 else ""
        how = []
        if count.across > 1:
            how.append(f"{count.across} side by side to a piece with {plural(count.joints, 'joint')}")
        if count.strips > 1:
            how.append(f"{count.strips} pieces side by side in a leaf")
        how.append(f"{plural(count.lengths, 'length')} to a leaf")
        left = free - need
        stays = "none stays over" if not left else f"{left} {'stays' if left == 1 else 'stay'} over"
        return f"{what} {takes} {one}{follow}: {', '.join(how)}; {stays}."

    def as_dict(self, woods: Collection[str | None], others: Collection[str] | None = None) -> dict[str, Any]:
        """The key in_stock of `find` and `substitute`."""
        return self.job.as_dict() | {
            "lots": [self._told(fit) for fit in self.of(woods)],
            "left_out": [
                {"lot": m.held.lot.id, "species": m.held.lot.species, "code": m.code, "sentence": m.sentence}
                for m in self.left_out(woods, others)
            ],
        }

    def _told(self, fit: Fit) -> dict[str, Any]:
        lot, count = fit.held.lot, fit.count
        leaf = leaf_of(fit.held)
        return {
            "lot": lot.id, "species": lot.species, "form": lot.form, "unit": lot.unit,
            "shelf": fit.shelf, "flitch": lot.told.get("flitch"),
            "bundle": lot.told.get("bundle"),
            "thickness_um": lot.thickness_um, "free": free_of(fit.held), "free_leaves": fit.free,
            "leaf_mm": list(leaf) if leaf else None, "leaves_needed": count.leaves if count else None,
            "joints": count.joints if count else None, "leaves_across": count.across if count else None,
            "purchase": fit.standing.purchase, "papers": [p.id for p in fit.standing.papers],
            "countries": list(fit.standing.countries), "country_unknown": fit.standing.unknown,
            "sentence": self.fit_words(fit),
        }  # fmt: skip


def in_stock(store: Store, job: Job, names: Mapping[str, str], units: str = "metric") -> InStock:
    """Every lot on hand of the asked forms, held against the job."""
    say, known = Say(units), noted(store)
    fits: list[Fit] = []
    misses: list[Miss] = []
    # most lots of a long book are used up: those are not read
    for row in store.rows(f"{LOTS} WHERE b.qty <> 0 ORDER BY l.made, l.id"):
        held = held_from(row)
        if held.lot.form not in (*job.forms, MADE):
            continue
        found = judge(held, job, say)
        if isinstance(found, Miss):
            misses.append(found)
        else:
            leaf = leaf_of(held)
            free = None if leaf is None else free_of(held) // (leaf[0] * leaf[1])
            shelf = shelf_of(held, known.get(held.lot.id, NOTHING))
            fits.append(Fit(held, free, found, standing(store, held), shelf))
    return InStock(job, fits, misses, names, say)
