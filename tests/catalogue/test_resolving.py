"""From what a person typed to one wood, or to a question."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.fold import fold
from woodref.catalogue.names import ASK_THE_SELLER, resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, SharedName, UnknownName, WoodrefError

DAY = dt.date(2026, 6, 1)

#: name as typed -> the id that answers (common knowledge of the trade)
ANSWERS = {
    "alnus-rubra": "alnus-rubra",
    "Alnus rubra": "alnus-rubra",
    "ALNUS  RUBRA": "alnus-rubra",
    "Alnus oregona": "alnus-rubra",
    "red alder": "alnus-rubra",
    "yellow-poplar": "liriodendron-tulipifera",
    "Liriodendron tulipifera": "liriodendron-tulipifera",
    "hard maple": "acer-saccharum",
    "sugar maple": "acer-saccharum",
    "black walnut": "juglans-nigra",
    "European walnut": "juglans-regia",
    "black cherry": "prunus-serotina",
    "okoumé": "aucoumea-klaineana",
    "okoume": "aucoumea-klaineana",
    "gaboon": "aucoumea-klaineana",
    "obeche": "triplochiton-scleroxylon",
    "ayous": "triplochiton-scleroxylon",
    "sapele": "entandrophragma-cylindricum",
    "wengé": "millettia-laurentii",
    "zebrano": "microberlinia-brazzavillensis",
    "ovangkol": "guibourtia-ehie",
    "Brazilian rosewood": "dalbergia-nigra",
    "Rio rosewood": "dalbergia-nigra",
    "Indian rosewood": "dalbergia-latifolia",
    "sonokeling": "dalbergia-latifolia",
    "cocobolo": "dalbergia-retusa",
    "African blackwood": "dalbergia-melanoxylon",
    "pernambuco": "paubrasilia-echinata",
    "Caesalpinia echinata": "paubrasilia-echinata",
    "Macassar ebony": "diospyros-celebica",
    "purpleheart": "peltogyne-venosa",
    "Santos rosewood": "machaerium-scleroxylon",
    "imbuia": "ocotea-porosa",
    "ziricote": "cordia-dodecandra",
    "big-leaf mahogany": "swietenia-macrophylla",
    "Sitka spruce": "picea-sitchensis",
    "western red cedar": "thuja-plicata",
    "rubberwood": "hevea-brasiliensis",
    "koa": "acacia-koa",
    "teak": "tectona-grandis",
    "iroko": "milicia-excelsa",
    "limba": "terminalia-superba",
    "Birnbaum": "pyrus-communis",
}


@pytest.mark.parametrize(("typed", "wanted"), ANSWERS.items())
def test_a_name_answers(typed: str, wanted: str, catalogue: Catalogue) -> None:
    assert resolve(typed, catalogue, DAY).id == wanted


@pytest.mark.parametrize("typed", ["tulipwood", "sycamore", "rosewood", "walnut", "whitewood", "blackwood"])
def test_a_name_that_may_be_several_woods_asks(typed: str, catalogue: Catalogue) -> None:
    with pytest.raises(SharedName) as fault:
        resolve(typed, catalogue, DAY)
    assert fault.value.exit_code == 3
    assert len(fault.value.candidates) >= 2
    assert all(c.says for c in fault.value.candidates)


def test_the_shared_name_counts_its_woods_and_takes_the_strictest(catalogue: Catalogue) -> None:
    with pytest.raises(SharedName) as fault:
        resolve("tulipwood", catalogue, DAY)
    assert str(fault.value).startswith(
        'The name "tulipwood" fits three woods; one is listed. Until one is proved I treat it as the '
        "strictest."
    )
    assert fault.value.candidates[0].id == "dalbergia-decipularis"


def test_the_usual_meaning_answers_with_a_notice_that_names_the_others(catalogue: Catalogue) -> None:
    found = resolve("Brazilian rosewood", catalogue, DAY)
    assert found.kind == "shared"
    assert "Aniba rosaeodora (CITES Appendix II)" in found.notices[0].message


def test_a_listing_of_one_population_says_so_of_the_other_meanings(catalogue: Catalogue) -> None:
    # the Pterocarpus of Africa are listed, those of Asia not (CITES Appendices, 2023-02-23)
    said = resolve("African padauk", catalogue, DAY).notices[0].message
    assert "Pterocarpus osun (CITES Appendix II, African populations only)" in said
    asian = resolve("padauk", catalogue, DAY).notices[0].message
    assert "Pterocarpus macrocarpus (no listing known)" in asian
    assert "))" not in said


def test_a_region_settles_what_its_trade_means(catalogue: Catalogue) -> None:
    assert resolve("sycamore", catalogue, DAY, "GB").id == "acer-pseudoplatanus"
    assert resolve("sycamore", catalogue, DAY, "US").id == "platanus-occidentalis"
    with pytest.raises(BadRequest, match="not a country code"):
        resolve("sycamore", catalogue, DAY, "usa")


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("brasilian rosewod", "dalbergia-nigra"),
        ("sapelle", "entandrophragma-cylindricum"),
        ("oboche", "triplochiton-scleroxylon"),
        ("wengge", "millettia-laurentii"),
        ("macasar ebony", "diospyros-celebica"),
        ("pernanbuco", "paubrasilia-echinata"),
        ("liriodendron tulipfera", "liriodendron-tulipifera"),
        ("ovankol", "guibourtia-ehie"),
        ("purple hart", "peltogyne-venosa"),
        ("okkoumee", "aucoumea-klaineana"),
        ("zirikote", "cordia-dodecandra"),
        ("imbuiaa", "ocotea-porosa"),
        ("sitka spruse", "picea-sitchensis"),
        ("rubber wod", "hevea-brasiliensis"),
        ("alnus ruba", "alnus-rubra"),
    ],
)
def test_close_spellings_are_offered_never_taken(typed: str, near: str, catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        resolve(typed, catalogue, DAY)
    assert near in [c.id for c in fault.value.candidates]


def test_a_name_like_nothing_sends_the_maker_to_the_seller(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        resolve("xqzzyw", catalogue, DAY)
    assert ASK_THE_SELLER in str(fault.value)


@pytest.mark.parametrize("typed", ["'; DROP TABLE name; --", 'a" OR b:*', "NEAR(a b)", "*", "", " ", "\x00"])
def test_query_syntax_is_only_text(typed: str, catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName):
        resolve(typed, catalogue, DAY)
    assert len(catalogue.ids()) >= 60


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(st.text(max_size=40))
def test_any_text_is_a_name_or_a_sentence(catalogue: Catalogue, typed: str) -> None:
    try:
        assert resolve(typed, catalogue, DAY).id in catalogue.ids()
    except WoodrefError as fault:
        assert str(fault)


def test_folding() -> None:
    assert fold("Gonçalo-Alves") == "goncalo alves"
    assert fold("  Bird's  Eye ") == "birds eye"
    assert fold("Weißeiche") == "weisseiche"
