"""How near two looks are by word: 1 the same, 0.5 neighbouring, 0 else, by the tables of data/classes.yaml.

Each step is worked out once for a distinct value: `ranking` spreads it over the woods, `criteria` words it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection.wanted import Wanted

#: a colour class that the other's pieces also come in
ALSO = 0.75


@dataclass(frozen=True)
class Seen:
    """What of a wood's look is compared: colour classes (the first that of most pieces; None of a row of a
    user's own list), figures, pores, texture, grain; passes_for: ids of woods it is made to pass for; made:
    its dye and pattern are made."""

    classes: tuple[str | None, ...]
    figures: tuple[str, ...]
    pores: str
    texture: str
    grain: str
    passes_for: tuple[str, ...] = ()
    made: bool = False


def seen(material: Material) -> Seen:
    """The look of a wood as it is compared."""
    look, made = material.look, material.made_from or {}
    return Seen(
        (look["class"], *look["also"]),
        tuple(look["figures"]),
        look["pores"],
        look["texture"],
        look["grain"],
        tuple(made.get("look_of", ())),
        made.get("process") in ("reconstituted", "dyed-through"),
    )


def step(name: str, wanted: Wanted, one: Seen, catalogue: Catalogue) -> float | None:
    """How near a look comes to what is wanted in colour, figure, pores, texture or grain, 0..1; None where
    the wood's is not known. The target's must be known."""
    if name == "colour":
        return _colour(wanted, one, catalogue)
    if name == "figure":
        return _figure(wanted, one, catalogue)
    return _ordered(wanted.look[name], getattr(one, name), catalogue.orders[name])


def class_step(one: Mapping[str, Any], two: Mapping[str, Any], catalogue: Catalogue) -> float:
    """How near two looks are by colour class: 1 when most pieces are of one class, 0.75 when whole pieces of
    one also come in the class most of the other are of, 0.5 when the classes are neighbours or both also
    come in a third, 0 else."""
    if one["class"] == two["class"]:
        return 1.0
    if one["class"] in two["also"] or two["class"] in one["also"]:
        return ALSO
    shared = {one["class"], *one["also"]} & {two["class"], *two["also"]}
    beside = two["class"] in catalogue.colour_classes[one["class"]].near
    return 0.5 if shared or beside else 0.0


def _colour(wanted: Wanted, one: Seen, catalogue: Catalogue) -> float | None:
    if one.classes[0] is None:
        return None  # a wood of a user's own list
    mine, theirs = wanted.look, {"class": one.classes[0], "also": one.classes[1:]}
    if wanted.material is None and one.classes[0] in (mine["class"], *mine["also"]):
        return 1.0  # a colour described in numbers may lie between classes: each of them is as good
    found = class_step(mine, theirs, catalogue)
    if wanted.id not in one.passes_for:
        return found
    # dyes are chosen after the wood a sheet is made to pass for; a treated wood keeps its own colour
    return 1.0 if one.made else max(found, ALSO)


def _figure(wanted: Wanted, one: Seen, catalogue: Catalogue) -> float | None:
    """The mean over the figures wanted of the best match among those a wood comes in; a pattern made after
    the target matches it."""
    if wanted.id in one.passes_for:
        return 1.0
    if not one.figures:
        return None
    near = {frozenset(pair) for pair in catalogue.near_figures}

    def best(figure: str) -> float:
        if figure in one.figures:
            return 1.0
        return 0.5 if any(frozenset((figure, other)) in near for other in one.figures) else 0.0

    mine = wanted.look["figures"]
    return sum(best(figure) for figure in mine) / len(mine)


def _ordered(mine: str, theirs: str, order: list[str]) -> float | None:
    """Classes that have an order of neighbours. A softwood has no pores: like another softwood alone."""
    if theirs == "unknown":
        return None
    if mine == theirs:
        return 1.0
    if mine not in order or theirs not in order:
        return 0.0
    return 0.5 if abs(order.index(mine) - order.index(theirs)) == 1 else 0.0


def paler(wanted: Wanted, one: Seen, catalogue: Catalogue) -> bool:
    """Whether most pieces are of a paler class than what is wanted."""
    classes, mine = catalogue.colour_classes, one.classes[0]
    return mine is not None and classes[mine].lab[0] > classes[wanted.look["class"]].lab[0]
