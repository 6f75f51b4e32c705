"""Papers: what they are, what they cover, how much is drawn on them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.errors import BadQuantity, echo
from woodref.provenance import faults
from woodref.provenance.canonical import digest
from woodref.provenance.shapes import UNITS, named, whole
from woodref.units import date

KINDS = (
    "invoice", "delivery-note", "customs-entry", "permit-export", "permit-import", "permit-re-export",
    "pre-convention-certificate", "instrument-certificate", "eudr-reference", "supplier-declaration",
    "lacey-declaration", "phytosanitary-certificate", "custody-claim", "composition-sheet", "emission-report",
    "test-report", "stock-declaration", "photo", "safety-data-sheet", "affidavit", "pre-listing-claim",
    "permit",
)  # fmt: skip
#: who may see a paper, least first
TIERS = ("public", "customer", "auditor", "private")
KEYS = {
    "id", "kind", "lot", "lots", "sha256", "salted_sha256", "size", "bytes", "about", "issuer", "number",
    "verification", "issued_on", "expires_on", "covers_qty", "covers_unit", "file", "tier", "checked_on",
    "checked_how", "acquired_on", "listed_on",
}  # fmt: skip
#: papers that show a purchase
PURCHASE = ("invoice", "delivery-note", "customs-entry", "supplier-declaration")
#: papers that are permits with an amount
PERMITS = ("permit", "permit-export", "permit-import", "permit-re-export", "pre-convention-certificate")
#: letters of a reference number and of its verification number (EU information system, as transcribed)
REFERENCE_MOST, VERIFICATION = 14, (5, 35)


@dataclass(frozen=True)
class Paper:
    """A document on the record. covers: (amount, unit) or None; told: all of it as recorded, without
    bytes."""

    id: str
    kind: str
    lots: tuple[str, ...]
    sha256: str | None
    covers: tuple[int, str] | None
    issued_on: str | None
    expires_on: str | None
    about: str
    told: Mapping[str, Any]


def paper_of(value: object, where: str) -> Paper:
    """A document from its JSON; DocumentDiffers when its bytes have another hash than is stated."""
    if not isinstance(value, Mapping) or set(value) - KEYS:
        wrong = ", ".join(sorted(set(map(str, value)) - KEYS)) if isinstance(value, Mapping) else "no mapping"
        raise faults.BadShape(f"document: {wrong} is not known here", where=where)
    name = named(value.get("id"), "document", where)
    kind = value.get("kind")
    if kind not in KINDS:
        raise faults.BadShape(
            f"document {name}: kind {echo(str(kind))} is not known", where=where, expected=", ".join(KINDS)
        )
    lots = value.get("lots") or ([value["lot"]] if value.get("lot") else [])
    if not isinstance(lots, list | tuple):
        raise faults.BadShape(f"document {name}: lots is no list", where=where)
    if value.get("tier") is not None and value["tier"] not in TIERS:
        raise faults.BadShape(
            f"document {name}: tier {echo(str(value['tier']))} is not known", where=where,
            expected=", ".join(TIERS),
        )  # fmt: skip
    stated, body = value.get("sha256"), value.get("bytes")
    for key in ("sha256", "salted_sha256"):
        if value.get(key) is not None and not re.fullmatch(r"[0-9a-f]{64}", str(value[key])):
            raise faults.BadShape(f"document {name}: {key} is no hash", where=where, expected="64 hex digits")
    if value.get("size") is not None:
        whole(value["size"], f"document {name}: size", 1, where)
    if isinstance(body, str):
        found = digest(body.encode("utf-8"))
        if stated is not None and found != stated:
            raise faults.DocumentDiffers(
                f"document {name}: stored {stated[:12]}, computed {found[:12]}",
                where=where,
                expected="the file that was recorded",
            )
        stated = found
    for key in ("issued_on", "expires_on", "acquired_on", "listed_on"):
        if value.get(key):
            day(value[key], f"document {name}: {key}", where)
    covers = None
    if value.get("covers_qty") is not None:
        unit = value.get("covers_unit")
        if unit not in (*UNITS, "g"):
            raise faults.NoUnit(
                f"document {name}: covers_unit {echo(str(unit))}", where=where, expected=", ".join(UNITS)
            )
        covers = whole(value["covers_qty"], f"document {name}: covers", 1, where), str(unit)
    _numbers(name, str(kind), value, where)
    _before_listing(name, str(kind), value, where)
    if value.get("file"):
        inside(Path("."), str(value["file"]), where)
    told = {k: v for k, v in value.items() if k != "bytes"}
    return Paper(
        name, str(kind), tuple(named(lot, "lot", where) for lot in lots), stated, covers,
        value.get("issued_on"), value.get("expires_on"), str(value.get("about") or ""), told,
    )  # fmt: skip


def day(text: object, what: str, where: str) -> dt.date:
    """A date as YYYY-MM-DD; BadTime for anything else."""
    try:
        return date(str(text))
    except BadQuantity as fault:
        raise faults.BadTime(f"{what}: {fault.message}", where=where, expected=fault.expected) from None


def _numbers(name: str, kind: str, value: Mapping[str, Any], where: str) -> None:
    if kind != "eudr-reference":
        return
    number, verification = value.get("number"), value.get("verification")
    if number is not None and not 1 <= len(str(number)) <= REFERENCE_MOST:
        raise faults.DocumentNumber(
            f"document {name}: a reference number of {len(str(number))} characters",
            where=where,
            expected=f"1 to {REFERENCE_MOST}",
        )
    low, high = VERIFICATION
    if verification is not None and not low <= len(str(verification)) <= high:
        raise faults.DocumentNumber(
            f"document {name}: a verification number of {len(str(verification))} characters",
            where=where,
            expected=f"{low} to {high}",
        )


def _before_listing(name: str, kind: str, value: Mapping[str, Any], where: str) -> None:
    """A pre-listing claim has to be older than the listing: the day itself is too late."""
    if kind != "pre-listing-claim":
        return
    acquired, listed = value.get("acquired_on"), value.get("listed_on")
    if not acquired or not listed:
        raise faults.BadShape(f"document {name}: acquired_on and listed_on are needed", where=where)
    if date(acquired) >= date(listed):
        raise faults.NotBeforeListing(
            f"document {name}: acquired {acquired}, must be before {listed}",
            where=where,
            expected=f"a day before {listed}",
        )


def inside(store: Path, file: str, where: str | None = None) -> Path:
    """The path of a file below the document store; OutsideStore for any that leads out, by name or by
    link."""
    path = Path(file)
    out = path.is_absolute() or ".." in path.parts or "\x00" in file or not path.parts
    here = store / path
    if not out and here.exists():
        out = store.resolve() not in here.resolve().parents
    if out:
        raise faults.OutsideStore(
            f"{echo(file)} lies outside the document store", where=where, expected="a plain name below it"
        )
    return here


def drawn_by(lots: Iterable[str], unit: str, received: Callable[[str], tuple[int, str]]) -> int:
    """What lots were when they were made, in the unit of a paper; those counted in another unit are left
    out."""
    total = 0
    for lot in lots:
        qty, its = received(lot)
        if its == unit:
            total += qty
        elif (unit, its) == ("g", "mg"):
            total += -(-qty // 1000)  # a begun gram counts
    return total


def check_amount(
    paper: Paper,
    same: list[Paper],
    received: Callable[[str], tuple[int, str]],
    where: str,
) -> None:
    """What a paper covers against what is drawn on it: by its own lots, and by those of the very same file.

    same: papers on the record with the same hash. DocumentOverused, or PermitOverdrawn for a permit.
    """
    covers = paper.covers or next((p.covers for p in same if p.covers), None)
    if covers is None:
        return
    most, unit = covers
    had = list(dict.fromkeys(lot for p in same for lot in p.lots))
    names = list(dict.fromkeys([*had, *paper.lots]))

    drawn = drawn_by(names, unit, received)
    if drawn <= most:
        return
    if paper.kind in PERMITS:
        left = max(most - drawn_by(had, unit, received), 0)
        raise faults.PermitOverdrawn(
            f"document {paper.id}: {drawn:,} {unit} drawn on {most:,}",
            where=where,
            next=f"{left:,} {unit} left.",
        )
    raise faults.DocumentOverused(
        f"document {paper.id}: covers {most:,} {unit}; drawn {drawn:,}; lots {', '.join(names)}",
        where=where, next="Name the paper that the rest came with, or leave the rest without one.",
    )  # fmt: skip


def check_date(paper: Paper, on: dt.date, where: str) -> None:
    """PermitExpired when a permit had run out on the day it was recorded for."""
    if paper.kind in PERMITS and paper.expires_on and paper.expires_on < on.isoformat():
        raise faults.PermitExpired(f"document {paper.id}: ran out on {paper.expires_on}", where=where)
