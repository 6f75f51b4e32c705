"""Requests nobody means well: each gets a proper answer or one sentence, in JSON that any reader takes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} is no JSON")


@pytest.mark.parametrize(
    "words",
    [
        ("find", "--like-colour", "#563b2a", "--within", "inf"),
        ("find", "--like-colour", "#563b2a", "--within", "nan"),
        ("find", "--like-colour", "#563b2a", "--within", "1e308"),
        ("find", "--with", "density=1e400.."),
        ("find", "--with", "density=..1e400"),
        ("find", "--with", "density=1e9999999.."),
        ("find", "--with", "density=1e999999 lb/ft3.."),
        ("find", "--with", "density=450..500", "--with", "density=600..700"),
        ("find", "--with", "=1..2"),
        ("find", "--with", "density=1..2=3"),
        ("find", "--like-colour", ""),
        ("find", "--like-colour", "#12345"),
        ("show", "a " * 4000),
        ("show", "x" * 100_000),
        ("substitute", "teak", "--origin", ""),
        ("substitute", "teak", "--origin", "gh"),
        ("substitute", "teak", "--origin", "GB-NIR"),
        ("substitute", "teak", "--home", "DE", "--sell-to", "zz"),
        ("substitute", "teak", "--region", ""),
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--kg", "nan"),
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--kg", "1e9999999"),
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--on", "0000-00-00"),
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--acquired", "99999"),
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--acquired", "0000"),
        ("trade", "teak", "--goods", "/nowhere/item.yaml"),
        ("listings", "--on", "9999-12-31"),
        ("listings", "--since", "0001-01-01", "--on", "9999-12-31"),
        ("listings", ""),
    ],
    ids=lambda words: " ".join(words)[:60],
)
def test_hostile_requests_get_an_answer_or_a_sentence_in_strict_json(
    small: Path, run: Run, words: tuple[str, ...]
) -> None:
    result = run(*words, "--json")
    told = json.loads(result.stdout, parse_constant=_no_constant)
    if result.exit_code:
        assert result.exit_code in (1, 2, 3)
        assert told["error"]["message"]
        assert len(told["error"]["message"]) < 2000, "a sentence, not an echo"
    else:
        assert "catalogue" in told


def test_two_limits_on_one_property_both_hold_or_are_refused(small: Path, run: Run) -> None:
    """The second may not silently take the place of the first."""
    result = run("find", "--with", "density=450..500", "--with", "density=600..700", "--json")
    told = json.loads(result.stdout)
    assert result.exit_code == 2 if "error" in told else told["count"] == 0


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"plies",
        b"plies: 3",
        b"plies: [1, 2]",
        b"plies: [[]]",
        b"plies: [{}]",
        b"plies: [{material: teak, thickness: 1e400 mm, grain: 0}]",
        b"plies: [{material: teak, thickness: .nan mm, grain: .inf}]",
        b"plies: [{material: 1, thickness: 1 mm, grain: 0}]",
        b"plies: [{material: teak, thickness: 1 mm, grain: 0, repeat: 100000000}]",
        b"plies: [{repeat: 60, plies: [{repeat: 60, plies: [{material: teak, thickness: 1 mm, grain: 0}]}]}]",
        b"plies: &a [*a]",
        b"plies: !!python/object:os.system [x]",
        b"\xff\xfe",
        b"a: " + b"[" * 100_000,
        b"plies: [{unidentified: " + b"x" * 100_000 + b", thickness: 1 mm, grain: 0}]",
        b"plies: [{unidentified: '<script>', thickness: 1 mm, grain: 0}]\nmould: {radius: 5 mm}",
        b"plies: [{unidentified: a, thickness: 0.1 mm, grain: 0}]\nmould: {radius: 100000 mm, angle: 350}",
        b"plies: [{unidentified: a, thickness: 1 mm, grain: 0}]\npanel: {length: -5 mm, width: 0 mm}",
        b"plies: [{unidentified: a, thickness: 1 mm, grain: 0}]\nroom: {rh_low: 95 %, rh_high: 95 %}",
        b"title: [a]\nplies: [{unidentified: a, thickness: 1 mm, grain: 0}]",
    ],
    ids=lambda body: body[:40].decode("ascii", "replace"),
)
def test_a_hostile_layup_gets_a_report_or_a_sentence(
    small: Path, run: Run, tmp_path: Path, body: bytes
) -> None:
    file = tmp_path / "pack.yaml"
    file.write_bytes(body)
    result = run("layup", str(file), "--json")
    told = json.loads(result.stdout, parse_constant=_no_constant)
    if result.exit_code:
        assert result.exit_code in (1, 3)
        assert told["error"]["message"]
    assert not run("layup", str(file)).stdout.count("\x1b")
