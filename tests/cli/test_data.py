"""`woodref data`: what a curator sees."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]


@pytest.fixture
def folder(small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the small data that a test may break, with a cache of its own."""
    copy = tmp_path / "data"
    shutil.copytree(small, copy)
    monkeypatch.setenv("WOODREF_DATA", str(copy))
    monkeypatch.setenv("WOODREF_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))  # the spare place, too
    return copy


def _break(folder: Path) -> None:
    alder = folder / "species" / "alnus-rubra.yaml"
    text = alder.read_text("utf-8").replace("value: 459.2, unit: kg/m3", "value: 64, unit: g/cm3", 1)
    alder.write_text(text, encoding="utf-8")


def test_build_tells_how_many_which_version_and_where(folder: Path, run: Run) -> None:
    told = run("data", "build").stdout.splitlines()
    assert told[0].startswith("12 materials, version ")
    digest = told[0].rsplit(" ", 1)[1]
    assert Path(told[1]).name == f"catalogue-{digest}.sqlite"
    assert Path(told[1]).is_file()


def test_broken_data_are_told_with_their_place_and_the_last_good_catalogue_answers(
    folder: Path, run: Run
) -> None:
    before = run("show", "alnus-rubra", "--json")
    _break(folder)
    checked = run("data", "check")
    assert checked.exit_code == 1
    assert "data/species/alnus-rubra.yaml:" in checked.stdout
    assert "64 g/cm3 = 64000 kg/m3 is outside what wood does" in checked.stdout
    shown = run("show", "alnus-rubra")
    assert shown.exit_code == 0
    assert "I answer from the last good catalogue" in " ".join(shown.stderr.split())
    codes = [n["code"] for n in json.loads(run("show", "alnus-rubra", "--json").stdout)["notices"]]
    assert "data-have-errors" in codes
    assert json.loads(before.stdout)["figures"]["density"]["value"] == pytest.approx(459.2)
    assert run("data", "build").exit_code == 1


def test_broken_data_and_no_earlier_catalogue_is_a_sentence(folder: Path, run: Run) -> None:
    _break(folder)
    plain = run("show", "alnus-rubra")
    assert (plain.exit_code, plain.stdout) == (1, "")
    assert "Run `woodref data check` to see them all." in " ".join(plain.stderr.split())
    told = json.loads(run("show", "alnus-rubra", "--json").stdout)["error"]
    assert told["code"] == "catalogue-unreadable"


def test_a_cache_that_cannot_be_written_still_answers_with_a_notice(
    folder: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wall = tmp_path / "a-file"
    wall.write_text("no folder", encoding="utf-8")
    monkeypatch.setenv("WOODREF_CACHE", str(wall / "cache"))
    shown = run("show", "alnus-rubra")
    assert shown.exit_code == 0
    assert "cannot be written" in " ".join(shown.stderr.split())


def test_a_skeleton_passes_the_check_as_it_stands_and_is_never_written_over(folder: Path, run: Run) -> None:
    words = ("data", "new", "ulmus-glabra", "--name", "wych elm", "--family", "Ulmaceae")
    made = run(*words)
    assert made.exit_code == 0
    assert "Fill it in, then run: woodref data check" in made.stdout
    assert run("data", "check").exit_code == 0
    path = folder / "species" / "ulmus-glabra.yaml"
    text = path.read_text("utf-8")
    assert run(*words).exit_code == 2
    assert path.read_text("utf-8") == text
    # a wood without a country of harvest is no candidate, and says so
    shown = run("show", "ulmus-glabra")
    assert "No country of harvest is known" in " ".join(shown.stdout.split())


@pytest.mark.parametrize(
    "words",
    [
        ("Ulmus glabra",),
        ("ulmus_glabra",),
        ("../evil",),
        ("ulmus",),  # a species needs two words or --botanical
        ("dyed-thing", "--kind", "engineered"),  # needs its base wood
    ],
)
def test_a_wrong_id_writes_nothing(folder: Path, run: Run, words: tuple[str, ...]) -> None:
    before = sorted(folder.rglob("*"))
    result = run("data", "new", *words)
    assert result.exit_code == 2
    assert result.stderr.strip()
    assert sorted(folder.rglob("*")) == before


def test_a_name_with_yaml_in_it_stays_a_name(folder: Path, run: Run) -> None:
    run("data", "new", "ulmus-glabra", "--name", "elm: {wych}, #1", "--family", "Ulmaceae")
    checked = run("data", "check")
    assert checked.exit_code == 0, checked.stdout


def test_every_source_is_told_with_how_it_was_seen_and_no_stop_is_doubled(small: Path, run: Run) -> None:
    told = run("data", "sources").stdout
    rows = json.loads(run("data", "sources", "--json").stdout)["rows"]
    flat = " ".join(told.split())
    for row in rows:
        assert f"[{row['id']}]" in flat
    assert flat.count(" Seen: ") == len(rows)
    assert ".." not in flat
    assert " 1 figures" not in flat and " 1 law rows" not in flat


def test_strict_takes_a_warning_for_an_error_and_nothing_else(folder: Path, run: Run) -> None:
    assert run("data", "check", "--strict").exit_code == 0
    alder = folder / "species" / "alnus-rubra.yaml"
    whole = alder.read_text("utf-8")
    first = "  - {text: red alder, lang: en"
    assert whole.count(first) == 1
    # a name said twice is the mildest of faults
    alder.write_text(whole.replace(first, f"  - {{text: red alder, lang: en}}\n{first}"), encoding="utf-8")
    mild, strict = run("data", "check"), run("data", "check", "--strict")
    assert (mild.exit_code, strict.exit_code) == (0, 1)
    assert "0 errors, 1 warning." in mild.stdout and "Here warnings count as errors." not in mild.stdout
    assert strict.stdout == mild.stdout.rstrip("\n") + " Here warnings count as errors.\n"
    told = run("data", "check", "--strict", "--json")
    assert told.exit_code == 1
    body = json.loads(told.stdout)
    assert body["query"]["strict"] is True
    assert [row["severity"] for row in body["rows"]] == ["warning"]  # the finding stays what it is
    alder.write_text(whole, encoding="utf-8")
    _break(folder)
    assert run("data", "check", "--strict").exit_code == run("data", "check").exit_code == 1


def test_sources_in_other_forms_leave_out_our_own_rules_and_say_so(small: Path, run: Run) -> None:
    rows = json.loads(run("data", "sources", "--format", "json").stdout)
    assert rows == json.loads(run("data", "sources", "--json").stdout)
    wanted = [row["id"] for row in rows["rows"] if row["kind"] != "rule"]
    rules = rows["count"] - len(wanted)
    assert rules and run("data", "sources", "--format", "text").stdout == run("data", "sources").stdout
    csl, bib = run("data", "sources", "--format", "csl"), run("data", "sources", "--format", "bibtex")
    assert [item["id"] for item in json.loads(csl.stdout)] == wanted
    assert [line[1:-1].split("{")[1] for line in bib.stdout.splitlines() if line[:1] == "@"] == wanted
    # the first line says which catalogue it is from; BibTeX reads nothing between entries
    assert bib.stdout.startswith(f"% woodref {rows['catalogue']['version']}, digest ")
    for result in (csl, bib):
        told = " ".join(result.stderr.split())
        assert told.startswith(f"Note: {rules} rules of our own left out")
        assert rows["catalogue"]["digest"] in told


def test_two_forms_at_once_are_refused(small: Path, run: Run) -> None:
    result = run("data", "sources", "--format", "bibtex", "--json")
    assert result.exit_code == 2
    assert json.loads(result.stdout)["error"]["code"] == "bad-request"
    assert run("data", "sources", "--format", "json", "--json").exit_code == 0


def test_coverage_counts_every_figure_once(small: Path, run: Run) -> None:
    told = json.loads(run("data", "coverage", "--json").stdout)
    assert told["materials"] == 12
    assert sum(told["by_kind"].values()) == 12
    by_grade = sum(told["figures_by_evidence"].values())
    assert by_grade == sum(p["figures"] for p in told["properties"]) > 100
    for p in told["properties"]:
        assert p["known"] == sum(p["by_evidence"].values())
        assert p["known"] + p["elsewhere"] <= 12
    for key in told["unknown"].values():
        assert key["share"] == pytest.approx(key["count"] / 12)
