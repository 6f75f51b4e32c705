"""The legs of a substitute: the raw veneer coming in, the finished part sold at home, and exported.

Listings decide which origins are free (`status`); the legs add what stops a wood on the way all the
same: export bans, suspensions, sales that need a certificate.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from woodref.catalogue.material import Material
from woodref.trade.otherlaws import export_rules
from woodref.trade.shapes import Item, Movement, Rules
from woodref.trade.territory import crosses
from woodref.trade.verdict import verdict

#: what a maker sells: judged as finished furniture, the widest of the exempt forms
SOLD_AS = "furniture"
#: the leg that everyone has: the raw wood leaving where it grew
INCOMING = "the wood coming in"


@dataclass(frozen=True)
class Route:
    """The maker's journey. home: the maker's country; veneer_from: where the sheets are bought (None:
    every country of harvest); sell_to: where the finished part goes. kg: listed wood in one part."""

    home: str | None = None
    veneer_from: str | None = None
    sell_to: str | None = None
    kg: float = 1.0

    def as_dict(self) -> dict[str, object]:
        return {"home": self.home, "veneer_from": self.veneer_from, "sell_to": self.sell_to}


@dataclass(frozen=True)
class Stop:
    """Why wood of one origin cannot take the route, and on which leg."""

    origin: str
    leg: str
    sentence: str


def _form(material: Material, solid: bool) -> str:
    """A sheet sliced from a pressed block is a form of its own in law; a leaf dyed through stays veneer;
    a plank is sawn wood."""
    made = material.made_from
    if solid:
        return "sawn-wood"
    return "reconstituted-veneer" if made and made["process"] == "reconstituted" else "veneer"


def stops(
    material: Material, origin: str, route: Route, on: dt.date, rules: Rules, solid: bool = False
) -> list[Stop]:
    """Everything that stops sheets (or planks: solid) of this origin, or the part made of them, on the
    route."""
    planted = origin in material.grows["plantation"]["countries"] or None
    start = route.veneer_from or origin
    item = Item(material.woods, _form(material, solid), origin=origin, planted=planted)
    found = [Stop(origin, INCOMING, s) for s in _incoming(item, start, route, on, rules)]
    if route.home:
        part = Item(material.woods, SOLD_AS, kg=route.kg, origin=origin, state="finished", planted=planted)
        sale = Movement(route.home, route.home, on, "sale-inside")
        found += _leg(part, sale, "the sale at home", rules)
        if route.sell_to:
            found += _leg(part, Movement(route.home, route.sell_to, on), f"to {route.sell_to}", rules)
    return found


def _incoming(item: Item, start: str, route: Route, on: dt.date, rules: Rules) -> list[str]:
    """Export bans and suspensions on the raw sheets. Without a home the border is still crossed."""
    abroad = route.home or next(code for code in rules.names if crosses(start, code, on, rules))
    movement = Movement(start, abroad, on)
    out = []
    for wood in item.woods:
        for rule in export_rules(wood, item, movement, rules):
            if rule.stops:
                out.append(rule.reason.sentence)
    return list(dict.fromkeys(out))


def _leg(item: Item, movement: Movement, name: str, rules: Rules) -> list[Stop]:
    found = verdict(item, movement, rules)
    if found.answer != "stop":
        return []
    sentence = found.woods[0].reasons[-1].sentence if found.woods[0].reasons else "closed"
    return [Stop(item.origin or "", name, sentence)]
