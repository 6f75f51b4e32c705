"""All woods sorted at once, held against asking them one by one and sorting the rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from sqlite3 import connect
from typing import Any

import numpy as np
import pytest

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import LARGE, Catalogue
from woodref.errors import CannotAnswer
from woodref.selection import board, gates, placing, standing, status
from woodref.selection.answer import GROUPS, Answer, Head, Row, Rows
from woodref.selection.certainty import order_holds, undominated
from woodref.selection.columns import columns
from woodref.selection.explain import UNBEATEN
from woodref.selection.legs import Route
from woodref.selection.request import FaceAsk, Piece, Request
from woodref.selection.roles import ROLES, VENEER_ROLES, profile
from woodref.selection.sampleboard import LAW_WORDS, NEAR, sample_board
from woodref.selection.substitutes import CLOSE, substitutes

ON = dt.date(2026, 6, 1)
#: what is asked beside a wood and a role
ASKED: dict[str, dict[str, Any]] = {
    "plainly": {},
    "planted": {"plantation": True, "natural": True},
    "kind": {"kind": "engineered", "stain_ok": True},
    "origin": {"origin": "BR", "estimates": True},
    "route": {"route": Route("DE", None, "US"), "rows": 500},
    "bought": {"route": Route("NO", "GB", "JP"), "origin": "GH"},
    "piece": {"piece": Piece(600.0, 460.0, 1), "state": "oiled"},
    "limits": {
        "limits": {"most": ("density=700",), "least": ("moe=9 GPa",), "weights": ("colour=9",)},
        "estimates": True,
    },
    "few": {"rows": 3, "limits": {"most": ("side_hardness=4000",), "keep": ("density=5%",)}},
}
TARGETS = ("dalbergia-nigra", "juglans-nigra", "tectona-grandis", "reconstituted-rosewood-figure")


def request_of(target: str, role: str, rows: int = 12, **asked: Any) -> Request:
    limits = asked.pop("limits", None)
    if limits is not None:
        given = (limits.get(kind, ()) for kind in ("weights", "keep", "least", "most"))
        asked["profile"] = profile(role, *given)
    return Request(target, role, ON, **({"rows": rows} | asked))


def key(row: Row) -> tuple[float, int, float, float, str]:
    """Best first; ties by number outside, colour, how far the numbers are off, id."""
    colour = row.found.criterion("colour")
    use = colour.use if colour and colour.use is not None else 0.0
    outside = sum(c.outside for c in row.found.criteria)
    off = sum(
        abs(c.difference) / c.tolerance * c.weight
        for c in row.found.criteria
        if c.difference is not None and c.tolerance
    )
    return (-row.found.likeness, outside, -use, round(off, 9), row.material.id)


def plainly(told: placing.Told) -> None:
    """Every row written, then grouped, sorted and numbered."""
    groups: dict[str, list[Row]] = {name: [] for name in GROUPS}
    answer, request = told.answer, told.request
    for index, material in enumerate(told.materials):
        own = material.id == answer.wanted.id
        if not own or (request.natural and status.planted(material)):
            group, row = told.written(index)
            groups[group].append(row)
    for rows in groups.values():
        rows.sort(key=key)
    ranked = groups["ranked"]
    places = np.array([told.table.place[row.material.id] for row in ranked], dtype=np.int64)
    if len(places):
        best = undominated(told.ranking, places)
        telling = bool(best[: request.rows].mean() <= placing.TELLING)
        shown = places[: request.rows + 1]
        holds = order_holds(told.table, answer.wanted, told.profile, shown, told.ranking)
        for k, row in enumerate(ranked):
            more = (UNBEATEN,) if best[k] and telling else ()
            ranked[k] = replace(
                row, rank=k + 1, pareto=bool(best[k]), reasons=(*row.reasons, *more),
                order_holds=holds[k] if k < len(holds) else None,
            )  # fmt: skip
    for name, rows in groups.items():
        heads = [Head(row.material.id, row.found.likeness, row.found.coverage) for row in rows]
        setattr(answer, name, Rows(heads, rows.__getitem__))


def both(
    monkeypatch: pytest.MonkeyPatch, request: Request, catalogue: Catalogue, **more: Any
) -> tuple[Answer, Answer]:
    """The quick answer and the plain one."""
    matched = None if "like" in more else Matched(request.target, request.target, "id")
    quick = substitutes(request, matched, catalogue, **more)
    with monkeypatch.context() as patch:
        patch.setattr("woodref.selection.substitutes.fill", plainly)
        return quick, substitutes(request, matched, catalogue, **more)


@pytest.mark.parametrize(
    ("role", "asked"),
    # a piece is for sheets alone
    [(r, a) for r in ROLES for a in ASKED if a != "piece" or r in VENEER_ROLES],
)
def test_the_quick_answer_is_the_plain_one(
    role: str, asked: str, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = TARGETS[(ROLES.index(role) + list(ASKED).index(asked)) % len(TARGETS)]
    try:
        quick, plain = both(monkeypatch, request_of(target, role, **ASKED[asked]), catalogue)
    except CannotAnswer as fault:
        # a target of which the role can ask nothing is refused before anything is placed
        assert "is not known" in str(fault) or "is known of" in str(fault)
        return
    assert quick.as_dict() == plain.as_dict()
    assert board.board(quick) == board.board(plain)


@pytest.mark.parametrize("why", ["quercus-alba", "juglans-nigra", "tilia-cordata", "dalbergia-nigra"])
def test_why_not_and_a_back_for_a_face_say_the_same(
    why: str, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    request = request_of("juglans-nigra", "back", 5, face=FaceAsk("juglans-nigra", 0.6))
    face = catalogue.material("juglans-nigra")
    quick, plain = both(monkeypatch, request, catalogue, face=face, why_not=why)
    assert quick.why_not == plain.why_not and quick.why_not
    assert quick.as_dict() == plain.as_dict()


def test_a_description_is_placed_alike(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> None:
    like = ("colour=#3a2417", "density=650", "figure=stripe")
    request = request_of("a description", "face", 40)
    quick, plain = both(monkeypatch, request, catalogue, like=like)
    assert quick.as_dict() == plain.as_dict()


@pytest.mark.parametrize("asked", ASKED)
def test_each_question_asked_of_columns_is_that_asked_of_a_wood(asked: str, catalogue: Catalogue) -> None:
    """Wood by wood and role by role: kept out, unsure, and what the law leaves."""
    woods, free = catalogue.materials(), status.Origins((), {}, (), ())
    table, facts = columns(woods, catalogue), standing.traits_of(woods)
    kept = 0
    for role in ROLES:
        request = request_of("teak", role, **(ASKED[asked] | {"estimates": False}))
        closed, unsure = standing.closed(facts, table, request), standing.unsure(facts, table, request)
        law = standing.lawful(woods, request, catalogue)
        for k, wood in enumerate(woods):
            assert bool(closed[k]) == bool(gates.barred(wood, free, request, catalogue)), (role, wood.id)
            assert bool(unsure[k]) == bool(gates.unknown(wood, request)), (role, wood.id)
            found, stops = standing.on_route(
                wood, status.origins(wood, ON, catalogue), request, catalogue
            )  # fmt: skip
            assert (bool(found.free), bool(found.listed), found.barred, bool(stops)) == (
                law.free[k], law.listed[k], law.barred[k], law.stopped[k],
            )  # fmt: skip
        kept += int(closed.sum())
    assert kept


def test_only_the_rows_looked_at_are_written(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[int] = []
    plain = placing.Told.written

    def counted(self: placing.Told, index: int) -> tuple[str, Row]:
        written.append(index)
        return plain(self, index)

    monkeypatch.setattr(placing.Told, "written", counted)
    answer = substitutes(
        request_of("dalbergia-nigra", "face", 5), Matched("dalbergia-nigra", "it", "id"), catalogue
    )
    board.board(answer)
    # five ranked, four named of each other group, the first for the verdict
    assert len(written) <= 5 + 4 * board.NAMED
    assert len(answer.left_out) > board.NAMED


def test_rows_are_a_sequence_of_rows(catalogue: Catalogue) -> None:
    answer = substitutes(
        request_of("dalbergia-nigra", "face", 5), Matched("dalbergia-nigra", "it", "id"), catalogue
    )
    rows = answer.ranked
    assert len(rows) == 5 and rows[-1] is rows[4] and rows[1:3] == [rows[1], rows[2]]
    assert [head.id for head in rows.heads] == [row.material.id for row in rows]
    assert rows == list(rows) and rows + rows == [*rows, *rows] and rows != rows.first(4)
    with pytest.raises(IndexError):
        rows[5]
    assert Rows() == []


@pytest.mark.parametrize("free", [False, True])
@pytest.mark.parametrize("role", ["face", "core", "bow"])
def test_the_sample_board_lays_out_what_all_rows_would_give(
    role: str, free: bool, catalogue: Catalogue
) -> None:
    matched = Matched("dalbergia-nigra", "Brazilian rosewood", "id")
    found = sample_board(matched, role, catalogue, ON, free=free)
    answer = substitutes(Request("Brazilian rosewood", role, ON, rows=24), matched, catalogue)
    held: list[tuple[Row, str]] = [(row, "") for row in answer.ranked]
    for group, word in {} if free else LAW_WORDS.items():
        held += [
            (row, "closed to trade" if group == "left_out" and row.origins.barred else word)
            for row in getattr(answer, group)
            if row.found.coverage >= placing.ENOUGH_KNOWN and row.material.id != matched.id
        ]
    held.sort(key=lambda pair: (-pair[0].found.likeness, pair[0].material.id))
    held = [pair for pair in held if pair[0].found.likeness >= CLOSE][:24]
    assert [
        (sample.material.id, sample.barred, sample.likeness, sample.reasons) for sample in found.samples
    ] == [(row.material.id, word, row.found.likeness, row.reasons) for row, word in held]
    assert 0 < NEAR < 1 and found.samples


def test_a_catalogue_forgets_the_oldest_of_its_large_answers() -> None:
    held = Catalogue(Path("nowhere"), connect(":memory:"))
    asked: list[int] = []

    def work(number: int) -> Callable[[], Sequence[Material] | int]:
        return lambda: (asked.append(number), number)[1]

    for number in range(LARGE + 1):
        assert held.remembered_large(number, work(number)) == number
    held.remembered_large(LARGE, work(LARGE))
    assert asked == list(range(LARGE + 1))
    held.remembered_large(0, work(0))  # forgotten, the oldest
    assert asked[-1] == 0 and len(held._large) == LARGE
    held.close()
