"""How a fault is put into words, copied, sent between processes and shown to programs."""

from __future__ import annotations

import copy
import json
import pickle
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref import errors
from woodref.errors import Candidate, WoodrefError, echo

KINDS = [kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, WoodrefError)]


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        ({"message": "it broke"}, "it broke."),
        ({"message": "it broke."}, "it broke."),
        ({"message": "which one?"}, "which one?"),
        ({"message": "it broke", "where": "a.yaml:3"}, "a.yaml:3: it broke."),
        ({"message": "it broke", "expected": "a number"}, "it broke. Expected: a number."),
        ({"message": "it broke", "next": "Mend it."}, "it broke. Mend it."),
        (
            {"message": "it broke", "where": "w", "expected": "e", "next": "Do this."},
            "w: it broke. Expected: e. Do this.",
        ),
    ],
)
def test_the_sentence_has_its_parts_in_order_and_one_stop_each(parts: dict[str, Any], sentence: str) -> None:
    assert str(WoodrefError(**parts)) == sentence


def test_every_fault_has_a_code_of_its_own_and_a_promised_way_out() -> None:
    assert len(KINDS) >= 7
    assert len({kind.code for kind in KINDS}) == len(KINDS)
    for kind in KINDS:
        assert kind.exit_code in (1, 2, 3)
        assert kind.code == kind.code.lower().replace(" ", "-")


@pytest.mark.parametrize("kind", KINDS)
def test_a_fault_survives_the_way_between_processes(kind: type[WoodrefError]) -> None:
    told: dict[str, Any] = {
        "message": "m", "where": "w", "expected": "e", "next": "n", "candidates": [Candidate(None, "b", "c")],
    }  # fmt: skip
    for fault in (kind("m"), kind(**told), kind("m", "w", "e", "n", [Candidate("a", "b")])):
        for again in (pickle.loads(pickle.dumps(fault)), copy.copy(fault), copy.deepcopy(fault)):
            assert type(again) is kind
            assert again.as_dict() == fault.as_dict()
            assert str(again) == str(fault)


def test_faults_are_told_apart_by_who_they_are_not_by_what_they_say() -> None:
    # two like faults in one list are two faults, and a fault can be a key
    one, other = errors.BadRequest("m"), errors.BadRequest("m")
    assert one != other
    assert len({one, other}) == 2


def test_candidates_of_one_fault_are_not_those_of_the_next() -> None:
    first = errors.UnknownName("m")
    first.candidates.append(Candidate("a", "b"))
    assert errors.UnknownName("m").candidates == []


@given(
    st.text(max_size=20),
    st.none() | st.text(max_size=20),
    st.none() | st.text(max_size=20),
    st.lists(st.builds(Candidate, st.none() | st.text(max_size=5), st.text(max_size=5), st.text(max_size=5))),
)
def test_the_object_for_programs_has_every_key_and_only_plain_values(
    message: str, where: str | None, following: str | None, candidates: list[Candidate]
) -> None:
    told = errors.SharedName(message, where=where, next=following, candidates=candidates).as_dict()
    assert list(told) == ["code", "message", "where", "expected", "next", "candidates"]
    assert json.loads(json.dumps(told)) == told
    assert [c["name"] for c in told["candidates"]] == [c.name for c in candidates]


@given(st.text(max_size=300))
def test_what_a_person_typed_is_echoed_on_one_line_and_cut_short(text: str) -> None:
    said = echo(text)
    assert said.startswith('"') and said.endswith('"')
    assert len(said) <= 63
    assert "\n" not in said
