"""Browsing by limits, names and colour."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Callable

import pytest

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.errors import WoodrefError
from woodref.selection.find import Finds, Query, find, limit
from woodref.selection.status import PLANTED_SENTENCE
from woodref.trade import is_listed

MakeWood = Callable[..., Material]
ON = dt.date(2026, 6, 1)


def ids(found: Finds) -> list[str]:
    return [row.material.id for row in found.rows]


def test_a_query_of_nothing_shows_the_whole_catalogue(catalogue: Catalogue) -> None:
    assert ids(find(Query(), catalogue, ON)) == catalogue.ids()


def test_a_limit_keeps_exactly_the_woods_inside_and_sorts_by_it(catalogue: Catalogue) -> None:
    found = find(Query(limits=dict([limit("density=450..600")])), catalogue, ON)
    values = [row.material.figure("density") for row in found.rows]
    numbers = [figure.typical for figure in values if figure]
    assert len(numbers) == found.count > 5
    assert numbers == sorted(numbers)
    assert all(450 <= n <= 600 for n in numbers)
    inside = [m.id for m in catalogue.materials() if (f := m.figure("density")) and 450 <= f.typical <= 600]
    assert sorted(ids(found)) == inside


def test_both_ends_of_a_range_count(catalogue: Catalogue) -> None:
    alder = catalogue.material("alnus-rubra").figure("moe")
    assert alder is not None
    exact = f"moe={alder.typical}..{alder.typical}"
    assert "alnus-rubra" in ids(find(Query(limits=dict([limit(exact)])), catalogue, ON))


def test_several_limits_must_all_be_met(catalogue: Catalogue) -> None:
    light = set(ids(find(Query(limits=dict([limit("density=..520")])), catalogue, ON)))
    stiff = set(ids(find(Query(limits=dict([limit("moe=10..")])), catalogue, ON)))
    both = find(Query(limits=dict([limit("density=..520"), limit("moe=10..")])), catalogue, ON)
    assert set(ids(both)) == light & stiff != set()


def test_a_unit_after_the_range_is_turned() -> None:
    name, wanted = limit("density=28..37 lb/ft3")
    # 1 lb/ft3 = 0.45359237 kg / (0.3048 m)^3 = 16.018463 kg/m3
    assert name == "density"
    assert wanted.low == pytest.approx(28 * 16.018463, rel=1e-7)
    assert wanted.high == pytest.approx(37 * 16.018463, rel=1e-7)


def test_a_hyphen_in_a_property_is_read_as_the_underscore() -> None:
    assert limit("side-hardness=4000..")[0] == "side_hardness"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("nonsense", "PROPERTY=RANGE"),
        ("colour=1..2", "density"),  # the accepted properties are named
        ("density=450", "LOW..HIGH"),
        ("density=..", "at least one end"),
        ("density=600..450", "450..600"),
        ("density=1..2 mm", "kg/m3"),
        ("moe=ten..", "number"),
        ("", "PROPERTY=RANGE"),
    ],
)
def test_a_wrong_limit_says_what_is_accepted(text: str, says: str) -> None:
    with pytest.raises(WoodrefError) as fault:
        limit(text)
    assert says in str(fault.value)
    assert fault.value.exit_code == 2


def test_a_figure_that_is_not_known_meets_no_limit_and_that_is_said(catalogue: Catalogue) -> None:
    found = find(Query(limits=dict([limit("moe=0..1000")])), catalogue, ON)
    silent = [m.id for m in catalogue.materials() if m.figure("moe") is None]
    assert silent
    assert not set(silent) & set(ids(found))
    told = [n.message for n in found.notices if n.code == "figure-not-known"]
    assert len(told) == 1
    assert told[0].startswith(f"Of {len(silent)} more woods the stiffness in bending is not known")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Brazilian rosewood", "dalbergia-nigra"),
        ("BRAZIL rose", "dalbergia-nigra"),  # beginnings of words, whatever the case
        ("noyer", "juglans-nigra"),
        ("Nussbaum", "juglans-nigra"),
        ("jacaranda da Bahia", "dalbergia-nigra"),  # accents and hyphens play no part
        ("oregana", "alnus-rubra"),  # an older botanical name
    ],
)
def test_words_match_the_beginnings_of_names(catalogue: Catalogue, text: str, expected: str) -> None:
    found = find(Query(text=text), catalogue, ON)
    assert expected in ids(found)
    assert all(row.matched for row in found.rows)


def test_plantation_keeps_planted_woods_and_each_answer_ends_with_the_warning(catalogue: Catalogue) -> None:
    found = find(Query(plantation=True), catalogue, ON)
    grown = {m.id: m.grows["plantation"]["grown"] for m in catalogue.materials()}
    assert ids(found) == [i for i in catalogue.ids() if grown[i] in ("yes", "some")]
    assert all(row.says.endswith(PLANTED_SENTENCE) for row in found.rows)


def test_not_listed_keeps_woods_with_a_free_country(catalogue: Catalogue) -> None:
    found = find(Query(not_listed=True), catalogue, ON)
    assert "dalbergia-nigra" not in ids(found)
    assert "swietenia-macrophylla" in ids(found)  # free from Fiji
    for row in found.rows:
        assert row.origins.free
        for country in row.origins.free:
            assert not is_listed(row.material.woods, country, ON, catalogue.law)


def test_kind_keeps_one_kind(catalogue: Catalogue) -> None:
    found = find(Query(kind="engineered"), catalogue, ON)
    assert {row.material.kind for row in found.rows} == {"engineered"}


def test_a_measured_colour_answers_with_its_distance_within_the_limit(
    wood: MakeWood, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    def swatch(lightness: float, light: str = "D65/2") -> list[dict[str, object]]:
        where = {"part": "ground", "state": "planed", "evidence": "quoted"}
        return [{**where, "lab": [lightness, 0, 0], "light": light}]

    # #777777 is L* 50.03; greys of L* 55 and 75 lie 4.9 and 20.3 CIEDE2000 off
    near = wood("Near", swatches=swatch(55), colour_class="black")
    far = wood("Far", swatches=swatch(75), colour_class="black")
    other = wood("Other light", swatches=swatch(50, "not-stated"), colour_class="black")
    monkeypatch.setattr(catalogue, "materials", lambda: [far, other, near])
    found = find(Query(like_colour="#777777"), catalogue, ON)
    assert [r.material.name for r in found.rows] == ["Near"]
    assert found.rows[0].colour == pytest.approx(4.9, abs=0.1)
    wide = find(Query(like_colour="#777777", within=25), catalogue, ON)
    assert [r.material.name for r in wide.rows] == ["Near", "Far"]


def test_a_colour_word_answers_near_and_never_with_a_number(catalogue: Catalogue) -> None:
    found = find(Query(like_colour="#5a3a22"), catalogue, ON)
    assert found.rows
    assert {row.colour for row in found.rows if not isinstance(row.colour, float)} == {"near"}
    assert any("not measured" in text for text in found.closing)


def test_a_dark_walnut_brown_finds_black_walnut(catalogue: Catalogue) -> None:
    """#5a3a22 is a chocolate brown: a maker who asks for it thinks of walnut first."""
    assert "juglans-nigra" in ids(find(Query(like_colour="#5a3a22"), catalogue, ON))


@pytest.mark.parametrize("within", [-1.0, float("nan"), float("inf")])
def test_a_distance_that_is_no_distance_is_refused(catalogue: Catalogue, within: float) -> None:
    with pytest.raises(WoodrefError) as fault:
        find(Query(like_colour="#5a3a22", within=within), catalogue, ON)
    assert fault.value.exit_code == 2


def test_rows_cut_the_list_and_the_count_stays_whole(catalogue: Catalogue) -> None:
    found = find(Query(rows=3), catalogue, ON)
    assert len(found.rows) == 3
    assert found.count == len(catalogue.ids())
    assert found.closing[0] == f"3 of {found.count} shown; --rows for more."


def test_an_empty_answer_says_why(catalogue: Catalogue) -> None:
    found = find(Query(limits=dict([limit("density=60..61")])), catalogue, ON)
    assert (found.count, found.rows) == (0, [])
    assert found.closing[0] == "No wood of the catalogue meets all of this: drop or widen a limit."


def test_a_further_limit_never_adds_a_wood(catalogue: Catalogue) -> None:
    plain = Query(limits=dict([limit("density=400..800")]))
    whole = set(ids(find(plain, catalogue, ON)))
    for narrower in (
        dataclasses.replace(plain, plantation=True),
        dataclasses.replace(plain, not_listed=True),
        dataclasses.replace(plain, kind="species"),
        dataclasses.replace(plain, text="oak"),
        dataclasses.replace(plain, limits=plain.limits | dict([limit("moe=10..")])),
    ):
        assert set(ids(find(narrower, catalogue, ON))) < whole
