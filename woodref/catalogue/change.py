"""One thing that changed between two states of the data, as values that carry their sentences."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.edition import HeldName
from woodref.catalogue.material import Figure, citation, condition_words
from woodref.catalogue.properties import PROPERTIES
from woodref.trade.listings import ListingRow, said_of

#: columns of the figures as CSV; numbers in the property's own unit
CSV_COLUMNS = (
    "material", "property", "what", "changed", "old_value", "old_low", "old_high", "old_unit", "old_evidence",
    "old_source", "old_locator", "new_value", "new_low", "new_high", "new_unit", "new_evidence", "new_source",
    "new_locator", "was_preferred", "is_preferred",
)  # fmt: skip
#: what a figure says, in the order told
FIELDS = (
    "value", "low", "high", "unit", "condition", "evidence", "source", "locator", "printed", "for_taxon",
    "from_", "added_error", "n", "note",
)  # fmt: skip
NUMBERS = ("value", "low", "high")


def _number(value: float, digits: int) -> str:
    return f"{value:.{digits}g}"


def _numbers(figure: Figure, digits: int = 6) -> str:
    """'600 kg/m3', '80-100 MPa', '90 (80-100) MPa'."""
    span = ""
    if figure.low is not None and figure.high is not None:
        span = f"{_number(figure.low, digits)}-{_number(figure.high, digits)}"
    text = span
    if figure.value is not None:
        text = _number(figure.value, digits) + (f" ({span})" if span else "")
    return text if figure.unit == "1" else f"{text} {figure.unit}"


def differing(old: Figure, new: Figure) -> tuple[str, ...]:
    """The fields in which two figures differ, by the file's own keys."""
    return tuple(key.rstrip("_") for key in FIELDS if getattr(old, key) != getattr(new, key))


@dataclass(frozen=True)
class FigureChange:
    """One figure that came, went or changed; fields: what differs, by the file's own keys."""

    material: str
    prop: str
    what: str
    old: Figure | None
    new: Figure | None
    was_preferred: bool
    is_preferred: bool
    fields: tuple[str, ...] = ()
    #: whether the whole material came or went with it
    with_material: bool = False

    @property
    def sentence(self) -> str:
        """What happened to it, in words."""
        tail = {
            (False, True): "it is the preferred figure" + (" now" if self.old else ""),
            (True, False): "it " + ("is no longer" if self.new else "was") + " the preferred figure",
            (True, True): "preferred before and after",
        }.get((self.was_preferred, self.is_preferred))
        known = PROPERTIES.get(self.prop)
        head = f"{known.asks} ({self.prop})" if known else self.prop
        return f"{head} {self._what()}" + (f"; {tail}." if tail else ".")

    def _what(self) -> str:
        old, new = self.old, self.new
        if old is None or new is None:
            figure = old or new
            assert figure is not None
            return f"{self.what}: {said(figure, 6)}"
        if set(self.fields) & {*NUMBERS, "unit", "condition"}:
            alike = _numbers(old) == _numbers(new) and set(self.fields) & set(NUMBERS)
            digits = 15 if alike else 6
            return f"changed from {said(old, digits)} to {said(new, digits)}"
        if citation(old) != citation(new):
            return f"{_placed(new, 6)}: was {citation(old)}; is now {citation(new)}"
        told = f"{', '.join(self.fields)} changed" if self.fields else "not changed itself"
        return f"{said(new, 6)}: {told}"

    def as_dict(self) -> dict[str, Any]:
        return {
            "material": self.material,
            "property": self.prop,
            "what": self.what,
            "changed": list(self.fields),
            "old": _plain(self.old),
            "new": _plain(self.new),
            "was_preferred": self.was_preferred,
            "is_preferred": self.is_preferred,
            "sentence": self.sentence,
        }

    def as_row(self) -> dict[str, Any]:
        """One flat row under CSV_COLUMNS."""
        row: dict[str, Any] = {
            "material": self.material,
            "property": self.prop,
            "what": self.what,
            "changed": list(self.fields),
            "was_preferred": int(self.was_preferred),
            "is_preferred": int(self.is_preferred),
        }
        for side, figure in (("old", self.old), ("new", self.new)):
            for key in (*NUMBERS, "unit", "evidence", "source", "locator"):
                given = getattr(figure, key) if figure else None
                # all digits: a table rounded to six would show some changes as none
                row[f"{side}_{key}"] = _number(given, 15) if isinstance(given, float) else given
        return row


def _placed(figure: Figure, digits: int) -> str:
    """'600 kg/m3 at 12 % moisture'."""
    return f"{_numbers(figure, digits)} {condition_words(figure)}".strip()


def said(figure: Figure, digits: int) -> str:
    """'600 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a)'."""
    return f"{_placed(figure, digits)} ({citation(figure)})"


def _plain(figure: Figure | None) -> dict[str, Any] | None:
    if figure is None:
        return None
    return {key.rstrip("_"): getattr(figure, key) for key in FIELDS}


@dataclass(frozen=True)
class MaterialChange:
    """A material that came, went or took another id. figures: how many it holds (held, when it went);
    now: the id that answers for a material that went."""

    what: str
    id: str
    name: str
    figures: int
    was: str | None = None
    now: str | None = None

    @property
    def sentence(self) -> str:
        told = f"{self.figures} figure{'' if self.figures == 1 else 's'}"
        if self.what == "renamed":
            return f"{self.was} is now {self.id} ({self.name})."
        if self.what == "added":
            return f"{self.id} ({self.name}) added, with {told}."
        after = f"; {self.now} answers to its id" if self.now else ""
        return f"{self.id} ({self.name}) removed, with {told}{after}."

    def as_dict(self) -> dict[str, Any]:
        return {
            key: getattr(self, key) for key in ("what", "id", "name", "figures", "was", "now", "sentence")
        }


@dataclass(frozen=True)
class NameChange:
    """A name that came, went, or is said of other places or with another note. kind: first (the name
    printed first), botanical, synonym, trade or retired (an older id)."""

    material: str
    what: str
    kind: str
    old: HeldName | None
    new: HeldName | None

    @property
    def sentence(self) -> str:
        words = {"first": "name printed first", "botanical": "botanical name", "synonym": "synonym",
                 "trade": "name", "retired": "older id"}[self.kind]  # fmt: skip
        old, new = self.old, self.new
        if old and new:
            if old.text != new.text:
                return f'{words} "{old.text}" became "{new.text}".'
            return f'{words} "{new.text}": {_usage(old)} became {_usage(new)}.'
        name = new or old
        assert name is not None
        lang = f" ({_usage(name)})" if name.lang else ""
        return f'{words} "{name.text}"{lang} {self.what}.'

    def as_dict(self) -> dict[str, Any]:
        def plain(name: HeldName | None) -> dict[str, Any] | None:
            if name is None:
                return None
            return {key: getattr(name, key) for key in ("text", "lang", "regions", "note")}

        head = {"material": self.material, "what": self.what, "kind": self.kind}
        return head | {"old": plain(self.old), "new": plain(self.new), "sentence": self.sentence}


def _usage(name: HeldName) -> str:
    """'en, GB and US, "in trade of old"'."""
    parts = [name.lang or "", " and ".join(name.regions) or "everywhere"]
    return ", ".join([*parts, *([f'"{name.note}"'] if name.note else [])])


@dataclass(frozen=True)
class ListingChange:
    """A listing that came, went or changed."""

    id: str
    what: str
    old: ListingRow | None
    new: ListingRow | None
    fields: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        if self.old and self.new:
            was = said_of(self.old)
            more = f"was: {was}" if was != said_of(self.new) else f"in its {' and '.join(self.fields)}."
            return f"{self.id} changed: {said_of(self.new)} Changed {more}"
        row = self.new or self.old
        assert row is not None
        return f"{self.id} {self.what}: {said_of(row)}"

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "what": self.what,
            "changed": list(self.fields),
            "old": self.old.as_dict() if self.old else None,
            "new": self.new.as_dict() if self.new else None,
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class PartChange:
    """A list beside materials and listings (sources.yaml, adhesives ...): which entries differ."""

    part: str
    added: tuple[str, ...]
    removed: tuple[str, ...]
    changed: tuple[str, ...]

    @property
    def sentence(self) -> str:
        told = [
            f"{len(ids)} {word} ({', '.join(ids[:5])}{' ...' if len(ids) > 5 else ''})"
            for word, ids in (("added", self.added), ("removed", self.removed), ("changed", self.changed))
            if ids
        ]
        return f"{self.part}: {'; '.join(told)}."

    def as_dict(self) -> dict[str, Any]:
        lists = {key: list(getattr(self, key)) for key in ("added", "removed", "changed")}
        return {"part": self.part, **lists, "sentence": self.sentence}


def tally(found: Iterable[Any]) -> str:
    """'1 added, 2 changed'."""
    kinds = [change.what for change in found]
    words = ("added", "removed", "renamed", "changed")
    return ", ".join(f"{kinds.count(word)} {word}" for word in words if word in kinds)
