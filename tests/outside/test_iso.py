"""Every country code in data/ against ISO 3166-1 as pycountry holds it (from Debian's iso-codes)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pycountry

from woodref.catalogue.dataset import DataSet

#: Northern Ireland keeps the EU's rules for goods; ISO 3166-2 has it, ISO 3166-1 does not
EXCEPTED = {"GB-NIR"}
#: keys under which the files hold country codes
KEYS = {"countries", "regions", "usual_in"}
#: words of ours that the standard's name does not contain
WORDED_OTHERWISE = {
    "CD": "DR Congo",  # Congo, The Democratic Republic of the
    "RU": "Russia",  # Russian Federation
    "VI": "US Virgin Islands",  # Virgin Islands, U.S.
}


def codes(value: Any, key: str = "") -> Iterator[str]:
    """Every code below a value: lists under one of KEYS, and the keys of the table of countries."""
    if isinstance(value, dict):
        if key == "countries":
            yield from value
        for name, inner in value.items():
            yield from codes(inner, str(name))
    elif isinstance(value, list):
        for inner in value:
            if isinstance(inner, str) and key in KEYS:
                yield inner
            else:
                yield from codes(inner)


def used(dataset: DataSet) -> dict[str, set[str]]:
    """file -> the codes in it; "*" (everywhere) is no code."""
    found: dict[str, set[str]] = {}
    held = [(m.file, m.model) for m in dataset.materials.values()]
    held += [(m.file, m.model) for m in dataset.documents.values()]
    held += [(file, entry) for file in dataset.lists for entry in dataset.entries(file)]
    for file, model in held:
        dumped = model.model_dump(mode="json", by_alias=True)
        found.setdefault(file, set()).update(set(codes(dumped)) - {"*"})
    return found


def unknown(found: dict[str, set[str]]) -> set[tuple[str, str]]:
    """file and code, where ISO 3166-1 has no such code."""
    return {
        (file, code)
        for file, these in found.items()
        for code in these - EXCEPTED
        if pycountry.countries.get(alpha_2=code) is None
    }


def words(name: str) -> set[str]:
    """The words of a name without commas and brackets."""
    return set(re.findall(r"\w+", name))


def test_every_code_is_one_of_the_standard(dataset: DataSet) -> None:
    found = used(dataset)
    assert not unknown(found)
    # each kind of file that holds codes was looked into
    assert {"trade/countries.yaml", "trade/places.yaml"} <= {f for f, these in found.items() if these}
    assert sum(1 for f, these in found.items() if f.startswith("species/") and these) >= 60


def test_the_table_of_countries_is_whole_and_in_its_place(dataset: DataSet) -> None:
    table = dataset.documents["trade/countries.yaml"].model.countries
    assert set(table) == {country.alpha_2 for country in pycountry.countries} | EXCEPTED
    for code, name in table.items():
        if code in EXCEPTED:
            continue
        country = pycountry.countries.get(alpha_2=code)
        known = [getattr(country, key, "") for key in ("name", "common_name", "official_name")]
        fits = any(words(name) <= words(theirs) for theirs in known)
        assert fits or WORDED_OTHERWISE.get(code) == name, (code, name, known)


def test_a_wrong_code_is_caught(dataset: DataSet) -> None:
    found = {**used(dataset), "species/made-up.yaml": {"US", "UK", "GB-NIR"}}
    assert unknown(found) == {("species/made-up.yaml", "UK")}  # ISO 3166-1 has GB
