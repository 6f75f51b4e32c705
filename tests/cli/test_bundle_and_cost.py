"""`layup --bundle`, the check of a bundle and `stock cost` as a maker runs them; no price on any way out."""

from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from woodref.cli.main import main

CLONE = Path(__file__).resolve().parents[2]
SHELL = CLONE / "data" / "demo" / "seat-shell.yaml"
TRAY = """
title: tray
plies:
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 0}
  - {repeat: 4, material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90}
glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}
panel: {length: 450 mm, width: 310 mm, count: 2, trim: 20 mm}
"""
#: a price, a currency and a supplier that stand nowhere else
PRICE, CURRENCY, SUPPLIER = "918273.45", "QQD", "Marrowgate Timber"


def run(*words: str, given: bytes | None = None) -> Result:
    result = CliRunner().invoke(main, list(words), input=given, terminal_width=100)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise AssertionError(f"{words} broke down") from result.exception
    return result


def said(result: Result) -> str:
    return " ".join((result.stdout + " " + result.stderr).split())


@pytest.fixture
def bundle(tmp_path: Path) -> Path:
    path = tmp_path / "shell.zip"
    result = run("layup", str(SHELL), "--short", "--bundle", str(path))
    assert result.exit_code == 0 and f"Written: {path}" in said(result)
    return path


# --- bundles


def test_a_bundle_is_written_beside_the_answer_and_checked_from_the_file_alone(
    bundle: Path, tmp_path: Path
) -> None:
    told = run("layup", str(bundle))
    assert told.exit_code == 0, told.output
    assert "its sums hold" in told.stdout and "numbers are the same" in told.stdout
    assert "the same 30 figures" in told.stdout
    piped = run("layup", "-", given=bundle.read_bytes())
    assert piped.stdout == told.stdout and piped.exit_code == 0
    other = tmp_path / "again.zip"
    assert run("layup", str(SHELL), "--json", "--bundle", str(other)).exit_code == 0
    assert other.read_bytes() == bundle.read_bytes()
    asked = json.loads(run("layup", str(bundle), "--json").stdout)
    assert asked["same"] and asked["sums_hold"] and asked["numbers"]["differ"] == []


def test_the_day_of_the_bundle_is_asked_for_and_not_today(
    bundle: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WOODREF_TODAY", "2027-12-01")
    told = run("layup", str(bundle))
    assert (
        told.exit_code == 0
        and "for 2026-06-01" in told.stdout
        and "asked for 2026-06-01, say the same" in said(told)
    )


def test_options_that_cannot_go_with_it_are_refused(bundle: Path, tmp_path: Path) -> None:
    for words in (("--swap", "1=oak"), ("--short",), ("--estimates",), ("--units", "us"), ("--region", "US"),
                  ("--svg", "x.svg"), ("--bundle", "y.zip"), ("--suggest-back",)):  # fmt: skip
        told = run("layup", str(bundle), *words)
        assert told.exit_code == 2 and f"{words[0]} cannot go with it" in said(told)
    told = run("layup", str(SHELL), "--set", "plies.1.grain=5", "--bundle", str(tmp_path / "n.zip"))
    assert told.exit_code == 2 and "no what-if" in said(told) and not (tmp_path / "n.zip").exists()
    told = run("layup", str(SHELL), "--bundle", str(bundle))
    assert told.exit_code == 2 and "is there already" in said(told)
    told = run("layup", str(SHELL), "--bundle", str(tmp_path / "no" / "way.zip"))
    assert told.exit_code == 2 and "cannot be written" in said(told)


def test_a_changed_or_broken_bundle_is_a_sentence_and_exit_1(bundle: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(bundle) as opened:
        files = {name: opened.read(name) for name in opened.namelist()}
    spoilt = tmp_path / "spoilt.zip"
    with zipfile.ZipFile(spoilt, "w") as made:
        for name, body in files.items():
            made.writestr(name, body.replace(b"walnut", b"cherry") if name == "report.txt" else body)
    told = run("layup", str(spoilt))
    assert told.exit_code == 1 and "report.txt is not as it was when the bundle was made" in said(told)
    half = tmp_path / "half.zip"
    half.write_bytes(bundle.read_bytes()[:40_000])
    told = run("layup", str(half))
    assert told.exit_code == 1 and "it is no whole zip" in said(told)
    error = json.loads(run("layup", str(half), "--json").stdout)["error"]
    assert error["code"] == "bad-bundle" and error["where"] == str(half)
    half.write_bytes(b"plies: []")
    assert run("layup", str(half)).exit_code == 1  # its name says that it is a zip
    assert run("layup", str(tmp_path / "none.zip")).exit_code == 1


def test_another_catalogue_is_told_figure_by_figure(
    bundle: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other shop has another weight of walnut and another spread of the glue."""
    data = tmp_path / "data"
    shutil.copytree(CLONE / "data", data)
    walnut = data / "species" / "juglans-nigra.yaml"
    text = walnut.read_text("utf-8")
    line = next(part for part in text.splitlines() if "value: 616," in part)
    walnut.write_text(text.replace(line, line.replace("616", "640"), 1), "utf-8")
    glue = data / "adhesives" / "urea-formaldehyde.yaml"
    glue.write_text(
        glue.read_text("utf-8").replace("spread_g_m2: {low: 100,", "spread_g_m2: {low: 110,"), "utf-8"
    )
    monkeypatch.setenv("WOODREF_DATA", str(data))
    told = run("layup", str(bundle))
    assert told.exit_code == 0, told.output  # its own numbers come out the same here
    words = said(told)
    assert "numbers are the same" in words
    assert "Weight of black walnut: 616 kg/m3 at 12 % moisture" in words and "640 kg/m3 at 12 %" in words
    assert "Glue urea-formaldehyde, spread_g_m2: 100 to 160 in the bundle, 110 to 160 here." in words
    assert (
        "By the figures held here the part would come out otherwise: weight: 4.58 kg/m2 by the bundle"
        in words
    )


# --- costs


@pytest.fixture
def priced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """A book whose lots have planted prices, where the commands look for it."""
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("WOODREF_KEY", str(tmp_path / "key.pem"))
    paid = ("--price", PRICE, CURRENCY, "--supplier", SUPPLIER)
    for words in (
        (
            "W-7",
            "12 leaves of 1800 x 400 mm, 0.6 mm",
            "--species",
            "Juglans nigra",
            "--country",
            "US",
            "--cut",
            "crown",
        ),
        (
            "BIRCH",
            "12 leaves of 490 x 400 mm, 1.5 mm",
            "--species",
            "Betula pendula",
            "--country",
            "FI",
            "--cut",
            "rotary",
        ),
        ("UF-2", "10 kg", "--form", "adhesive", "--words", "urea resin"),
    ):
        result = run("stock", "receive", *words, *paid)
        assert result.exit_code == 0, result.output
    return run


@pytest.fixture
def tray(tmp_path: Path) -> str:
    path = tmp_path / "tray.yaml"
    path.write_text(TRAY, "utf-8")
    return str(path)


def test_the_cost_of_a_tray_is_printed(priced: Callable[..., Result], tray: str) -> None:
    told = priced("stock", "cost", tray, "--glue", "UF-2")
    assert told.exit_code == 0, told.output
    lines = told.stdout.splitlines()
    assert lines[0] == "tray, 2 parts: what its veneer and its glue cost."
    # 2 x 0.45 x 0.31 = 0.279 m2 net and 20 % on top of it; 12 leaves of 0.72 m2 are 8.64 m2
    assert "Ply 1, black walnut" in lines[2] and "0.279 m2" in lines[2] and "0.335 m2" in lines[2]
    words = said(told)
    assert "918,273.45 QQD for 8.64 m2" in words and "incomplete" not in words
    one = said(priced("stock", "cost", tray, "--glue", "UF-2", "--parts", "1"))
    assert "tray, 1 part:" in one
    piped = CliRunner().invoke(main, ["stock", "cost", "-", "--glue", "UF-2"], input=TRAY)
    assert piped.exit_code == 0 and "Veneer: " in piped.stdout


@pytest.mark.parametrize(("words", "code", "says"), [
    (("--ply", "1=NOWHERE"), 3, "there is no lot NOWHERE"), (("--ply", "9=W-7"), 2, "there is no ply 9"),
    (("--glue", "W-7"), 2, "is veneer, no glue"), (("--glue", "9=UF-2"), 2, "there is no line 9"),
    (("--parts", "0"), 2, "0 is not in the range"), (("--ply", "1=UF-2"), 1, "counted in mg"),
    (("--region", "XX"), 2, "is not a country code"),
])  # fmt: skip
def test_what_cannot_be_is_a_sentence(
    priced: Callable[..., Result], tray: str, words: tuple[str, ...], code: int, says: str
) -> None:
    told = priced("stock", "cost", tray, *words)
    assert told.exit_code == code and says in said(told), told.output


def test_a_planted_price_goes_out_on_no_way(priced: Callable[..., Result], tray: str, tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "book.sqlite")) as opened:
        held = opened.execute("SELECT group_concat(facts) FROM lot").fetchone()[0]
    assert PRICE in held and CURRENCY in held and SUPPLIER in held  # so that the search can fail
    for words in (
        ("stock", "cut", "W-7", "1 leaf", "--into", "FACE=3 leaves of 490 x 350 mm", "--no-offcut"),
        ("stock", "press", "P-1", "1 sheet of 490 x 350 mm", "--ply", "FACE", "--ply", "BIRCH=4", "--glue",
         "UF-2=60 g"),
        ("item", "make", "TRAY-1", "--part", "P-1=1 sheet of 490 x 350 mm"),
        ("item", "close", "TRAY-1", "--label", "birch without a paper"),
        ("sheet", "TRAY-1", "--maker", "Quillbeck Benders, Harrowmere", "--out", str(tmp_path / "sheet")),
        ("book", "publish", str(tmp_path / "public.sqlite")),
        ("book", "publish", str(tmp_path / "shelf.sqlite"), "--shelf"),
        ("layup", tray, "--short", "--bundle", str(tmp_path / "tray.zip"), "--bench-card",
         str(tmp_path / "c.html")),
        ("stock", "pick", "--layup", tray, "--out", str(tmp_path / "pick.html")),
    ):  # fmt: skip
        result = priced(*words)
        assert result.exit_code == 0, (words, result.output)
    out: dict[str, bytes] = {}
    for words in (
        ("stock", "cost", tray, "--glue", "UF-2"), ("stock", "list"), ("stock", "show", "W-7"),
        ("stock", "pick", "--layup", tray), ("item", "list"), ("item", "show", "TRAY-1"),
        ("whence", "TRAY-1"), ("went-into", "W-7"), ("layup", tray), ("layup", str(tmp_path / "tray.zip")),
        ("find", "walnut", "--in-stock"), ("book", "check"),
    ):  # fmt: skip
        result = priced(*words, "--json")
        assert result.exit_code == 0, (words, result.output)
        out[" ".join(words)] = result.output.encode()
    for path in tmp_path.rglob("*"):
        if path.is_file() and not path.name.startswith(("book.sqlite", "key.pem")):
            out[path.name] = path.read_bytes()
    assert {"tray.zip", "public.sqlite", "c.html", "pick.html"} <= out.keys() and len(out) > 18
    for name, body in out.items():
        for word in (PRICE, "918,273", CURRENCY):
            assert word.encode() not in body, (name, word)
        if not name.startswith("stock show"):  # who it came from is told at the shelf, and there alone
            assert SUPPLIER.encode() not in body, name
    # and in words, to the maker alone, it is told
    assert "918,273.45 QQD" in said(priced("stock", "cost", tray))


def test_the_bundle_has_nothing_of_the_book(priced: Callable[..., Result], tray: str, tmp_path: Path,
                                            monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    with_book, without = tmp_path / "with.zip", tmp_path / "without.zip"
    assert priced("layup", tray, "--bundle", str(with_book)).exit_code == 0
    monkeypatch.delenv("WOODREF_BOOK")
    assert run("layup", tray, "--bundle", str(without)).exit_code == 0
    assert with_book.read_bytes() == without.read_bytes()
