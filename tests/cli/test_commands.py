"""The commands as a person runs them: headings, exit codes, JSON keys, hostile words."""

from __future__ import annotations

import json
import shlex
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from woodref.cli.main import COMMANDS, main

HERE = Path(__file__).parent
CLONE = HERE.resolve().parents[1]


def run(*words: str, stdin: str | None = None) -> Result:
    result = CliRunner().invoke(main, list(words), input=stdin, catch_exceptions=True)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def answer(*words: str) -> dict[str, Any]:
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    out: dict[str, Any] = json.loads(result.stdout)
    return out


def test_help_names_every_command_and_each_has_an_example() -> None:
    told = run("--help").output
    for command in COMMANDS:
        assert command in told
        page = run(command, "--help").output
        assert "Example: woodref" in page or command in ("data", "book", "stock", "item", "document")
    for part in ("check", "build", "new", "fields", "sources", "coverage", "export", "diff"):
        assert f"Example: woodref data {part}" in run("data", part, "--help").output
    for part in ("record", "check"):
        assert f"Example: woodref book {part}" in run("book", part, "--help").output
    work = ("receive", "cut", "joint", "press", "scrap", "reserve", "release")
    for part in (*work, "list", "show", "label", "slip", "day", "pick", "cost"):
        assert f"Example: woodref stock {part}" in run("stock", part, "--help").output
    for part in ("make", "close", "ship", "repair", "return", "dismantle", "repair-kit", "list", "show"):
        assert f"Example: woodref item {part}" in run("item", part, "--help").output


def test_show_has_its_headings_in_order() -> None:
    lines = run("show", "alnus-rubra").stdout.splitlines()
    heads = [line for line in lines if line and not line.startswith(" ")]
    assert heads == [
        "Is it this wood?",
        "May I?",
        "Can I get it?",
        "How will it look?",
        "Will it bend and glue?",
        "Will it stay?",
        "How heavy, how stiff?",
        "What can hurt you",
    ]
    full = run("show", "alnus-rubra", "--all").stdout
    assert "Every figure held" in full


def test_units_turn_what_is_printed_and_not_the_json() -> None:
    # red alder: 459.2 kg/m3 = 28.7 lb/ft3, 9.5 GPa = 1.38 million psi (FPL-GTR-190 Table 5-3b prints 1.38)
    told = run("show", "alnus-rubra", "--units", "us").stdout
    assert "28.7 lb/ft3" in told and "1.38 million psi" in told and "590 lbf" in told.replace("585", "590")
    metric, us = (answer("show", "alnus-rubra", "--units", u) for u in ("metric", "us"))
    assert metric["figures"] == us["figures"]


TYPES = {"str": str, "list": list, "dict": dict, "int": int, "float": (int, float), "bool": bool}


def _check(shape: Any, value: Any, where: str) -> None:
    """Every key of the contract is there with its type; unknown is null, never absent."""
    if isinstance(shape, dict):
        assert isinstance(value, dict), where
        for key, sub in shape.items():
            assert key in value, f"{where}.{key} is absent"
            _check(sub, value[key], f"{where}.{key}")
    elif isinstance(shape, list):
        assert isinstance(value, list), where
        for index, item in enumerate(value):
            _check(shape[0], item, f"{where}[{index}]")
    else:
        name = shape.removesuffix("?")
        if value is None:
            assert shape.endswith("?"), f"{where} is null"
        else:
            assert isinstance(value, TYPES[name]), f"{where}: {value!r} is not {name}"


CONTRACT = json.loads((HERE / "contract.json").read_text("utf-8"))


@pytest.mark.parametrize("name", CONTRACT)
def test_the_json_contract(name: str, stock_book: Path, seat_bundle: Path) -> None:
    entry = CONTRACT[name]
    places = {"{clone}": str(CLONE), "{book}": str(stock_book), "{bundle}": str(seat_bundle)}
    # "before" brings in what the commands ask about
    for words in [*entry.get("before", []), *entry["commands"]]:
        for place, real in places.items():
            words = [word.replace(place, real) for word in words]
        told = answer(*words)
        if words[:2] != ["data", "import"] or name == "data import":
            _check(entry["shape"], told, name)


@pytest.fixture(scope="module")
def seat_bundle(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The workshop's seat shell as a bundle."""
    path = tmp_path_factory.mktemp("bundle") / "seat-shell.zip"
    told = run("layup", str(CLONE / "data" / "demo" / "seat-shell.yaml"), "--short", "--bundle", str(path))
    assert told.exit_code == 0 and f"Written: {path}" in told.stderr.replace("\n", ""), told.output
    return path


@pytest.fixture(scope="module")
def stock_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book of the two stools."""
    book = tmp_path_factory.mktemp("stock") / "book.sqlite"
    told = run("book", "record", str(SCENARIO), "--book", str(book))
    assert told.exit_code == 0 and "Recorded 20 events. The book has 20." in told.stdout, told.output
    return book


SCENARIO = CLONE / "tests" / "provenance" / "data" / "scenario.json"


def test_a_trace_reads_as_a_maker_asks(stock_book: Path) -> None:
    told = run("whence", "STOOL-002", "--book", str(stock_book)).stdout
    assert "133,333.3 mm2" in told and "68.0 g" in told and "G-1 (adhesive): 460,000 mg used." in told
    told = run("went-into", "L-C", "--book", str(stock_book)).stdout
    assert [line.split()[0] for line in told.splitlines()[1:6]] == [
        "L-G",
        "L-H2",
        "P-2",
        "SEAT-2",
        "STOOL-002",
    ]
    assert "720,000 mm2 of L-C itself are on hand." in told
    again = run("book", "record", str(SCENARIO), "--book", str(stock_book)).stdout
    assert "Recorded 0 events; 20 stood there already. The book has 20." in again
    assert run("book", "check", "--book", str(stock_book)).exit_code == 0


def test_a_delivery_is_taken_in_and_found_again(tmp_path: Path) -> None:
    book = ("--book", str(tmp_path / "b.sqlite"))
    told = run(
        "stock", "receive", "W-7", "12 leaves of 1800 x 200 mm, 0.6 mm", "--species", "Juglans nigra", *book
    )
    assert told.stdout == "Received W-7: 12 leaves of 1800 x 200 mm, 0.6 mm (4,320,000 mm2).\n"
    # by hand: one mm2 of 0.6 mm at 850 kg/m3 is 0.00051 g
    found = ("--thickness", "0.6 mm", "--density", "850", "--found", "--words", "rose?")
    told = run("stock", "receive", "W-8", "1 m2", *found, *book)
    mass = json.loads(run("whence", "W-8", "--json", *book).stdout)["rows"][0]["mass_g"]
    assert mass == pytest.approx(0.00051, abs=1e-6)
    assert told.stdout == "Found W-8: 1 m2 (1,000,000 mm2).\n"
    assert "W-7" in (listed := run("stock", "list", "Walnut", *book).stdout) and "W-8" not in listed
    assert 'Nothing is on hand with "%" in it.' in run("stock", "list", "%", *book).stdout
    assert "4.32 m2 (4,320,000 mm2)" in run("stock", "show", "W-7", *book).stdout
    again = run(
        "stock", "receive", "W-7", "1 m2", "--thickness", "0.6 mm", "--species", "Juglans nigra", *book
    )
    assert again.exit_code == 1 and "W-7" in again.stderr
    near = run(
        "stock", "receive", "W-9", "1 m2", "--thickness", "0.6 mm", "--species", "Juglans nigrra", *book
    )
    assert near.exit_code == 3 and "Did you mean Juglans nigra" in " ".join(near.stderr.split())
    assert run("stock", "show", "W-9", *book).exit_code == 3
    assert run("book", "check", *book).exit_code == 0


def test_work_on_a_lot_to_an_item_at_the_door(tmp_path: Path) -> None:
    book = ("--book", str(tmp_path / "b.sqlite"))
    run("stock", "receive", "W-7", "12 leaves of 1800 x 200 mm, 0.6 mm", "--species", "Juglans nigra", *book)
    cut = run("stock", "cut", "W-7", "2 leaves", "--into", "FACE=4 leaves of 490 x 180 mm", *book)
    # by hand: 720,000 mm2 taken, 352,800 kept as blanks
    assert "W-7 keeps 3.6 m2 (3,600,000 mm2)." in cut.stdout and "Waste: 0.367 m2, 51 % of it." in cut.stdout
    kept = json.loads(run("stock", "reserve", "W-7", "1 leaf", "--json", *book).stdout)
    assert kept["number"] == 3 and "3.24 m2 stay free" in kept["sentences"][0]
    assert run("stock", "release", kept["event"], *book).stdout == f"Released {kept['event']}.\n"
    assert run("stock", "release", "nope", *book).exit_code == 3
    assert "keeps 3.24 m2" in run("stock", "scrap", "W-7", "1 leaf", "--note", "split", *book).stdout
    assert run("stock", "cut", "NONE", "1 leaf", "--into", "X=1 m2", *book).exit_code == 3
    told = run("stock", "joint", "FS", "1 sheet of 490 x 350 mm", "--of", "FACE=2 leaves", *book)
    assert "FACE keeps 0.176 m2 (176,400 mm2)." in told.stdout
    told = run("stock", "press", "P", "1 sheet of 490 x 350 mm", "--ply", "FS", *book)
    assert "FS is used up." in told.stdout and "No glue is told" in told.stdout
    assert run("stock", "press", "P2", "1 m2", "--ply", "NONE", *book).exit_code == 3
    told = run("item", "make", "TRAY", "--part", "P=1 sheet of 490 x 350 mm", *book)
    assert told.stdout == "Put together TRAY.\nP is used up.\n"
    early = run("item", "ship", "TRAY", *book)
    assert early.exit_code == 1 and "close it first" in " ".join(early.stderr.split())
    assert run("item", "close", "TRAY", *book).exit_code == run("item", "ship", "TRAY", *book).exit_code == 0
    assert run("item", "list", *book).stdout.splitlines()[1].split()[:2] == ["TRAY", "shipped"]
    assert "W-7, Juglans nigra" in run("item", "show", "TRAY", *book).stdout
    assert run("book", "check", *book).exit_code == 0


def test_the_stock_book_of_the_readme_runs_in_its_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the delivery to the signed sheet, the deposit, the backup and the public copy, as printed."""
    block = (CLONE / "README.md").read_text("utf-8").split("the signed sheet:", 1)[1].split("```")[1]
    lines = [line for line in block.splitlines() if line.startswith("woodref ")]
    assert len(lines) > 24
    shop = tmp_path / "shop"
    shop.mkdir()
    monkeypatch.chdir(shop)
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    for name in ("KEY", "PARTIES", "HEADS", "PAPERS"):
        monkeypatch.setenv(f"WOODREF_{name}", str(tmp_path / "own" / name.lower()))
    said = {}
    for line in lines:
        words = shlex.split(line, comments=True)[1:]
        told = run(*words)
        assert told.exit_code == 0, f"{line}: {told.output}"
        said[" ".join(words[:2])] = " ".join(told.stdout.split())
    assert "BIRCH has no paper of its purchase" in said["item proof"]
    assert (
        "unchanged since it was signed with key" in said["book check"] or "events hold" in said["book check"]
    )
    assert {p.name for p in shop.iterdir()} == {
        "labels.html",
        "tray-1",
        "kit.html",
        "head.json",
        "public.sqlite",
    }
    assert len([*(tmp_path / "safe").iterdir()]) == 1


def test_a_book_that_does_not_hold_is_told_and_exits_1(stock_book: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(stock_book.read_bytes())
    connection = sqlite3.connect(broken)
    connection.execute("DROP TRIGGER event_update")
    connection.execute("UPDATE event SET payload = replace(payload, '70480', '70481') WHERE seq = 14")
    connection.commit()
    connection.close()
    told = run("book", "check", "--book", str(broken))
    assert told.exit_code == 1 and "Event 14 was changed" in told.stdout and "events 1 to 13" in told.stdout
    told = run("book", "check", "--book", str(tmp_path / "none.sqlite"))
    assert told.exit_code == 1 and "there is no book" in told.stderr
    (tmp_path / "junk.sqlite").write_bytes(b"SQLite format 3\0" + bytes(range(200)) * 20)
    told = run("book", "check", "--book", str(tmp_path / "junk.sqlite"))
    assert told.exit_code == 1 and "damaged" in told.output


def test_a_species_that_nobody_knows_stops_the_whole_file(tmp_path: Path) -> None:
    file = tmp_path / "day.json"
    lots = [{"id": "N", "form": "veneer", "thickness_um": 600, "species": "Dalbergia latifola"}]
    out = [{"lot": "N", "qty": 1, "unit": "mm2"}]
    event = {"id": "R", "kind": "receive", "time": "2026-01-01T00:00:00Z", "out": out}
    file.write_text(json.dumps({"lots": lots, "events": [event]}), "utf-8")
    told = run("book", "record", str(file), "--book", str(tmp_path / "b.sqlite"))
    said = " ".join(told.stderr.split())
    assert told.exit_code == 1 and "event 1" in said and said.endswith("Nothing was recorded.")
    assert "not in the catalogue" in said and "Did you mean Dalbergia latifolia" in said


SEAT = str(HERE / "layups" / "stool-seat.yaml")
FAILURES = [
    (("show", "tulipwood"), 3, "shared-name"),
    (("show", "xqzzyw"), 3, "unknown-name"),
    (("show", "brasilian rosewod"), 3, "unknown-name"),
    (("substitute", "xqzzyw"), 3, "unknown-name"),
    (("find", "--with", "densty=3..4"), 2, "bad-request"),
    (("find", "--with", "density"), 2, "bad-request"),
    (("find", "--with", "density=450-600"), 2, "bad-quantity"),
    (("find", "--with", "density=1..2 mm"), 2, "bad-quantity"),
    (("find", "--with", "density=600..450"), 2, "bad-quantity"),
    (("find", "--like-colour", "red"), 2, "bad-quantity"),
    (("find", "--like-colour", "#123456", "--within", "-1"), 2, "bad-request"),
    (("substitute", "teak", "--origin", "Ghana"), 2, "bad-request"),
    (("show", "sycamore", "--region", "zz"), 2, "bad-request"),
    (("trade", "teak", "--form", "veneer", "--from", "XX", "--to", "DE"), 2, "bad-request"),
    (("trade", "teak", "--form", "sheet", "--from", "ID", "--to", "DE"), 2, "bad-request"),
    (("trade", "teak", "--form", "veneer", "--from", "ID"), 2, "bad-request"),
    (("trade", "--form", "veneer", "--from", "ID", "--to", "DE"), 2, "bad-request"),
    (("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--on", "1/6"), 2, "bad-quantity"),
    (("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--kg", "-1"), 2, "bad-quantity"),
    (
        ("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE", "--on", "2020-01-01",
         "--acquired", "2021"),
        2,
        "bad-request",
    ),
    (("listings", "--since", "2030-01-01"), 2, "bad-request"),
    (("layup", "/nowhere/pack.yaml"), 1, "bad-layup"),
    (("layup", SEAT, "--set", "plies.2.thickness=thin"), 1, "bad-layup"),
    (("layup", SEAT, "--set", "plies.9.grain=0"), 2, "bad-request"),
    (("layup", SEAT, "--set", "plies.2"), 2, "bad-request"),
    (("layup", SEAT, "--swap", "1=rosewood"), 3, "shared-name"),
    (("layup", SEAT, "--swap", "1=xqzzyw"), 3, "unknown-name"),
    (("layup", SEAT, "--have", "face=1mm"), 2, "bad-request"),
    (("layup", SEAT, "--range", "rh=75..25"), 2, "bad-quantity"),
    (("layup", SEAT, "--suggest-back"), 1, "cannot-answer"),
    (("layup", SEAT, "--svg", "/nowhere/pack.svg"), 2, "bad-request"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "leaves", "code"), FAILURES, ids=[" ".join(f[0]) for f in FAILURES])
def test_every_failure_has_one_shape(words: tuple[str, ...], leaves: int, code: str) -> None:
    plain = run(*words)
    assert plain.exit_code == leaves
    assert plain.stderr.strip() and not plain.stdout.strip()
    told = run(*words, "--json")
    assert told.exit_code == leaves
    error = json.loads(told.stdout)["error"]
    assert set(error) == {"code", "message", "where", "expected", "next", "candidates"}
    assert error["code"] == code and error["message"]
    assert error["message"].split(".")[0].rstrip("?") in " ".join(plain.stderr.split())


HOSTILE = ["", " ", "x" * 5000, "'\"`$(id)", "a\nb", "ŵöðréf", "%s%n", "--", "../../etc", "\u202eevil"]


@pytest.mark.parametrize("word", HOSTILE)
@pytest.mark.parametrize("command", ["show", "substitute", "find", "trade", "listings"])
def test_hostile_words_get_a_sentence_or_an_answer(command: str, word: str) -> None:
    more = ["--form", "veneer", "--from", "ID", "--to", "DE"] if command == "trade" else []
    assert run(command, *more, "--", word).exit_code in (0, 2, 3)


@pytest.mark.parametrize(
    "value", ["nan", "inf", "1e999", "0..", "..", "1..1", "-5..5", "1,5..2,5", "1..2..3"]
)
def test_hostile_ranges(value: str) -> None:
    assert run("find", "--with", f"density={value}").exit_code in (0, 2)


def test_within_must_be_a_number() -> None:
    assert run("find", "--like-colour", "#563b2a", "--within", "nan").exit_code == 2


def test_data_check_is_silent_on_good_data_and_loud_on_bad(tmp_path: Path) -> None:
    good = run("data", "check")
    assert good.exit_code == 0 and "0 errors" in good.stdout
    (tmp_path / "species").mkdir()
    (tmp_path / "species" / "acme-alba.yaml").write_text("id: acme-alba\nweight: 3\n")
    bad = run("data", "check", "--data", str(tmp_path))
    assert bad.exit_code == 1
    assert "data/species/acme-alba.yaml:2: weight: this field is not known here" in bad.stdout
    rows = json.loads(run("data", "check", "--data", str(tmp_path), "--json").stdout)["rows"]
    assert {"file": "species/acme-alba.yaml", "line": 2, "field": "weight"}.items() <= next(
        r for r in rows if r["field"] == "weight"
    ).items()


def test_a_new_material_is_written_once(tmp_path: Path) -> None:
    words = (
        "data",
        "new",
        "ulmus-glabra",
        "--name",
        "wych elm",
        "--family",
        "Ulmaceae",
        "--data",
        str(tmp_path),
    )
    assert run(*words).exit_code == 0
    assert (tmp_path / "species" / "ulmus-glabra.yaml").is_file()
    assert run(*words).exit_code == 2


def test_an_item_file_asks_the_same_question_as_options(tmp_path: Path) -> None:
    text = 'woods: [Indian rosewood]\nform: veneer\nfrom: IN\nto: DE\norigin: IN\non: "2026-06-01"\n'
    path = tmp_path / "item.yaml"
    path.write_text(text)
    by_file = answer("trade", "--goods", str(path))
    by_words = answer("trade", "Indian rosewood", "--form", "veneer", "--from", "IN", "--to", "DE",
                      "--origin", "IN", "--on", "2026-06-01")  # fmt: skip
    assert by_file["legs"] == by_words["legs"]
    by_pipe = json.loads(run("trade", "--goods", "-", "--json", stdin=text).stdout)
    assert by_pipe["legs"] == by_file["legs"]
    path.write_text("woods: [teak\n")
    assert run("trade", "--goods", str(path)).exit_code == 2
    path.write_text("wood: teak\n")
    assert "no file of goods: wood" in " ".join(run("trade", "--goods", str(path)).stderr.split())


def test_indian_rosewood_to_germany_names_both_papers_and_who_issues_them() -> None:
    told = " ".join(
        run("trade", "Indian rosewood", "--form", "veneer", "--from", "IN", "--to", "DE").stdout.split()
    )
    assert (
        "CITES export permit for Dalbergia latifolia, issued by the CITES authority of the country it leaves"
        in told
    )
    assert (
        "Import permit for Dalbergia latifolia, issued by the CITES authority of the country it enters"
        in told
    )
    assert "Art. IV(2)" in told and "#15" in told and "Not legal advice" in told
    exempt = " ".join(
        run(
            "trade", "Indian rosewood", "--form", "musical-instrument", "--from", "IN", "--to", "DE"
        ).stdout.split()
    )
    assert "is listed, but this form is exempt" in exempt and "not the same as free to trade" in exempt
    assert "Other laws" in exempt


def test_a_blank_and_a_finished_part_are_told_apart() -> None:
    told = " ".join(
        run("trade", "Indian rosewood", "--form", "seat-part", "--from", "DE", "--to", "US", "--origin", "IN",
            "--kg", "0.4", "--on", "2025-06-01").stdout.split()
    )  # fmt: skip
    assert "Ship it finished." in told


def test_the_example_is_a_layup_that_holds() -> None:
    printed = run("layup", "--example").stdout
    assert printed == (CLONE / "data" / "demo" / "seat-shell.yaml").read_text("utf-8")
    told = json.loads(run("layup", "-", "--json", stdin=printed).stdout)
    assert told["query"]["title"] == "seat shell"
    assert not [f for f in told["findings"] if f["severity"] != "mind"]


def test_a_layup_is_drawn_and_its_card_written(tmp_path: Path) -> None:
    file = str(CLONE / "data" / "demo" / "drum-shell.yaml")
    svg, card = tmp_path / "pack.svg", tmp_path / "card.html"
    told = run("layup", file, "--short", "--svg", str(svg), "--bench-card", str(card))
    assert f"Written: {svg}" in told.stderr and "frame drum shell" in told.stdout
    assert svg.read_text("utf-8").startswith("<svg") and "frame drum shell" in card.read_text("utf-8")


def test_an_option_is_named_where_it_makes_the_fault() -> None:
    told = run("layup", SEAT, "--set", "plies.2.thickness=900 mm")
    assert told.exit_code == 1 and told.stderr.startswith("--set plies.2.thickness=900 mm: thickness")
    plain = run("layup", "-", stdin="plies: [{material: teak, thickness: 0.6, grain: 0}]")
    assert plain.exit_code == 1 and "standard input:1:" in plain.stderr and "has no unit" in plain.stderr
