"""Facts of a lot as people say them at the bench -> as the book keeps them: price, moisture, composition,
notes on single leaves."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from woodref.errors import BadQuantity, BadRequest, echo
from woodref.provenance.faults import BadAmount, BadComposition, BadTime, NotWhole, NoUnit
from woodref.provenance.lots import NO_WOOD, PRICE
from woodref.provenance.moistures import permille
from woodref.units import day_or_year, number

_CURRENCY = re.compile(r"[A-Z]{3}")
_SHARE = re.compile(r"(?P<number>[0-9][0-9.,]*)\s*(?P<unit>%|‰|per mille)?")
_LEAF = re.compile(r"[1-9][0-9]*(?:-[1-9][0-9]*)?")
#: facts that only wood has, with the option that says them
_OF_WOOD = {
    "moisture": "--moisture", "composition": "--composition", "forest": "--forest", "stand": "--stand",
    "region": "--district", "leaf_notes": "--leaf-notes", "first_leaf": "--first-leaf", "cut": "--cut",
    "source_code": "--source-code", "material": "--material",
}  # fmt: skip


def facts_of(form: str, told: Mapping[str, Any]) -> dict[str, Any]:
    """Facts under their own keys. Of what is told, price is (amount, currency), moisture '7 %' with
    moisture_by, composition 'NAME=SHARE, NAME=SHARE', leaf_notes LEAF=WORDS or words, acquired a day, month
    or year; all else stays as it is.

    BadRequest for what a lot of this form cannot have; else the fault of what cannot be read.
    """
    given = {key: value for key, value in told.items() if value not in (None, (), [])}
    # glue has a name in the catalogue too
    kept = {"material"} if form == "adhesive" else set()
    wrong = [option for key, option in _OF_WOOD.items() if key in given and key not in kept]
    if form in NO_WOOD and wrong:
        raise BadRequest(f"{' and '.join(wrong)}: {form} is no wood", next="Leave it out, or mend the form.")
    out = {key: value for key, value in given.items() if key not in _READ}
    for key, read in _READ.items():
        if key in given:
            out |= read(given[key])
    if "moisture_by" in given and "moisture" not in given:
        raise BadRequest("how it was measured is told, and no moisture", where="--moisture-by")
    if "composition" in given:
        if form != "engineered-veneer":
            raise BadRequest(
                f"{form} has no composition", where="--composition", expected="engineered-veneer"
            )
        if wood := [key for key in ("species", "one_of", "genus") if given.get(key)]:
            raise BadRequest(
                f"the woods are told twice, by composition and by {wood[0].replace('_', ' ')}",
                where="--composition", expected="one of the two",
            )  # fmt: skip
    return out


def _price(said: Sequence[str]) -> dict[str, Any]:
    amount, currency = said
    if not PRICE.fullmatch(amount):
        raise BadAmount(f"{echo(amount)} is no price", where="--price", expected="such as 412.50")
    if not _CURRENCY.fullmatch(currency):
        raise NoUnit(
            f"{echo(currency)} is no currency", where="--price", expected="three capitals, such as EUR"
        )
    return {"price": amount, "currency": currency}


def _moisture(said: str) -> dict[str, Any]:
    return {"moisture_permille": permille(said, "--moisture")}


def _acquired(said: str) -> dict[str, Any]:
    try:
        day_or_year(said)
    except BadQuantity as fault:
        raise BadTime(f"--acquired: {fault.message}", expected="YYYY-MM-DD, a month or a year") from None
    return {"acquired": said}


def _composition(said: str) -> dict[str, Any]:
    out: list[dict[str, Any]] = []
    for part in said.split(","):
        name, equals, share = (piece.strip() for piece in part.partition("="))
        if not name or not equals:
            raise BadComposition(
                f"{echo(part)} is not understood", where="--composition",
                expected='NAME=SHARE, such as "Populus x canadensis=930"',
            )  # fmt: skip
        if name in [entry["species"] for entry in out]:
            raise BadComposition(f"{name} is told twice", where="--composition")
        out.append({"species": name, "permille": _part(share)})
    total = sum(entry["permille"] for entry in out)
    if total > 1000:
        raise BadComposition(
            f"the shares add up to {total:,} per mille",
            where="--composition",
            expected="1,000 with glue and dye",
        )
    return {"composition": out, "wood_share_permille": total}


def _part(text: str) -> int:
    """'930', '930 per mille' or '93 %' -> 930."""
    match = _SHARE.fullmatch(text)
    if not match:
        raise BadComposition(
            f"{echo(text)} is no share", where="--composition", expected="such as 930 or 93 %"
        )
    value = number(match["number"]) * (10 if match["unit"] == "%" else Decimal(1))
    if value != value.to_integral_value() or value < 1:
        raise NotWhole(
            f"{echo(text)} is no whole share in per mille", where="--composition", expected="such as 93.5 %"
        )
    return int(value)


def _leaf_notes(said: Sequence[str]) -> dict[str, Any]:
    notes: dict[str, str] = {}
    words = []
    for entry in said:
        leaf, equals, note = (part.strip() for part in entry.partition("="))
        if not equals:
            words.append(" ".join(entry.split()))
        elif not _LEAF.fullmatch(leaf) or not note:
            raise BadRequest(
                f"{echo(entry)} is not understood",
                where="--leaf-notes",
                expected='LEAF=WORDS, such as "3=sap edge"',
            )
        elif leaf in notes:
            raise BadRequest(f"leaf {leaf} is told twice", where="--leaf-notes", next="Say it in one note.")
        else:
            notes[leaf] = note
    if notes and words:
        raise BadRequest(
            "words on all leaves beside notes on single ones", where="--leaf-notes", expected="one kind"
        )
    return {"leaf_notes": notes or "; ".join(words)}


_READ: dict[str, Callable[[Any], dict[str, Any]]] = {
    "price": _price, "moisture": _moisture, "acquired": _acquired, "composition": _composition,
    "leaf_notes": _leaf_notes,
}  # fmt: skip
