"""Among five thousand woods, too, sorting all at once is what writing every row would give."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.selection import placing
from woodref.selection.answer import GROUPS, Row
from woodref.selection.legs import Route
from woodref.selection.request import Request
from woodref.selection.substitutes import substitutes

ON = dt.date(2026, 6, 1)


@pytest.mark.parametrize(
    ("target", "request_"),
    [
        ("dalbergia-nigra", Request("it", "face", ON, plantation=True)),
        ("juglans-nigra", Request("it", "crossband", ON, rows=40, route=Route("DE", None, "US"))),
    ],
)
def test_every_row_stands_where_its_own_reasons_put_it(
    target: str, request_: Request, large: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    held: list[placing.Told] = []
    plain = placing.fill
    monkeypatch.setattr(
        "woodref.selection.substitutes.fill", lambda told: (held.append(told), plain(told))[1]
    )
    answer = substitutes(replace(request_, target=target), Matched(target, target, "id"), large)
    (told,) = held
    groups: dict[str, list[Row]] = {name: [] for name in GROUPS}
    for index, wood in enumerate(told.materials):
        if wood.id != target:
            group, row = told.written(index)
            groups[group].append(row)
    assert sum(map(len, groups.values())) == len(large.ids()) - 1

    def key(row: Row) -> tuple[float, int, float, float, str]:
        colour = row.found.criterion("colour")
        off = sum(
            abs(c.difference) / c.tolerance * c.weight
            for c in row.found.criteria
            if c.difference is not None and c.tolerance
        )
        use = colour.use if colour and colour.use is not None else 0.0
        outside = sum(c.outside for c in row.found.criteria)
        return (-row.found.likeness, outside, -use, round(off, 9), row.material.id)

    for name, rows in groups.items():
        rows.sort(key=key)
        shown = rows[: request_.rows] if name == "ranked" else rows
        assert [head.id for head in getattr(answer, name).heads] == [row.material.id for row in shown], name
    for place in (0, len(answer.left_out) // 2, len(answer.left_out) - 1):
        assert answer.left_out[place] == groups["left_out"][place]
    assert answer.ranked and answer.left_out
