"""A lot parted or made thinner, as people say it -> the event: split, sanded, sliced, given as a sample."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from woodref.errors import BadRequest, echo
from woodref.provenance.amounts import Amount, plainly, thickness
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.book import Held
from woodref.provenance.faults import BadThickness, NoUnit, Unbalanced
from woodref.provenance.receiving import named_by_content
from woodref.provenance.working import Done, amount_of, keeps, kept_and_lost, lots_told, pairs
from woodref.provenance.yields import low_yield


def _taken(held: Held, qty: int) -> list[dict[str, Any]]:
    return [{"lot": held.lot.id, "qty": qty, "unit": held.lot.unit}]


def split(held: Held, text: str, into: Sequence[str], time: str | None = None,
          note: str | None = None) -> Done:  # fmt: skip
    """A lot parted into new ones, 'LOT=AMOUNT' each, with nothing lost.

    Unbalanced when the parts are not together what was taken.
    """
    taken, unit = amount_of(text, held), held.lot.unit
    parts = {
        name: amount_of(said, held)
        for name, said in pairs(into, "--into", 'LOT=AMOUNT, such as "W-7-A=3 leaves"').items()
    }
    off = taken.qty - sum(part.qty for part in parts.values())
    if off:
        says = f"{off:,} {unit} are left over" if off > 0 else f"{-off:,} {unit} are wanting"
        raise Unbalanced(
            f"{says}: splitting loses nothing", where=held.lot.id,
            expected=f"parts that are {taken.qty:,} {unit} together",
            next="If something is lost, cut it instead." if off > 0 else "Take more of the lot.",
        )  # fmt: skip
    told = {
        "in": _taken(held, taken.qty),
        "out": [{"lot": name, "qty": part.qty, "unit": unit} for name, part in parts.items()],
        "lots": lots_told({name: part.sheets for name, part in parts.items()}, held),
    }
    says_ = [f"Split {taken.echo()} of {held.lot.id}.", *(f"{n}: {p.echo()}." for n, p in parts.items())]
    event = named_by_content("split", held.lot.id, told, time, note)
    return Done(event, [*says_, keeps(held, taken.qty)])


def sand(held: Held, text: str, to: str, into: str, time: str | None = None, note: str | None = None) -> Done:
    """Leaves sanded or planed thinner into one new lot: the area stays, the thickness falls. to: '0.5 mm'.

    NoUnit when the lot is no sheet of a known thickness, BadThickness when it would not become thinner.
    """
    lot = held.lot
    if lot.unit != "mm2" or lot.thickness_um is None:
        raise NoUnit(f"{lot.id} is no sheet of a known thickness", where="stock sand")
    taken, after = amount_of(text, held), thickness(to)
    if after >= lot.thickness_um:
        raise BadThickness(
            f"{lot.id} is {_mm(lot.thickness_um)} thick and cannot be sanded to {_mm(after)}",
            where="--thickness", expected=f"less than {_mm(lot.thickness_um)}",
        )  # fmt: skip
    sheets = lots_told({into: taken.sheets}, held).get(into, {})
    told = {
        "in": _taken(held, taken.qty),
        "out": [{"lot": into, "qty": taken.qty, "unit": "mm2"}],
        "lots": {into: sheets | {"thickness_um": after}},
    }
    off = lot.thickness_um - after
    says = [
        f"Sanded {taken.echo()} of {lot.id} from {_mm(lot.thickness_um)} to {_mm(after)} into {into}.",
        f"Taken off: {_mm(off)}, {plainly(taken.qty * off, 'nL')} ({taken.qty * off:,} nL) of wood.",
        "Wood dust harms nose and lungs: extraction at the machine, and a close-fitting mask.",
        keeps(held, taken.qty),
    ]
    return Done(named_by_content("sand", lot.id, told, time, note), says)


def cut_leaves(held: Held, text: str, into: Sequence[str], time: str | None = None,
               note: str | None = None) -> Done:  # fmt: skip
    """Solid wood sliced, peeled or sawn into leaves: 'LOT=12 leaves of 800 x 200 mm, 0.6 mm' each; the rest
    of the volume is waste.

    NoUnit when the lot is not counted by its volume or a leaf tells no thickness; Unbalanced when the leaves
    are more than was taken.
    """
    if held.lot.unit != "nL":
        raise NoUnit(f"{held.lot.id} is counted in {held.lot.unit}, not by its volume", where="stock slice")
    taken = amount_of(text, held)
    said = pairs(into, "--into", 'LOT=LEAVES, such as "A-1=12 leaves of 800 x 200 mm, 0.6 mm"')
    leaves = {name: _leaves(words) for name, words in said.items()}
    volumes = [leaf.qty * (leaf.thickness_um or 0) for leaf in leaves.values()]
    wasted = taken.qty - sum(volumes)
    if wasted < 0:
        raise Unbalanced(
            f"the leaves are {-wasted:,} nL more than the {taken.qty:,} nL taken", where=held.lot.id,
            next="Take more of the lot, or mend a thickness.",
        )  # fmt: skip
    facts = {name: leaf.sheets | {"thickness_um": leaf.thickness_um} for name, leaf in leaves.items()}
    told: dict[str, Any] = {
        "in": _taken(held, taken.qty),
        "out": [{"lot": name, "qty": leaf.qty, "unit": "mm2"} for name, leaf in leaves.items()],
        "lots": lots_told(facts, held),
    }
    if wasted:
        told["waste"] = [{"lot": held.lot.id, "qty": wasted, "unit": "nL"}]
    says = [f"Sliced {taken.echo()} of {held.lot.id}.", *(f"{n}: {a.echo()}." for n, a in leaves.items())]
    says += [*kept_and_lost(taken.qty, volumes, "nL"), keeps(held, taken.qty)]
    event = named_by_content("slice", held.lot.id, told, time, note)
    return Done(event, says, low_yield("slice", taken.qty, sum(volumes)))


def _leaves(text: str) -> Amount:
    said = read_amount(text)
    if said.unit != "mm2" or said.thickness_um is None:
        raise NoUnit(
            f"{echo(text)} tells no leaves with their thickness", where="--into",
            expected="such as 12 leaves of 800 x 200 mm, 0.6 mm",
        )  # fmt: skip
    return said


def sample(held: Held, text: str, to: str, time: str | None = None, note: str | None = None) -> Done:
    """Some of a lot given away to be looked at. to: where it went, such as a laboratory."""
    if not to.strip():
        raise BadRequest(
            "where the sample went is empty", where="--given-to", expected="words, such as a laboratory"
        )
    taken = amount_of(text, held)
    told = {"in": _taken(held, taken.qty), "to": " ".join(to.split())}
    says = [f"Given as a sample to {told['to']}: {taken.echo()} of {held.lot.id}.", keeps(held, taken.qty)]
    return Done(named_by_content("sample", held.lot.id, told, time, note), says)


def _mm(um: int) -> str:
    return f"{um / 1000:g} mm"
