"""What may stand in: groups that exclude each other, ties, and what is said of origins."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.selection.answer import Answer, Row, Rows
from woodref.selection.placing import ENOUGH_KNOWN
from woodref.selection.request import Request
from woodref.selection.roles import ROLES
from woodref.selection.substitutes import substitutes

MakeWood = Callable[..., Material]
Hold = Callable[[Sequence[Material]], None]
ON = dt.date(2026, 6, 1)
GROUPS = ("ranked", "low_coverage", "with_papers", "left_out", "cannot_say")


def ask(catalogue: Catalogue, target: str, role: str = "face", **more: Any) -> Answer:
    request = Request(target, role, ON, **({"rows": 500} | more))
    return substitutes(request, Matched(target, target, "id"), catalogue)


def ids(rows: list[Row]) -> list[str]:
    return [row.material.id for row in rows]


@pytest.mark.parametrize("role", ROLES)
def test_every_wood_but_the_target_stands_in_exactly_one_group(catalogue: Catalogue, role: str) -> None:
    answer = ask(catalogue, "juglans-nigra", role)
    placed = [i for group in GROUPS for i in ids(getattr(answer, group))]
    assert sorted([*placed, "juglans-nigra"]) == catalogue.ids()


def test_ranks_run_from_one_and_likeness_falls(catalogue: Catalogue) -> None:
    for role in ROLES:
        rows = ask(catalogue, "dalbergia-nigra", role).ranked
        assert [row.rank for row in rows] == list(range(1, len(rows) + 1))
        likes = [row.found.likeness for row in rows]
        assert likes == sorted(likes, reverse=True)
        assert all(row.found.coverage >= ENOUGH_KNOWN for row in rows)


def test_rows_cut_the_table_alone(catalogue: Catalogue) -> None:
    whole, three = ask(catalogue, "juglans-nigra"), ask(catalogue, "juglans-nigra", rows=3)
    assert ids(three.ranked) == ids(whole.ranked)[:3]
    for group in GROUPS[1:]:
        assert ids(getattr(three, group)) == ids(getattr(whole, group))


def test_ties_go_by_id_so_that_the_answer_is_always_the_same(
    catalogue: Catalogue, wood: MakeWood, monkeypatch: pytest.MonkeyPatch, hold: Hold
) -> None:
    target = wood("Target", density=600.0)
    twins = [dataclasses.replace(target, id=i, name=i) for i in ("b", "c", "a")]
    monkeypatch.setattr(catalogue, "material", lambda _: target)
    hold([target, *twins])
    assert ids(ask(catalogue, "target").ranked) == ["a", "b", "c"]


def test_a_wood_of_which_too_little_is_known_stands_apart(
    catalogue: Catalogue, wood: MakeWood, monkeypatch: pytest.MonkeyPatch, hold: Hold
) -> None:
    # core asks of this target density 3, movement 1.5, stiffness 1.5, hardness 0.5, gluing 1, how it is sold
    # 0.5: with density, gluing and sale alone 4.5 of 8 is known, under 60 %
    target = wood("Target", density=600.0, moe=10.0, movement_tangential=0.25, side_hardness=3000.0)
    monkeypatch.setattr(catalogue, "material", lambda _: target)
    hold([wood("Thin", density=600.0)])
    answer = ask(catalogue, "target", "core")
    assert (answer.ranked, ids(answer.low_coverage)) == ([], ["thin"])
    assert answer.opening[-1].startswith("No wood of the catalogue meets what you ask: 1 of which too")


@pytest.mark.parametrize(
    ("given", "role", "group", "because"),
    [
        ({"veneer": {"sold": "no"}}, "face", "left_out", "It is not sold as veneer."),
        ({"veneer": {"sold": "no"}}, "solid", "ranked", None),  # a plank need not be a veneer
        ({"veneer": {"sold": "not-known"}}, "face", "cannot_say", "It is not known whether it is sold"),
        ({"veneer": {"sold": "not-known"}}, "core", "ranked", None),
        ({"pores": "ring"}, "crossband", "left_out", "Its hard growth rings print through a thin face."),
        ({"pores": "ring"}, "core", "ranked", None),
        ({"grows": {"countries": []}}, "face", "cannot_say", "No country of harvest is known"),
    ],
)
def test_each_group_has_its_reason(
    catalogue: Catalogue,
    wood: MakeWood,
    monkeypatch: pytest.MonkeyPatch,
    hold: Hold,
    given: dict[str, Any],
    role: str,
    group: str,
    because: str | None,
) -> None:
    target = wood("Target", density=600.0)
    monkeypatch.setattr(catalogue, "material", lambda _: target)
    hold([wood("Other", density=600.0, **given)])
    answer = ask(catalogue, "target", role)
    rows: Rows = getattr(answer, group)
    assert ids(rows) == ["other"]
    if because is None:
        assert rows[0].because == ()
    else:
        assert rows[0].because[0].startswith(because)


@pytest.mark.parametrize("origin", ["GH", "BR", "ID"])
def test_one_origin_is_never_told_as_the_whole_world(catalogue: Catalogue, origin: str) -> None:
    """--origin GH: African mahogany from Ghana needs papers; from Brazil it does not."""
    answer = ask(catalogue, "swietenia-macrophylla", "solid", origin=origin)
    held = {m.id: set(m.countries) for m in catalogue.materials()}
    for row in answer.with_papers:
        if held[row.material.id] != {origin}:
            assert not any("wherever it was harvested" in text for text in row.because), row.material.id
    assert all(row.origins.free == (origin,) for row in answer.ranked)


def test_plantation_leaves_out_what_is_not_planted_and_names_what_is_not_known(
    catalogue: Catalogue,
) -> None:
    answer = ask(catalogue, "dalbergia-nigra", plantation=True)
    grown = {m.id: m.grows["plantation"]["grown"] for m in catalogue.materials()}
    assert {grown[i] for i in ids(answer.ranked)} <= {"yes", "some"}
    unsure = [row for row in answer.cannot_say if grown[row.material.id] == "unknown"]
    assert unsure
    assert all("Whether it is planted for timber is not known." in row.because for row in unsure)


def test_a_planted_wood_is_free_where_it_is_planted(catalogue: Catalogue) -> None:
    """--plantation asks for planted wood: an origin without a plantation is no answer to it."""
    answer = ask(catalogue, "entandrophragma-cylindricum", plantation=True)
    for row in answer.ranked:
        planted = set(row.material.grows["plantation"]["countries"])
        if planted:
            assert planted & set(row.origins.free), row.material.id


def test_wrong_requests_are_refused_with_what_is_accepted(catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest) as role:
        ask(catalogue, "juglans-nigra", "veneer")
    assert "face, back, core, crossband, solid" in str(role.value)
    with pytest.raises(BadRequest) as origin:
        ask(catalogue, "juglans-nigra", origin="XX")
    assert "GH for Ghana" in str(origin.value)


def test_a_missing_figure_of_the_target_is_said_once(catalogue: Catalogue) -> None:
    # koa: the stiffness is known green and dry, not at 12 %, and no hardness
    notices = [n for n in ask(catalogue, "acacia-koa").notices if n.code == "target-figure-missing"]
    assert len(notices) == 1
    assert "the stiffness and hardness are not known, so they are not compared" in notices[0].message


def test_nothing_close_is_said_with_what_the_nearest_gives_up(
    catalogue: Catalogue, wood: MakeWood, monkeypatch: pytest.MonkeyPatch, hold: Hold
) -> None:
    # four times as heavy and stiff: 0.01 to the share of both weights, 6 of 6 (a bow asks nothing else here)
    target = wood("Target", density=300.0, moe=5.0)
    monkeypatch.setattr(catalogue, "material", lambda _: target)
    hold([wood("Lead", density=1200.0, moe=20.0)])
    answer = ask(catalogue, "target", "bow")
    assert answer.ranked[0].found.likeness == pytest.approx(0.01)
    assert answer.opening[-1] == "Nothing close is known. Lead gives up stiffness and weight."


def test_the_same_wood_never_stands_in_for_itself_unless_planted_for_natural(catalogue: Catalogue) -> None:
    plain = ask(catalogue, "tectona-grandis")
    assert "tectona-grandis" not in [i for group in GROUPS for i in ids(getattr(plain, group))]
    natural = ask(catalogue, "tectona-grandis", natural=True)
    assert ids(natural.ranked)[0] == "tectona-grandis"


def test_an_engineered_look_alike_says_what_it_is(catalogue: Catalogue) -> None:
    first = ask(catalogue, "dalbergia-nigra").ranked[0]
    assert first.material.id == "reconstituted-rosewood-figure"
    assert any(text.startswith("Made to pass for it: ") for text in first.reasons)
    assert "Natural and dyed faces part in colour with light." in first.cautions
    assert first.material.woods == ("Populus nigra",)


def test_the_same_question_gives_the_same_bytes(catalogue: Catalogue) -> None:
    one, two = (json.dumps(ask(catalogue, "dalbergia-nigra").as_dict()) for _ in range(2))
    assert one == two


def test_the_json_holds_what_the_answer_holds(catalogue: Catalogue) -> None:
    answer = ask(catalogue, "dalbergia-nigra", rows=4)
    told = answer.as_dict()
    assert told["count"] == len(told["ranked"]) == 4
    for row, shown in zip(answer.ranked, told["ranked"], strict=True):
        assert shown["likeness"] == pytest.approx(row.found.likeness, abs=5e-5)
        assert shown["known"] == sum(c["use"] is not None for c in shown["criteria"])
        assert shown["asked"] == len(shown["criteria"])
