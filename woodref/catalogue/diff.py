"""What changed between two states of the data: materials, their figures and names, listings.

Order: by id, properties in their closed order, figures in the order of the newer file and then those that
went.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.catalogue.change import (
    FigureChange,
    ListingChange,
    MaterialChange,
    NameChange,
    PartChange,
    differing,
    tally,
)
from woodref.catalogue.edition import Edition, Held, HeldName
from woodref.catalogue.pairing import paired
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Notice
from woodref.trade.listings import ListingRow


@dataclass(frozen=True)
class Diff:
    """Everything that differs. blocks: material -> other parts of its file that differ (look, working)."""

    old: Edition
    new: Edition
    materials: tuple[MaterialChange, ...]
    figures: tuple[FigureChange, ...]
    names: tuple[NameChange, ...]
    blocks: dict[str, tuple[str, ...]]
    listings: tuple[ListingChange, ...]
    parts: tuple[PartChange, ...]
    notices: tuple[Notice, ...]

    @property
    def count(self) -> int:
        """How many things differ."""
        every = (self.materials, self.figures, self.names, self.blocks, self.listings, self.parts)
        return sum(len(found) for found in every)

    @property
    def summary(self) -> str:
        """'Materials: 1 added, 1 removed. Figures of the others: 2 changed. ...'"""
        if not self.count:
            return "Nothing differs."
        standing = [f for f in self.figures if not f.with_material]
        groups = (
            ("Materials", self.materials),
            ("Figures of materials on both sides", standing),
            ("Names", self.names),
            ("Listings", self.listings),
        )
        told = [f"{head}: {tally(found)}." for head, found in groups if found]
        if self.blocks:
            told.append(f"Materials whose file differs in something else: {len(self.blocks)}.")
        if self.parts:
            told.append(f"Other lists that differ: {len(self.parts)}.")
        return " ".join(told)

    @property
    def paragraphs(self) -> list[tuple[str, list[str]]]:
        """Headings with their sentences, in the order printed."""
        out = [("Materials", [m.sentence for m in self.materials])]
        for held in self.new.materials.values():
            said = [f.sentence for f in self.figures if f.material == held.id and not f.with_material]
            said += [n.sentence for n in self.names if n.material == held.id]
            if held.id in self.blocks:
                said.append(f"Its file differs in {' and '.join(self.blocks[held.id])}, too.")
            out.append((f"{held.id} ({held.name})", said))
        out.append(("Listings", [row.sentence for row in self.listings]))
        out.append(("Other lists", [part.sentence for part in self.parts]))
        return [(head, said) for head, said in out if said]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `data diff`; catalogue is the newer side."""
        return {
            "query": {"old": self.old.where, "new": self.new.where},
            "count": self.count,
            "summary": self.summary,
            "materials": [m.as_dict() for m in self.materials],
            "figures": [f.as_dict() for f in self.figures],
            "names": [n.as_dict() for n in self.names],
            "blocks": [{"material": m, "blocks": list(blocks)} for m, blocks in self.blocks.items()],
            "listings": [row.as_dict() for row in self.listings],
            "parts": [part.as_dict() for part in self.parts],
            "notices": [n.as_dict() for n in self.notices],
            "before": self.old.stamp,
            "catalogue": self.new.stamp,
        }


def compare(old: Edition, new: Edition) -> Diff:
    """What came, went or changed from old to new. What either side could not read is left out, with a
    notice."""
    unread = old.unread | new.unread
    pairs = renamed(old.materials, new.materials)
    before = {pairs.get(mid, mid): held for mid, held in old.materials.items() if mid not in unread}
    after = {
        mid: held for mid, held in new.materials.items() if mid in before or not unread & {mid, *held.retired}
    }
    materials, figures, names = [], [], []
    blocks: dict[str, tuple[str, ...]] = {}
    for mid in sorted({*before, *after}):
        was, now = before.get(mid), after.get(mid)
        materials += _material(mid, was, now, new)
        figures += _figures(mid, was, now)
        if was and now:
            called = _names(was, now)
            names += called
            differ = _blocks(was, now, called)
            if differ:
                blocks[mid] = differ
    listings = [] if "trade/listings.yaml" in unread else _listings(old.listings, new.listings)
    return Diff(
        old,
        new,
        tuple(materials),
        tuple(figures),
        tuple(names),
        blocks,
        tuple(listings),
        tuple(_parts(old, new, unread)),
        tuple(_notices(old, new)),
    )


def renamed(old: dict[str, Held], new: dict[str, Held]) -> dict[str, str]:
    """Id that went -> id that came and answers to it; the first of several that became one."""
    out: dict[str, str] = {}
    for mid, held in new.items():
        gone = [was for was in held.retired if was in old and was not in new]
        if mid not in old and gone:
            out[gone[0]] = mid
    for mid, held in old.items():  # the older state held up as the newer one
        back = [was for was in held.retired if was in new and was not in old and was not in out.values()]
        if mid not in new and mid not in out and back:
            out[mid] = back[0]
    return out


def _material(mid: str, was: Held | None, now: Held | None, new: Edition) -> list[MaterialChange]:
    if was is None:
        assert now is not None
        return [MaterialChange("added", mid, now.name, now.count)]
    if now is None:
        answers = next((h.id for h in new.materials.values() if was.id in h.retired), None)
        return [MaterialChange("removed", mid, was.name, was.count, now=answers)]
    if was.id != now.id:
        return [MaterialChange("renamed", mid, now.name, now.count, was=was.id)]
    return []


def _figures(mid: str, was: Held | None, now: Held | None) -> list[FigureChange]:
    whole = was is None or now is None
    out = []
    held = {*(was.figures if was else ()), *(now.figures if now else ())}
    for name in [*PROPERTIES, *sorted(held - {*PROPERTIES})]:  # an older file may hold one that was given up
        mine = was.figures.get(name, []) if was else []
        theirs = now.figures.get(name, []) if now else []
        for one, two in paired(mine, theirs):
            flags = (bool(one and one.preferred), bool(two and two.preferred))
            if one and two:
                fields = differing(one.figure, two.figure)
                if fields or flags[0] != flags[1]:
                    out.append(FigureChange(mid, name, "changed", one.figure, two.figure, *flags, fields))
            elif two:
                out.append(FigureChange(mid, name, "added", None, two.figure, *flags, (), whole))
            elif one:
                out.append(FigureChange(mid, name, "removed", one.figure, None, *flags, (), whole))
    return out


def _names(was: Held, now: Held) -> list[NameChange]:
    out = []
    if was.name != now.name:
        one, two = (HeldName("first", h.name, None, (), None) for h in (was, now))
        out.append(NameChange(now.id, "changed", "first", one, two))
    for kind in ("botanical", "synonym", "trade", "retired"):
        mine = {(n.text, n.lang): n for n in was.names if n.kind == kind}
        theirs = {(n.text, n.lang): n for n in now.names if n.kind == kind}
        if kind == "retired" and was.id != now.id:  # told as the renaming
            theirs.pop((was.id, None), None)
            mine.pop((now.id, None), None)
        if kind == "botanical" and mine and theirs and mine.keys() != theirs.keys():
            one, two = next(iter(mine.values())), next(iter(theirs.values()))
            out.append(NameChange(now.id, "changed", kind, one, two))
            continue
        for key, name in theirs.items():
            old = mine.get(key)
            if old != name:
                out.append(NameChange(now.id, "changed" if old else "added", kind, old, name))
        out += [NameChange(now.id, "removed", kind, n, None) for key, n in mine.items() if key not in theirs]
    return out


def _blocks(was: Held, now: Held, called: list[NameChange]) -> tuple[str, ...]:
    """Other parts of the file that differ; the botanical names are told by themselves."""
    told = {"woods"}  # follows from made_from
    if any(change.kind in ("botanical", "synonym") for change in called):
        told.add("botanical")
    keys = sorted({*was.blocks, *now.blocks} - told)
    return tuple(key for key in keys if was.blocks.get(key) != now.blocks.get(key))


def _listings(old: dict[str, ListingRow], new: dict[str, ListingRow]) -> list[ListingChange]:
    out = []
    for row_id in sorted({*old, *new}):
        one, two = old.get(row_id), new.get(row_id)
        if one is None or two is None:
            out.append(ListingChange(row_id, "added" if two else "removed", one, two))
        elif one != two:
            fields = tuple(k for k in vars(two) if getattr(one, k) != getattr(two, k))
            out.append(ListingChange(row_id, "changed", one, two, fields))
    return out


def _parts(old: Edition, new: Edition, unread: frozenset[str]) -> list[PartChange]:
    out = []
    for part in sorted({*old.parts, *new.parts}):
        if any(file == part or file.startswith(f"{part}/") for file in unread):
            continue
        mine, theirs = old.parts.get(part, {}), new.parts.get(part, {})
        added = tuple(sorted(theirs.keys() - mine.keys()))
        removed = tuple(sorted(mine.keys() - theirs.keys()))
        changed = tuple(sorted(k for k in mine.keys() & theirs.keys() if mine[k] != theirs[k]))
        if added or removed or changed:
            out.append(PartChange(part, added, removed, changed))
    return out


def _notices(old: Edition, new: Edition) -> list[Notice]:
    out = []
    for side in (old, new):
        if side.errors:
            left = ", ".join(sorted(side.unread)) or "nothing"
            out.append(
                Notice(
                    "data-have-errors",
                    f"{side.where} has {side.errors} error{'' if side.errors == 1 else 's'} (`woodref data "
                    f"check --data {side.where}` tells them). Not compared for that reason: {left}.",
                )
            )
    return out
