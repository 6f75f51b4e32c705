"""Woods ticked to be laid side by side, carried from page to page in the address."""

from __future__ import annotations

from dataclasses import dataclass

from woodref.catalogue.names import resolve
from woodref.errors import BadRequest, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.formwords import WITHOUT_REGION

#: ticks that are carried along: more than can be laid side by side, for who is still choosing
CARRIED = 60


@dataclass(frozen=True)
class Tick:
    id: str
    name: str


def ticks(ask: Ask) -> list[Tick]:
    """Each wood of the field `wood` once; one that is not known is told there."""
    out: dict[str, Tick] = {}
    names = list(dict.fromkeys(ask.many("wood")))
    if len(names) > CARRIED:
        ask.told("wood", BadRequest(f"{len(names)} woods are ticked", expected=f"no more than {CARRIED}"))
        return []
    for text in names:
        try:
            found = resolve(text, ask.catalogue, ask.shop.today)
        except WoodrefError as fault:
            ask.wrong["wood"] = WITHOUT_REGION.sentence(fault)
            continue
        out[found.id] = Tick(found.id, ask.catalogue.material(found.id).name)
    return list(out.values())
