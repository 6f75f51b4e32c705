"""The catalogue's woods as columns of numbers, built once and ranked many times."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from woodref.catalogue.material import Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.selection.roles import OWN, WORKED
from woodref.selection.wanted import error_of, measured, value_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: a leaf that lies quietly on the back
QUIET = {"plain": 1.0, "stripe": 0.5, "cathedral": 0.5, "growth-rings": 0.5, "ribbon": 0.5}
#: how willingly a wood takes glue (shop rule)
#: how easily sheets of it are had (shop rule)
HAD = {"common": 1.0, "to-order": 0.75, "rare": 0.5}
GLUES = {"easy": 1.0, "with-care": 0.5, "difficult": 0.0}


@dataclass
class Matches:
    """The match tables: 1 the same, 0.5 neighbouring, 0 else."""

    classes: dict[str, int]
    class_step: Any
    lightness: Any
    figures: dict[str, int]
    figure_step: Any
    orders: dict[str, dict[str, int]]
    order_step: dict[str, Any]


@dataclass
class Columns:
    """n woods. numbers, errors: criterion -> (n,) value in the property's unit (nan unknown) and added
    error as a share; words: pores, texture, grain -> (n,) codes, -1 unknown; main: (n,) colour class;
    classes (n, C) and figures (n, F) which a wood comes in; labs and lines (n, 3): colour of ground and
    lines, nan where not measured; own: criterion -> (n,) 1, 0.5, 0 or nan; made (n,): engineered or dyed,
    its look is made."""

    ids: Sequence[str]
    numbers: dict[str, Floats]
    errors: dict[str, Floats]
    words: dict[str, NDArray[np.int64]]
    main: NDArray[np.int64]
    classes: NDArray[np.bool_]
    figures: NDArray[np.bool_]
    labs: Floats
    lines: Floats
    own: dict[str, Floats]
    made_for: dict[str, list[int]]
    made: NDArray[np.bool_]
    matches: Matches

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def place(self) -> dict[str, int]:
        """id -> row."""
        return {name: i for i, name in enumerate(self.ids)}


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


def matches(catalogue: Catalogue) -> Matches:
    """The tables of data/classes.yaml as arrays."""
    import numpy as np

    def table(names: Sequence[str], beside: Iterable[tuple[str, str]]) -> tuple[dict[str, int], Any]:
        place = {name: i for i, name in enumerate(names)}
        step = np.eye(len(names))
        for one, two in beside:
            if one in place and two in place:
                step[place[one], place[two]] = step[place[two], place[one]] = 0.5
        return place, step

    colours = catalogue.colour_classes
    classes, class_step = table(
        list(colours), ((one.id, two) for one in colours.values() for two in one.near)
    )
    figures, figure_step = table(catalogue.figure_words, catalogue.near_figures)
    orders, order_step = {}, {}
    for name, order in catalogue.orders.items():
        # a softwood has no pores: like another softwood, like nothing else
        words = [*order, *(["none"] if "none" not in order else [])]
        orders[name], order_step[name] = table(words, pairwise(order))
    lightness = np.array([colours[name].lab[0] for name in classes])
    return Matches(classes, class_step, lightness, figures, figure_step, orders, order_step)


def columns(materials: Sequence[Material], catalogue: Catalogue, state: str = "planed") -> Columns:
    """Lay materials out as columns. state: the state of the surface whose colour is compared."""
    import numpy as np

    n, tables = len(materials), matches(catalogue)
    names = (*WORKED, *PROPERTIES)
    numbers = {name: np.full(n, np.nan) for name in names}
    errors = {name: np.zeros(n) for name in names}
    words = {name: np.full(n, -1) for name in tables.orders}
    main = np.zeros(n, dtype=np.int64)
    classes = np.zeros((n, len(tables.classes)), dtype=bool)
    figures = np.zeros((n, len(tables.figures)), dtype=bool)
    labs, lines = np.full((n, 3), np.nan), np.full((n, 3), np.nan)
    own = {name: np.full(n, np.nan) for name in OWN}
    made_for: dict[str, list[int]] = {}
    processes = [(m.made_from or {}).get("process") for m in materials]
    made = np.array([p in ("reconstituted", "dyed-through") for p in processes], dtype=bool)
    for i, m in enumerate(materials):
        for name in names:
            held = value_of(m, name)
            if held is not None:
                numbers[name][i], errors[name][i] = held[0], error_of(held[1])
        for name, place in tables.orders.items():
            words[name][i] = place.get(m.look[name], -1)
        main[i] = tables.classes[m.look["class"]]
        for one in (m.look["class"], *m.look["also"]):
            classes[i, tables.classes[one]] = True
        for figure in m.look["figures"]:
            figures[i, tables.figures[figure]] = True
        colour = measured(m, state)
        if colour:
            labs[i] = colour[0]
        line = measured(m, state, "line")
        if line:
            lines[i] = line[0]
        for name, column in own.items():
            held_own = own_of(m, name)
            if held_own is not None:
                column[i] = held_own
        for passed in (m.made_from or {}).get("look_of", ()):
            made_for.setdefault(passed, []).append(i)
    return Columns(
        [m.id for m in materials],
        numbers,
        errors,
        words,
        main,
        classes,
        figures,
        labs,
        lines,
        own,
        made_for,
        made,
        tables,
    )
