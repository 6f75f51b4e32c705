"""The verdict engine against worked cases: those carried over with their citations, and our own,
written from the rules: C01 to C144 before the engine existed, later ones without sight of it. A case
that rests on memory says `basis: memory`."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
import yaml

from woodref.catalogue.reader import Catalogue
from woodref.trade.shapes import Item, Movement
from woodref.trade.verdict import verdict
from woodref.units import day_or_year

HERE = Path(__file__).parent


def _cases() -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for name in ("public_cases.yaml", "own_cases.yaml"):
        out += yaml.load((HERE / name).read_text("utf-8"), Loader=yaml.CSafeLoader)
    return out


CASES = _cases()


def item_of(case: dict[str, Any]) -> Item:
    given = case["item"]
    acquired = given["acquired"]
    return Item(
        woods=tuple(given["woods"]),
        form=given["form"],
        kg=given["kg"],
        items=given["items"],
        origin=given["origin"],
        source_code=given["source_code"],
        acquired=day_or_year(acquired) if acquired else None,
        shape=given["shape"],
        state=given["state"],
        planted=given["planted"],
    )


def movement_of(case: dict[str, Any]) -> Movement:
    given = case["movement"]
    shipped = given["shipped"]
    return Movement(
        start=given["from"],
        to=given["to"],
        on=dt.date.fromisoformat(given["on"]),
        mode=given["mode"],
        commercial=given["commercial"],
        business=given["business"],
        shipped=dt.date.fromisoformat(shipped) if shipped else None,
    )


@pytest.mark.parametrize("case", CASES, ids=[c["id"] for c in CASES])
def test_case(case: dict[str, Any], catalogue: Catalogue) -> None:
    found = verdict(item_of(case), movement_of(case), catalogue.rules)
    wanted = case["expect"]
    told = f"{case['title']}: {case['because']} [{case['citation']}, {case['basis']}]"
    assert found.answer == wanted["answer"], told
    if "cites" in wanted:
        assert found.cites == wanted["cites"], told
    if "documents" in wanted:
        due = {d.code for w in found.woods for d in w.leg.documents}
        assert due == set(wanted["documents"]), told
    codes = {law.code for law in found.other_laws if law.applies is not False}
    assert set(wanted.get("other_laws", [])) <= codes, (told, codes)
    assert not set(wanted.get("other_laws_absent", [])) & codes, (told, codes)
    doubts = {d.code for d in found.doubts}
    assert set(wanted.get("doubts", [])) <= doubts, (told, doubts)


def test_every_case_has_an_id_of_its_own_and_there_are_enough() -> None:
    ids = [c["id"] for c in CASES]
    assert len(set(ids)) == len(ids)
    assert sum(i.startswith("P") for i in ids) == 28
    assert sum(i.startswith("C") for i in ids) >= 60


def test_every_sentence_carries_a_citation_or_says_that_it_is_from_memory(catalogue: Catalogue) -> None:
    for case in CASES:
        found = verdict(item_of(case), movement_of(case), catalogue.rules)
        for reason in found.reasons:
            assert reason.source is None or reason.source in catalogue.sources, reason
            cited = bool(reason.citation or reason.source)
            assert cited or reason.evidence in ("recalled", "common-practice"), reason.sentence
        assert "Not legal advice" in found.caution
