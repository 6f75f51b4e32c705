"""A lot that comes in, as people say it -> the event and what to tell."""

from __future__ import annotations

from typing import Any

from woodref.provenance.moistures import percent
from woodref.provenance.receiving import received
from woodref.provenance.working import Done


def take_in(lot: str, amount: str, found: bool = False, **told: Any) -> Done:
    """A delivery, or old stock found on the shelf; told: as `receiving.received` takes it, and its faults."""
    event, said = received(lot, amount, found=found, **told)
    facts = event.lots[lot]
    says = [f"{'Found' if found else 'Received'} {lot}: {said.echo()}."]
    if facts.get("moisture_permille"):
        by = f", by {facts['moisture_by']}" if facts.get("moisture_by") else ""
        says.append(f"Moisture: {percent(facts['moisture_permille'])}{by}.")
    if facts.get("price"):
        says.append(f"Price: {facts['price']} {facts['currency']}, kept for the shop alone.")
    return Done(event, says, told={"lot": lot, "qty": said.qty, "unit": said.unit})
