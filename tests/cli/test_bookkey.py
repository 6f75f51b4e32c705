"""`woodref book key` and `book deposit`, as a maker calls them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodref.cli.main import main

SCENARIO = Path(__file__).resolve().parent.parent / "provenance" / "data" / "scenario.json"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("WOODREF_KEY", str(tmp_path / "keys" / "maker.key"))
    monkeypatch.chdir(tmp_path)

    def called(*words: str, put: str | None = None) -> Any:
        return CliRunner().invoke(main, list(words), input=put)

    assert called("book", "record", str(SCENARIO)).exit_code == 0
    return called


def test_from_no_key_to_a_deposit_that_is_held_against_the_book(run: Any, tmp_path: Path) -> None:
    assert "no key yet" in run("book", "key", "show").output
    made = run("book", "deposit", "--out", "head.json")
    assert made.exit_code == 0 and "From now on this book signs with key" in made.output
    assert "Signed: 21 events" in made.output
    again = run("book", "deposit", "--out", "head2.json")
    assert "From now on" not in again.output
    checked = run("book", "check", "--deposit", "head.json")
    assert checked.exit_code == 0 and "21 events hold" in checked.output
    told = json.loads(run("book", "key", "show", "--json").output)
    assert told["count"] == 1 and told["rows"][0]["what"] == "first"
    assert told["rows"][0]["fingerprint"] in made.output.replace("\n", " ")


def test_a_changed_deposit_and_one_of_another_book(run: Any, tmp_path: Path) -> None:
    run("book", "deposit", "--out", "head.json")
    body = json.loads((tmp_path / "head.json").read_text("utf-8"))
    (tmp_path / "bad.json").write_text(json.dumps(body | {"events": 20}), "utf-8")
    bad = run("book", "check", "--deposit", "bad.json")
    assert bad.exit_code == 1 and "no signed head" in bad.output
    missing = run("book", "check", "--deposit", "none.json")
    assert missing.exit_code == 1 and "cannot be read" in missing.output
    other = run("book", "record", str(SCENARIO), "--book", "other.sqlite")
    assert other.exit_code == 0
    off = run("book", "check", "--book", "other.sqlite", "--deposit", "head.json")
    assert off.exit_code == 1 and "another book" in off.output


def test_a_key_is_replaced_and_a_lost_one_said(run: Any, tmp_path: Path) -> None:
    none = run("book", "key", "replace")
    assert none.exit_code == 1 and "no key yet" in none.output
    run("book", "deposit")
    assert "signed that it hands over" in run("book", "key", "replace").output.replace("\n", " ")
    (tmp_path / "keys" / "maker.key").unlink()
    gone = run("book", "deposit")
    assert gone.exit_code == 1 and "there is no key at" in gone.output
    assert "was lost" in run("book", "key", "replace", "--lost").output.replace("\n", " ")
    shown = run("book", "key", "show").output.replace("\n", " ")
    assert shown.count("since") == 3 and "the first" in shown and "did not sign" in shown
    assert run("book", "check").exit_code == 0


def test_exports(run: Any, tmp_path: Path) -> None:
    run("book", "deposit")
    assert run("book", "key", "export", "public.pem").exit_code == 0
    assert "PUBLIC KEY" in (tmp_path / "public.pem").read_text("utf-8")
    locked = run("book", "key", "export", "locked.pem", "--private", put="harrowmere mill\nharrowmere mill\n")
    assert locked.exit_code == 0 and "harrowmere mill" not in locked.output
    assert "ENCRYPTED PRIVATE KEY" in (tmp_path / "locked.pem").read_text("utf-8")
    assert (tmp_path / "locked.pem").stat().st_mode & 0o077 == 0
    again = run("book", "key", "export", "locked.pem", "--private", put="harrowmere mill\nharrowmere mill\n")
    assert again.exit_code == 1 and "is there already" in again.output
