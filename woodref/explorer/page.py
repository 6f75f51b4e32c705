"""A page before it is drawn: which template, what goes into it, and the same answer as JSON and CSV."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

#: what a browser is told for each kind of fault
NOT_FOUND, ASK_AGAIN, BAD_REQUEST = 404, 300, 400


@dataclass(frozen=True)
class Crumb:
    """A step on the way to a page."""

    label: str
    href: str


@dataclass(frozen=True)
class File:
    """Something that is sent as it is: its text, its kind, and the name it is saved under ('' to show it)."""

    body: str
    kind: str
    name: str = ""


@dataclass(frozen=True)
class Page:
    """title: of the window; told: the JSON of the answer (that of the command where there is one); rows: the
    CSV, None where there is no table (either may be a function that is called when it is wanted); notices:
    sentences that stand above the answer; file: sent in place of the page, which then needs no template."""

    template: str
    title: str
    values: Mapping[str, Any] = field(default_factory=dict)
    status: int = 200
    told: Any = None
    rows: Sequence[Mapping[str, Any]] | Callable[[], Sequence[Mapping[str, Any]]] | None = None
    notices: Sequence[str] = ()
    crumbs: Sequence[Crumb] = ()
    file: File | None = None


@dataclass(frozen=True)
class Answered:
    """A page drawn: ready to be sent. headers: beside those of every answer."""

    body: str
    kind: str
    status: int
    headers: Mapping[str, str] = field(default_factory=dict)
