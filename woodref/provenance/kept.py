"""What a finished item keeps for later: how it was made, how to live with it, whether it can be mended.

The event that closes an item carries it: `check` reads every key strictly, `stands` asks the book for the
lots and papers that are named, `Kept` tells it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from woodref.errors import echo
from woodref.provenance import faults
from woodref.provenance.canonical import digest
from woodref.provenance.strict import named, whole

if TYPE_CHECKING:
    from woodref.provenance.book import Book
    from woodref.provenance.documents import Paper
    from woodref.provenance.shapes import Event

#: kinds of event that finish an item, and may carry all this
CLOSES = ("close", "assemble-close")
#: keys of a closing event that an item keeps
KEYS = (
    "layup", "mould", "glue_lot", "finish", "set_moisture_permille", "part_roles", "emission", "care",
    "repairable", "serial",
)  # fmt: skip
#: roles as a pack is told, from the show face down; others follow by their letters
ROLES = ("face", "crossband", "core", "back", "leg")
#: keys that mean nothing on any other kind of event
OF_CLOSING = ("part_roles", "emission", "care", "repairable")
#: letters of a title or role, of words in a sentence, of a whole layup file
TITLE, WORDS, TEXT = 80, 1000, 65_536
#: wood that is glued lies below fibre saturation, about 30 % (common practice)
WETTEST = 300


def check(kind: str, more: Mapping[str, Any], where: str) -> None:
    """Shapes of what an item keeps. more: the further keys of an event.

    Raises BadShape, BadAmount or OutOfRange with what is wanted; DocumentDiffers when the text of a layup
    has another hash than is told.
    """
    if kind not in CLOSES:
        strange = [key for key in OF_CLOSING if key in more]
        if strange:
            raise faults.BadShape(
                f"{', '.join(strange)} has no place in an event {kind}", where=where,
                next="An item keeps it: tell it in the event that closes the item.",
            )  # fmt: skip
        return
    for key, reads in _READS.items():
        if key in more:
            reads(more[key], f"{where}: {key}")


def _mapping(value: object, keys: tuple[str, ...], where: str, needs: str | None = None) -> Mapping[str, Any]:
    shape = "{" + ", ".join(keys) + "}"
    if not isinstance(value, Mapping) or not value:
        raise faults.BadShape(f"{echo(str(value))} is no mapping", where=where, expected=shape)
    strange = set(value) - set(keys)
    if strange:
        raise faults.BadShape(
            f"{', '.join(sorted(map(str, strange)))} is not known here", where=where, expected=shape
        )
    if needs and needs not in value:
        raise faults.BadShape(f"{needs} is missing", where=where, expected=shape)
    return value


def _text(value: object, where: str, most: int = WORDS) -> str:
    if not isinstance(value, str) or not value.strip() or not value.isprintable() or len(value) > most:
        raise faults.BadShape(
            f"{echo(str(value))} is no text", where=where, expected=f"1 to {most:,} printed letters, one line"
        )
    return value


def _name(value: object, where: str) -> str:
    return named(value, "name", where)


def _number(value: object, most: int, where: str, expected: str) -> int:
    number = whole(value, "number", -(2**53), where)
    if number < 1:
        raise faults.BadAmount(f"{number:,} must be above zero", where=where, expected=expected)
    if number > most:
        raise faults.OutOfRange(f"{number:,} is too large", where=where, expected=expected)
    return number


def _layup(value: object, where: str) -> None:
    told = _mapping(value, ("title", "sha256", "text"), where, "sha256")
    if not re.fullmatch(r"[0-9a-f]{64}", str(told["sha256"])):
        raise faults.BadShape("sha256 is no hash", where=where, expected="64 hex digits")
    if "title" in told:
        _text(told["title"], f"{where}.title", TITLE)
    text = told.get("text")
    if text is None:
        return
    if not isinstance(text, str) or len(text) > TEXT:
        raise faults.BadShape(
            "text is not that of a layup file", where=where, expected=f"up to {TEXT:,} letters"
        )
    found = digest(unicodedata.normalize("NFC", text).encode("utf-8", "surrogatepass"))
    if found != told["sha256"]:
        raise faults.DocumentDiffers(
            f"the text of the layup has the hash {found[:12]}, told is {str(told['sha256'])[:12]}",
            where=where, next="Take title, hash and text from the same file.",
        )  # fmt: skip


def _mould(value: object, where: str) -> None:
    told = _mapping(value, ("name", "radius_um"), where, "name")
    _text(told["name"], f"{where}.name", TITLE)
    if "radius_um" in told:
        _number(told["radius_um"], 100_000_000, f"{where}.radius_um", "a radius up to 100 m, in um")


def _glue(value: object, where: str) -> None:
    for lot in _glues(value, where):
        _name(lot, where)


def _glues(value: object, where: str) -> list[Any]:
    """One lot of glue, or several."""
    listed = list(value) if isinstance(value, list | tuple) else [value]
    if not listed or len(set(map(str, listed))) != len(listed):
        raise faults.BadShape("no lot, or one told twice", where=where, expected="LOT, or a list of lots")
    return listed


def _finish(value: object, where: str) -> None:
    told = _mapping(value, ("words", "lot"), where)
    if "words" in told:
        _text(told["words"], f"{where}.words")
    if "lot" in told:
        _name(told["lot"], f"{where}.lot")


def _moisture(value: object, where: str) -> None:
    _number(value, WETTEST, where, "1 to 300 per mille: 7 % is 70, and wetter wood is not glued")


def _roles(value: object, where: str) -> None:
    shape = "{face: [LOT], back: [LOT]}"
    if not isinstance(value, Mapping) or not value:
        raise faults.BadShape(f"{echo(str(value))} is no mapping", where=where, expected=shape)
    for role, lots in value.items():
        _text(role, where, TITLE)
        if not isinstance(lots, list | tuple) or not lots or len(set(map(str, lots))) != len(lots):
            raise faults.BadShape(
                f"{echo(str(role))}: no list of lots, or one told twice", where=where, expected=shape
            )
        for lot in lots:
            _name(lot, f"{where}.{role}")


def _emission(value: object, where: str) -> None:
    told = _mapping(value, ("document", "words"), where, "document")
    _name(told["document"], f"{where}.document")
    if "words" in told:
        _text(told["words"], f"{where}.words")


def _care(value: object, where: str) -> None:
    _text(value, where)


def _repairable(value: object, where: str) -> None:
    told = _mapping(value, ("yes", "words"), where, "yes")
    if not isinstance(told["yes"], bool):
        raise faults.BadShape(f"yes is {echo(str(told['yes']))}", where=where, expected="true or false")
    if "words" in told:
        _text(told["words"], f"{where}.words")


def _serial(value: object, where: str) -> None:
    _name(value, where)


_READS = {
    "layup": _layup, "mould": _mould, "glue_lot": _glue, "finish": _finish,
    "set_moisture_permille": _moisture, "part_roles": _roles, "emission": _emission, "care": _care,
    "repairable": _repairable, "serial": _serial,
}  # fmt: skip


def stands(book: Book, event: Event) -> None:
    """The lots and the paper that a closing event names are in the book and are what they are taken for.

    UnknownLot, or BadShape that says what the lot or paper is instead.
    """
    kept = Kept.of(event.more)
    for lots, form in ((kept.glues, "adhesive"), (kept.finish_lots, "finish")):
        for lot in lots:
            found = book.lot(lot, event.id).lot.form
            if found != form:
                raise faults.BadShape(f"{lot} is {found}, no {form}", where=event.id)
    for lot in {lot for lots in kept.roles.values() for lot in lots}:
        book.lot(lot, event.id)
    if kept.report is not None:
        paper = book.paper(kept.report)
        if paper is None:
            raise faults.UnknownPaper(
                f"there is no document {kept.report}", where=event.id,
                next="Record the report first, as a document of the glue or the sheet it is about.",
            )  # fmt: skip
        if paper.kind != "emission-report":
            raise faults.BadShape(
                f"document {paper.id} is {paper.kind.replace('-', ' ')}", where=event.id,
                expected="an emission report",
            )  # fmt: skip


@dataclass(frozen=True)
class Kept:
    """What an item keeps. layup: title, sha256, text; mould: name, radius_um; roles: role -> lots."""

    layup: Mapping[str, Any] | None = None
    mould: Mapping[str, Any] | None = None
    glues: tuple[str, ...] = ()
    finish: Mapping[str, Any] | None = None
    moisture_permille: int | None = None
    roles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    emission: Mapping[str, Any] | None = None
    care: str | None = None
    repairable: Mapping[str, Any] | None = None

    @classmethod
    def of(cls, more: Mapping[str, Any]) -> Kept:
        """From the keys of a closing event that has been checked."""
        glue = more.get("glue_lot")
        return cls(
            more.get("layup"), more.get("mould"), () if glue is None else tuple(_glues(glue, "glue_lot")),
            more.get("finish"), more.get("set_moisture_permille"),
            {role: tuple(lots) for role, lots in (more.get("part_roles") or {}).items()},
            more.get("emission"), more.get("care"), more.get("repairable"),
        )  # fmt: skip

    @property
    def finish_lots(self) -> tuple[str, ...]:
        lot = (self.finish or {}).get("lot")
        return () if lot is None else (str(lot),)

    @property
    def report(self) -> str | None:
        """The document of the emission line."""
        return None if self.emission is None else str(self.emission["document"])

    @property
    def nothing(self) -> bool:
        return self == Kept()

    def sentences(self, report: Paper | None = None) -> list[str]:
        """In the trade's words. report: the document of the emission line."""
        out = [*self.making(), *([self.emission_words(report)] if self.emission else [])]
        if self.care:
            out.append(f"Care: {_ended(self.care)}")
        if self.repairable is not None:
            words = self.repairable.get("words")
            yes = "It can be repaired" if self.repairable["yes"] else "It is not made to be repaired"
            out.append(f"{yes}: {_ended(words)}" if words else f"{yes}.")
        return out

    def making(self) -> list[str]:
        """What was used to make it: layup, mould, glue, moisture, finish, which lot is what."""
        out = []
        if self.layup:
            title = f'"{self.layup["title"]}", ' if self.layup.get("title") else ""
            kept = " Its text is kept with the item." if self.layup.get("text") is not None else ""
            out.append(f"Layup: {title}SHA-256 of the file {self.layup['sha256']}.{kept}")
        if self.mould:
            radius = self.mould.get("radius_um")
            out.append(
                f"Mould: {self.mould['name']}"
                + (f", radius {radius / 1000:g} mm." if radius is not None else ", radius not told.")
            )
        if self.glues:
            out.append(f"Glue: lot {' and lot '.join(self.glues)}.")
        if self.moisture_permille is not None:
            out.append(f"Moisture of the wood at set: {self.moisture_permille / 10:g} %.")
        if self.finish:
            words, lots = self.finish.get("words"), self.finish_lots
            lot = f"lot {lots[0]}" if lots else ""
            out.append(f"Finish: {words} ({lot})." if words and lot else f"Finish: {words or lot}.")
        if self.roles:
            out.append(f"Which lot is what: {roles_said(self.roles)}.")
        return out

    def emission_words(self, report: Paper | None) -> str:
        """'Emissions: formaldehyde 0.03 ppm, by the emission report D-06 of 2025-03-01 on L-D.'"""
        assert self.emission is not None
        about = ""
        if report is not None:
            about = f" of {report.issued_on}" if report.issued_on else ""
            about += f" on {', '.join(report.lots)}" if report.lots else ""
        words = self.emission.get("words")
        said = f"{words}, by" if words else "see"
        return f"Emissions: {said} the emission report {self.emission['document']}{about}."

    def as_dict(self) -> dict[str, Any]:
        """JSON of it; what is not kept is null."""
        return {
            "layup": dict(self.layup) if self.layup else None,
            "mould": dict(self.mould) if self.mould else None,
            "glue_lots": list(self.glues), "finish": dict(self.finish) if self.finish else None,
            "set_moisture_permille": self.moisture_permille,
            "part_roles": {role: list(lots) for role, lots in self.roles.items()},
            "emission": dict(self.emission) if self.emission else None, "care": self.care,
            "repairable": dict(self.repairable) if self.repairable else None,
        }  # fmt: skip


def roles_said(roles: Mapping[str, Sequence[str]]) -> str:
    """'face L-H1; crossband L-I; back L-K'."""
    return "; ".join(f"{role} {', '.join(roles[role])}" for role in in_order(roles))


def in_order(roles: Iterable[str]) -> list[str]:
    """Roles from the show face down, then others by their letters."""
    return sorted(roles, key=_place)


def _place(role: str) -> tuple[int, str]:
    return ROLES.index(role) if role in ROLES else len(ROLES), role


def _ended(words: object) -> str:
    text = str(words)
    return text if text.endswith((".", "!", "?")) else f"{text}."
