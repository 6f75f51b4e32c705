"""Fields that a page does not know, or does not take twice: told, never passed over, so that a slip in a
link changes no answer.

A module of pages says in FIELDS which fields each of its pages takes; `drawing.answer` holds every page to
that, and a page that says nothing takes none.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from woodref.errors import BadRequest, echo
from woodref.explorer.asking import WORD, Ask


@dataclass(frozen=True)
class Fields:
    """once: fields that are filled in once; several: those that may come again; rows: those of numbered rows,
    as a pattern of the whole name."""

    once: Collection[str] = ()
    several: Collection[str] = ()
    rows: re.Pattern[str] | None = None


def fields_of_page(name: str) -> Fields:
    """The fields of a page, named module:function."""
    module, _, function = name.partition(":")
    held: dict[str, Fields] = getattr(import_module(f"woodref.explorer.pages.{module}"), "FIELDS", {})
    return held.get(function, Fields())


def check(ask: Ask, known: Fields) -> None:
    """Tell every filled field that is none of these, or that is filled in two ways where one counts. The
    links of the page ask without those that are none."""
    for name in ask.fields:
        held = ask.many(name)
        if not held or name == WORD or name in known.several:
            continue
        if name not in known.once and not (known.rows and known.rows.fullmatch(name)):
            ask.unknown.add(name)
            ask.wrong.setdefault(name, f"{echo(name)} is no field of this page.")
        elif len(set(held)) > 1:
            ask.wrong.setdefault(
                name, f"{echo(name)} is filled in twice: {' and '.join(map(echo, held[:2]))}."
            )
    ask.fields = {name: held for name, held in ask.fields.items() if name not in ask.unknown}


def refused(ask: Ask) -> dict[str, Any]:
    """The JSON of a question whose fields cannot be read: the error object, with the sentence of each."""
    return {"error": refusal(ask).as_dict() | {"fields": dict(ask.wrong)}}


def refusal(ask: Ask) -> BadRequest:
    """The same as a fault."""
    return BadRequest(" ".join(ask.wrong.values()))
