"""What is known of a lot: its wood as the paper or the chalk says it, form, size, origin. Read strictly."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from woodref.errors import echo
from woodref.provenance.faults import BadComposition, BadCountry, BadPlace, BadShape, NoUnit, UnknownSpecies
from woodref.provenance.plots import plot_of
from woodref.provenance.shapes import FORMS, IDENTIFIED_BY, UNITS, whole

#: every key of a lot; amounts in whole units named in the key
KEYS = (
    "id", "form", "unit", "qty", "species", "one_of", "genus", "trade", "identified_by", "composition",
    "wood_share_permille", "country", "countries", "region", "forest", "stand", "harvest", "acquired",
    "source_code", "plot", "thickness_um", "density_kg_m3", "cut", "bundle", "flitch", "first_leaf", "leaves",
    "leaf_mm", "leaf_notes", "moisture_permille", "moisture_by", "moisture_on", "shelf", "price", "currency",
    "supplier", "grade", "as_received", "material", "emission", "claim_words", "place",
)  # fmt: skip
#: facts of a lot that are words
TEXTS = (
    "trade", "genus", "country", "region", "forest", "stand", "harvest", "acquired", "source_code", "cut",
    "bundle", "flitch", "moisture_by", "moisture_on", "shelf", "currency", "supplier", "grade", "as_received",
    "material", "emission", "claim_words", "place",
)  # fmt: skip
#: facts that a lot made of others may have of its own; all else follows from those
OF_ITS_OWN = (
    "form", "unit", "thickness_um", "shelf", "leaves", "leaf_mm", "leaf_notes", "bundle", "flitch", "cut",
    "place",
)  # fmt: skip
#: forms of ground that wood grew on
FORESTS = ("plantation", "managed-natural", "primary", "unknown")
NO_WOOD = ("adhesive", "finish", "hardware")
#: usual unit of a form
UNIT_OF = {
    "veneer": "mm2", "engineered-veneer": "mm2", "panel": "mm2", "part": "mm2", "board": "mm2", "sawn": "nL",
    "adhesive": "mg", "finish": "mg", "item": "pcs", "hardware": "pcs",
}  # fmt: skip

#: a price as it is kept, exactly as it was said: never a float, never on a sheet for a customer
PRICE = re.compile(r"(0|[1-9][0-9]{0,11})(\.[0-9]{1,4})?")

#: a name -> (accepted name or None, near names)
Knows = Callable[[str], tuple[str | None, tuple[str, ...]]]


@dataclass(frozen=True)
class Lot:
    """A lot's own facts. species: the one accepted name, or None; may_be: every wood it may be (accepted
    names, or 'Genus spp.'), empty when nobody knows; composition: (species, share in per mille, countries)
    of an engineered sheet. told: everything as it was written."""

    id: str
    form: str
    unit: str
    species: str | None
    may_be: tuple[str, ...]
    composition: tuple[tuple[str, int, tuple[str, ...]], ...]
    wood_share: int
    countries: tuple[str, ...]
    thickness_um: int | None
    density: int | None
    told: Mapping[str, Any]

    @property
    def wooden(self) -> bool:
        return self.form in ("veneer", "engineered-veneer", "sawn", "board")

    @property
    def wood(self) -> str:
        """'Fagus sylvatica', 'Quercus robur or Quercus petraea', 'not identified', '-' for what is no wood.
        What was pressed of several woods, or a dyed sheet of them, holds them all; of what was cut or jointed
        out of such lots it may be either."""
        if not self.may_be:
            return "-" if self.form in NO_WOOD else "not identified"
        if self.told.get("one_of"):
            return " or ".join(self.may_be)
        mixed = bool(self.composition) or self.form in ("panel", "part", "item")
        return (", " if mixed else " and/or ").join(self.may_be)

    @property
    def trade(self) -> str:
        """The words on the paper or the chalk."""
        return str(self.told.get("trade") or self.species or "not identified")


def lot_of(lot_id: str, told: Mapping[str, Any], where: str, knows: Knows | None = None) -> Lot:
    """A lot from what is written of it. knows: looks botanical names up; without it they are taken as they
    are.

    Raises UnknownSpecies with near names, BadComposition, BadCountry, BadPlace, NoUnit, BadShape.
    """
    unknown = set(told) - set(KEYS)
    if unknown:
        raise BadShape(f"lot {lot_id}: {', '.join(sorted(map(str, unknown)))} is not known here", where=where)
    form = told.get("form")
    if form not in FORMS:
        raise BadShape(
            f"lot {lot_id}: form {echo(str(form))} is not known", where=where, expected=", ".join(FORMS)
        )
    unit = told.get("unit", UNIT_OF[form])
    if unit not in UNITS:
        raise NoUnit(
            f"lot {lot_id}: unit {echo(str(unit))} is not known", where=where, expected=", ".join(UNITS)
        )
    thick = told.get("thickness_um")
    if thick is not None:
        thick = whole(thick, f"lot {lot_id}: thickness", 1, where)
    elif form in ("veneer", "engineered-veneer", "board"):
        raise NoUnit(
            f"lot {lot_id}: thickness or its unit missing (mm or um)",
            where=where,
            expected="thickness_um: 600",
        )
    density = told.get("density_kg_m3")
    if density is not None:
        density = whole(density, f"lot {lot_id}: density", 1, where)
    share = whole(told.get("wood_share_permille", 1000), f"lot {lot_id}: share of wood", 0, where)
    facts_hold(lot_id, told, where)
    composition = _composition(lot_id, form, told, where, knows)
    if composition and told.get("wood_share_permille") is None:
        share = sum(permille for _, permille, _ in composition)
    species, may_be = _wood(lot_id, told, composition, where, knows)
    return Lot(
        lot_id,
        str(form),
        str(unit),
        species,
        may_be,
        composition,
        share,
        _countries(lot_id, told, where),
        thick,
        density,
        dict(told),
    )


def facts_hold(lot_id: str, told: Mapping[str, Any], where: str) -> None:
    """BadShape (or BadPlace) when a fact that is only kept and shown is not written as it is read: text,
    whole numbers, the size of a leaf."""
    for key in TEXTS:
        if told.get(key) is not None and not (isinstance(told[key], str) and told[key].isprintable()):
            raise BadShape(f"lot {lot_id}: {key} {echo(str(told[key]))} is no text", where=where)
    for key in ("leaves", "first_leaf", "moisture_permille"):
        if told.get(key) is not None:
            whole(told[key], f"lot {lot_id}: {key}", 1, where)
    size = told.get("leaf_mm")
    if size is not None:
        if not isinstance(size, list | tuple) or len(size) != 2:
            raise BadShape(
                f"lot {lot_id}: leaf_mm {echo(str(size))}", where=where, expected="[length, width]"
            )
        for side in size:
            whole(side, f"lot {lot_id}: leaf_mm", 1, where)
    price = told.get("price")
    if price is not None and not (isinstance(price, str | int) and PRICE.fullmatch(str(price))):
        raise BadShape(
            f"lot {lot_id}: price {echo(str(told['price']))}", where=where, expected='text such as "412.50"'
        )
    notes = told.get("leaf_notes")
    if notes is not None and not isinstance(notes, str | Mapping):
        raise BadShape(f"lot {lot_id}: leaf_notes is neither words nor {{leaf: words}}", where=where)
    if told.get("plot") is not None:
        _plot(told["plot"], f"{where}: lot {lot_id}")


def noted_holds(more: Mapping[str, Any], where: str) -> None:
    """BadShape when a shelf or a moisture reading of an event is noted otherwise than it is read again: of a
    lot, the shelf in words, the moisture as {permille, by}: per mille of the dry mass, and how it was
    measured."""
    read, shelf = more.get("moisture"), more.get("shelf")
    if read is None and shelf is None:
        return
    if more.get("lot") is None:
        raise BadShape("a shelf or a moisture is noted of no lot", where=where, expected="lot: its id")
    if shelf is not None and not (isinstance(shelf, str) and shelf.strip() and shelf.isprintable()):
        raise BadShape(f"shelf {echo(str(shelf))} is no text", where=where)
    if read is None:
        return
    if not isinstance(read, Mapping) or set(read) - {"permille", "by"} or "permille" not in read:
        raise BadShape(
            f"moisture {echo(str(read))} is not understood", where=where, expected="{permille: 85, by: meter}"
        )
    whole(read["permille"], "moisture", 1, where)
    if read.get("by") is not None and not (isinstance(read["by"], str) and read["by"].isprintable()):
        raise BadShape(f"moisture: by {echo(str(read['by']))} is no text", where=where)


def _plot(text: object, where: str) -> None:
    """A plot is kept as the text of its GeoJSON, so that no digit of it changes."""
    try:
        value = json.loads(text) if isinstance(text, str) else None
    except ValueError:
        value = None
    if not isinstance(value, dict):
        raise BadPlace("plot is no GeoJSON text", where=where, expected="the text of a Point or Polygon")
    plot_of(value, where)


def _countries(lot_id: str, told: Mapping[str, Any], where: str) -> tuple[str, ...]:
    listed = told.get("countries") or ([told["country"]] if told.get("country") else [])
    return _codes(lot_id, listed, where)


def _codes(lot_id: str, listed: object, where: str) -> tuple[str, ...]:
    if not isinstance(listed, list | tuple):
        raise BadCountry(f"lot {lot_id}: countries is no list", where=where)
    for code in listed:
        if not (
            isinstance(code, str)
            and (code == "GB-NIR" or (len(code) == 2 and code.isascii() and code.isupper()))
        ):
            raise BadCountry(
                f"lot {lot_id}: {echo(str(code))} is no country code",
                where=where,
                expected="ISO 3166-1, two capitals",
            )
    return tuple(listed)


def _name(lot_id: str, name: object, where: str, knows: Knows | None) -> str:
    if not isinstance(name, str) or not name.strip():
        raise UnknownSpecies(f"lot {lot_id}: the botanical name is empty", where=where)
    if knows is None:
        return name
    accepted, near = knows(name)
    if accepted is None:
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        raise UnknownSpecies(
            f'lot {lot_id}: "{name}" is not in the catalogue',
            where=where,
            next=f"It is not changed by itself.{meant} Else leave species out and keep the words in trade.",
        )
    return accepted


def _composition(
    lot_id: str, form: str, told: Mapping[str, Any], where: str, knows: Knows | None
) -> tuple[tuple[str, int, tuple[str, ...]], ...]:
    """(species, per mille of the whole mass, countries) of an engineered sheet; the rest is glue and dye."""
    if form != "engineered-veneer":
        return ()
    listed = told.get("composition")
    if listed is None and told.get("species"):
        share = told.get("wood_share_permille", 1000)
        listed = [
            {
                "species": told["species"],
                "permille": share,
                "countries": told.get("countries") or ([told["country"]] if told.get("country") else []),
            }
        ]
    if not listed:
        raise BadComposition(
            f"lot {lot_id}: species list empty",
            where=where,
            expected="thin solid plies need a name: composition: [{species, permille}]",
        )
    out = []
    for entry in listed:
        if not isinstance(entry, Mapping) or set(entry) - {"species", "permille", "countries"}:
            raise BadComposition(
                f"lot {lot_id}: {echo(str(entry))} is not understood",
                where=where,
                expected="{species, permille, countries}",
            )
        permille = whole(entry.get("permille"), f"lot {lot_id}: share", 1, where)
        countries = _codes(lot_id, entry.get("countries") or (), where)
        out.append((_name(lot_id, entry.get("species"), where, knows), permille, countries))
    total = sum(p for _, p, _ in out)
    other = 1000 - whole(told.get("wood_share_permille", total), f"lot {lot_id}: share of wood", 0, where)
    if total > 1000 or total + max(other, 0) > 1000:
        raise BadComposition(
            f"lot {lot_id}: the shares add up to "
            f"{total + max(other, 0) if total <= 1000 else total:,} per mille",
            where=where,
            expected="1,000 with glue and dye",
        )
    return tuple(out)


def _wood(
    lot_id: str,
    told: Mapping[str, Any],
    composition: tuple[tuple[str, int, tuple[str, ...]], ...],
    where: str,
    knows: Knows | None,
) -> tuple[str | None, tuple[str, ...]]:
    """The one species, and every wood it may be."""
    if told.get("identified_by") is not None and told["identified_by"] not in IDENTIFIED_BY:
        raise BadShape(
            f"lot {lot_id}: identified_by is not known", where=where, expected=", ".join(IDENTIFIED_BY)
        )
    if composition:
        names = tuple(dict.fromkeys(name for name, _, _ in composition))
        return (names[0] if len(names) == 1 else None), names
    ways = [key for key in ("species", "one_of", "genus") if told.get(key)]
    if len(ways) > 1:
        raise BadShape(f"lot {lot_id}: {' and '.join(ways)} are given", where=where, expected="one of them")
    if told.get("species"):
        name = _name(lot_id, told["species"], where, knows)
        return name, (name,)
    if told.get("one_of"):
        if not isinstance(told["one_of"], list | tuple):
            raise BadShape(f"lot {lot_id}: one_of is no list", where=where)
        return None, tuple(_name(lot_id, name, where, knows) for name in told["one_of"])
    if told.get("genus"):
        return None, (f"{told['genus']} spp.",)
    return None, ()
