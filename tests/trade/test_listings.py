"""Listings as pure functions: on rows made by hand, and on the catalogue's own."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.trade import Law, ListingRow, is_listed, listings_for, said_of
from woodref.trade.changes import changes, in_force

DAY = dt.date(2026, 6, 1)
ROW = ListingRow(
    id="a",
    taxon="Acme spp.",
    accepted="Acme",
    rank="genus",
    regime="CITES",
    category="II",
    countries=None,
    population_words="all",
    annotation=None,
    except_taxa=(),
    valid_from=dt.date(2020, 1, 1),
    valid_to=None,
    source="s",
    locator="l",
    evidence="quoted",
    date_evidence="quoted",
)


def law(*rows: ListingRow) -> Law:
    return Law.of(rows, DAY)


def test_a_genus_row_reaches_its_species_from_the_first_day_on() -> None:
    rules = law(ROW)
    assert not is_listed(["Acme alba"], "BR", dt.date(2019, 12, 31), rules)
    assert is_listed(["Acme alba"], "BR", dt.date(2020, 1, 1), rules)
    assert not is_listed(["Other alba"], "BR", DAY, rules)


def test_the_last_day_still_counts() -> None:
    rules = law(replace(ROW, valid_to=dt.date(2025, 5, 5)))
    assert is_listed(["Acme alba"], None, dt.date(2025, 5, 5), rules)
    assert not is_listed(["Acme alba"], None, dt.date(2025, 5, 6), rules)


def test_a_population_limit_is_a_question_of_the_country_of_harvest() -> None:
    rules = law(replace(ROW, countries=frozenset({"GH", "CM"})))
    assert is_listed(["Acme alba"], "GH", DAY, rules)
    assert not is_listed(["Acme alba"], "AU", DAY, rules)
    assert is_listed(["Acme alba"], None, DAY, rules), "an unknown origin may always be the listed one"


def test_a_species_of_its_own_sets_the_genus_aside_as_far_as_it_reaches() -> None:
    own = replace(ROW, id="b", taxon="Acme alba", accepted="Acme alba", rank="species", category="III")
    assert [r.id for r in listings_for("Acme alba", DAY, law(ROW, own))] == ["b"]
    limited = replace(own, countries=frozenset({"RU"}))
    assert [r.id for r in listings_for("Acme alba", DAY, law(ROW, limited))] == ["b", "a"]


def test_an_excepted_species_is_never_reached_by_the_genus() -> None:
    assert not is_listed(["Acme nigra"], "BR", DAY, law(replace(ROW, except_taxa=("Acme nigra",))))


def test_a_genus_alone_or_a_hybrid_may_be_any_listed_species_of_it() -> None:
    own = replace(ROW, taxon="Acme alba", accepted="Acme alba", rank="species")
    assert is_listed(["Acme spp."], None, DAY, law(own))
    assert is_listed(["Acme x hybrida"], None, DAY, law(own))
    assert not is_listed(["Acme rubra"], None, DAY, law(own))


def test_annex_d_asks_for_a_form_and_lists_nothing() -> None:
    assert not is_listed(["Acme alba"], None, DAY, law(replace(ROW, regime="EU", category="D")))
    assert is_listed(["Acme alba"], None, DAY, law(replace(ROW, regime="US-ESA", category="threatened")))


@pytest.mark.parametrize(
    ("wood", "country", "listed"),
    [
        ("Swietenia macrophylla", "BR", True),
        ("Swietenia macrophylla", "FJ", False),
        ("Khaya senegalensis", "GH", True),
        ("Khaya senegalensis", "AU", False),
        ("Diospyros crassiflora", "CM", False),
        ("Diospyros perrieri", "MG", True),
        ("Dalbergia nigra", "BR", True),
        ("Dalbergia latifolia", "ID", True),
        ("Pterocarpus soyauxii", "CM", True),
        ("Pterocarpus indicus", "PH", False),
        ("Guibourtia ehie", "GH", False),
        ("Guibourtia tessmannii", "CM", True),
        ("Taxus baccata", "GB", False),
        ("Entandrophragma cylindricum", "CM", False),
        ("Juglans nigra", "US", False),
    ],
)
def test_woods_of_the_catalogue(wood: str, country: str, listed: bool, catalogue: Catalogue) -> None:
    assert is_listed([wood], country, DAY, catalogue.law) is listed


def test_brazilian_rosewood_stands_in_the_first_appendix_alone(catalogue: Catalogue) -> None:
    rows = [r for r in listings_for("Dalbergia nigra", DAY, catalogue.law) if r.regime == "CITES"]
    assert [(r.category, r.annotation) for r in rows] == [("I", None)]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=50)
@given(st.dates(dt.date(1970, 1, 1), dt.date(2030, 1, 1)), st.sampled_from(["BR", "FJ", "GH", "MG", None]))
def test_more_rows_never_free_a_wood(catalogue: Catalogue, on: dt.date, country: str | None) -> None:
    full = catalogue.law
    half = Law.of(full.rows[::2], full.as_of)
    for wood in ("Swietenia macrophylla", "Khaya ivorensis", "Diospyros perrieri", "Cedrela odorata"):
        genus_only = Law.of([r for r in half.rows if r.rank == "genus"], full.as_of)
        if is_listed([wood], country, on, genus_only):
            assert is_listed([wood], country, on, full)


def test_what_changed_and_what_stands(catalogue: Catalogue) -> None:
    moved = changes(catalogue.law, dt.date(2024, 11, 1), dt.date(2024, 12, 1))
    assert {(c.what, c.row.accepted) for c in moved} >= {
        ("began", "Dipteryx"),
        ("ended", "Dipteryx oleifera"),
    }
    standing = in_force(catalogue.law, DAY)
    assert all(r.in_force(DAY) and r.category != "not-listed" for r in standing)
    assert "date from memory" in said_of(next(r for r in standing if r.date_evidence == "recalled"))
