"""In which group of an answer every wood of the catalogue stands, told for all of them at once.

`gates` and `status` ask it of one wood and give the reasons; here the same questions are asked of columns, so
that a large catalogue is sorted before a word is written. The tests hold one against the other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection import gates, legs, status
from woodref.selection.columns import Columns
from woodref.selection.onhand import OnHand
from woodref.selection.request import Request
from woodref.selection.roles import VENEER_ROLES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Traits:
    """What the limits ask of n woods beside their figures, each (n,). widest: of the leaves [mm], nan where
    not known."""

    kind: NDArray[np.str_]
    grown: NDArray[np.str_]
    sold: NDArray[np.str_]
    process: NDArray[np.str_]
    ringed: Bools
    peeled: Bools
    widest: NDArray[np.float64]
    countries: tuple[tuple[str, ...], ...]

    @property
    def core(self) -> Bools:
        found: Bools = self.kind == "core"
        return found


@dataclass(frozen=True)
class Lawful:
    """Where n woods may come from on one route, each (n,): free from some country of harvest; listed in some;
    barred: closed wherever they grew; stopped: from some country they cannot take the route."""

    free: Bools
    listed: Bools
    barred: Bools
    stopped: Bools


def traits(materials: Sequence[Material], catalogue: Catalogue) -> Traits:
    """The traits of all woods of a catalogue, in the order of its materials."""
    return catalogue.remembered("traits", lambda: traits_of(materials))


def traits_of(materials: Sequence[Material]) -> Traits:
    import numpy as np

    def column(read: Callable[[Material], str]) -> NDArray[np.str_]:
        return np.array([read(m) for m in materials], dtype=np.str_)

    def flags(read: Callable[[Material], bool]) -> Bools:
        return np.array([read(m) for m in materials], dtype=bool)

    widest = [m.veneer["leaf_width_mm"].get("high") for m in materials]
    return Traits(
        column(lambda m: m.kind),
        column(lambda m: m.grows["plantation"]["grown"]),
        column(lambda m: m.veneer["sold"]),
        column(lambda m: m.made_from["process"] if m.made_from else ""),
        flags(gates.prints_through),
        flags(gates.peeled),
        np.array([np.nan if w is None else w for w in widest], dtype=np.float64),
        tuple(m.countries for m in materials),
    )


def closed(told: Traits, table: Columns, request: Request) -> Bools:
    """Which woods `gates.barred` keeps out, its question of origins aside (that is of Lawful)."""
    import numpy as np

    role, sheets = request.role, request.role in VENEER_ROLES
    out = np.zeros(len(table), dtype=bool)
    if request.kind:
        out |= told.kind != request.kind
    if request.origin:
        out |= ~np.array([request.origin in held for held in told.countries], dtype=bool)
    if request.plantation:
        out |= told.grown == "no"
    if sheets:
        out |= ~told.core & (told.sold == "no")
        if role != "core":
            out |= told.core
    else:
        out |= told.core | (told.kind == "engineered")
    if role in gates.PLIES:
        out |= (told.sold == "rare") | (told.process == "reconstituted") | (told.process == "dyed-through")
    if role == "crossband":
        out |= told.ringed | ~told.peeled
    if request.piece:
        out |= ~told.core & (told.widest < request.piece.leaf)
    for name, limit in (request.profile.limits if request.profile else {}).items():
        held = table.numbers[name]
        if limit.low is not None:
            out |= held < limit.low
        if limit.high is not None:
            out |= held > limit.high
    return out


def unsure(told: Traits, table: Columns, request: Request) -> Bools:
    """Of which woods `gates.unknown` lacks a deciding fact."""
    import numpy as np

    out = np.array([not held for held in told.countries], dtype=bool)
    if request.role in gates.SOLD_ASKED:
        out |= told.sold == "not-known"
    if request.plantation:
        out |= told.grown == "unknown"
    if request.piece:
        out |= ~told.core & np.isnan(told.widest)
    for name in request.profile.limits if request.profile else ():
        out |= np.isnan(table.numbers[name])
    return out


def stops(material: Material, origin: str, request: Request, catalogue: Catalogue) -> list[legs.Stop]:
    """What stops a wood of that origin on the way, worked out once for all woods to which the law is the
    same."""
    solid = request.role not in VENEER_ROLES
    made = material.made_from and material.made_from["process"]
    planted = origin in material.grows["plantation"]["countries"]
    asked = ("stops", material.woods, made, origin, planted, request.route, request.on, solid)
    return catalogue.remembered(
        asked, lambda: legs.stops(material, origin, request.route, request.on, catalogue.rules, solid)
    )


def on_route(
    material: Material, found: status.Origins, request: Request, catalogue: Catalogue, same: bool = False,
    mine: OnHand | None = None,
) -> tuple[status.Origins, list[legs.Stop]]:  # fmt: skip
    """The origins that are left when the wood must come from where it was asked for and take the route, and
    what stops it. same: the very wood that is to be replaced, which answers only planted; mine: what of it
    is on hand, which no longer has to come in."""
    if request.origin:
        found = status.only_from(found, request.origin)
    if same and request.natural:
        found = status.only_planted(found, material)
    grown = mine.known if mine and mine.known else material.countries
    stopped = [
        s
        for origin in grown
        for s in stops(material, origin, request, catalogue)
        if mine is None or s.leg != legs.INCOMING
    ]
    return status.without(found, {s.origin for s in stopped}), stopped


def lawful(materials: Sequence[Material], request: Request, catalogue: Catalogue) -> Lawful:
    """The law of all woods of a catalogue, worked out once for a day, a route and a country of origin."""
    solid = request.role not in VENEER_ROLES
    asked: tuple[object, ...] = ("lawful", request.on, request.route, request.origin, solid)
    return catalogue.remembered_large(asked, lambda: _lawful(materials, request, catalogue))


def _lawful(materials: Sequence[Material], request: Request, catalogue: Catalogue) -> Lawful:
    import numpy as np

    rows = []
    for material in materials:
        found, stopped = on_route(
            material, status.origins(material, request.on, catalogue), request, catalogue
        )
        rows.append((bool(found.free), bool(found.listed), found.barred, bool(stopped)))
    held = np.array(rows, dtype=bool).reshape(len(rows), 4)
    return Lawful(held[:, 0], held[:, 1], held[:, 2], held[:, 3])
