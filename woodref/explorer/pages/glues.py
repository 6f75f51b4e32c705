"""The glues as a list: browsing with the kind set to glues."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from woodref.explorer.asking import Ask
from woodref.explorer.known import refused
from woodref.explorer.page import Page
from woodref.selection.glues import find_glues, flat_glue, glue_table

TITLE = "Browse the glues"


def glues(ask: Ask, form: dict[str, Any], of_woods: Sequence[str]) -> Page:
    """Every glue whose name holds the words. of_woods: fields that ask something of a wood alone."""
    for name in of_woods:
        if ask.many(name):
            ask.wrong.setdefault(name, "This cannot be asked of a glue. Leave it out, or ask of a wood.")
    if ask.wrong:
        return Page("woods.html", TITLE, form | {"opened": True, "found": None}, told=refused(ask))
    found = find_glues(ask.one("text"), ask.catalogue)
    head, lines = glue_table(found, ask.units)
    rows = [
        {"id": glue["id"], "name": line[0], "cells": list(zip(head[1:], line[1:], strict=True))}
        for glue, line in zip(found.rows, lines, strict=True)
    ]
    return Page(
        "glues.html", TITLE, form | {"opened": False, "head": head, "lines": rows, "closing": found.closing},
        told=found.as_dict(), rows=[flat_glue(glue) for glue in found.rows],
        notices=[n.message for n in found.notices],
    )  # fmt: skip
