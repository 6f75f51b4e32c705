"""Woods side by side, and a wood in the air of a room."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

import pytest

from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadQuantity, BadRequest
from woodref.science.moisture import equilibrium
from woodref.selection.compare import compare
from woodref.selection.room import Air, air, in_the_room

DAY = dt.date(2026, 6, 1)
MakeWood = Callable[..., Material]


def matched(*ids: str) -> list[Matched]:
    return [Matched(i, i, "id") for i in ids]


def test_differences_are_percent_of_the_first(catalogue: Catalogue) -> None:
    found = compare(matched("juglans-nigra", "prunus-serotina"), catalogue, DAY)
    moe = next(a for a in found.aspects if a.name == "moe")
    # Wood Handbook Table 5-3a: black walnut 11.6 GPa, black cherry 10.3 GPa
    assert moe.values == (11.6, 10.3)
    assert moe.differences[1] == pytest.approx(-11.2069, abs=1e-3)
    assert moe.cells == ("11.6 GPa (read in table)", "10.3 GPa (read in table), -11 %")
    assert any("Not legal advice" in s for s in found.sentences)


@pytest.mark.parametrize("ids", [("juglans-nigra",), ("juglans-nigra", "juglans-nigra")])
def test_one_wood_cannot_be_compared(ids: tuple[str, ...], catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="1 different wood to compare"):
        compare(matched(*ids), catalogue, DAY)


def test_seven_are_too_many(catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="7 different woods"):
        compare(matched(*catalogue.ids()[:7]), catalogue, DAY)


def test_sugar_maple_in_a_room(catalogue: Catalogue) -> None:
    there = {t.property: t for t in in_the_room(catalogue.material("acer-saccharum"), Air(0.65, 20.0))}
    # 65 % and 20 C give 12.0 %: everything is as at 12 % (Tables 5-3a, 13-5)
    assert there["moisture"].value == pytest.approx(11.996, abs=1e-3)
    assert there["moe"].value == pytest.approx(12.6, rel=1e-3)
    assert there["density"].value == pytest.approx(0.63 * 1120, rel=2e-3)
    dry = {t.property: t for t in in_the_room(catalogue.material("acer-saccharum"), Air(0.30, 20.0))}
    assert dry["movement_tangential"].value < 0 and dry["moe"].value > 12.6


@pytest.mark.parametrize("texts", [("r=1",), ("temperature=20C",), ("rh",)])
def test_air_that_cannot_be_read(texts: tuple[str, ...]) -> None:
    with pytest.raises(BadRequest):
        air(texts)


def test_air_beyond_the_table(catalogue: Catalogue) -> None:
    with pytest.raises(BadQuantity, match="outside the table"):
        in_the_room(catalogue.material("acer-saccharum"), Air(1.2, 20))


def test_the_green_figure_is_of_the_same_source_and_specimen_where_one_is_held(wood: MakeWood) -> None:
    def figure(value: float, source: str, **condition: object) -> Figure:
        return Figure("moe", value, None, None, "GPa", condition, source, "row 1", "quoted")

    dry = figure(12, "a-table", mc=12.0, set="2-in., line 4")
    others = (
        figure(5, "other-table", mc="green", set="2-in., line 1"),
        figure(6, "a-table", mc="green", set="2-cm, line 1"),
        figure(9, "a-table", mc="green", set="2-in., line 3"),
    )
    made = replace(wood("Acme"), figures={"moe": Figures(dry, others)})
    there = next(t for t in in_the_room(made, Air(0.90, 20.0)) if t.property == "moe")
    # at 90 % and 20 C wood settles at 20.6 %: 12 (12/9)^((12 - 20.6)/(25 - 12)) by Eq. 5-3
    mc = equilibrium(0.90)
    assert there.value == pytest.approx(12 * (12 / 9) ** ((12 - mc) / 13))
    assert there.rule.endswith("the green one of a-table row 1")


def test_a_leaf_moves_in_the_units_asked_for(wood: MakeWood) -> None:
    made = wood("Acme", movement_tangential=0.25)
    (told,) = (t for t in in_the_room(made, Air(0.30, 20.0), "us") if t.property == "movement_tangential")
    # 6.2 % at 30 % and 20 C (Table 4-2): 0.25 x (6.2 - 12) = -1.45 mm per 100 mm, 0.058 in on 4 in
    assert told.value == pytest.approx(-1.45, abs=0.02)
    assert "4 in wide at 12 % is 0.058 in narrower" in told.sentence
