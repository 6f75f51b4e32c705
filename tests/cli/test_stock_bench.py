"""The commands of the bench as a maker runs them: what they print, what they refuse, what a pipe gets."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from woodref.cli import stockwork
from woodref.cli.main import main

Run = Callable[..., Result]
LAYUP = """title: serving tray
plies:
  - {material: black walnut, cut: crown, thickness: 0.6 mm, grain: 0}
  - {material: silver birch, thickness: 1.5 mm, grain: 90}
  - {material: black walnut, cut: crown, thickness: 0.6 mm, grain: 0}
"""
SIZE = "1 sheet of 490 x 350 mm"
TWELVE = "12 leaves of 1800 x 200 mm, 0.6 mm"


@pytest.fixture
def bench(tmp_path: Path) -> Run:
    """Runs `woodref stock ...` on a book of its own."""
    return lambda *words, input=None: invoke(tmp_path, *words, given=input)


def invoke(folder: Path, *words: str, given: str | None = None) -> Result:
    book = ("--book", str(folder / "b.sqlite"))
    result = CliRunner().invoke(main, ["stock", *words, *book], input=given, terminal_width=100)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise AssertionError(f"{words} broke down") from result.exception
    return result


def said(result: Result) -> str:
    return " ".join((result.stdout + " " + result.stderr).split())


@pytest.fixture
def shelf(bench: Run) -> Run:
    """Walnut, birch, glue."""
    walnut = ("--species", "Juglans nigra", "--cut", "crown", "--shelf", "A1")
    for words in (
        ("receive", "W-7", TWELVE, *walnut),
        ("receive", "BIRCH", "4 leaves of 500 x 360 mm, 1.5 mm", "--species", "Betula pendula"),
        ("receive", "UF", "10 kg", "--form", "adhesive"),
    ):
        result = bench(*words)
        assert result.exit_code == 0, result.output
    return bench


@pytest.fixture
def faces(shelf: Run) -> Run:
    """Two jointed faces of walnut besides."""
    shelf("cut", "W-7", "4 leaves", "--into", "F=8 leaves of 500 x 180 mm")
    assert shelf("joint", "FS", "2 sheets of 500 x 355 mm", "--of", "F=4 leaves").exit_code == 0
    return shelf


@pytest.fixture
def tray(tmp_path: Path) -> str:
    path = tmp_path / "tray.yaml"
    path.write_text(LAYUP, "utf-8")
    return str(path)


def left(run: Run, lot: str) -> int:
    return int(json.loads(run("show", lot, "--json").stdout)["lot"]["on_hand"])


@pytest.mark.parametrize("part", [
    "receive", "open", "cut", "joint", "press", "scrap", "reserve", "release", "split", "sand", "slice",
    "sample", "correct", "identify", "note", "moisture", "move", "list", "show",
])  # fmt: skip
def test_every_command_has_an_example(bench: Run, part: str) -> None:
    assert f"Example: woodref stock {part}" in CliRunner().invoke(main, ["stock", part, "--help"]).output


def test_old_stock_is_opened_and_a_delivery_received_with_all_that_is_known(bench: Run) -> None:
    told = bench(
        "open", "R-1", "3 leaves of 1800 x 200 mm, 0.6 mm", "--words", "rose?", "--genus", "Dalbergia"
    )
    assert told.stdout == "Found R-1: 3 leaves of 1800 x 200 mm, 0.6 mm (1,080,000 mm2).\n"
    more = (
        "--species", "Juglans nigra", "--supplier", "Alderholt Veneer Merchants", "--price", "412.50", "EUR",
        "--district", "Ohio valley", "--stand", "Bent Creek", "--forest", "managed-natural",
        "--moisture", "7 %", "--moisture-by", "meter", "--acquired", "2025-11-01", "--leaf-notes",
        "3=sap edge",
        "--first-leaf", "13",
        "--source-code", "W", "--claim-words", "controlled blending 70 %",
    )  # fmt: skip
    told = bench("receive", "W-7", TWELVE, *more)
    assert "Price: 412.50 EUR, kept for the shop alone." in told.stdout
    page = bench("show", "W-7")
    assert "412.50" not in page.output and "7 % on" in page.stdout and "Bent Creek" in page.stdout
    assert "412.50" not in bench("show", "W-7", "--json").output
    assert "Price: 412.50 EUR" in bench("show", "W-7", "--price").stdout
    assert bench("show", "W-7", "--price", "--json").exit_code == 2
    assert "--composition" in said(bench("receive", "X", TWELVE, "--composition", "Juglans nigra=900"))
    near = bench("receive", "D", TWELVE, "--form", "engineered-veneer", "--composition", "Populus nigrra=930")
    assert near.exit_code == 3 and "Did you mean Populus nigra" in said(near)
    sheet = ("--form", "engineered-veneer", "--composition", "Populus nigra=930", "--material")
    assert bench("receive", "D", TWELVE, *sheet, "fine-line rosewood figure").exit_code == 0
    assert "In the catalogue: reconstituted-rosewood-figure." in bench("show", "D").stdout
    assert bench("receive", "D2", TWELVE, *sheet, "fine-lime rosewood figure").exit_code == 3
    assert bench("receive", "UF", "1 kg", "--form", "adhesive", "--material", "urea glue").exit_code == 0
    assert "In the catalogue: urea-formaldehyde." in bench("show", "UF").stdout
    assert bench("receive", "UF2", "1 kg", "--form", "adhesive", "--material", "uria glue").exit_code == 3
    again = json.loads(bench("receive", "Y", "1 kg", "--form", "adhesive", "--json").stdout)
    assert (again["lot"], again["qty"], again["unit"], again["again"]) == ("Y", 1_000_000, "mg", False)


def test_a_lot_is_parted_and_thinned(shelf: Run) -> None:
    told = shelf("split", "W-7", "5 leaves", "--into", "A=3 leaves", "--into", "B=2 leaves")
    assert "W-7 keeps 2.52 m2 (2,520,000 mm2)." in told.stdout
    lost = shelf("split", "W-7", "5 leaves", "--into", "C=3 leaves")
    assert lost.exit_code == 1 and "720,000 mm2 are left over" in said(lost)
    told = shelf("sand", "B", "2 leaves", "--thickness", "0.5 mm", "--into", "THIN")
    assert "from 0.6 mm to 0.5 mm" in said(told) and left(shelf, "THIN") == 720_000
    assert shelf("sand", "A", "1 leaf", "--thickness", "0.6 mm", "--into", "X").exit_code == 1
    shelf("receive", "LOG", "20 l", "--form", "sawn", "--species", "Ulmus glabra")
    told = shelf("slice", "LOG", "6 l", "--into", "V=24 leaves of 800 x 200 mm, 1 mm")
    assert "Waste: 2.16 l, 36 % of it." in told.stdout and left(shelf, "V") == 3_840_000
    assert shelf("slice", "W-7", "1 leaf", "--into", "V2=1 m2").exit_code == 1
    assert "to lab" in said(shelf("sample", "A", "20 cm2", "--given-to", "lab"))
    assert shelf("sample", "A", "20 cm2").exit_code == 2


def test_what_is_noted_stands_in_list_and_show(shelf: Run) -> None:
    assert shelf("move", "W-7", "rack 2").stdout == "W-7 lies on rack 2. Till now: A1.\n"
    damp = shelf("moisture", "W-7", "12.5 %", "--by", "meter")
    assert damp.stdout == "W-7: 12.5 % moisture, by meter.\n" and "outside the 6 to 9 %" in said(damp)
    assert shelf("moisture", "W-7", "12.5 %").exit_code == 2
    assert shelf("moisture", "UF", "5 %", "--by", "meter").exit_code == 2
    assert shelf("note", "W-7", "a split at one end").exit_code == 0
    row = shelf("list", "rack 2").stdout.splitlines()[1]
    assert row.endswith("12.5 %    rack 2")
    page = said(shelf("show", "W-7"))
    assert "Shelf: rack 2." in page and "12.5 % on" in page and "a split at one end." in page
    assert shelf("move", "NONE", "x").exit_code == shelf("note", "NONE", "x").exit_code == 3


def test_a_closer_name_is_looked_up(shelf: Run) -> None:
    shelf(
        "open", "R", "1 m2", "--thickness", "0.6 mm", "--one-of", "Juglans nigra", "--one-of", "Juglans regia"
    )
    told = shelf("identify", "R", "Juglans regia", "--by", "microscopy")
    assert "R is Juglans regia (identified under the microscope)" in said(told)
    assert "Did you mean" in said(shelf("identify", "R", "Juglans regiaa", "--by", "eye"))
    wrong = shelf("identify", "R", "Betula pendula", "--by", "eye")
    assert wrong.exit_code == 1 and "is none of them" in said(wrong)
    assert shelf("identify", "R", "Juglans regia", "--by", "nobody").exit_code == 2


def test_an_event_is_put_right(shelf: Run) -> None:
    cut = json.loads(shelf("cut", "W-7", "2 leaves", "--into", "F=4 leaves of 490 x 180 mm", "--json").stdout)
    assert [n["code"] for n in cut["notices"]] == ["low-yield", "offcut"]
    told = shelf("correct", cut["event"], "--went-in", "W-7=3 leaves", "--reason", "miscounted")
    assert told.exit_code == 1 and "Tell the waste too" in said(told)
    told = shelf(
        "correct",
        cut["event"],
        "--went-in",
        "W-7=3 leaves",
        "--waste",
        "W-7=727200 mm2",
        "--reason",
        "miscounted",
    )
    assert "W-7: 360,000 mm2 less; on hand now 3.24 m2 (3,240,000 mm2)." in told.stdout
    assert shelf("correct", cut["event"], "--did-not-occur").exit_code == 2
    told = shelf("correct", cut["event"], "--did-not-occur", "--reason", "never cut")
    assert "Struck from the book: F." in told.stdout and left(shelf, "W-7") == 12 * 360_000
    assert shelf("correct", "nope", "--did-not-occur", "--reason", "x").exit_code == 3


def test_a_pipe_records_the_waste_and_hints_at_the_offcut(shelf: Run) -> None:
    told = shelf("cut", "W-7", "2 leaves", "--into", "F=4 leaves of 490 x 180 mm")
    assert told.exit_code == 0 and "--offcut LOT=AMOUNT" in told.stderr and "--offcut" not in told.stdout
    assert left(shelf, "W-7") == 10 * 360_000
    told = shelf("cut", "W-7", "2 leaves", "--into", "F2=4 leaves of 490 x 180 mm", "--no-offcut")
    assert "--offcut" not in told.stderr
    told = shelf(
        "cut", "W-7", "1 leaf", "--into", "F3=1 leaf of 600 x 180 mm", "--offcut", "O=1 leaf of 900 x 190 mm"
    )
    assert "Offcut O:" in told.stdout and left(shelf, "O") == 171_000
    both = shelf("cut", "W-7", "1 leaf", "--into", "F4=1 cm2", "--offcut", "O2=1 cm2", "--no-offcut")
    assert both.exit_code == 2


@pytest.mark.parametrize(("answer", "waste"), [("O=1 leaf of 600 x 180 mm\n", 259_200), ("\n", 367_200)])
def test_a_person_is_asked_for_the_offcut(
    shelf: Run, monkeypatch: pytest.MonkeyPatch, answer: str, waste: int
) -> None:
    monkeypatch.setattr(stockwork, "can_ask", lambda _: True)
    told = shelf("cut", "W-7", "2 leaves", "--into", "F=4 leaves of 490 x 180 mm", input=answer)
    assert told.exit_code == 0 and "or Enter for none" in told.stdout and "--offcut" not in told.stderr
    assert f"Waste: 0.{waste // 1000} m2" in told.stdout
    # by hand: 720,000 - 352,800 = 367,200, less the offcut of 108,000 mm2
    assert ("Offcut O:" in told.stdout) == (waste == 259_200)


def test_a_pipe_without_yes_writes_nothing(faces: Run, tray: str) -> None:
    told = faces("press", "P", SIZE, "--layup", tray, "--glue", "UF=60 g")
    assert told.exit_code == 1 and "Nothing was recorded; --yes records it." in told.stdout
    assert "BIRCH keeps 0.548 m2 (548,500 mm2)." in told.stdout
    assert "no moisture reading is on record" in said(told)
    assert faces("show", "P").exit_code == 3 and left(faces, "BIRCH") == 720_000
    as_json: dict[str, Any] = json.loads(faces("press", "P", SIZE, "--layup", tray, "--json").stdout)
    assert as_json["recorded"] is False and as_json["event"] is None
    assert [p["lot"] for p in as_json["plies"]] == ["FS", "BIRCH", "FS"]


def test_with_yes_the_panel_is_pressed(faces: Run, tray: str) -> None:
    told = faces("press", "P", SIZE, "--layup", tray, "--glue", "UF=60 g", "--mould", "tray mould", "--yes")
    assert told.exit_code == 0 and told.stdout.endswith(
        "Pressed P: 1 sheet of 490 x 350 mm (171,500 mm2), 3 plies.\n"
    )
    assert left(faces, "BIRCH") == 720_000 - 171_500 and left(faces, "P") == 171_500
    as_json = json.loads(
        faces("press", "P2", "1 cm2", "--layup", tray, "--ply", "1-3=FS", "--yes", "--json").stdout
    )
    assert as_json["recorded"] is True and as_json["number"]


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 1), ("\n", 1)])
def test_a_person_is_asked_before_it_is_written(
    faces: Run, tray: str, monkeypatch: pytest.MonkeyPatch, answer: str, code: int
) -> None:
    monkeypatch.setattr(stockwork, "can_ask", lambda _: True)
    told = faces("press", "P", SIZE, "--layup", tray, input=answer)
    assert told.exit_code == code and "Record it? [y/N]" in told.stdout
    assert (faces("show", "P").exit_code == 0) == (code == 0)
    assert ("Nothing was recorded." in told.stdout) == (code == 1)


def test_several_lots_that_could_serve_are_named(faces: Run, tray: str) -> None:
    more = ("--species", "Betula pendula", "--shelf", "B3")
    faces("receive", "BIRCH-2", "4 leaves of 500 x 360 mm, 1.5 mm", *more)
    told = faces("press", "P", SIZE, "--layup", tray, "--yes")
    assert told.exit_code == 3 and "BIRCH-2 (shelf B3; 0.72 m2 free)" in said(told)
    assert faces("show", "P").exit_code == 3
    assert faces("press", "P", SIZE, "--layup", tray, "--yes", "--ply", "2=BIRCH-2").exit_code == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--yes", "--ply", "BIRCH"), "--yes goes with --layup"),
        (("--region", "US", "--ply", "BIRCH"), "--region goes with --layup"),
        ((), "no ply is told"),
        (("--layup", "none.yaml"), "none.yaml cannot be read"),
        (("--ply", "BIRCH", "--mould", " "), "the name of the mould is empty"),
        (("--ply", "BIRCH", "--set-moisture", "wet"), "does not begin with a number"),
    ],
)
def test_what_press_refuses(shelf: Run, words: tuple[str, ...], says: str) -> None:
    told = shelf("press", "P", SIZE, *words)
    assert told.exit_code in (1, 2) and says in said(told)


def test_a_press_by_hand_keeps_mould_and_moisture(shelf: Run) -> None:
    told = shelf(
        "press", "P", "1 cm2", "--ply", "BIRCH=3", "--glue", "UF=1 g", "--mould", "M 2", "--set-moisture", "7"
    )
    assert told.exit_code == 0 and "Pressed P" in told.stdout
