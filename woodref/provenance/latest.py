"""What was last noted of a lot: its shelf, its moisture, words. Found again from the events themselves, so
that a note that did not occur is gone with its event."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from woodref.provenance.book import Held
from woodref.provenance.moistures import percent
from woodref.provenance.store import Store

#: kinds of work that leave the moisture of a sheet as it was; pressing brings the water of the glue
DRY_WORK = ("split", "cut", "merge", "edge-join", "sand")
#: how many such steps back a reading is looked for
MOST_STEPS = 40


@dataclass(frozen=True)
class Reading:
    """A moisture reading [per mille of the dry mass] of a lot; by: how it was measured; at: UTC text."""

    lot: str
    permille: int
    by: str | None
    at: str

    @property
    def said(self) -> str:
        """'8.5 %'."""
        return percent(self.permille)

    def days_before(self, at: str) -> int:
        """Whole days from the reading to a UTC text."""
        return (_when(at) - _when(self.at)).days

    @property
    def sentence(self) -> str:
        """'8.5 % on 2026-01-05, by meter'."""
        return f"{self.said} on {self.at[:10]}" + (f", by {self.by}" if self.by else "")

    def as_dict(self) -> dict[str, object]:
        return {"lot": self.lot, "permille": self.permille, "by": self.by, "at": self.at}


@dataclass(frozen=True)
class Noted:
    """What was noted of a lot since it is in the book, oldest first. words: (UTC text, note)."""

    shelf: str | None = None
    readings: Sequence[Reading] = ()
    words: Sequence[tuple[str, str]] = ()

    @property
    def reading(self) -> Reading | None:
        """The last one."""
        return self.readings[-1] if self.readings else None


#: nothing was noted
NOTHING = Noted()


def _when(at: str) -> dt.datetime:
    return dt.datetime.fromisoformat(at)


def noted(store: Store, lot_id: str | None = None) -> dict[str, Noted]:
    """What was noted of one lot, or of each. Lots of which nothing was noted are not in it."""
    rows = store.rows(_notes(store, lot_id is not None), **({} if lot_id is None else {"lot": lot_id}))
    out: dict[str, Noted] = {}
    for lot, at, payload in rows:
        told, before = json.loads(payload), out.get(lot, NOTHING)
        read, words = told.get("moisture"), told.get("note")
        readings, notes = list(before.readings), list(before.words)
        if read is not None:
            readings.append(Reading(lot, int(read["permille"]), read.get("by"), at))
        if words is not None:
            notes.append((at, str(words)))
        out[lot] = Noted(told.get("shelf") or before.shelf, readings, notes)
    return out


def _notes(store: Store, of_one: bool) -> str:
    """Notes that count, in the order they happened: not of an event that did not occur, and not of an older
    lot that once had the same id."""
    lot = _field(store, "e", "lot")
    one = f"AND {lot} = :lot" if of_one else ""
    return (
        f"SELECT l.id, e.at, e.payload FROM event e JOIN lot l ON l.id = {lot} "
        f"JOIN event m ON m.id = l.made_by WHERE e.kind = 'annotate' AND e.seq > m.seq {one} AND NOT EXISTS "
        "(SELECT 1 FROM event c WHERE c.corrects = e.id "
        f"AND {_field(store, 'c', 'reason')} = 'did_not_occur') ORDER BY e.at, e.seq"
    )


def _field(store: Store, table: str, key: str) -> str:
    """A key of an event's payload in the words of the database."""
    if store.engine.dialect.name == "sqlite":
        return f"json_extract({table}.payload, '$.{key}')"
    return f"(CAST({table}.payload AS json) ->> '{key}')"


def shelf_of(held: Held, known: Noted = NOTHING) -> str | None:
    """Where a lot lies: the last shelf that was noted, else that of its taking in."""
    return known.shelf or held.lot.told.get("shelf")


def readings_of(held: Held, known: Noted = NOTHING) -> list[Reading]:
    """Every reading of a lot, oldest first, with the one it came with."""
    told = held.lot.told
    came: list[Reading] = []
    if told.get("moisture_permille") is not None:
        on = _day(told)
        came.append(
            Reading(held.lot.id, int(told["moisture_permille"]), told.get("moisture_by"), on or held.made)
        )
    return sorted([*came, *known.readings], key=lambda r: r.at)


def _day(told: Mapping[str, object]) -> str | None:
    """moisture_on as UTC text, where it is a day."""
    try:
        return f"{dt.date.fromisoformat(str(told.get('moisture_on'))).isoformat()}T00:00:00Z"
    except ValueError:
        return None


def last_reading(held: Held, known: Noted = NOTHING) -> Reading | None:
    """The last reading of the lot itself."""
    found = readings_of(held, known)
    return found[-1] if found else None


def reading_for(store: Store, held: Held, till: str | None = None, steps: int = MOST_STEPS) -> Reading | None:
    """The last reading that speaks of a lot: its own, else that of what it was cut, split, jointed or sanded
    from, taken before that; of several the oldest. None when one of them has none. till: UTC text, readings
    after it do not count."""
    known = noted(store, held.lot.id).get(held.lot.id, NOTHING)
    own = [r for r in readings_of(held, known) if till is None or r.at <= till]
    if own:
        return own[-1]
    parents = worked_from(store, held.lot.id)
    if not parents or not steps:
        return None
    book, before = store.book(), min(held.made, till or held.made)
    found = [reading_for(store, book.lot(parent, "moisture"), before, steps - 1) for parent in parents]
    known_ones = [r for r in found if r is not None]
    return min(known_ones, key=lambda r: r.at) if len(known_ones) == len(found) else None


def worked_from(store: Store, lot_id: str) -> list[str]:
    """Ids of the lots that a lot was cut, split, jointed or sanded from; none for one that was pressed."""
    rows = store.rows(
        "SELECT e.parent, v.kind FROM edge e JOIN event v ON v.id = e.event WHERE e.child = :lot", lot=lot_id
    )
    return [] if any(kind not in DRY_WORK for _, kind in rows) else [parent for parent, _ in rows]
