"""Which listing reaches which wood, from where, on which day: regimes, own rows, first days."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.trade import Law, ListingRow, is_listed, listings_for, restricting, said_of
from woodref.trade.shapes import Item, Movement
from woodref.trade.verdict import verdict

ON = dt.date(2026, 6, 1)
DAY = dt.timedelta(days=1)


def row(taxon: str, category: str = "II", regime: str = "CITES", **more: Any) -> ListingRow:
    """A row of our own making: every population, no dates, unless said otherwise."""
    genus = " " not in taxon
    plain: dict[str, Any] = {
        "id": f"{regime}-{taxon}-{category}".lower().replace(" ", "-"),
        "taxon": f"{taxon} spp." if genus else taxon,
        "accepted": taxon,
        "rank": "genus" if genus else "species",
        "regime": regime,
        "category": category,
        "countries": None,
        "population_words": "all",
        "annotation": None,
        "except_taxa": (),
        "valid_from": None,
        "valid_to": None,
        "source": "hand-made",
        "locator": None,
        "evidence": "quoted",
        "date_evidence": "quoted",
    }
    return ListingRow(**(plain | more))


def law(*rows: ListingRow) -> Law:
    return Law.of(rows, ON)


def ids(found: list[ListingRow]) -> list[str]:
    return [one.id for one in found]


def test_the_own_row_of_a_species_sets_the_genus_row_aside_within_its_regime_only() -> None:
    genus, own, eu = row("Khaya"), row("Khaya anthotheca", "I"), row("Khaya", "B", "EU")
    assert listings_for("Khaya anthotheca", ON, law(genus, own, eu)) == [own, eu]


def test_an_own_row_of_one_country_leaves_the_genus_row_standing_elsewhere() -> None:
    genus = row("Khaya")
    own = row("Khaya anthotheca", "III", countries=frozenset({"GH"}))
    rules = law(genus, own)
    assert [r.category for r in restricting(["Khaya anthotheca"], "UG", ON, rules)] == ["II"]
    # in Ghana both stand: the genus row reaches further than the own row, so it is not set aside
    assert {r.category for r in restricting(["Khaya anthotheca"], "GH", ON, rules)} == {"II", "III"}


def test_an_own_row_that_is_not_in_force_sets_nothing_aside() -> None:
    genus, own = row("Khaya"), row("Khaya anthotheca", valid_to=ON - DAY)
    assert listings_for("Khaya anthotheca", ON, law(genus, own)) == [genus]


def test_a_genus_alone_brings_every_row_of_the_genus() -> None:
    rows = [row("Dalbergia"), row("Dalbergia nigra", "I"), row("Dalbergia retusa", "III")]
    for name in ("Dalbergia", "Dalbergia spp."):
        assert sorted(ids(listings_for(name, ON, law(*rows)))) == sorted(ids(rows))


def test_an_unknown_first_day_counts_as_long_past() -> None:
    assert is_listed(["Khaya ivorensis"], "GH", dt.date(1980, 1, 1), law(row("Khaya")))


@pytest.mark.parametrize(
    ("regime", "category", "listed"),
    [
        ("CITES", "I", True),
        ("CITES", "III", True),
        ("CITES", "not-listed", False),
        ("EU", "B", True),
        ("EU", "D", False),  # an import notification is no paper that bars a purchase
        ("GB", "C", True),
        ("GB", "D", False),
        ("US-ESA", "threatened", True),
        ("US-ESA", "endangered", True),
    ],
)
def test_which_categories_make_a_wood_listed(regime: str, category: str, listed: bool) -> None:
    rules = law(row("Fitzroya cupressoides", category, regime))
    assert is_listed(["Fitzroya cupressoides"], "CL", ON, rules) is listed


def test_one_listed_wood_in_a_sheet_makes_the_sheet_listed() -> None:
    rules = law(row("Khaya"))
    assert is_listed(["Populus nigra", "Khaya ivorensis"], "GH", ON, rules)
    assert not is_listed(["Populus nigra"], "GH", ON, rules)


def test_a_row_tells_what_is_from_memory() -> None:
    told = said_of(row("Khaya", valid_from=ON, date_evidence="recalled", evidence="recalled"))
    assert told == (
        "Khaya spp.: CITES Appendix II since 2026-06-01 (date from memory). This row is from memory."
    )


GENERA = ("Dalbergia", "Khaya", "Swietenia")
SPECIES = ("Dalbergia nigra", "Dalbergia retusa", "Khaya ivorensis", "Swietenia mahagoni")
DAYS = st.none() | st.dates(dt.date(1975, 1, 1), dt.date(2030, 1, 1))
ROWS = st.lists(
    st.builds(
        lambda taxon, cat, who, since: row(taxon, *cat, countries=who, valid_from=since),
        st.sampled_from(GENERA + SPECIES),
        st.sampled_from([("II", "CITES"), ("I", "CITES"), ("not-listed", "CITES"), ("B", "EU"), ("D", "EU")]),
        st.none() | st.frozensets(st.sampled_from(["BR", "FJ", "GH"]), min_size=1),
        DAYS,
    ).map(lambda r: dataclasses.replace(r, id=f"{r.id}-{r.valid_from}-{sorted(r.countries or ())}")),
    max_size=6,
)
WOODS = st.lists(st.sampled_from(SPECIES + GENERA), min_size=1, max_size=3)
COUNTRY = st.sampled_from(["BR", "FJ", "GH", None])


@given(ROWS, WOODS, COUNTRY)
def test_a_row_of_another_genus_changes_nothing(
    rows: list[ListingRow], woods: list[str], country: str | None
) -> None:
    before, after = law(*rows), law(*rows, row("Aniba rosaeodora"), row("Aniba", "I"))
    assert restricting(woods, country, ON, after) == restricting(woods, country, ON, before)


@given(ROWS, WOODS, COUNTRY, st.sampled_from(GENERA + SPECIES))
def test_a_further_restriction_never_frees_a_wood(
    rows: list[ListingRow], woods: list[str], country: str | None, taxon: str
) -> None:
    """Rows that restrict may set a genus row aside, but only where they reach as far themselves."""
    before, after = law(*rows), law(*rows, row(taxon, "II", id="added"))
    assert is_listed(woods, country, ON, after) >= is_listed(woods, country, ON, before)


# ---- the rows of the catalogue


@pytest.mark.parametrize(
    ("wood", "country", "on", "listed"),
    [
        ("Dalbergia nigra", "BR", ON, True),
        ("Dalbergia cochinchinensis", "TH", ON, True),
        ("Swietenia macrophylla", "BR", ON, True),
        ("Swietenia macrophylla", "FJ", ON, False),  # planted outside the Neotropics
        ("Khaya ivorensis", "GH", ON, True),
        ("Khaya senegalensis", "AU", ON, False),  # African populations only
        ("Diospyros perrieri", "MG", ON, True),
        ("Diospyros crassiflora", "CM", ON, False),
        ("Pterocarpus indicus", "ID", ON, False),
        ("Entandrophragma cylindricum", "CM", ON, False),  # EU Annex D only
        ("Fitzroya cupressoides", "CL", dt.date(1979, 12, 7), True),  # US-ESA from that day
        ("Guibourtia ehie", "GH", ON, False),
        ("Machaerium scleroxylon", "BR", ON, False),
        # Dalbergia as a genus came on 2 January 2017: the day before, only own rows
        ("Dalbergia sissoo", "IN", dt.date(2017, 1, 1), False),
        ("Dalbergia sissoo", "IN", dt.date(2017, 1, 2), True),
        ("Khaya ivorensis", "GH", dt.date(2023, 2, 22), False),
        ("Khaya ivorensis", "GH", dt.date(2023, 2, 23), True),
    ],
)
def test_what_is_listed_from_where(
    catalogue: Catalogue, wood: str, country: str, on: dt.date, listed: bool
) -> None:
    assert is_listed([wood], country, on, catalogue.law) is listed


@pytest.mark.parametrize("on", [dt.date(2016, 1, 1), dt.date(2018, 1, 1), ON])
def test_brazilian_rosewood_is_never_reached_by_the_row_of_its_genus(
    catalogue: Catalogue, on: dt.date
) -> None:
    found = listings_for("Dalbergia nigra", on, catalogue.law)
    assert found
    assert {r.accepted for r in found} == {"Dalbergia nigra"}
    assert "I" in {r.category for r in found if r.regime == "CITES"}


def test_siam_rosewood_goes_by_its_own_row_in_the_treaty(catalogue: Catalogue) -> None:
    found = listings_for("Dalbergia cochinchinensis", ON, catalogue.law)
    assert ids([r for r in found if r.regime == "CITES"]) == ["cites-dalbergia-cochinchinensis-ii-2017"]


def test_planted_wood_of_a_listed_population_is_still_listed(catalogue: Catalogue) -> None:
    """How it grew plays no part: Indian rosewood is planted in Java, rosewood all the same."""
    planted = catalogue.material("dalbergia-latifolia").grows["plantation"]["countries"]
    assert "ID" in planted
    for country in planted:
        assert is_listed(["Dalbergia latifolia"], country, ON, catalogue.law)


def test_a_bare_genus_is_treated_as_its_strictest_species(catalogue: Catalogue) -> None:
    found = restricting(["Dalbergia"], None, ON, catalogue.law)
    assert {"I", "II"} <= {r.category for r in found if r.regime == "CITES"}


@pytest.mark.parametrize("form", ["seat", "plywood", "furniture"])
def test_a_row_for_other_goods_never_hides_the_row_for_these(catalogue: Catalogue, form: str) -> None:
    # the particleboard row of the same law stands first and does not reach a curved part; the row on curved
    # plywood does speak of it: ask a certifier (15 USC 2697(a)(3))
    item = Item(("Juglans nigra",), form, origin="US", shape="curved", state="finished")
    laws = verdict(item, Movement("GB", "US", ON), catalogue.rules).other_laws
    (told,) = [law for law in laws if "TSCA" in law.law]
    assert "curved plywood" in told.law and "ask a certifier" in told.do
