"""The catalogue's woods as columns of numbers, built once and ranked many times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.selection.matching import Seen, seen
from woodref.selection.roles import OWN, WORKED
from woodref.selection.wanted import error_of, measured, value_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: a leaf that lies quietly on the back
QUIET = {"plain": 1.0, "stripe": 0.5, "cathedral": 0.5, "growth-rings": 0.5, "ribbon": 0.5}
#: how easily sheets of it are had (shop rule)
HAD = {"common": 1.0, "to-order": 0.75, "rare": 0.5}
#: how willingly a wood takes glue (shop rule)
GLUES = {"easy": 1.0, "with-care": 0.5, "difficult": 0.0}


@dataclass
class Columns:
    """n woods. numbers, errors: criterion -> (n,) value in the property's unit (nan unknown) and added
    error as a share; looks: the distinct looks, look (n,) which of them a wood has; labs and lines (n, 3):
    colour of ground and lines, nan where not measured; own: criterion -> (n,) 0..1 or nan."""

    ids: Sequence[str]
    numbers: dict[str, Floats]
    errors: dict[str, Floats]
    looks: list[Seen]
    look: NDArray[np.int64]
    labs: Floats
    lines: Floats
    own: dict[str, Floats]
    catalogue: Catalogue

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def place(self) -> dict[str, int]:
        """id -> row."""
        return {name: i for i, name in enumerate(self.ids)}

    @cached_property
    def by_id(self) -> NDArray[np.int64]:
        """(n,): the place of each row when all go by id."""
        import numpy as np

        out = np.empty(len(self), dtype=np.int64)
        out[sorted(range(len(self)), key=self.ids.__getitem__)] = np.arange(len(self))
        return out


def own_of(material: Material, name: str) -> float | None:
    """What a wood is by itself: how quiet its face, how willing to glue, whether peeled, how
    easily had as sheets; None unknown."""
    if name == "quiet":
        return max((QUIET.get(f, 0.0) for f in material.look["figures"]), default=None)
    if name == "glue":
        return GLUES.get(material.working["gluing"]["class"])
    if name == "even":
        return {"fine": 1.0, "medium": 0.5, "coarse": 0.0}.get(material.look["texture"])
    if name == "straight":
        return {"straight": 1.0, "wavy": 0.5, "interlocked": 0.0, "irregular": 0.0}.get(
            material.look["grain"]
        )
    if name == "clean":
        return _clean(material)
    if name == "had":
        return HAD.get(material.veneer["sold"])
    return float("rotary" in material.veneer["cuts"]) if material.veneer["cuts"] else None


def _clean(material: Material) -> float | None:
    """Whether what is in the wood may stain a face glued over it: tannin, oil."""
    tannin, oily = material.working["tannin"], material.working["oily"]
    if tannin == "high" or oily == "yes":
        return 0.0
    if tannin == "unknown" or oily == "unknown":
        return None
    return 1.0 if tannin == "low" and oily == "no" else 0.5


def columns(materials: Sequence[Material], catalogue: Catalogue, state: str = "planed") -> Columns:
    """Lay materials out as columns. state: the state of the surface whose colour is compared."""
    import numpy as np

    n, names = len(materials), (*WORKED, *PROPERTIES)
    numbers = {name: np.full(n, np.nan) for name in names}
    errors = {name: np.zeros(n) for name in names}
    labs, lines = np.full((n, 3), np.nan), np.full((n, 3), np.nan)
    own = {name: np.full(n, np.nan) for name in OWN}
    looks: dict[Seen, int] = {}
    look = np.zeros(n, dtype=np.int64)
    for i, m in enumerate(materials):
        for name in names:
            held = value_of(m, name)
            if held is not None:
                numbers[name][i], errors[name][i] = held[0], error_of(held[1])
        look[i] = looks.setdefault(seen(m), len(looks))
        for part, held_labs in (("ground", labs), ("line", lines)):
            colour = measured(m, state, part)
            if colour:
                held_labs[i] = colour[0]
        for name, column in own.items():
            held_own = own_of(m, name)
            if held_own is not None:
                column[i] = held_own
    return Columns([m.id for m in materials], numbers, errors, list(looks), look, labs, lines, own, catalogue)
