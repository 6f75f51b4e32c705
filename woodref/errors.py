"""Every fault a user can meet, one base class.

The sentence says what is wrong, where, what was expected and what to do next; the parts stay
readable as attributes so that the command line, JSON and the explorer show the same facts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


def visible(text: str) -> str:
    """A sentence in which no sign is left that a screen obeys instead of showing it: it is written as \\x1b.
    Line ends stay, and so do spaces that do not break."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or c in "\n\u00a0\u202f" else ascii(c)[1:-1] for c in text)


def echo(text: str, most: int = 60) -> str:
    """What a person typed, in quotes and cut short: a sentence is no place for a whole page, nor for signs
    that a screen obeys instead of showing them (those are written as \\x1b)."""
    # a megabyte is not gone through for its first words
    tidy = visible(" ".join(text[: most * 20].split()))
    return f'"{tidy}"' if len(tidy) <= most else f'"{tidy[:most]}…"'


@dataclass(frozen=True)
class Candidate:
    """One thing a name may have meant: id (or None), name and how it differs from the others."""

    id: str | None
    name: str
    says: str = ""


@dataclass(eq=False)
class WoodrefError(Exception):
    """Base of all faults that are the data's or the request's, never the program's."""

    message: str
    where: str | None = None
    expected: str | None = None
    next: str | None = None
    candidates: list[Candidate] = field(default_factory=list)

    code = "fault"
    exit_code = 1

    def __post_init__(self) -> None:
        # what a file or a command line brought into the sentence is shown, never obeyed
        self.message = visible(self.message)
        for key in ("where", "expected", "next"):
            text = getattr(self, key)
            if isinstance(text, str):
                setattr(self, key, visible(text))

    def __str__(self) -> str:
        head = f"{self.where}: {self.message}" if self.where else self.message
        parts = [head if head.endswith((".", "?")) else f"{head}."]
        if self.expected:
            parts.append(f"Expected: {self.expected}.")
        if self.next:
            parts.append(self.next)
        return " ".join(parts)

    def __reduce__(self) -> tuple[Any, ...]:
        # an exception made with keywords keeps no args to be made again from
        parts = (self.message, self.where, self.expected, self.next, self.candidates)
        return type(self), parts

    def as_dict(self) -> dict[str, Any]:
        """The error object of the JSON contract."""
        return {
            "code": self.code,
            "message": self.message,
            "where": self.where,
            "expected": self.expected,
            "next": self.next,
            "candidates": [{"id": c.id, "name": c.name, "says": c.says} for c in self.candidates],
        }


class BadQuantity(WoodrefError):
    """A number, unit or range cannot be read."""

    code = "bad-quantity"
    exit_code = 2


class BadRequest(WoodrefError):
    """An option names something that does not exist or contradicts another."""

    code = "bad-request"
    exit_code = 2


class UnknownName(WoodrefError):
    """No material answers to this name."""

    code = "unknown-name"
    exit_code = 3


class SharedName(WoodrefError):
    """Several woods answer to this name and none is the usual one."""

    code = "shared-name"
    exit_code = 3


class CatalogueUnreadable(WoodrefError):
    """There is no catalogue to answer from: the data have errors and none was built before."""

    code = "catalogue-unreadable"


class CannotAnswer(WoodrefError):
    """The request is clear but the figures it needs are not known."""

    code = "cannot-answer"


class BadLayup(WoodrefError):
    """A layup file says something that cannot be, or leaves out what is needed."""

    code = "bad-layup"


class BadList(WoodrefError):
    """A list of the user's own, or its map, says what cannot be read; or no list of that name is kept."""

    code = "bad-list"


class BadBundle(WoodrefError):
    """A bundle of a layup is spoilt, or holds what no bundle holds."""

    code = "bad-bundle"
