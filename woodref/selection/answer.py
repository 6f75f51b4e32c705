"""The result of a substitution: rows, groups, sentences, and their JSON."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple, overload

from woodref.catalogue.material import Material
from woodref.catalogue.properties import wide_column
from woodref.catalogue.reader import Notice
from woodref.selection import status
from woodref.selection.criteria import Likeness
from woodref.selection.request import Request
from woodref.selection.wanted import Wanted
from woodref.selection.words import light_words

if TYPE_CHECKING:
    from woodref.catalogue.ownrow import OwnRow
    from woodref.catalogue.ownstore import OwnList

#: rows of one wood that are told beside it
MOST_BESIDE = 6
GROUPS = ("ranked", "low_coverage", "with_papers", "left_out", "cannot_say")
GROUP_WORDS = {
    "ranked": "ranked",
    "low_coverage": "too little of it is known to rank it",
    "with_papers": "lawful only with papers",
    "left_out": "left out",
    "cannot_say": "a deciding fact is not known",
}


@dataclass(frozen=True)
class Row:
    """One candidate. rank is None outside `ranked`; because says why it is not ranked; pareto: nothing
    ranked beats it on every count; order_holds: share of draws in which it stays before the next row;
    use: what would change in use; on_list: the rows of a user's own list that are this wood, where only
    those were ranked."""

    material: Material
    found: Likeness
    origins: status.Origins
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    rank: int | None = None
    pareto: bool = False
    order_holds: float | None = None
    use: tuple[str, ...] = ()
    on_list: tuple[OwnRow, ...] | None = None

    @property
    def light(self) -> tuple[str, str]:
        """Its look now and after years of light."""
        return str(self.material.look["words"]), light_words(self.material)

    def as_dict(self) -> dict[str, Any]:
        m = self.material
        colour = self.found.criterion("colour")
        return {
            "rank": self.rank,
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "woods": list(m.woods),
            "kind": m.kind,
            "likeness": round(self.found.likeness, 4),
            "interval": [round(end, 4) for end in self.found.interval],
            "known": self.found.known,
            "asked": self.found.asked,
            "coverage": round(self.found.coverage, 4),
            "pareto": self.pareto,
            "order_holds": self.order_holds,
            "stained": self.found.stained,
            "colour": {
                "difference": colour.difference if colour else None,
                "class_difference": colour.class_difference if colour else None,
            },
            "plantation": m.grows["plantation"],
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "criteria": [c.as_dict() for c in self.found.criteria],
            "within_tolerance": [
                {
                    "property": c.property,
                    "tolerance": round((c.tolerance or 0.0) / 100, 4),
                    "share": round(c.within, 4),
                }
                for c in self.found.criteria
                if c.within is not None
            ],
            "look_now": self.light[0],
            "look_in_years": self.light[1],
            "in_use": list(self.use),
            "reasons": list(self.reasons),
            "cautions": list(self.cautions),
            "because": list(self.because),
            "list_rows": None if self.on_list is None else [_told(row) for row in self.on_list],
        }

    def flat(self) -> dict[str, Any]:
        """One line for CSV: the names, likeness, preferred figures and origins."""
        m = self.material
        figures = {
            wide_column(n): (f.typical if (f := m.figure(n)) else None)
            for n in ("density", "moe", "side_hardness", "shrinkage_radial", "shrinkage_tangential")
        }
        colour = self.found.criterion("colour")
        return {
            "rank": self.rank,
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "kind": m.kind,
            "likeness": round(self.found.likeness, 4),
            "likeness_low": round(self.found.interval[0], 4),
            "likeness_high": round(self.found.interval[1], 4),
            "known": self.found.known,
            "asked": self.found.asked,
            "colour": colour.class_difference if colour else None,
            **figures,
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "reasons": " ".join(self.reasons),
            **({} if self.on_list is None else {"list_rows": [beside_words(row) for row in self.on_list]}),
        }


def _told(row: OwnRow) -> dict[str, Any]:
    """A row of a list beside a wood as the JSON contract shows it."""
    return {
        "id": row.id,
        "name": row.called,
        "line": row.line,
        "price": asdict(row.price) if row.price else None,
        "thickness_mm": None if row.thickness is None else float(row.thickness),
        "cut": row.cut,
    }


def beside_words(row: OwnRow) -> str:
    """'my/harrow/walnut (line 2): 14.20 EUR per m2, 0.6 mm, crown': a row beside its wood."""
    size = f"{row.thickness} mm" if row.thickness else None
    parts = [row.price.words if row.price else "no price", size, row.cut]
    return f"{row.id} (line {row.line}): {', '.join(part for part in parts if part)}"


def beside_sentence(rows: tuple[OwnRow, ...]) -> str:
    """'On your list: my/harrow/walnut (line 2): 14.20 EUR per m2, 0.6 mm, crown.'"""
    told = "; ".join(beside_words(row) for row in rows[:MOST_BESIDE])
    rest = len(rows) - MOST_BESIDE
    return f"On your list: {told}{f'; and {rest:,} more' if rest > 0 else ''}."


class Head(NamedTuple):
    """What can be told of a row before it is written: its wood, likeness and coverage."""

    id: str
    likeness: float
    coverage: float


class Rows(Sequence[Row]):
    """The rows of one group, the likest first. A row is worked out when it is looked at, and once: of a large
    catalogue only those shown are. heads: one a row; written: the row at a place."""

    def __init__(
        self, heads: Sequence[Head] = (), written: Callable[[int], Row] | None = None, most: int | None = None
    ) -> None:
        self.heads = heads if most is None else heads[:most]
        self._write = written
        self._held: dict[int, Row] = {}

    def __len__(self) -> int:
        return len(self.heads)

    @overload
    def __getitem__(self, place: int) -> Row: ...
    @overload
    def __getitem__(self, place: slice) -> list[Row]: ...
    def __getitem__(self, place: int | slice) -> Row | list[Row]:
        if isinstance(place, slice):
            return [self[k] for k in range(*place.indices(len(self)))]
        k = place + len(self) if place < 0 else place
        if not 0 <= k < len(self) or self._write is None:
            raise IndexError(place)
        if k not in self._held:
            self._held[k] = self._write(k)
        return self._held[k]

    def __add__(self, other: Sequence[Row]) -> list[Row]:
        return [*self, *other]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and list(self) == list(other)

    __hash__ = None  # type: ignore[assignment]

    def first(self, most: int) -> Rows:
        """The same, with the first rows alone."""
        return Rows(self.heads, self._write, most)


@dataclass
class Answer:
    """The whole answer; opening and closing are the sentences around the table. target is None when a
    description was asked for."""

    request: Request
    wanted: Wanted
    target_origins: status.Origins | None
    opening: list[str]
    ranked: Rows = field(default_factory=Rows)
    low_coverage: Rows = field(default_factory=Rows)
    with_papers: Rows = field(default_factory=Rows)
    left_out: Rows = field(default_factory=Rows)
    cannot_say: Rows = field(default_factory=Rows)
    closing: list[str] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    stamp: dict[str, str] = field(default_factory=dict)
    why_not: list[str] = field(default_factory=list)
    #: woods of the catalogue that are not on hand in what is asked, where that was asked
    not_held: int = 0
    #: the list of the user's own among whose rows alone was ranked
    among: OwnList | None = None

    @property
    def target(self) -> Material | None:
        return self.wanted.material

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `substitute`."""
        found = self.target_origins
        return {
            "query": self.request.as_dict(),
            "target": {
                "id": self.wanted.id or None,
                "name": self.wanted.name,
                "botanical_name": self.target.botanical_name if self.target else None,
                "origins_free": list(found.free) if found else None,
                "origins_listed": list(found.listed) if found else None,
                "listings": [row.as_dict() for row in found.rows] if found else None,
            },
            "role": self.request.role,
            "opening": self.opening,
            "count": len(self.ranked),
            **{name: [row.as_dict() for row in getattr(self, name)] for name in GROUPS},
            "why_not": self.why_not,
            "in_stock": None,
            "among": self.among.as_dict() if self.among else None,
            "closing": self.closing,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }
