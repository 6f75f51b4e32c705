"""An item, or the whole book, as PROV-JSON (W3C member submission): lots and papers are entities, events
activities, the workshop and its hands agents by random ids.

Only what is named here goes out: no note, label, price, buyer, supplier or issuer. Every relation has an id
of its own, amounts are whole numbers of the book's units as xsd:integer, shares fractions in text. PROV-JSON
is for reading by others; what is hashed and signed is the book itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any
from urllib.parse import quote

from woodref.provenance.balance import Edge
from woodref.provenance.book import Held
from woodref.provenance.bookname import book_name
from woodref.provenance.documents import Paper, paper_of
from woodref.provenance.shapes import Event
from woodref.provenance.standing import Placed, Standing
from woodref.provenance.store import Store
from woodref.provenance.times import Moment

TERMS = "urn:woodref:terms:"
#: papers of these tiers stay out; of those below, nothing but that they are there
HIDDEN, BARE = ("private",), ("auditor",)
#: an id that was drawn at random, and tells nobody who it is
_RANDOM = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
#: facts of a lot that go out in words
_FACTS = ("forest", "harvest", "cut", "flitch", "bundle")


def local(name: str) -> str:
    """An id as the local part of a qualified name: whatever is no plain letter, digit, - or _ is escaped."""
    return quote(name, safe="-_")


def prov_json(store: Store, item: str | None = None, at: Moment | None = None) -> dict[str, Any]:
    """PROV-JSON of an item and all that it was made of, or of the whole book; at: as the book stood then.

    UnknownLot when there is no item of that id.
    """
    standing = Standing(store, at)
    if item is None:
        lots = list(standing.all_lots)
        placed = standing.placed()
    else:
        standing.item(item)
        below = {edge.parent for made in standing.edges(item).values() for edge, _ in made}
        lots = sorted({item, *below}, key=lambda lot: (standing.lot(lot).made, lot))
        placed = standing.events_about(item, lots)
    return _Document(standing, lots, placed, item).as_dict()


def whole(value: int) -> dict[str, str]:
    """A whole number as a typed literal."""
    return {"$": str(value), "type": "xsd:integer"}


def term(name: str) -> dict[str, str]:
    """A term of ours as a qualified name."""
    return {"$": f"wr:{name}", "type": "xsd:QName"}


def several(values: Sequence[Any]) -> Any:
    """One value bare, several as a list."""
    return values[0] if len(values) == 1 else list(values)


class _Document:
    def __init__(
        self, standing: Standing, lots: Sequence[str], placed: Sequence[Placed], item: str | None
    ) -> None:
        self.standing, self.lots, self.placed, self.item = standing, lots, placed, item
        self.known = set(lots)
        self.id = book_name(standing.store)
        self.out: dict[str, dict[str, Any]] = {}

    def as_dict(self) -> dict[str, Any]:
        base = f"urn:woodref:book:{self.id}:"
        spaces = {name: f"{base}{name}:" for name in ("lot", "document", "event", "relation")}
        self._put("agent", f"agent:{self.id}", {"prov:type": {"$": "prov:Organization", "type": "xsd:QName"}})
        for lot in self.lots:
            self._put("entity", self._lot(lot), self._lot_facts(self.standing.lot(lot)))
        self._papers()
        edges = self.standing.edges(self.item)
        for placed in self.placed:
            self._event(placed)
        self._derived(edges)
        self._used_up()
        return {"prefix": {"wr": TERMS, "agent": "urn:uuid:", **spaces}, **self.out}

    def _put(self, kind: str, name: str, told: dict[str, Any]) -> None:
        self.out.setdefault(kind, {})[name] = told

    @staticmethod
    def _lot(lot_id: str) -> str:
        return f"lot:{local(lot_id)}"

    def _lot_facts(self, held: Held) -> dict[str, Any]:
        lot = held.lot
        out: dict[str, Any] = {"prov:type": term(lot.form), "prov:label": lot.id, "wr:unit": lot.unit}
        if lot.may_be:
            out["wr:wood"] = several(lot.may_be)
        if lot.countries:
            out["wr:country"] = several(lot.countries)
        if lot.thickness_um is not None:
            out["wr:thickness_um"] = whole(lot.thickness_um)
        if lot.density is not None:
            out["wr:density_kg_m3"] = whole(lot.density)
        if lot.wood_share != 1000:
            out["wr:wood_share_permille"] = whole(lot.wood_share)
        for key in _FACTS:
            if lot.told.get(key):
                out[f"wr:{key}"] = str(lot.told[key])
        if lot.form == "item" and (number := self.standing.item(lot.id).serial):
            out["wr:serial"] = number
        return out

    def _papers(self) -> None:
        found: dict[str, Paper] = {}
        for papers in self.standing.papers(self.lots).values():
            found |= {paper.id: paper for paper in papers if paper.told.get("tier") not in HIDDEN}
        self.papers = found
        for name in sorted(found):
            paper = found[name]
            told: dict[str, Any] = {"prov:type": term(paper.kind), "prov:label": paper.id}
            if paper.told.get("tier") not in BARE:
                for key, value in (("sha256", paper.sha256), ("issued_on", paper.issued_on)):
                    if value:
                        told[f"wr:{key}"] = value
            of = [self._lot(lot) for lot in dict.fromkeys(paper.lots) if lot in self.known]
            told["wr:about"] = several([{"$": lot, "type": "xsd:QName"} for lot in of])
            self._put("entity", f"document:{local(name)}", told)

    # --- events

    def _event(self, placed: Placed) -> None:
        event, name = placed.event, f"event:{local(placed.event.id)}"
        at = _time(event)
        told: dict[str, Any] = {
            "prov:startTime": at, "prov:endTime": at, "prov:type": term(event.kind), "prov:label": event.id,
        }  # fmt: skip
        for key in ("did_not_occur", "corrected_by", "corrects", "reason"):
            if event.more.get(key):
                told[f"wr:{key}"] = str(event.more[key])
        self._put("activity", name, told)
        wasted = {share.lot: share.qty for share in event.waste}
        # a correction repeats the figures of what it corrects, which that event is told with already
        moves = () if event.kind == "correct" else (*event.in_,)
        for n, share in enumerate(moves, 1):
            if share.lot in self.known:
                amount = self._amount(share.qty, share.unit, share.plies, wasted.get(share.lot))
                more = {"prov:activity": name, "prov:entity": self._lot(share.lot), "prov:time": at}
                self._put("used", f"relation:u{placed.seq}.{n}", more | amount)
        for n, share in enumerate(event.out if event.kind != "correct" else (), 1):
            # parts that were added to an item that was there already did not make it
            if share.lot in self.known and self.standing.lot(share.lot).by == event.id:
                more = {"prov:entity": self._lot(share.lot), "prov:activity": name, "prov:time": at}
                self._put(
                    "wasGeneratedBy",
                    f"relation:g{placed.seq}.{n}",
                    more | self._amount(share.qty, share.unit),
                )
        self._about(placed, name, at)
        self._with(placed, name)

    def _amount(self, qty: int, unit: str, plies: int = 1, wasted: int | None = None) -> dict[str, Any]:
        out: dict[str, Any] = {"wr:quantity": whole(qty), "wr:unit": unit}
        if plies != 1:
            out["wr:plies"] = whole(plies)
        if wasted is not None:
            out["wr:waste"] = whole(wasted)
        return out

    def _about(self, placed: Placed, name: str, at: str) -> None:
        """Papers that came with an event, and the item that it closes, takes back, repairs or takes apart."""
        event = placed.event
        brought = [*event.more.get("documents", ()), *filter(None, [event.more.get("document")])]
        papers = [p for p in (paper_of(value, event.id).id for value in brought) if p in self.papers]
        for n, paper in enumerate(papers, 1):
            self._put("used", f"relation:p{placed.seq}.{n}", {
                "prov:activity": name, "prov:entity": f"document:{local(paper)}", "prov:time": at,
                "prov:role": term("paper"),
            })  # fmt: skip
        about = event.more.get("item") or (event.more.get("lot") if event.kind != "release" else None)
        if about in self.known:
            self._put("used", f"relation:i{placed.seq}.1", {
                "prov:activity": name, "prov:entity": self._lot(str(about)), "prov:time": at,
                "prov:role": term("about"),
            })  # fmt: skip
        if event.kind == "correct" and any(p.event.id == event.more.get("corrects") for p in self.placed):
            self._put("wasInformedBy", f"relation:c{placed.seq}.1", {
                "prov:informed": name, "prov:informant": f"event:{local(str(event.more['corrects']))}",
            })  # fmt: skip

    def _with(self, placed: Placed, name: str) -> None:
        """The workshop stands behind every event; the hand that recorded it only by a random id."""
        agents = [self.id]
        if placed.actor and _RANDOM.fullmatch(placed.actor) and placed.actor != self.id:
            agents.append(placed.actor)
            self._put("agent", f"agent:{placed.actor}", {"prov:type": term("hand")})
        for n, agent in enumerate(agents, 1):
            self._put("wasAssociatedWith", f"relation:a{placed.seq}.{n}", {
                "prov:activity": name, "prov:agent": f"agent:{agent}",
            })  # fmt: skip

    # --- what follows from them

    def _derived(self, edges: dict[str, list[tuple[Edge, str]]]) -> None:
        seqs = {placed.event.id: placed.seq for placed in self.placed}
        counted: dict[int, int] = {}
        for child in (lot for lot in self.lots if lot in edges):
            for edge, by in edges[child]:
                seq = seqs[by]
                counted[seq] = counted.get(seq, 0) + 1
                self._put("wasDerivedFrom", f"relation:d{seq}.{counted[seq]}", {
                    "prov:generatedEntity": self._lot(child), "prov:usedEntity": self._lot(edge.parent),
                    "prov:activity": f"event:{local(by)}", "wr:contained": fraction(edge.net),
                    "wr:used": fraction(edge.gross),
                })  # fmt: skip

    def _used_up(self) -> None:
        """A lot of which nothing is left ends with the event that took the last of it, an item when it is
        taken apart; what was shipped is still there, somewhere else."""
        last: dict[str, Placed] = {}
        for placed in sorted(self.placed, key=lambda p: (p.event.at.utc, p.seq)):
            event = placed.event
            if event.kind in ("ship", "correct"):
                continue
            for share in event.in_:
                last[share.lot] = placed
            if event.kind == "dismantle":
                last[str(event.more.get("item"))] = placed
        for lot in self.lots:
            held = self.standing.lot(lot)
            gone = self.standing.item(lot).state == "destroyed" if held.lot.form == "item" else held.qty == 0
            if gone and lot in last and self._is_last(lot, last[lot].event):
                placed = last[lot]
                self._put("wasInvalidatedBy", f"relation:e{placed.seq}.{local(lot)}", {
                    "prov:entity": self._lot(lot), "prov:activity": f"event:{local(placed.event.id)}",
                    "prov:time": _time(placed.event),
                })  # fmt: skip

    def _is_last(self, lot: str, event: Event) -> bool:
        """Whether no event that is not told here, such as one for another item, drew on the lot later."""
        return self.standing.lot(lot).last <= event.at.utc


def _time(event: Event) -> str:
    """When it happened, with its offset in digits."""
    return event.at.local.replace("Z", "+00:00")


def fraction(value: Fraction) -> str:
    """'2', '1/3'."""
    return str(value)
