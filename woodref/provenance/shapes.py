"""Lots, parts of events and events as values, read strictly from JSON. Amounts are whole numbers: mm2 of one
layer, nL, mg, pieces; thickness in um.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from woodref.errors import echo
from woodref.provenance import kept
from woodref.provenance.canonical import in_nfc
from woodref.provenance.faults import BadShape, Cycle, NoUnit
from woodref.provenance.strict import named as named
from woodref.provenance.strict import whole as whole
from woodref.provenance.times import Moment, moment

UNITS = ("mm2", "nL", "mg", "pcs")
FORMS = (
    "veneer", "engineered-veneer", "sawn", "board", "panel", "part", "item", "adhesive", "finish", "hardware",
)  # fmt: skip
#: forms that are wood or hold it, and are judged
WOODEN = ("veneer", "engineered-veneer", "sawn", "board")
#: kind of event -> what the bench says
KINDS = {
    "receive": "received", "open-stock": "found on the shelf", "split": "split", "merge": "thrown together",
    "cut": "cut", "slice": "sliced", "sand": "sanded thinner", "edge-join": "jointed", "laminate": "pressed",
    "assemble": "put together", "assemble-close": "put together and closed", "close": "closed",
    "ship": "shipped", "return": "came back", "repair": "repaired", "dismantle": "taken apart",
    "scrap": "scrapped", "sample": "given as a sample", "loss": "lost", "reserve": "reserved",
    "release": "released", "narrow": "identified more closely", "attach-document": "given a paper",
    "annotate": "noted", "correct": "corrected", "key": "signing key",
}  # fmt: skip
#: kinds that bring wood in: the papers beside them in a file go with them
CREATES = ("receive", "open-stock")
REASONS = ("did_not_occur", "incorrect_data")
#: how sure the name of a wood is, surest last
IDENTIFIED_BY = ("nobody", "eye", "paper", "other-test", "microscopy")


@dataclass(frozen=True)
class Share:
    """A lot with an amount in an event. plies: layers of a laminate's input."""

    lot: str
    qty: int
    unit: str
    plies: int = 1

    def as_dict(self) -> dict[str, Any]:
        out: dict[str, Any] = {"lot": self.lot, "qty": self.qty, "unit": self.unit}
        return out if self.plies == 1 else out | {"plies": self.plies}


@dataclass(frozen=True)
class Event:
    """One event. more: everything else its kind takes (note, claim, label, corrects, reason, document
    ...)."""

    id: str
    kind: str
    at: Moment
    in_: tuple[Share, ...] = ()
    out: tuple[Share, ...] = ()
    waste: tuple[Share, ...] = ()
    lots: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    more: Mapping[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """What is hashed and stored, but for who recorded it and when."""
        out: dict[str, Any] = {
            "id": self.id,
            "kind": self.kind,
            "time": self.at.utc,
            "offset": self.at.offset,
        }
        for key, shares in (("in", self.in_), ("out", self.out), ("waste", self.waste)):
            if shares:
                out[key] = [share.as_dict() for share in shares]
        if self.lots:
            out["lots"] = {key: dict(lot) for key, lot in self.lots.items()}
        return out | dict(self.more)


#: keys of an event beside those every event has
MORE = (
    "note", "actor", "claim", "label", "corrects", "reason", "document", "documents", "item", "serial",
    "until", "qty", "lot", "reservation", "layup", "mould", "glue_lot", "set_moisture_permille", "finish",
    "to", "species", "identified_by", "leaf_notes", "shelf", "moisture", "stack", "public_key", "value",
    "what", "thickness_um", "part_roles", "emission", "care", "repairable",
    "old_key", "signature",
)  # fmt: skip
#: of what is stored, who recorded it and when: not part of what the event itself says
WHO_AND_WHEN = ("recorded", "actor")
_MORE = frozenset(MORE)
_KEYS = {"id", "kind", "time", "offset", "in", "out", "waste", "lots", *MORE}


def event_of(
    value: object,
    lots: Mapping[str, Mapping[str, Any]] | None = None,
    papers: Sequence[Mapping[str, Any]] = (),
    in_order: bool = False,
) -> Event:
    """An event from its JSON. lots, papers: those beside it in a file; what it creates, and the papers of
    that, are taken along; in_order: it was read back from a canonical text.

    Raises the fault that names what is wrong and in which event.
    """
    if not isinstance(value, Mapping):
        raise BadShape("an event is no mapping", expected="{id, kind, time, in, out, waste}")
    # one word is one word from here on, in whichever of its ways it was typed
    value = dict(value) if in_order else in_nfc(dict(value))
    assert isinstance(value, dict)
    name = named(value.get("id"), "event")
    unknown = set(value) - _KEYS
    if unknown:
        raise BadShape(f"{', '.join(sorted(map(str, unknown)))} is not known here", where=name)
    kind = value.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise BadShape(f"{echo(str(kind))} is no kind of event", where=name, expected=", ".join(KINDS))
    at = moment(value.get("time"), name)
    if value.get("offset") is not None:
        at = at.meant(value["offset"], name)
    shares = {key: _shares(value.get(key), f"{name}.{key}") for key in ("in", "out", "waste")}
    made = {s.lot for s in shares["out"]}
    again = made & {s.lot for s in shares["in"]}
    if again and kind != "repair":
        raise Cycle(f"{', '.join(sorted(again))}: a lot cannot be made from itself", where=name)
    own = value.get("lots") or {}
    if not isinstance(own, Mapping):
        raise BadShape("lots is no mapping", where=name, expected="{LOT: {form, unit, ...}}")
    beside = {**(lots or {}), **own}
    for key in made & beside.keys():
        if not isinstance(beside[key], Mapping):
            raise BadShape(f"lot {key} is no mapping", where=name, expected="{form, unit, ...}")
    told = {key: dict(beside[key]) for key in sorted(made & beside.keys())}
    more = {key: sub for key, sub in value.items() if sub is not None and key in _MORE}
    kept.check(kind, more, name)
    for key in ("label", "serial", "note"):
        _words(more.get(key, ""), key, name)
    if "actor" in more:
        named(more["actor"], "actor", name)
    papers_in = more.get("documents", ())
    if not isinstance(papers_in, list | tuple):
        raise BadShape("documents is no list", where=name, expected="[{id, kind, lot}]")
    if kind in CREATES and (beside_it := [p for p in papers if made & named_lots(p)]):
        more["documents"] = [*papers_in, *beside_it]
    return Event(name, str(kind), at, shares["in"], shares["out"], shares["waste"], told, more)


def _words(value: object, key: str, where: str) -> None:
    """BadShape for what is no text, or holds signs that a screen would obey instead of showing them; a note
    may have several lines."""
    lines = value.translate(_LINES) if isinstance(value, str) and key == "note" else value
    if not isinstance(lines, str) or not lines.isprintable():
        raise BadShape(
            f"{key} {echo(str(value))} is no text", where=where,
            expected="printed letters" + (" and new lines" if key == "note" else ""),
        )  # fmt: skip


_LINES = str.maketrans("\n\r\t", "   ")


def named_lots(paper: Mapping[str, Any]) -> set[str]:
    """Ids of the lots that a document names, as far as they are text."""
    several = paper.get("lots")
    listed = [paper.get("lot"), *(several if isinstance(several, list | tuple) else ())]
    return {lot for lot in listed if isinstance(lot, str)}


def _shares(value: object, where: str) -> tuple[Share, ...]:
    if value is None:
        return ()
    if not isinstance(value, list | tuple):
        raise BadShape("a list is wanted", where=where, expected="[{lot, qty, unit}]")
    out = []
    for entry in value:
        if not isinstance(entry, Mapping) or set(entry) - {"lot", "qty", "unit", "plies"}:
            raise BadShape(
                f"{echo(str(entry))} is not understood", where=where, expected="{lot, qty, unit, plies}"
            )
        unit = entry.get("unit")
        if unit not in UNITS:
            raise NoUnit(
                f"{echo(str(entry.get('lot')))}: unit "
                f"{'missing' if unit is None else echo(str(unit)) + ' is not known'}",
                where=where,
                expected=", ".join(UNITS),
            )
        lot = named(entry.get("lot"), "lot", where)
        plies = whole(entry.get("plies", 1), f"{lot}: plies", 1, where)
        out.append(Share(lot, whole(entry.get("qty"), f"{lot}: amount", 1, where), str(unit), plies))
    names = [s.lot for s in out]
    twice = {n for n in names if names.count(n) > 1}
    if twice:
        raise BadShape(f"{', '.join(sorted(twice))} stands twice", where=where, expected="each lot once")
    return tuple(out)
