"""Made-up veneers, with the pattern drawn from the recipe."""

from __future__ import annotations

from typing import Any

from woodref.catalogue.names import resolve
from woodref.explorer.asking import Ask
from woodref.explorer.drawn import leaf as drawn
from woodref.explorer.page import Crumb, Page
from woodref.selection.madesheets import (
    MOST_LEAVES,
    PROCESS_WORDS,
    SKETCH,
    MadeSheet,
    made_sheet,
    made_sheets,
)

WAY = (Crumb("Made-up veneers", "/sheets"),)


def sheets(ask: Ask) -> Page:
    """All of them, with the edge of the block where a recipe is held."""
    found = made_sheets(ask.catalogue)
    rows = [_line(sheet) for sheet in found]
    told = [sheet.as_dict() for sheet in found]
    return Page(
        "sheets.html",
        "Made-up veneers",
        {
            "groups": [
                (words, [row for row in rows if row["process"] == process])
                for process, words in PROCESS_WORDS.items()
            ],
            "sketch": SKETCH,
        },
        told={"count": len(told), "rows": told, "catalogue": ask.catalogue.stamp},
        rows=[{"id": t["id"], "name": t["name"], "process": t["process"], "base": t["base"],
               "look_of": t["look_of"], "repeat_leaves": t["repeat_leaves"]} for t in told],
    )  # fmt: skip


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
    leaf = ask.whole("leaf", 1, MOST_LEAVES, 1)
    found = made_sheet(ask.catalogue.material(matched.id), ask.catalogue, leaf)
    block = found.block
    values: dict[str, Any] = {
        "id": found.material.id,
        "sentences": found.sentences,
        "looks_like": found.looks_like,
        "base": found.base,
        "leaf": leaf,
        "most": MOST_LEAVES,
        "svg": None,
        "sheets": block.sheets if block else (),
    }
    if block:
        title = f"{found.material.name}, leaf {leaf}"
        values |= {
            "svg": drawn.leaf(block, title, " ".join(found.sentences)),
            "edge": drawn.edge(block, 48, 320),
            "moves": not block.plain,
            "earlier": ask.link(leaf=str(leaf - 1)) if leaf > 1 else None,
            "later": ask.link(leaf=str(leaf + 1)) if leaf < MOST_LEAVES else None,
            "long": f"{block.window[0]:.0f}",
            "wide": f"{block.window[1]:.0f}",
        }
    return Page(
        "madesheet.html", found.material.name, values, told=found.as_dict(),
        rows=found.rows() if block else None, crumbs=WAY,
        notices=[notice.message for notice in matched.notices],
    )  # fmt: skip
