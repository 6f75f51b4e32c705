"""Pairs that a practitioner would accept or refuse (common practice, no source), written before the method.

pairs.csv: target, role, accept or refuse, candidate. Accepted: ranked within the first ten. Refused: not
ranked, or not within the first ten. The same wood as candidate means the same wood planted.
"""

from __future__ import annotations

import csv
import datetime as dt
from collections import defaultdict
from pathlib import Path

import pytest

from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.selection.request import Request
from woodref.selection.substitutes import substitutes

PAIRS = Path(__file__).parent / "data" / "pairs.csv"
SHARE = 0.85


def test_at_least_85_percent_of_the_pairs_come_out_as_a_practitioner_would_say(
    catalogue: Catalogue, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = defaultdict(list)
    with PAIRS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            asked[row["target"], row["role"]].append((row["verdict"], row["candidate"]))
    held: dict[str, list[str]] = {"accept": [], "refuse": []}
    missed: dict[str, list[str]] = {"accept": [], "refuse": []}
    for (target, role), pairs in asked.items():
        natural = any(candidate == target for _, candidate in pairs)
        request = Request(target, role, dt.date(2026, 6, 1), natural=natural)
        answer = substitutes(request, Matched(target, target, "id"), catalogue)
        first = {row.material.id for row in answer.ranked}
        assert len(first) == 10
        for verdict, candidate in pairs:
            good = (candidate in first) == (verdict == "accept")
            (held if good else missed)[verdict].append(f"{target} ({role}) -> {candidate}")
    with capsys.disabled():
        for verdict in ("accept", "refuse"):
            total = len(held[verdict]) + len(missed[verdict])
            names = ", ".join(missed[verdict]) or "none"
            print(f"\n{verdict}: {len(held[verdict])} of {total}; missed: {names}")
    for verdict in ("accept", "refuse"):
        assert len(held[verdict]) >= SHARE * (len(held[verdict]) + len(missed[verdict])), verdict
