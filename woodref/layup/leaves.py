"""Every leaf that is sold, by wood, cut and thickness, as columns of what a pack is reckoned with: laid out
once for a catalogue, so that all are tried as one ply in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.layup.asked import FIGURED, PlyAsk
from woodref.layup.constants import Used, leaf_of
from woodref.selection.estimates import estimated

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: what is kept of a leaf's constants
CONSTANTS = ("e1", "e2", "nu12", "g12", "beta1", "beta2")


@dataclass(frozen=True)
class Leaves:
    """n leaves, woods in the order of the catalogue. wood (n,): place of the wood; cuts: as sold, n of them;
    thickness (n,) [mm]; constants: name -> (n,), [Pa], shares and [%] as in science.elasticity.Leaf."""

    wood: NDArray[np.int64]
    cuts: Sequence[str]
    thickness: Floats
    constants: dict[str, Floats]

    def __len__(self) -> int:
        return len(self.cuts)

    def only(self, kept: NDArray[np.bool_]) -> Leaves:
        """Those of them that a mask (n,) keeps."""
        import numpy as np

        cuts = [self.cuts[k] for k in np.flatnonzero(kept).tolist()]
        constants = {name: held[kept] for name, held in self.constants.items()}
        return Leaves(self.wood[kept], cuts, self.thickness[kept], constants)


def leaves(catalogue: Catalogue, guess: bool) -> Leaves:
    """The leaves whose stiffness and movement are known. guess: worked out from their weight too."""
    return catalogue.remembered(("leaves", guess), lambda: leaves_of(catalogue.materials(), catalogue, guess))


def leaves_of(woods: Sequence[Material], catalogue: Catalogue, guess: bool) -> Leaves:
    import numpy as np

    wood: list[int] = []
    cuts: list[str] = []
    thick: list[float] = []
    told: list[list[float]] = []
    for k, material in enumerate(woods):
        sizes = [float(size) for size in material.veneer["thickness_mm"]]
        held = estimated(material) if guess and sizes else material
        for cut in material.veneer["cuts"] if sizes else ():
            if cut in FIGURED:
                continue
            ask, used, missing = PlyAsk(material.name, None, sizes[0], 0.0, cut), list[Used](), list[str]()
            leaf, moves = leaf_of(held, cut, ask, used, missing, catalogue, guess)
            if leaf is None or not moves:
                continue
            for size in sizes:
                wood.append(k)
                cuts.append(cut)
                thick.append(size)
                told.append([getattr(leaf, name) for name in CONSTANTS])
    columns = np.array(told, dtype=np.float64).reshape(len(told), len(CONSTANTS))
    constants = {name: columns[:, k] for k, name in enumerate(CONSTANTS)}
    return Leaves(np.array(wood, dtype=np.int64), cuts, np.array(thick, dtype=np.float64), constants)
