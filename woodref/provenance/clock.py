"""Whether the clock of this machine can be right: it must not stand before what is recorded already.

The order of a book is that of recording, so a clock that went back spoils nothing; but the times it gives to
new events would be wrong, and a person can put that right only at once.
"""

from __future__ import annotations

import datetime as dt
import json

from woodref.catalogue.reader import Notice
from woodref.errors import WoodrefError
from woodref.provenance.store import Store
from woodref.provenance.times import later, moment, now

#: clocks of several machines may differ by this
NEAR = dt.timedelta(minutes=2)


def gone_back(store: Store) -> list[Notice]:
    """One notice when this moment lies before the one at which the last event of the book was recorded."""
    last = store.rows("SELECT payload FROM event ORDER BY seq DESC LIMIT 1")
    try:
        recorded = moment(json.loads(last[0][0])["recorded"]) if last else None
    except (ValueError, KeyError, TypeError, WoodrefError):
        return []  # a damaged row is for `book check` to tell
    here = now()
    if recorded is None or later(recorded, here) <= NEAR:
        return []
    return [
        Notice(
            "clock-back",
            f"The clock of this machine says {here.utc}, and the last event of the book was recorded at "
            f"{recorded.utc}. The order of the book is safe. Set the clock right if it is wrong, and say "
            "with --time when the work was done.",
        )
    ]
