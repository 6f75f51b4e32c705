"""The sample board: what is like a wood, laid round about it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from woodref.catalogue.names import resolve
from woodref.errors import WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.drawing import problem
from woodref.explorer.drawn.samples import BROAD, SLIM, draw
from woodref.explorer.forms import Form
from woodref.explorer.formwords import REGION, USUAL
from woodref.explorer.known import Fields
from woodref.explorer.page import Page
from woodref.explorer.pages.pictures import links
from woodref.selection.roles import ROLES
from woodref.selection.sampleboard import SampleBoard, sample_board

#: the fields of the page
FIELDS = {"board": Fields(("of", "role", "free", "region"))}
ROLES_ASKED = tuple((role, role.replace("-", " ")) for role in ROLES)


def board(ask: Ask) -> Page:
    """Nothing asked shows the fields alone; a name that several woods share asks back with links that keep
    the role."""
    role = ask.choice("role", ROLES, "face")
    region = Form(ask, USUAL).region()
    free = ask.flag("free")
    values: dict[str, Any] = {
        "roles": ROLES_ASKED, "role": role, "of": ask.one("of"), "free": free, "meant": [], "board": None,
        "region": ask.one("region"), "region_label": REGION,
    }  # fmt: skip
    if ask.wrong or not ask.one("of"):
        return Page("board.html", "Sample board", values)
    try:
        matched = resolve(ask.one("of"), ask.catalogue, ask.shop.today, region)
        found = sample_board(matched, role, ask.catalogue, ask.shop.today, free=free)
    except WoodrefError as fault:
        asked = problem(fault, ask)
        ask.told("of", fault)
        again = Page("board.html", "Sample board", values | {"meant": links(ask, fault.candidates)})
        return replace(again, status=asked.status, told=asked.told)
    return Page(
        "board.html", f"Sample board round {found.target.name}", values | {"board": _board(found)},
        told=found.as_dict, rows=lambda: [sample.flat() for sample in found.samples],
        notices=[notice.message for notice in found.notices],
    )  # fmt: skip


def _board(found: SampleBoard) -> dict[str, Any]:
    return {
        "broad": draw(found, BROAD) if found.samples else None,
        "slim": draw(found, SLIM) if found.samples else None,
        "opening": found.opening,
        "closing": found.closing,
        "samples": found.samples,
        "id": found.target.id,
        "name": found.target.name,
    }
