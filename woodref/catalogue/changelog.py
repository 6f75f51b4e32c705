"""Is every preferred figure that changed since the last release told in data/CHANGES.md?

data/released.csv holds the preferred figures of the last release. With its head line alone nothing was
released yet, and nothing can have changed.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from woodref.catalogue.diff import renamed
from woodref.catalogue.edition import Edition, Held
from woodref.catalogue.properties import PROPERTIES
from woodref.errors import CatalogueUnreadable

CHANGES = "CHANGES.md"
RELEASED = "released.csv"
COLUMNS = ("material", "property", "value", "low", "high", "unit", "evidence", "source")
#: the section of what is not released yet; every other one names its release
UNRELEASED = "Unreleased"

#: material -> property -> the rest of a line of released.csv
Snapshot = dict[str, dict[str, tuple[str, ...]]]


@dataclass(frozen=True)
class Difference:
    """One thing a reader of the changes must find: the words that its line has to hold."""

    words: tuple[str, ...]
    says: str

    def told_in(self, lines: Iterable[str]) -> bool:
        """Whether one line holds all of the words, each by itself and not as a part of another."""
        return any(
            all(re.search(rf"(?<![\w-]){re.escape(w)}(?![\w-])", line) for w in self.words) for line in lines
        )


def snapshot_of(edition: Edition) -> Snapshot:
    """The preferred figures of a state of the data, properties in their closed order."""
    return {mid: _lines(held) for mid, held in edition.materials.items()}


def _lines(held: Held) -> dict[str, tuple[str, ...]]:
    out = {}
    for name in PROPERTIES:
        figure = held.preferred(name)
        if figure is not None:
            numbers = ["" if n is None else repr(n) for n in (figure.value, figure.low, figure.high)]
            out[name] = (*numbers, figure.unit, figure.evidence, figure.source or "")
    return out


def as_csv(snapshot: Snapshot) -> str:
    """The text of released.csv, the same bytes every time. A material without a preferred figure has one
    line without a property, so that it is not taken for a new one later."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for mid in sorted(snapshot):
        empty = {"": ("",) * (len(COLUMNS) - 2)}
        writer.writerows((mid, name, *rest) for name, rest in (snapshot[mid] or empty).items())
    return out.getvalue()


def released(folder: Path) -> Snapshot:
    """What released.csv of a data folder holds; empty before the first release."""
    text = _read(folder / RELEASED)
    rows = list(csv.reader(text.splitlines()))
    if not rows or tuple(rows[0]) != COLUMNS:
        raise CatalogueUnreadable(
            "the head line is not what it should be", where=RELEASED, expected=",".join(COLUMNS)
        )
    out: Snapshot = {}
    for number, row in enumerate(rows[1:], start=2):
        if len(row) != len(COLUMNS):
            raise CatalogueUnreadable(
                f"{len(row)} cells", where=f"{RELEASED}:{number}", expected=f"{len(COLUMNS)} cells"
            )
        held = out.setdefault(row[0], {})
        if row[1]:
            held[row[1]] = tuple(row[2:])
    return out


def _read(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except OSError as fault:
        raise CatalogueUnreadable(f"{path} cannot be read ({fault.strerror or fault})") from None


def sections(text: str) -> dict[str, list[str]]:
    """Heading of each section of CHANGES.md -> its list items, a wrapped one as one line."""
    out: dict[str, list[str]] = {}
    items: list[str] = []
    open_item = False
    for line in text.splitlines():
        if line.startswith("## "):
            items = out.setdefault(line[3:].strip(), [])
            open_item = False
        elif line.startswith("- "):
            items.append(line[2:].strip())
            open_item = True
        elif open_item and line.startswith("  ") and line.strip():
            items[-1] += f" {line.strip()}"
        else:
            open_item = False
    return out


def differences(before: Snapshot, edition: Edition) -> list[Difference]:
    """What changed since the snapshot: one entry a figure, one for a whole material that came, went or
    took another id. Before the first release (an empty snapshot) there is nothing to tell."""
    if not before:
        return []
    stood = {mid: Held(mid, mid) for mid in before}
    ids = renamed(stood, edition.materials)
    was_of = {new: old for old, new in ids.items()}
    out = [
        Difference((old, new, "renamed"), f"{old} is now {new}: the line names both and says renamed")
        for old, new in sorted(ids.items())
    ]
    now = snapshot_of(edition)
    for mid in sorted({*(ids.get(mid, mid) for mid in before), *now}):
        old = before.get(was_of.get(mid, mid))
        new = now.get(mid)
        if old is None:
            out.append(Difference((mid, "added"), f"{mid} is new: the line names it and says added"))
        elif new is None:
            out.append(Difference((mid, "removed"), f"{mid} is gone: the line names it and says removed"))
        else:
            out += _figures(mid, old, new)
    return out


def _figures(mid: str, old: dict[str, tuple[str, ...]], new: dict[str, tuple[str, ...]]) -> list[Difference]:
    out = []
    for name in [*PROPERTIES, *(n for n in old if n not in PROPERTIES)]:
        was, now = old.get(name), new.get(name)
        if was != now:
            words = f"{mid} {name}: {_words(was)} became {_words(now)}: the line names material and property"
            out.append(Difference((mid, name), words))
    return out


def _words(line: tuple[str, ...] | None) -> str:
    """'600.0 kg/m3 quoted fpl-gtr-190'."""
    return "nothing" if line is None else " ".join(cell for cell in line if cell)


def unannounced(folder: Path) -> list[str]:
    """A sentence for every difference since the last release that no line under "Unreleased" tells."""
    before = released(folder)
    lines = sections(_read(folder / CHANGES)).get(UNRELEASED, [])
    if not before:
        return []
    from woodref.catalogue.edition import read_edition

    found = differences(before, read_edition(folder))
    return [difference.says for difference in found if not difference.told_in(lines)]
