"""Which woods are listed on a day, and what changed since another: the answer of `listings`."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest
from woodref.selection.status import law_caution, law_notices
from woodref.trade.changes import changes, in_force
from woodref.trade.listings import said_of
from woodref.units import date


@dataclass(frozen=True)
class Listed:
    """sentences: one a row, or the one that says there is none; rows: the same as JSON."""

    taxon: str | None
    on: dt.date
    since: dt.date | None
    sentences: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]
    caution: str
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `listings`."""
        since = self.since.isoformat() if self.since else None
        return {
            "query": {"taxon": self.taxon, "on": self.on.isoformat(), "since": since},
            "count": len(self.rows),
            "rows": list(self.rows),
            "caution": self.caution,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def listed(
    taxon: str | None, on: str | None, since: str | None, catalogue: Catalogue, today: dt.date
) -> Listed:
    """Rows that stand on a day, or what began and ended after `since`. on, since: YYYY-MM-DD; taxon: a genus
    or species. BadQuantity for what is no day, BadRequest for a span that ends before it begins."""
    day = date(on, "--on") if on else today
    start = date(since, "--since") if since else None
    if start and start >= day:
        raise BadRequest(f"--since {start} is not before {day}", expected="an earlier day")
    if start:
        moved = [c for c in changes(catalogue.law, start, day) if _meant(c.row.accepted, taxon)]
        sentences, rows = [c.sentence for c in moved], [c.as_dict() for c in moved]
    else:
        standing = [r for r in in_force(catalogue.law, day) if _meant(r.accepted, taxon)]
        sentences, rows = [said_of(r) for r in standing], [r.as_dict() for r in standing]
    none = "Nothing changed in that span, as far as our rows go." if start else "No row stands on that day."
    return Listed(
        taxon, day, start, tuple(sentences or [none]), tuple(rows), law_caution(catalogue),
        (*catalogue.notices, *law_notices(day, catalogue)), catalogue.stamp,
    )  # fmt: skip


def _meant(accepted: str, taxon: str | None) -> bool:
    """Whether a row speaks of the taxon asked for: the same name, its genus, or a species of it."""
    if taxon is None:
        return True
    asked = taxon.replace(" spp.", "").strip().casefold()
    name = accepted.casefold()
    return name == asked or name == asked.split(" ")[0] or name.startswith(f"{asked} ")
