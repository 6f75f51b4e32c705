"""A book as it stood at a moment: what exports look at. Later papers, repairs and corrections do not count.

Without a moment, or when nothing was recorded after it, the worked-out tables answer; else the events
recorded by then are worked out anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from woodref.provenance.balance import Edge
from woodref.provenance.book import Book, Held, Item
from woodref.provenance.closing import last_closing
from woodref.provenance.documents import Paper, paper_of
from woodref.provenance.faults import UnknownLot
from woodref.provenance.kept import Kept
from woodref.provenance.partroles import pressed_roles, role_of
from woodref.provenance.repairs import names_item
from woodref.provenance.rows import edge_from
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store
from woodref.provenance.times import Moment, now
from woodref.provenance.trace import Root, contents

_EDGES = """WITH RECURSIVE a(id) AS (
SELECT id FROM lot WHERE id = :id UNION SELECT e.parent FROM edge e JOIN a ON e.child = a.id)
SELECT e.child, e.parent, e.net_num, e.net_den, e.gross_num, e.gross_den, e.plies, e.event FROM edge e
JOIN a ON e.child = a.id ORDER BY e.n"""
_ALL_EDGES = "SELECT child, parent, net_num, net_den, gross_num, gross_den, plies, event FROM edge ORDER BY n"


@dataclass(frozen=True)
class Placed:
    """An event as it counts, with its number and who recorded it."""

    seq: int
    event: Event
    actor: str | None


class Standing:
    """The book at a moment. at: as it was asked for; events, head: number of events and hash of the last."""

    def __init__(self, store: Store, at: Moment | None = None) -> None:
        self.store, self.at = store, at or now()
        self.replayed = at is not None and self._later(at)
        self.book = store.book()
        self.events, self.head = store.head()
        if self.replayed:
            self._replay()

    def _later(self, at: Moment) -> bool:
        rows = self.store.rows("SELECT payload FROM event ORDER BY seq DESC LIMIT 1")
        return bool(rows) and str(json.loads(rows[0][0])["recorded"]) > at.utc

    def _replay(self) -> None:
        """The events recorded by the moment, worked out anew; names as the book looks them up today."""
        self.book = Book(self.store.knows)
        self._seqs: dict[str, tuple[int, str | None]] = {}
        self.events, self.head = 0, ""
        for seq, payload, hash_ in self.store.rows("SELECT seq, payload, hash FROM event ORDER BY seq"):
            told = json.loads(payload)
            if str(told.pop("recorded")) > self.at.utc:
                break
            actor = told.pop("actor", None)
            event = event_of(told)
            self.book.take(self.book.work_out(event))
            self._seqs[event.id] = int(seq), actor
            self.events, self.head = int(seq), str(hash_)

    # --- lots

    def lot(self, lot_id: str) -> Held:
        """UnknownLot, with near ids, when there was none of that id."""
        return self.book.lot(lot_id, lot_id)

    def item(self, item_id: str) -> Item:
        """UnknownLot when there was no item of that id."""
        held = self.lot(item_id)
        if held.lot.form != "item":
            raise UnknownLot(f"{item_id} is a lot, no item", next=f"woodref stock show {item_id}")
        return self.book.item(item_id, item_id)

    @cached_property
    def all_lots(self) -> list[str]:
        """Every lot, as it was made."""
        if self.replayed:
            return sorted(self.book.lots, key=lambda lot: (self.book.lots[lot].made, lot))
        return [lot for (lot,) in self.store.rows("SELECT id FROM lot ORDER BY made, id")]

    def edges(self, item: str | None) -> dict[str, list[tuple[Edge, str]]]:
        """What lots are made of, with the event that made them so: below an item, or all."""
        out: dict[str, list[tuple[Edge, str]]] = {}
        if not self.replayed:
            rows = self.store.rows(_ALL_EDGES) if item is None else self.store.rows(_EDGES, id=item)
            for row in rows:
                edge = edge_from(row[:7])
                out.setdefault(edge.child, []).append((edge, str(row[7])))
            return out
        todo = list(self.book.edges) if item is None else [item]
        while todo:
            child = todo.pop()
            if child in out or child not in self.book.edges:
                continue
            out[child] = [(e, by) for by, made in self.book.edges[child].items() for e in made]
            if item is not None:
                todo += [edge.parent for edge, _ in out[child]]
        return out

    def roots(self, item: str) -> list[Root]:
        """Received lots in an item, as `trace.whence` tells them."""
        self.item(item)
        bare = {child: [edge for edge, _ in made] for child, made in self.edges(item).items()}
        roots = [Root(self.lot(lot), net, gross) for lot, (net, gross) in contents(bare, item).items()]
        return sorted(roots, key=lambda r: (r.held.made, r.held.lot.id))

    def kept(self, item: str) -> Kept:
        """What an item keeps, by its last closing."""
        if not self.replayed:
            return Kept.of(last_closing(self.store, item))
        by = self.item(item).closed_by
        return Kept.of(self.book.event(by, item).more) if by else Kept()

    def roles(self, item: str) -> dict[str, str]:
        """Lot -> what it is in an item, as the item keeps it, else as the press recorded it."""
        below = {edge.parent for made in self.edges(item).values() for edge, _ in made}
        roles = self.kept(item).roles or pressed_roles(self.book, below)
        return role_of(roles)

    def parts(self, item: str) -> dict[str, list[str]]:
        """Received lot -> the roles of its wood in an item, or the parts that it is in."""
        edges, roles = self.edges(item), self.roles(item)
        out: dict[str, list[str]] = {}
        todo = [(edge.parent, edge.parent) for edge, _ in edges.get(item, ())]
        seen: set[tuple[str, str]] = set()
        while todo:
            lot, part = todo.pop(0)
            part = roles.get(lot, part)
            if (lot, part) in seen:
                continue
            seen.add((lot, part))
            made = edges.get(lot, ())
            if not made:
                out.setdefault(lot, []).append(part)
            todo += [(edge.parent, part) for edge, _ in made]
        return out

    # --- papers

    def papers(self, lots: Iterable[str]) -> dict[str, list[Paper]]:
        """Documents recorded by the moment, by lot, in the order of their ids."""
        out: dict[str, list[Paper]] = {lot: [] for lot in lots}
        if self.replayed:
            for paper in sorted(self.book.papers.values(), key=lambda p: p.id):
                for lot in dict.fromkeys(paper.lots):
                    if lot in out:
                        out[lot].append(paper)
            return out
        for lot, found in out.items():
            rows = self.store.rows(
                "SELECT p.id, p.told FROM paper_lot l JOIN paper p ON p.id = l.paper WHERE l.lot = :lot "
                "ORDER BY p.id", lot=lot,
            )  # fmt: skip
            found += [paper_of(json.loads(told), name) for name, told in rows]
        return out

    # --- events

    def placed(self, names: Iterable[str] | None = None) -> list[Placed]:
        """Events as they count, in the order of the book: those of the names, or all."""
        if self.replayed:
            wanted = self._seqs if names is None else {n: self._seqs[n] for n in names if n in self._seqs}
            rows = sorted((seq, name, actor) for name, (seq, actor) in wanted.items())
        elif names is None:
            rows = [self._row(row) for row in self.store.rows("SELECT seq, id, payload FROM event")]
        else:
            rows = []
            for name in set(names):
                found = self.store.rows("SELECT seq, id, payload FROM event WHERE id = :id", id=name)
                rows += [self._row(row) for row in found]
        return [
            Placed(seq, self.book.event(name, name), actor) for seq, name, actor in sorted(rows, key=_seq)
        ]

    @staticmethod
    def _row(row: tuple[int, str, str]) -> tuple[int, str, str | None]:
        return int(row[0]), row[1], json.loads(row[2]).get("actor")

    def events_about(self, item: str, lots: Iterable[str]) -> list[Placed]:
        """What made the lots of an item and what was done with it since, corrections of that and papers of
        its lots among it."""
        names = {self.lot(lot).by for lot in (*lots, item)}
        names |= {by for made in self.edges(item).values() for _, by in made}
        names |= self._brought(lots) | self._done_with(item)
        names |= self._correcting(names)
        return self.placed(names)

    def _done_with(self, item: str) -> set[str]:
        """Ids of events that close, ship, return or dismantle an item."""
        if self.replayed:
            return {
                e.id for e in self.book.events.values()
                if (e.more.get("item") == item and e.kind != "reserve") or item in [s.lot for s in e.in_]
            }  # fmt: skip
        return {
            name
            for (name,) in self.store.rows(
                "SELECT id FROM event WHERE seq IN (SELECT seq FROM move WHERE lot = :item) OR (kind IN "
                "('close', 'return', 'dismantle') AND payload LIKE :told ESCAPE '!')",
                item=item, told=names_item(item),
            )
        }  # fmt: skip

    def _brought(self, lots: Iterable[str]) -> set[str]:
        """Ids of the events that brought papers of the lots later than the lots themselves."""
        if self.replayed:
            return {
                e.id for e in self.book.events.values()
                if e.kind == "attach-document" and set(_named(e)) & set(lots)
            }  # fmt: skip
        sql = "SELECT DISTINCT p.event FROM paper_lot l JOIN paper p ON p.id = l.paper WHERE l.lot = :lot"
        return {name for lot in lots for (name,) in self.store.rows(sql, lot=lot)}

    def _correcting(self, names: set[str]) -> set[str]:
        out: set[str] = set()
        for name in names:
            if self.replayed:
                out |= {e.id for e in self.book.events.values() if e.more.get("corrects") == name}
            else:
                sql = "SELECT id FROM event WHERE corrects = :id"
                out |= {found for (found,) in self.store.rows(sql, id=name)}
        return out


def _seq(row: tuple[int, str, str | None]) -> int:
    return row[0]


def _named(event: Event) -> list[str]:
    listed = [*event.more.get("documents", ()), *filter(None, [event.more.get("document")])]
    return [lot for value in listed for lot in paper_of(value, event.id).lots]
