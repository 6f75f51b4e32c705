"""Pages of a public copy: items, one item, the shelf."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup

from woodref.errors import BadRequest
from woodref.provenance.publiccopy import open_here


def words(response: Any) -> str:
    main = BeautifulSoup(response.text, "html.parser").main
    assert main is not None
    return " ".join(main.get_text(" ").split())


async def test_items_name_what_they_are_made_of_and_lead_on(served: Any, books: Any) -> None:
    async with served(books.public) as browser:
        page = await browser.get("/items")
        told = (await browser.get("/items.json")).json()
        rows = (await browser.get("/items.csv")).text.splitlines()
    said = words(page)
    assert page.status_code == 200 and "1 item is published." in said
    assert "Fagus sylvatica, Dalbergia latifolia, Populus x canadensis and Betula pendula" in said
    soup = BeautifulSoup(page.text, "html.parser")
    assert soup.select_one('main a[href="/items/STOOL-001"]') and soup.select_one('nav a[href="/shelf"]')
    assert told["count"] == 1 and told["rows"][0]["item"] == "STOOL-001"
    assert told["rows"][0]["woods"][0] == "Fagus sylvatica" and told["basis"]["events"] == 24
    assert rows[0].startswith("item,name,state") and len(rows) == 2


async def test_an_item_tells_parts_woods_proof_papers_and_how_to_check(served: Any, books: Any) -> None:
    async with served(books.public) as browser:
        page = await browser.get("/items/STOOL-001")
        told = (await browser.get("/items/STOOL-001.json")).json()
        again = await browser.get(f"/items/{told['slug']}")
    soup, said = BeautifulSoup(page.text, "html.parser"), words(page)
    table = [[" ".join(cell.get_text(" ").split()) for cell in row("td")] for row in soup.select("tbody tr")]
    assert table[0] == [
        "Fagus sylvatica European beech", "Slovenia, in a managed natural forest", "950.4 g", "documented"
    ]  # fmt: skip
    assert soup.select_one('tbody a[href="/wood/fagus-sylvatica"]')
    assert "Documented: a paper of its purchase is held." in said
    assert "Glue: hide glue, of lot G-1." in said and "Finish of lot F-1." in said
    assert "Phytosanitary certificate of 2025-08-30, for L-A." in said
    assert told["basis"]["head"] in said and "woodref book check --sheet" in said
    assert "no advice on law" in said and "not signed" in said
    assert told["parts"][0]["wood_mg"] == 950_400
    # the name that nobody can count up answers too
    assert again.status_code == 200 and words(again)[:400] == said[:400]


async def test_an_item_nobody_knows_is_404_with_near_names(served: Any, books: Any) -> None:
    async with served(books.public) as browser:
        page = await browser.get("/items/STOOL-01")
        told = await browser.get("/items/STOOL-01.json")
    assert page.status_code == 404 and "STOOL-001" in words(page)
    assert told.status_code == 404 and told.json()["error"]["code"] == "unknown-lot"


async def test_the_shelf_tells_lots_by_where_they_lie(served: Any, books: Any) -> None:
    async with served(books.shop) as browser:
        page = await browser.get("/shelf")
        told = (await browser.get("/shelf.json")).json()
        found = await browser.get("/shelf?q=rosewood")
        none = await browser.get("/shelf?q=ebony")
        inches = await browser.get("/shelf?units=us")
        wrong = await browser.get("/shelf?page=7")
    said = words(page)
    heads = [h.get_text() for h in BeautifulSoup(page.text, "html.parser").select("main section h2")]
    assert heads == ["rack 1", "rack 3, by the door", "Where they lie is not told"]
    assert "L-A Veneer, quarter cut, 1.5 mm Fagus sylvatica" in said
    assert "10 leaves of 1800 x 200 mm left, 8 of them free; 2.88 m2 free." in said
    assert "Purchase documented; grown in India." in said
    assert "Purchase not known; where it grew is not known." in said
    assert "G-1 Glue" in said and '"pearl glue"' in said
    rows = {row["lot"]: row for row in told["rows"]}
    assert rows["L-B"]["free"] == 2_880_000 and rows["L-B"]["leaves_free"] == 8
    assert rows["L-B"]["shelf"] == "rack 1" and rows["G-1"]["wood"] is None
    # a sheet that was pressed and an item are no lots of the shelf
    assert "STOOL-001" not in rows and "STOOL-002" not in rows
    assert 'lots with "rosewood" in it' in words(found) and "L-A" not in words(found)
    assert 'Nothing is on hand with "ebony" in it.' in words(none)
    assert "70.9 x 7.87 in" in words(inches)
    assert wrong.status_code == 400 and "no whole number from 1 to 1" in words(wrong)


async def test_a_long_shelf_is_turned_page_by_page(
    served: Any, books: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("woodref.explorer.pages.published.MANY", 2)
    lots: list[str] = []
    async with served(books.shop) as browser:
        every = (await browser.get("/shelf.json")).json()
        path = "/shelf"
        while path:
            soup = BeautifulSoup((await browser.get(path)).text, "html.parser")
            shown = [li.get_text() for li in soup.select("main section li strong")]
            assert len(shown) <= 2 and bool(lots) == bool(soup.select_one('main a[rel="prev"]'))
            lots += shown
            onward = soup.select_one('main a[rel="next"]')
            path = str(onward["href"]) if onward else ""
    assert sorted(lots) == sorted(row["lot"] for row in every["rows"]) and len(lots) > 2


async def test_without_a_copy_the_pages_say_what_to_do(served: Any) -> None:
    async with served() as browser:
        for path in ("/items", "/items/STOOL-001", "/shelf"):
            page = await browser.get(path)
            assert page.status_code == 404 and "--book-copy public.sqlite" in words(page)
            told = (await browser.get(f"{path}.json")).json()
            assert told["error"]["code"] == "no-public-copy"
        assert "/items" not in (await browser.get("/")).text


async def test_a_copy_without_the_shelf_says_how_it_is_written(served: Any, books: Any) -> None:
    async with served(books.public) as browser:
        page = await browser.get("/shelf")
    assert page.status_code == 404 and "woodref book publish public.sqlite --shelf" in words(page)


async def test_a_copy_published_again_is_seen_at_once(served: Any, books: Any, tmp_path: Path) -> None:
    mine = tmp_path / "mine.sqlite"
    mine.write_bytes(books.public.read_bytes())
    async with served(mine) as browser:
        assert (await browser.get("/shelf")).status_code == 404
        mine.write_bytes(books.shop.read_bytes())
        assert (await browser.get("/shelf")).status_code == 200
        mine.write_bytes(b"no longer")
        gone = await browser.get("/items")
    assert gone.status_code == 400 and "is no public copy" in words(gone)


def test_a_real_book_and_the_parties_are_refused_in_words(books: Any, tmp_path: Path) -> None:
    before = sorted(p.name for p in books.book.parent.iterdir())
    for path, what in (
        (books.book, "is a stock book itself, with prices, suppliers and notes in it"),
        (books.parties, "holds the parties"), (Path(__file__), "is no public copy of a stock book"),
        (tmp_path / "none", "cannot be read"), (tmp_path, "cannot be read"),
    ):  # fmt: skip
        with pytest.raises(BadRequest, match=what):
            open_here(path)
    assert sorted(p.name for p in books.book.parent.iterdir()) == before


def test_a_real_book_with_the_mark_of_a_copy_is_still_none(books: Any, tmp_path: Path) -> None:
    import sqlite3
    from contextlib import closing

    from woodref.provenance.publish import MARK

    forged = tmp_path / "forged.sqlite"
    with closing(sqlite3.connect(books.book)) as book, closing(sqlite3.connect(forged)) as copy:
        book.backup(copy)
        copy.execute(f"PRAGMA application_id={MARK}")
        copy.commit()
    with pytest.raises(BadRequest, match="is a stock book itself"):
        open_here(forged)
    with_more = tmp_path / "more.sqlite"
    with_more.write_bytes(books.public.read_bytes())
    with closing(sqlite3.connect(with_more)) as copy:
        copy.execute("CREATE TABLE price (lot TEXT)")
        copy.commit()
    with pytest.raises(BadRequest, match="is no public copy"):
        open_here(with_more)
    open_here(books.public)


async def test_hostile_words_are_escaped(served: Any, books: Any) -> None:
    bad = "<script>alert(1)</script>\"'"
    async with served(books.shop) as browser:
        for path in (f"/shelf?q={bad}", f"/items?page={bad}", f"/items/{bad}", f"/shelf?units={bad}"):
            page = await browser.get(path)
            assert page.status_code < 500 and "<script>alert" not in page.text
