"""The balance rule of each kind of event: exact, in whole units, before anything is written.

net: what of a parent is in a unit of the child, waste left out; gross: what of it went in per unit, for
glue and finish, which are told as used, not as contained.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from woodref.provenance.faults import BadShape, BadThickness, NoUnit, Unbalanced
from woodref.provenance.lots import Lot
from woodref.provenance.shapes import Event, Share

#: forms told as used
USED = ("adhesive", "finish")
WORKED = {
    "cut": "cutting keeps thickness; use slice, sand or laminate",
    "split": "splitting keeps thickness",
    "merge": "lots thrown together are of one thickness",
    "edge-join": "jointed leaves are of one thickness",
}


@dataclass(frozen=True)
class Edge:
    """child is made of parent: net and gross amounts of the parent in one unit of the child."""

    child: str
    parent: str
    net: Fraction
    gross: Fraction
    plies: int = 1


def needs(event: Event, out: bool = True, in_: bool = True) -> None:
    """BadShape when an event of this kind lacks what goes in or comes out."""
    if in_ and not event.in_:
        raise BadShape(f"{event.kind}: nothing goes in", where=event.id, expected="in: [{lot, qty, unit}]")
    if out and not event.out:
        raise BadShape(f"{event.kind}: nothing comes out", where=event.id, expected="out: [{lot, qty, unit}]")


def _wasted(event: Event) -> dict[str, int]:
    held = {s.lot for s in event.in_}
    for share in event.waste:
        if share.lot not in held:
            raise BadShape(
                f"waste of {share.lot}, which does not go in", where=event.id, expected=", ".join(held)
            )
    return {s.lot: s.qty for s in event.waste}


def _off(event: Event, left: int, unit: str, hint: str = "") -> None:
    """Raise Unbalanced unless nothing is left over."""
    if left > 0:
        raise Unbalanced(
            f"{event.kind}: {left:,} {unit} unaccounted",
            where=event.id,
            expected="in = out + waste",
            next=hint or None,
        )
    if left < 0:
        raise Unbalanced(
            f"{event.kind}: output exceeds input by {-left:,} {unit}",
            where=event.id,
            expected="in = out + waste",
        )


def _one_unit(event: Event) -> str:
    units = {s.unit for s in (*event.in_, *event.out, *event.waste)}
    if len(units) != 1:
        raise NoUnit(
            f"{event.kind}: {' and '.join(sorted(units))} together", where=event.id, expected="one unit"
        )
    return units.pop()


def edges_of(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """Check the balance of an event and say what its lots are made of. lots: of every share of it."""
    rule = _RULES.get(event.kind)
    return rule(event, lots) if rule else []


def _created(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    needs(event, in_=False)
    if event.in_ or event.waste:
        raise BadShape(f"{event.kind}: nothing goes in", where=event.id, expected="out alone")
    return []


def _gone(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """Scrap, sample, loss: what goes in is gone."""
    needs(event, out=False)
    if event.out:
        raise BadShape(f"{event.kind}: nothing comes out", where=event.id)
    if event.waste:
        for share in event.in_:
            wasted = _wasted(event).get(share.lot, 0)
            _off(event, share.qty - wasted, share.unit)
    return []


def _same_area(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """split, cut: one lot in, its unit and thickness kept."""
    unit = _one_unit(event) if event.in_ else ""
    needs(event, out=False)
    if len(event.in_) != 1:
        raise BadShape(f"{event.kind}: one lot at a time", where=event.id)
    source = event.in_[0]
    made = sum(s.qty for s in event.out)
    wasted = sum(_wasted(event).values())
    if not event.out:
        raise Unbalanced(
            f"{event.kind}: {source.qty - wasted:,} {unit} unaccounted", where=event.id, expected="in "
            "= out + waste",
            next="For a total loss use scrap.",
        )  # fmt: skip
    _thickness(event, lots)
    _off(event, source.qty - made - wasted, unit)
    gross = Fraction(source.qty, made)
    return [Edge(s.lot, source.lot, Fraction(1), gross) for s in event.out]


def _thickness(event: Event, lots: Mapping[str, Lot]) -> None:
    thick = {s.lot: lots[s.lot].thickness_um for s in (*event.in_, *event.out) if s.unit == "mm2"}
    known = {t for t in thick.values() if t is not None}
    if len(known) > 1:
        raise BadThickness(
            f"{event.kind}: {' and '.join(f'{t:,} um' for t in sorted(known))}", where=event.id,
            expected=WORKED.get(event.kind, "one thickness"),
        )  # fmt: skip


def _joined(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """edge-join, merge: several lots into one sheet or lot, shares by what is left of each."""
    needs(event)
    unit = _one_unit(event)
    if len(event.out) != 1:
        raise BadShape(f"{event.kind}: one lot comes out", where=event.id)
    _thickness(event, lots)
    wasted, made = _wasted(event), event.out[0].qty
    _off(event, sum(s.qty for s in event.in_) - sum(wasted.values()) - made, unit)
    if event.kind == "merge":
        woods = {(lots[s.lot].may_be, lots[s.lot].form) for s in event.in_}
        if len(woods) > 1:
            raise BadShape(
                "merge: lots of several woods or forms", where=event.id, expected="one wood, one form"
            )
    return [
        Edge(event.out[0].lot, s.lot, Fraction(s.qty - wasted.get(s.lot, 0), made), Fraction(s.qty, made))
        for s in event.in_
    ]


def _sliced(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """slice: solid [nL] -> leaves [mm2]: in = sum of area x thickness + waste."""
    needs(event)
    if len(event.in_) != 1 or event.in_[0].unit != "nL" or any(s.unit != "mm2" for s in event.out):
        raise NoUnit("slice: solid wood in nL goes in, leaves in mm2 come out", where=event.id)
    source, wasted = event.in_[0], sum(_wasted(event).values())
    volume = sum(s.qty * (lots[s.lot].thickness_um or 0) for s in event.out)
    _off(event, source.qty - volume - wasted, "nL")
    area = sum(s.qty for s in event.out)
    return [
        Edge(s.lot, source.lot, Fraction(lots[s.lot].thickness_um or 0), Fraction(source.qty, area))
        for s in event.out
    ]


def _sanded(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """sand: the area stays, the thickness falls."""
    needs(event)
    unit = _one_unit(event)
    if len(event.in_) != 1 or len(event.out) != 1:
        raise BadShape("sand: one lot in, one out", where=event.id)
    source, made = event.in_[0], event.out[0]
    before, after = lots[source.lot].thickness_um, lots[made.lot].thickness_um
    if before is None or after is None or after >= before:
        raise BadThickness(
            f"sand: {before or 0:,} um to {after or 0:,} um",
            where=event.id,
            expected="a thinner lot than went in",
        )
    wasted = sum(_wasted(event).values())
    _off(event, source.qty - made.qty - wasted, unit)
    return [Edge(made.lot, source.lot, Fraction(1), Fraction(source.qty, made.qty))]


def _pressed(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """laminate: of each wood, in = plies x plan area + waste; glue is told as used."""
    needs(event)
    plan = sum(s.qty for s in event.out)
    if any(s.unit != "mm2" for s in event.out):
        raise NoUnit("laminate: panels are counted in mm2 of their plan", where=event.id)
    wasted = _wasted(event)
    for share in event.in_:
        if lots[share.lot].form in USED:
            continue
        if share.unit != "mm2":
            raise NoUnit(f"laminate: {share.lot} is in {share.unit}", where=event.id, expected="mm2 of layer")
        left = share.qty - share.plies * plan - wasted.get(share.lot, 0)
        if left:
            says = f"{left:,} mm2 unaccounted" if left > 0 else f"{-left:,} mm2 short"
            raise Unbalanced(
                f"laminate: {share.lot}: {says}", where=event.id,
                expected=f"in = {share.plies} plies x {plan:,} mm2 + waste",
            )  # fmt: skip
    return [_layer(s, made, plan, lots) for made in event.out for s in event.in_]


def _layer(share: Share, made: Share, plan: int, lots: Mapping[str, Lot]) -> Edge:
    used = lots[share.lot].form in USED
    net = Fraction(share.qty, plan) if used else Fraction(share.plies)
    return Edge(made.lot, share.lot, net, Fraction(share.qty, plan), 1 if used else share.plies)


def _assembled(event: Event, lots: Mapping[str, Lot]) -> list[Edge]:
    """assemble, repair: parts go into an item, whole."""
    needs(event)
    pieces = sum(s.qty for s in event.out)
    if len(event.out) != 1 or event.out[0].unit != "pcs":
        raise NoUnit(f"{event.kind}: one item in pieces comes out", where=event.id)
    if event.waste:
        raise BadShape(f"{event.kind}: trim before parts go together", where=event.id, expected="a cut first")
    return [
        Edge(event.out[0].lot, s.lot, Fraction(s.qty, pieces), Fraction(s.qty, pieces)) for s in event.in_
    ]


_RULES = {
    "receive": _created, "open-stock": _created, "split": _same_area, "cut": _same_area, "merge": _joined,
    "edge-join": _joined, "slice": _sliced, "sand": _sanded, "laminate": _pressed, "assemble": _assembled,
    "assemble-close": _assembled, "scrap": _gone, "sample": _gone, "loss": _gone,
}  # fmt: skip
