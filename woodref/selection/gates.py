"""What keeps a wood out of a ranking, or leaves it open, before likeness counts: limits first."""

from __future__ import annotations

from woodref.catalogue.material import Material, shown
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.selection import status
from woodref.selection.request import Piece, Request
from woodref.selection.roles import VENEER_ROLES

#: roles of plies that must be had in width and number
PLIES = ("core", "crossband", "drum-shell")
#: roles for which it must be known that the wood is sold as veneer
SOLD_ASKED = ("face", "back", "drum-shell")
#: softwoods whose late wood prints through a thin face as hard rings do (common practice)
HARD_RINGS = {"pseudotsuga-menziesii", "larix-decidua", "pinus-sylvestris"}


def barred(material: Material, origins: status.Origins, request: Request, catalogue: Catalogue) -> list[str]:
    """Every reason that keeps a material out altogether."""
    out = []
    if request.kind and material.kind != request.kind:
        out.append(f"Its kind is {material.kind}; only {request.kind} was asked for.")
    if request.origin and request.origin not in material.countries:
        out.append(f"It is not harvested in {catalogue.countries[request.origin]}, as far as we know.")
    if request.plantation and material.grows["plantation"]["grown"] == "no":
        out.append("It is not planted for timber to speak of.")
    sheets = request.role in VENEER_ROLES
    if sheets and material.kind == "core" and request.role != "core":
        out.append("A core board, no leaf.")
    elif request.in_stock:
        pass  # what is on the shelf can be had: its own leaves were measured against the piece
    elif sheets and material.kind != "core" and material.veneer["sold"] == "no":
        out.append("It is not sold as veneer.")
    elif request.role in PLIES and material.veneer["sold"] == "rare":
        out.append("Too rare as veneer for plies that nobody sees.")
    elif not sheets and material.kind in ("engineered", "core"):
        out.append("A sheet or board, no solid wood.")
    if request.role == "crossband" and prints_through(material):
        out.append("Its hard growth rings print through a thin face.")
    if request.role == "crossband" and not request.in_stock and not peeled(material):
        out.append("It is not peeled, so it does not come in full width.")
    made = material.made_from
    if request.role in PLIES and made and made["process"] == "reconstituted":
        out.append("A decorative sheet, too dear and too weak across for the plies within.")
    elif request.role in PLIES and made and made["process"] == "dyed-through":
        out.append("A dyed show leaf, too dear for plies that nobody sees.")
    if request.piece and not request.in_stock and (text := too_narrow(material, request.piece)):
        out.append(text)
    out += outside_limits(material, request)
    if origins.barred:
        out.append(status.origin_sentence(material, origins, catalogue))
    return out


def prints_through(material: Material) -> bool:
    """Whether its growth rings show through a thin face glued over it."""
    made = material.made_from
    of_hard = bool(made and made["base"] in HARD_RINGS)
    return material.look["pores"] == "ring" or material.id in HARD_RINGS or of_hard


def peeled(material: Material) -> bool:
    """Whether it may come peeled in full width: unknown cuts keep nothing out."""
    return not material.veneer["cuts"] or "rotary" in material.veneer["cuts"]


def unknown(material: Material, request: Request) -> list[str]:
    """Deciding facts that are not known."""
    out = []
    if not material.countries:
        out.append("No country of harvest is known, so its listing cannot be judged.")
    sold = request.in_stock or material.veneer["sold"] != "not-known"
    if request.role in SOLD_ASKED and not sold:
        out.append("It is not known whether it is sold as veneer.")
    if request.plantation and material.grows["plantation"]["grown"] == "unknown":
        out.append("Whether it is planted for timber is not known.")
    wide = request.in_stock or material.veneer["leaf_width_mm"].get("high") is not None
    if request.piece and not wide and material.kind != "core":
        out.append("How wide its leaves come is not known, so the piece cannot be judged.")
    return out + unknown_limits(material, request)


def unknown_limits(material: Material, request: Request) -> list[str]:
    """Figures that a limit is set on and that are not known."""
    return [
        f"Its {PROPERTIES[name].asks} is not known, and you set a limit on it."
        for name in (request.profile.limits if request.profile else ())
        if material.figure(name) is None
    ]


def outside_limits(material: Material, request: Request) -> list[str]:
    """Figures that lie outside a limit that is set."""
    out = []
    for name, limit in (request.profile.limits if request.profile else {}).items():
        figure = material.figure(name)
        if figure is None or limit.holds(figure.typical):
            continue
        text, unit = shown(name, figure.typical, request.units)
        side, end = (
            ("below", limit.low)
            if limit.low is not None and figure.typical < limit.low
            else ("above", limit.high)
        )
        edge, _ = shown(name, end or 0.0, request.units)
        out.append(f"Its {PROPERTIES[name].asks}, {text} {unit}, is {side} the {edge} {unit} you set.")
    return out


def too_narrow(material: Material, piece: Piece) -> str | None:
    """Why its leaves do not cover the piece, or None."""
    widest = material.veneer["leaf_width_mm"].get("high")
    if material.kind == "core" or widest is None or widest >= piece.leaf:
        return None
    need = int(-(-piece.width // widest))
    joints = f"{need - 1} joint{'s' if need > 2 else ''}"
    return (
        f"Its leaves come {widest:g} mm wide at the most: {piece.width:g} mm takes {need} leaves and "
        f"{joints}, and you allow {piece.joints}."
    )


def piece_words(material: Material, piece: Piece | None) -> str | None:
    """How its leaves cover the piece, where they do."""
    width = material.veneer["leaf_width_mm"]
    high, low = width.get("high"), width.get("low")
    if piece is None or high is None or material.kind == "core":
        return None
    leaves = int(-(-piece.width // high))
    usual = f"{low:g} to {high:g}" if low is not None else f"up to {high:g}"
    if low is not None and low * piece.leaves < piece.width:
        need = f"at least {piece.leaf:.0f} mm, for {piece.leaves} side by side"
        return f"Leaves of {usual} mm: ask for wide ones, {need}."
    joints = (
        "no joint" if leaves == 1 else f"{leaves} leaves with {leaves - 1} joint{'s' if leaves > 2 else ''}"
    )
    thick = material.veneer["thickness_mm"]
    sold = f" Sold {' and '.join(f'{t:g}' for t in thick)} mm thick." if thick else ""
    return f"Leaves {usual} mm wide cover the width: {joints} from the widest.{sold}"
