"""`woodref data diff`: what a curator or a reader of a new release sees. The woods are invented."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]

CLONE = Path(__file__).resolve().parents[2]
FICTA = "species/ligna-ficta.yaml"


@pytest.fixture
def sides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the data of two releases of invented woods, the present one; returns the newer side."""
    old = tmp_path / "old-release"
    shutil.copytree(CLONE / "tests" / "catalogue" / "invented", old)
    shutil.copytree(CLONE / "data" / "trade", old / "trade")
    for name in ("classes.yaml", "sources.yaml"):
        shutil.copy(CLONE / "data" / name, old / name)
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copytree(old, tmp_path / "data"))


def change(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text("utf-8")
    assert text.count(old) == 1, old
    path.write_text(text.replace(old, new), "utf-8")


@pytest.fixture
def changed(sides: Path) -> Path:
    """The newer side with what the README tells."""
    change(sides, FICTA, "value: 600\n", "value: 610\n")
    change(sides, FICTA, "locator: p. 1, evidence: recalled", "locator: p. 1, evidence: quoted")
    change(sides, FICTA, "  - {text: plain ficta, lang: en}\n", "  - {text: plain ficta, lang: en}\n"
           "  - {text: white ficta, lang: en, regions: [GB]}\n")  # fmt: skip
    (sides / "engineered" / "dyed-ficta.yaml").unlink()
    return sides


def test_the_readme_shows_what_is_printed(changed: Path, run: Run) -> None:
    result = run("data", "diff", "old-release", "data")
    assert (result.exit_code, result.stderr) == (0, "")
    block = f"```text\n$ woodref data diff old-release data\n{result.stdout}```"
    assert block in (CLONE / "README.md").read_text("utf-8"), block


def test_no_difference_is_said_in_one_line(sides: Path, run: Run) -> None:
    result = run("data", "diff", "old-release", "data")
    assert (result.exit_code, result.stdout) == (0, "Nothing differs.\n")
    assert json.loads(run("data", "diff", "old-release", "data", "--json").stdout)["count"] == 0
    head = run("data", "diff", "old-release", "data", "--csv").stdout.splitlines()
    assert len(head) == 1 and head[0].startswith("material,property,what,")


def test_the_figures_as_csv_carry_both_sides(changed: Path, run: Run) -> None:
    result = run("data", "diff", "old-release", "data", "--csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert [(r["material"], r["property"], r["what"]) for r in rows] == [
        ("dyed-ficta", "density", "removed"),
        ("dyed-ficta", "shrinkage_radial", "removed"),
        ("ligna-ficta", "density", "changed"),
        ("ligna-ficta", "mor", "changed"),
    ]
    density, mor = rows[2:]
    assert (density["old_value"], density["new_value"], density["new_unit"]) == ("600", "610", "kg/m3")
    assert (density["changed"], density["was_preferred"], density["is_preferred"]) == ("value", "1", "1")
    assert (mor["old_evidence"], mor["new_evidence"]) == ("recalled", "quoted")
    assert (mor["old_low"], mor["new_high"], mor["old_value"]) == ("85", "95", "")


def test_csv_keeps_digits_that_a_table_would_round_away(sides: Path, run: Run) -> None:
    change(sides, FICTA, "value: 600\n", "value: 600.0001\n")
    (row,) = csv.DictReader(io.StringIO(run("data", "diff", "old-release", "data", "--csv").stdout))
    assert (row["old_value"], row["new_value"]) == ("600", "600.0001")


def test_the_same_answer_every_time_and_every_sentence_of_the_text_in_the_json(
    changed: Path, run: Run
) -> None:
    one, two = (run("data", "diff", "old-release", "data", "--json").stdout for _ in range(2))
    assert one == two
    body = json.loads(one)
    text = " ".join(run("data", "diff", "old-release", "data").stdout.split())
    for key in ("materials", "names", "listings", "parts"):
        assert all(row["sentence"] in text for row in body[key])
    assert body["summary"] in text
    assert {f["material"] for f in body["figures"] if f["sentence"] not in text} == {"dyed-ficta"}
    for row in body["figures"]:
        assert set(row["old"] or row["new"]) >= {
            "value",
            "low",
            "high",
            "unit",
            "evidence",
            "source",
            "condition",
        }


def test_a_built_file_stands_for_the_folder_it_was_built_from(
    changed: Path, run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("WOODREF_CACHE", str(tmp_path / "cache"))
    built = run("data", "build", "--data", "old-release").stdout.splitlines()[1]
    by_file = json.loads(run("data", "diff", built, "data", "--json").stdout)
    by_folder = json.loads(run("data", "diff", "old-release", "data", "--json").stdout)
    for key in by_folder.keys() - {"query"}:
        assert by_file[key] == by_folder[key], key


def test_errors_in_a_folder_are_a_notice_and_not_in_the_way(changed: Path, run: Run) -> None:
    change(changed, "species/ligna-altera.yaml", "id: ligna-altera", "id: Ligna")
    result = run("data", "diff", "old-release", "data")
    assert result.exit_code == 0 and "ligna-altera" not in result.stdout
    assert "Not compared for that reason: ligna-altera" in " ".join(result.stderr.split())


@pytest.mark.parametrize(
    ("words", "leaves", "code"),
    [
        (("nowhere", "data"), 2, "bad-request"),
        (("data", "nowhere"), 2, "bad-request"),
        (("data", "data/sources.yaml"), 1, "catalogue-unreadable"),
        (("data/trade", "data"), 1, "catalogue-unreadable"),
        (("data",), 2, "bad-request"),
    ],
)
def test_what_cannot_be_compared_is_a_sentence(
    words: tuple[str, ...], leaves: int, code: str, sides: Path, run: Run
) -> None:
    plain = run("data", "diff", *words)
    assert (plain.exit_code, plain.stdout) == (leaves, "")
    assert plain.stderr.strip()
    told = run("data", "diff", *words, "--json")
    assert told.exit_code == leaves
    assert json.loads(told.stdout)["error"]["code"] == code
