"""Two to six woods side by side, as `compare`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.catalogue.names import Matched, resolve
from woodref.errors import BadRequest, Candidate, SharedName, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields, refused
from woodref.explorer.page import ASK_AGAIN, BAD_REQUEST, NOT_FOUND, Crumb, Page
from woodref.explorer.pages.wood import UNITS, chips
from woodref.explorer.pages.woods import QUESTION
from woodref.selection.compare import MOST, SideBySide, compare

TITLE = "Woods side by side"
#: the fields of the page
FIELDS = {"beside": Fields((*QUESTION, "region", "page"), ("wood",))}
#: names that are looked up, so that each of some too many can be taken out again; of more the first stay
READ = 4 * MOST


@dataclass(frozen=True)
class Laid:
    """A wood asked for, and the link that leaves it out. matched: None when its name says nothing yet."""

    said: str
    without: str
    matched: Matched | None
    fault: WoodrefError | None = None


def beside(ask: Ask) -> Page:
    """Woods side by side; a name that is shared or not known asks back and leaves the others lying."""
    names = list(dict.fromkeys(ask.many("wood")))
    if len(names) > READ:
        ask.told("wood", BadRequest(f"{len(names)} woods are named", expected=f"two to {MOST} of them"))
        names = names[:MOST]
    laid = [_laid(ask, name, names) for name in names]
    faults = [one.fault for one in laid if one.fault is not None]
    values = _values(ask, laid)
    if faults:
        status = NOT_FOUND if all(f.exit_code == 3 for f in faults) else BAD_REQUEST
        status = ASK_AGAIN if any(isinstance(f, SharedName) for f in faults) else status
        return Page(
            "beside.html", TITLE, values, status, told={"error": faults[0].as_dict()}, crumbs=_way(ask)
        )
    if ask.wrong:
        return Page("beside.html", TITLE, values, told=refused(ask), crumbs=_way(ask))
    if not names and ask.form == "html":
        # the way in from the start page: nothing is asked yet
        return Page("beside.html", TITLE, values, crumbs=_way(ask))
    matched = [one.matched for one in laid if one.matched is not None]
    try:
        found = compare(matched, ask.catalogue, ask.shop.today, ask.units, ask.flag("estimates"))
    except WoodrefError as fault:
        ask.told("wood", fault)
        return Page(
            "beside.html", TITLE, values, told={"error": fault.as_dict()}, crumbs=_way(ask)
        )  # fmt: skip
    return Page(
        "beside.html", ", ".join(m.name for m in found.materials), values | _found(ask, found),
        told=found.as_dict(), rows=_flat(found), notices=[n.message for n in found.notices], crumbs=_way(ask),
    )  # fmt: skip


def _laid(ask: Ask, name: str, names: list[str]) -> Laid:
    without = _link(ask, [other for other in names if other != name])
    try:
        return Laid(name, without, resolve(name, ask.catalogue, ask.shop.today, ask.one("region") or None))
    except WoodrefError as fault:
        ask.told("wood", fault)
        return Laid(name, without, None, fault)


def _link(ask: Ask, names: list[str]) -> str:
    """This page with these woods; all else as it was asked."""
    return _to("/beside", [(key, value) for key, value in _rest(ask)] + [("wood", name) for name in names])


def _to(path: str, pairs: list[tuple[str, str]]) -> str:
    from urllib.parse import urlencode

    return f"{path}?{urlencode(pairs)}" if pairs else path


def _rest(ask: Ask) -> list[tuple[str, str]]:
    return [(name, value) for name in ask.fields if name != "wood" for value in ask.many(name)[:1]]


def _way(ask: Ask) -> list[Crumb]:
    """Back to the woods among which these were ticked, ticks and all."""
    kept = [(name, value) for name, value in _rest(ask) if name in (*QUESTION, "page")]
    return [Crumb("Woods", _to("/woods", kept + [("wood", name) for name in ask.many("wood")]))]


def _values(ask: Ask, laid: list[Laid]) -> dict[str, Any]:
    names = [one.said for one in laid]
    asking = [
        {
            "said": one.said, "without": one.without,
            "meant": [
                {"name": c.name, "says": c.says,
                 "href": _link(ask, [c.id if n == one.said else n for n in names])}
                for c in _told(one.fault)
                if c.id
            ],
        }
        for one in laid
        if one.fault is not None
    ]  # fmt: skip
    lying = [
        {"name": ask.catalogue.material(one.matched.id).name, "id": one.matched.id, "without": one.without,
         "chips": chips(ask, ask.catalogue.material(one.matched.id).look)}
        for one in laid
        if one.matched is not None
    ]  # fmt: skip
    kept = [(name, value) for name, value in _rest(ask) if name not in ("units", "estimates", "region")]
    return {
        "lying": lying, "asking": asking, "names": names, "room": len(lying) < MOST, "most": MOST,
        "kept": kept,
        "units": ask.units, "unit_choices": UNITS, "estimates": ask.flag("estimates"),
        "region": ask.one("region"), "found": None,
    }  # fmt: skip


def _told(fault: WoodrefError | None) -> list[Candidate]:
    return fault.candidates if fault is not None else []


def _found(ask: Ask, found: SideBySide) -> dict[str, Any]:
    names = [m.name for m in found.materials]
    return {
        "found": found, "heads": names,
        "aspects": [
            (f"{a.asks[:1].upper()}{a.asks[1:]}", list(zip(names, a.cells, strict=True)))
            for a in found.aspects
        ],
    }  # fmt: skip


def _flat(found: SideBySide) -> list[dict[str, Any]]:
    """One row a thing compared: the value of each wood, and its difference from the first in percent."""
    out = []
    for aspect in found.aspects:
        row: dict[str, Any] = {"compared": aspect.name}
        for material, value, gap in zip(found.materials, aspect.values, aspect.differences, strict=True):
            row[material.id] = value
            row[f"{material.id} difference_pct"] = gap
        out.append(row)
    return out
