"""What was asked of `find`, and in which order it answers, in words."""

from __future__ import annotations

from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.selection.facets import KIND_WORDS, facets
from woodref.selection.find import Query
from woodref.units import Range


def asked_words(query: Query, catalogue: Catalogue) -> dict[str, str]:
    """Each thing asked by its name in the query (a property, a facet) and as a phrase."""
    out: dict[str, str] = {}
    if query.text.strip():
        out["text"] = f'called "{query.text.strip()}"'
    out |= {name: limit_words(name, limit) for name, limit in query.limits.items()}
    if query.plantation:
        out["plantation"] = "planted for timber"
    if query.not_listed:
        out["not_listed"] = "not listed from somewhere"
    if query.kind:
        out["kind"] = KIND_WORDS[query.kind]
    if query.like_colour:
        out["like_colour"] = f"about the colour {query.like_colour}, within {query.within:g}"
    known = facets(catalogue)
    out |= {name: f"{known[name].asks}: {known[name].words[word]}" for name, word in query.only.items()}
    if query.estimates:
        out["estimates"] = "with what can be worked out from the weight"
    return out


def limit_words(name: str, limit: Range) -> str:
    """'weight 450 to 600 kg/m3', 'stiffness in bending from 10 GPa'."""
    prop = PROPERTIES[name]
    unit = "" if prop.unit == "1" else f" {prop.unit}"
    if limit.low is None:
        return f"{prop.asks} up to {limit.high:g}{unit}"
    if limit.high is None:
        return f"{prop.asks} from {limit.low:g}{unit}"
    return f"{prop.asks} {limit.low:g} to {limit.high:g}{unit}"


def order_words(query: Query) -> str:
    """How the rows lie, as a sentence."""
    if query.like_colour:
        return "The nearest colour stands first."
    if query.limits:
        return f"In order of {PROPERTIES[next(iter(query.limits))].asks}, the smallest first."
    return "In order of their ids."
