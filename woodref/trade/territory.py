"""Whose rules a place follows on a day: the EU as one territory, GB, or the country itself."""

from __future__ import annotations

import datetime as dt

from woodref.trade.shapes import Rules

NORTHERN_IRELAND = "GB-NIR"


def territory(code: str, on: dt.date, rules: Rules) -> str:
    """'EU' for a member on that day (and Northern Ireland since GB left its rules), else the code."""
    if code == NORTHERN_IRELAND:
        member = rules.eu.get("GB")
        left = member[1] if member else None
        return "EU" if left is not None else "GB"
    span = rules.eu.get(code)
    if span and span[0] <= on and (span[1] is None or on <= span[1]):
        return "EU"
    return code


def place_rules(code: str, on: dt.date, rules: Rules) -> str:
    """Which set of paper rules an importing place uses: EU, GB, US, or CITES for other Parties."""
    where = territory(code, on, rules)
    return where if where in ("EU", "GB", "US") else "CITES"


def crosses(start: str, to: str, on: dt.date, rules: Rules) -> bool:
    """Whether goods cross a border that the treaty sees: not inside a country, not inside the EU."""
    return territory(start, on, rules) != territory(to, on, rules)


def covers(places: frozenset[str], code: str, on: dt.date, rules: Rules) -> bool:
    """Whether a law's list of places reaches this one; EU in the list stands for its members."""
    return code in places or territory(code, on, rules) in places
