"""A back for a face: equal stiffness times movement times thickness across the grain.

Stiffness across is taken in proportion to that along, since ratios are held for few woods; a back within
a few percent of the face still wants a trial panel.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.errors import CannotAnswer
from woodref.selection.columns import Columns
from woodref.selection.movement import movement_per_100
from woodref.selection.request import FaceAsk
from woodref.selection.wanted import Wanted

if TYPE_CHECKING:
    import numpy as np

#: what two leaves may differ in pull and still be called alike [percent]
ALIKE = 5.0


def for_face(
    ask: FaceAsk, face: Material, wanted: Wanted, table: Columns, materials: Sequence[Material]
) -> tuple[Wanted, Columns, Callable[[Material], str | None]]:
    """The target and columns with pull as stiffness x movement x thickness of leaf, each candidate at the
    sold thickness that comes nearest, and the sentence on it for one wood. CannotAnswer when the face's
    stiffness or movement is not known."""
    moe = face.figure("moe")
    moved = movement_per_100(face, "radial" if ask.cut == "quarter" else "tangential")
    if moe is None or moved is None:
        lacks = " and ".join(word for word, held in (("stiffness", moe), ("movement", moved)) if held is None)
        raise CannotAnswer(
            f"the {lacks} of the face {face.name} is not known, so nothing can be balanced against it",
            next="Ask for a back without --for-face, or try --estimates.",
        )
    pull = moe.typical * moved[0] * ask.thickness
    best: dict[str, tuple[float, float]] = {}
    values: np.ndarray = table.numbers["pull"].copy()
    for i, m in enumerate(materials):
        thick = m.veneer["thickness_mm"] or [ask.thickness]
        if values[i] == values[i]:
            own = float(values[i])
            at = min(thick, key=lambda t: (abs(own * t - pull), t))
            values[i] = own * at
            best[m.id] = (float(at), pull / own)
    changed = replace(table, numbers={**table.numbers, "pull": values})
    numbers = {**wanted.numbers, "pull": pull}
    figures = {**wanted.figures, "pull": (moe, moved[1])}

    def said(material: Material) -> str | None:
        if material.id not in best:
            return None
        sold, balances = best[material.id]
        off = 100 * (sold / balances - 1)
        where = f"a face of {face.name} at {ask.thickness:g} mm, {ask.cut} cut"
        if abs(off) <= ALIKE:
            return f"At {sold:g} mm it pulls about as hard across as {where}."
        more = "harder" if off > 0 else "less hard"
        return (
            f"At {sold:g} mm it pulls {abs(off):.0f} % {more} across than {where}; {balances:.2g} mm would "
            "balance it."
        )

    return replace(wanted, numbers=numbers, figures=figures), changed, said
