"""Whole answers, word for word, on the small catalogue: what a maker reads changes only on purpose."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]

HERE = Path(__file__).parent

ANSWERS = {
    "show": ("show", "dalbergia-nigra"),
    "show-us": ("show", "red alder", "--units", "us"),
    "show-all": ("show", "reconstituted-rosewood-figure", "--all"),
    "show-shared": ("show", "tulipwood"),
    "find": ("find", "--with", "density=..520", "--with", "moe=9..", "--plantation"),
    "find-nothing": ("find", "--with", "density=60..61"),
    "substitute": ("substitute", "Brazilian rosewood", "--role", "face", "--rows", "3"),
    "substitute-nothing": ("substitute", "Brazilian rosewood", "--role", "crossband", "--kind", "core"),
    "layup": ("layup", str(HERE / "layups" / "stool-seat.yaml"), "--engineers"),
    "layup-us": ("layup", str(HERE / "layups" / "two-leaves.yaml"), "--units", "us"),
    "layup-what-if": (
        "layup",
        str(HERE / "layups" / "two-leaves.yaml"),
        "--set",
        "plies.2.grain=0",
        "--short",
    ),
    "data-check": ("data", "check"),
    "data-coverage": ("data", "coverage"),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_a_whole_answer_reads_as_agreed(
    name: str,
    run: Run,
    small: Path,
    glued_data: Path,
    golden: Callable[[str, str], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    if name == "layup":
        monkeypatch.setenv("WOODREF_DATA", str(glued_data))
    result = run(*ANSWERS[name])
    told = f"exit {result.exit_code}\n== stdout\n{result.stdout}== stderr\n{result.stderr}"
    golden(name, told)


def test_every_golden_file_is_asked_for() -> None:
    files = {path.stem for path in (HERE / "golden").glob("*.txt")}
    assert files == set(ANSWERS)
