"""Woods side by side, and a wood in the air of a room."""

from __future__ import annotations

import datetime as dt

import pytest

from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadQuantity, BadRequest
from woodref.selection.compare import compare
from woodref.selection.room import Air, air, in_the_room

DAY = dt.date(2026, 6, 1)


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
