"""Ranking among the rows of a user's own list, and what is said of the law of woods not known here."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from woodref.catalogue.names import resolve
from woodref.catalogue.ownimport import bring_in
from woodref.catalogue.ownknown import Known
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, UnknownName
from woodref.selection.among import Among, among
from woodref.selection.answer import GROUPS, Answer
from woodref.selection.board import board
from woodref.selection.legs import Route
from woodref.selection.ownstatus import OwnStatus, own_status
from woodref.selection.request import Request
from woodref.selection.roles import profile
from woodref.selection.substitutes import substitutes

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
DAY = dt.date(2026, 6, 1)


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, catalogue: Catalogue) -> Among:
    monkeypatch.setenv("WOODREF_LISTS", str(tmp_path))
    bring_in(DEMO / "lists" / "harrow-veneers.csv", DEMO / "lists" / "harrow-veneers.yaml", False, False)
    return among("harrow-veneers", catalogue)


def ask(catalogue: Catalogue, own: Among | None, role: str = "face", **more: object) -> Answer:
    named = own.held.id if own else None
    request = Request("wenge", role, DAY, rows=500, among=named, **more)  # type: ignore[arg-type]
    return substitutes(request, resolve("wenge", catalogue, DAY), catalogue, own=own)


def where(answer: Answer, slug: str) -> str:
    """The group that a row of the list stands in."""
    (found,) = [
        group
        for group in GROUPS
        for row in getattr(answer, group)
        if any(mine.slug == slug for mine in row.on_list or ())
    ]
    return found


def test_only_rows_of_the_list_are_ranked_by_the_figures_of_the_catalogue(
    demo: Among, catalogue: Catalogue
) -> None:
    answer, whole = ask(catalogue, demo), ask(catalogue, None)
    alike = {row.material.id: row.found for row in whole.ranked}
    assert len(answer.ranked) == 6
    for row in answer.ranked:
        # likeness and figures are to the last digit those of the ranking of all woods
        assert row.found == alike[row.material.id]
        assert row.on_list and row.on_list[0].price
    walnut = next(row for row in answer.ranked if row.material.id == "juglans-nigra")
    assert [mine.price.amount for mine in walnut.on_list or () if mine.price] == ["14.20", "21.50"]
    told = [text for text in answer.opening if "stands on it itself" in text]
    assert len(told) == 1 and "22.00 EUR per m2" in told[0]
    assert all(row.on_list is None for group in GROUPS for row in getattr(whole, group))


def test_a_row_not_known_here_is_ranked_on_what_it_has_and_its_law_never_assumed(
    demo: Among, catalogue: Catalogue
) -> None:
    answer = ask(catalogue, demo)
    assert where(answer, "laburnum") == where(answer, "service-tree") == "low_coverage"
    row = next(r for r in answer.low_coverage if r.material.name == "Laburnum")
    (weight,) = [c for c in row.found.criteria if c.use is not None]
    assert (weight.property, weight.value) == ("density", 820.0)
    assert weight.figures[0].source == "my/harrow-veneers" and weight.figures[0].locator == "line 9"
    assert any("trade status is not known here" in text for text in row.because)
    assert row.origins.share(row.material) == "not known"
    # where weight is what is asked it is ranked beside the others, and says the same
    heavy = Request("x", "core", DAY, rows=50, among="harrow-veneers")
    described = substitutes(heavy, None, catalogue, like=("density=820",), own=demo)
    ranked = next(r for r in described.ranked if r.material.name == "Laburnum")
    assert any("trade status is not known here" in text for text in ranked.cautions)


def test_a_row_that_a_listing_may_cover_is_flagged_and_never_ranked(
    demo: Among, catalogue: Catalogue
) -> None:
    answer = ask(catalogue, demo)
    for slug in ("rosewood-oddments", "pommele-bubinga", "bog-oak"):
        assert where(answer, slug) == "cannot_say"
    (said,) = [text for text in answer.closing if text.startswith("A listing covers or may cover")]
    assert "Rosewood oddments (Dalbergia sp)" in said and "Pommele bubinga" in said and "3 rows" in said
    page = board(answer)
    assert page.head[-1] == "price" and all(len(row) == len(page.head) for row in page.rows)


def status(catalogue: Catalogue, botanical: str | None, name: str | None = None) -> OwnStatus:
    return own_status(OwnRow("shop", "x", 2, name, botanical), catalogue, Known(catalogue), DAY)


@pytest.mark.parametrize(
    ("botanical", "name", "kind", "says"),
    [
        ("Laburnum anagyroides", None, "not-known", "Its trade status is not known here"),
        ("Dalbergia sp.", None, "maybe", "CITES Appendix I"),
        ("Dalbergia", None, "maybe", "Dalbergia"),
        ("dalbergia maritima Vig.", None, "papers", "Dalbergia spp.: CITES Appendix II"),
        ("Dalbergia cf. nigra", None, "maybe", "CITES Appendix I"),
        ("Shorea / Dalbergia mixed", None, "maybe", "Dalbergia"),
        (None, "rosewood", "maybe", '"rosewood" in its name is also said of'),
        (None, "Rio rosewood, crown", "maybe", "rosewood"),
        (None, "Dalbergia veneer", "maybe", "Dalbergia"),
        (None, "pommele bubinga", "maybe", "Guibourtia"),
        (None, "smoked larch", "not-known", "ask the seller"),
        ("Quercus petraea", None, "not-known", "Of its genus Quercus mongolica is listed"),
        ("Dalbergea retusa", None, "not-known", "spelt nearly like Dalbergia"),
    ],
)  # fmt: skip
def test_what_the_listings_say_of_a_wood_that_is_not_in_the_catalogue(
    botanical: str | None, name: str | None, kind: str, says: str, catalogue: Catalogue
) -> None:
    found = status(catalogue, botanical, name)
    assert found.kind == kind
    assert says.casefold() in " ".join(found.sentences).casefold()
    # whatever else is said: nobody is told that it is free
    assert "trade status is not known here" in found.sentences[-1]
    assert not any("No listing that we hold covers it" in text for text in found.sentences)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"plantation": True}, "planted for timber is not known"),
        ({"natural": True}, "planted for timber is not known"),
        ({"origin": "DE"}, "Where it was harvested is not told"),
        ({"route": Route("DE", None, "US")}, "Where it was harvested is not told"),
        ({"profile": profile("face", least=("moe=5",))}, "stiffness in bending is not known"),
    ],
)
def test_what_no_list_tells_is_never_taken_for_met(
    more: dict[str, object], says: str, demo: Among, catalogue: Catalogue
) -> None:
    answer = ask(catalogue, demo, **more)
    row = next(r for r in answer.cannot_say if r.material.name == "Laburnum")
    assert says in " ".join(row.because)
    assert not any(r.material.id.startswith("my/") for r in answer.ranked)


def test_limits_and_kinds_keep_rows_out(demo: Among, catalogue: Catalogue) -> None:
    light = ask(catalogue, demo, profile=profile("face", most=("density=600",)))
    assert where(light, "laburnum") == "left_out"
    assert where(ask(catalogue, demo, kind="engineered"), "laburnum") == "left_out"


def test_a_wood_that_is_not_on_the_list_is_told_so(demo: Among, catalogue: Catalogue) -> None:
    request = Request("wenge", "face", DAY, among="harrow-veneers")
    answer = substitutes(request, resolve("wenge", catalogue, DAY), catalogue, own=demo, why_not="acacia-koa")
    assert "does not stand on the list harrow-veneers" in answer.why_not[0]


@pytest.mark.parametrize(
    ("slug", "says"),
    [
        ("laburnum", "Laburnum is not ranked: too little of it is known to rank it."),
        ("american-black-walnut-0-9-mm-quarter", "black walnut is ranked 1 of 6"),
    ],
)
def test_a_row_can_be_asked_why_it_is_not_higher(
    slug: str, says: str, demo: Among, catalogue: Catalogue
) -> None:
    request, wenge = Request("wenge", "face", DAY, among="harrow-veneers"), resolve("wenge", catalogue, DAY)
    asked = f"my/harrow-veneers/{slug}"
    assert says in substitutes(request, wenge, catalogue, own=demo, why_not=asked).why_not[0]
    with pytest.raises(UnknownName):
        substitutes(request, wenge, catalogue, own=demo, why_not="my/harrow-veneers/zebra")


def test_boards_are_told_apart_where_a_leaf_is_wanted(demo: Among, catalogue: Catalogue) -> None:
    told = "The list has it no thinner than 27 mm: no leaf."
    for role, said in (("face", True), ("solid", False)):
        rows = {row.material.id: row for row in ask(catalogue, demo, role).ranked}
        assert (told in rows["acer-saccharum"].cautions) is said
        assert told not in rows["juglans-nigra"].cautions


def test_the_shelf_and_a_list_are_not_asked_at_once(demo: Among, catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="do not go together"):
        ask(catalogue, demo, in_stock=True)


def test_an_id_of_a_list_is_no_wood_of_the_catalogue(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName, match="kept apart from the catalogue"):
        resolve("my/harrow-veneers/laburnum", catalogue, DAY)
