"""Does a listing's # note reach this form of goods on this movement?"""

from __future__ import annotations

from dataclasses import dataclass

from woodref.trade.listings import ListingRow
from woodref.trade.shapes import INSTRUMENT_FORMS, Annotation, Item, Movement, Rules, Waiver

#: an untrimmed pressed blank is plywood in law, whatever it is to become
BLANK_FORM = "plywood"


@dataclass(frozen=True)
class Coverage:
    """covered: True, False (form-exempt) or None (a deciding fact is missing, named in missing)."""

    covered: bool | None
    note: Annotation | None
    why: str
    missing: str | None = None
    shipment_doubt: bool = False


def form_in_law(item: Item) -> str:
    """The form the law sees: a blank is plywood."""
    return BLANK_FORM if item.state == "blank" else item.form


def note_for(row: ListingRow, item: Item, movement: Movement, wood: str, rules: Rules) -> Annotation | None:
    """The note that counts for this wood: a row's own, or the one it hands the wood over to."""
    if row.annotation is None:
        return None
    note = rules.annotations.get(row.annotation)
    if note is None:
        return None
    for hand in note.hand_overs:
        by_taxon = hand.taxon is not None and hand.taxon == wood
        by_origin = hand.origin is not None and hand.origin == item.origin == movement.start
        if by_taxon or by_origin:
            return rules.annotations.get(hand.to, note)
    return note


def coverage(row: ListingRow, item: Item, movement: Movement, wood: str, rules: Rules) -> Coverage:
    """Whether the row's note covers the item. Appendix I carries no note: every part counts."""
    form = form_in_law(item)
    name = rules.forms[form].words if form in rules.forms else form
    note = note_for(row, item, movement, wood, rules)
    if row.category in ("I", "A") or note is None or note.kind == "all":
        return Coverage(True, note, f"{row.category_words} without a note reaches every form, {name} too.")
    label = note.listed_as
    if note.kind == "only" and form not in note.forms:
        return Coverage(False, note, f"Note {label} does not reach {name}: {note.words}")
    if note.kind == "all-but" and form in note.forms:
        return Coverage(False, note, f"Note {label} leaves {name} out: {note.words}")
    for waiver in note.waivers:
        found = _waived(waiver, form, item, movement)
        if isinstance(found, str):
            return Coverage(None, note, f"Note {label} may free {name}: {waiver.words}", missing=found)
        if found:
            doubt = waiver.per == "item" and waiver.limit_kg is not None and item.items > 1
            over = doubt and (item.kg or 0) * item.items > (waiver.limit_kg or 0)
            return Coverage(False, note, f"Note {label}: {waiver.words}", shipment_doubt=over)
    return Coverage(True, note, f"Note {label} covers {name}: {note.words}")


#: what is missing -> the doubt it leaves
MISSING = {
    "the mass of listed wood in one item (--kg)": "weight-missing",
    "where the wood was harvested (--origin CC)": "origin-missing",
}
_MASS, _ORIGIN = MISSING


def _waived(waiver: Waiver, form: str, item: Item, movement: Movement) -> bool | str:
    """True: free; False: not; a text: the fact that decides and is not given."""
    if form not in waiver.forms:
        return False
    if (waiver.since and movement.on < waiver.since) or (waiver.until and movement.on > waiver.until):
        return False
    if waiver.movement == "non-commercial" and movement.commercial:
        return False
    if waiver.movement == "performance" and (movement.commercial or form not in INSTRUMENT_FORMS):
        return False
    if waiver.movement == "re-export":
        if item.origin is None:
            return _ORIGIN
        if movement.start == item.origin:
            return False
    if waiver.limit_kg is None:
        return True
    if item.kg is None:
        return _MASS
    mass = item.kg if waiver.per == "item" else item.kg * item.items
    return mass <= waiver.limit_kg
