"""The sources as BibTeX and CSL-JSON: read back with a reader of our own, letter for letter.

Of BibTeX the reader knows what decides whether a file holds together: it counts braces, and a backslash
before a brace does not keep it from being counted.
"""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from woodref.catalogue.citing import bibtex, csl, printable, tex
from woodref.catalogue.reader import Catalogue
from woodref.catalogue.schema import SourceIn

#: item types of the CSL 1.0 schema that are used here
CSL_TYPES = {"article-journal", "book", "dataset", "legislation", "report", "standard", "webpage"}
CSL_KEYS = {"id", "type", "title", "author", "issued", "publisher", "DOI", "note"}
#: what TeX prints for a command
PRINTS = {
    r"\textbackslash{}": "\\", r"\textbraceleft{}": "{", r"\textbraceright{}": "}", r"\textasciitilde{}": "~",
    r"\textasciicircum{}": "^", r"\&": "&", r"\%": "%", r"\$": "$", r"\#": "#", r"\_": "_",
}  # fmt: skip
COMMAND = re.compile("|".join(re.escape(command) for command in PRINTS))
#: what a style demands of an entry type (misc demands nothing)
DEMANDED = {
    "misc": set(),
    "techreport": {"author", "title", "institution", "year"},
    "book": {"author", "title", "publisher", "year"},
}


def printed(text: str) -> str:
    """What TeX makes of a field."""
    left = COMMAND.sub("", text)
    assert not set(left) & set("\\{}~^&%$#_"), f"a bare letter that TeX takes for a command in {text!r}"
    return COMMAND.sub(lambda m: PRINTS[m.group()], text)


def braced(text: str, start: int) -> int:
    """Index behind the brace that closes the one at start."""
    depth = 0
    for index in range(start, len(text)):
        depth += {"{": 1, "}": -1}.get(text[index], 0)
        if depth == 0:
            return index + 1
    raise AssertionError("a brace is never closed")


def parsed(text: str) -> dict[str, tuple[str, dict[str, str]]]:
    """BibTeX -> key: (entry type, field: text between its braces)."""
    out: dict[str, tuple[str, dict[str, str]]] = {}
    place = 0
    while (at := text.find("@", place)) >= 0:
        head = re.compile(r"@([a-z]+)(?=\{)").match(text, at)
        assert head, text[at : at + 30]
        place = braced(text, head.end())
        key, _, body = text[head.end() + 1 : place - 1].partition(",")
        assert re.fullmatch(r"[a-z0-9-]+", key) and key not in out
        fields: dict[str, str] = {}
        spot = 0
        while field := re.compile(r"\s*([a-z]+) = (?=\{)").match(body, spot):
            spot = braced(body, field.end())
            assert field.group(1) not in fields
            fields[field.group(1)] = body[field.end() + 1 : spot - 1]
            assert body[spot] == ","
            spot += 1
        assert not body[spot:].strip(), body[spot:]
        out[key] = (head.group(1), fields)
    return out


def source(**given: Any) -> dict[str, Any]:
    """A source as the catalogue gives it, with the fields given."""
    empty = dict.fromkeys(("form", "by", "year", "publisher", "doi", "licence", "states"))
    return {"id": "invented-one", "kind": "document", "title": "A title", "seen": "opened"} | empty | given


HARD = [
    "Glues & veneers: 50 % off_cuts #3",
    "Über Edelhölzer und ébénisterie, żółć, 木",
    "A {braced} title, and one } too many {{",
    r"back\slash, \textbf{bold}, ~tilde, ^hat, $5",
    'quoted "words" and @home',
    "  spaces \n and\tline ends  ",
]


@pytest.mark.parametrize("title", HARD)
def test_a_hard_title_comes_back_letter_for_letter(title: str) -> None:
    (entry,) = parsed(bibtex([source(title=title, by=title, publisher=title)])).values()
    for field in ("title", "author"):
        assert entry[1][field][0] == "{" and entry[1][field][-1] == "}"  # no style changes its letters
        assert printed(entry[1][field][1:-1]) == " ".join(title.split())
    assert printed(entry[1]["howpublished"]) == " ".join(title.split())
    (item,) = json.loads(json.dumps(csl([source(title=title)])))
    assert item["title"] == title


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1))
def test_any_text_comes_back(text: str) -> None:
    assert printed(tex(text)) == " ".join(text.split())
    whole = bibtex([source(title=text), source(id="two")])
    assert set(parsed(whole)) == {"invented-one", "two"}


CASES: list[tuple[dict[str, Any], str, str]] = [
    ({}, "misc", "report"),
    ({"by": "A board", "year": "1999", "publisher": "A house"}, "techreport", "report"),
    ({"by": "A board", "publisher": "A house"}, "misc", "report"),  # no year: a report's style would miss it
    ({"doi": "10.1000/x_1"}, "misc", "article-journal"),
    ({"form": "article"}, "misc", "article-journal"),
    ({"form": "report", "doi": "10.1000/1"}, "misc", "report"),
    ({"form": "book", "by": "A board", "year": "1999", "publisher": "A house"}, "book", "book"),
    ({"form": "book"}, "misc", "book"),
    ({"form": "page", "by": "A board", "year": "1999", "publisher": "A house"}, "misc", "webpage"),
    ({"kind": "data-set", "doi": "10.1000/1"}, "misc", "dataset"),
    ({"kind": "law"}, "misc", "legislation"),
    ({"kind": "standard", "by": "A", "year": "1999", "publisher": "A house"}, "misc", "standard"),
]


@pytest.mark.parametrize(("given_", "entry_type", "item_type"), CASES)
def test_every_kind_has_its_type(given_: dict[str, Any], entry_type: str, item_type: str) -> None:
    ((kind, fields),) = parsed(bibtex([source(**given_)])).values()
    assert kind == entry_type
    assert DEMANDED[kind] <= set(fields)
    assert csl([source(**given_)])[0]["type"] == item_type


def test_what_is_known_is_all_there_and_what_is_not_is_absent() -> None:
    full = source(by="One and another", year="2001", publisher="A house", doi="10.1000/a_b{c", licence="CC0")
    ((kind, fields),) = parsed(bibtex([full])).values()
    assert kind == "misc"
    assert fields == {
        "author": "{One and another}",  # one body: BibTeX would split at "and" without the braces
        "title": "{A title}",
        "year": "2001",
        "howpublished": "A house",
        "doi": "10.1000/a_b%7Bc",  # styles take it letter by letter, so nothing is escaped but braces
        "annote": "Licence: CC0. Seen: opened.",
    }
    assert csl([full]) == [
        {
            "id": "invented-one",
            "type": "article-journal",
            "title": "A title",
            "author": [{"literal": "One and another"}],
            "issued": {"date-parts": [[2001]]},
            "publisher": "A house",
            "DOI": "10.1000/a_b{c",
            "note": "Licence: CC0. Seen: opened.",
        }
    ]
    assert set(csl([source()])[0]) == {"id", "type", "title", "note"}


def test_only_a_document_has_a_form() -> None:
    given_ = {"id": "one", "title": "A title", "seen": "opened", "form": "book"}
    assert SourceIn.model_validate(given_ | {"kind": "document"}).form == "book"
    for kind in ("law", "rule", "standard", "data-set"):
        with pytest.raises(ValidationError, match="form belongs to kind document only"):
            SourceIn.model_validate(given_ | {"kind": kind})


def test_a_rule_of_ours_is_no_document() -> None:
    rule = source(id="rule-invented", kind="rule", states="twice two is four")
    assert printable([rule, source()]) == [source()]
    assert "rule-invented" not in bibtex([rule, source()])
    assert [item["id"] for item in csl([rule, source()])] == ["invented-one"]


def test_every_source_of_the_catalogue_comes_through(catalogue: Catalogue) -> None:
    every = list(catalogue.sources.values())
    wanted = {s["id"]: s["title"] for s in every if s["kind"] != "rule"}
    entries = parsed(bibtex(every))
    assert {key: printed(fields["title"][1:-1]) for key, (_, fields) in entries.items()} == wanted
    for key, (kind, fields) in entries.items():
        assert DEMANDED[kind] <= set(fields), key
    items = json.loads(json.dumps(csl(every)))
    assert {item["id"]: item["title"] for item in items} == wanted
    for item in items:
        assert item["type"] in CSL_TYPES and set(item) <= CSL_KEYS
    # by what the sources are: the handbook is a report, a paper with a DOI an article
    types = {item["id"]: item["type"] for item in items}
    assert (types["fpl-gtr-190"], types["walnut-iran-2021"]) == ("report", "article-journal")
    assert (types["gwdd"], types["eu-338-97"], types["en-350"]) == ("dataset", "legislation", "standard")
    assert (types["eudr-scope-page"], types["bre-hardwoods"]) == ("webpage", "book")
    assert entries["fpl-gtr-190"][0] == "techreport"
