"""The strict YAML loader and the four evidence cases."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from woodref.catalogue.schema import Dust, FigureIn
from woodref.catalogue.yamlload import MAX_BYTES, line_of, load


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("NO", "NO"),
        ("yes", "yes"),
        ("1e3", 1000.0),
        ("0.5", 0.5),
        ("12:30:00", "12:30:00"),
        ("2024-02-03", "2024-02-03"),
        ("1_000", "1_000"),
        ("true", True),
        ("null", None),
        ("'012'", "012"),
    ],
)
def test_scalars_without_surprises(text: str, value: object) -> None:
    assert load(f"a: {text}".encode(), "f.yaml") == ({"a": value}, [])


@pytest.mark.parametrize(
    ("body", "line", "gist"),
    [
        (b"a: 012", 1, "begins with a zero"),
        (b"a: 1\nb: 2\na: 3", 3, "given twice"),
        (b"a: &x [1]\nb: *x", 2, "aliases"),
        (b"a: [1, 2\nb: 3", 2, "not readable as YAML"),
        (b"a: b: c", 1, "not readable as YAML"),
        (b"1: a", 1, "not text"),
        (b"a: b\n\xff", 2, "not UTF-8"),
        (b"a: " + b"x" * (MAX_BYTES + 1), 1, "larger than"),
        (b"[" * 5000, 1, "nested too deeply|not readable"),
    ],
)
def test_what_is_refused_names_its_line(body: bytes, line: int, gist: str) -> None:
    import re

    value, found = load(body, "f.yaml")
    assert value is None
    assert len(found) == 1
    assert found[0].line == line
    assert re.search(gist, found[0].says)


@given(st.binary(max_size=300))
def test_any_bytes_give_a_value_or_a_finding(body: bytes) -> None:
    value, found = load(body, "f.yaml")
    assert value is None or not found


def test_a_line_is_found_for_a_path_and_for_an_absent_one() -> None:
    body = b"a:\n  b:\n    - {x: 1}\n    - {x: 2,\n       y: 3}\n"
    assert line_of(body, ("a", "b", 1, "y")) == 5
    assert line_of(body, ("a", "b", 1, "z")) == 4
    assert line_of(body, ("a", "nothing")) == 1


GOOD: dict[str, Any] = {"value": 9.5, "unit": "GPa", "condition": {"mc": 12}}


@pytest.mark.parametrize(
    ("more", "gist"),
    [
        ({}, "evidence is missing"),
        ({"evidence": "quoted", "source": "a"}, "needs source and locator"),
        ({"evidence": "quoted", "locator": "p. 1"}, "needs source and locator"),
        ({"evidence": "recalled", "source": "a"}, "the key locator"),
        ({"evidence": "estimated", "source": "a"}, "needs from"),
        ({"evidence": "common-practice", "source": "a"}, "has no source"),
        ({"evidence": "quoted", "source": "a", "locator": "p", "added_error": 3}, "estimated only"),
        ({"evidence": "common-practice", "low": 2}, "go together"),
        ({"evidence": "common-practice", "low": 1, "high": 2}, "outside low..high"),
        ({"evidence": "guessed"}, "evidence"),
    ],
)
def test_an_evidence_case_that_is_not_kept_is_refused(more: dict[str, Any], gist: str) -> None:
    with pytest.raises(ValidationError, match=gist):
        FigureIn.model_validate(GOOD | more)


@pytest.mark.parametrize(
    "more",
    [
        {"evidence": "quoted", "source": "a", "locator": "p. 1"},
        {"evidence": "recalled", "source": "a", "locator": None},
        {"evidence": "estimated", "source": "rule-a", "from": ["moe"], "added_error": 5},
        {"evidence": "common-practice"},
    ],
)
def test_the_four_cases_as_they_should_be(more: dict[str, Any]) -> None:
    assert FigureIn.model_validate(GOOD | more).value == 9.5


def test_no_answer_needs_no_evidence_but_an_answer_does() -> None:
    assert Dust.model_validate({"risk": "no-record"}).evidence is None
    with pytest.raises(ValidationError, match="evidence is missing"):
        Dust.model_validate({"risk": "irritant"})
