"""The sample board: a wood in the middle and round it what is most like it for a role."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue, Notice
from woodref.selection.answer import Row
from woodref.selection.lightpairs import Chip, chip_of
from woodref.selection.placing import ENOUGH_KNOWN
from woodref.selection.request import Request
from woodref.selection.substitutes import CLOSE, substitutes

#: likeness from which a wood is called near (shop rule of ours)
NEAR = 0.8
#: samples of the inner and the outer ring at the most
INNER, OUTER = 8, 16
LAW_WORDS = {
    "with_papers": "needs papers",
    "left_out": "ruled out",
}


@dataclass(frozen=True)
class Sample:
    """One sample: ring 1 or 2 from the middle, likeness 0..1 and the word for it, its colour, a few words on
    its colour beside the target's, what stands in its way (barred, in two or three words, and because)."""

    material: Material
    ring: int
    likeness: float
    chip: Chip
    colour: str
    barred: str = ""
    because: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()

    @property
    def word(self) -> str:
        return "near" if self.likeness >= NEAR else "some way off"

    @property
    def shown(self) -> str:
        """The likeness to two places; 1.00 only for what is 1."""
        return "1.00" if self.likeness == 1 else f"{min(self.likeness, 0.99):.2f}"

    @property
    def says(self) -> str:
        parts = [f"{self.material.name}: {self.word}, likeness {self.shown}", self.colour, self.barred]
        return "; ".join(part for part in parts if part)

    def as_dict(self) -> dict[str, Any]:
        m = self.material
        return {
            "id": m.id, "name": m.name, "botanical_name": m.botanical_name, "kind": m.kind,
            "ring": self.ring, "word": self.word, "likeness": round(self.likeness, 4),
            "chip": self.chip.as_dict(), "colour": self.colour or None, "barred": self.barred or None,
            "because": list(self.because), "reasons": list(self.reasons), "says": self.says,
        }  # fmt: skip

    def flat(self) -> dict[str, Any]:
        """One line for CSV."""
        m = self.material
        return {
            "id": m.id, "name": m.name, "botanical_name": m.botanical_name, "kind": m.kind,
            "ring": self.ring, "word": self.word, "likeness": round(self.likeness, 4), "colour": self.colour,
            "barred": self.barred, "because": " ".join(self.because),
        }  # fmt: skip


@dataclass
class SampleBoard:
    """samples: the likest first."""

    target: Material
    chip: Chip
    role: str
    samples: list[Sample]
    opening: list[str]
    closing: list[str]
    notices: list[Notice] = field(default_factory=list)
    query: dict[str, Any] = field(default_factory=dict)
    stamp: dict[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        return {
            "query": self.query,
            "target": {"id": self.target.id, "name": self.target.name, "chip": self.chip.as_dict()},
            "role": self.role,
            "opening": self.opening,
            "count": len(self.samples),
            "rows": [sample.as_dict() for sample in self.samples],
            "closing": self.closing,
            "notices": [notice.as_dict() for notice in self.notices],
            "catalogue": self.stamp,
        }


def sample_board(
    matched: Matched, role: str, catalogue: Catalogue, on: dt.date, *, free: bool = False
) -> SampleBoard:
    """Lay out what is like a wood for a role, as `substitutes` reckons likeness.

    The board is of looks and figures: woods that cannot be had freely are laid out too and say so. free: only
    woods that need no papers from one country of harvest at least and that the role does not rule out.
    Raises as `substitutes`.
    """
    request = Request(target=matched.name, role=role, on=on, rows=INNER + OUTER)
    answer = substitutes(request, matched, catalogue)
    groups = ("ranked",) if free else ("ranked", *LAW_WORDS)
    held = [
        (head, group, place)
        for group in groups
        for place, head in enumerate(getattr(answer, group).heads)
        if head.likeness >= CLOSE
        and (group == "ranked" or (head.coverage >= ENOUGH_KNOWN and head.id != matched.id))
    ]
    held.sort(key=lambda one: (-one[0].likeness, one[0].id))
    samples = []
    for n, (_, group, place) in enumerate(held[: INNER + OUTER]):
        row: Row = getattr(answer, group)[place]
        closed = group == "left_out" and row.origins.barred
        word = "closed to trade" if closed else LAW_WORDS.get(group, "")
        samples.append(_sample(row, 1 if n < INNER else 2, word, catalogue))
    target = catalogue.material(matched.id)
    return SampleBoard(
        target,
        chip_of(target, catalogue),
        role,
        samples,
        [*answer.opening[:1], _opening(target, role, samples)],
        [
            "A plain chip is a measured colour. A hatched chip is the middle of a coarse colour word: "
            "nothing was measured of that wood.",
            f"The {INNER} likest hang next to the middle, the next {OUTER} round them. Near is a likeness of "
            f"{NEAR:g} or more; below {CLOSE:g} nothing is laid out. The bounds are a shop rule of ours.",
            *answer.closing,
        ],
        answer.notices,
        {"of": matched.name, "role": role, "free": free},
        catalogue.stamp,
    )


def _opening(target: Material, role: str, samples: list[Sample]) -> str:
    role = role.replace("-", " ")
    if not samples:
        return f"Nothing of the catalogue is like {target.name} for the role {role}."
    near = sum(sample.word == "near" for sample in samples)
    far = len(samples) - near
    words = " and ".join(f"{n} {word}" for n, word in ((near, "near it"), (far, "some way off")) if n)
    return f"For the role {role}: {words}."


def _sample(row: Row, ring: int, barred: str, catalogue: Catalogue) -> Sample:
    colour = row.found.criterion("colour")
    said = ""
    if colour is not None and colour.class_difference:
        said = f"colour by word: {colour.class_difference}"
    elif colour is not None and colour.difference is not None:
        said = f"colour measured: {colour.difference:.0f} apart (CIEDE2000)"
    return Sample(
        row.material,
        ring,
        row.found.likeness,
        chip_of(row.material, catalogue),
        said,
        barred,
        row.because if barred else (),
        row.reasons,
    )
