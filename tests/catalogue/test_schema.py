"""The shape of a material file: what must be said, with which evidence, and what cannot be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from woodref.catalogue import schema
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.yamlload import load

INVENTED = Path(__file__).resolve().parent / "invented"

FIGURE: dict[str, Any] = {"value": 9.5, "unit": "GPa", "condition": {"mc": 12}}
PRACTICE: dict[str, Any] = {"evidence": "common-practice"}


def refused(model: type[schema.Strict], value: dict[str, Any]) -> str:
    """The sentences with which a value is refused."""
    with pytest.raises(ValidationError) as fault:
        model.model_validate(value)
    return "; ".join(error["msg"] for error in fault.value.errors())


def material(file: str = "species/ligna-ficta.yaml") -> dict[str, Any]:
    """An invented material as plain values, to change before it is validated."""
    value, found = load((INVENTED / file).read_bytes(), file)
    assert not found
    return dict(value)


#: evidence case -> the sentence that says what it lacks or has too much of
CASES: dict[str, tuple[dict[str, Any], str]] = {
    "nothing said": ({}, "evidence is missing: quoted, recalled, estimated or common-practice"),
    "quoted, no source": ({"evidence": "quoted", "locator": "p. 1"}, "quoted needs source and locator"),
    "quoted, no locator": ({"evidence": "quoted", "source": "a"}, "quoted needs source and locator"),
    "quoted, locator null": ({"evidence": "quoted", "source": "a", "locator": None}, "quoted needs source"),
    "recalled, no key": ({"evidence": "recalled", "source": "a"}, "needs a source and the key locator"),
    "recalled, no source": ({"evidence": "recalled", "locator": None}, "needs a source and the key locator"),
    "estimated, no source": (
        {"evidence": "estimated", "from": ["moe"], "added_error": 5},
        "estimated needs source: the id of the rule",
    ),
    "estimated, rests on nothing": (
        {"evidence": "estimated", "source": "rule-a", "added_error": 5},
        "needs from (the figures it rests on) and added_error",
    ),
    "estimated, rests on an empty list": (
        {"evidence": "estimated", "source": "rule-a", "from": [], "added_error": 5},
        "needs from",
    ),
    "estimated, no error": ({"evidence": "estimated", "source": "rule-a", "from": ["moe"]}, "added_error"),
    "estimated, no error at all": (
        {"evidence": "estimated", "source": "rule-a", "from": ["moe"], "added_error": 0},
        "greater than 0",
    ),
    "shop rule with a source": (PRACTICE | {"source": "a"}, "common-practice has no source"),
    "shop rule with a place": (PRACTICE | {"locator": "p. 1"}, "common-practice has no source"),
    "quoted, yet worked out": (
        {"evidence": "quoted", "source": "a", "locator": "p", "from": ["moe"]},
        "belong to evidence estimated only",
    ),
    "an unknown grade": ({"evidence": "measured"}, "Input should be 'quoted', 'recalled'"),
}


@pytest.mark.parametrize(("given", "gist"), CASES.values(), ids=CASES.keys())
def test_a_figure_says_where_it_comes_from_or_is_refused(given: dict[str, Any], gist: str) -> None:
    assert gist in refused(schema.FigureIn, FIGURE | given)


#: numbers of a figure -> the sentence that refuses them
NUMBERS: dict[str, tuple[dict[str, Any], str]] = {
    "no number": ({"value": None}, "needs value, or low and high"),
    "one end": ({"low": 9}, "low and high go together"),
    "the other end alone": ({"value": None, "high": 9}, "low and high go together"),
    "upside down": ({"value": None, "low": 9, "high": 8}, "low 9 is above high 8"),
    "outside its own range": ({"low": 10, "high": 12}, "value 9.5 lies outside low..high"),
    "text": ({"value": "9.5"}, "valid number"),
    "truth": ({"value": True}, "valid number"),
    "no piece counted": ({"n": 0}, "greater than or equal to 1"),
    "half a piece": ({"n": 1.5}, "valid integer"),
}


@pytest.mark.parametrize(("given", "gist"), NUMBERS.values(), ids=NUMBERS.keys())
def test_a_figure_has_numbers_that_hold_together(given: dict[str, Any], gist: str) -> None:
    assert gist in refused(schema.FigureIn, FIGURE | PRACTICE | given)


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"low": 9, "high": 10},
        {"value": None, "low": 9, "high": 10},
        {"low": 9.5, "high": 9.5},
        {"value": 9},
    ],
)
def test_a_value_a_range_or_both_will_do(given: dict[str, Any]) -> None:
    figure = schema.FigureIn.model_validate(FIGURE | PRACTICE | given)
    assert (figure.low is None) == (figure.high is None)


@pytest.mark.parametrize("key", ["unit", "condition"])
def test_a_figure_without_unit_or_condition_is_refused(key: str) -> None:
    assert "Field required" in refused(
        schema.FigureIn, {k: v for k, v in (FIGURE | PRACTICE).items() if k != key}
    )


@pytest.mark.parametrize("number", [float("inf"), float("-inf"), float("nan")])
def test_a_figure_is_a_number_with_an_end(number: float) -> None:
    # no comparison with such a number ever fails, so it would be preferred, ranked and printed
    refused(schema.FigureIn, FIGURE | PRACTICE | {"value": number})


#: block that may say nothing is known -> (model, the answer that says so, an answer that says something)
ANSWERS: dict[str, tuple[type[schema.Cited], dict[str, Any], dict[str, Any]]] = {
    "dust": (schema.Dust, {"risk": "no-record"}, {"risk": "none-reported"}),
    "bending": (schema.Bending, {"class": "unknown"}, {"class": "easy"}),
    "gluing": (schema.Gluing, {"class": "unknown"}, {"class": "easy"}),
    "bleed": (schema.BleedThrough, {"risk": "unknown"}, {"risk": "low"}),
    "light": (schema.Light, {"change": "unknown"}, {"change": "little"}),
    "veneer": (schema.Veneer, {"sold": "not-known"}, {"sold": "no"}),
    "sapwood in the sheets": (
        schema.Sapwood,
        {"with_heart": "unknown", "beetles": "unknown"},
        {"with_heart": "no", "beetles": "unknown"},
    ),
    "beetles": (schema.Sapwood, {}, {"with_heart": "unknown", "beetles": "seldom"}),
    "extract": (schema.Extract, {"reaction": "unknown"}, {"reaction": "neutral"}),
    "red list": (schema.RedList, {"category": "NE"}, {"category": "LC"}),
    "plantation": (
        schema.Plantation,
        {"grown": "unknown", "sold_as_veneer": "not-known"},
        {"grown": "no", "sold_as_veneer": "not-known"},
    ),
}


@pytest.mark.parametrize(("model", "nothing", "something"), ANSWERS.values(), ids=ANSWERS.keys())
def test_not_knowing_needs_no_evidence_but_saying_no_does(
    model: type[schema.Cited], nothing: dict[str, Any], something: dict[str, Any]
) -> None:
    assert model.model_validate(nothing).evidence is None
    assert "evidence is missing" in refused(model, something)
    assert model.model_validate(something | PRACTICE).evidence == "common-practice"


def test_tannin_and_oil_are_shop_knowledge_unless_a_source_is_named() -> None:
    given = material()["working"] | {"tannin": "high"}
    assert schema.Working.model_validate(given).evidence == "common-practice"
    assert "has no source" in refused(schema.Working, given | {"source": "bre-hardwoods"})
    read = given | {"evidence": "recalled", "source": "bre-hardwoods", "locator": None}
    assert schema.Working.model_validate(read).evidence == "recalled"


def test_no_treatment_and_none_known_are_two_answers() -> None:
    assert schema.Veneer.model_validate({"sold": "not-known"}).treatments is None
    assert schema.Veneer.model_validate({"sold": "not-known", "treatments": []}).treatments == []


@pytest.mark.parametrize(
    ("model", "block"),
    [
        (schema.Grows, material()["grows"]),
        (schema.Look, material()["look"]),
        (schema.Swatch, material()["look"]["swatches"][0]),
        (schema.MadeFrom, material("engineered/dyed-ficta.yaml")["made_from"]),
    ],
)
def test_a_block_that_always_says_something_always_says_where_from(
    model: type[schema.Cited], block: dict[str, Any]
) -> None:
    assert model.model_validate(block).evidence is not None
    without = {k: v for k, v in block.items() if k not in ("evidence", "source", "locator")}
    assert "evidence is missing" in refused(model, without)


def test_a_species_has_a_botanical_name_and_no_other_kind_has() -> None:
    assert "a species has a botanical name" in refused(schema.MaterialIn, material() | {"botanical": None})
    dyed = material("engineered/dyed-ficta.yaml")
    botanical = material()["botanical"]
    assert "other kinds have botanical: null" in refused(schema.MaterialIn, dyed | {"botanical": botanical})


def test_only_sheets_are_made_from_something() -> None:
    made = material("engineered/dyed-ficta.yaml")["made_from"]
    assert "made_from is for engineered" in refused(schema.MaterialIn, material() | {"made_from": made})
    dyed = material("engineered/dyed-ficta.yaml") | {"made_from": None}
    assert "made_from is for engineered" in refused(schema.MaterialIn, dyed)


def test_a_property_outside_the_list_is_named_with_those_inside() -> None:
    figures = {"e_modulus": [FIGURE | PRACTICE]}
    says = refused(schema.MaterialIn, material() | {"figures": figures})
    assert "figures.e_modulus is not a property; known: " + ", ".join(PROPERTIES) in says


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("id", "Alnus rubra"), ("id", "alnus_rubra"), ("id", "-alnus"), ("id", "alnus--rubra"),
        ("id", "../alnus"), ("kind", "tree"), ("hardness_group", "hard"), ("names", []), ("figures", []),
        ("cautions", [""]), ("was", ["Old Name"]), ("names", [{"text": "a", "lang": "English"}]),
        ("names", [{"text": "", "lang": "en"}]),
    ],
)  # fmt: skip
def test_a_head_that_is_not_in_the_agreed_form_is_refused(key: str, value: object) -> None:
    assert refused(schema.MaterialIn, material() | {key: value})


@pytest.mark.parametrize(
    ("block", "written"),
    [
        ("look", {"class_": "cream"}),
        (
            "figures",
            {
                "moe": [
                    FIGURE | {"evidence": "estimated", "source": "rule-a", "from_": ["a"], "added_error": 1}
                ]
            },
        ),
        ("figures", {"moe": [FIGURE | PRACTICE | {"condition": {"mc": 12, "set_": "one"}}]}),
    ],
)
def test_the_programs_own_spelling_of_a_key_is_no_key_of_the_file(
    block: str, written: dict[str, Any]
) -> None:
    # two spellings of one key would let a file say a thing twice
    value = material()
    held = {k: v for k, v in value[block].items() if k != "class"} if block == "look" else {}
    refused(schema.MaterialIn, value | {block: held | written})


@pytest.mark.parametrize("code", ["GB-NIR", "US", "NO"])
def test_countries_are_two_capitals_or_a_named_part(code: str) -> None:
    grows = material()["grows"] | {"countries": [code]}
    assert schema.Grows.model_validate(grows).countries == [code]


@pytest.mark.parametrize("code", ["us", "USA", "U", "US ", "GB-NI", False, 44])
def test_no_other_spelling_of_a_country_passes(code: object) -> None:
    refused(schema.Grows, material()["grows"] | {"countries": [code]})


def test_a_material_goes_out_under_the_names_of_its_file() -> None:
    model = schema.MaterialIn.model_validate(material())
    plain = schema.json_ready(model)
    assert plain["look"]["class"] == "light-brown"
    assert plain["figures"]["density"][1]["from"] == ["basic_density", "shrinkage_volumetric"]
    # what goes out can come in again and is the same
    again = schema.MaterialIn.model_validate(plain)
    assert schema.json_ready(again) == plain


@pytest.mark.parametrize("value", [0.05, 12, 15])
def test_a_leaf_is_thinner_than_a_board_and_thicker_than_foil(value: float) -> None:
    veneer = material()["veneer"] | {"thickness_mm": [value]}
    assert "than" in refused(schema.Veneer, veneer)
