"""Checking a book: the chain, every event worked out anew, and the worked-out tables against that.

The first bad event is named, and what is still trustworthy: everything before it.
"""

from __future__ import annotations

import gc
from collections.abc import Generator, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import Any, NamedTuple

from woodref.provenance import faults
from woodref.provenance.bookname import book_name
from woodref.provenance.canonical import START, digest, link, read_back, written
from woodref.provenance.replaying import Replay
from woodref.provenance.shapes import WHO_AND_WHEN, event_of
from woodref.provenance.signing import Deposit, deposits_of, keys_of
from woodref.provenance.store import Store
from woodref.provenance.verify_sheets import sheet_flaws
from woodref.provenance.verify_tables import differences


@dataclass(frozen=True)
class Flaw:
    """One thing found. seq: number of the event where it shows, None for the book as a whole."""

    code: str
    seq: int | None
    message: str

    def as_dict(self) -> dict[str, Any]:
        return {"code": self.code, "event_number": self.seq, "message": self.message}


@dataclass(frozen=True)
class Checked:
    """events: how many there are; trusted: how many from the start hold; head: hash of the last."""

    events: int
    trusted: int
    head: str
    flaws: tuple[Flaw, ...]

    @property
    def sound(self) -> bool:
        return not self.flaws

    def sentences(self) -> list[str]:
        """What a person reads."""
        if self.sound:
            return [
                f"{self.events:,} event{' holds' if self.events == 1 else 's hold'}: the chain is whole, "
                "every amount balances, and the tables follow from it.",
                f"Head {self.head}.",
            ]
        out = [f.message for f in self.flaws]
        if self.trusted:
            first = "event 1" if self.trusted == 1 else f"events 1 to {self.trusted:,}"
            out.append(f"Still trustworthy: {first}.")
        else:
            out.append("No event of it can be trusted: put the last backup in its place.")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `book check`."""
        return {
            "sound": self.sound,
            "events": self.events,
            "trusted": self.trusted,
            "head": self.head,
            "flaws": [f.as_dict() for f in self.flaws],
            "sentences": self.sentences(),
        }


def check_book(store: Store, outside: Sequence[Deposit] = ()) -> Checked:
    """Everything `book check` looks at but the documents' files, as it stands at one moment. outside: signed
    heads that were kept out of the house. StorageFault when the file cannot be read."""
    with store.at_one_moment() as still, _nothing_collected():
        return _checked(still, outside)


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """A replay makes many values and no circles of them: to look for circles takes a third of its time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _checked(store: Store, outside: Sequence[Deposit]) -> Checked:
    integrity = _integrity(store)
    if integrity:
        return Checked(0, 0, "", (Flaw("storage", None, integrity),))
    flaws: list[Flaw] = []
    events, trusted, hash_ = 0, 0, START
    with closing(Replay(store)) as replay, closing(_events(store)) as rows:
        for row in rows:
            events += 1
            flaw = _unreadable(row) or _chain(row, events, hash_)
            if flaw is None:
                hash_ = bytes.fromhex(row.hash)
                flaw = _replayed(replay, row)
            if flaw is not None:
                flaws.append(flaw)
                break
            trusted = events
        whole = int(store.rows("SELECT count(*) FROM event")[0][0])
        if not flaws:
            flaws += _head(store, events, hash_)
            flaws += _tables(store, replay)
    flaws += _signed(store, whole, outside)
    return Checked(whole, trusted, hash_.hex(), tuple(flaws))


def _integrity(store: Store) -> str | None:
    """SQLite's own check of its pages; None when it is content, or on another database."""
    if store.engine.dialect.name != "sqlite":
        return None
    found = [row[0] for row in store.rows("PRAGMA quick_check(3)")]
    return None if found == ["ok"] else f"The file is damaged: {'; '.join(map(str, found))}."


class _Row(NamedTuple):
    """An event as it lies in the book; of text that is damaged the odd bytes are lone surrogates."""

    seq: int
    payload: str
    before: str
    hash: str
    content: str
    id: str
    kind: str
    at: str
    corrects: str


def _events(store: Store) -> Generator[_Row]:
    """Every event's row, in order."""
    from sqlalchemy import text

    raw = store.engine.dialect.name == "sqlite"  # which gives what lies there; PostgreSQL keeps text whole
    columns = ", ".join(f"CAST({name} AS BLOB)" if raw else name for name in _Row._fields[1:])
    query = text(f"SELECT seq, {columns} FROM event ORDER BY seq")
    with (
        store.reading() as connection,
        connection.execute(query, execution_options={"yield_per": 1000}) as rows,
    ):
        for seq, *told in rows:
            if raw:
                told = [(value or b"").decode("utf-8", "surrogateescape") for value in told]
            yield _Row(seq if isinstance(seq, int) else -1, *(value or "" for value in told))


def _unreadable(row: _Row) -> Flaw | None:
    try:
        row.payload.encode("utf-8")
    except UnicodeEncodeError:
        return Flaw("chain-broken", row.seq, f"Event {row.seq} cannot be read any more: its text is damaged.")
    return None


def _chain(row: _Row, expected: int, hash_: bytes) -> Flaw | None:
    seq = row.seq
    if seq != expected:
        return Flaw(
            "chain-broken", expected, f"Event {expected} is missing: the next one here is number {seq}."
        )
    if row.before != hash_.hex() or link(hash_, row.payload.encode("utf-8")).hex() != row.hash:
        return Flaw(
            "chain-broken", seq, f"Event {seq} was changed after it was recorded: its hash does not fit."
        )
    return None


def _replayed(replay: Replay, row: _Row) -> Flaw | None:
    """Work the event out as when it was recorded."""
    seq = row.seq
    try:
        bare = _bare(read_back(row.payload))
    except (ValueError, RecursionError):
        bare = None
    except faults.BookFault as fault:
        return Flaw("rule-broken", seq, f"Event {seq} breaks a rule of the book: {fault}")
    if bare is None or digest(written(bare)) != row.content:
        return Flaw("chain-broken", seq, f"Event {seq} is not written as woodref writes it.")
    try:
        event = event_of(bare, in_order=True)
        # a later event finds it by these
        if (row.id, row.kind, row.at, row.corrects) != (
            event.id, event.kind, event.at.utc, event.more.get("corrects") or "",
        ):  # fmt: skip
            return Flaw("chain-broken", seq, f"Event {seq} is not filed under what it says of itself.")
        replay.take(seq, event)
    except faults.StorageFault:  # of the disk, not of this event
        raise
    except (faults.BookFault, ValueError, KeyError) as fault:
        return Flaw("rule-broken", seq, f"Event {seq} breaks a rule of the book: {fault}")
    return None


def _bare(told: Any) -> dict[str, Any]:
    """A payload without who recorded it and when."""
    if not isinstance(told, dict):
        raise ValueError("no mapping")
    return {key: value for key, value in told.items() if key not in WHO_AND_WHEN}


def _head(store: Store, events: int, hash_: bytes) -> list[Flaw]:
    try:
        seq, found = store.head()
    except faults.StorageFault as fault:
        return [Flaw("cut-short", None, f"{fault.message[:1].upper()}{fault.message[1:]}.")]
    if (seq, found) == (events, hash_.hex()):
        return []
    return [Flaw("cut-short", None, f"The head says {seq:,} events; found: {events:,}.")]


def _signed(store: Store, events: int, outside: Sequence[Deposit]) -> list[Flaw]:
    """Everything that was signed: heads kept here and outside, sheets that were given out."""
    try:
        own = {said.public_key for said in keys_of(store)}
        flaws = _deposits(store, events)
        flaws += [Flaw("sheet-off", None, told) for told in sheet_flaws(store, own)]
        for held in outside:
            flaws += off_chain(store, held, events)
        return flaws
    except (faults.BookFault, LookupError, TypeError, ValueError) as fault:
        says = f"What was signed cannot be held against the book: {getattr(fault, 'message', fault)}."
        return [Flaw("storage", None, says)]


def _deposits(store: Store, events: int) -> list[Flaw]:
    """Signed heads that no longer lie on the chain, or that no key of the book signed."""
    own = {said.public_key for said in keys_of(store)}
    out = []
    for held in deposits_of(store):
        out += off_chain(store, held, events)
        if held.told["key"] not in own or not held.sound:
            out.append(Flaw(
                "bad-key", held.told["events"],
                f"The head kept as signed on {held.told['at']} is not signed by a key of this book.",
            ))  # fmt: skip
    return out


def off_chain(store: Store, held: Deposit, events: int) -> list[Flaw]:
    """A signed head that is not on the chain: the book was written anew, or cut short."""
    count, at = held.told["events"], held.told["at"]
    if held.told["book"] != book_name(store):
        return [Flaw("other-book", None, f"The head signed on {at} is that of another book.")]
    if count > events:
        return [Flaw("cut-short", None, f"{count:,} events were signed for on {at}, {events:,} are found.")]
    found = store.rows("SELECT hash FROM event WHERE seq = :seq", seq=count)
    if not found or found[0][0] != held.told["head"]:
        says = f"The head signed on {at} is not on the chain: the book was written anew."
        return [Flaw("chain-broken", count, says)]
    return []


def _tables(store: Store, replay: Replay) -> list[Flaw]:
    try:
        return [Flaw("table-off", None, told) for told in differences(store, replay)]
    except faults.StorageFault as fault:
        says = f"The tables that are worked out from the events cannot be read: {fault.message}."
        return [Flaw("table-off", None, says)]
