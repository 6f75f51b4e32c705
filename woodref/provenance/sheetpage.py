"""A customer sheet as a page: HTML that prints on A4, without script and without anything from outside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from woodref.provenance.canonical import canonical, digest
from woodref.provenance.keys import fingerprint
from woodref.provenance.pages import code
from woodref.provenance.sheetdata import UNKNOWN
from woodref.provenance.sheetlines import (
    MEANS,
    destination_lines,
    emission_line,
    kept_lines,
    part_row,
    rules_line,
    short_lines,
    used_line,
)

_TEMPLATES = Path(__file__).resolve().parent / "templates"
HEADS = ("Part and lot", "Wood, and how it was sold", "Where and how it grew", "How much", "Proof")


def page(told: Mapping[str, Any], signature: str) -> str:
    """The HTML of a sheet. told: what it says, as signed; signature: of that, in hex."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    mark, sha = fingerprint(told["key"]), digest(canonical(told))
    return environment.get_template("customer-sheet.html").render(
        **words_of(told, signature),
        qr=Markup(code(qr_text(told, sha, mark))[0]),  # noqa: S704 -- our own drawing, no text of others in it
        qr_words="QR code with the number of the sheet, its SHA-256 and the fingerprint",
    )


def words_of(told: Mapping[str, Any], signature: str) -> dict[str, Any]:
    """All that a page of a sheet says, under the names its templates use. told: what the sheet says, as
    signed; signature: of that, in hex."""
    label = told["label"]
    return {
        "title": f"{told['item']}: what it is made of",
        "maker": told["maker"],
        "heading": f"What {told['item']} is made of",
        "about": _about(told),
        "label": f"On its label: {label}" if label else None,
        "short": short_lines(told),
        "caption": "One line for each received lot of wood in each part. Weights are of the wood alone.",
        "heads": HEADS,
        "rows": [_table_row(part) for part in told["parts"]],
        "sections": _sections(told),
        "checking": _checking(told),
        "marks": [
            ("Fingerprint of the key", fingerprint(told["key"])),
            ("SHA-256 of what it says", digest(canonical(told))),
            ("Signature (Ed25519)", signature),
            ("Head of the stock book", f"{told['head']['events']:,} events, {told['head']['hash']}"),
        ],
        "footer": _footer(told),
    }


def qr_text(told: Mapping[str, Any], sha: str, mark: str) -> str:
    """What the code on the page says: enough to tell whether a file is the one that was printed."""
    return f"woodref sheet {told['item']} version {told['version']}\nsha256 {sha}\nkey {mark}"


def _about(told: Mapping[str, Any]) -> str:
    serial = f", serial {told['serial']}" if told["serial"] else ""
    made = f"Made in {told['made']}, finished on {told['closed']}{serial}."
    return f"{made} Sheet version {told['version']} of {told['made_at'][:10]}."


def _table_row(part: Mapping[str, Any]) -> dict[str, Any]:
    row = part_row(part)
    unproven = UNKNOWN in (part["wood_is"], part["origin_is"])
    sold = [f'Sold as "{row["words"]}"'] if row["words"] else []
    cells = [
        [row["part"], f"lot {row['lot']}"],
        [row["wood"], *sold],
        [row["origin"], *([] if row["stand"] == UNKNOWN else [row["stand"]])],
        [row["area"], row["weight"]],
        [row["proof"], f"Paper: {row['papers']}"],
    ]
    return {"cells": cells, "open": unproven}


def _sections(told: Mapping[str, Any]) -> list[tuple[str, str, Sequence[str]]]:
    proven = told["not_proven"] or [
        "Nothing is open: paper is held for every wood, its origin and how it was grown."
    ]
    return [
        ("open", "What is not proven", proven),
        ("used", "Glue and finish", [used_line(used) for used in told["used"]]),
        ("emission", "Emissions", [emission_line(told["kept"])]),
        ("care", "Care and repair", kept_lines(told["kept"])),
        ("way", "From leaf to item", told["custody"]),
        ("journey", "For its next owner and for a border", destination_lines(told["destinations"])),
        (
            "words",
            "What the words mean",
            [f"{word[:1].upper()}{word[1:]}: {means}." for word, means in MEANS.items()],
        ),
        ("changed", "What changed since the version before", told["changes"]),
    ]


def _checking(told: Mapping[str, Any]) -> list[str]:
    events = f"{told['head']['events']:,} events"
    return [
        "This page comes with the file sheet.json. The command woodref book check --sheet sheet.json --key "
        "FINGERPRINT tells whether anything was changed since it was signed.",
        "Whose key it is you know only if the maker told you the fingerprint by another way than this sheet.",
        f"It follows from {events} of the maker's stock book, whose head stands below: later entries do not "
        "change it.",
    ]


def _footer(told: Mapping[str, Any]) -> list[str]:
    version = told["rules"]["catalogue"].get("version")
    out = [told["caution"]] if told["caution"] else []
    judged = rules_line(told)
    return [
        *out,
        *([judged] if judged else []),
        *([f"Names and rules: woodref {version}."] if version else []),
    ]
