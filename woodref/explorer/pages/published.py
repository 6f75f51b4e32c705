"""What a public copy of the stock book holds: finished items, one item, the shelf."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from woodref.errors import WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields
from woodref.explorer.page import NOT_FOUND, Crumb, Page
from woodref.explorer.paging import leaf, turned
from woodref.layup.saying import Say
from woodref.provenance.faults import UnknownSheet
from woodref.provenance.publiccopy import Copy, NoShelf
from woodref.provenance.publicitems import PublicItem, item_told, items, woods_named
from woodref.provenance.publiclots import NO_SHELF, ShelfLot
from woodref.provenance.publiclots import shelf as on_shelf
from woodref.provenance.sheetshown import has_sheet, sheet_told

#: items or lots on a page
MANY = 100
WAY = (Crumb("Finished items", "/items"),)


class NoCopy(WoodrefError):
    """No copy of a stock book was named."""

    code = "no-public-copy"
    exit_code = 3


def _copy(ask: Ask) -> Copy:
    if ask.shop.book_copy is None:
        raise NoCopy(
            "no copy of a stock book is open here",
            next="Write one with `woodref book publish public.sqlite`, stop the explorer, and start it again "
            "with `woodref explore --book-copy public.sqlite`.",
        )
    return Copy(ask.shop.book_copy)


#: the fields of each page
FIELDS = {"finished": Fields(("page",)), "shelf": Fields(("q", "page", "units"))}


def _or_told(title: str, made: Callable[[], Page]) -> Page:
    """The page; where its copy or its shelf is wanting, what to do about it."""
    try:
        return made()
    except (NoCopy, NoShelf, UnknownSheet) as fault:
        return Page(
            "no-copy.html", title, {"message": f"{fault.message[:1].upper()}{fault.message[1:]}.",
                                    "next": fault.next},
            NOT_FOUND, told={"error": fault.as_dict()},
        )  # fmt: skip


def _wood_links(ask: Ask, wood: str) -> list[dict[str, str | None]]:
    """Each wood of a lot, with the page of it where the catalogue holds one."""
    return [
        {"name": name, "href": _page_of(ask, name)} for name in woods_named(wood) or [wood]
    ]  # fmt: skip


def _page_of(ask: Ask, botanical: str) -> str | None:
    rows = ask.catalogue.rows(
        "SELECT id FROM material WHERE botanical_name = ? AND kind = 'species' ORDER BY id LIMIT 1",
        (botanical,),
    )
    return f"/wood/{quote(rows[0]['id'], safe='')}" if rows else None


def finished(ask: Ask) -> Page:
    """All published items."""
    return _or_told("Finished items", lambda: _finished(ask))


def _finished(ask: Ask) -> Page:
    found = items(_copy(ask))
    shown = leaf(ask, found.rows, MANY)
    rows = [
        {"item": row.item, "href": f"/items/{row.name}", "of": row.made_of, "when": row.when,
         "label": row.label}
        for row in shown.rows
    ]  # fmt: skip
    return Page(
        "items.html", "Finished items",
        {"sentence": found.sentence, "rows": rows, "basis": found.basis.sentences(), "leaf": shown,
         **turned(ask, shown)},
        told=found.as_dict,
        rows=[row.as_dict() | {"woods": row.made_of} for row in found.rows],
    )  # fmt: skip


def item(ask: Ask) -> Page:
    """One published item."""
    return _or_told("Finished items", lambda: _item(ask))


def _item(ask: Ask) -> Page:
    copy = _copy(ask)
    found = item_told(copy, ask.path["item"])
    names = ask.catalogue.rules.names
    parts = [
        {
            "part": part.part, "lot": part.lot, "woods": _wood_links(ask, part.wood),
            "words": part.words or "", "grown": part.grown(names), "weight": part.weight,
            "proof": part.proof,
        }
        for part in found.parts
    ]  # fmt: skip
    glues = {key: str(glue["names"][0]["text"]) for key, glue in ask.catalogue.adhesives.items()}
    return Page(
        "item.html", found.item.item,
        {
            "when": found.item.when, "label": found.label, "sheet": _sheet_link(copy, found.item),
            "parts": parts, "proofs": found.proofs(),
            "used": found.used_lines(glues), "papers": found.paper_lines(),
            "basis": found.basis.sentences(), "checking": found.basis.checking(),
            "advice": found.basis.advice,
        },
        told=found.as_dict,
        rows=[part.as_dict() | {"countries": ", ".join(part.countries)} for part in found.parts],
        crumbs=WAY,
    )  # fmt: skip


def _sheet_link(copy: Copy, item: PublicItem) -> str | None:
    return f"/items/{item.name}/sheet" if has_sheet(copy, item.item) else None


def customer_sheet(ask: Ask) -> Page:
    """The customer sheet of a published item, its signatures checked."""
    return _or_told("Customer sheet", lambda: _customer_sheet(ask))


def _customer_sheet(ask: Ask) -> Page:
    found = sheet_told(_copy(ask), ask.path["item"])
    name = found.item.item
    return Page(
        "customer-sheet.html", f"Customer sheet of {name}",
        {**found.words, "title": f"Customer sheet of {name}", "signed": found.signed(),
         "sound": not found.flaws, "checking": found.checking()},
        told=found.body, rows=found.rows,
        crumbs=(*WAY, Crumb(name, f"/items/{found.item.name}")),
    )  # fmt: skip


def shelf(ask: Ask) -> Page:
    """The lots on hand, by where they lie."""
    return _or_told("On the shelf", lambda: _shelf(ask))


def _shelf(ask: Ask) -> Page:
    found = on_shelf(_copy(ask), ask.one("q") or None)
    shown = leaf(ask, found.rows, MANY)
    names, say = ask.catalogue.rules.names, Say(ask.units)
    places: dict[str, list[dict[str, object]]] = {}
    for lot in shown.rows:
        places.setdefault(lot.lies or NO_SHELF, []).append(_card(ask, lot, names, say))
    return Page(
        "shelf.html", "On the shelf",
        {
            "sentence": found.sentence, "mind": found.mind, "q": ask.one("q"),
            "places": [{"name": name, "lots": lots} for name, lots in places.items()],
            "basis": found.basis.sentences(), "leaf": shown, **turned(ask, shown),
        },
        told=found.as_dict, rows=[row.as_dict() for row in found.rows],
    )  # fmt: skip


def _card(ask: Ask, lot: ShelfLot, names: dict[str, str], say: Say) -> dict[str, object]:
    return {
        "lot": lot.lot, "woods": [] if lot.wood == "-" else _wood_links(ask, lot.wood), "called": lot.called,
        "what": lot.what(say), "left": lot.left(say), "proven": lot.proven(names),
    }  # fmt: skip
