"""Core boards in a pack: stiffness across, shear and movement that no board's file holds, as shop rules.

A board has no leaf directions of a wood. Movement of cross-laminated panels, about 0.0002 a point in the
plane, is read (Wood Handbook ch. 12, as quoted); all else here is from memory of handbooks and sheets, good
to a third: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from woodref.catalogue.material import Material


@dataclass(frozen=True)
class BoardRule:
    """e2: stiffness across over that along the face; nu, g: Poisson ratio and shear over stiffness along;
    in_plane, through: movement as a share per point of moisture."""

    e2: float
    nu: float
    g: float
    in_plane: float
    through: float


#: process of a core board -> its rule; boards of other processes get no figures
BOARDS = {
    "plywood": BoardRule(0.7, 0.1, 0.06, 0.0002, 0.003),
    "fibreboard": BoardRule(1.0, 0.25, 0.4, 0.0004, 0.007),
    "particleboard": BoardRule(1.0, 0.25, 0.4, 0.0004, 0.007),
}
EVIDENCE = "shop rule for boards, good to about a third"
#: under this key of what a board is made from a bundle brings the rule that it was reckoned with
BROUGHT = "board_rule"


def board_rule(material: Material) -> BoardRule | None:
    """The rule of a board: the one brought with it, else that of its process; None when there is none."""
    made = material.made_from or {}
    brought: BoardRule | None = made.get(BROUGHT)
    return brought or BOARDS.get(made.get("process", ""))
