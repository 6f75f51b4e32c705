"""What a ranking has to know of the shelf, as plain values: which woods it holds, and where they grew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from woodref.catalogue.material import Material


@dataclass(frozen=True)
class OnHand:
    """Of one wood, the lots that hold what is asked. countries: where those grew of which that is known;
    unknown: whether of some it is not."""

    countries: frozenset[str]
    unknown: bool = False

    @property
    def known(self) -> tuple[str, ...] | None:
        """The countries to judge by; None where of no lot it is known."""
        return tuple(sorted(self.countries)) or None


#: accepted botanical name -> what of it is on hand
Shelf = Mapping[str, OnHand]


def on_shelf(material: Material, shelf: Shelf) -> OnHand | None:
    """What of a wood is on hand: leaves of the species itself, not of a sheet made of it."""
    if material.kind != "species" or material.botanical_name is None:
        return None
    return shelf.get(material.botanical_name)
