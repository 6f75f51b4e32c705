"""The customer sheet of a published item: the page says what was signed, checks it, and hands it on whole."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from bs4 import BeautifulSoup
from click.testing import CliRunner

from woodref.cli.main import main


def words(response: Any) -> str:
    held = BeautifulSoup(response.text, "html.parser").main
    assert held is not None
    return " ".join(held.get_text(" ").split())


async def test_the_page_says_what_the_sheet_says_and_that_it_is_unchanged(served: Any, books: Any) -> None:
    async with served(books.signed) as browser:
        item = await browser.get("/items/STOOL-001")
        page = await browser.get("/items/STOOL-001/sheet")
        slug = (await browser.get("/items/STOOL-001.json")).json()["slug"]
        again = await browser.get(f"/items/{slug}/sheet")
    assert BeautifulSoup(item.text, "html.parser").select_one('main a[href="/items/STOOL-001/sheet"]')
    assert page.status_code == 200 and again.status_code == 200
    given = json.loads((books.book.parent / "sheet" / "sheet.json").read_text("utf-8"))
    said = words(page)
    assert "Unchanged since it was signed with key" in said and "Quillbeck Benders" in said
    assert given["signature"] in said and given["sheet"]["head"]["hash"] in said
    assert all(line in said for line in given["sheet"]["not_proven"])
    whole = BeautifulSoup((books.book.parent / "sheet" / "sheet.html").read_text("utf-8"), "html.parser")
    table = [
        [" ".join(c.get_text(" ").split()) for c in row(["th", "td"])] for row in whole.select("tbody tr")
    ]
    shown = BeautifulSoup(page.text, "html.parser").select("main tbody tr")
    assert [[" ".join(c.get_text(" ").split()) for c in row(["th", "td"])] for row in shown] == table


async def test_its_json_is_the_file_that_is_checked_with_the_command(
    served: Any, books: Any, tmp_path: Path
) -> None:
    async with served(books.signed) as browser:
        told = await browser.get("/items/STOOL-001/sheet.json")
        rows = (await browser.get("/items/STOOL-001/sheet.csv")).text.splitlines()
    # letter for letter, as the page says
    assert told.text == (books.book.parent / "sheet" / "sheet.json").read_text("utf-8")
    checked = CliRunner().invoke(main, ["book", "check", "--sheet", "-"], input=told.text)
    assert checked.exit_code == 0 and "unchanged since it was signed" in checked.output, checked.output
    assert rows[0].startswith("part,wood") and len(rows) == 1 + len(told.json()["sheet"]["parts"])


async def test_a_sheet_that_was_changed_is_not_to_be_trusted(served: Any, books: Any, tmp_path: Path) -> None:
    for name, old, new in (
        ("says", "Fagus sylvatica", "Quercus robur"), ("files", '"prov.json": "', '"prov.json": "0'),
    ):  # fmt: skip
        forged = tmp_path / f"{name}.sqlite"
        forged.write_bytes(books.signed.read_bytes())
        with closing(sqlite3.connect(forged)) as copy, copy:
            done = copy.execute("UPDATE sheet SET body = replace(body, ?, ?)", (old, new))
            assert done.rowcount == 1
        async with served(forged) as browser:
            page = await browser.get("/items/STOOL-001/sheet")
        said = words(page)
        assert "This sheet is not to be trusted." in said and "Unchanged since" not in said
        assert ("What it says was changed" in said) == (name == "says")
        assert "The list of its files was changed" in said


async def test_what_is_no_sheet_is_a_sentence(served: Any, books: Any, tmp_path: Path) -> None:
    given = json.loads((books.book.parent / "sheet" / "sheet.json").read_text("utf-8"))
    short = given | {"sheet": {k: v for k, v in given["sheet"].items() if k != "parts"}}
    for number, body in enumerate(("{}", "[" * 100_000, json.dumps(short))):
        broken = tmp_path / f"{number}.sqlite"
        broken.write_bytes(books.signed.read_bytes())
        with closing(sqlite3.connect(broken)) as copy, copy:
            copy.execute("UPDATE sheet SET body = ?", (body,))
        async with served(broken) as browser:
            page = await browser.get("/items/STOOL-001/sheet")
        assert page.status_code == 400 and "the sheet of STOOL-001 in this copy" in words(page).replace(
            "The sheet", "the sheet"
        )


async def test_where_there_is_no_sheet_the_page_says_how_one_is_published(served: Any, books: Any) -> None:
    async with served(books.public) as browser:
        page = await browser.get("/items/STOOL-001/sheet")
        told = await browser.get("/items/STOOL-001/sheet.json")
        item = await browser.get("/items/STOOL-001")
        nobody = await browser.get("/items/STOOL-01/sheet")
    assert page.status_code == 404 and "book publish FILE --customer-sheets" in words(page)
    assert told.json()["error"]["code"] == "unknown-sheet"
    assert "/items/STOOL-001/sheet" not in item.text
    assert nobody.status_code == 404 and "STOOL-001" in words(nobody)


def test_a_copy_with_sheets_holds_no_planted_word_but_what_a_customer_sees(books: Any) -> None:
    """The flitch of a leaf and the number of a public paper stand on the sheet; all else is nobody's."""
    held = books.signed.read_bytes()
    found = [word for word in books.planted if word.encode() in held]
    assert found == ["PlantedFlitch", "PlantedPublicNumber"]


def test_publish_says_that_the_sheets_are_in_it(books: Any, tmp_path: Path) -> None:
    out = str(tmp_path / "copy.sqlite")
    done = CliRunner().invoke(main, ["book", "publish", out, "--customer-sheets", "--book", str(books.book)])
    assert done.exit_code == 0, done.output
    assert "1 customer sheet is in it, word for word as given out last" in done.output
    told = CliRunner().invoke(main, ["book", "publish", out, "--book", str(books.book), "--json"])
    assert json.loads(told.output)["sheets"] is None
