"""What the stock book refuses, and why. Each fault has a stable code; its sentence says what is wrong, where,
with the numbers, and what to do. A refused event leaves the book as it was.
"""

from __future__ import annotations

from woodref.errors import WoodrefError


class BookFault(WoodrefError):
    """Base of everything the book refuses."""

    code = "book-fault"


class BadShape(BookFault):
    """An event, lot or document is not written as the book takes it."""

    code = "bad-shape"


class BadEncoding(BookFault):
    """A file is not UTF-8 text."""

    code = "bad-encoding"


class BadImport(BookFault):
    """One of many events is wrong; none was recorded."""

    code = "bad-import"


class BadAmount(BookFault):
    """An amount is not above zero, or cannot be read."""

    code = "bad-amount"


class NotWhole(BookFault):
    """An amount is no whole number of the book's unit."""

    code = "not-whole"


class OutOfRange(BookFault):
    """A number is larger than the book can hold."""

    code = "out-of-range"


class NoUnit(BookFault):
    """A number lacks its unit, or has one that does not fit."""

    code = "no-unit"


class UnknownLot(BookFault):
    """No lot of this id."""

    code = "unknown-lot"
    exit_code = 3


class LotUnclear(BookFault):
    """No lot, or more than one, is what is asked for."""

    code = "lot-unclear"
    exit_code = 3


class UnknownEvent(BookFault):
    """No event of this id."""

    code = "unknown-event"
    exit_code = 3


class UnknownPaper(BookFault):
    """No document of this id."""

    code = "unknown-document"
    exit_code = 3


class LotExists(BookFault):
    """A new lot has the id of an old one."""

    code = "lot-exists"


class EventConflict(BookFault):
    """An event of this id holds something else."""

    code = "event-conflict"


class Cycle(BookFault):
    """A lot would be made from itself."""

    code = "cycle"


class BadTime(BookFault):
    """A time cannot be read, or lacks its offset."""

    code = "bad-time"


class InFuture(BookFault):
    """An event lies in the future."""

    code = "in-future"


class BadOrder(BookFault):
    """An event uses a lot before there is one."""

    code = "bad-order"


class Unbalanced(BookFault):
    """What goes in is not what comes out and is wasted."""

    code = "unbalanced"


class BadThickness(BookFault):
    """The kind of work does not change thickness so."""

    code = "bad-thickness"


class Overdrawn(BookFault):
    """More is asked of a lot than there is."""

    code = "overdrawn"


class BadState(BookFault):
    """An item is not in the state that this needs."""

    code = "bad-state"


class ItemClosed(BookFault):
    """An item is closed: only a correction or a repair changes it."""

    code = "item-closed"


class InUse(BookFault):
    """Later events use what this one made."""

    code = "in-use"


class NotProven(BookFault):
    """The record does not carry the claim."""

    code = "not-proven"


class UnknownSheet(BookFault):
    """No customer sheet of this item, or none of this version."""

    code = "unknown-sheet"
    exit_code = 3


class BadSheet(BookFault):
    """A file is no customer sheet."""

    code = "bad-sheet"


class BadKey(BookFault):
    """A signing key is missing, is another one, or did not sign."""

    code = "bad-key"


class DocumentDiffers(BookFault):
    """A file is not the one that was recorded."""

    code = "document-differs"


class DocumentNumber(BookFault):
    """A reference number has the wrong form."""

    code = "document-number"


class DocumentOverused(BookFault):
    """A document is drawn on for more than it covers."""

    code = "document-overused"


class OutsideStore(BookFault):
    """A path leads out of the document store."""

    code = "outside-store"


class UnknownSpecies(BookFault):
    """A botanical name is not in the catalogue."""

    code = "unknown-species"
    exit_code = 3


class BadComposition(BookFault):
    """The shares of an engineered sheet do not add up."""

    code = "bad-composition"


class BadCountry(BookFault):
    """A country code is not known."""

    code = "bad-country"


class BadPlace(BookFault):
    """A point or plot cannot be what it says."""

    code = "bad-place"


class PermitOverdrawn(BookFault):
    """A permit has less left than is asked."""

    code = "permit-overdrawn"


class PermitExpired(BookFault):
    """A permit had run out on the day."""

    code = "permit-expired"


class NotBeforeListing(BookFault):
    """A pre-listing claim is dated on or after the listing."""

    code = "not-before-listing"


class Busy(BookFault):
    """Another writer holds the book."""

    code = "busy"


class StorageFault(BookFault):
    """The disk or the database refused."""

    code = "storage"


class DocumentMissing(BookFault):
    """The file of a document is not in the document store."""

    code = "document-missing"


class PersonalData(BookFault):
    """Something that tells who a person is would stand in the book for good."""

    code = "personal-data"


class UnknownParty(BookFault):
    """No party of this id, or several begin so."""

    code = "unknown-party"
    exit_code = 3
