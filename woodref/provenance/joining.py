"""Several lots brought together, as people say it -> the event: leaves jointed edge to edge, plies
pressed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from woodref.errors import BadRequest, echo
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.amounts import plainly
from woodref.provenance.balance import USED
from woodref.provenance.book import Held
from woodref.provenance.faults import BadAmount, NoUnit, Unbalanced
from woodref.provenance.receiving import named_by_content
from woodref.provenance.working import Done, amount_of, carried, keeps, pairs
from woodref.provenance.yields import low_yield

#: looks a lot up by its id; UnknownLot when there is none
Find = Callable[[str], Held]
MAX_PLIES = 99


def _keeps(find: Find, taken: dict[str, int]) -> list[str]:
    return [keeps(find(lot), qty) for lot, qty in taken.items()]


def joint(
    find: Find, sheet: str, size: str, of: Sequence[str], waste: Sequence[str] = (), time: str | None = None,
    note: str | None = None,
) -> Done:  # fmt: skip
    """Leaves jointed into sheets. size: '1 sheet of 490 x 460 mm'; of, waste: LOT=AMOUNT. With one lot the
    rest of what was taken is waste; with several the waste of each must be told, for shares follow from it.

    Unbalanced when what was taken, less the waste, is not the sheet.
    """
    taken = {lot: amount_of(said, find(lot)) for lot, said in pairs(of, "--of", 'LOT="3 leaves"').items()}
    if not taken:
        raise BadRequest("nothing is jointed", where="--of", expected='LOT="3 leaves"')
    first = find(next(iter(taken)))
    made = amount_of(size, first)
    lost = {
        lot: amount_of(said, find(lot)).qty for lot, said in pairs(waste, "--waste", "LOT=AMOUNT").items()
    }
    if strange := lost.keys() - taken.keys():
        raise BadRequest(f"{', '.join(sorted(strange))} is not jointed", where="--waste")
    left = sum(a.qty for a in taken.values()) - sum(lost.values()) - made.qty
    if left > 0 and len(taken) == 1 and not lost:
        lost, left = {first.lot.id: left}, 0
    if left:
        says = f"{left:,} {made.unit} are left over" if left > 0 else f"{-left:,} {made.unit} are wanting"
        raise Unbalanced(
            f"{says}: taken, less waste, must be the sheet", where=sheet,
            next="Tell what was trimmed off each lot: --waste LOT=AMOUNT." if left > 0 else "Take more.",
        )  # fmt: skip
    told: dict[str, Any] = {
        "in": [{"lot": lot, "qty": a.qty, "unit": a.unit} for lot, a in taken.items()],
        "out": [{"lot": sheet, "qty": made.qty, "unit": made.unit}],
        "waste": [{"lot": lot, "qty": qty, "unit": made.unit} for lot, qty in lost.items()],
        "lots": {sheet: carried(*map(find, taken)) | made.sheets},
    }
    says_ = [f"Jointed {sheet}: {made.echo()}."]
    if lost:
        says_.append(f"Waste: {plainly(sum(lost.values()), made.unit)}.")
    event = named_by_content("edge-join", sheet, _full(told), time, note)
    used = {lot: a.qty for lot, a in taken.items()}
    return Done(event, says_ + _keeps(find, used), low_yield("edge-join", sum(used.values()), made.qty))


def press(
    find: Find, panel: str, size: str, plies: Sequence[str], glue: Sequence[str] = (),
    taken: Sequence[str] = (), more: Mapping[str, Any] | None = None, time: str | None = None,
    note: str | None = None,
) -> Done:  # fmt: skip
    """Plies glued to a panel. size: '1 sheet of 490 x 460 mm' as it lies in the press; plies:
    LOT=HOW-MANY, or LOT for one; glue: LOT=AMOUNT; taken: LOT=AMOUNT where more of a lot went to the press
    than the panel holds, the rest is waste; more: keys of the event that are kept with the panel (layup,
    mould, stack, set_moisture_permille).

    BadAmount for plies that are no number of 1 to 99; Unbalanced when less was taken than the plies hold.
    """
    made = read_amount(size)
    if made.unit != "mm2":
        raise NoUnit(f"{echo(size)} is no area", where=panel, expected="such as 1 sheet of 490 x 460 mm")
    counts = pairs(
        [p if "=" in p else f"{p}=1" for p in plies], "--ply", "LOT or LOT=HOW-MANY, such as BIRCH=4"
    )
    extra = pairs(taken, "--taken", "LOT=AMOUNT")
    if strange := extra.keys() - counts.keys():
        raise BadRequest(f"{', '.join(sorted(strange))} is no ply", where="--taken")
    told: dict[str, Any] = {"in": [], "waste": [], "out": [{"lot": panel, "qty": made.qty, "unit": "mm2"}],
                            "lots": {panel: {"form": "panel", **made.sheets}}, **(more or {})}  # fmt: skip
    used: dict[str, int] = {}
    layers = 0
    for lot, said in counts.items():
        count, held = _plies(lot, said), find(lot)
        need = count * made.qty
        used[lot] = amount_of(extra[lot], held).qty if lot in extra else need
        if used[lot] < need:
            raise Unbalanced(
                f"{count} plies of {made.qty:,} mm2 want {need:,} mm2 of {lot}; {used[lot]:,} were taken",
                where="--taken",
            )
        told["in"].append({"lot": lot, "qty": used[lot], "unit": held.lot.unit, "plies": count})
        layers += used[lot]
        if used[lot] > need:
            told["waste"].append({"lot": lot, "qty": used[lot] - need, "unit": "mm2"})
    glues = pairs(glue, "--glue", "LOT=AMOUNT, such as UF-2=151 g")
    for lot, said in glues.items():
        held = find(lot)
        if held.lot.form not in USED:
            raise BadRequest(f"{lot} is {held.lot.form}, no glue", where="--glue")
        used[lot] = amount_of(said, held).qty
        told["in"].append({"lot": lot, "qty": used[lot], "unit": held.lot.unit})
    if glues:
        told["glue_lot"] = list(glues)
    wasted = sum(share["qty"] for share in told["waste"])
    total = sum(int(said) for said in counts.values())
    says = [f"Pressed {panel}: {made.echo()}, {total} {'ply' if total == 1 else 'plies'}."]
    if wasted:
        says.append(f"Waste: {plainly(wasted, 'mm2')} of layer.")
    if not glue:
        says.append("No glue is told: the panel's paper will not say what holds it.")
    event = named_by_content("laminate", panel, _full(told), time, note)
    return Done(event, says + _keeps(find, used), low_yield("laminate", layers, layers - wasted))


def _plies(lot: str, said: str) -> int:
    if not (said.isascii() and said.isdigit() and 1 <= int(said) <= MAX_PLIES):
        raise BadAmount(
            f"{lot}: {echo(said)} is no number of plies", where="--ply", expected=f"1 to {MAX_PLIES}"
        )
    return int(said)


def _full(told: dict[str, Any]) -> dict[str, Any]:
    """Without what is empty."""
    lots = {lot: facts for lot, facts in told["lots"].items() if facts}
    return {key: value for key, value in (told | {"lots": lots}).items() if value}
