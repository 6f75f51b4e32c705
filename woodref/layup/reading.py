"""Reading one mapping of a layup file: every key known, every quantity in its unit, each fault with its line.

Faults are gathered, so that a person mends a file in one go. The shape of the file is in `layupfile`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from woodref.catalogue.yamlload import composed, line_in
from woodref.errors import BadLayup, BadQuantity, Candidate, WoodrefError, echo
from woodref.units import celsius, quantity

T = TypeVar("T")
Step = str | int
#: faults of one file that are told: a file of nothing else must not keep the reader busy
MOST_FAULTS = 1000


class Faults:
    """The faults of one file. edits: paths that an option changed -> the option, told instead of a line."""

    def __init__(self, file: str, body: bytes, edits: Mapping[tuple[Step, ...], str] | None = None) -> None:
        self.file, self.edits = file, {} if edits is None else edits
        self._nodes = composed(body)
        self.found: list[tuple[str, str, str | None]] = []
        self._times = 0
        #: steps of the plies as they stand in the file, once repeats are written out
        self.steps: list[tuple[Step, ...]] = []

    def where(self, path: tuple[Step, ...]) -> str:
        """'seat.yaml:12' for a path into the file, or the option that set it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.edits:
                return self.edits[path[:length]]
        if path[:1] == ("plies",) and len(path) > 1 and isinstance(path[1], int) and self.steps:
            path = (*self.steps[path[1]], *path[2:])
        return self.line(path)

    def changed(self, path: tuple[Step, ...]) -> bool:
        """Whether an option changed what stands at this very path."""
        return path in self.edits

    def line(self, path: tuple[Step, ...]) -> str:
        """'seat.yaml:12' for a path as it stands in the file, repeats not written out."""
        return f"{self.file}:{line_in(self._nodes, path)}"

    def add(
        self, path: tuple[Step, ...], says: str, expected: str | None = None, as_it_stands: bool = False
    ) -> None:
        """One fault, told once. as_it_stands: the path is one of the file, repeats not written out."""
        self._times += 1
        if self._times > MOST_FAULTS:
            return
        fault = (self.line(path) if as_it_stands else self.where(path), says, expected)
        if fault not in self.found:
            self.found.append(fault)

    def settle(self) -> None:
        """Raise BadLayup when anything was found: one fault as its sentence, several as a list."""
        if not self.found:
            return
        where, says, expected = self.found[0]
        if len(self.found) == 1:
            raise BadLayup(says, where=where, expected=expected)
        told = [
            Candidate(None, place, f"{text}; expected: {want}" if want else text)
            for place, text, want in self.found
        ]
        more = "more than " if self._times > len(self.found) == MOST_FAULTS else ""
        raise BadLayup(
            f"{more}{len(told)} things in {self.file} cannot be read", next="Mend them:", candidates=told
        )


class Block:
    """One mapping at a path. Each reader takes a key out; `done` tells of keys that nobody asked for."""

    def __init__(self, value: Any, path: tuple[Step, ...], faults: Faults, keys: Iterable[str]) -> None:
        self.path, self.faults = path, faults
        self.held: dict[str, Any] = {}
        known = tuple(keys)
        if value is None:
            return
        if not isinstance(value, dict):
            name = path[-1] if path else "the file"
            if isinstance(name, int):
                name = f"number {name + 1} of {path[-2]}"
            faults.add(path, f"{name} is no mapping", expected=f"keys: {', '.join(known)}")
            return
        for key, sub in value.items():
            if key not in known:
                faults.add((*path, key), f"{echo(key)} is not known here", expected=", ".join(known))
            else:
                self.held[key] = sub

    def at(self, key: str) -> tuple[Step, ...]:
        return (*self.path, key)

    def where(self, key: str) -> str:
        return self.faults.where(self.at(key))

    def has(self, key: str) -> bool:
        return self.held.get(key) is not None

    def wrong(self, key: str, says: str, expected: str | None = None) -> None:
        self.faults.add(self.at(key), says, expected)

    def _read(self, key: str, read: Callable[[Any], T]) -> T | None:
        if not self.has(key):
            return None
        try:
            return read(self.held[key])
        except WoodrefError as fault:
            self.wrong(key, f"{key}: {fault.message}", fault.expected)
        return None

    def amount(self, key: str, unit: str, low: float, high: float) -> float | None:
        """A quantity with its unit, low..high in the given one."""

        def read(value: Any) -> float:
            if isinstance(value, bool | list | dict):
                raise BadQuantity(f"{echo(str(value))} is not a quantity", expected=f"such as {low:g} {unit}")
            if isinstance(value, int | float):
                raise BadQuantity(
                    f"{echo(str(value))} has no unit", expected=f"such as {echo(f'{value} {unit}')}"
                )
            found = float(quantity(str(value)).to(unit).value)
            if not low <= found <= high:
                raise BadQuantity(f"{echo(value)} is outside", expected=f"{low:g} to {high:g} {unit}")
            return found

        return self._read(key, read)

    def degrees(self, key: str, low: float, high: float) -> float | None:
        """An angle: a bare number of degrees."""
        return self.bare(key, low, high, "angle", "degrees")

    def bare(self, key: str, low: float, high: float, kind: str, unit: str) -> float | None:
        """A number without a unit; kind and unit say what it counts."""

        def read(value: Any) -> float:
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise BadQuantity(f"{echo(str(value))} is no {kind}", expected=f"{unit}, {low:g} to {high:g}")
            if not low <= value <= high:
                raise BadQuantity(f"{echo(str(value))} {unit} is outside", expected=f"{low:g} to {high:g}")
            return float(value)

        return self._read(key, read)

    def whole(self, key: str, low: int, high: int) -> int | None:
        def read(value: Any) -> int:
            if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
                raise BadQuantity(
                    f"{echo(str(value))} does not count", expected=f"a whole number, {low} to {high}"
                )
            return value

        return self._read(key, read)

    def warmth(self, key: str, low: float, high: float) -> float | None:
        """A temperature [C]; the unit has to be written."""

        def read(value: Any) -> float:
            text = str(value)
            if not re.search(r"[CF]\s*$", text):
                raise BadQuantity(f"{echo(text)} has no unit", expected=f"such as {echo(text + ' C')}")
            found = celsius(text)
            if not low <= found <= high:
                raise BadQuantity(f"{echo(text)} is outside", expected=f"{low:g} to {high:g} C")
            return found

        return self._read(key, read)

    def word(self, key: str, known: tuple[str, ...]) -> str | None:
        def read(value: Any) -> str:
            if str(value) not in known:
                raise BadQuantity(f"{echo(str(value))} is not known", expected=" | ".join(known))
            return str(value)

        return self._read(key, read)

    def text(self, key: str) -> str | None:
        def read(value: Any) -> str:
            if not isinstance(value, str) or not value.strip():
                raise BadQuantity(f"{echo(str(value))} is no text", expected="words")
            return " ".join(value.split())

        return self._read(key, read)

    def yes(self, key: str) -> bool | None:
        """yes | no, or true | false."""

        def read(value: Any) -> bool:
            if value in ("yes", "no"):
                return bool(value == "yes")
            if not isinstance(value, bool):
                raise BadQuantity(f"{echo(str(value))} is not known", expected="yes | no")
            return value

        return self._read(key, read)

    def listed(self, key: str) -> list[Any]:
        """A list, or [] when the key is absent; a line of nothing but its hyphen is an empty mapping."""
        value = self.held.get(key)
        if value is None:
            return []
        if not isinstance(value, list):
            self.wrong(key, f"{key} is no list", expected="lines that begin with a hyphen")
            return []
        return [{} if entry is None else entry for entry in value]

    def part(self, key: str, keys: Iterable[str]) -> Block:
        """A mapping below this one; empty when absent. What is no mapping is told once, and then absent."""
        value = self.held.get(key)
        if not isinstance(value, dict):
            self.held.pop(key, None)
        return Block(value, self.at(key), self.faults, keys)
