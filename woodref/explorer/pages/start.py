"""The first page and the search."""

from __future__ import annotations

from woodref.catalogue.names import LISTS_APART
from woodref.errors import WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import Fields
from woodref.explorer.page import Page
from woodref.selection.find import Query, find

#: (path, what a person wants to do, what they get)
DOORS = (
    (
        "/instead",
        "Find a stand-in",
        "Another wood for one that is barred, dear or gone, and why it is like it.",
    ),
    (
        "/layup",
        "Check a pack",
        "Before the glue is spread: will it stay flat, will it bend, what does it weigh.",
    ),
    ("/trade", "Ask for the papers", "Which papers a wood needs as this item, on this journey, on this day."),
    ("/woods", "Browse the woods", "By weight, stiffness, movement, colour; planted; not listed."),
    ("/beside", "Lay woods side by side", "Two to six of them, figure by figure."),
    (
        "/pictures",
        "See them all at once",
        "Weight against stiffness, movement across against along, now and after light.",
    ),
    ("/board", "Lay out a sample board", "What looks like a wood, round about it by likeness."),
    (
        "/engineered",
        "Engineered veneers",
        "Sheets glued and sliced anew, with the pattern drawn from the recipe.",
    ),
    ("/about", "About the figures", "Where they come from, how many are known, how to report a wrong one."),
)
DOORS_WITH_BOOK = (
    ("/items", "Finished items", "What each is made of, what is known of it, and how to check it."),
    ("/shelf", "On the shelf", "Lots with what is free of them and where they lie."),
)
MOST = 60
#: the fields of each page
FIELDS = {"search": Fields(("q",))}


def start(ask: Ask) -> Page:
    """Search, and an entry for each thing a person wants to do."""
    doors = (*DOORS, *(DOORS_WITH_BOOK if ask.shop.book_copy else ()))
    told = [{"href": href, "name": name, "says": says} for href, name, says in doors]
    return Page(
        "start.html", "Which wood, and may I?", {"doors": told, "held": _held(ask)}, told={"doors": told}
    )


def _held(ask: Ask) -> list[str]:
    rows = ask.catalogue.rows("SELECT kind, count(*) AS n FROM material GROUP BY kind ORDER BY n DESC")
    words = {
        "species": "woods",
        "engineered": "engineered veneers",
        "modified": "changed woods",
        "core": "core boards",
    }
    kinds = ", ".join(f"{row['n']} {words.get(row['kind'], row['kind'])}" for row in rows)
    figures = ask.catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"]
    sources = ask.catalogue.rows("SELECT count(*) AS n FROM source")[0]["n"]
    glues = len(ask.catalogue.adhesives)
    return [
        f"{kinds} and {glues} classes of glue.",
        f"{figures:,} figures, each with where it is from: {sources} sources.",
        f"Trade rules as of {ask.catalogue.law.as_of.isoformat()}.",
    ]


def search(ask: Ask) -> Page:
    """Woods whose names hold the words; nothing asked shows the field alone."""
    text = ask.one("q")
    bare = {"q": text, "rows": [], "count_words": "", "none_words": "", "apart_words": LISTS_APART}
    if not text:
        told = {"query": {"text": None}, "count": 0, "rows": [], "notices": []}
        return Page("search.html", "Look up a name", bare, told=told)
    try:
        found = find(Query(text, rows=MOST), ask.catalogue, ask.shop.today)
    except WoodrefError as fault:
        ask.told("q", fault)
        return Page("search.html", "Look up a name", bare)
    rows = [
        {
            "id": row.material.id,
            "name": row.material.name,
            "says": _says(row.material.botanical_name, row.matched, row.says),
        }
        for row in found.rows
    ]
    one = found.count == 1
    return Page(
        "search.html", f"Names with {text}",
        {"q": text, "rows": rows, "apart_words": LISTS_APART,
         "count_words": "One answers." if one else f"{found.count} answer.",
         "none_words": " ".join(found.closing) or "Nothing answers to that."},
        told=found.as_dict, rows=lambda: [row.flat(found.asked) for row in found.rows],
        notices=[notice.message for notice in found.notices],
    )  # fmt: skip


def _says(botanical: str | None, matched: str | None, says: str) -> str:
    called = f'called "{matched}"' if matched else ""
    return "; ".join(filter(None, (botanical, called, says)))
