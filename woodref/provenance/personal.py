"""No personal data in the book: what is recorded stays for good, and a name could never be erased from it.

A guard rail on entry, not a proof: mail addresses and phone numbers are seen by their form, names are not.
Only a new event is looked at; what an older book holds is not called broken for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from woodref.provenance.faults import PersonalData
from woodref.provenance.shapes import Event

PARTY_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
#: keys that hold numbers of things, which may look like a phone number
_NUMBERS = frozenset(
    {"id", "number", "verification", "sha256", "salted_sha256", "file", "public_key", "old_key", "signature",
     "serial", "corrects", "reservation", "lot", "lots", "item", "plot", "flitch", "bundle", "time", "offset"}
)  # fmt: skip
#: lengths are bounded, so that a megabyte of dots is read in one go
_MAIL = re.compile(r"[^\s@<>:;,]{1,64}@[^\s@<>:;,]{1,200}\.[^\W\d_]{2,24}")
#: cheap first look: six digits with no more than a few signs between them
_MANY_DIGITS = re.compile(r"\d(?:[ \u00a0()./-]{0,3}\d){5}")
_UNIT = r"(?!\s*(?:mm2|mm|nL|mg|um|µm|g|kg|m2|cm|m)\b)"
_SPOKEN = re.compile(
    r"\b(?:tel|telephone|phone|mobile|mob|cell|fax|whatsapp|telefon|tél|call|ring)\b\.?[:\s]*"
    r"(?:(?:no\.?|number|at|on|is)[:\s]*)?\+?\(?\d(?:[ ()./-]{0,2}\d){5,}" + _UNIT,
    re.IGNORECASE,
)
_FORMS = (
    # +44 20 7946 0958, 0049 171 1234567
    re.compile(r"(?<![\w.,+-])(?:\+|00(?=[1-9]))(?:[ ()./-]{0,2}\d){8,15}(?!\w)" + _UNIT),
    # 0171 1234567, (01632) 960 123
    re.compile(r"(?<![\w.,/-])\(?0\d{2,5}\)?[ /-]{1,2}\d{3,}(?:[ -]\d{2,})*(?!\w)" + _UNIT),
    # 06 12 34 56 78
    re.compile(r"(?<![\w.,-])0[1-9](?:[ .-]\d\d){4}(?![\w-]|[ .]\d)" + _UNIT),
    # (555) 010-0199, 555-010-0199
    re.compile(r"(?<![\w.,-])(?:\(\d{3}\) ?|\d{3}[-.])\d{3}[-.]\d{4}(?![\w-])"),
)
#: words after which a number is that of a thing
_OF_A_THING = re.compile(
    r"\b(?:invoice|inv|permit|lot|lots|ref|reference|order|batch|serial|note|certificate|cert|licence|license"
    r"|entry|plot|code|leaf|leaves|drum|shelf)\.?(?:\s*(?:no\.?|nr\.?|number))?\s*[:#]?\s*$",
    re.IGNORECASE,
)
_LEAST, _MOST = 8, 15


def personal(text: str) -> str | None:
    """'a mail address' or 'a phone number' where a text holds what looks like one, else None."""
    if "@" in text and _MAIL.search(text):
        return "a mail address"
    if _MANY_DIGITS.search(text) and (_SPOKEN.search(text) or any(_rings(text, form) for form in _FORMS)):
        return "a phone number"
    return None


def _rings(text: str, form: re.Pattern[str]) -> bool:
    for match in form.finditer(text):
        groups = re.findall(r"\d+", match[0])
        if not _LEAST <= sum(map(len, groups)) <= _MOST or _OF_A_THING.search(text[: match.start()]):
            continue
        # 004 005 006 are leaves one after the other
        runs = len(groups) > 2 and len({len(g) for g in groups}) == 1
        if runs and len({int(b) - int(a) for a, b in pairwise(groups)}) == 1:
            continue
        return True
    return False


def refuse_personal(event: Event, actor: str | None = None) -> None:
    """PersonalData when a text of a new event holds a mail address or a phone number, or when it is shipped
    to anything but the id of a party. The sentence does not repeat what was written."""
    to = event.more.get("to")
    if event.kind == "ship" and to is not None and not (isinstance(to, str) and PARTY_ID.fullmatch(to)):
        raise PersonalData(
            "to: a name or address has no place in the book",
            where=event.id,
            expected="the id of a party, as `woodref book party list` shows it",
            next="Put the buyer there first: woodref book party add --role buyer",
        )
    for path, key, text in _texts(event, actor):
        found = _mail_only(text) if key in _NUMBERS else personal(text)
        if found:
            raise PersonalData(
                f"{path}: {found} has no place in the book, which keeps it for good",
                where=event.id if path != "id" else None,
                next="Put it among the parties (woodref book party add) and write the id told there.",
            )


def _mail_only(text: str) -> str | None:
    return "a mail address" if "@" in text and _MAIL.search(text) else None


def _texts(event: Event, actor: str | None) -> Iterator[tuple[str, str, str]]:
    """(where in the event, key, text) of every text in it."""
    yield "id", "id", event.id
    if actor:
        yield "actor", "actor", actor
    for share in (*event.in_, *event.out, *event.waste):
        yield f"lot {share.lot}" if "@" not in share.lot else "lot", "lot", share.lot
    for lot, facts in event.lots.items():
        yield from _below(f"lot {lot}" if "@" not in lot else "lot", "lot", facts)
    for key, value in event.more.items():
        yield from _below(key, key, value)


def _below(path: str, key: str, value: Any) -> Iterator[tuple[str, str, str]]:
    if isinstance(value, str):
        yield path, key, value
    elif isinstance(value, Mapping):
        for name, sub in value.items():
            yield path, "id", str(name)
            yield from _below(f"{path}: {name}" if "@" not in str(name) else path, str(name), sub)
    elif isinstance(value, list | tuple):
        for sub in value:
            yield from _below(path, key, sub)
