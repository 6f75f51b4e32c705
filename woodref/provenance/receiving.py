"""A delivery, or old stock found on the shelf, as people say it -> the event that takes it in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from woodref.errors import BadRequest
from woodref.provenance.amounts import Amount, thickness
from woodref.provenance.amounts import amount as read_amount
from woodref.provenance.asfacts import facts_of
from woodref.provenance.canonical import canonical, digest
from woodref.provenance.faults import NoUnit
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.times import moment, now


def received(
    lot: str,
    amount: str,
    form: str,
    thickness_said: str | None = None,
    found: bool = False,
    time: str | None = None,
    event: str | None = None,
    country: Sequence[str] = (),
    one_of: Sequence[str] = (),
    **told: Any,
) -> tuple[Event, Amount]:
    """A `receive`, or an `open-stock` for what was found, and the amount as it was read. told: facts of the
    lot under their own keys, words for the trade name, and as people say them what `asfacts.facts_of` reads;
    None is left out.

    Raises the fault of the amount, BadRequest when it tells the thickness twice and differently.
    """
    said = read_amount(amount)
    facts: dict[str, Any] = {"form": form, "unit": said.unit}
    stated = None if thickness_said is None else thickness(thickness_said)
    if None not in (stated, said.thickness_um) and stated != said.thickness_um:
        raise BadRequest(
            f"the amount says {said.thickness_um} um and --thickness says {stated} um",
            expected="one thickness",
        )
    thick = stated or said.thickness_um
    if thick is None and form in ("veneer", "engineered-veneer", "board"):
        raise NoUnit(
            f"{lot}: the thickness is missing",
            expected='in the amount ("12 leaves of 1800 x 200 mm, 0.6 mm") or --thickness "0.6 mm"',
        )
    more = {
        **said.sheets, "thickness_um": thick, "countries": list(country) or None,
        "trade": told.pop("words", None), "as_received": said.said,
    }  # fmt: skip
    facts |= {
        key: value
        for key, value in (more | facts_of(form, told | {"one_of": list(one_of)})).items()
        if value is not None
    }
    kind = "open-stock" if found else "receive"
    told_event = {"out": [{"lot": lot, "qty": said.qty, "unit": said.unit}], "lots": {lot: facts}}
    return named_by_content(kind, lot, told_event, time, name=event), said


def named_by_content(
    kind: str,
    lot: str,
    told: Mapping[str, Any],
    time: str | None,
    note: str | None = None,
    name: str | None = None,
) -> Event:
    """An event whose id follows from its content: the same work with the same time is one event, anything
    else is another. time: with offset, None for now."""
    at = moment(time, "--time") if time else now()
    whole = {"kind": kind, "time": at.local, **told} | ({"note": note} if note else {})
    return event_of({"id": name or f"{kind}-{lot[:40]}-{digest(canonical(whole))[:8]}", **whole})
