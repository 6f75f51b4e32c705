"""An item is finished: what it keeps as people say it -> the event, and following leaves kept back for it."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from woodref.errors import BadQuantity, BadRequest, echo
from woodref.provenance import faults
from woodref.provenance.amounts import length, plainly
from woodref.provenance.book import Held
from woodref.provenance.canonical import digest
from woodref.provenance.documents import Paper
from woodref.provenance.kept import KEYS, TEXT, TITLE, Kept
from woodref.provenance.partroles import lots_in, roles_of
from woodref.provenance.receiving import named_by_content
from woodref.provenance.stock import leaves_of
from woodref.provenance.store import Store
from woodref.provenance.trace import contents, edges_back
from woodref.provenance.working import Done, amount_of, pairs

YES_NO = ("yes", "no")


@dataclass(frozen=True)
class Keeping:
    """What is said of an item as it is closed, in the words of the bench; None or empty is not said.

    roles: ROLE=LOT each; emission: DOCUMENT or DOCUMENT=WORDS; repairable: 'yes', or 'no: why'.
    """

    layup: Path | None = None
    mould: str | None = None
    radius: str | None = None
    glue_lots: Sequence[str] = ()
    finish: str | None = None
    finish_lot: str | None = None
    set_moisture: str | None = None
    serial: str | None = None
    roles: Sequence[str] = ()
    emission: str | None = None
    care: str | None = None
    repairable: str | None = None

    def told(self) -> dict[str, Any]:
        """The keys of the event. BadRequest, NoUnit or NotWhole for what cannot be read."""
        out: dict[str, Any] = {}
        if self.layup is not None:
            out["layup"] = layup_kept(self.layup)
        if self.radius is not None and self.mould is None:
            raise BadRequest("a radius is told of no mould", where="--radius", next="Name it: --mould TEXT.")
        if self.mould is not None:
            out["mould"] = {"name": self.mould}
            if self.radius is not None:
                out["mould"]["radius_um"] = length(self.radius, 1000)
        if self.glue_lots:
            out["glue_lot"] = self.glue_lots[0] if len(self.glue_lots) == 1 else list(self.glue_lots)
        finish = {"words": self.finish, "lot": self.finish_lot}
        if told := {key: value for key, value in finish.items() if value is not None}:
            out["finish"] = told
        if self.set_moisture is not None:
            out["set_moisture_permille"] = permille(self.set_moisture, "--set-moisture")
        if self.roles:
            out["part_roles"] = _roles(self.roles)
        if self.emission is not None:
            name, _, words = (part.strip() for part in self.emission.partition("="))
            out["emission"] = {"document": name} | ({"words": words} if words else {})
        if self.repairable is not None:
            out["repairable"] = _repairable(self.repairable)
        for key, value in (("serial", self.serial), ("care", self.care)):
            if value is not None:
                out[key] = value
        return out


def permille(text: str, where: str) -> int:
    """'7 %' -> 70. NoUnit without the percent sign, NotWhole for less than a tenth of a percent."""
    from woodref.units import quantity

    try:
        said = quantity(text, None)
    except BadQuantity as fault:
        raise faults.NoUnit(
            f"{echo(text)}: {fault.message}", where=where, expected="in percent, such as 7 %"
        ) from None
    if said.unit != "%":
        raise faults.NoUnit(f"{echo(text)} is no percentage", where=where, expected="such as 7 %")
    value = said.value * 10
    if value != value.to_integral_value():
        raise faults.NotWhole(
            f"{echo(text)} is finer than a tenth of a percent", where=where, expected="such as 7.5 %"
        )
    if value <= Decimal(0):
        raise faults.BadAmount(f"{echo(text)} must be above zero", where=where)
    return int(value)


def layup_kept(path: Path) -> dict[str, Any]:
    """Title, hash and text of a layup file that can be read as one; BadLayup tells what is wrong in it. A
    text that Unicode writes in another form, or that is very long, is kept by its hash alone."""
    from woodref.layup.layupfile import read_body
    from woodref.layup.reader import load_layup

    body = read_body(path)
    title = load_layup(body, str(path)).title[:TITLE].strip()
    out: dict[str, Any] = ({"title": title} if title else {}) | {"sha256": digest(body)}
    text = body.decode("utf-8")
    if len(text) <= TEXT and unicodedata.normalize("NFC", text) == text:
        out["text"] = text
    return out


def _roles(said: Sequence[str]) -> dict[str, list[str]]:
    out: dict[str, list[str]] = {}
    for entry in said:
        role, equals, lot = (part.strip() for part in entry.partition("="))
        if not role or not equals or not lot:
            raise BadRequest(
                f"{echo(entry)} is not understood", where="--role", expected="ROLE=LOT, such as face=L-H1"
            )
        lots = out.setdefault(role.lower(), [])
        if lot in lots:
            raise BadRequest(f"{echo(entry)} is told twice", where="--role")
        lots.append(lot)
    return out


def _repairable(said: str) -> dict[str, Any]:
    word, _, words = said.strip().replace(",", ":", 1).partition(":")
    if word.strip().lower() not in YES_NO:
        raise BadRequest(
            f"{echo(said)} says neither yes nor no", where="--repairable",
            expected='yes or no, with words after a colon: "yes: the seat can be replaced"',
        )  # fmt: skip
    return {"yes": word.strip().lower() == "yes"} | ({"words": words.strip()} if words.strip() else {})


def close(
    store: Store, item: str, keeping: Keeping | None = None, label: str | None = None,
    reserve: Sequence[str] = (), time: str | None = None, note: str | None = None,
    claim: str | None = None,
) -> list[Done]:  # fmt: skip
    """An item is finished; reserve: LOT=AMOUNT of following leaves kept back for its repairs. The first event
    closes it, the others reserve: record them together. claim: 'all-proven', which the recording weighs.

    Closed anew after it came back, it keeps what it kept, where nothing else is said. BadRequest when a lot
    is given a role in an item that it is not in, or a report is about no lot of it.
    """
    book = store.book()
    held = book.lot(item, "item close")
    if held.lot.form != "item":
        raise BadRequest(f"{item} is a lot, no item", next=f"woodref stock show {item}")
    before = last_closing(store, item)
    told = {"item": item} | before | (keeping or Keeping()).told()
    kept = Kept.of(told)
    within = lots_in(store, item)
    _fits(store, kept, within, item)
    state = book.item(item, "item close")
    if label or state.label:
        told["label"] = label or state.label
    if claim:
        told["claim"] = claim
    again = " again" if before or state.state == "returned" else ""
    says = [f"Closed {item}{again}: from now on only a correction or a repair changes it."]
    if claim:
        says.append("The book carries the claim that all its wood is proven, by the shop's own rules.")
    says += kept.sentences(_report(store, kept))
    says += _layup_said(kept)
    for lot in (*kept.glues, *kept.finish_lots):
        if lot not in within:
            says.append(f"That {lot} was used on it is kept as you tell it: no event of the book says so.")
    closing = Done(named_by_content("close", item, told, time, note), says)
    return [closing, *(_kept_back(store, item, *pair, time) for pair in _asked(reserve).items())]


def _layup_said(kept: Kept) -> list[str]:
    """What to mind of a layup: its text is not kept, or it was drawn for another mould."""
    from woodref.layup.reader import load_layup

    if not kept.layup:
        return []
    text, radius = kept.layup.get("text"), (kept.mould or {}).get("radius_um")
    if text is None:
        return ["The layup is kept by its hash alone: put the file away where it will be found."]
    drawn = load_layup(text.encode("utf-8"), "the layup kept").mould.radius
    if radius is None or drawn is None or round(drawn * 1000) == radius:
        return []
    return [f"The layup is drawn for a radius of {drawn:g} mm; the mould is told with {radius / 1000:g} mm."]


def _asked(reserve: Sequence[str]) -> dict[str, str]:
    return pairs(reserve, "--reserve", 'LOT=AMOUNT, such as "W-7=2 leaves"')


def _kept_back(store: Store, item: str, lot: str, said: str, time: str | None) -> Done:
    held = store.book().lot(lot, "--reserve")
    amount = amount_of(said, held)
    told = {"lot": lot, "qty": amount.qty, "item": item}
    event = named_by_content("reserve", lot, told, time, f"for repairs of {item}")
    left = plainly(max(held.qty - held.reserved - amount.qty, 0), held.lot.unit)
    says = [
        f"Reserved {amount.echo()} of {lot} for repairs of {item}; {left} stay free.",
        f"To give it free again: woodref stock release {event.id}",
    ]
    return Done(event, says)


def _fits(store: Store, kept: Kept, within: Mapping[str, Any], item: str) -> None:
    strange = sorted({lot for lots in kept.roles.values() for lot in lots} - set(within))
    for lot in strange:
        store.book().lot(lot, "--role")
    if strange:
        raise BadRequest(
            f"{', '.join(strange)} is not in {item}", where="--role",
            next=f"woodref whence {item} --json names the ways down to every lot in it.",
        )  # fmt: skip
    report = _report(store, kept)
    if report is not None and report.lots and not set(report.lots) & {*within, *kept.glues}:
        raise BadRequest(
            f"{report.id} is about {', '.join(report.lots)}, which is not in {item}", where="--emission",
            expected="a report on a glue or a sheet that is in it",
        )  # fmt: skip


def _report(store: Store, kept: Kept) -> Paper | None:
    return None if kept.report is None else store.book().paper(kept.report)


def last_closing(store: Store, item: str) -> dict[str, Any]:
    """The keys that the last closing of an item keeps; empty when it was never closed."""
    by = store.book().item(item, item).closed_by
    event = store.event(by) if by else None
    return {} if event is None else {key: event.more[key] for key in KEYS if key in event.more}


@dataclass(frozen=True)
class Following:
    """A lot that leaves for a repair could be kept back of."""

    held: Held

    def question(self) -> str:
        """'L-B, Dalbergia latifolia: 10 leaves of 1800 x 200 mm are free, on shelf R2.'"""
        lot, free = self.held.lot, self.held.qty - self.held.reserved
        size = lot.told.get("leaf_mm")
        leaves = leaves_of(Held(lot, "", "", free)) if size else None
        shelf = f", on shelf {lot.told['shelf']}" if lot.told.get("shelf") else ""
        if leaves and size:
            word = "leaf" if leaves == 1 else "leaves"
            verb = "is" if leaves == 1 else "are"
            return f"{lot.id}, {lot.wood}: {leaves} {word} of {size[0]} x {size[1]} mm {verb} free{shelf}."
        return f"{lot.id}, {lot.wood}: {plainly(free, lot.unit)} is free{shelf}."

    @property
    def example(self) -> str:
        return "2 leaves" if self.held.lot.told.get("leaf_mm") else "0.1 m2"


def following(store: Store, item: str, roles: Sequence[str] = ()) -> list[Following]:
    """Lots of veneer of which the face was made and that have something free, nearest to the face first.
    roles: ROLE=LOT as told; else the face that the press recorded, else the ply that was told first."""
    faces = _roles(roles).get("face", []) if roles else roles_of(store, item).get("face", [])
    book = store.book()
    out: dict[str, Following] = {}
    faces = faces or _first_plies(store, item)
    for face in faces:
        if book.maybe(face) is None:
            continue
        edges = edges_back(store, face)
        near = [face, *(e.parent for made in edges.values() for e in made), *contents(edges, face)]
        for lot in dict.fromkeys(near):
            held = book.lot(lot, "item close")
            if held.lot.wooden and held.lot.unit == "mm2" and held.qty > held.reserved:
                out[lot] = Following(held)
    return list(out.values())


def _first_plies(store: Store, item: str) -> list[str]:
    """The ply told first of each pressing: plies are told from the face down (common practice)."""
    book, out = store.book(), []
    for lot in sorted(lots_in(store, item)):
        event = book.event(book.lot(lot, item).by, item)
        if event.kind == "laminate":
            out.append(event.in_[0].lot)
    return out
