"""Where a wood may come from on a day, in countries and in sentences."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection import status
from woodref.trade import is_listed

MakeWood = Callable[..., Material]
ON = dt.date(2026, 6, 1)


def origins(catalogue: Catalogue, material_id: str, on: dt.date = ON) -> status.Origins:
    return status.origins(catalogue.material(material_id), on, catalogue)


def sentence(catalogue: Catalogue, material_id: str, on: dt.date = ON) -> str:
    return status.origin_sentence(
        catalogue.material(material_id), origins(catalogue, material_id, on), catalogue
    )


def test_mahogany_is_free_where_planted_and_listed_at_home(catalogue: Catalogue) -> None:
    found = origins(catalogue, "swietenia-macrophylla")
    assert "FJ" in found.free
    assert "BR" in found.listed
    told = sentence(catalogue, "swietenia-macrophylla")
    assert told.startswith("Not listed if harvested in ")
    assert "Needs papers if harvested in " in told
    assert "CITES Appendix II" in told


def test_every_country_of_harvest_is_either_free_or_listed(catalogue: Catalogue) -> None:
    for material in catalogue.materials():
        found = status.origins(material, ON, catalogue)
        assert sorted((*found.free, *found.listed)) == sorted(material.countries), material.id
        for country in found.free:
            assert not is_listed(material.woods, country, ON, catalogue.law), (material.id, country)
        for country in found.listed:
            assert is_listed(material.woods, country, ON, catalogue.law), (material.id, country)


def test_appendix_one_closes_ordinary_trade_and_appendix_two_asks_for_papers(catalogue: Catalogue) -> None:
    assert origins(catalogue, "dalbergia-nigra").barred
    assert sentence(catalogue, "dalbergia-nigra").startswith("Closed to ordinary trade, wherever")
    assert not origins(catalogue, "dalbergia-latifolia").barred
    assert sentence(catalogue, "dalbergia-latifolia").startswith("Lawful only with papers, wherever")


def test_no_listing_never_reads_as_free_to_trade(catalogue: Catalogue) -> None:
    seen = 0
    for material in catalogue.materials():
        told = sentence(catalogue, material.id)
        if told.startswith("No listing"):
            seen += 1
            assert told.endswith(status.OTHER_LAWS), material.id
    assert seen > 30


def test_the_day_decides(catalogue: Catalogue) -> None:
    # African mahogany came under the treaty on 23 February 2023
    assert origins(catalogue, "khaya-ivorensis", dt.date(2023, 2, 22)).listed == {}
    assert "GH" in origins(catalogue, "khaya-ivorensis", dt.date(2023, 2, 23)).listed


def test_a_wood_without_a_country_of_harvest_is_not_judged(wood: MakeWood, catalogue: Catalogue) -> None:
    lost = wood("Lost", grows={"countries": []})
    found = status.origins(lost, ON, catalogue)
    assert (found.free, found.listed, found.barred) == ((), {}, False)
    assert status.origin_sentence(lost, found, catalogue) == (
        "No country of harvest is known, so nothing can be said about its listing."
    )


def test_annex_d_is_told_but_does_not_list(catalogue: Catalogue) -> None:
    found = origins(catalogue, "entandrophragma-cylindricum")
    assert found.listed == {}
    assert [r.category for r in found.notified] == ["D"]
    told = status.notification_sentences(found)
    assert len(told) == 1
    assert "an import notification when it enters the EU, no permit" in told[0]


def test_one_origin_alone_is_told_as_that_origin(catalogue: Catalogue) -> None:
    """African mahogany from Brazil is free, so what is said of Ghana may not claim the whole world."""
    khaya = catalogue.material("khaya-ivorensis")
    ghana = status.only_from(status.origins(khaya, ON, catalogue), "GH")
    assert (ghana.free, list(ghana.listed)) == ((), ["GH"])
    told = status.origin_sentence(khaya, ghana, catalogue)
    assert "Ghana" in told
    assert "wherever it was harvested" not in told


def test_countries_are_named_and_the_rest_counted(catalogue: Catalogue) -> None:
    assert status.country_names(["GA"], catalogue) == "Gabon"
    assert status.country_names(["GA", "CM"], catalogue) == "Cameroon and Gabon"
    assert status.country_names(["GA", "CM", "GH", "NG"], catalogue, most=3) == "Cameroon, Gabon and 2 more"
    assert status.country_names([], catalogue) == "no country known"


@pytest.mark.parametrize("grown", ["yes", "some"])
@pytest.mark.parametrize("sold", ["yes", "some", "no", "not-known"])
def test_every_plantation_answer_ends_with_the_same_warning(
    wood: MakeWood, catalogue: Catalogue, grown: str, sold: str
) -> None:
    block = {"grown": grown, "countries": ["FR"], "sold_as_veneer": sold}
    told = status.plantation_sentence(wood("Poplar", grows={"plantation": block}), catalogue)
    assert told.endswith(
        "Planted wood of this species can be had; yours is planted wood only if a paper says so."
    )
    assert "in France" in told


@pytest.mark.parametrize(
    ("grown", "told"),
    [
        ("no", "Not planted for timber to speak of."),
        ("unknown", "Whether it is planted for timber is not known."),
    ],
)
def test_what_is_not_planted_or_not_known_promises_nothing(
    wood: MakeWood, catalogue: Catalogue, grown: str, told: str
) -> None:
    block = {"grown": grown, "countries": [], "sold_as_veneer": "not-known"}
    assert status.plantation_sentence(wood("Ebony", grows={"plantation": block}), catalogue) == told


def _standing(wood: MakeWood, **condition: Any) -> Material:
    made = wood("Teak", density=640.0)
    held = made.figures["density"].preferred
    assert held is not None
    held.condition.update(condition)
    return made


def test_figures_of_natural_wood_carry_a_caution_beside_planted_wood(wood: MakeWood) -> None:
    told = status.natural_figures_caution(_standing(wood))
    assert told is not None
    assert "lighter, paler and weaker" in told
    assert status.natural_figures_caution(_standing(wood, stand="natural")) == told
    # measured on planted wood, or no figure at all: nothing to warn of
    assert status.natural_figures_caution(_standing(wood, stand="planted")) is None
    assert status.natural_figures_caution(wood("Bare")) is None


def test_old_rules_are_told_once_the_day_is_later(catalogue: Catalogue) -> None:
    as_of = catalogue.law.as_of
    assert status.law_notices(as_of, catalogue) == []
    later = status.law_notices(as_of + dt.timedelta(days=400), catalogue)
    assert [n.code for n in later] == ["rules-older-than-date"]
    assert "400 days" in later[0].message


def test_the_caution_names_the_day_of_the_rules(catalogue: Catalogue) -> None:
    told = status.law_caution(catalogue)
    assert told.startswith("Not legal advice: confirm with the authority of each country")
    assert catalogue.law.as_of.isoformat() in told
