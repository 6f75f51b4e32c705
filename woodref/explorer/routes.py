"""Which path is which page. A page is named as module:function and imported when it is first asked for."""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from woodref.explorer.asking import Ask
    from woodref.explorer.page import Page

FORM = r"(?P<format>\.json|\.csv)?"
#: (path, module:function in woodref.explorer.pages, name in the menu or '')
ROUTES: tuple[tuple[str, str, str], ...] = (
    (r"^/$", "start:start", "Start"),
    (rf"^/search{FORM}$", "start:search", ""),
    (rf"^/woods{FORM}$", "woods:woods", "Woods"),
    (rf"^/beside{FORM}$", "beside:beside", "Side by side"),
    # a row of a list of the user's own has slashes in its id: the page says where those answer
    (rf"^/wood/(?P<name>my/[^/]+/[^/]+?|[^/]+?){FORM}$", "wood:wood", ""),
    (rf"^/instead{FORM}$", "instead:instead", "Stand-ins"),
    (rf"^/trade{FORM}$", "trade:trade", "Papers"),
    (rf"^/listings{FORM}$", "trade:listings", ""),
    (rf"^/layup{FORM}$", "layup:layup", "Packs"),
    (r"^/layup\.yaml$", "layup:written", ""),
    (r"^/layup/card$", "layup:card", ""),
    (r"^/layup/(?P<sheet>card|drawing)\.css$", "layup:style", ""),
    (rf"^/pictures{FORM}$", "pictures:pictures", "Pictures"),
    (rf"^/pictures/(?P<name>[^/]+?){FORM}$", "pictures:picture", ""),
    (rf"^/board{FORM}$", "board:board", "Sample board"),
    (rf"^/engineered{FORM}$", "sheets:sheets", "Engineered veneers"),
    (rf"^/engineered/(?P<name>[^/]+?){FORM}$", "sheets:sheet", ""),
    (rf"^/items{FORM}$", "published:finished", ""),
    (rf"^/items/(?P<item>[^/]+?)/sheet{FORM}$", "published:customer_sheet", ""),
    (rf"^/items/(?P<item>[^/]+?){FORM}$", "published:item", ""),
    (rf"^/shelf{FORM}$", "published:shelf", ""),
    (rf"^/about{FORM}$", "about:about", "About"),
    (rf"^/about/sources{FORM}$", "about:sources", ""),
    (rf"^/about/source/(?P<id>[^/]+?){FORM}$", "about:source", ""),
    (rf"^/about/coverage{FORM}$", "about:coverage", ""),
)


def page_called(name: str) -> Callable[[Ask], Page]:
    """The function of a page."""
    module, _, function = name.partition(":")
    found: Callable[[Ask], Page] = getattr(import_module(f"woodref.explorer.pages.{module}"), function)
    return found


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(path), name) for path, name, _ in ROUTES)


def page_at(path: str) -> tuple[str, dict[str, str]] | None:
    """(page, named words of the path) of a path as it was sent; None where no page of ours is."""
    for pattern, name in _patterns():
        found = pattern.match(path)
        if found:
            return name, {key: value for key, value in found.groupdict().items() if value is not None}
    return None


def is_page(path: str) -> bool:
    return page_at(path) is not None


def plain_paths() -> list[str]:
    """Paths of pages that need no word in them."""
    bare = [path.removeprefix("^").removesuffix("$").replace(FORM, "") for path, _, _ in ROUTES]
    return [path for path in bare if re.fullmatch(r"[a-z/-]+", path)]


#: what stands in the menu besides where a copy of a book is open
WITH_BOOK = (("Items", "/items"), ("Shelf", "/shelf"))


def menu() -> list[tuple[str, str]]:
    """(label, path) of what stands in the menu."""
    out = []
    for path, _, label in ROUTES:
        if label:
            out.append((label, path.removeprefix("^").removesuffix("$").replace(FORM, "")))
    return out
