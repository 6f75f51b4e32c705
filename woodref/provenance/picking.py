"""One page to fetch by: the lots that a layup's plies can be cut from, in the order of their shelves, what to
take of each, and what is short. Prices stay in the office."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue, Notice
from woodref.layup.asked import Layup
from woodref.layup.leafcount import FUZZ
from woodref.layup.pack import pack_of
from woodref.layup.saying import plies_called, plural
from woodref.provenance.amounts import plainly
from woodref.provenance.fetching import Fetch, Unfit, Want, serving, taken_words, wants_of
from woodref.provenance.pages import page
from woodref.provenance.store import Store

#: lots of the same wood that do not serve, told of one want; lots that are named beside a want
MOST_UNFIT, MOST_LOTS = 5, 4


@dataclass(frozen=True)
class Pick:
    """What to fetch for a layup. left_out: why no amounts are told; stamp: version and digest of the
    catalogue."""

    layup: Layup
    wants: Sequence[Want]
    rows: Sequence[Fetch]
    unfit: Sequence[Unfit]
    left_out: str | None
    notices: Sequence[Notice]
    stamp: Mapping[str, str]

    def summary(self) -> str:
        """'5 plies, 4 parts; 3 lots to go to.'"""
        go = [row for row in self.rows if row.taken or self.left_out]
        parts = plural(self.layup.panel.count, "part")
        return f"{plural(len(self.layup.plies), 'ply', 'plies')}, {parts}; {plural(len(go), 'lot')} to go to."

    def walk(self) -> tuple[list[str], list[list[str]]]:
        """A row a lot, in the order of the shelves."""
        head = ["shelf", "lot", "wood", "thick", "cut", "plies", "free", "leaves", "take"]
        return head, [self._row(row) for row in self.rows]

    def _row(self, row: Fetch) -> list[str]:
        held, lot = row.held, row.held.lot
        free = held.qty - held.reserved
        leaves = None if row.by_area else leaves_of_free(row)
        plies = sorted(ply for index in row.wants for ply in self.wants[index].plies)
        words = lot.told.get("trade")
        wood = lot.wood if lot.may_be else ""
        told = f'{wood}, "{words}"' if wood and words and words != wood else wood or f'"{words}"'
        take = "not known" if self.left_out else taken_words(row.taken)
        return [
            row.shelf or "not told", lot.id, told, f"{(lot.thickness_um or 0) / 1000:g} mm",
            row.cut or "not told", ", ".join(map(str, plies)), plainly(free, lot.unit),
            "-" if leaves is None else str(leaves), take,
        ]  # fmt: skip

    def by_ply(self) -> tuple[list[str], list[list[str]]]:
        """A row a want, from the show face inward."""
        head = ["plies", "wood", "thick", "cut", "sheets", "of (along x across grain)", "lots", "short"]
        out = []
        for index, want in enumerate(self.wants):
            sheets = "not known" if want.sheets is None else str(want.sheets)
            short = self.short(index)
            lots = [row.held.lot.id for row in self.rows if any(t.want == index for t in row.taken)]
            if self.left_out:
                lots = [row.held.lot.id for row in self.rows if index in row.wants]
            out.append([
                ", ".join(map(str, want.plies)), want.wood, f"{want.thickness_um / 1000:g} mm",
                want.cut or "any", sheets, _size(want), _some(lots) or "-",
                "-" if not short else str(short),
            ])  # fmt: skip
        return head, out

    def short(self, index: int) -> int | None:
        """Sheets that nothing on hand gives; None where nobody knows how many are wanted."""
        sheets = self.wants[index].sheets
        if sheets is None:
            return None
        return sheets - sum(t.sheets for row in self.rows for t in row.taken if t.want == index)

    def sentences(self) -> list[str]:
        """What is short, what does not serve and why, what to mind."""
        out = [self.left_out] if self.left_out else []
        for alike in self._nothing():
            name = _called([self.wants[index] for index in alike])
            out += [f"{name}: nothing on hand serves.", *self._unfit(alike)]
        for index, want in enumerate(self.wants):
            out += self._told(index, want)
        if not any(self.short(index) for index in range(len(self.wants))) and not self.left_out:
            out.append("Nothing is short.")
        return out + self._minds()

    def _nothing(self) -> list[list[int]]:
        """Wants that no lot serves, those of one wood and thickness together."""
        served = {index for row in self.rows for index in row.wants}
        alike: dict[tuple[object, ...], list[int]] = {}
        for index, want in enumerate(self.wants):
            if index not in served:
                alike.setdefault((want.wood, want.thickness_um, want.cut), []).append(index)
        return list(alike.values())

    def _told(self, index: int, want: Want) -> list[str]:
        lots = [row for row in self.rows if any(t.want == index for t in row.taken)]
        short, out = self.short(index), []
        name = _called([want])
        if short and any(index in row.wants for row in self.rows):
            wanted = plural(want.sheets or 0, "sheet")
            out += [f"{name}: short of {short} of {wanted}, {_size(want)} each.", *self._unfit([index])]
        if want.matched and len(lots) > 1:
            out.append(
                f"{name}: no lot alone holds the whole face, and the match changes from one to the next."
            )
        return out

    def _unfit(self, wants: Sequence[int]) -> list[str]:
        found = list(dict.fromkeys(f"{u.lot}: {u.why}" for u in self.unfit if u.want in wants))
        if not found:
            return []
        more = f"; and {len(found) - MOST_UNFIT} more" if len(found) > MOST_UNFIT else ""
        return [f"The same wood, but not this: {'; '.join(found[:MOST_UNFIT])}{more}."]

    def _minds(self) -> list[str]:
        out = []
        if any(row.cut is None and any(self.wants[i].cut for i in row.wants) for row in self.rows):
            out.append("Where the cut of a lot is not told, look at it before you take it.")
        if any(row.by_area and row.taken for row in self.rows):
            out.append("Lots without a leaf size are reckoned by area alone: see that the pieces come out.")
        if any(t.leaves for row in self.rows for t in row.taken):
            out.append("Leaves are reckoned at their full width: jointing both edges takes a little of each.")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `stock pick`; amounts in mm2 and whole leaves."""
        return {
            "query": {"file": self.layup.file, "title": self.layup.title},
            "count": len(self.rows),
            "rows": [
                {"lot": row.held.lot.id, "shelf": row.shelf, "cut": row.cut,
                 "species": row.held.lot.species, "thickness_um": row.held.lot.thickness_um,
                 "free": row.held.qty - row.held.reserved, "unit": row.held.lot.unit,
                 "leaves": None if row.by_area else leaves_of_free(row),
                 "plies": sorted(ply for i in row.wants for ply in self.wants[i].plies),
                 "take": [{"plies": list(self.wants[t.want].plies), "sheets": t.sheets, "leaves": t.leaves,
                           "area_mm2": t.area} for t in row.taken]}
                for row in self.rows
            ],
            "wants": [
                {"plies": list(want.plies), "wood": want.wood,
                 "id": want.material.id if want.material else None,
                 "thickness_um": want.thickness_um, "cut": want.cut, "along_grain_mm": want.along,
                 "across_grain_mm": want.across, "sheets": want.sheets, "short": self.short(index),
                 "unfit": [{"lot": u.lot, "why": u.why} for u in self.unfit if u.want == index]}
                for index, want in enumerate(self.wants)
            ],
            "sentences": self.sentences(),
            "notices": [notice.as_dict() for notice in self.notices],
            "catalogue": dict(self.stamp),
        }  # fmt: skip


def leaves_of_free(row: Fetch) -> int:
    """Whole leaves of the lot's size that are free."""
    held = row.held
    length, width = held.lot.told["leaf_mm"]
    return int((held.qty - held.reserved) // (int(length) * int(width)))


def _some(lots: Sequence[str]) -> str:
    """'W-1, W-2 and 7 more': the rows of the walk name them all."""
    if len(lots) <= MOST_LOTS:
        return ", ".join(lots)
    return f"{', '.join(lots[: MOST_LOTS - 1])} and {len(lots) - MOST_LOTS + 1} more"


def _called(wants: Sequence[Want]) -> str:
    """'Plies 2 and 4, Betula pendula 1.5 mm'."""
    plies = [ply for want in wants for ply in want.plies]
    return f"{plies_called(sorted(plies))}, {wants[0].wood} {wants[0].thickness_um / 1000:g} mm"


def _size(want: Want) -> str:
    if want.along is None or want.across is None:
        return "not known"
    along, across = (math.ceil(mm - FUZZ) for mm in (want.along, want.across))
    return f"{along:,} x {across:,} mm"


def pick(layup: Layup, store: Store, catalogue: Catalogue, on: dt.date, region: str | None = None) -> Pick:
    """What to fetch for a layup from a book. Raises UnknownName or SharedName with the line of the file."""
    pack = pack_of(layup, catalogue, on, region)
    wants, left_out = wants_of(pack)

    rows, unfit = serving(wants, store)
    return Pick(layup, wants, rows, unfit, left_out, pack.notices, catalogue.stamp)


def pick_page(found: Pick, on: dt.date) -> str:
    """The page as HTML."""
    walk, plies = found.walk(), found.by_ply()
    return page(
        "pick.html", title=found.layup.title, summary=found.summary(), walk=walk, plies=plies,
        sentences=found.sentences(), take=len(walk[0]) - 1, short=len(plies[0]) - 1,
        made=f"As the book stood on {on.isoformat()}. woodref {found.stamp['version']}, catalogue "
        f"{found.stamp['digest']}.",
    )  # fmt: skip
