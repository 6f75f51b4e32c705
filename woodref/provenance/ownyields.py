"""What a shop's own cuts have yielded, by kind of leaf, out of its stock book.

Of burr are cuts of lots that are told to be burr or crotch; of a matched face those whose pieces were jointed
afterwards, with what the jointing took; all other cuts of leaves are plain. Offcuts that were kept are no
waste. A cut that was corrected counts as it is corrected, one that did not occur not at all.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from fractions import Fraction

from woodref.layup.asked import FIGURED
from woodref.provenance.corrections import corrected
from woodref.provenance.rows import event_from
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store

#: cuts of a kind from which on the shop's own yield is taken (shop rule)
ENOUGH = 10
#: forms of lots whose cuts are cuts of leaves
LEAVES = ("veneer", "engineered-veneer")


@dataclass(frozen=True)
class OwnYield:
    """cuts: of this kind in the book; share: area of the pieces over the area of the leaves they were cut
    from, None without a cut; joints: jointings that are reckoned in."""

    kind: str
    cuts: int = 0
    share: Fraction | None = None
    joints: int = 0

    @property
    def enough(self) -> bool:
        """Whether it goes before what is usual."""
        return self.cuts >= ENOUGH and bool(self.share)


def own_yields(store: Store) -> dict[str, OwnYield]:
    """Kind of leaf (plain, matched, burr) -> what the book's cuts of it have yielded."""
    cuts, joints = _events(store, "cut"), _events(store, "edge-join")
    worked = {share.lot for event in (*cuts, *joints) for share in event.in_}
    leaves = {
        name: json.loads(facts)["told"].get("cut")
        for name, facts in store.rows(
            "SELECT id, facts FROM lot WHERE form IN (:one, :two)", one=LEAVES[0], two=LEAVES[1]
        )
        if name in worked
    }
    joints = [event for event in joints if all(share.lot in leaves for share in event.in_)]
    jointed = {share.lot for event in joints for share in event.in_}
    found: dict[str, list[Event]] = {"plain": [], "matched": [], "burr": []}
    for event in cuts:
        if not all(share.lot in leaves for share in event.in_):
            continue
        how = {leaves[share.lot] for share in event.in_}
        kind = "burr" if how & {*FIGURED} else "matched" if jointed & {s.lot for s in event.out} else "plain"
        found[kind].append(event)
    out = {kind: OwnYield(kind, len(events), _share(events)) for kind, events in found.items()}
    lost, faces = _share(joints), out["matched"]
    if faces.share is not None and lost is not None:
        out["matched"] = OwnYield("matched", faces.cuts, faces.share * lost, len(joints))
    return out


def _share(events: list[Event]) -> Fraction | None:
    taken = sum(share.qty for event in events for share in event.in_)
    kept = sum(share.qty for event in events for share in event.out)
    return Fraction(kept, taken) if taken else None


def _events(store: Store, kind: str) -> list[Event]:
    """Events of a kind as they count now, without those that did not occur."""
    rows = store.rows("SELECT id, payload FROM event WHERE kind = :kind ORDER BY seq", kind=kind)
    found = {name: event_from(payload) for name, payload in rows}
    later = store.rows(
        "SELECT c.corrects, c.payload FROM event c JOIN event e ON e.id = c.corrects WHERE e.kind = :kind "
        "ORDER BY c.seq",
        kind=kind,
    )
    for name, payload in later:
        found[name] = corrected(found[name], event_from(payload))
    return [event for event in found.values() if event.in_ and event.out]
