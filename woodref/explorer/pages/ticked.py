"""Woods ticked to be laid side by side, carried from page to page in the address."""

from __future__ import annotations

from dataclasses import dataclass

from woodref.catalogue.names import resolve
from woodref.errors import WoodrefError
from woodref.explorer.asking import Ask


@dataclass(frozen=True)
class Tick:
    id: str
    name: str


def ticks(ask: Ask) -> list[Tick]:
    """Each wood of the field `wood` once; one that is not known is told there."""
    out: dict[str, Tick] = {}
    for text in ask.many("wood"):
        try:
            found = resolve(text, ask.catalogue, ask.shop.today)
        except WoodrefError as fault:
            ask.told("wood", fault)
            continue
        out[found.id] = Tick(found.id, ask.catalogue.material(found.id).name)
    return list(out.values())
