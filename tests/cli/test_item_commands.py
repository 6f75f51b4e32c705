"""Items by command: closed with what they keep, repaired, taken apart, remade."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from woodref.cli import itemmore
from woodref.cli.main import main

HERE = Path(__file__).resolve().parent
SCENARIO = HERE.parent / "provenance" / "data" / "scenario.json"
LAYUP = str(HERE / "layups" / "stool-seat.yaml")


def run(*words: str, stdin: str | None = None) -> Result:
    result = CliRunner().invoke(main, list(words), input=stdin)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("WOODREF_BOOK", str(path))
    assert run("book", "record", str(SCENARIO)).exit_code == 0
    return path


def test_a_stool_from_the_last_coat_to_its_repair_and_away_again(book: Path, tmp_path: Path) -> None:
    closed = run(
        "item", "close", "STOOL-002", "--label", "contains unproven material", "--layup", LAYUP,
        "--mould", "stool seat", "--radius", "300 mm", "--glue-lot", "G-1", "--finish-words", "oil and wax",
        "--finish-lot", "F-1", "--set-moisture", "7 %", "--serial", "002", "--role", "face=L-H2",
        "--role", "back=L-K", "--emission", "D-06=formaldehyde 0.03 ppm", "--care", "Wipe it dry",
        "--repairable", "yes: the seat comes off", "--reserve", "L-C=2 leaves",
    )  # fmt: skip
    assert closed.exit_code == 0, closed.output
    assert "Mould: stool seat, radius 300 mm." in closed.stdout
    assert "Reserved 2 leaves of 1800 x 200 mm (720,000 mm2) of L-C for repairs of STOOL-002" in " ".join(
        closed.stdout.split()
    )
    shown = " ".join(run("item", "show", "STOOL-002").stdout.split())
    assert "serial 002: closed" in shown and "It can be repaired: the seat comes off." in shown
    assert run("item", "ship", "STOOL-002").exit_code == 0
    early = run("item", "repair", "STOOL-002", "--with", "L-C=1 leaf")
    assert early.exit_code == 1 and "woodref item return" in " ".join(early.stderr.split())
    assert "came back" in run("item", "return", "STOOL-002", "--note", "corner split").stdout
    mended = run("item", "repair", "STOOL-002", "--with", "L-C=1 leaf", "--out-part", "a corner", "--json")
    told = json.loads(mended.stdout)
    assert told["event"].startswith("repair-") and [r["event"].split("-")[0] for r in told["rows"]] == [
        "release", "repair", "reserve",
    ]  # fmt: skip
    assert run("item", "close", "STOOL-002").exit_code == run("item", "ship", "STOOL-002").exit_code == 0
    shown = " ".join(run("item", "show", "STOOL-002").stdout.split())
    assert "0.36 m2 of L-C went in; came out: a corner." in shown and "contains unproven material" in shown
    page = tmp_path / "kit.html"
    written = run("item", "repair-kit", "STOOL-002", "--out", str(page))
    assert written.stdout == "" and f"Written: {page}" in written.stderr
    assert "0.36 m2 kept back for this item" in page.read_text("utf-8")
    kit = run("item", "repair-kit", "STOOL-002").stdout
    # the layup stands as it is in its file, every line of it
    assert all(f"  {line}" in kit.splitlines() for line in Path(LAYUP).read_text("utf-8").splitlines())
    assert run("book", "check").exit_code == 0


def test_on_a_terminal_following_leaves_are_offered(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(itemmore, "asks", lambda: True)
    # L-F and L-G hold no leaves of a told size; of L-B two leaves, of the others nothing
    told = run("item", "close", "STOOL-002", "--role", "face=L-F",
               stdin="\n2 leaves\n")  # fmt: skip
    assert told.exit_code == 0, told.output
    assert "10 leaves of 1800 x 200 mm are free" in " ".join(told.stderr.split())
    assert "Reserved 2 leaves of 1800 x 200 mm (720,000 mm2) of L-B" in " ".join(told.stdout.split())
    stock = json.loads(run("stock", "show", "L-B", "--json").stdout)
    assert stock["lot"]["reserved"] == 720_000


def test_what_is_asked_for_and_not_there_closes_nothing(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = run("item", "close", "STOOL-002", "--reserve", "L-C=9 leaves")
    assert told.exit_code == 1 and "720,000 left" in " ".join(told.stderr.split())
    assert json.loads(run("item", "show", "STOOL-002", "--json").stdout)["state"] == "open"
    monkeypatch.setattr(itemmore, "asks", lambda: True)
    told = run("item", "close", "NOPE", stdin="2 leaves\n")
    assert told.exit_code == 3 and "keep back" not in told.stderr


def test_a_lamp_is_taken_apart(book: Path) -> None:
    assert "taken apart for good" in run("item", "dismantle", "STOOL-002", "--note", "beyond repair").stdout
    assert json.loads(run("item", "show", "STOOL-002", "--json").stdout)["state"] == "destroyed"
    again = run("item", "dismantle", "STOOL-002")
    assert again.exit_code == 1 and "destroyed" in again.stderr


@pytest.mark.parametrize(
    ("words", "leaves"),
    [
        (("item", "close", "STOOL-002", "--radius", "300 mm"), 2),
        (("item", "close", "STOOL-002", "--set-moisture", "7"), 1),
        (("item", "close", "STOOL-002", "--layup", "/nowhere.yaml"), 1),
        (("item", "close", "STOOL-001"), 1),
        (("item", "repair", "NOPE", "--with", "L-C=1 leaf"), 3),
        (("item", "repair", "STOOL-002", "--with", "L-C"), 2),
        (("item", "repair-kit", "L-C"), 2),
        (("item", "repair-kit", "NOPE"), 3),
        (("item", "return", "STOOL-002"), 1),
    ],
)  # fmt: skip
def test_faults_have_their_exit_and_one_shape(book: Path, words: tuple[str, ...], leaves: int) -> None:
    plain = run(*words)
    assert plain.exit_code == leaves and plain.stderr.strip() and not plain.stdout
    told = run(*words, "--json")
    assert told.exit_code == leaves and set(json.loads(told.stdout)["error"]) >= {"code", "message", "next"}
