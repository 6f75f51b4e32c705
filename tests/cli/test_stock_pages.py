"""`woodref stock label`, `slip`, `day` and `pick` as a maker runs them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner, Result

from woodref.cli import stockday
from woodref.cli.main import main

Run = Callable[..., Result]
DAY = """\
- day: {date: 2026-01-05, offset: "+01:00"}
- cut:
    {lot: W-7, amount: 2 leaves, into: {FACE-1: 4 leaves of 490 x 180 mm}, note: sap, time: "09:20", who: qb}
- scrap: {lot: W-7, amount: 1 leaf}
"""
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


@pytest.fixture
def book(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with twelve leaves of walnut."""
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("WOODREF_BOOK", str(path))
    leaves = "12 leaves of 1800 x 200 mm, 0.6 mm"
    told = ("--species", "Juglans nigra", "--country", "US", "--shelf", "A2", "--words", "black walnut")
    done = run("stock", "receive", "W-7", leaves, *told, "--time", "2026-01-02T09:00:00Z")
    assert done.exit_code == 0, done.output
    return path


def asked(*lines: str, words: tuple[str, ...] = ()) -> Result:
    """`stock day` on a terminal, with what the person types."""
    told = "".join(f"{line}\n" for line in lines)
    result = CliRunner().invoke(main, ["stock", "day", *words], input=told)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def events(run: Run) -> int:
    done = run("book", "check", "--json")
    told = json.loads(done.stdout)
    assert told["sound"], told
    return int(told["events"])


def test_labels_are_written(run: Run, book: Path, tmp_path: Path) -> None:
    out = tmp_path / "labels.html"
    done = run("stock", "label", "W-7", "W-7", "--out", str(out))
    assert done.exit_code == 0 and "2 labels on 1 page" in done.stdout and "Not legal advice" in done.stdout
    assert f"Written: {out}" in done.stderr.replace("\n", " ") or "Written:" in done.stderr
    soup = BeautifulSoup(out.read_text("utf-8"), "html.parser")
    assert [h2.get_text() for h2 in soup.find_all("h2")] == ["W-7", "W-7"]
    assert "Juglans nigra" in soup.get_text() and "black walnut" in soup.get_text()
    assert run("stock", "label", "W-7", "--size", "strip", "--out", str(out)).exit_code == 0
    assert "size: 62mm 120mm" in out.read_text("utf-8")


def test_what_cannot_be_labelled(run: Run, book: Path, tmp_path: Path) -> None:
    out = tmp_path / "no.html"
    assert run("stock", "label", "W-8", "--out", str(out)).exit_code == 3 and not out.exists()
    assert run("stock", "label", "--out", str(out)).exit_code == 2
    assert run("stock", "label", "W-7").exit_code == 2
    done = run("stock", "label", "W-7", "--out", str(tmp_path / "no" / "where.html"))
    assert done.exit_code == 2 and "cannot be written" in done.stderr


def test_a_slip_with_and_without_a_lot(run: Run, book: Path, tmp_path: Path) -> None:
    out = tmp_path / "slip.html"
    assert run("stock", "slip", "--out", str(out)).exit_code == 0
    assert "as on its label" in out.read_text("utf-8")
    assert run("stock", "slip", "W-7", "--out", str(out)).exit_code == 0 and "12 leaves" in out.read_text(
        "utf-8"
    )
    assert run("stock", "slip", "W-8", "--out", str(out)).exit_code == 3
    refused = run("stock", "slip", "--book", str(book), "--out", str(out))
    assert refused.exit_code == 2 and "--book is of no use without LOT" in refused.stderr


def test_a_day_of_a_file(run: Run, book: Path, tmp_path: Path) -> None:
    file = tmp_path / "monday.yaml"
    file.write_text(DAY, encoding="utf-8")
    done = run("stock", "day", str(file), "--actor", "office")
    assert done.exit_code == 0, done.output
    said = " ".join(done.stdout.split())
    assert said.startswith("1. Cut 2 leaves of 1800 x 200 mm (720,000 mm2) of W-7.")
    assert "2. Scrapped 1 leaf" in said and said.endswith("Recorded 2 slips.")
    # lot, before, now, free, leaves, exactly
    assert "W-7 4.32 m2 3.24 m2 3.24 m2 9 3,240,000 mm2" in said
    assert events(run) == 3
    again = run("stock", "day", str(file), "--json", "--actor", "office")
    told = json.loads(again.stdout)
    assert (told["count"], told["again"], [row["again"] for row in told["rows"]]) == (0, 2, [True, True])
    assert events(run) == 3


def test_a_day_of_standard_input_or_nothing_of_it(run: Run, book: Path) -> None:
    wrong = DAY + "- scrap: {lot: W-7, amount: 10 leaves}\n"
    done = CliRunner().invoke(main, ["stock", "day", "-"], input=wrong)
    assert done.exit_code == 1 and done.stdout == ""
    assert "standard input:5: lot W-7: asked 3,600,000 mm2; on hand 3,240,000" in " ".join(
        done.stderr.split()
    )
    assert events(run) == 1
    told = json.loads(CliRunner().invoke(main, ["stock", "day", "-", "--json"], input=wrong).stdout)
    assert told["error"]["code"] == "bad-import" and "Nothing was recorded." in told["error"]["next"]
    assert CliRunner().invoke(main, ["stock", "day", "-"], input=DAY).exit_code == 0 and events(run) == 3


def test_the_day_of_the_clocks(run: Run, book: Path, tmp_path: Path) -> None:
    file = tmp_path / "d.yaml"
    file.write_text('- scrap: {lot: W-7, amount: 1 leaf, time: "09:40"}\n', encoding="utf-8")
    done = run("stock", "day", str(file))
    assert done.exit_code == 1 and "which day" in done.stderr and "--day" in done.stderr
    assert run("stock", "day", str(file), "--day", "5 January").exit_code == 1
    assert run("stock", "day", str(file), "--day", "2026-01-05").exit_code == 0
    assert run("stock", "day", str(tmp_path / "none.yaml")).exit_code == 1


def test_the_example_of_a_day_can_be_read(run: Run) -> None:
    from woodref.provenance.dayfile import slips_of

    assert len(slips_of(run("stock", "day", "--example").stdout.encode(), "example")) == 5


def test_without_a_file_and_without_a_terminal(run: Run, book: Path) -> None:
    for words in ((), ("--json",)):
        done = run("stock", "day", *words)
        assert done.exit_code == 2 and "there is no file of slips" in done.output


def test_slips_are_asked_for_one_by_one(run: Run, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stockday, "_at_a_terminal", lambda: True)
    cut = (
        "cut",
        "W-7",
        "2 leaves",
        "FACE-1=4 leaves of 490 x 180 mm",
        "no",
        "FACE-1=1 leaf",
        "",
        "",
        "",
        "",
        "qb",
        "09:20",
    )
    wrong = ("scrap", "W-9", "1 leaf", "", "", "")
    scrap = ("scrap", "W-7", "1 leaf", "split", "", "09:40")
    done = asked("weld", *cut, *wrong, *scrap, "", "y", words=("--day", "2026-01-05"))
    assert done.exit_code == 0, done.output
    said = " ".join(done.output.split())
    for words in (
        "weld is no work", "LOT=AMOUNT is wanted", "FACE-1 is told already", "1. Cut 2 leaves",
        "slip 2: there is no lot W-9", "2. Scrapped 1 leaf", "Recorded 2 slips.", "Record these slips?",
    ):  # fmt: skip
        assert words in said, words
    assert events(run) == 3
    moves = json.loads(run("stock", "show", "W-7", "--json").stdout)["moves"]
    assert [(m["kind"], m["change"]) for m in moves] == [
        ("receive", 4_320_000), ("cut", -720_000), ("scrap", -360_000),
    ]  # fmt: skip


@pytest.mark.parametrize("end", [("", "n"), ()], ids=["no", "broken off"])
def test_nothing_is_written_before_it_is_agreed(
    run: Run, book: Path, monkeypatch: pytest.MonkeyPatch, end: tuple[str, ...]
) -> None:
    monkeypatch.setattr(stockday, "_at_a_terminal", lambda: True)
    done = asked("scrap", "W-7", "1 leaf", "split", "qb", "09:40", *end, words=("--day", "2026-01-05"))
    assert "1. Scrapped 1 leaf" in done.output and events(run) == 1
    assert done.exit_code == (0 if end else 1)


def test_a_page_to_fetch_by(run: Run, book: Path, tmp_path: Path) -> None:
    out, layup = tmp_path / "fetch.html", str(DEMO / "seat-shell.yaml")
    done = run("stock", "pick", "--layup", layup, "--out", str(out))
    assert done.exit_code == 0, done.output
    assert "seat shell: 7 plies, 4 parts; 1 lot to go to." in done.stdout
    assert "Liriodendron tulipifera 1.5 mm: nothing on hand serves." in done.stdout
    assert "W-7" in out.read_text("utf-8") and "<title>To fetch: seat shell</title>" in out.read_text("utf-8")
    told = json.loads(run("stock", "pick", "--layup", layup, "--json").stdout)
    assert [row["lot"] for row in told["rows"]] == ["W-7"] and told["wants"][1]["short"] == 4
    assert run("stock", "pick").exit_code == 2
    assert run("stock", "pick", "--layup", str(tmp_path / "none.yaml")).exit_code == 1
    assert events(run) == 1
