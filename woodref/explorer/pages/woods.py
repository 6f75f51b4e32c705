"""Browsing: woods within limits, in heaps that narrow them, fifty to a page, ticked to be laid beside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from woodref.catalogue.material import KINDS, US_WORDS
from woodref.catalogue.properties import PROPERTIES
from woodref.errors import BadRequest, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields, refused
from woodref.explorer.page import Page
from woodref.explorer.pages.glues import glues
from woodref.explorer.pages.ticked import Tick, ticks
from woodref.explorer.pages.wood import UNITS, chips
from woodref.explorer.paging import leaf
from woodref.science.colour import parse_hex
from woodref.selection import facets
from woodref.selection.cells import find_table
from woodref.selection.find import WITHIN, Finds, Query, find, limits_of
from woodref.selection.findwords import asked_words, order_words
from woodref.units import Range, number, units_of

TITLE = "Browse the woods"
#: limits that stand open in the form; the others are folded away
USUAL = ("density", "moe", "side_hardness", "shrinkage_tangential")
BOXES = ("plantation", "not_listed", "estimates")
HEAPS = ("colour", "planted", "pores", "texture", "sold", "red_list")
#: fields that say which woods, and so are kept when woods are laid side by side and one goes back
QUESTION = (
    "text", "kind", "like_colour", "within", *BOXES, *HEAPS, "units",
    *(f"{name}_{end}" for name in PROPERTIES for end in ("from", "to")),
)  # fmt: skip
#: the fields of the page
FIELDS = {"woods": Fields((*QUESTION, "page"), ("wood",))}
KIND_CHOICES = [("", "any"), *((kind, facets.KIND_WORDS[kind]) for kind in KINDS), ("glue", "glues")]


@dataclass(frozen=True)
class Ends:
    """A limit as two fields: from and to."""

    name: str
    legend: str
    low: str
    high: str


def woods(ask: Ask) -> Page:
    """Every wood that meets what is asked; nothing asked shows them all."""
    kind = ask.choice("kind", [key for key, _ in KIND_CHOICES], "")
    if kind == "glue":
        return glues(
            ask, _form(ask, True), [name for name in QUESTION if name not in ("text", "kind", "units")]
        )
    query = _query(ask, kind or None)
    laid = ticks(ask)
    if ask.wrong:
        return Page("woods.html", TITLE, _form(ask, True) | {"found": None}, told=refused(ask))
    found = find(query, ask.catalogue, ask.shop.today)
    shown = leaf(ask, found.rows)
    if ask.wrong:
        return Page("woods.html", TITLE, _form(ask, True) | {"found": None}, told=refused(ask))
    return Page(
        "woods.html", TITLE,
        _form(ask, not asked_words(query, ask.catalogue)) | _table(ask, found, shown.rows, laid) | {
            "found": found.count, "leaf": shown, "order": order_words(query), "asked": _drops(ask, query),
            "heaps": _heaps(ask, found), "closing": found.closing, "kept": _kept(ask),
            "json_link": ask.link(".json", page=None, wood=None),
            "csv_link": ask.link(".csv", page=None, wood=None),
        },
        told=found.as_dict, rows=lambda: [row.flat(found.asked) for row in found.rows],
        notices=[n.message for n in found.notices],
    )  # fmt: skip


def _query(ask: Ask, kind: str | None) -> Query:
    return Query(
        ask.one("text"), _limits(ask), ask.flag("plantation"), ask.flag("not_listed"), kind, _colour(ask),
        _within(ask), None, ask.flag("estimates"), _only(ask),
    )  # fmt: skip


def _limits(ask: Ask) -> dict[str, Range]:
    out: dict[str, Range] = {}
    for name in PROPERTIES:
        low, high = ask.one(f"{name}_from"), ask.one(f"{name}_to")
        if not low and not high:
            continue
        # a whole range in the first field is as good as two ends
        wanted = low if ".." in low and not high else f"{low}..{high}"
        try:
            out |= limits_of([f"{name}={wanted}"])
        except WoodrefError as fault:
            ask.told(f"{name}_{_wrong_end(name, low, high)}", fault)
    return out


def _wrong_end(name: str, low: str, high: str) -> str:
    if low and high:
        try:
            limits_of([f"{name}={low}.."])
        except WoodrefError:
            return "from"
        return "to"
    return "from" if low else "to"


def _colour(ask: Ask) -> str | None:
    text = ask.one("like_colour")
    if not text:
        return None
    try:
        return "#{:02x}{:02x}{:02x}".format(*parse_hex(text))
    except WoodrefError as fault:
        ask.told("like_colour", fault)
        return None


def _within(ask: Ask) -> float:
    text = ask.one("within")
    if not text:
        return WITHIN
    try:
        found = float(number(text))
        if found < 0:
            raise BadRequest(f"{text} is no distance", expected="a colour distance such as 12")
        if not ask.one("like_colour"):
            raise BadRequest("a distance without a colour", next="Name the colour as well.")
    except WoodrefError as fault:
        ask.told("within", fault)
        return WITHIN
    return found


def _only(ask: Ask) -> dict[str, str]:
    out: dict[str, str] = {}
    for name in HEAPS:
        word = ask.one(name)
        if not word:
            continue
        try:
            out |= facets.only([f"{name}={word}"], ask.catalogue)
        except WoodrefError as fault:
            ask.told(name, fault)
    return out


def _form(ask: Ask, opened: bool) -> dict[str, Any]:
    """What the form needs. opened: whether it stands open above the rows."""
    ends = [Ends(name, _legend(name), ask.one(f"{name}_from"), ask.one(f"{name}_to")) for name in PROPERTIES]
    rare = [e for e in ends if e.name not in USUAL]
    known = facets.facets(ask.catalogue)
    return {
        "opened": opened or bool(ask.wrong), "units": ask.units, "unit_choices": UNITS,
        "usual": [e for e in ends if e.name in USUAL], "rare": rare,
        "rare_open": any(e.low or e.high for e in rare) or any(ask.one(name) for name in HEAPS),
        "kinds": KIND_CHOICES, "kind": ask.one("kind"), "text": ask.one("text"),
        "like_colour": ask.one("like_colour"), "within": ask.one("within"), "usual_within": f"{WITHIN:g}",
        "ticked": {name: ask.flag(name) for name in BOXES},
        "selects": [
            (name, known[name].asks, [("", "any"), *known[name].words.items()], ask.one(name))
            for name in HEAPS
        ],
    }  # fmt: skip


def _legend(name: str) -> str:
    """'Weight, kg/m3 (or lb/ft3)'."""
    prop = PROPERTIES[name]
    words = f"{prop.asks[:1].upper()}{prop.asks[1:]}"
    if prop.unit == "1":
        return words
    other = US_WORDS.get(prop.us, prop.us)
    return f"{words}, {prop.unit}" if len(units_of(prop.unit)) == 1 else f"{words}, {prop.unit} (or {other})"


def _table(ask: Ask, found: Finds, rows: Any, laid: list[Tick]) -> dict[str, Any]:
    """The table of `find`, one page of it; the id is the link."""
    head, lines, right, legend = find_table(replace(found, rows=list(rows)), ask.units)
    ids = head.index("id")
    chosen = {tick.id for tick in laid}
    out = [
        {
            "id": row.material.id, "name": line[0], "ticked": row.material.id in chosen,
            "chip": chips(ask, row.material.look)[:1],
            "cells": [
                (head[i], cell, i in right) for i, cell in enumerate(line) if i not in (0, ids)
            ],
        }
        for row, line in zip(rows, lines, strict=True)
    ]  # fmt: skip
    heads = [(word, i in right) for i, word in enumerate(head) if i != ids]
    here = {row.material.id for row in rows}
    return {
        "heads": heads, "lines": out, "legend": legend,
        "laid": [tick for tick in laid if tick.id not in here],
    }  # fmt: skip


def _drops(ask: Ask, query: Query) -> list[dict[str, str]]:
    """What was asked, each with the link that asks the same without it."""
    out = []
    for name, phrase in asked_words(query, ask.catalogue).items():
        fields = [f"{name}_from", f"{name}_to"] if name in PROPERTIES else [name]
        fields += ["within"] if name == "like_colour" else []
        out.append({"says": phrase, "href": _changed(ask, dict.fromkeys(fields))})
    return out


def _changed(ask: Ask, fields: Mapping[str, str | None]) -> str:
    """The same question with these fields put or (None) left out, from its first page."""
    return ask.link("", page=None, **fields)


def _heaps(ask: Ask, found: Finds) -> list[dict[str, Any]]:
    """Heaps of all woods found, each with the link that narrows to it or lets go of it."""
    chosen = dict(found.query.only) | ({"kind": found.query.kind} if found.query.kind else {})
    materials = [row.material for row in found.rows]
    return [
        {
            "asks": heaps.asks,
            "heaps": [
                {
                    "says": heap.says, "count": heap.count, "chosen": heap.chosen,
                    "href": _changed(ask, {heaps.name: None if heap.chosen else heap.word}),
                }
                for heap in heaps.heaps
            ],
        }
        for heaps in facets.counted(materials, ask.catalogue, chosen)
    ]  # fmt: skip


def _kept(ask: Ask) -> list[tuple[str, str]]:
    """The question as hidden fields of the form that goes on with ticked woods."""
    return [(name, value) for name in ask.fields if name in QUESTION for value in ask.many(name)[:1]]
