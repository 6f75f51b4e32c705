"""Lists of the user's own at the command line: brought in, shown, found, ranked, removed."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
IMPORT = (
    "data",
    "import",
    str(DEMO / "lists" / "harrow-veneers.csv"),
    "--map",
    str(DEMO / "lists" / "harrow-veneers.yaml"),
)


@pytest.fixture
def brought(run: Run) -> Run:
    told = run(*IMPORT)
    assert told.exit_code == 0, told.output
    assert told.stdout.startswith("14 rows of harrow-veneers.csv kept as the list harrow-veneers")
    assert "Columns left out, as the map says: Bay." in told.stdout
    return run


def test_lists_come_and_go(run: Run) -> None:
    assert "No list of your own is kept" in run("data", "lists").stdout
    run(*IMPORT)
    told = run("data", "lists").stdout
    assert "harrow-veneers: Veneers of the Harrowmere yard, 14 rows." in told
    assert "Not checked here." in told and "digest" in told
    twice = run(*IMPORT)
    assert twice.exit_code == 1 and "--replace" in twice.output
    assert "put in place of the one kept before" in run(*IMPORT, "--replace").stdout
    gone = run("data", "drop", "harrow-veneers")
    assert gone.stdout.startswith("Removed: the list harrow-veneers")
    assert run("data", "drop", "harrow-veneers").exit_code == 1
    assert run("find", "laburnum").stdout.startswith("No name of the catalogue holds")


def test_a_row_is_shown_as_the_lists_and_as_the_wood_it_is_here(brought: Run) -> None:
    told = brought("show", "my/harrow-veneers/sapele").stdout
    lines = told.splitlines()
    assert lines[0] == "From your list harrow-veneers, not checked here"
    assert "Known here as sapele (Entandrophragma cylindricum)" in told
    assert "Price: 9.40 EUR per m2." in told
    assert "shop rule, my/harrow-veneers line 7" in told
    assert "Not legal advice" in told


def test_a_row_that_is_no_wood_of_the_catalogue_says_so(brought: Run) -> None:
    told = brought("show", "laburnum").stdout
    assert "No wood of the catalogue is called so." in told
    assert "Its trade status is not known here" in told
    assert "No listing that we hold covers it" not in told
    flagged = brought("show", "Rosewood oddments").stdout
    assert "A listing may cover it: CITES Appendix I" in flagged


def test_what_no_list_tells_cannot_be_asked_of_its_rows(brought: Run) -> None:
    for more in (("--all",), ("--estimates",), ("--at", "rh=45"), ("--region", "GB")):
        told = brought("show", "laburnum", *more)
        assert told.exit_code == 2 and f"{more[0]} cannot be asked of a row of a list" in told.output
    for more in (("--plantation",), ("--kind", "glue"), ("--in-stock",), ("--only", "pores=ring")):
        told = brought("find", "--among", "harrow-veneers", *more)
        assert told.exit_code == 2 and "cannot be asked of a row of a list" in told.output


def test_rows_of_lists_are_found_by_name_below_the_woods(brought: Run) -> None:
    told = brought("find", "walnut")
    head, below = told.stdout.split("on your list", 1)
    assert "black walnut" in head and "my/" not in head
    assert below.count("my/harrow-veneers/american-black-walnut") == 2
    assert "From your list harrow-veneers" in below and "not checked here" in below
    rows = json.loads(brought("find", "walnut", "--json").stdout)["from_lists"]
    assert [(row["known_as"]["id"], row["checked"]) for row in rows] == [("juglans-nigra", False)] * 2
    # in a CSV of woods, and beside a question that no list answers, they are at least told
    assert "2 rows of your lists are called so too" in brought("find", "walnut", "--csv").stderr
    assert "do not tell what --plantation asks" in brought("find", "walnut", "--plantation").stdout


def test_a_list_is_gone_through_alone(brought: Run) -> None:
    told = brought("find", "--among", "harrow-veneers", "--with", "density=800..").stdout
    assert [line.split("  ")[0] for line in told.splitlines()[1:4]] == [
        "Laburnum",
        "Wenge",
        "Pommele bubinga",
    ]
    assert "may be listed" in told and "Not legal advice" in told
    assert "1 row" not in told
    none = brought("find", "zebra", "--among", "harrow-veneers")
    assert none.exit_code == 0 and 'holds "zebra"' in none.stdout
    wrong = brought("find", "--among", "harow-veneers")
    assert wrong.exit_code == 1 and 'did you mean "harrow-veneers"?' in wrong.output


def test_a_ranking_among_a_list_has_its_prices(brought: Run) -> None:
    told = " ".join(brought("substitute", "wenge", "--among", "harrow-veneers").stdout.split())
    assert "8 rows are of 7 woods known here, 6 are not." in told
    assert "14.20 EUR per m2 and 1 more" in told
    assert "A listing covers or may cover 3 rows not known here" in told
    rows = list(
        csv.DictReader(
            io.StringIO(brought("substitute", "wenge", "--among", "harrow-veneers", "--csv").stdout)
        )
    )
    assert rows[0]["id"] == "juglans-nigra" and "14.20 EUR" in rows[0]["list_rows"]
    again = json.loads(brought("substitute", "wenge", "--json").stdout)
    assert again["among"] is None and again["ranked"][0]["list_rows"] is None


def test_a_parts_list_is_answered_among_a_list(brought: Run, tmp_path: Path) -> None:
    parts = tmp_path / "parts.csv"
    parts.write_text("part,wood,role\nseat,wenge,face\nback,teak,back\n")
    rows = json.loads(
        brought("substitute", "--batch", str(parts), "--among", "harrow-veneers", "--json").stdout
    )
    assert rows["rows"][0]["id"] == "juglans-nigra"


def test_no_other_command_takes_a_row_for_a_wood(brought: Run) -> None:
    for words in (("compare", "teak", "my/harrow-veneers/sapele"), ("trade", "my/harrow-veneers/sapele"),
                  ("substitute", "my/harrow-veneers/sapele")):  # fmt: skip
        told = brought(*words)
        assert told.exit_code in (2, 3), words
    assert "kept apart from the catalogue" in brought("compare", "teak", "my/harrow-veneers/sapele").output


def test_without_among_a_ranking_is_the_same_with_and_without_lists(run: Run) -> None:
    asked = (("substitute", "wenge"), ("show", "teak"), ("compare", "teak", "wenge"),
             ("find", "--with", "density=..420"))  # fmt: skip
    before = [run(*words).output for words in asked]
    run(*IMPORT)
    assert [run(*words).output for words in asked] == before


def test_faults_are_a_page_and_a_formula_stays_text(run: Run, tmp_path: Path) -> None:
    (tmp_path / "m.yaml").write_text(
        "list: bad\ntitle: T\nsource: {title: T, licence: none, date: 2026-01-01, got: here}\n"
        "columns: {name: Wood, density: {column: Weight, unit: kg/m3, moisture: 12}, note: Note}\n"
    )
    (tmp_path / "l.csv").write_text('Wood,Weight,Note\n=1+1,600,"=HYPERLINK(""x"")"\n@oak,heavy,-2+3\n')
    asked = ("data", "import", str(tmp_path / "l.csv"), "--map", str(tmp_path / "m.yaml"))
    told = run(*asked)
    assert told.exit_code == 1 and 'l.csv:3, column "Weight"' in told.output
    assert "No list of your own is kept" in run("data", "lists").stdout
    told = run(*asked, "--leave-out-faulty")
    assert told.exit_code == 0 and "1 row was left out for 1 fault:" in told.stdout
    assert 'l.csv:3, column "Weight": "heavy"' in told.stdout
    (row,) = csv.DictReader(io.StringIO(run("find", "--among", "bad", "--csv").stdout))
    assert row["name"] == "'=1+1" and row["notes"].startswith("Note: =")


def test_a_spoilt_list_is_told_and_stops_no_search(brought: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    place = Path(json.loads(brought("data", "lists", "--json").stdout)["rows"][0]["path"])
    place.write_bytes(b"spoilt")
    told = brought("find", "walnut")
    assert told.exit_code == 0 and "black walnut" in told.stdout and "cannot be read" in told.stderr
    assert "cannot be read" in brought("data", "lists").stderr
    assert brought("show", "teak").exit_code == 0
    assert "removed" in brought("data", "drop", "harrow-veneers").stdout


def test_a_file_that_is_not_there_is_a_sentence(run: Run, tmp_path: Path) -> None:
    told = run("data", "import", str(tmp_path / "no.csv"), "--map", IMPORT[-1])
    assert told.exit_code == 1 and "cannot be read" in told.output
    assert run("data", "import", "-", "--map", "-").exit_code == 1
    assert run("data", "import", IMPORT[2]).exit_code == 2
