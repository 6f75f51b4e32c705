"""The three fixed pictures of all woods, narrowed with a few fields."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from woodref.catalogue.material import KINDS
from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, Candidate, UnknownName, WoodrefError, echo
from woodref.explorer.asking import Ask
from woodref.explorer.drawn import pairs as drawn_pairs
from woodref.explorer.drawn import spots as drawn_spots
from woodref.explorer.forms import Form
from woodref.explorer.formwords import REGION, USUAL
from woodref.explorer.known import Fields
from woodref.explorer.page import Crumb, Page
from woodref.explorer.paging import leaf, turned
from woodref.science.colour import lab_to_hex
from woodref.selection.lightpairs import LightPairs, Pair, now_and_after_light
from woodref.selection.pictures import (
    KIND_WORDS,
    Choice,
    Spot,
    Spread,
    movement_both_ways,
    weight_against_stiffness,
)

WAY = (Crumb("Pictures", "/pictures"),)
#: name in the link -> (title, what it answers)
PICTURES = {
    "weight": (
        "Weight against stiffness",
        "Which wood is stiff for its weight, and which heavy for nothing.",
    ),
    "movement": (
        "Movement across the rings against along them",
        "Which wood moves little, which evenly, and which cups.",
    ),
    "light": (
        "Now and after years of light",
        "Which colour stays, and which face will darken beside another.",
    ),
}
#: rows of the table on a page, and pairs of colours, which are drawn and told there
ROWS, PAIRS = 100, 180
#: the fields of each page
FIELDS = {"picture": Fields(("kind", "planted", "of", "within", "region", "page"))}
KINDS_ASKED = (("", "All kinds"), *((kind, words) for kind, words in KIND_WORDS.items()))


def pictures(ask: Ask) -> Page:
    """Which pictures there are."""
    told = [
        {"href": f"/pictures/{name}", "name": title, "says": says} for name, (title, says) in PICTURES.items()
    ]
    return Page("pictures.html", "All woods at once", {"doors": told}, told={"pictures": told})


def picture(ask: Ask) -> Page:
    """One picture. A name in a field that no wood or several have is told at the field, with those meant
    perhaps."""
    name = ask.path["name"]
    if name not in PICTURES:
        raise UnknownName(
            f"there is no picture called {echo(name)}",
            expected=", ".join(PICTURES),
            next="All pictures stand at /pictures.",
        )
    choice, meant = _choice(ask)
    values: dict[str, Any] = {
        "kinds": KINDS_ASKED,
        "kind": choice.kind or "",
        "planted": choice.planted,
        "of": ask.one("of"),
        "within": choice.within,
        "region": ask.one("region"),
        "region_label": REGION,
        "meant": meant,
        "reset": f"/pictures/{name}",
    }
    title = PICTURES[name][0]
    nothing = Page("picture.html", title, values | {"picture": None, "light": None}, crumbs=WAY)
    if ask.wrong:
        return nothing
    found: LightPairs | Spread
    shown: dict[str, Any]
    if name == "light":
        found = now_and_after_light(choice, ask.catalogue)
        pairs = leaf(ask, found.pairs, PAIRS)
        shown = {"picture": None, "light": _light(found, pairs.rows), "leaf": pairs, **turned(ask, pairs)}
    else:
        found = (weight_against_stiffness if name == "weight" else movement_both_ways)(choice, ask.catalogue)
        spots = leaf(ask, found.spots, ROWS)
        drawn = _spread(found, spots.rows, ask.catalogue)
        shown = {"picture": drawn, "light": None, "leaf": spots, **turned(ask, spots)}
    if ask.wrong:
        return nothing
    return Page(
        "picture.html", title, values | shown, told=found.as_dict, rows=found.rows,
        notices=[n.message for n in found.notices], crumbs=WAY,
    )  # fmt: skip


def _choice(ask: Ask) -> tuple[Choice, list[dict[str, str]]]:
    """The choice, and links to what was perhaps meant by a name that is not clear."""
    kind = ask.choice("kind", ("", *KINDS), "")
    near, meant = None, []
    if ask.one("of"):
        region = Form(ask, USUAL).region()
        try:
            near = resolve(ask.one("of"), ask.catalogue, ask.shop.today, region)
        except WoodrefError as fault:
            ask.told("of", fault)
            meant = links(ask, fault.candidates)
    elif ask.flag("within"):
        ask.told(
            "within",
            BadRequest("within reach of which wood", expected="the name of a wood in the field above"),
        )
    return Choice(kind or None, ask.flag("planted"), near, ask.flag("within") and near is not None), meant


def links(ask: Ask, candidates: list[Candidate]) -> list[dict[str, str]]:
    """The same question with each of the woods that were perhaps meant."""
    return [
        {"href": ask.link(of=c.id), "name": c.name, "says": c.says} for c in candidates if c.id is not None
    ]


def fills(catalogue: Catalogue) -> dict[str, str]:
    """Colour class -> the hex it is drawn in."""
    return {key: lab_to_hex(word.lab) for key, word in catalogue.colour_classes.items()}


def _spread(spread: Spread, rows: Sequence[Spot], catalogue: Catalogue) -> dict[str, Any]:
    """The picture and the rows of this page of its table."""
    x, y, colours = spread.x, spread.y, fills(catalogue)
    return {
        "broad": drawn_spots.draw(spread, colours, drawn_spots.BROAD) if spread.spots else None,
        "slim": drawn_spots.draw(spread, colours, drawn_spots.SLIM) if spread.spots else None,
        "opening": spread.opening,
        "closing": spread.closing,
        "head": ["wood", x.words, y.words, "colour word", "the figures are"],
        "spots": [
            {
                "id": s.material.id,
                "name": s.material.name,
                "marked": s.marked,
                "x": f"{s.x:,.{x.digits}f}",
                "y": f"{s.y:,.{y.digits}f}",
                "colour": catalogue.colour_classes[s.material.look["class"]].words,
                "grade": ", ".join(dict.fromkeys(f.grade for f in s.figures)),
            }
            for s in rows
        ],
    }


def _light(found: LightPairs, rows: Sequence[Pair]) -> dict[str, Any]:
    """The pairs of this page, in their groups."""
    shown = [(key, heading, [p for p in rows if p.change == key]) for key, heading, _ in found.groups]
    return {
        "opening": found.opening,
        "closing": found.closing,
        "groups": [
            {"heading": heading, "columns": drawn_pairs.draw(key, heading, pairs)}
            for key, heading, pairs in shown
            if pairs
        ],
        "pairs": rows,
    }
