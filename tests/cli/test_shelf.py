"""The book asked from the command line: item proof, a claim on closing, --in-stock of find and substitute."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]
SCENARIO = Path(__file__).resolve().parent.parent / "provenance" / "data" / "scenario.json"


@pytest.fixture
def shop(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The commands with the book of the Quillbeck Benders after E20."""
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("WOODREF_TODAY", "2026-01-15")
    assert run("book", "record", str(SCENARIO)).exit_code == 0
    return run


def test_proof_prints_what_is_wanting_and_ends_with_the_caution(shop: Run) -> None:
    told = " ".join(
        shop("item", "proof", "STOOL-002", "--to", "EU", "--home", "DE", "--form", "seat").output.split()
    )
    assert "in the EU on 2026-01-15, STOOL-002 is unproven: 3 things are wanting." in told
    assert "68 g of Dalbergia latifolia from L-C: L-C has no paper of its purchase." in told
    assert "Note #15 (2019 text): finished products pass with up to 10 kg" in told
    assert told.endswith("species lists last read in full as of 2017-04-21.")


def test_proof_as_json(shop: Run) -> None:
    result = shop(
        "item", "proof", "STOOL-001", "--to", "US", "--home", "DE", "--value", "420.00 EUR", "--json"
    )
    told = json.loads(result.output)
    assert (told["status"], told["gaps"], told["listed_g"]) == ("proven", [], 102.0)
    assert told["rules"]["id"] == "us-2008" and told["book"]["events"] == 20
    assert {lot["lot"]: lot["purchase"] for lot in told["lots"]} == dict.fromkeys(
        ("L-A", "L-B", "L-D", "L-E"), "documented"
    )
    assert told["caution"].startswith("Not legal advice")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("STOOL-009",), 3, "there is no lot STOOL-009"), (("L-A",), 2, "L-A is a lot, no item"),
        (("STOOL-001", "--to", "EU", "--form", "veneer"), 2, "--form"),
        (("STOOL-001", "--to", "EU", "--home", "Germany"), 2, "not a country code"),
        (("STOOL-001", "--on", "yesterday"), 2, "--on"),
        (("STOOL-001", "--book-at", "noon"), 1, "no time"),
        (("STOOL-001", "--to", "MARS"), 2, "Invalid value"),
    ],
)  # fmt: skip
def test_proof_refuses_in_words(shop: Run, words: tuple[str, ...], code: int, says: str) -> None:
    result = shop("item", "proof", *words)
    assert result.exit_code == code and says in result.output


def test_s1_a_claim_is_weighed_by_command(shop: Run) -> None:
    refused = shop("item", "close", "STOOL-002", "--claim", "all-proven")
    assert refused.exit_code == 1 and "L-C has no paper of its purchase" in " ".join(refused.output.split())
    assert "open" in shop("item", "show", "STOOL-002").output
    labelled = shop("item", "close", "STOOL-002", "--label", "contains unproven material")
    assert labelled.exit_code == 0 and "claim" not in labelled.output


def test_a_claim_in_a_file_of_events_is_weighed_too(shop: Run, tmp_path: Path) -> None:
    file = tmp_path / "claim.json"
    event = {"id": "S1", "kind": "close", "time": "2025-11-03T09:00:00+01:00", "item": "STOOL-002",
             "claim": "all-proven"}  # fmt: skip
    file.write_text(json.dumps({"events": [event]}), encoding="utf-8")
    refused = shop("book", "record", str(file))
    assert refused.exit_code == 1 and "L-C has no paper of its purchase" in " ".join(refused.output.split())


def test_find_in_stock(shop: Run) -> None:
    result = shop("find", "--in-stock", "--piece", "490x460", "--pieces", "4", "--joints", "2")
    told = " ".join(result.output.split())
    assert "L-B (Dalbergia latifolia), no shelf told: 10 leaves of 1800 x 200 mm are free" in told
    assert "4 pieces of 490 x 460 mm take 6 leaves that follow one another" in told
    assert "L-C (Dalbergia latifolia): 4 pieces take 6 leaves, and 2 are free: short by 4 leaves." in told
    asked = ("find", "rosewood", "--in-stock", "--piece", "490x460", "--pieces", "4", "--joints", "2")
    found = json.loads(shop(*asked, "--json").output)
    assert [row["id"] for row in found["rows"]] == ["dalbergia-latifolia"]
    (lot,) = found["in_stock"]["lots"]
    assert (lot["lot"], lot["leaves_needed"], lot["free_leaves"], lot["joints"]) == ("L-B", 6, 10, 2)
    assert {m["lot"]: m["code"] for m in found["in_stock"]["left_out"]} == {
        "L-C": "short", "L-F": "no-size", "L-G": "no-size"
    }  # fmt: skip
    assert shop(*asked, "--csv").output.splitlines()[1].endswith(",L-B")


def test_substitute_in_stock(shop: Run) -> None:
    job = ("--in-stock", "--piece", "490x460", "--pieces", "4", "--joints", "2")
    asked = ("substitute", "Brazilian rosewood", *job)
    found = json.loads(shop(*asked, "--json").output)
    assert {row["id"] for row in found["ranked"]} == {"fagus-sylvatica", "betula-pendula"}
    assert [row["id"] for row in found["with_papers"]] == ["dalbergia-latifolia"]
    assert {lot["lot"] for lot in found["in_stock"]["lots"]} == {"L-A", "L-B", "L-E"}
    assert found["query"]["in_stock"] is True and found["query"]["piece"]["joints"] == 2
    printed = " ".join(shop(*asked).output.split())
    assert "On the shelf" in printed and "Not from these lots" in printed
    # a ply that nobody sees takes any leaf beside any other
    core = json.loads(shop("substitute", "European beech", "--role", "core", *job, "--json").output)
    assert core["in_stock"]["in_sequence"] is False


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("find", "--piece", "490x460"), "--piece goes with --in-stock"),
        (("find", "--piece", "490x460", "--joints", "1"), "--piece and --joints go with --in-stock"),
        (("find", "--book", "x.sqlite"), "--book goes with --in-stock"),
        (("find", "--in-stock", "--pieces", "3"), "--pieces needs --piece"),
        (("find", "--in-stock", "--joints", "3"), "--joints needs --piece"),
        (("find", "--in-stock", "--piece", "wide"), "is not a size"),
        (("find", "--kind", "glue", "--in-stock"), "cannot be asked of a glue"),
        (("substitute", "teak", "--pieces", "3", "--piece", "490x460"), "--pieces goes with --in-stock"),
        (("substitute", "--batch", "list.csv", "--in-stock"), "do not go together"),
        (("substitute", "teak", "--in-stock", "--pieces", "3"), "--pieces needs --piece"),
    ],
)
def test_refusals_are_faults_of_the_request(shop: Run, words: tuple[str, ...], says: str) -> None:
    result = shop(*words)
    assert result.exit_code == 2 and says in " ".join(result.output.split())


def test_without_a_book_it_is_told(run: Run, tmp_path: Path) -> None:
    result = run("find", "--in-stock", "--book", str(tmp_path / "none.sqlite"))
    assert result.exit_code == 1 and "there is no book" in result.output
