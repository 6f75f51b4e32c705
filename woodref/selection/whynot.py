"""Why a certain wood is not higher, or not there at all."""

from __future__ import annotations

import math

from woodref.catalogue.material import Material
from woodref.selection import explain
from woodref.selection.answer import GROUP_WORDS, GROUPS, Answer, Row, Rows

#: a criterion that costs less than this share of the likeness is not worth a word
TELLING = 0.02


def sentences(answer: Answer, material: Material) -> list[str]:
    """Where the wood stands, what put it there and what it would take."""
    for group in GROUPS:
        rows: Rows = getattr(answer, group)
        for place, head in enumerate(rows.heads):
            if head.id == material.id:
                return _of(answer, group, rows[place], place + 1, len(rows))
    if answer.among is not None and material.id != answer.wanted.id:
        return [f"{material.name} does not stand on {answer.among.words}, or no row of it is called so."]
    if answer.request.in_stock and material.id != answer.wanted.id:
        return [f"{material.name} is not on hand in what is asked, or no lot of it is named."]
    if answer.request.natural:
        return [f"{material.name} is the wood you want to replace, and it is not known to be planted."]
    return [f"{material.name} is the wood you want to replace. --natural asks for the same wood planted."]


def _of(answer: Answer, group: str, row: Row, place: int, count: int) -> list[str]:
    name, found = row.material.name, row.found
    if group == "ranked":
        out = [f"{name} is ranked {place} of {count}, likeness {found.likeness:.2f}."]
    else:
        out = [f"{name} is not ranked: {GROUP_WORDS[group]}. Its likeness would be {found.likeness:.2f}."]
        out += row.because
    costs = _costs(row)
    if costs:
        out.append(f"What costs it most: {', '.join(costs)}.")
    best = answer.ranked[0] if answer.ranked else None
    if best is not None and group == "ranked" and place > 1:
        lost = [
            explain.criterion_name(c.property)
            for c in found.criteria
            if c.use is not None
            and (other := best.found.criterion(c.property)) is not None
            and other.use is not None
            and other.use > c.use + TELLING
        ]
        if lost:
            out.append(f"{best.material.name}, the first, is nearer in {', '.join(lost)}.")
    return out


def _costs(row: Row) -> list[str]:
    """'colour (different: takes off 35 %)', the dearest first."""
    known = [c for c in row.found.criteria if c.use is not None]
    total = sum(c.weight for c in known)
    priced = sorted(
        ((1 - math.exp(c.weight * math.log(c.use or 0.01) / total), c) for c in known), key=lambda p: -p[0]
    )
    return [
        f"{explain.difference_words(c) or explain.criterion_name(c.property)} (takes off {100 * price:.0f} %)"
        for price, c in priced[:3]
        if price > TELLING
    ]
