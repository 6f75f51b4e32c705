"""The law of the built catalogue as the values the trade room reasons on."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from woodref.catalogue.lawlistings import day as _day
from woodref.trade.requirements import Asked, RuleSet
from woodref.trade.shapes import (
    Annotation,
    Ban,
    FormWords,
    HandOver,
    Mirror,
    OtherLaw,
    Paper,
    PaperRule,
    Rules,
    Suspension,
    Waiver,
)

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue

T = TypeVar("T")


def rules_of(catalogue: Catalogue) -> Rules:
    """Every law row of the catalogue as one `Rules` value."""
    docs: dict[str, list[dict[str, Any]]] = {}
    for row in catalogue.rows("SELECT file, data FROM law_doc ORDER BY key"):
        docs.setdefault(row["file"], []).append(json.loads(row["data"]))

    def each(name: str, make: Callable[[dict[str, Any]], T]) -> list[T]:
        return [make(doc) for doc in docs.get(f"trade/{name}.yaml", [])]

    annotations = each("annotations", _annotation)
    papers = each("papers", lambda d: Paper(d["id"], d["name"], d["issued_by"], d["words"]))
    version = f"{catalogue.meta['version']}+{catalogue.meta['digest']}"
    forms = each("forms", lambda d: FormWords(d["id"], d["words"], tuple(d["hs"]), d["test"], d["finished"]))
    return Rules(
        law=catalogue.law,
        version=version,
        read_in_full=dt.date.fromisoformat(catalogue.meta["law_read_in_full"]),
        annotations={a.listed_as: a for a in annotations},
        papers={p.code: p for p in papers},
        paper_rules=tuple(each("paper_rules", _paper_rule)),
        mirrors=tuple(each("mirrors", _mirror)),
        other_laws=tuple(each("other_laws", _other_law)),
        bans=tuple(each("bans", _ban)),
        suspensions=tuple(each("suspensions", _suspension)),
        forms={f.id: f for f in forms},
        eu={
            code: (joined, left)
            for code, joined, left in each(
                "eu_members", lambda d: (d["id"], dt.date.fromisoformat(d["joined"]), _day(d["left"]))
            )
        },
        names=catalogue.countries,
        evidence=tuple(each("evidence", lambda d: _rule_set(d, version))),
    )


def _annotation(d: dict[str, Any]) -> Annotation:
    return Annotation(
        d["id"],
        d["listed_as"],
        d["kind"],
        frozenset(d["forms"]),
        tuple(
            Waiver(
                frozenset(w["forms"]),
                w["movement"],
                w["limit_kg"],
                w["per"],
                _day(w["since"]),
                _day(w["until"]),
                w["words"],
            )
            for w in d["waivers"]
        ),
        tuple(HandOver(h["taxon"], h["origin"], h["to"], h["words"]) for h in d["hand_overs"]),
        d["words"],
        d["source"],
        d["evidence"],
        d["locator"],
    )


def _paper_rule(d: dict[str, Any]) -> PaperRule:
    return PaperRule(
        d["id"],
        d["place"],
        d["category"],
        d["step"],
        d["commercial"],
        tuple(d["documents"]),
        d["prohibited"],
        d["words"],
        d["source"],
        d["evidence"],
        d["locator"],
    )


def _mirror(d: dict[str, Any]) -> Mirror:
    return Mirror(
        d["id"],
        d["regime"],
        d["of"],
        d["category"],
        dt.date.fromisoformat(d["valid_from"]),
        d["words"],
        d["source"],
        d["evidence"],
        d["locator"],
    )


def _other_law(d: dict[str, Any]) -> OtherLaw:
    return OtherLaw(
        id=d["id"],
        code=d["code"],
        law=d["law"],
        when=d["when"],
        places=frozenset(d["places"]),
        forms=None if d["forms"] == "all" else frozenset(d["forms"]),
        commercial_only=d["commercial_only"],
        business=frozenset(d["business"]),
        shape=d["shape"],
        harvested_before=_day(d["harvested_before"]),
        harvested_from=_day(d["harvested_from"]),
        reaches=d["reaches"],
        composite_only=d["composite_only"],
        limit=d["limit"],
        listing_papers_satisfy=d["listing_papers_satisfy"],
        do=d["do"],
        citation=d["citation"],
        valid_from=_day(d["valid_from"]),
        valid_to=_day(d["valid_to"]),
        date_evidence=d["date_evidence"],
        source=d["source"],
        evidence=d["evidence"],
        note=d["note"],
    )


def _ban(d: dict[str, Any]) -> Ban:
    return Ban(
        d["id"],
        d["country"],
        None if d["taxa"] == "all" else frozenset(d["taxa"]),
        frozenset(d["forms"]),
        d["effect"],
        d["natural_forest_only"],
        d["words"],
        _day(d["valid_from"]),
        _day(d["valid_to"]),
        d["source"],
        d["evidence"],
    )


def _suspension(d: dict[str, Any]) -> Suspension:
    return Suspension(
        d["id"],
        d["by"],
        d["country"],
        d["taxon"],
        None if d["forms"] == "all" else frozenset(d["forms"]),
        d["words"],
        _day(d["valid_from"]),
        _day(d["valid_to"]),
        d["source"],
        d["evidence"],
    )


def _rule_set(d: dict[str, Any], version: str) -> RuleSet:
    keys = ("key", "test", "closes", "law", "when", "words", "citation", "source", "locator",
            "evidence")  # fmt: skip
    return RuleSet(
        d["id"],
        version,
        d["destination"],
        _day(d["valid_from"]),
        _day(d["valid_to"]),
        tuple(Asked(**{key: asked[key] for key in keys}) for asked in d["asks"]),
        d["source"],
        d["mixing"],
        _day(d["followed_to"]),
        d["words"],
    )
