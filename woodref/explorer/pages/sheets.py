"""Engineered veneers, with the pattern drawn from the recipe."""

from __future__ import annotations

from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.names import resolve
from woodref.explorer.asking import Ask
from woodref.explorer.drawn import leaf as drawn
from woodref.explorer.known import Fields
from woodref.explorer.page import Crumb, Page
from woodref.explorer.paging import leaf, turned
from woodref.selection.madesheets import (
    MOST_LEAVES,
    PROCESS_WORDS,
    SKETCH,
    MadeSheet,
    made_of,
    made_sheet,
    made_sheets,
)

WAY = (Crumb("Engineered veneers", "/engineered"),)
#: the fields of each page
FIELDS = {"sheets": Fields(("page",)), "sheet": Fields(("leaf", "region"))}


def sheets(ask: Ask) -> Page:
    """All of them, with the edge of the block where a recipe is held."""
    found = made_of(ask.catalogue)
    # the headings in their order, and below each its sheets by name
    every = [m for process in PROCESS_WORDS for m in found if _process(m) == process]
    shown = leaf(ask, every)
    lines = [_line(made_sheet(m, ask.catalogue)) for m in shown.rows]
    return Page(
        "sheets.html",
        "Engineered veneers",
        {
            "groups": [
                (words, [line for line in lines if line["process"] == process])
                for process, words in PROCESS_WORDS.items()
            ],
            "sketch": SKETCH, "leaf": shown, **turned(ask, shown),
        },
        told=lambda: {
            "count": len(found), "rows": [sheet.as_dict() for sheet in made_sheets(ask.catalogue)],
            "catalogue": ask.catalogue.stamp,
        },
        rows=lambda: [_flat(sheet.as_dict()) for sheet in made_sheets(ask.catalogue)],
    )  # fmt: skip


def _process(material: Material) -> str:
    return str((material.made_from or {})["process"])


def _flat(told: dict[str, Any]) -> dict[str, Any]:
    """One line for CSV."""
    return {key: told[key] for key in ("id", "name", "process", "base", "look_of", "repeat_leaves")}


def _line(sheet: MadeSheet) -> dict[str, Any]:
    m = sheet.material
    return {
        "id": m.id,
        "name": m.name,
        "process": (m.made_from or {})["process"],
        "says": sheet.sentences[0],
        "edge": drawn.edge(sheet.block) if sheet.block else None,
    }


def sheet(ask: Ask) -> Page:
    """One of them, and the leaf asked for."""
    matched = resolve(ask.path["name"], ask.catalogue, ask.shop.today, ask.one("region") or None)
    number = ask.whole("leaf", 1, MOST_LEAVES, 1)
    found = made_sheet(ask.catalogue.material(matched.id), ask.catalogue, number)
    block = found.block
    values: dict[str, Any] = {
        "id": found.material.id,
        "sentences": found.sentences,
        "looks_like": found.looks_like,
        "base": found.base,
        "leaf": number,
        "most": MOST_LEAVES,
        "svg": None,
        "sheets": block.sheets if block else (),
    }
    if block:
        title = f"{found.material.name}, leaf {number}"
        values |= {
            "svg": drawn.leaf(block, title, " ".join(found.sentences)),
            "edge": drawn.edge(block, 48, 320),
            "moves": not block.plain,
            "earlier": ask.link(leaf=str(number - 1)) if number > 1 else None,
            "later": ask.link(leaf=str(number + 1)) if number < MOST_LEAVES else None,
            "long": f"{block.window[0]:.0f}",
            "wide": f"{block.window[1]:.0f}",
        }
    return Page(
        "madesheet.html", found.material.name, values, told=found.as_dict(),
        rows=found.rows() if block else None, crumbs=WAY,
        notices=[notice.message for notice in matched.notices],
    )  # fmt: skip
