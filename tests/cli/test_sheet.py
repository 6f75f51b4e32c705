"""`woodref sheet` and `book check --sheet`, from the book of the workshop to what a stranger reads."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodref.cli.main import main

SCENARIO = Path(__file__).resolve().parent.parent / "provenance" / "data" / "scenario.json"
MAKER = ("--maker", "Quillbeck Benders, Harrowmere")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("WOODREF_KEY", str(tmp_path / "keys" / "maker.key"))
    monkeypatch.delenv("WOODREF_MAKER", raising=False)
    monkeypatch.chdir(tmp_path)

    def called(*words: str) -> Any:
        return CliRunner().invoke(main, list(words))

    assert called("book", "record", str(SCENARIO)).exit_code == 0
    return called


def flat(result: Any) -> str:
    return " ".join(result.output.split())


def test_from_closing_to_a_sheet_that_a_stranger_checks(run: Any, tmp_path: Path) -> None:
    refused = run("sheet", "STOOL-002")
    assert refused.exit_code == 1 and "Close it first: woodref item close STOOL-002" in flat(refused)
    assert run("item", "close", "STOOL-002", "--label", "contains unproven material").exit_code == 0
    made = run("sheet", "STOOL-002", *MAKER, "--out", "stool")
    assert made.exit_code == 0, made.output
    assert "From now on this book signs with key" in flat(made)
    assert "lot L-C: no paper shows what wood it is, where it grew and how it was grown." in flat(made)
    names = {path.name for path in (tmp_path / "stool").iterdir()}
    assert names == {"sheet.html", "sheet.json", "linked.jsonld", "prov.json", "declaration.csv"}
    again = run("sheet", "STOOL-002", *MAKER, "--out", "stool")
    assert "Nothing on the sheet of STOOL-002 has changed" in flat(again)
    # a stranger: no book, no key, the fingerprint told by another way
    (tmp_path / "book.sqlite").rename(tmp_path / "away.sqlite")
    found = run("book", "check", "--sheet", "stool", "--json")
    told = json.loads(found.output)
    assert found.exit_code == 0 and told["sound"] and told["version"] == 1
    right = run("book", "check", "--sheet", "stool", "--key", told["fingerprint"])
    assert right.exit_code == 0 and "That is the key you named." in right.output
    assert not (tmp_path / "book.sqlite").exists()
    page = tmp_path / "stool" / "sheet.html"
    page.write_text(page.read_text("utf-8").replace("68.0 g", "0.0 g"), "utf-8")
    bad = run("book", "check", "--sheet", "stool")
    assert bad.exit_code == 1 and "sheet.html was changed since the sheet was signed." in flat(bad)


def test_an_older_version_is_written_as_it_was(run: Any, tmp_path: Path) -> None:
    assert run("sheet", "STOOL-001", *MAKER, "--out", "one").exit_code == 0
    second = run("sheet", "STOOL-001", "--maker", "Another name", "--out", "two")
    assert "Now: Maker: Another name." in flat(second)
    old = run("sheet", "STOOL-001", "--version", "1", "--out", "old")
    assert old.exit_code == 0 and "Version 1 of the sheet of STOOL-001, as it was given out" in flat(old)
    for path in (tmp_path / "one").iterdir():
        assert (tmp_path / "old" / path.name).read_bytes() == path.read_bytes()
    none = run("sheet", "STOOL-001", "--version", "7")
    assert none.exit_code == 3 and "version 1, 2" in flat(none)


def test_the_answer_to_a_customer(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WOODREF_TODAY", "2026-11-25")
    answer = run("sheet", "STOOL-001", "--answer")
    told = flat(answer)
    assert answer.exit_code == 0
    assert "European beech (Fagus sylvatica), LEGS-1, 950.4 g (50.7 % of the wood): what wood it is" in told
    assert "Stated by the supplier alone:" in told and "how it was grown (managed natural forest)" in told
    assert "may not rest on this, and we do not use it" in told
    assert "Directive (EU) 2024/825" in told and "from 2026-09-27 (from memory)" in told
    monkeypatch.setenv("WOODREF_TODAY", "2026-06-01")
    assert "from 2026-09-27, which is still to come" in flat(run("sheet", "STOOL-001", "--answer"))
    rules = json.loads(run("sheet", "STOOL-001", "--answer", "--json").output)
    assert [row["id"] for row in rules["rules"]] == ["eu-green-claims-2026"]


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("sheet", "STOOL-001", "--answer", "--version", "1"), 2, "it takes neither"),
        (("sheet", "STOOL-001", "--version", "0"), 2, "not in the range"),
        (("sheet", "NOTHING"), 3, "there is no item NOTHING"),
        (("sheet", "STOOL-001", "--maker", " "), 1, "no name of a shop"),
        (("sheet", "STOOL-001", "--out", "/dev/null/x"), 2, "cannot be made"),
        (("book", "check", "--key", "11"), 2, "--key goes with --sheet"),
        (("book", "check", "--sheet", "none"), 1, "cannot be read"),
        (("book", "check", "--sheet", "none", "--deposit", "x"), 2, "one by one"),
    ],
)
def test_what_cannot_be_done_is_told(run: Any, words: tuple[str, ...], code: int, says: str) -> None:
    told = run(*words)
    assert told.exit_code == code, told.output
    assert says in flat(told)


def test_json_of_a_sheet(run: Any) -> None:
    told = json.loads(run("sheet", "STOOL-001", *MAKER, "--json").output)
    assert told["version"] == 1 and told["new"] and told["sheet"]["maker"] == MAKER[1]
    assert {Path(path).name for path in told["files"]} >= {"sheet.json", "sheet.html"}
