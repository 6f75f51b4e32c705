"""The form of papers, as `trade` answers, and the lists of a day, as `listings` does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from woodref.errors import BadRequest, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.forms import Form, choices, said
from woodref.explorer.formwords import FormWords
from woodref.explorer.known import Fields
from woodref.explorer.page import BAD_REQUEST, Page
from woodref.selection.journey import PRESSED, answer, from_options
from woodref.trade.shapes import MODES, SOURCE_CODES

if TYPE_CHECKING:
    from woodref.selection.journey import Answer

LABELS = {
    "wood": "Wood", "form": "Made into", "from": "Leaves", "to": "Enters", "origin": "Harvested in",
    "on": "Day of the journey", "acquired": "Day the wood was felled or first held",
    "kg": "Listed wood in one item, kg",
    "items": "How many items", "mode": "How it travels", "commercial": "For trade or not",
    "source_code": "Source code on the permit", "shape": "Shape of the part",
    "state": "State of a pressed part",
    "business": "Size of the importing business", "shipped": "Day of sailing",
    "region": "Country whose trade names are meant",
}  # fmt: skip
WORDS = FormWords(
    {f"--{name.replace('_', '-')}": (name, label) for name, label in LABELS.items() if name != "wood"}
)
STATES, SHAPES = ("blank", "trimmed", "finished"), ("flat", "curved", "partly-flat")
BUSINESSES = ("large", "medium", "small", "micro")
#: what the letters of the treaty's resolution on permits stand for (from memory)
SOURCES = {
    "W": "W: from the wild", "A": "A: artificially propagated", "Y": "Y: assisted production",
    "D": "D: Appendix I, propagated for trade", "O": "O: older than its listing", "U": "U: not known",
    "I": "I: seized",
}  # fmt: skip
FOR_TRADE = ("trade", "personal")
#: the fields of each page
FIELDS = {"trade": Fields(tuple(LABELS)), "listings": Fields(("taxon", "on", "since"))}


def trade(ask: Ask) -> Page:
    """The form alone, or with the answer below it."""
    form = Form(ask, WORDS)
    if ask.empty:
        told = {"error": BadRequest("no wood is named", expected="a name").as_dict()}
        status = 200 if ask.form == "html" else BAD_REQUEST
        return Page("trade.html", "Ask for the papers", _values(form, None), status, told)
    found = _answer(form)
    if found is None:
        return Page("trade.html", "Ask for the papers", _values(form, None), form.status, form.error)
    sections = found.page()
    return Page(
        "trade.html", f"Papers for {ask.one('wood')}", _values(form, found), told=found.as_dict(),
        rows=[{"heading": heading, "sentence": line} for heading, lines in sections for line in lines],
        notices=[notice.message for notice in found.notices],
    )  # fmt: skip


def _answer(form: Form) -> Answer | None:
    """What `trade` answers, or None when a field stands in its way."""
    ask = form.ask
    if not ask.one("wood"):
        form.at("wood", BadRequest("no wood is named", expected="a name"))
    for name in ("form", "from", "to"):
        if not ask.one(name):
            form.at(name, BadRequest(f"--{name} is missing"))
    given: dict[str, Any] = {
        "form": ask.one("form"), "start": form.country("from"), "to": form.country("to"),
        "origin": form.country("origin"), "on": ask.one("on") or None,
        "acquired": ask.one("acquired") or None,
        "kg": ask.one("kg") or None, "items": ask.whole("items", 1, 1_000_000, 1),
        "mode": ask.one("mode", "cargo"),
        "commercial": ask.choice("commercial", FOR_TRADE, "trade") == "trade",
        "source_code": ask.one("source_code") or None, "shipped": ask.one("shipped") or None,
        "shape": ask.choice("shape", ("", *SHAPES), "") or None,
        "state": ask.choice("state", ("", *STATES), "") or None,
        "business": ask.choice("business", ("", *BUSINESSES), "") or None,
    }  # fmt: skip
    if ask.wrong:
        return None
    try:
        asked = from_options(ask.one("wood"), given, ask.catalogue, ask.shop.today, form.country("region"))
        return answer(asked, ask.catalogue)
    except WoodrefError as fault:
        form.placed(fault, _usual(fault))
        return None


#: faults that name no option: how they begin -> their field
_BEGIN = (("the wood was acquired", "acquired"), ("the goods sailed", "shipped"))


def _usual(fault: WoodrefError) -> str:
    if fault.code == "bad-quantity":
        return "kg"
    return next((name for begins, name in _BEGIN if fault.message.startswith(begins)), "wood")


def _values(form: Form, found: Answer | None) -> dict[str, Any]:
    rules = form.ask.catalogue.rules
    forms = [(key, words.words) for key, words in rules.forms.items()]
    return form.values() | {
        "label": LABELS, "forms": choices(forms, "choose one"),
        "tests": [(words.words, words.test) for words in rules.forms.values()],
        "modes": [(m, said(m)) for m in MODES],
        "sources": choices([(s, SOURCES[s]) for s in SOURCE_CODES], "not stated"),
        "states": choices([(s, s) for s in STATES], "not stated"),
        "shapes": choices([(s, said(s)) for s in SHAPES], "not stated"),
        "businesses": choices([(b, b) for b in BUSINESSES], "not stated"),
        "trades": [("trade", "for trade"), ("personal", "personal, not for trade")],
        "pressed": ", ".join(rules.forms[key].words for key in PRESSED),
        "sections": found.page() if found else None,
        "woods": [wood for _, woods in found.asked.names for wood in woods] if found else [],
    }  # fmt: skip


LIST_LABELS = {"taxon": "Genus or species", "on": "On the day", "since": "Changes since"}
LIST_WORDS = FormWords({f"--{name}": (name, label) for name, label in LIST_LABELS.items()})


def listings(ask: Ask) -> Page:
    """The rows that stand on a day, or what changed since another."""
    from woodref.selection.listed import listed

    form = Form(ask, LIST_WORDS)
    values = form.values() | {"label": LIST_LABELS, "found": None}
    try:
        found = listed(
            ask.one("taxon") or None,
            ask.one("on") or None,
            ask.one("since") or None,
            ask.catalogue,
            ask.shop.today,
        )
    except WoodrefError as fault:
        form.placed(fault, "since")
        return Page("listings.html", "What is listed", values, form.status, form.error)
    heading = f"Changes from {found.since} to {found.on}" if found.since else f"Listed on {found.on}"
    return Page(
        "listings.html", "What is listed", values | {"found": found, "answer_heading": heading},
        told=found.as_dict(), rows=found.rows, notices=[notice.message for notice in found.notices],
    )  # fmt: skip
