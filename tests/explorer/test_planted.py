"""With a private book and the parties at hand, nothing of either is reachable: not on a page, in no form of
an answer, in no table that is served."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter, deque
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.folder import write_folder
from woodref.explorer.guards import Rules
from woodref.explorer.routes import page_at, plain_paths

WORD = "k7m3-q9tw-xh4e"
#: pages of one route that are looked at
EACH = 3
FORMS = ("", ".json", ".csv")


@pytest.fixture(autouse=True)
def at_hand(books: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The book and the parties lie where the commands look for them."""
    monkeypatch.setenv("WOODREF_BOOK", str(books.book))
    monkeypatch.setenv("WOODREF_PARTIES", str(books.parties))


def found_in(body: bytes, books: Any) -> list[str]:
    return [word for word in books.planted if word.encode() in body]


def test_the_words_are_where_they_were_planted(books: Any) -> None:
    """So that the search can fail."""
    with closing(sqlite3.connect(books.book)) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    held = books.book.read_bytes() + books.parties.read_bytes()
    assert [word for word in books.planted if word.encode() not in held] == []
    for copy in (books.public, books.shop):
        assert found_in(copy.read_bytes(), books) == []


@pytest.mark.parametrize("phone", [False, True])
async def test_no_page_in_no_form_tells_them(served: Any, books: Any, phone: bool) -> None:
    rules = Rules(frozenset(["shop.example"]), WORD, public=True) if phone else Rules()
    base = "http://shop.example" if phone else "http://127.0.0.1:8321"
    todo = deque(dict.fromkeys([f"/?word={WORD}", "/", *plain_paths()]))
    seen, met, looked = set(todo), Counter[str](), 0
    async with served(books.shop, rules, base) as browser:
        while todo:
            link = todo.popleft()
            path, _, query = link.partition("?")
            found = page_at(path)
            if found is None or met[found[0]] >= EACH:
                continue
            met[found[0]] += 1
            for form in FORMS if path != "/" else ("",):
                answered = await browser.get(f"{path}{form}" + (f"?{query}" if query else ""))
                assert answered.status_code < 500, link
                assert found_in(answered.content, books) == [], f"{path}{form}"
                looked += 1
                for other in re.findall(r'href="(/[^"#]*)', answered.text):
                    if other not in seen:
                        seen.add(other)
                        todo.append(other.replace("&amp;", "&"))
    assert looked > 30 and met["published:item"] and met["published:shelf"] and met["wood:wood"]


async def test_no_table_that_is_served_holds_them(served: Any, books: Any, catalogue: Catalogue) -> None:
    with closing(sqlite3.connect(catalogue.path)) as opened:
        tables = [
            row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type IN ('table', 'view')")
        ]
    assert "material" in tables
    async with served(books.shop) as browser:
        # what is served is the catalogue, and an empty place for sums: no book, no copy, no parties
        assert set((await browser.get("/.json")).json()) <= {"catalogue", "_memory"}
        for path in ("/_memory", "/_memory.json", "/_memory.json?sql=select+1", "/_internal", "/~5fmemory"):
            assert (await browser.get(path)).status_code in (403, 404), path
        for table in tables:
            for form in FORMS:
                answered = await browser.get(f"/catalogue/{table}{form}")
                assert answered.status_code in (200, 403, 404), table
                assert found_in(answered.content, books) == [], f"{table}{form}"
        whole = await browser.get("/catalogue.db")
        assert whole.status_code == 200 and found_in(whole.content, books) == []


async def test_no_question_opens_another_file(served: Any, books: Any) -> None:
    async with served(books.shop) as browser:
        for question in (
            f"/catalogue?sql=attach+'{books.parties}'+as+p",
            "/catalogue?sql=select+*+from+pragma_database_list",
            f"/catalogue?sql=select+readfile('{books.parties}')", "/catalogue?sql=select+load_extension('x')",
            "/catalogue/party", "/catalogue/event", "/parties", "/book", "/public", "/shop", "/shop.db",
            "/assets/..%2f..%2f..%2f..%2fetc/passwd", "/assets/%2e%2e/guards.py", "/-/static/../../app.py",
            f"/assets/{books.book}",
        ):  # fmt: skip
            answered = await browser.get(question)
            assert answered.status_code in (200, 400, 403, 404), question
            assert found_in(answered.content, books) == [] and b"root:" not in answered.content, question
            assert b"def guarded" not in answered.content


def test_no_file_of_the_folder_tells_them(books: Any, catalogue: Catalogue, tmp_path: Path) -> None:
    write_folder(Shop(catalogue, books.shop), tmp_path / "out")
    for file in (tmp_path / "out").rglob("*"):
        assert not file.is_file() or found_in(file.read_bytes(), books) == [], file


def test_the_explorer_never_asks_where_the_parties_are() -> None:
    """Nothing in its room names what would open them, or the book itself."""
    import woodref.explorer as room

    for file in Path(room.__file__ or "").parent.rglob("*.py"):
        text = file.read_text("utf-8")
        for word in (
            "open_parties",
            "parties_place",
            "open_book",
            "book_url",
            "WOODREF_PARTIES",
            "provenance.store",
        ):
            assert word not in text, f"{file.name} names {word}"
