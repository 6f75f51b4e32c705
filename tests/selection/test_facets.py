"""Words by which woods are sorted into heaps, and differences told in words."""

from __future__ import annotations

import datetime as dt

import pytest

from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.selection.compare import compare
from woodref.selection.facets import counted, facets, only
from woodref.selection.find import Query, find, limits_of
from woodref.selection.findwords import asked_words, order_words

DAY = dt.date(2026, 6, 1)


def test_every_wood_has_a_word_of_every_facet(catalogue: Catalogue) -> None:
    for name, facet in facets(catalogue).items():
        strange = {facet.of(m) for m in catalogue.materials()} - set(facet.words)
        assert not strange, f"{name}: {strange}"


def test_heaps_hold_each_wood_once(catalogue: Catalogue) -> None:
    woods = catalogue.materials()
    for heaps in counted(woods, catalogue, {}):
        assert sum(heap.count for heap in heaps.heaps) == len(woods)
        assert all(heap.count for heap in heaps.heaps)


def test_a_heap_asked_for_stays_when_it_is_empty(catalogue: Catalogue) -> None:
    found = {h.name: h for h in counted([], catalogue, {"pores": "ring"})}
    assert [(h.word, h.count, h.chosen) for h in found["pores"].heaps] == [("ring", 0, True)]
    assert found["texture"].heaps == ()


def test_only_narrows_to_the_heap(catalogue: Catalogue) -> None:
    chosen = only(["pores=ring", "red-list=LC"], catalogue)
    assert chosen == {"pores": "ring", "red_list": "LC"}
    found = find(Query(only=chosen), catalogue, DAY)
    wanted = [
        m.id for m in catalogue.materials() if m.look["pores"] == "ring" and m.red_list["category"] == "LC"
    ]
    assert [row.material.id for row in found.rows] == wanted
    assert wanted
    assert found.as_dict()["query"]["only"] == chosen


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (["pores"], "names nothing"), (["shape=round"], "names nothing"), (["kind=species"], "names nothing"),
        (["pores=square"], "is no word for pores"), (["pores=ring", "pores=none"], "no wood is both"),
    ],
)  # fmt: skip
def test_a_word_that_is_none_is_told(texts: list[str], said: str, catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match=said):
        only(texts, catalogue)


def test_what_is_asked_in_words(catalogue: Catalogue) -> None:
    query = Query("oak", limits_of(["density=450..600", "moe=10.."]), plantation=True, only={"pores": "ring"})
    assert asked_words(query, catalogue) == {
        "text": 'called "oak"', "density": "weight 450 to 600 kg/m3",
        "moe": "stiffness in bending from 10 GPa", "plantation": "planted for timber",
        "pores": "pores: ring-porous",
    }  # fmt: skip
    assert order_words(query) == "In order of weight, the smallest first."
    assert order_words(Query(like_colour="#aaaaaa")) == "The nearest colour stands first."


def test_differences_in_words(catalogue: Catalogue) -> None:
    ids = ("juglans-nigra", "prunus-serotina")
    found = compare([Matched(i, i, "id") for i in ids], catalogue, DAY)
    (said,) = found.in_words
    # Wood Handbook Table 5-3a: 11.6 beside 10.3 GPa, 4,500 beside 4,200 N
    assert said.startswith("Black cherry beside black walnut: ")
    assert "11 % less stiff" in said
    assert "6 % softer" in said or "7 % softer" in said
    assert said.endswith(".")


def test_what_is_not_known_of_both_is_said(catalogue: Catalogue) -> None:
    ids = ("juglans-nigra", "guibourtia-ehie")
    found = compare([Matched(i, i, "id") for i in ids], catalogue, DAY)
    assert catalogue.material("guibourtia-ehie").figure("side_hardness") is None
    assert found.in_words[0].endswith("Not known of both: hardness.")
