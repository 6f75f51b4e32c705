"""Every country code of the law files exists (pycountry, ISO 3166-1), GB-NIR excepted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pycountry

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.reader import Catalogue
from woodref.trade.shapes import Item, Movement
from woodref.trade.verdict import verdict


def codes(value: Any, key: str = "") -> Iterator[str]:
    """Country codes below the keys that hold them."""
    if isinstance(value, dict):
        for name, item in value.items():
            yield from codes(item, name)
    elif isinstance(value, list):
        for item in value:
            yield from codes(item, key)
    elif key in ("country", "countries", "places", "origin", "parties", "leaves") and isinstance(value, str):
        yield value


def test_every_code_of_the_law_exists(dataset: DataSet) -> None:
    known = {c.alpha_2 for c in pycountry.countries} | {"GB-NIR", "EU", "all"}
    groups = {g.id for g in dataset.entries("trade/places.yaml")}
    seen = 0
    for file, rows in dataset.lists.items():
        if not file.startswith("trade/"):
            continue
        for _, _, entry in rows:
            for code in codes(entry.model_dump(mode="json", by_alias=True)):
                assert code in known | groups, f"{file}: {entry.id}: {code}"
                seen += 1
    members = {m.id for m in dataset.entries("trade/eu_members.yaml")}
    assert members <= known and len(members) == 28
    assert seen > 300


def test_a_waiver_that_turns_on_the_origin_asks_for_it(catalogue: Catalogue) -> None:
    """Note #10 of 2023 freed re-exports only: without the country of harvest nobody can say."""
    item = Item(("Paubrasilia echinata",), "instrument-accessory")
    found = verdict(item, Movement("US", "JP", dt.date(2024, 6, 1)), catalogue.rules)
    assert found.answer == "check"
    assert next(d.code for d in found.doubts) == "origin-missing"


def test_every_note_and_paper_the_rows_name_is_there(dataset: DataSet) -> None:
    notes = {a.listed_as for a in dataset.entries("trade/annotations.yaml")}
    for row in dataset.entries("trade/listings.yaml"):
        assert row.annotation in notes | {None, "as CITES"}, row.id
    for note in dataset.entries("trade/annotations.yaml"):
        assert all(hand.to in notes for hand in note.hand_overs)
    papers = {p.id for p in dataset.entries("trade/papers.yaml")}
    for rule in dataset.entries("trade/paper_rules.yaml"):
        assert set(rule.documents) <= papers, rule.id
    forms = {f.id for f in dataset.entries("trade/forms.yaml")}
    assert len(forms) == 25
