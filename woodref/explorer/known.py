"""Fields that a page does not know, or does not take twice: told, never passed over, so that a slip in a
link changes no answer."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from woodref.errors import BadRequest, echo
from woodref.explorer.asking import Ask

#: the word that opens the door from a phone, which every page may carry
WORD = "word"


def only(ask: Ask, once: Collection[str], several: Collection[str] = ()) -> None:
    """Tell every filled field that is none of these, or that is filled in two ways where one counts."""
    for name in ask.fields:
        held = ask.many(name)
        if not held or name == WORD or name in several:
            continue
        if name not in once:
            ask.wrong.setdefault(name, f"{echo(name)} is no field of this page.")
        elif len(set(held)) > 1:
            ask.wrong.setdefault(
                name, f"{echo(name)} is filled in twice: {' and '.join(map(echo, held[:2]))}."
            )


def refused(ask: Ask) -> dict[str, Any]:
    """The JSON of a question whose fields cannot be read: the error object, with the sentence of each."""
    fault = BadRequest(" ".join(ask.wrong.values()))
    return {"error": fault.as_dict() | {"fields": dict(ask.wrong)}}
