"""Where each wood stands in an answer, and its row.

A wood's group hangs on the law, the limits and what is known of it; all woods are sorted on columns first
(`standing`), and a row is written, with its reasons, when somebody looks at it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection import explain, gates, standing, status, words
from woodref.selection.answer import GROUPS, Answer, Head, Row, Rows
from woodref.selection.certainty import order_holds, undominated
from woodref.selection.columns import Columns
from woodref.selection.criteria import detail
from woodref.selection.onhand import OnHand, Shelf, on_shelf
from woodref.selection.ranking import Ranking
from woodref.selection.request import Request
from woodref.selection.roles import OWN, WORDS, Profile

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from woodref.selection.among import Among

#: below this share of known weight a row stands apart
ENOUGH_KNOWN = 0.6
#: that nothing beats a row on every count is said when no more than this share of the ranked can say it
TELLING = 0.5


@dataclass(frozen=True)
class Told:
    """An answer in the making, and all that a row of it is written from."""

    answer: Answer
    materials: Sequence[Material]
    table: Columns
    ranking: Ranking
    profile: Profile
    catalogue: Catalogue
    balanced: Callable[[Material], str | None] | None
    shelf: Shelf | None
    own: Among | None = None

    @property
    def request(self) -> Request:
        return self.answer.request

    def written(self, index: int) -> tuple[str, Row]:
        """The group of one wood and its row with the reasons."""
        material, wanted = self.materials[index], self.answer.wanted
        mine = on_shelf(material, self.shelf) if self.shelf is not None else None
        found = detail(self.ranking, self.table, index, wanted, material, self.catalogue, self.profile)
        known = mine.known if mine else None
        row = Row(material, found, status.origins(material, self.request.on, self.catalogue, known))
        if self.own is None:
            return _place(self.answer, row, self.catalogue, self.balanced, mine)
        cautions = self.own.cautions(material, self.request.role)
        row = replace(row, on_list=self.own.rows(material), cautions=cautions)
        if material.id in self.own.unknown:
            return _place_own(self.answer, row, self.catalogue, self.balanced, self.own)
        return _place(self.answer, row, self.catalogue, self.balanced, mine)


def _place(
    answer: Answer, row: Row, catalogue: Catalogue, balanced: Callable[[Material], str | None] | None,
    mine: OnHand | None = None,
) -> tuple[str, Row]:  # fmt: skip
    """The group of one material, and its row with the reasons. mine: what of it is on hand, which no longer
    has to come in."""
    request, material = answer.request, row.material
    origins, stopped = standing.on_route(
        material, row.origins, request, catalogue, material.id == answer.wanted.id, mine
    )
    wanted = answer.wanted
    first = explain.dust_first(wanted, material)
    reasons = explain.reasons(row.found, wanted, material)
    sizes = None if mine else gates.piece_words(material, request.piece)
    for more in (balanced(material) if balanced else None, sizes):
        if more:
            reasons.append(more)
    row = replace(
        row,
        origins=origins,
        reasons=tuple(first + reasons),
        cautions=(
            *row.cautions,
            *explain.cautions(material, origins, catalogue, bool(first)),
            *explain.stopped(stopped, catalogue),
        ),
        use=tuple(explain.in_use(wanted, material, request.role)),
    )
    barred = gates.barred(material, origins, request, catalogue)
    if not barred and stopped and not origins.free and not origins.listed:
        barred = list(dict.fromkeys(explain.stop_words(s) for s in stopped))
    unknown = gates.unknown(material, request)
    if mine and not mine.known and origins.listed and origins.free:
        unknown.append("Where the wood on hand grew is not known, and from some countries it is listed.")
    if barred:
        return "left_out", replace(row, because=tuple(barred))
    if unknown:
        return "cannot_say", replace(row, because=tuple(unknown))
    if not origins.free:
        text = status.origin_sentence(material, origins, catalogue)
        return "with_papers", replace(row, because=(text,))
    if row.found.coverage < ENOUGH_KNOWN or _blind(row, request):
        return "low_coverage", replace(row, because=(_too_little(row, request),))
    return "ranked", row


def _place_own(
    answer: Answer, row: Row, catalogue: Catalogue, balanced: Callable[[Material], str | None] | None,
    own: Among,
) -> tuple[str, Row]:  # fmt: skip
    """The group of a row of a list that is no wood of the catalogue, and what is told of it. Where too little
    is told to rank it beside others it stands in the order of what is told."""
    from woodref.selection.among import standing as standing_of
    from woodref.selection.ownstatus import NOT_KNOWN_SHORT

    request, material = answer.request, row.material
    group, because, law = standing_of(material, own.unknown[material.id], own, request, catalogue)
    first = explain.dust_first(answer.wanted, material)
    reasons = [*first, *explain.reasons(row.found, answer.wanted, material)]
    if balanced and (text := balanced(material)):
        reasons.append(text)
    row = replace(
        row,
        reasons=tuple(reasons),
        cautions=(*row.cautions, *law, *explain.cautions(material, row.origins, catalogue, bool(first))),
        use=tuple(explain.in_use(answer.wanted, material, request.role)),
    )
    if not group and (row.found.coverage < ENOUGH_KNOWN or _blind(row, request)):
        group, because = "low_coverage", (_too_little(row, request), *law[:-1], NOT_KNOWN_SHORT)
    return group or "ranked", replace(row, because=because)


#: role -> the one thing it turns on: where that is not known, a wood is not ranked for it
TURNS_ON = {
    "back": "pull", "crossband": "movement", "frame": "movement", "bow": "moe",
    "sounding-plate": "radiation", "drum-shell": "moe",
}  # fmt: skip


def _blind(row: Row, request: Request) -> bool:
    """Whether the one thing the role turns on is asked and not known."""
    turns = row.found.criterion(TURNS_ON.get(request.role, ""))
    return turns is not None and turns.use is None


def _too_little(row: Row, request: Request) -> str:
    """Why a row stands apart."""
    gaps = words.joined([explain.criterion_name(c.property) for c in row.found.criteria if c.use is None])
    if _blind(row, request):
        return f"Not known: {gaps}. The role turns on {explain.criterion_name(TURNS_ON[request.role])}."
    return f"Not known: {gaps}. At least 60 % of what counts must be known."


def _groups(told: Told) -> dict[str, NDArray[np.int64]]:
    """group -> the places of its woods in the catalogue. What is on hand, or on a list of the user's own, is
    asked wood by wood, since those are few; of all others only the wood to be replaced is."""
    import numpy as np

    request, wanted, n = told.request, told.answer.wanted, len(told.materials)
    own = told.table.place.get(wanted.id)
    alone: dict[int, str] = {}
    if told.shelf is not None or request.in_stock or told.own is not None:
        shelf, listed = told.shelf, told.own
        held = [k for k, m in enumerate(told.materials) if shelf is None or on_shelf(m, shelf) is not None]
        told.answer.not_held = n - len(held)
        held = [k for k in held if listed is None or listed.rows(told.materials[k])]
        alone = {k: told.written(k)[0] for k in held if k != own}
        masks = {name: np.zeros(n, dtype=bool) for name in GROUPS}
    else:
        held = list(range(n))
        masks = _masks(told)
    if own is not None and own in held:
        stays = request.natural and status.planted(told.materials[own])
        alone[own] = told.written(own)[0] if stays else ""
    for place, group in alone.items():
        for name in GROUPS:
            masks[name][place] = name == group
    return {name: np.flatnonzero(mask) for name, mask in masks.items()}


def _masks(told: Told) -> dict[str, NDArray[np.bool_]]:
    """group -> whether a wood is in it, as `_place` would say of each."""
    import numpy as np

    request, table, ranking = told.request, told.table, told.ranking
    facts = standing.traits(told.materials, told.catalogue)
    law = standing.lawful(told.materials, request, told.catalogue)
    barred = standing.closed(facts, table, request) | law.barred | (law.stopped & ~law.free & ~law.listed)
    unknown = ~barred & standing.unsure(facts, table, request)
    papers = ~barred & ~unknown & ~law.free
    left = ~barred & ~unknown & law.free
    low = ranking.coverage < ENOUGH_KNOWN
    turns = TURNS_ON.get(request.role, "")
    if turns in ranking.names:
        low = low | np.isnan(ranking.use[:, ranking.names.index(turns)])
    return {
        "ranked": left & ~low, "low_coverage": left & low, "with_papers": papers, "left_out": barred,
        "cannot_say": unknown,
    }  # fmt: skip


def _best_first(told: Told) -> NDArray[np.int64]:
    """All woods, the best first; ties by number outside, colour, how far the numbers are off, id."""
    import numpy as np

    ranking, n = told.ranking, len(told.materials)
    names = ranking.names
    colour = np.zeros(n)
    if "colour" in names:
        colour = np.nan_to_num(ranking.use[:, names.index("colour")], nan=0.0)
    off = np.zeros(n)
    for j, name in enumerate(names):
        tolerance = told.profile.tolerance(name) if name not in WORDS and name not in OWN else 0.0
        if tolerance:
            gap = np.abs(ranking.difference[:, j]) / tolerance * ranking.weights[j]
            off += np.nan_to_num(gap, nan=0.0)
    # the last key is the first to be asked
    keys = (told.table.by_id, np.round(off, 9), -colour, ranking.outside.sum(axis=1), -ranking.likeness)
    return np.lexsort(keys)


def fill(told: Told) -> None:
    """Fill the groups of the answer, each sorted; number the ranked, mark what nothing beats and how well
    neighbours' order holds."""
    import numpy as np

    ranking, ids = told.ranking, told.table.ids
    groups, order = _groups(told), _best_first(told)
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    likeness, coverage = ranking.likeness.tolist(), ranking.coverage.tolist()
    for name, woods in groups.items():
        rows = woods[np.argsort(place[woods])]
        heads = [Head(ids[k], likeness[k], coverage[k]) for k in rows.tolist()]
        write = _numbered(told, rows) if name == "ranked" else partial(_written, told, rows)
        setattr(told.answer, name, Rows(heads, write))


def _written(told: Told, rows: NDArray[np.int64], place: int) -> Row:
    return told.written(int(rows[place]))[1]


def _numbered(told: Told, rows: NDArray[np.int64]) -> Callable[[int], Row]:
    """How a ranked row is written: with its number, and what it is beside the others. That is told of the
    rows asked for; those beyond have their number alone."""
    most = told.request.rows
    best = undominated(told.ranking, rows, most)
    # said only where it tells the rows apart
    telling = (explain.UNBEATEN,) if len(best) and best.mean() <= TELLING else ()
    holds = order_holds(told.table, told.answer.wanted, told.profile, rows[: most + 1], told.ranking)

    def written(place: int) -> Row:
        row = replace(_written(told, rows, place), rank=place + 1)
        if place >= len(best):
            return row
        return replace(
            row,
            pareto=bool(best[place]),
            order_holds=holds[place],
            reasons=(*row.reasons, *(telling if best[place] else ())),
        )

    return written
