"""Checks of the evidence sets against each other and against the laws they are tied to."""

from __future__ import annotations

from collections.abc import Iterator

from woodref.catalogue.dataset import DataSet, Path_
from woodref.catalogue.findings import Finding
from woodref.trade.requirements import DESTINATIONS

FILE = "trade/evidence.yaml"


def evidence_sets(data: DataSet) -> Iterator[Finding]:
    """A law that no row knows, a rule asked twice, a rule of law without its place, a destination without
    a set, sets of one destination that stand on one day."""
    rows = data.lists.get(FILE, [])
    codes = {law.code for law in data.entries("trade/other_laws.yaml")}
    unread = "trade/other_laws.yaml" not in data.lists
    spans: list[tuple[str, str, str, str]] = []
    for loaded, index, held in rows:
        here: Path_ = ("sets", index)
        begins, ends = held.valid_from or "", held.valid_to or "9999-12-31"
        for other, destination, start, end in spans:
            if destination == held.destination and begins <= end and start <= ends:
                yield loaded.finding((*here, "valid_from"), f'on some day "{other}" stands as well')
        spans.append((held.id, held.destination, begins, ends))
        seen: set[tuple[object, ...]] = set()
        for number, asked in enumerate(held.asks):
            path: Path_ = (*here, "asks", number)
            if asked.law is not None and asked.law not in codes and not unread:
                yield loaded.finding(
                    (*path, "law"), f'no law of the code "{asked.law}" stands in data/trade/other_laws.yaml'
                )
            if asked.evidence != "common-practice" and not asked.citation:
                yield loaded.finding(path, "a rule of law names its place: citation is missing")
            twice = (asked.key, asked.test, asked.law, asked.when)
            if twice in seen:
                yield loaded.finding(path, f"{asked.key} is asked twice in the same case")
            seen.add(twice)
        if held.evidence != "common-practice" and held.followed_to is None:
            yield loaded.finding(here, "a set that rests on law says how far it was followed: followed_to")
    lacking = [d for d in DESTINATIONS if d not in {destination for _, destination, _, _ in spans}]
    if rows and lacking:
        yield rows[0][0].finding(("sets",), f"no set is for {' or '.join(lacking)}")
