"""`woodref show` and `woodref find` asked of glues, and `woodref data fields`."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from woodref.catalogue.explained import page

Run = Callable[..., Result]


def test_show_answers_for_a_glue_with_its_own_headings(run: Run) -> None:
    lines = run("show", "hide glue").stdout.splitlines()
    assert [line for line in lines if not line.startswith(" ")] == [
        "What is it for?",
        "How is it spread?",
        "How is it pressed?",
        "What does it do to the sheets?",
        "Will it hold?",
        "Can it be undone?",
        "What can hurt you",
        "How well is this known?",
    ]
    assert all(len(line) <= 100 for line in lines)


def test_the_bare_word_is_answered_with_a_notice(run: Run) -> None:
    result = run("show", "PVA")
    assert result.exit_code == 0
    assert "PVA glue D2: " in result.stdout and "taken for the plain class" in " ".join(result.stderr.split())


def test_units_turn_what_is_printed_of_a_glue_and_not_its_json(run: Run) -> None:
    told = " ".join(run("show", "UF", "--units", "us").stdout.split())
    # 0.3 MPa = 44 psi, 100 g/m2 = 20 lb per 1000 square feet, 60 C = 140 F
    assert "44 to 145 psi" in told and "20 to 33 lb per 1000 sq ft" in told and "140 F" in told
    assert " MPa" not in told.split("How well is this known?")[0]
    metric, us = (run("show", "UF", "--units", u, "--json").stdout for u in ("metric", "us"))
    held = [{k: v for k, v in json.loads(out).items() if k != "sections"} for out in (metric, us)]
    assert held[0] == held[1] and held[0]["pressure_mpa"] == {"low": 0.3, "high": 1.0}


@pytest.mark.parametrize(
    ("words", "leaves", "code"),
    [
        (("show", "hyde glue"), 3, "unknown-name"),
        (("show", "contact adhesive"), 3, "unknown-name"),
        (("show", "melamine"), 3, "unknown-name"),
        (("show", "hide glue", "--all"), 2, "bad-request"),
        (("show", "hide glue", "--at", "rh=45"), 2, "bad-request"),
        (("show", "hide glue", "--estimates"), 2, "bad-request"),
        (("find", "--kind", "glue", "--with", "density=..500"), 2, "bad-request"),
        (("find", "--kind", "glue", "--plantation"), 2, "bad-request"),
        (("find", "--kind", "glue", "--not-listed"), 2, "bad-request"),
        (("find", "--kind", "glue", "--like-colour", "#563b2a"), 2, "bad-request"),
        (("find", "--kind", "glue", "--estimates"), 2, "bad-request"),
        (("data", "fields", "densty"), 2, "bad-request"),
    ],
)
def test_what_cannot_be_asked_is_told(words: tuple[str, ...], leaves: int, code: str, run: Run) -> None:
    plain = run(*words)
    assert plain.exit_code == leaves and plain.stderr.strip() and not plain.stdout.strip()
    told = run(*words, "--json")
    assert told.exit_code == leaves and json.loads(told.stdout)["error"]["code"] == code


@pytest.mark.parametrize(
    "word", ["", " ", "x" * 5000, "'\"`$(id)", "a\nb", "%s%n", "ŵöðréf glue", "glue" * 50]
)
def test_hostile_names_of_glues(word: str, run: Run) -> None:
    assert run("show", "--", word).exit_code in (0, 3)
    assert run("find", "--kind", "glue", "--", word).exit_code == 0
    assert run("data", "fields", "--", word).exit_code in (0, 2)


def test_glues_are_listed_side_by_side(run: Run) -> None:
    lines = run("find", "--kind", "glue").stdout.splitlines()
    assert lines[0].split()[:3] == ["glue", "spread", "g/m2"]
    (urea,) = [line for line in lines if line.startswith("urea-formaldehyde glue  ")]
    assert (
        "100 to 160" in urea and "0.3 to 1 " in urea and "6 to 12 h at 20 C" in urea and "dry rooms" in urea
    )
    assert any("Shop knowledge without a source" in line for line in lines)


def test_glues_as_csv(run: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(run("find", "--kind", "glue", "--csv").stdout)))
    (hide,) = [row for row in rows if row["id"] == "hide-glue"]
    assert (hide["spread_g_m2_low"], hide["spread_g_m2_high"], hide["cure"]) == (
        "200",
        "300",
        "20 C: 2 to 12 h",
    )
    assert run("find", "xqzzyw", "--kind", "glue", "--csv").stdout == ""


def test_a_search_among_woods_names_the_glue(run: Run) -> None:
    told = run("find", "hide").stdout
    assert 'A glue is called so: woodref show "hide glue"' in told


def test_without_any_glue_the_commands_still_answer(small: Path, run: Run) -> None:
    assert not (small / "adhesives").exists()
    assert run("find", "--kind", "glue").exit_code == 0
    assert run("show", "hide glue").exit_code == 3
    assert run("show", "red alder").exit_code == 0


def test_fields_prints_the_page_of_the_data_folder_or_a_part(run: Run) -> None:
    assert run("data", "fields").stdout == page()
    told = run("data", "fields", "tannin").stdout
    assert "### working" in told and "`low`, `medium`, `high`, `unknown`" in told and "`oily` (" not in told
    assert run("data", "fields", "moe").stdout.splitlines()[-1].startswith("| `moe`")
