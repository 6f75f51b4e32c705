"""The cost of a layup reckoned: each ply taken to a lot, what is bought of it, each glue line to its pot.

What is bought on top of the net area goes by what is known best: the waste that the layup writes, whole
leaves where it gives their size, the shop's own cuts once there are enough, else what is usual in the trade.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from woodref.catalogue.material import GRADE_WORDS
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, CannotAnswer
from woodref.layup.asked import FIGURED, WASTE, Layup
from woodref.layup.cutting import cutting
from woodref.layup.leafcount import PlyCut
from woodref.layup.moist import moist
from woodref.layup.pack import Pack, Sheet, pack_of
from woodref.layup.saying import Say, plies_called, plural
from woodref.layup.spreading import Line, spreading
from woodref.provenance.amounts import plainly
from woodref.provenance.book import Held
from woodref.provenance.costs import M2, Bought, Costs, Glued
from woodref.provenance.faults import NoUnit
from woodref.provenance.fetching import serving, wants_of
from woodref.provenance.fromlayup import Laid, named_plies, odd_lots
from woodref.provenance.ownyields import ENOUGH, OwnYield, own_yields
from woodref.provenance.prices import made_of_others, paid_for
from woodref.provenance.store import Store
from woodref.selection.words import joined

KIND_WORDS = {"plain": "plain leaves", "matched": "a matched face", "burr": "burr and crotch"}


def costs(
    store: Store, catalogue: Catalogue, layup: Layup, on: dt.date, *, plies: Sequence[str] = (),
    glue: Sequence[str] = (), parts: int | None = None, region: str | None = None,
) -> Costs:  # fmt: skip
    """plies: N=LOT, N-M=LOT where lots are named; glue: LOT for all lines, or LINE=LOT; parts: how many, the
    panel's count if not given.

    CannotAnswer when the layup gives no size; UnknownLot, NoUnit or BadRequest for a lot that cannot be it.
    """
    if parts is not None:
        layup = replace(layup, panel=replace(layup.panel, count=parts))
    say, parts = Say(), layup.panel.count
    pack = pack_of(layup, catalogue, on, region)
    cut = cutting(layup, [s.name for s in pack.sheets], say)
    if cut.left_out:
        why = cut.left_out.partition(": ")[2] or cut.left_out
        raise CannotAnswer(f"what it costs cannot be told: {why.rstrip('.')}", where=layup.file)
    lots, unclear = _lots(store, pack, named_plies(plies, len(layup.plies)))
    # the book is gone through for its cuts only where a ply wants them
    yields = functools.cache(lambda: own_yields(store))
    veneer = _veneer(store, layup, pack, cut.rows, lots, unclear, yields)
    spread = spreading(pack, moist(pack, say), say)
    glued = _glue(store, layup, spread.lines, glue, parts)
    left_out = None if spread.lines or len(pack.sheets) == 1 else "the layup names no glue"
    laid = [
        Laid(sheet.number, sheet.ask, sheet.material, lots[sheet.number], None, None)
        for sheet in pack.sheets
        if sheet.number in lots
    ]
    notices = [*catalogue.notices, *pack.notices, *odd_lots(store, laid, None)]
    notices += [*_other_leaves(layup, veneer), *_too_little(veneer, glued)]
    return Costs(layup, parts, veneer, glued, left_out, tuple(notices), catalogue.stamp)


def _lots(store: Store, pack: Pack, named: Mapping[int, str]) -> tuple[dict[int, Held], dict[int, str]]:
    """Ply -> its lot, and ply -> why there is none."""
    book = store.book()
    lots = {number: book.lot(lot, "--ply") for number, lot in named.items()}
    for held in lots.values():
        if held.lot.unit != "mm2":
            raise NoUnit(
                f"{held.lot.id} is counted in {held.lot.unit}, and plies by their area", where="--ply",
                expected="a lot of leaves or boards",
            )  # fmt: skip
    wants, _ = wants_of(pack)
    rows, _ = serving(wants, store)
    unclear: dict[int, str] = {}
    for index, want in enumerate(wants):
        open_ = [number for number in want.plies if number not in lots]
        fit = [row.held for row in rows if index in row.wants]
        for number in open_:
            if len(fit) == 1:
                lots[number] = fit[0]
            elif fit:
                unclear[number] = (
                    f"may be out of {joined([held.lot.id for held in fit])} (--ply {number}=LOT)"
                )
            else:
                unclear[number] = f"has no lot on hand that serves (--ply {number}=LOT names another)"
    return lots, unclear


def kind_of(layup: Layup, sheet: Sheet) -> str:
    """plain, matched or burr."""
    if sheet.cut in FIGURED or sheet.ask.figured:
        return "burr"
    matched = sheet.number == 1 and "face" in layup.given and layup.face.match != "random"
    return "matched" if matched else "plain"


def _veneer(
    store: Store, layup: Layup, pack: Pack, cuts: Sequence[PlyCut], lots: Mapping[int, Held],
    unclear: Mapping[int, str], yields: Callable[[], Mapping[str, OwnYield]],
) -> tuple[Bought, ...]:  # fmt: skip
    groups: dict[tuple[str, str, float, str, str], list[Bought]] = {}
    for sheet, row in zip(pack.sheets, cuts, strict=True):
        kind, held = kind_of(layup, sheet), lots.get(sheet.number)
        net, blank = round(row.net_area * M2), round(row.length * row.width * row.parts)
        bought, basis, told = _how_much(layup, kind, net, blank, row, yields)
        paid = paid_for(store, held) if held else None
        wanting = None
        if held is None:
            wanting = f"ply {sheet.number} {unclear[sheet.number]}"
        elif paid is None:
            wanting = f"lot {held.lot.id} has no price on record"
            if made_of_others(store, held):
                wanting += ", being made of others: name the one that was bought"
        key = (sheet.name, held.lot.id if held else unclear[sheet.number], sheet.thickness, kind, told)
        groups.setdefault(key, []).append(
            Bought((sheet.number,), sheet.name, kind, net, blank, bought, basis, told, held, paid, wanting)
        )
    return tuple(_together(rows) for rows in groups.values())


def _together(rows: Sequence[Bought]) -> Bought:
    first = rows[0]
    plies = tuple(row.plies[0] for row in rows)
    wanting = first.wanting
    if wanting and first.held is None:
        which = plies_called(plies).lower()
        wanting = wanting.replace(f"ply {plies[0]} ", f"{which} ", 1)
        if len(plies) > 1:
            wanting = wanting.replace(" has no lot", " have no lot", 1)
    return replace(
        first, plies=plies, net=sum(r.net for r in rows), blank=sum(r.blank for r in rows),
        bought=sum(r.bought for r in rows), wanting=wanting,
    )  # fmt: skip


def _how_much(
    layup: Layup, kind: str, net: int, blank: int, row: PlyCut, yields: Callable[[], Mapping[str, OwnYield]]
) -> tuple[int, str, str]:
    """Area to buy [mm2], by what, and the same in words."""
    written: float | None = getattr(layup.waste, kind)
    if written is not None:
        share = Fraction(Decimal(str(written))) / 100
        return (
            _up(net * (1 + share)),
            "file-waste",
            f"{written:g} % on top of the net area, as the layup says",
        )
    if row.leaves is not None and row.leaves.needed is not None:
        leaves, stock = row.leaves.needed, row.leaves.stock
        area = round(leaves * stock.width * stock.length)
        whole = f"{plural(leaves, 'whole leaf', 'whole leaves')} of {stock.length:g} x {stock.width:g} mm"
        return area, "whole-leaves", f"{whole} a ply, as the layup counts them"
    own = yields()[kind]
    if own.enough and own.share is not None:
        with_joints = f" and {plural(own.joints, 'jointing')}" if own.joints else ""
        told = (
            f"your own yield of {float(100 * own.share):.0f} % of {KIND_WORDS[kind]}, from {own.cuts:,} cuts"
            f"{with_joints} in the book, on the blanks with their trim ({plainly(blank, 'mm2')})"
        )
        return _up(Fraction(blank) / own.share), "own-yield", told
    usual = Fraction(Decimal(str(WASTE[kind]))) / 100
    there = f"{plural(own.cuts, 'cut')} of this kind" if own.cuts else "no cut of this kind"
    verb = "are" if own.cuts > 1 else "is"
    told = (
        f"{WASTE[kind]:g} % on top of the net area, usual for {KIND_WORDS[kind]} (common practice, no "
        f"source; {there} {verb} in the book, and your own yield is taken from {ENOUGH} on)"
    )
    return _up(net * (1 + usual)), "usual-waste", told


def _up(value: Fraction) -> int:
    return -(-value.numerator // value.denominator)


def _glue(
    store: Store, layup: Layup, lines: Sequence[Line], named: Sequence[str], parts: int
) -> tuple[Glued, ...]:
    lots = _glue_lots(store, named, len(lines))
    groups: dict[tuple[str, Fraction, str | None], list[Line]] = {}
    for line in lines:
        held = lots.get(line.number)
        spread = Fraction(Decimal(str(round(line.spread, 4))))
        groups.setdefault((line.glue["id"], spread, held.lot.id if held else None), []).append(line)
    return tuple(
        _glued(store, layup, rows, spread, lots.get(rows[0].number), parts)
        for (_, spread, _), rows in groups.items()
    )


def _glue_lots(store: Store, named: Sequence[str], count: int) -> dict[int, Held]:
    """Line -> its lot. 'LOT' for all lines, 'LINE=LOT' for some."""
    if named and not count:
        raise BadRequest("the layup has no glue line", where="--glue", next="Leave it out.")
    whole = [entry.strip() for entry in named if "=" not in entry]
    if len(whole) > 1:
        raise BadRequest(
            f"{joined(whole)} are each named for all lines",
            where="--glue",
            expected="one, or LINE=LOT for each",
        )
    book, out = store.book(), {}
    some = _lines([entry for entry in named if "=" in entry], count)
    for number in range(1, count + 1):
        lot = some.get(number, whole[0] if whole else None)
        if lot is None:
            continue
        held = book.lot(lot, "--glue")
        if held.lot.form != "adhesive":
            raise BadRequest(f"{lot} is {held.lot.form}, no glue", where="--glue")
        out[number] = held
    return out


def _lines(named: Sequence[str], count: int) -> dict[int, str]:
    try:
        return named_plies(named, count)
    except BadRequest as fault:
        says = fault.message.replace("ply", "line").replace("beside --layup", "").strip()
        raise BadRequest(says, where="--glue", expected="LOT, or LINE=LOT such as 1-3=UF-2") from None


def _glued(
    store: Store, layup: Layup, rows: Sequence[Line], spread: Fraction, held: Held | None, parts: int
) -> Glued:
    first, glue = rows[0], rows[0].glue
    area = round((first.area or 0.0) * M2)
    mass = _up(spread * area * len(rows) * parts / 1000)
    asked = layup.glue_lines[first.number - 1]
    source = None
    if asked.spread is not None:
        told = "as the layup says"
    else:
        band = glue["spread_g_m2"]
        source = " ".join(p for p in (glue.get("source"), glue.get("locator")) if p) or None
        grade = GRADE_WORDS.get(glue.get("evidence") or "", "grade not told")
        told = (
            f"the middle of {band['low']:g} to {band['high']:g} for {glue['id']}, {grade}, "
            f"{source or 'no source'}"
        )
    paid = paid_for(store, held) if held else None
    qty, wanting = _in_unit(held, mass) if held else (None, None)
    name = glue["names"][0]["text"]
    if held is None:
        which = "line" if len(rows) == 1 else "lines"
        numbers = joined([str(row.number) for row in rows])
        wanting = f"no lot of {name} is named for {which} {numbers} (--glue LOT)"
    elif wanting is None and paid is None:
        wanting = f"lot {held.lot.id} has no price on record"
    return Glued(
        tuple(row.number for row in rows), name, glue["id"], spread, told, source, area, mass, parts, held,
        paid, qty, wanting,
    )  # fmt: skip


def _in_unit(held: Held, mass: int) -> tuple[int | None, str | None]:
    """A mass [mg] in the unit a lot of glue is counted in, or why that cannot be told."""
    lot = held.lot
    if lot.unit == "mg":
        return mass, None
    if lot.unit == "nL" and lot.density:
        # mg over kg/m3 is microlitres, a thousand of them a mass of the density: nL = mg x 10^6 / density
        return _up(Fraction(mass * 1_000_000, lot.density)), None
    if lot.unit == "nL":
        return None, f"lot {lot.id} is counted in litres and its density is not told"
    return None, f"lot {lot.id} is counted in {lot.unit}, and glue is spread by its mass"


def _other_leaves(layup: Layup, veneer: Sequence[Bought]) -> list[Notice]:
    """Where whole leaves are counted of another size than those of the lot."""
    out = []
    for row in veneer:
        size = row.held.lot.told.get("leaf_mm") if row.held and row.basis == "whole-leaves" else None
        counted = [(leaf.length, leaf.width) for leaf in layup.leaves if leaf.ply in row.plies]
        if row.held and size and (size[0], size[1]) not in counted:
            of = f"{counted[0][0]:g} x {counted[0][1]:g} mm"
            out.append(
                Notice(
                    "other-leaves",
                    f"{row.called}: the layup counts leaves of {of}, and those of {row.held.lot.id} are "
                    f"{size[0]} x {size[1]} mm.",
                )
            )
    return out


def _too_little(veneer: Sequence[Bought], glue: Sequence[Glued]) -> list[Notice]:
    """Where less is free of a lot than is reckoned of it: told, for more of it may be bought."""
    wants: dict[str, list[int]] = {}
    lots: dict[str, Held] = {}
    for row in veneer:
        if row.held:
            lots[row.held.lot.id] = row.held
            wants.setdefault(row.held.lot.id, []).append(row.bought)
    for pot in glue:
        if pot.held and pot.qty is not None:
            lots[pot.held.lot.id] = pot.held
            wants.setdefault(pot.held.lot.id, []).append(pot.qty)
    out = []
    for name, each in wants.items():
        held, want = lots[name], sum(each)
        free = max(held.qty - held.reserved, 0)
        if free < want:
            unit = held.lot.unit
            left = plainly(free, unit) if free else "nothing"
            out.append(
                Notice(
                    "too-little",
                    f"{name}: {plainly(want, unit)} is reckoned of it, and {left} is free. It is reckoned at "
                    "its price all the same.",
                )
            )
    return out
