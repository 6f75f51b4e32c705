"""The stand-in form: which wood may lawfully stand in for another, as `substitute` answers."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from woodref.catalogue.material import KINDS
from woodref.catalogue.properties import PROPERTIES
from woodref.errors import BadRequest, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.forms import Form, choices, said
from woodref.explorer.formwords import FormWords
from woodref.explorer.known import Fields
from woodref.explorer.page import BAD_REQUEST, Page
from woodref.explorer.pages.wood import UNITS, chips
from woodref.selection import explain
from woodref.selection.request import Request, check, face_of, piece_of
from woodref.selection.roles import CRITERIA, ROLES, VENEER_ROLES, Profile, profile
from woodref.selection.wanted import STATES

if TYPE_CHECKING:
    from woodref.catalogue.names import Matched
    from woodref.selection.answer import Answer, Row

#: rows that get their reasons on the page, rows of limits that may be sent, rows that may be asked for
EXPLAINED, LIMITS, MOST = 10, 40, 500
DESCRIBED = ("colour", "density", "moe", "movement", "side_hardness", "figure", "pores", "texture", "grain")
LABELS = {
    "of": "Wood to stand in for", "role": "Where it sits in the work",
    "plantation": "Only woods planted for timber",
    "piece": "What a sheet must cover", "joints": "Joints allowed in it", "face": "The face it must balance",
    "cut": "How that face is cut", "origin": "Harvested in", "home": "You make the part in",
    "veneer_from": "You buy the sheets in", "sell_to": "You sell the part to", "kind": "Kind of material",
    "natural": "The same wood planted may answer", "stain_ok": "A paler wood may be stained to it",
    "estimates": "Work out what is not known", "state": "Surface whose colours are compared",
    "why_not": "Why not", "rows": "How many are ranked", "region": "Country whose trade names are meant",
}  # fmt: skip
WORDS = FormWords(
    {
        "--role": ("role", LABELS["role"]), "--like": ("like_colour", "Describe it instead"),
        "--keep": ("limit_1_keep", "Stays within"), "--counts": ("limit_1_weight", "Counts for"),
        "--max": ("limit_1_max", "At most"), "--min": ("limit_1_min", "At least"),
        "--piece": ("piece", LABELS["piece"]), "--joints": ("joints", LABELS["joints"]),
        "--for-face": ("face", LABELS["face"]), "--cut": ("cut", LABELS["cut"]),
        "--colour-state": ("state", LABELS["state"]), "--stain-ok": ("stain_ok", LABELS["stain_ok"]),
        "--estimates": ("estimates", LABELS["estimates"]),
        "--plantation": ("plantation", LABELS["plantation"]),
        "--kind": ("kind", LABELS["kind"]), "--origin": ("origin", LABELS["origin"]),
        "--natural": ("natural", LABELS["natural"]), "--home": ("home", LABELS["home"]),
        "--veneer-from": ("veneer_from", LABELS["veneer_from"]), "--sell-to": ("sell_to", LABELS["sell_to"]),
        "--why-not": ("why_not", LABELS["why_not"]), "--rows": ("rows", LABELS["rows"]),
        "--region": ("region", LABELS["region"]),
    },
    {"all of them with --json": ("all of them in the JSON below", "take")},
)  # fmt: skip
#: classes of the table's columns: numbers flush right, a narrow place, and what a narrow screen leaves out
#: (it
#: stands with the reasons too)
CELLS = {n: Markup(' class="right"') for n in (3, 6, 7)} | {
    0: Markup(' class="right place"'),
    2: Markup(' class="spare"'),
}
#: role -> where a pack takes its wood (a field of the layup form that begins a pack)
PLACES = {"face": "face", "back": "back", "core": "inner", "crossband": "inner"}
#: the fields of the page; those of limits come in rows
FIELDS = {
    "instead": Fields(
        (*LABELS, "face_thickness", "units", *(f"like_{name}" for name in DESCRIBED)),
        rows=re.compile(r"limit_[1-9][0-9]?_(?:property|min|max|keep|weight)"),
    )
}


def instead(ask: Ask) -> Page:
    """The form alone, or with the answer below it."""
    form = Form(ask, WORDS)
    if ask.empty:
        fault = BadRequest(
            "nothing to replace is named", expected="the name of a wood, or a description of it"
        )
        bare = Page("instead.html", "Find a stand-in", _values(form, None), told={"error": fault.as_dict()})
        return (
            bare
            if ask.form == "html"
            else Page("instead.html", bare.title, bare.values, BAD_REQUEST, bare.told)
        )
    answer = _answer(form)
    if answer is None:
        return Page("instead.html", "Find a stand-in", _values(form, None), form.status, form.error)
    return Page(
        "instead.html", f"Instead of {answer.wanted.name}", _values(form, answer), form.status,
        form.error if ask.wrong else answer.as_dict, lambda: [row.flat() for row in answer.ranked],
        [notice.message for notice in answer.notices],
    )  # fmt: skip


def _answer(form: Form) -> Answer | None:
    """What `substitute` answers, or None when a field stands in its way. A wood whose place is asked for and
    not known is a fault of its own, beside the answer."""
    from woodref.catalogue.names import resolve
    from woodref.selection.substitutes import substitutes

    ask = form.ask
    region = form.country("region")
    like = tuple(text for name in DESCRIBED if (text := _described(form, name)))
    matched = _target(form, like, region)
    request = _request(form, like)
    held = None
    if request is not None and request.face is not None:
        name = request.face.name
        found = form.read("face", lambda: resolve(name, ask.catalogue, ask.shop.today, region))
        held = ask.catalogue.material(found.id) if found else None
    if request is None or ask.wrong:
        return None
    why = form.wood("why_not", region)
    try:
        return substitutes(
            request, matched, ask.catalogue, like=like, face=held, why_not=why.id if why else None
        )
    except WoodrefError as fault:
        form.placed(fault, "of" if matched else "like_colour")
        return None


def _target(form: Form, like: tuple[str, ...], region: str | None) -> Matched | None:
    """The wood named; a fault when none is and nothing is described, or both."""
    if bool(form.ask.one("of")) == bool(like):
        told = "more than one thing to replace is named" if like else "nothing to replace is named"
        form.at("of", BadRequest(told, expected="the name of a wood, or a description of it, one of the two"))
        return None
    return form.wood("of", region)


def _described(form: Form, name: str) -> str | None:
    """'density=850' of a field, once it can be read."""
    from woodref.selection.wanted import of_description

    value = form.ask.one(f"like_{name}")
    if not value:
        return None
    text = f"{name}={value}"
    return text if form.read(f"like_{name}", lambda: of_description((text,), form.ask.catalogue)) else None


def _request(form: Form, like: tuple[str, ...]) -> Request | None:
    from woodref.selection.legs import Route

    ask = form.ask
    role = ask.choice("role", ROLES, "face")
    joints = ask.whole("joints", 0, 40, 0)
    kind = ask.choice("kind", ("", *KINDS), "") or None
    state = ask.choice("state", STATES, "planed")
    rows = ask.whole("rows", 1, MOST, 10)
    cut = ask.choice("cut", ("", "crown", "quarter"), "") or None
    piece = form.read(
        "piece" if ask.one("piece") else "joints", lambda: piece_of(ask.one("piece") or None, joints)
    )
    name, thick = ask.one("face"), ask.one("face_thickness")
    told = f"{name}@{thick or '0.6 mm'}" if name else None
    if thick and not name:
        form.at("face", BadRequest("--for-face lacks a name", next="The thickness is that of the face."))
    face = form.read("face" if name else "cut", lambda: face_of(told, cut, role))
    held = _profile(form, role)
    request = Request(
        ask.one("of") or ", ".join(like), role, ask.shop.today, ask.flag("plantation"), kind,
        form.country("origin"),
        rows, ask.flag("natural"),
        Route(form.country("home"), form.country("veneer_from"), form.country("sell_to")),
        held, piece, face, state, ask.flag("stain_ok"), ask.flag("estimates"), ask.units,
    )  # fmt: skip
    try:
        check(request, ask.catalogue)
    except WoodrefError as fault:
        form.placed(fault, "of")
    return None if ask.wrong else request


def limit_rows(ask: Ask) -> list[int]:
    """Numbers of the rows of limits that hold something."""
    found = {
        int(m[1])
        for name in ask.fields
        if (m := re.fullmatch(r"limit_([1-9][0-9]?)_(?:property|min|max|keep|weight)", name))
        and ask.one(name)
    }
    return sorted(n for n in found if n <= LIMITS)


def _profile(form: Form, role: str) -> Profile | None:
    """Limits, tolerances and weights of every row, each read at its own field first."""
    ask = form.ask
    given: dict[str, list[str]] = {"weights": [], "keep": [], "least": [], "most": []}
    keys = {"weights": "weight", "keep": "keep", "least": "min", "most": "max"}
    for n in limit_rows(ask):
        name = ask.one(f"limit_{n}_property")
        filled = [kind for kind, key in keys.items() if ask.one(f"limit_{n}_{key}")]
        if not name:
            form.at(
                f"limit_{n}_property", BadRequest("what is limited is not named", expected="one of the list")
            )
            continue
        if not filled:
            form.at(
                f"limit_{n}_property",
                BadRequest(
                    f"nothing is asked of {_property(name)}", expected="a least, a most, percent or weight"
                ),
            )
        for kind in filled:
            place = f"limit_{n}_{keys[kind]}"
            text = f"{name}={ask.one(place)}"
            if form.read(place, partial(_profile_of, role, {kind: [text]})):
                given[kind].append(text)
    if ask.wrong:
        return None
    try:
        return _profile_of(role, given)
    except WoodrefError as fault:
        rows = limit_rows(ask)
        form.at(f"limit_{rows[0]}_property" if rows else "role", fault)
        return None


def _profile_of(role: str, given: Mapping[str, Sequence[str]]) -> Profile:
    weights, keep, least, most = (tuple(given.get(kind, ())) for kind in ("weights", "keep", "least", "most"))
    return profile(role, weights, keep, least, most)


def _property(name: str) -> str:
    return explain.criterion_name(name) if name in CRITERIA else said(name)


def _values(form: Form, answer: Answer | None) -> dict[str, Any]:
    ask = form.ask
    names = sorted(CRITERIA, key=lambda n: (n not in PROPERTIES, _property(n)))
    numbers = limit_rows(ask)
    spare = [n for n in range(1, LIMITS + 1) if n not in numbers]
    units = {n: f", {PROPERTIES[n].unit}" for n in names if n in PROPERTIES and PROPERTIES[n].unit != "1"}
    orders = ask.catalogue.orders
    return form.values() | {
        "label": LABELS, "roles": [(r, said(r)) for r in ROLES],
        "kinds": choices([(k, said(k)) for k in KINDS], "any"),
        "states": [(s, said(s)) for s in STATES],
        "cuts": choices([("crown", "crown"), ("quarter", "quarter")]),
        "properties": choices([(n, _property(n) + units.get(n, "")) for n in names]),
        "limited": bool(numbers) or any(n.startswith("limit_") for n in ask.wrong),
        "limit_rows": sorted([*numbers, *spare[: 1 if numbers else 2]]),
        "colours": [(c.id, c.words) for c in ask.catalogue.colour_classes.values()],
        "orders": {
            "pores": choices([(w, said(w)) for w in (*orders["pores"], "none")]),
            "texture": choices([(w, said(w)) for w in orders["texture"]]),
            "grain": choices([(w, said(w)) for w in orders["grain"]]),
        },
        "cells": CELLS, "unit_choices": UNITS, "answer": _shown(form, answer) if answer else None,
    }  # fmt: skip


def _shown(form: Form, answer: Answer) -> dict[str, Any]:
    """The answer as `board` lays it out, with links."""
    from woodref.selection.board import board

    page = board(answer, form.ask.units, EXPLAINED)
    ranked = answer.ranked
    # a wood whose reasons stand below is led to there, any other to its own page
    below = {row.material.id for row in ranked[:EXPLAINED]}
    ids = [answer.wanted.id, *(row.material.id for row in ranked)]
    ways = [
        f"#at-{wood}" if wood in below and k else f"/wood/{wood}" if wood else ""
        for k, wood in enumerate(ids)
    ]
    told = page.groups[: min(EXPLAINED, len(ranked))]
    return {
        "name": answer.wanted.name, "opening": page.opening, "why_not": answer.why_not, "head": page.head,
        "rows": list(zip(ways, page.rows, strict=True)) if page.rows else [],
        "legend": page.legend,
        "told": [
            {"heading": group.heading, "lines": group.lines, **_row(form, answer, row)}
            for row, group in zip(ranked, told, strict=False)
        ],
        "groups": page.groups[len(told) :], "closing": page.closing, "hidden": form.hidden("why_not"),
    }  # fmt: skip


def _row(form: Form, answer: Answer, row: Row) -> dict[str, Any]:
    """What stands beside the reasons of a ranked wood: its colours, its look in time, where to go with it."""
    from urllib.parse import urlencode

    wood, role = row.material.id, answer.request.role
    pair = [("wood", answer.wanted.id), ("wood", wood)] if answer.target else [("wood", wood)]
    pack = f"/layup?{urlencode({PLACES[role]: wood})}" if role in PLACES and role in VENEER_ROLES else None
    return {
        "id": wood, "name": row.material.name, "chips": chips(form.ask, row.material.look),
        "now": row.light[0], "later": row.light[1], "beside": f"/beside?{urlencode(pair)}", "pack": pack,
    }  # fmt: skip
