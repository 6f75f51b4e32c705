"""What is found out about a lot later, as people say it -> the event: words, a shelf, a moisture reading, a
closer name. No amount changes."""

from __future__ import annotations

from woodref.errors import BadRequest
from woodref.provenance.amounts import ended
from woodref.provenance.book import Book, Held
from woodref.provenance.lots import NO_WOOD
from woodref.provenance.moistures import off_usual, percent, permille
from woodref.provenance.receiving import named_by_content
from woodref.provenance.shapes import IDENTIFIED_BY
from woodref.provenance.stock import KNOWN_BY
from woodref.provenance.working import Done

#: how a wood may have come to its closer name
WAYS = tuple(way for way in IDENTIFIED_BY if way != "nobody")


def _words(text: str, where: str, what: str) -> str:
    tidy = " ".join(text.split())
    if not tidy:
        raise BadRequest(f"the {what} is empty", where=where, expected="words")
    return tidy


def note(held: Held, text: str, time: str | None = None) -> Done:
    """Words about a lot."""
    told = {"lot": held.lot.id, "note": _words(text, "stock note", "note")}
    says = ended(f"Noted of {held.lot.id}: {told['note']}")
    return Done(named_by_content("annotate", held.lot.id, told, time), [says])


def move(held: Held, shelf: str, was: str | None, time: str | None = None, note: str | None = None) -> Done:
    """A lot lies on another shelf. was: where it lay till now."""
    told = {"lot": held.lot.id, "shelf": _words(shelf, "stock move", "shelf")}
    before = f" Till now: {was}." if was else ""
    event = named_by_content("annotate", held.lot.id, told, time, note)
    return Done(event, [f"{held.lot.id} lies on {told['shelf']}.{before}"])


def moisture(held: Held, text: str, by: str, time: str | None = None, note: str | None = None) -> Done:
    """A moisture reading of a lot of wood. text: '8.5 %'; by: how it was measured, such as meter."""
    lot = held.lot
    if lot.form in NO_WOOD:
        raise BadRequest(f"{lot.id} is {lot.form}: no moisture is read of it", where="stock moisture")
    found, way = permille(text, "stock moisture"), _words(by, "--by", "way of measuring")
    read = {"permille": found, "by": way}
    event = named_by_content("annotate", lot.id, {"lot": lot.id, "moisture": read}, time, note)
    says = f"{lot.id}: {percent(found)} moisture, by {way}."
    return Done(event, [says], off_usual(lot.id, found) if lot.unit == "mm2" else [])


def identify(book: Book, lot_id: str, name: str, by: str, time: str | None = None,
             note: str | None = None) -> Done:  # fmt: skip
    """The wood of a lot is known more closely. name: botanical; by: one of WAYS.

    UnknownSpecies with near names, when the catalogue does not know it.
    """
    held = book.lot(lot_id, "stock identify")
    known = book.known_name(name, lot_id, "stock identify")
    told = {"lot": lot_id, "species": known, "identified_by": by}
    says = [f"{lot_id} is {known} ({KNOWN_BY[by]}). Till now it was told as: " + ended(held.lot.wood)]
    if any(book.event(event, event).out for event in book.uses(lot_id)):
        says.append(
            "What was made of it before keeps the wider name in its own line; `woodref whence` tells the "
            "closer one."
        )
    return Done(named_by_content("narrow", lot_id, told, time, note), says)
