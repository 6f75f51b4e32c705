"""Faults: the sentence, the parts, the exit code."""

from __future__ import annotations

import pickle

import pytest

from woodref import errors


def test_the_sentence_says_what_where_expected_and_next() -> None:
    fault = errors.BadRequest("x is not a role", where="--role", expected="face, back", next="Try face.")
    assert str(fault) == "--role: x is not a role. Expected: face, back. Try face."


@pytest.mark.parametrize(
    ("kind", "code", "leaves"),
    [
        (errors.BadQuantity, "bad-quantity", 2),
        (errors.BadRequest, "bad-request", 2),
        (errors.UnknownName, "unknown-name", 3),
        (errors.SharedName, "shared-name", 3),
        (errors.CatalogueUnreadable, "catalogue-unreadable", 1),
        (errors.CannotAnswer, "cannot-answer", 1),
    ],
)
def test_exit_codes_and_json(kind: type[errors.WoodrefError], code: str, leaves: int) -> None:
    fault = kind("m", candidates=[errors.Candidate("a", "b", "c")])
    assert fault.exit_code == leaves
    assert fault.as_dict() == {
        "code": code,
        "message": "m",
        "where": None,
        "expected": None,
        "next": None,
        "candidates": [{"id": "a", "name": "b", "says": "c"}],
    }
    again = pickle.loads(pickle.dumps(fault))
    assert (type(again), str(again)) == (kind, str(fault))


def test_a_sentence_shows_control_signs_and_never_sends_them() -> None:
    fault = errors.BadRequest("a\x1b[2Jb", where="x\u202ey", expected="\ud800", next="one\ntwo\u00a03")
    assert str(fault) == "x\\u202ey: a\\x1b[2Jb. Expected: \\ud800. one\ntwo\u00a03"
    assert fault.as_dict()["message"] == "a\\x1b[2Jb"
