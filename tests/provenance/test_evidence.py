"""Verdicts on the two stools under the fixture rule set R-TEST-1: computed from the scenario by others
too."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from typing import Any

import pytest

from woodref.provenance.documents import paper_of
from woodref.provenance.evidence import PART, PROVEN, UNPROVEN, Asked, Case, RuleSet, Verdict, judge, worst
from woodref.provenance.store import Store
from woodref.provenance.trace import whence

ON = dt.date(2025, 11, 1)
HOME = (
    Asked("NAME", "name", "the botanical name"),
    Asked("DOCUMENT", "document", "an invoice"),
    Asked("COUNTRY", "country", "the country of harvest on a paper"),
    Asked("COMPOSITION", "composition", "the maker's composition sheet"),
)
EXTRA = {
    "HOME": (),
    "EU": (Asked("EUDR-REF", "reference", "the reference number", "2023-06-29"),),
    "US": (Asked("QUANTITY", "quantity", "a density"), Asked("VALUE", "value", "the value")),
}
CITES = (Asked("ACQUISITION", "acquisition", "a permit or an old paper", "500"),)


def rules(destination: str) -> RuleSet:
    """R-TEST-1: a fixture, no law."""
    asks = CITES if destination == "CITES" else HOME + EXTRA[destination]
    return RuleSet("R-TEST-1", "1", destination, dt.date(2025, 1, 1), dt.date(2027, 1, 1), asks, "fixture")


def listed(wood: str, country: str | None) -> dt.date | None:
    return dt.date(2017, 1, 2) if wood == "Dalbergia latifolia" else None


def case(store: Store, item: str, value: str | None = "420.00") -> Case:
    papers: dict[str, list[Any]] = {}
    for lot, told in store.rows(
        "SELECT l.lot, p.told FROM paper_lot l JOIN paper p ON p.id = l.paper ORDER BY p.id"
    ):
        papers.setdefault(lot, []).append(paper_of(json.loads(told), "paper"))
    return Case(whence(store, item), papers, listed, value)


def asked(store: Store, item: str, destination: str) -> Verdict:
    return judge(case(store, item), rules(destination), ON)


def gaps(verdict: Verdict) -> list[tuple[str, str]]:
    return sorted((g.root, g.key) for g in verdict.gaps)


@pytest.mark.parametrize(
    ("item", "destination", "wanting"),
    [
        ("STOOL-001", "HOME", []),
        ("STOOL-001", "EU", [("L-D", "EUDR-REF")]),
        ("STOOL-001", "US", []),
        ("STOOL-001", "CITES", []),
        ("STOOL-002", "HOME", [("L-C", "COUNTRY"), ("L-C", "DOCUMENT")]),
        ("STOOL-002", "EU",
         [("L-C", "COUNTRY"), ("L-C", "DOCUMENT"), ("L-C", "EUDR-REF"), ("L-D", "EUDR-REF")]),
        ("STOOL-002", "US", [("L-C", "COUNTRY"), ("L-C", "DOCUMENT")]),
        ("STOOL-002", "CITES", [("L-C", "ACQUISITION")]),
    ],
)  # fmt: skip
def test_the_gaps_of_each_stool(full: Store, item: str, destination: str, wanting: list[Any]) -> None:
    assert gaps(asked(full, item, destination)) == wanting


def test_a_line_that_is_proven_in_part(full: Store) -> None:
    found = asked(full, "STOOL-002", "HOME")
    (line,) = [line for line in found.lines if line.wood == "Dalbergia latifolia"]
    assert (
        line.status == PART and line.sentence() == "Dalbergia latifolia: part proven, 34 g of 102 g (33.3 %)."
    )
    assert worst(found) == UNPROVEN and worst(asked(full, "STOOL-001", "HOME")) == PROVEN
    masses = {g.key: float(g.ng or 0) / 1e9 for g in found.gaps}
    assert masses == {"DOCUMENT": 68, "COUNTRY": 68}


@pytest.mark.parametrize(("limit", "wanting"), [("102", 1), ("101.999", 2), ("500", 1)])
def test_the_limit_of_mass_is_held_to_the_milligram(full: Store, limit: str, wanting: int) -> None:
    # 34 + 68 = 102 g of listed wood in the stool: over the limit both lots want a permit, under it the one
    # without a paper wants proof of how it was come by
    asks = (Asked("ACQUISITION", "acquisition", "a permit", limit),)
    found = judge(
        case(full, "STOOL-002"), RuleSet("T", "1", "X", dt.date(2025, 1, 1), None, asks, "fixture"), ON
    )
    assert len(found.gaps) == wanting


def test_s6_a_paper_found_later_proves_from_then_on(full: Store, make: Callable[..., Any]) -> None:
    before = gaps(asked(full, "STOOL-002", "HOME"))
    full.record([
        make("S6", "attach-document",
             document={"id": "D-12", "kind": "invoice", "lot": "L-C", "issued_on": "2008-03-01",
                       "about": "old invoice found in a drawer, India"}),
    ])  # fmt: skip
    assert gaps(asked(full, "STOOL-002", "HOME")) == [("L-C", "COUNTRY")] != before


def test_no_value_is_a_gap_of_every_wood(full: Store) -> None:
    found = judge(case(full, "STOOL-001", None), rules("US"), ON)
    assert {key for _, key in gaps(found)} == {"VALUE"}


def test_rules_out_of_date_are_no_pass(full: Store) -> None:
    found = judge(case(full, "STOOL-001"), rules("HOME"), dt.date(2030, 1, 1))
    assert found.expired and found.status == "rule out of date" and not found.gaps


def test_s1_a_claim_the_record_does_not_carry(full: Store, make: Callable[..., Any]) -> None:
    from woodref.provenance.faults import NotProven

    def prove(item: str) -> list[str]:
        return [g.why for g in asked(full, item, "HOME").gaps]

    head = full.head()
    with pytest.raises(NotProven, match="L-C has no paper of its purchase"):
        full.record([make("S1", "close", item="STOOL-002", claim="all-proven")], prove=prove)
    assert full.head() == head
    label = "contains unproven material"
    full.record([make("S2", "close", item="STOOL-002", label=label)], prove=prove)
    assert full.rows("SELECT state, label FROM item WHERE id = 'STOOL-002'") == [("closed", label)]
