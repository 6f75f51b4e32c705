"""What a maker's record has to carry of every wood in an item, by destination: dated rule sets as values.

They ask for facts and papers of each received lot. Which wood is listed, which note frees it and which
law reaches the goods they do not say: that the other rows of law do, and a requirement may be tied to one.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from woodref.trade.listings import stands

DESTINATIONS = ("home", "EU", "GB", "US", "export")
#: what may be wanting, worst first
KEYS = (
    "NAME", "ACQUISITION", "PERMIT", "DOCUMENT", "COUNTRY", "COMPOSITION", "EUDR-REF", "QUANTITY", "VALUE",
    "HARVEST-DATE", "FOREST", "REGION", "PLOT", "EMISSION", "CLAIM",
)  # fmt: skip
#: how the shares of a mixed line count: each for itself, or one that lacks something spoils the whole line
SHARE, WHOLE = "share", "whole"
#: so many days after the law behind a set was last followed, the set is out of date
STALE = 365


@dataclass(frozen=True)
class Asked:
    """One requirement. key: of KEYS; test: which question of a lot it is; closes: what would close a gap.

    law: code of another law that has to reach the goods; when: only into (import), inside (sale) or out of
    (export) the destination. words, citation, source, locator, evidence: the rule and what it rests on.
    """

    key: str
    test: str
    closes: str
    argument: str | None = None
    law: str | None = None
    when: str | None = None
    words: str = ""
    citation: str | None = None
    source: str | None = None
    locator: str | None = None
    evidence: str = "common-practice"


@dataclass(frozen=True)
class RuleSet:
    """Requirements of a destination between two days, both included (None: open). source: what it rests on.

    mixing: SHARE or WHOLE; followed_to: the day up to which the law behind it was followed, None for a rule
    of the shop, which no law can overtake.
    """

    id: str
    version: str
    destination: str
    valid_from: dt.date | None
    valid_to: dt.date | None
    asks: tuple[Asked, ...]
    source: str | None
    mixing: str = SHARE
    followed_to: dt.date | None = None
    words: str = ""

    def stands(self, on: dt.date) -> bool:
        """Whether it may be relied on that day: within its days, and not long after its law was followed."""
        last = None if self.followed_to is None else self.followed_to + dt.timedelta(days=STALE)
        return stands(self.valid_from, self.valid_to, on) and (last is None or on <= last)

    def behind(self, on: dt.date) -> str | None:
        """What to say when the law behind the set was not followed up to the day."""
        if self.followed_to is None or on <= self.followed_to:
            return None
        age = (on - self.followed_to).days
        return (
            f"The law behind these rules was followed up to {self.followed_to.isoformat()}, {age} days "
            f"before {on.isoformat()}: look for changes since."
        )


def rule_set(sets: tuple[RuleSet, ...], destination: str, on: dt.date) -> RuleSet | None:
    """The set of a destination for a day: the one that stands; else the nearest before the day, or the
    first of all, which does not stand and says so; None where there is none for the destination."""
    mine = sorted(
        (s for s in sets if s.destination == destination), key=lambda s: s.valid_from or dt.date.min
    )
    held = [s for s in mine if s.stands(on)]
    begun = [s for s in mine if (s.valid_from or dt.date.min) <= on]
    return held[-1] if held else begun[-1] if begun else mine[0] if mine else None
