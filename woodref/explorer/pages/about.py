"""About the data: edition, grades, sources, how much is known, how to report a wrong figure."""

from __future__ import annotations

from typing import Any

from woodref.catalogue.bibliography import bibliography
from woodref.catalogue.coverage import coverage as counted
from woodref.catalogue.coverage import material_rows, table_rows, unknown_rows
from woodref.catalogue.usedby import used_by
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields, refused
from woodref.explorer.page import Crumb, Page
from woodref.explorer.paging import leaf, turned
from woodref.selection.about import GRADES_MORE
from woodref.selection.about import about as told

WAY = (Crumb("About the figures", "/about"),)
SOURCES = (*WAY, Crumb("Sources", "/about/sources"))
FIELDS = {name: Fields(("page",)) for name in ("sources", "source", "coverage")}


def about(ask: Ask) -> Page:
    """What the figures are worth and where they come from."""
    found = told(ask.catalogue)
    licences = [(words, [(i, f"/about/source/{i}") for i in ids]) for words, ids in found.licences.items()]
    values = {
        "about": found, "more": GRADES_MORE, "licences": licences,
        "tables": None if ask.shop.public else "/catalogue",
    }  # fmt: skip
    return Page(
        "about.html", "About the figures", values, told=refused(ask) if ask.wrong else found.as_dict()
    )


def sources(ask: Ask) -> Page:
    """Every document and rule cited, with how it was seen and what rests on it."""
    every = bibliography(ask.catalogue)
    shown = leaf(ask, every)
    values = {"leaf": shown, **turned(ask, shown)}
    notices = [n.as_dict() for n in ask.catalogue.notices]
    body: dict[str, Any] = {
        "query": {}, "count": len(every), "rows": [row.as_dict() for row in every], "notices": notices,
        "catalogue": ask.catalogue.stamp,
    }  # fmt: skip
    return Page(
        "sources.html", "Sources", values, told=refused(ask) if ask.wrong else body,
        rows=[row.as_dict() for row in every], crumbs=WAY,
    )  # fmt: skip


def source(ask: Ask) -> Page:
    """One source and where it is used."""
    found = used_by(ask.path["id"], ask.catalogue)
    shown = leaf(ask, found.materials)
    rows = [
        {"id": m.id, "name": m.name, "figures": m.count, "rests": m.sentence}
        for m in found.materials
    ]  # fmt: skip
    values = {
        "found": found, "leaf": shown, **turned(ask, shown),
        "table": None if ask.shop.public else f"/catalogue/figure?source_id={found.cited.source['id']}",
    }  # fmt: skip
    return Page(
        "source.html", found.cited.source["title"], values,
        told=refused(ask) if ask.wrong else found.as_dict(), rows=rows, crumbs=SOURCES,
    )  # fmt: skip


def coverage(ask: Ask) -> Page:
    """How many materials have each figure, by which evidence, and how often nothing is known."""
    found = counted(ask.catalogue)
    head, rows = table_rows(found)
    heads, each = material_rows(found)
    least = sorted(found.each, key=lambda m: (m.properties, -len(m.unknown), m.id))
    lines = [(m.id, cells) for m, cells in zip(least, each, strict=True)]
    shown = leaf(ask, lines)
    values = {
        "head": head, "lines": rows, "leaf": shown, "heads": heads, "materials": found.materials,
        "unknown_rows": unknown_rows(found),
        **turned(ask, shown),
    }  # fmt: skip
    body = found.as_dict() | {"notices": [n.as_dict() for n in ask.catalogue.notices]}
    flat = [dict(zip(head, row, strict=True)) for row in rows]
    return Page(
        "coverage.html", "How much is known", values, told=refused(ask) if ask.wrong else body,
        rows=flat, crumbs=WAY, notices=[n.message for n in ask.catalogue.notices],
    )  # fmt: skip
