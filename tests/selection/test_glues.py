"""Glues by name, what a press does for them, and their portraits."""

from __future__ import annotations

import datetime as dt
from typing import Any, get_args

import pytest

from woodref.catalogue.fold import fold
from woodref.catalogue.glueschema import AdhesiveIn
from woodref.catalogue.reader import Catalogue
from woodref.errors import UnknownName
from woodref.science.gluing import bag_pressure, water_points
from woodref.selection import glueportrait, glues
from woodref.selection.glueportrait import GluePortrait, glue_portrait
from woodref.selection.glues import (
    GlueMatched,
    band_words,
    called_so,
    degrees,
    find_glues,
    flat_glue,
    matching_glue,
    neither,
    press_at,
    pressure_words,
    spread_words,
    time_words,
    water_of,
    wood_or_glue,
)

ON = dt.date(2026, 6, 1)
#: the classes of glue a bench of this trade meets
ASKED = {
    "urea-formaldehyde", "urea-formaldehyde-extended", "melamine-urea-formaldehyde",
    "melamine-urea-formaldehyde-cold", "pva-d2", "pva-d3", "pva-d4", "epoxy", "polyurethane-one-part",
    "resorcinol", "hide-glue",
}  # fmt: skip


def portrait(name: str, catalogue: Catalogue, system: str = "metric") -> GluePortrait:
    matched = wood_or_glue(name, catalogue, ON)
    assert isinstance(matched, GlueMatched)
    return glue_portrait(matched, catalogue, system)


def said(found: GluePortrait, heading: str) -> str:
    (section,) = [s for s in found.sections if s.heading == heading]
    return " ".join(section.lines)


def test_every_class_of_glue_is_held(catalogue: Catalogue) -> None:
    assert set(catalogue.adhesives) >= ASKED


@pytest.mark.parametrize(
    ("typed", "glue", "kind"),
    [
        ("hide glue", "hide-glue", "trade"),
        ("HIDE-GLUE", "hide-glue", "id"),
        ("hide adhesive", "hide-glue", "trade"),
        ("Colle de peau", "hide-glue", "trade"),
        ("PVA", "pva-d2", "trade"),
        ("pva glue", "pva-d2", "trade"),
        ("PVA glue D3", "pva-d3", "trade"),
        ("Weissleim", "pva-d2", "trade"),
        ("Weißleim D3", "pva-d3", "trade"),
        ("UF", "urea-formaldehyde", "trade"),
        ("urea formaldehyde", "urea-formaldehyde", "trade"),
        ("MUF", "melamine-urea-formaldehyde", "trade"),
        ("melamine urea", "melamine-urea-formaldehyde", "trade"),
        ("cold-setting", "melamine-urea-formaldehyde-cold", "prefix"),
        ("polyurethane", "polyurethane-one-part", "trade"),
        ("resorcinol", "resorcinol", "id"),
        ("epoxy", "epoxy", "id"),
    ],
)
def test_a_name_finds_its_glue(typed: str, glue: str, kind: str, catalogue: Catalogue) -> None:
    matched = wood_or_glue(typed, catalogue, ON)
    assert isinstance(matched, GlueMatched)
    assert (matched.id, matched.kind) == (glue, kind)


def test_the_bare_word_says_which_class_it_is_taken_for(catalogue: Catalogue) -> None:
    (notice,) = portrait("PVA", catalogue).notices
    assert notice.code == "glue-name" and "taken for the plain class" in notice.message
    assert portrait("PVA glue D2", catalogue).notices == ()


def test_every_name_of_every_glue_finds_that_glue(catalogue: Catalogue) -> None:
    for glue in catalogue.adhesives.values():
        for name in (glue["id"], *(n["text"] for n in glue["names"])):
            matched = matching_glue(name, catalogue)
            assert matched is not None and matched.id == glue["id"], name


def test_no_wood_goes_by_the_name_of_a_glue(catalogue: Catalogue) -> None:
    woods = {row["folded"] for row in catalogue.rows("SELECT folded FROM name")}
    woods |= {row["folded"] for row in catalogue.rows("SELECT folded FROM shared_name")}
    names = {fold(n["text"]) for glue in catalogue.adhesives.values() for n in glue["names"]}
    assert len(names) > 60
    assert not names & woods


@pytest.mark.parametrize("wood", ["white ash", "black walnut", "juglans-nigra", "Picea abies"])
def test_a_wood_stays_a_wood(wood: str, catalogue: Catalogue) -> None:
    assert not isinstance(wood_or_glue(wood, catalogue, ON), GlueMatched)


def test_half_a_name_of_several_glues_is_none(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        wood_or_glue("melamine", catalogue, ON)  # hot or cold: never guessed
    both = ["melamine-urea-formaldehyde", "melamine-urea-formaldehyde-cold"]
    assert [c.id for c in fault.value.candidates][:2] == both


def test_an_unknown_glue_gets_near_spellings_and_an_unknown_wood_does_not(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName, match="no wood or glue of the catalogue") as fault:
        wood_or_glue("hyde glue", catalogue, ON)
    assert fault.value.candidates[0].id == "hide-glue"
    for general in ("contact adhesive", "glue", "adhesive"):
        with pytest.raises(UnknownName, match="no glue of the catalogue is called") as fault:
            wood_or_glue(general, catalogue, ON)
        assert "woodref find --kind glue" in str(fault.value)
    with pytest.raises(UnknownName, match=r"^no wood of the catalogue is called"):
        wood_or_glue("xqzzyw", catalogue, ON)


def test_the_fault_of_a_wood_is_kept_where_no_glue_is_near(catalogue: Catalogue) -> None:
    fault = UnknownName('no wood of the catalogue is called "xqzzyw"')
    assert neither("xqzzyw", fault, catalogue) is fault


def _glue(**given: Any) -> dict[str, Any]:
    """An invented glue with numbers for a pencil."""
    return {
        "pressure_mpa": {"low": 0.3, "high": 1.0}, "light_press": {"lowest_mpa": 0.07, "when": "thin sheets"},
        "spread_g_m2": {"low": 100, "high": 200}, "solids_share": {"low": 0.5, "high": 0.75},
    } | given  # fmt: skip


@pytest.mark.parametrize(
    ("mpa", "verdict"),
    [(0.069, "too-little"), (0.07, "light"), (0.095, "light"), (0.299, "light"), (0.3, "enough"),
     (1.0, "enough"), (1.01, "too-much")],
)  # fmt: skip
def test_what_a_pressure_is_to_a_glue(mpa: float, verdict: str) -> None:
    assert press_at(_glue(), mpa) == verdict
    if verdict == "light":
        assert press_at(_glue(light_press=None), mpa) == "too-little"


@pytest.mark.parametrize("end", [0, 1])
def test_a_bag_is_not_called_wrong_for_thin_veneer_with_urea_resin(end: int, catalogue: Catalogue) -> None:
    mpa = bag_pressure()[end]
    assert 0.08 <= round(mpa, 3) <= 0.096  # the trade's band of a bag at sea level
    verdicts = {name: press_at(glue, mpa) for name, glue in catalogue.adhesives.items()}
    assert verdicts["urea-formaldehyde"] == verdicts["urea-formaldehyde-extended"] == "light"
    assert {verdicts[f"pva-d{n}"] for n in (2, 3, 4)} == {"light"}
    assert verdicts["epoxy"] == verdicts["hide-glue"] == "enough"
    # sheets of these ask for real pressure (common practice)
    assert verdicts["resorcinol"] == verdicts["melamine-urea-formaldehyde"] == "too-little"


def test_the_condition_of_a_light_press_is_said(catalogue: Catalogue) -> None:
    told = said(portrait("UF", catalogue), "How is it pressed?")
    assert "0.08 to 0.095 MPa at sea level: less than that, and common practice all the same" in told
    assert "thin plain veneer to about 1 mm a sheet" in told and "not burr" in told
    told = said(portrait("resorcinol", catalogue), "How is it pressed?")
    assert "too little for this glue" in told


def test_water_of_a_line(catalogue: Catalogue) -> None:
    # 100 g/m2 x (1 - 0.75) = 25; 200 g/m2 x (1 - 0.5) = 100
    assert water_of(_glue()) == {"low": 25, "high": 100}
    assert water_of(catalogue.adhesives["epoxy"]) == {"low": 0, "high": 0}
    # the same balance as the science room: one ply 1 mm at 500 kg/m3 dry, a line of 100 g/m2 at 75 %
    assert water_points([(0.001, 500, 0)], [(100, 0.75)]) == pytest.approx(100 * 0.025 / 0.5)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [(10, 10, "10 min"), (2, 4, "2 to 4 min"), (30, 90, "30 to 90 min"), (30, 120, "30 min to 2 h"),
     (360, 720, "6 to 12 h"), (60, 90, "60 to 90 min"), (90, 150, "1.5 to 2.5 h")],
)  # fmt: skip
def test_times_in_words(low: float, high: float, told: str) -> None:
    assert time_words({"low": low, "high": high}) == told


def test_us_units() -> None:
    band = {"low": 100.0, "high": 200.0}
    # 1 g/m2 = 0.20482 lb per 1000 square feet (0.45359237 kg, 0.3048 m)
    assert spread_words(band, "us") == "20 to 41 lb per 1000 sq ft"
    assert spread_words(band, "metric") == "100 to 200 g/m2"
    # 1 MPa = 145.04 psi
    assert pressure_words({"low": 0.3, "high": 1.0}, "us") == "44 to 145 psi"
    assert (degrees(20, "us"), degrees(60, "us"), degrees(20, "metric")) == ("68 F", "140 F", "20 C")
    assert band_words({"low": 0.3, "high": 0.45}, "% solids", 100, 0) == "30 to 45 % solids"


HEADINGS = [
    "What is it for?", "How is it spread?", "How is it pressed?", "What does it do to the sheets?",
    "Will it hold?", "Can it be undone?", "What can hurt you", "How well is this known?",
]  # fmt: skip


@pytest.mark.parametrize("glue", sorted(ASKED))
def test_a_portrait_answers_everything_a_bench_asks(glue: str, catalogue: Catalogue) -> None:
    found = portrait(glue, catalogue)
    held = catalogue.adhesives[glue]
    assert [s.heading for s in found.sections] == HEADINGS
    for section in found.sections:
        for line in section.lines:
            assert line.endswith(".") and not line.endswith(".."), line
    assert held["used_for"][1:] in said(found, "What is it for?")
    spread = said(found, "How is it spread?")
    assert f"{held['spread_g_m2']['low']} to {held['spread_g_m2']['high']} g/m2" in spread
    assert "Open time" in spread and "Closed time" in spread
    pressed = said(found, "How is it pressed?")
    for cure in held["cure"]:
        assert f"{cure['temperature_c']} C: {time_words(cure['minutes'])}" in pressed
    assert f"{held['lowest_c']} C" in pressed and "vacuum bag" in pressed
    sheets = said(found, "What does it do to the sheets?")
    assert "water" in sheets and "thin face" in sheets and "The line:" in sheets
    held_words = said(found, "Will it hold?")
    assert "in a bend" in held_words and "Damp and weather:" in held_words and "Class" in held_words
    mind = said(found, "What can hurt you")
    assert "formaldehyde" in mind
    assert all(caution[1:] in mind for caution in held["cautions"])
    # practice without a source is marked so
    assert held["evidence"] == "common-practice"
    assert "Shop knowledge without a source" in said(found, "How well is this known?")


@pytest.mark.parametrize(
    ("glue", "gist"),
    [
        # the cautions that the trade repeats
        ("urea-formaldehyde", "hot water cures the resin in the spreader"),
        ("urea-formaldehyde-extended", "hot water cures the resin in the spreader"),
        ("melamine-urea-formaldehyde-cold", "hot water cures the resin in the spreader"),
        ("epoxy", "gloves"),
        ("polyurethane-one-part", "ventilation"),
        ("pva-d2", "Creeps in bends"),
        ("resorcinol", "ventilated"),
        ("hide-glue", "never boil it"),
    ],
)
def test_the_cautions_of_the_trade_are_said(glue: str, gist: str, catalogue: Catalogue) -> None:
    assert gist in said(portrait(glue, catalogue), "What can hurt you")


def test_what_wants_heat_says_so(catalogue: Catalogue) -> None:
    hot = said(portrait("MUF", catalogue), "How is it pressed?")
    cold = said(portrait("cold-setting MUF glue", catalogue), "How is it pressed?")
    assert "Wants a hot press: it does not set soundly below 60 C." in hot
    assert "Not below 18 C, neither the wood nor the room." in cold


def test_formaldehyde_is_said_once(catalogue: Catalogue) -> None:
    lines = [
        line
        for s in portrait("UF", catalogue).sections
        if s.heading == "What can hurt you"
        for line in s.lines
    ]
    assert sum(line.startswith("Gives off formaldehyde") for line in lines) == 1


def test_glues_are_found_by_the_words_of_their_names(catalogue: Catalogue) -> None:
    assert find_glues("", catalogue).total == len(catalogue.adhesives)
    assert {g["id"] for g in find_glues("urea", catalogue).rows} == {
        "melamine-urea-formaldehyde", "melamine-urea-formaldehyde-cold", "urea-formaldehyde",
        "urea-formaldehyde-extended",
    }  # fmt: skip
    some = find_glues("", catalogue, 3)
    assert len(some.rows) == 3 and f"3 of {some.total} shown; --rows for more." in some.closing
    none = find_glues("xqzzyw", catalogue)
    assert none.total == 0 and "No glue of the catalogue" in none.closing[0]


def test_a_search_among_woods_points_at_the_glue(catalogue: Catalogue) -> None:
    assert called_so("hide", catalogue) == 'A glue is called so: woodref show "hide glue"'
    several = called_so("glue", catalogue)
    assert several is not None and several.endswith("glues are called so: woodref find glue --kind glue")
    assert called_so("walnut", catalogue) is None and called_so(" ", catalogue) is None


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("parts", glueportrait._PARTS),
        ("bleed_through", glueportrait._BLEEDS),
        ("creep", glueportrait._CREEPS),
        ("formaldehyde", glueportrait._FORMALDEHYDE),
        ("stands", glues._STANDS),
    ],
)
def test_every_allowed_word_has_its_sentence(field: str, words: dict[str, str]) -> None:
    assert set(get_args(AdhesiveIn.model_fields[field].annotation)) == set(words)


def test_csv_lines_of_glues_are_flat(catalogue: Catalogue) -> None:
    rows = [flat_glue(glue) for glue in catalogue.adhesives.values()]
    assert len({tuple(row) for row in rows}) == 1  # the same columns for every glue
    assert not any(isinstance(cell, dict) for row in rows for cell in row.values())
