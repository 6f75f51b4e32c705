"""The write path of a book: events worked out one by one, and what they do written in batches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from woodref.provenance import faults
from woodref.provenance.book import Change
from woodref.provenance.canonical import START, canonical, digest, link
from woodref.provenance.fetched import Fetched, Within
from woodref.provenance.personal import refuse_personal
from woodref.provenance.rows import head_of, lot_facts
from woodref.provenance.shapes import WHO_AND_WHEN, Event
from woodref.provenance.times import Moment, later

if TYPE_CHECKING:
    from sqlalchemy import Connection, Table

    from woodref.provenance.store import Store

#: events recorded between two writes of a long list
BATCH = 500
#: how far an event may lie after the recording clock: clocks differ by minutes, a wrong year does not
AHEAD = dt.timedelta(days=1)
#: who records: one id for all events, or the id of an event -> who
Actor = str | Mapping[str, str] | None


@dataclass(frozen=True)
class Recorded:
    """An event in the book. again: it stood there already, with the same content."""

    seq: int
    event: Event
    hash: str
    again: bool = False


class Writer:
    """Works events out against a fetched state and writes what they do, in batches within one transaction."""

    def __init__(self, store: Store, connection: Connection, actor: Actor, when: Moment, prove: Any) -> None:
        from sqlalchemy import text

        from woodref.provenance.tables import BookTable

        self.tables: dict[str, Table] = dict(BookTable.metadata.tables)
        self.connection, self.actor, self.when, self.text = connection, actor, when, text
        self.rows: dict[str, list[dict[str, Any]]] = {}
        self.deltas: dict[str, list[int]] = {}
        self.lasts: dict[str, str] = {}
        self.waiting = 0
        self.fetched = Fetched(store, connection, self.flush, prove)
        if hasattr(prove, "within"):  # it weighs a claim by what this very transaction has written
            prove.within(Within(self.fetched))
        self.book = self.fetched.book
        self.seq, found = head_of(connection)
        self.hash = bytes.fromhex(found) if self.seq else START
        self.seen: dict[str, str] = {}

    def record(self, events: Sequence[Event], progress: Any) -> list[Recorded]:
        known = self._there("event", [e.id for e in events], "content")
        made = list(dict.fromkeys(s.lot for e in events for s in e.out))
        self.book.absent = set(made) - set(self._there("lot", made, "id"))
        out = []
        for event in events:
            said = {key: value for key, value in event.as_dict().items() if key not in WHO_AND_WHEN}
            content = digest(canonical(said))
            there = self.seen.get(event.id) or known.get(event.id)
            if there is not None:
                if there != content:
                    raise faults.EventConflict(
                        f"{event.id} exists with a different content hash", where=event.id,
                        expected="a new id, or the very same event",
                    )  # fmt: skip
                out.append(Recorded(0, event, "", again=True))
            else:
                out.append(self._one(event, content))
            if progress:
                progress(len(out))
        self.flush()
        self.connection.execute(
            self.text("UPDATE head SET seq = :seq, hash = :hash WHERE one = 1"),
            {"seq": self.seq, "hash": self.hash.hex()},
        )
        return out

    def _there(self, table: str, ids: Sequence[str], column: str) -> dict[str, str]:
        """Those ids that are in a table, each with a column of its row."""
        rows = self.tables[table]
        found: dict[str, str] = {}
        for start in range(0, len(ids), BATCH):
            part = ids[start : start + BATCH]
            query = rows.select().with_only_columns(rows.c.id, rows.c[column]).where(rows.c.id.in_(part))
            found |= {row[0]: row[1] for row in self.connection.execute(query)}
        return found

    def _one(self, event: Event, content: str) -> Recorded:
        if later(event.at, self.when) > AHEAD:
            raise faults.InFuture(
                f"{event.at.local} lies in the future", where=event.id,
                expected=f"a time up to now, which is {self.when.utc} on this machine",
            )  # fmt: skip
        who = self.actor.get(event.id) if isinstance(self.actor, Mapping) else self.actor
        refuse_personal(event, who)
        change = self.book.work_out(event)
        payload = event.as_dict() | {"recorded": self.when.utc}
        if who:
            payload["actor"] = who
        body = canonical(payload)
        before, self.hash = self.hash, link(self.hash, body)
        self.seq += 1
        self._add("event", {
            "seq": self.seq, "id": event.id, "kind": event.kind, "at": event.at.utc,
            "corrects": event.more.get("corrects"), "content": content, "payload": body.decode(),
            "before": before.hex(), "hash": self.hash.hex(),
        })  # fmt: skip
        self._write(event, change)
        self.book.take(change)
        self.seen[event.id] = content
        self.waiting += 1
        if self.waiting >= BATCH:
            self.flush()
        return Recorded(self.seq, event, self.hash.hex())

    def _add(self, table: str, row: dict[str, Any]) -> None:
        self.rows.setdefault(table, []).append(row)

    def _write(self, event: Event, change: Change) -> None:
        for lot in change.lots:
            self._add("lot", {
                "id": lot.id, "made_by": event.id, "made": event.at.utc, "form": lot.form, "unit": lot.unit,
                "facts": lot_facts(lot),
            })  # fmt: skip
            self._add("balance", {"lot": lot.id, "qty": 0, "reserved": 0, "last": event.at.utc})
        for n, move in enumerate(change.moves):
            self._add("move", {
                "seq": self.seq, "n": n, "lot": move.lot, "qty": move.qty, "role": move.role,
                "plies": move.plies,
                "at": move.at,
            })  # fmt: skip
            self._delta(move.lot, move.qty, 0, move.at)
        by = (change.effective or event).id
        gone, come = change.uses()
        for lot_id in gone:
            self.flush()
            self._run("DELETE FROM use WHERE lot = :lot AND event = :event", lot=lot_id, event=by)
        for lot_id in come:
            self._add("use", {"lot": lot_id, "seq": self.seq, "event": by})
        self._edges(event, change)
        for reservation in change.reserves:
            self._add("reservation", asdict(reservation))
            self._delta(reservation.lot, 0, reservation.qty, "")
        for paper in change.papers:
            self._add("paper", {
                "id": paper.id, "kind": paper.kind, "sha256": paper.sha256, "event": event.id,
                "recorded": self.when.utc,
                "told": canonical(dict(paper.told) | {"sha256": paper.sha256}).decode(),
            })  # fmt: skip
            for lot_id in dict.fromkeys(paper.lots):
                self._add("paper_lot", {"lot": lot_id, "paper": paper.id})
        self._rare(change)

    def _delta(self, lot: str, qty: int, reserved: int, at: str) -> None:
        held = self.deltas.setdefault(lot, [0, 0])
        held[0] += qty
        held[1] += reserved
        self.lasts[lot] = max(self.lasts.get(lot, ""), at)

    def _edges(self, event: Event, change: Change) -> None:
        if change.old is not None:
            self.flush()
            for child in {s.lot for s in change.old.out} | {str(change.old.more.get("item"))}:
                self._run(
                    "DELETE FROM edge WHERE child = :child AND event = :event",
                    child=child,
                    event=change.old.id,
                )
        by = change.effective.id if change.effective else event.id
        for n, edge in enumerate(change.edges):
            self._add("edge", {
                "child": edge.child, "parent": edge.parent, "n": self.seq * 100 + n, "event": by,
                "net_num": edge.net.numerator, "net_den": edge.net.denominator,
                "gross_num": edge.gross.numerator, "gross_den": edge.gross.denominator, "plies": edge.plies,
            })  # fmt: skip

    def _run(self, sql: str, **values: Any) -> int:
        return int(self.connection.execute(self.text(sql), values).rowcount)

    def _rare(self, change: Change) -> None:
        """What is written at once, since it changes a row: items, releases, closer names, what did not
        occur."""
        for item in change.items:
            self.flush()
            self._run("DELETE FROM item WHERE id = :id", id=item.id)
            self._add("item", asdict(item))
        for reservation in change.releases:
            self.flush()
            self._run("DELETE FROM reservation WHERE id = :id", id=reservation.id)
            self._delta(reservation.lot, 0, -reservation.qty, "")
        for lot in change.narrowed:
            self.flush()
            self._run("UPDATE lot SET facts = :facts WHERE id = :id", facts=lot_facts(lot), id=lot.id)
        for name in change.withdrawn:
            self.flush()
            self._run("DELETE FROM paper_lot WHERE paper = :id", id=name)
            self._run("DELETE FROM paper WHERE id = :id", id=name)
        for lot_id in change.undone:
            self.flush()
            self._run("DELETE FROM edge WHERE child = :id", id=lot_id)
            self._run("DELETE FROM item WHERE id = :id", id=lot_id)
            self._run("DELETE FROM balance WHERE lot = :id", id=lot_id)
            self._run("DELETE FROM lot WHERE id = :id", id=lot_id)

    def flush(self) -> None:
        """Write what waits. A balance that would fall below zero is refused by the database as well."""
        rows, self.rows, self.waiting = self.rows, {}, 0
        for table in _ORDER:
            if table in rows:
                self.connection.execute(self.tables[table].insert(), rows[table])
        deltas, self.deltas = self.deltas, {}
        lasts, self.lasts = self.lasts, {}
        if deltas:
            self.connection.execute(
                self.text(
                    "UPDATE balance SET qty = qty + :qty, reserved = reserved + :reserved, "
                    "last = CASE WHEN last < :last THEN :last ELSE last END WHERE lot = :lot"
                ),
                [
                    {"lot": lot, "qty": qty, "reserved": reserved, "last": lasts.get(lot, "")}
                    for lot, (qty, reserved) in deltas.items()
                ],
            )


_ORDER = ("event", "lot", "balance", "move", "use", "edge", "item", "reservation", "paper", "paper_lot")
