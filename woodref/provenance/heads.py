"""The last head known of each book, kept apart from it: a copy that lacks its latest events is seen.

A plain copy of an SQLite file without the log beside it opens without a word and lacks what was in the log.
The chain cannot show that, since what is left of it is whole.
"""

from __future__ import annotations

import json
from typing import Any

from woodref.provenance.bookname import book_id
from woodref.provenance.faults import StorageFault
from woodref.provenance.places import heads_place, write_private
from woodref.provenance.store import Store
from woodref.provenance.verify import Flaw


def known_heads() -> dict[str, dict[str, Any]]:
    """Book id -> {events, head, on}. StorageFault when the file is spoilt."""
    path = heads_place()
    if not path.exists():
        return {}
    try:
        told = json.loads(path.read_text("utf-8"))
        return {
            str(k): {"events": int(v["events"]), "head": str(v["head"]), "on": str(v["on"])}
            for k, v in told.items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise StorageFault(
            f"the record of last heads at {path} cannot be read",
            next="Move it away; the next backup writes it anew.",
        ) from None


def remember(book: str, events: int, head: str, on: str) -> None:
    """Keep a head as the last one known of a book. on: the day."""
    told = known_heads() | {book: {"events": events, "head": head, "on": on}}
    write_private(heads_place(), json.dumps(dict(sorted(told.items())), indent=1).encode())


def beyond_known(store: Store) -> list[Flaw]:
    """What the last head known says against a book: it has fewer events, or other ones."""
    try:
        last = known_heads().get(book_id(store))
    except StorageFault as fault:
        return [Flaw("storage", None, str(fault))]
    if last is None or not last["events"]:
        return []
    have = int(store.rows("SELECT count(*) FROM event")[0][0])
    if have < last["events"]:
        return [
            Flaw(
                "cut-short", None,
                f"{last['events']:,} events were backed up on {last['on']}, {have:,} are found: this is an "
                "older copy, or one made without the log beside the book.",
            )
        ]  # fmt: skip
    found = store.rows("SELECT hash FROM event WHERE seq = :seq", seq=last["events"])
    if found and found[0][0] == last["head"]:
        return []
    return [
        Flaw(
            "chain-broken", last["events"],
            f"Event {last['events']:,} is not the one that was backed up on {last['on']}: the book was "
            "written anew.",
        )
    ]  # fmt: skip
