"""One line of a material file broken at a time: the finding names that file, that line, that field."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.catalogue.findings import Finding

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]
Findings = Callable[[], list[Finding]]

FICTA = "species/ligna-ficta.yaml"
ALTERA = "species/ligna-altera.yaml"
DYED = "engineered/dyed-ficta.yaml"

#: what is broken -> (file, text, text put in its place, text on the line that must be named, field, gist)
BROKEN: dict[str, tuple[str, str, str, str, str, str]] = {
    "a field nobody knows": (
        FICTA,
        "oily:",
        "greasy: 1\n  oily:",
        "greasy",
        "working.greasy",
        "not known here",
    ),
    "a field left out": (FICTA, "  tannin: low\n", "", "working:", "working.tannin", '"tannin" is missing'),
    "a source that is not there": (
        FICTA,
        "source: hse-wis30",
        "source: hse-wis31",
        "hse-wis31",
        "working.dust.source",
        'no source "hse-wis31" stands in data/sources.yaml',
    ),
    "a year without quotes": (
        FICTA,
        'year: "2018"',
        "year: 2018",
        "year: 2018",
        "red_list.year",
        "put it in quotes",
    ),
    "a country that ISO does not know": (
        FICTA,
        'countries: [AT, DE, "NO"]',
        'countries: [AT, DE, "NO", UK]',
        ", UK]",
        "grows.countries.3",
        "UK is not an ISO 3166-1 code",
    ),
    "a country in small letters": (
        FICTA,
        'countries: [AT, DE, "NO"]',
        'countries: [at, DE, "NO"]',
        "[at,",
        "grows.countries.0",
        "does not have the form",
    ),
    "countries out of order": (
        FICTA,
        'countries: [AT, DE, "NO"]',
        'countries: [DE, AT, "NO"]',
        "[DE, AT",
        "grows.countries",
        "alphabetical order",
    ),
    "a country twice": (
        ALTERA,
        "countries: [CA, US]",
        "countries: [CA, US, US]",
        "US, US",
        "grows.countries",
        "each once",
    ),
    "planted where it is not felled": (
        FICTA,
        "countries: [AT]",
        "countries: [AT, FR]",
        'countries: [AT, DE, "NO"]',
        "grows.countries",
        "planted in FR but not listed as a country of harvest",
    ),
    "a colour class nobody knows": (
        FICTA,
        "class: light-brown",
        "class: sandy",
        "class: sandy",
        "look.class",
        'no colour class "sandy"; known: white',
    ),
    "a second colour class nobody knows": (
        FICTA,
        "[cream]",
        "[creme]",
        "[creme]",
        "look.also",
        "no colour class",
    ),
    "the main colour class said twice": (
        FICTA,
        "also: [cream]",
        "also: [light-brown]",
        "[light-brown]",
        "look.also",
        "is the main class already",
    ),
    "a word outside its list": (
        FICTA,
        "pores: diffuse",
        "pores: tiny",
        "pores: tiny",
        "look.pores",
        "\"tiny\" is not one of 'diffuse'",
    ),
    "an id with a capital": (
        ALTERA,
        "id: ligna-altera",
        "id: Ligna",
        "id: Ligna",
        "id",
        "does not have the form",
    ),
    "a retired id that is alive": (
        FICTA,
        "was: [ligna-vetus]",
        "was: [ligna-altera]",
        "was:",
        "was.0",
        '"ligna-altera" is the id of a living material',
    ),
    "a base wood that is not there": (
        DYED,
        "look_of: [ligna-altera]",
        "look_of: [ligna-nulla]",
        "made_from:",
        "made_from",
        '"ligna-nulla" is not a species of the catalogue',
    ),
    "a sheet made of a sheet": (
        DYED,
        "woods: [ligna-ficta]",
        "woods: [ligna-ficta, dyed-ficta]",
        "made_from:",
        "made_from",
        '"dyed-ficta" is not a species',
    ),
    "a base that the law would not see": (
        DYED,
        "woods: [ligna-ficta]",
        "woods: [ligna-altera]",
        "woods: [ligna-altera]",
        "made_from.woods",
        "the base ligna-ficta is missing here",
    ),
}


@pytest.mark.parametrize("case", BROKEN.values(), ids=BROKEN.keys())
def test_the_finding_names_the_file_the_line_and_the_field(
    case: tuple[str, str, str, str, str, str], tells: Callable[[tuple[str, ...]], None]
) -> None:
    tells(case)


def test_syntax_that_cannot_be_read_is_told_at_the_line_where_reading_stops(
    edit: Edit, at: At, findings: Findings
) -> None:
    edit(FICTA, "thickness_mm: [0.6]", "thickness_mm: [0.6")
    (only,) = findings()
    assert (only.file, only.line) == (FICTA, at(FICTA, "leaf_width_mm"))
    assert only.says.startswith("not readable as YAML")


def test_a_key_given_twice_is_told_at_the_second(edit: Edit, at: At, findings: Findings) -> None:
    edit(FICTA, "  grain: straight", "  grain: straight\n  pores: ring")
    (only,) = findings()
    assert (only.line, only.says) == (at(FICTA, "pores: ring"), 'the key "pores" is given twice')
