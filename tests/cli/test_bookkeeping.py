"""Papers, parties, public copy, backup and restore as a person runs them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from woodref.cli.main import main

CLONE = Path(__file__).resolve().parents[2]
SCENARIO = CLONE / "tests" / "provenance" / "data" / "scenario.json"
Run = Callable[..., Result]


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Run) -> Path:
    """The book of the two stools in a folder of its own."""
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "shop" / "book.sqlite"))
    monkeypatch.setenv("WOODREF_PARTIES", str(tmp_path / "own" / "parties.sqlite"))
    assert run("book", "record", str(SCENARIO)).exit_code == 0
    return tmp_path


def flat(result: Result) -> str:
    """What was printed, on one line."""
    return " ".join(result.output.split())


def test_every_part_has_an_example(run: Run) -> None:
    for words in (
        ("document", "add"), ("document", "list"), ("book", "publish"), ("book", "backup"), ("book",
        "restore"),
        ("book", "party", "add"), ("book", "party", "list"), ("book", "party", "show"), ("book", "party",
        "link"),
        ("book", "party", "erase"),
    ):  # fmt: skip
        assert f"Example: woodref {' '.join(words)}" in run(*words, "--help").output


def test_a_paper_from_the_drawer(shop: Path, run: Run) -> None:
    scan = shop / "scan.pdf"
    scan.write_bytes(b"an old bill")
    done = run("document", "add", "L-C", str(scan), "--kind", "invoice", "--number", "2009-77", "--issued",
               "2009-03-04", "--covers", "3 leaves of 1800 x 200 mm")  # fmt: skip
    assert done.exit_code == 0 and "It covers 1.08 m2 (1,080,000 mm2)." in flat(done)
    told = run("document", "list", "L-C", "--check")
    assert told.exit_code == 0 and "the same" in told.stdout and "2009-77." in told.stdout
    assert "their files are there" in flat(run("book", "check")) or "its file is there" in flat(
        run("book", "check")
    )
    # the same again is no second paper
    again = run("document", "add", "L-C", str(scan), "--kind", "invoice")
    assert again.exit_code == 1 and "on record of L-C already" in flat(again)
    kept = next((shop / "shop" / "papers").iterdir())
    kept.write_bytes(b"another bil")
    for words in (("document", "list", "--check"), ("book", "check")):
        told = run(*words)
        assert told.exit_code == 1 and "its file is not the one recorded" in flat(told)
    assert run("document", "list").exit_code == 0  # looked for, not read
    wrong = json.loads(run("book", "check", "--json").stdout)
    assert wrong["files"]["wrong"] == 1 and wrong["trusted"] == wrong["events"] == 21


def test_what_the_book_refuses_leaves_no_file(shop: Path, run: Run) -> None:
    scan = shop / "scan.pdf"
    scan.write_bytes(b"a letter")
    done = run("document", "add", "L-C", str(scan), "--kind", "invoice", "--issuer", "ring 01632 960123")
    assert done.exit_code == 1 and "has no place in the book" in flat(done) and "960123" not in done.output
    assert not list((shop / "shop" / "papers").iterdir())
    done = run("document", "add", "L-C", str(scan), "--kind", "affidavit", "--tier", "private", "--about",
               "from odalind@thripple.example")  # fmt: skip
    assert done.exit_code == 1 and not list((shop / "shop" / "papers").iterdir())
    from woodref.provenance.parties import open_parties

    with open_parties() as parties:
        assert parties.salts() == {}
    for words in (
        ("document", "add", "L-Z", "--kind", "invoice"), ("document", "list", "L-Z"),
    ):  # fmt: skip
        assert run(*words).exit_code == 3
    assert run("document", "add", "L-C", "--kind", "bill").exit_code == 2


def test_a_buyer_comes_and_goes(shop: Path, run: Run) -> None:
    # asked for, so that the name stays out of the shell's history
    done = CliRunner().invoke(main, ["book", "party", "add", "--role", "buyer"], input="Odalind Thripple\n")
    assert done.exit_code == 0
    row = json.loads(run("book", "party", "list", "--json").stdout)["rows"][0]
    assert row["name"] == "Odalind Thripple" and row["id"] in done.output
    assert run("item", "close", "STOOL-002").exit_code == 0
    assert run("item", "ship", "STOOL-002", "--to", "Odalind").exit_code == 3
    assert run("item", "ship", "STOOL-002", "--parties", "x").exit_code == 2
    done = run("item", "ship", "STOOL-002", "--to", row["id"][:8])
    assert done.exit_code == 0 and f"Shipped STOOL-002 to party {row['id']}." in flat(done)
    assert "item STOOL-002" in run("book", "party", "show", row["id"][:8]).output
    assert run("book", "party", "link", row["id"][:8], "STOOL-001").exit_code == 0
    assert run("book", "party", "link", row["id"][:8], "STOOL-009").exit_code == 3
    assert "D-01 is no private paper" in flat(run("book", "party", "link", row["id"][:8], "D-01"))
    asked = run("book", "party", "erase", row["id"])
    assert asked.exit_code == 2 and "--yes" in asked.output
    done = run("book", "party", "erase", row["id"], "--yes")
    assert done.exit_code == 0 and "The book keeps the id and holds as before." in flat(done)
    assert run("book", "check").exit_code == 0
    assert "Odalind" not in run("book", "party", "list").output


def test_no_party_yet(shop: Path, run: Run) -> None:
    told = run("book", "party", "list")
    assert told.exit_code == 1 and "there are no parties at" in flat(told)


def test_backup_and_the_way_back(shop: Path, run: Run) -> None:
    stick = shop / "stick"
    done = run("book", "backup", str(stick))
    assert done.exit_code == 0 and "Backed up 20 events to" in flat(done) and "it holds" in flat(done)
    assert "It lies on the same disk as the book" in flat(done)
    copy = next(stick.iterdir())
    assert f"To put it back: woodref book restore {copy}" in flat(done)
    assert run("book", "backup", str(shop / "shop")).exit_code == 2
    assert run("stock", "scrap", "L-A", "1 m2").exit_code == 0
    asked = run("book", "restore", str(copy))
    assert asked.exit_code == 1 and "1 event in it would be lost: scrap-L-A-" in flat(asked)
    assert "Nothing was changed. To go on: the same command with --yes." in flat(asked)
    assert "21 events hold" in flat(run("book", "check"))
    done = run("book", "restore", str(copy), "--yes")
    assert done.exit_code == 0 and "nothing was deleted" in flat(done)
    assert "20 events hold" in flat(run("book", "check"))
    told = json.loads(run("book", "restore", str(copy), "--json").stdout)
    assert (told["done"], told["present"], told["lost"]) == (False, 20, [])


def test_postgresql_is_sent_to_its_own_tool(run: Run, tmp_path: Path) -> None:
    for words, tool in ((("backup", str(tmp_path / "b")), "pg_dump"), (("restore", __file__), "pg_restore")):
        told = run("book", *words, "--book", "postgresql://nobody@localhost/none")
        assert told.exit_code == 2 and f"Use {tool}, which comes with PostgreSQL" in flat(told)


def test_the_public_copy_with_the_shelf(shop: Path, run: Run) -> None:
    done = run("book", "publish", str(shop / "mine.sqlite"), "--shelf")
    assert done.exit_code == 0 and "The shelf is in it too: 11 lots" in flat(done)
    assert "Keep this copy to yourself" in flat(done)
    assert (
        json.loads(run("book", "publish", str(shop / "mine.sqlite"), "--shelf", "--json").stdout)["lots"]
        == 11
    )
    assert json.loads(run("book", "publish", str(shop / "public.sqlite"), "--json").stdout)["lots"] is None


def test_the_public_copy(shop: Path, run: Run) -> None:
    done = run("book", "publish", str(shop / "public.sqlite"))
    assert done.exit_code == 0 and "with 1 item, 4 woods and 0 public papers" in flat(done)
    assert "1 item is not in it: only what is closed or shipped is shown." in flat(done)
    assert run("book", "publish", str(shop / "shop" / "book.sqlite")).exit_code == 2
