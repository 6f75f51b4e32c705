"""One wood or glue, in the order of `show`."""

from __future__ import annotations

from typing import Any

from woodref.errors import WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields
from woodref.explorer.page import Crumb, Page
from woodref.selection.glueportrait import glue_portrait
from woodref.selection.glues import GlueMatched, wood_or_glue
from woodref.selection.portrait import Portrait, figure_dict, portrait
from woodref.selection.room import Air, air, in_the_room

WAY = (Crumb("Woods", "/woods"),)
#: forms of the page
UNITS = (("metric", "metric"), ("us", "inches and pounds"))
FIELDS = {"wood": Fields(("rh", "temperature", "units", "region"))}


def wood(ask: Ask) -> Page:
    """A wood or glue by any of its names; a shared name asks back, an unknown one names close spellings."""
    matched = wood_or_glue(ask.path["name"], ask.catalogue, ask.shop.today, ask.one("region") or None)
    if isinstance(matched, GlueMatched):
        found = glue_portrait(matched, ask.catalogue, ask.units)
        sections = [{"heading": s.heading, "lines": list(s.lines)} for s in found.sections]
        values = {"sections": sections, "units": ask.units, "unit_choices": UNITS}
        return Page(
            "glue.html", str(found.glue["names"][0]["text"]), values,
            told=found.as_dict(), notices=[n.message for n in found.notices],
        )  # fmt: skip
    shown = portrait(matched, ask.catalogue, ask.shop.today, ask.units, full=True)
    room = _room(ask)
    there = in_the_room(shown.material, room, ask.units) if room else []
    more = {"at": [t.as_dict() for t in there]} if room else {}
    return Page(
        "wood.html", shown.material.name, _values(ask, shown) | {
            "there": [f"{t.sentence} [{t.rule}]" for t in there], "rh": ask.one("rh"),
            "temperature": ask.one("temperature"), "units": ask.units, "unit_choices": UNITS,
        },
        told=shown.as_dict() | more, rows=_figures(shown), crumbs=WAY,
        notices=[n.message for n in shown.notices],
    )  # fmt: skip


def _room(ask: Ask) -> Air | None:
    told = [f"{name}={ask.one(name)}" for name in ("rh", "temperature") if ask.one(name)]
    if not told:
        return None
    try:
        return air(tuple(told))
    except WoodrefError as fault:
        ask.told("rh", fault)
        return None


def _values(ask: Ask, shown: Portrait) -> dict[str, Any]:
    material = shown.material
    sections = [{"heading": s.heading, "lines": [line.text for line in s.lines]} for s in shown.sections]
    return {
        "id": material.id, "botanical": material.botanical_name, "sections": sections,
        "sheet": f"/engineered/{material.id}" if material.kind == "engineered" else None,
        "chips": chips(ask, material.look), "table": f"/catalogue/material_wide?id={material.id}",
    }  # fmt: skip


def chips(ask: Ask, look: dict[str, Any]) -> list[dict[str, str]]:
    """Colour chips: measured swatches, or the coarse class where nothing was measured."""
    from woodref.science.colour import lab_to_hex

    out = [
        {
            "hex": lab_to_hex(tuple(swatch["lab"])),
            "says": f"{swatch['part']}, {swatch['state']}: {_measured(swatch)}",
        }
        for swatch in look["swatches"]
    ]
    if not out and look["class"] in ask.catalogue.colour_classes:
        found = ask.catalogue.colour_classes[look["class"]]
        out = [
            {
                "hex": lab_to_hex(found.lab),
                "says": f"{found.words}: a coarse colour word, nothing was measured",
            }
        ]
    return out


def _measured(swatch: dict[str, Any]) -> str:
    if swatch["light"] == "not-stated":
        return "measured, in a light that its source does not state"
    return f"measured under {swatch['light']}"


def _figures(shown: Portrait) -> list[dict[str, Any]]:
    """Every figure held, one row each, for the CSV."""
    out = []
    for name, held in shown.material.figures.items():
        for figure in (*([held.preferred] if held.preferred else []), *held.others):
            row = figure_dict(figure)
            out.append(
                {"id": shown.material.id, "property": name, "preferred": figure is held.preferred, **row}
            )
    return out
