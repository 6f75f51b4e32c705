"""A thousand verdicts in under a second of user CPU."""

from __future__ import annotations

import datetime as dt
import resource

from woodref.catalogue.reader import Catalogue
from woodref.trade.shapes import Item, Movement
from woodref.trade.verdict import verdict


def test_a_thousand_verdicts_take_under_a_second(catalogue: Catalogue) -> None:
    rules = catalogue.rules
    woods = [
        "Dalbergia latifolia",
        "Swietenia macrophylla",
        "Juglans nigra",
        "Dalbergia nigra",
        "Khaya ivorensis",
    ]
    movement = Movement("GH", "DE", dt.date(2026, 6, 1))
    times = []
    for _ in range(3):
        before = resource.getrusage(resource.RUSAGE_SELF).ru_utime
        for number in range(1000):
            verdict(Item((woods[number % 5],), "veneer", origin="GH"), movement, rules)
        times.append(resource.getrusage(resource.RUSAGE_SELF).ru_utime - before)
    print(f"1,000 verdicts: {min(times):.3f} s")
    assert min(times) < 1.0
