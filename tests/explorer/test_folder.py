"""The reading pages as plain files: every link leads to a file, nothing asks a server, whole or none."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from bs4 import BeautifulSoup, Tag
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import main
from woodref.errors import BadRequest
from woodref.explorer import folder as folders
from woodref.explorer.asking import Shop
from woodref.explorer.folder import MARK, Written, file_names, write_folder
from woodref.explorer.markup import read
from woodref.explorer.plainfile import plain_page

MOST = 150_000
#: attributes that lead somewhere
LEADS = ("href", "src", "action", "formaction", "xlink:href", "srcset", "data", "poster")


@pytest.fixture(scope="module")
def made(catalogue: Catalogue, books: Any, tmp_path_factory: pytest.TempPathFactory) -> Written:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("WOODREF_TODAY", "2026-06-01")
        return write_folder(Shop(catalogue, books.shop), tmp_path_factory.mktemp("phone") / "pages")


@pytest.fixture(scope="module")
def pages(made: Written) -> dict[Path, BeautifulSoup]:
    files = sorted(made.folder.rglob("*.html"))
    return {file: BeautifulSoup(file.read_text("utf-8"), "html.parser") for file in files}


def test_every_link_leads_to_a_file_and_every_place_is_on_it(
    made: Written, pages: dict[Path, BeautifulSoup]
) -> None:
    ids = {file: {tag["id"] for tag in page.find_all(id=True)} for file, page in pages.items()}
    looked = 0
    for file, page in pages.items():
        for tag in page.find_all():
            assert isinstance(tag, Tag)
            for name in LEADS:
                value = tag.get(name)
                if not isinstance(value, str):
                    continue
                path, _, place = value.partition("#")
                assert not re.match(r"[a-z][a-z0-9+.-]*:|/", path), f"{file.name}: {value}"
                assert "?" not in path, f"{file.name}: {value}"
                target = (file.parent / unquote(path)).resolve() if path else file
                assert target.is_file() and target.is_relative_to(made.folder), f"{file.name}: {value}"
                assert not place or place in ids[target], f"{file.name}: {value}"
                looked += 1
    assert looked > 3_000


def test_no_form_no_script_and_the_frame_of_every_page(pages: dict[Path, BeautifulSoup]) -> None:
    for file, page in pages.items():
        assert not page.find_all(["form", "script", "input", "button", "select", "textarea", "iframe"]), file
        assert not [a for tag in page.find_all() for a in tag.attrs if a.startswith("on")], file
        assert len(page.find_all("h1")) == 1 and len(page.find_all("main")) == 1, file
        assert page.html is not None and page.html.get("lang") == "en"
        assert "Written as plain files on 2026-06-01." in page.get_text()
        assert file.stat().st_size < MOST, file
        heads = page.select("h2, h3, h4")
        assert not [h for h in heads if h.find_next_sibling() is None and not h.get("id") and h.parent
                    and h.parent.name == "section" and len(h.parent.find_all(True)) == 1], file  # fmt: skip


def test_it_holds_the_first_page_every_wood_and_what_the_book_shows(
    made: Written, pages: dict[Path, BeautifulSoup], catalogue: Catalogue
) -> None:
    names = {file.relative_to(made.folder).as_posix() for file in pages}
    assert {"index.html", "names.html", "items.html", "items/STOOL-001.html", "shelf.html"} <= names
    woods = [row["id"] for row in catalogue.rows("SELECT id FROM material")]
    assert {f"wood/{name}.html" for name in [*woods, *catalogue.adhesives]} <= names
    assert made.first.is_file() and made.with_shelf
    # pages that only answer what is filled in are not there, and nothing leads to them
    assert (
        not {"search.html", "instead.html", "trade.html", "layup.html", "board.html", "beside.html"} & names
    )
    text = pages[made.first].get_text()
    assert "No name can be looked up in these files." in text and "Find a stand-in" not in text


def test_whoever_cannot_search_finds_every_name(made: Written, pages: dict[Path, BeautifulSoup]) -> None:
    found = {}
    for file, page in pages.items():
        if file.parent.name == "names":
            found |= {
                a.get_text(): (file.parent / str(a["href"])).resolve().stem for a in page.select("li a")
            }
    assert found["Swietenia macrophylla"] == "swietenia-macrophylla"
    assert found["Alnus oregona"] == found["Oregon alder"] == "alnus-rubra"
    assert found["hide glue"] == "hide-glue"


def test_every_page_is_reached_from_the_first(made: Written, pages: dict[Path, BeautifulSoup]) -> None:
    reached, todo = {made.first}, [made.first]
    while todo:
        file = todo.pop()
        for anchor in pages[file].select("a[href]"):
            path = str(anchor["href"]).partition("#")[0]
            target = (file.parent / path).resolve() if path else file
            if target not in reached:
                reached.add(target)
                todo.append(target)
    alone = {file.resolve() for file in pages} - {file.resolve() for file in reached}
    assert alone == set()


def test_size_and_mark(made: Written) -> None:
    size = sum(f.stat().st_size for f in made.folder.rglob("*") if f.is_file())
    assert made.size == size and f"{size / 1e6:.1f} MB" in made.sentences()[0]
    told = json.loads((made.folder / MARK).read_text("utf-8"))
    there = {f.relative_to(made.folder).as_posix() for f in made.folder.rglob("*") if f.is_file()}
    assert {*told["files"], MARK} == there
    assert not [f for f in there if f.endswith(".js")]


# --- writing


@pytest.fixture
def few(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """A walk of three pages, for what is about files alone."""
    monkeypatch.setattr(folders, "_things", lambda shop: ["/wood/teak"])
    monkeypatch.setattr(folders, "plain_paths", lambda: [])
    monkeypatch.setattr(folders, "_names_pages", lambda shop: [("/names", "<p>x</p>")])
    monkeypatch.setattr(folders, "_links", lambda page: [])
    return Shop(catalogue)


def test_a_folder_written_before_is_replaced_whole(few: Shop, tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out).mkdir()  # an empty one may be written to
    write_folder(few, out)
    (out / "wood" / "teak.html").write_text("old")
    again = write_folder(few, out)
    assert again.pages == 3 and "teak" in (out / "wood" / "teak.html").read_text()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out"]


def test_what_somebody_else_laid_there_is_never_deleted(few: Shop, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_folder(few, out)
    (out / "wood" / "mine.jpg").write_bytes(b"x")
    with pytest.raises(BadRequest, match=r"mine\.jpg was not written by this command"):
        write_folder(few, out)
    assert (out / "wood" / "mine.jpg").read_bytes() == b"x"
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("x")
    file = tmp_path / "file"
    file.write_text("x")
    link = tmp_path / "link"
    link.symlink_to(other)
    for path in (other, file, link):
        with pytest.raises(BadRequest, match="was not written by this command"):
            write_folder(few, path)
    with pytest.raises(BadRequest, match="there is no folder"):
        write_folder(few, tmp_path / "none" / "out")
    (other / MARK).write_text('{"files": ["../file"]}')
    with pytest.raises(BadRequest):
        write_folder(few, other)
    assert file.read_text() == "x" and (other / "letter.txt").read_text() == "x"


def test_what_fails_halfway_leaves_the_old_one(
    few: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    write_folder(few, out)
    before = (out / "index.html").read_bytes()
    real = os.rename

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    def second(old: Any, new: Any) -> None:
        if str(old).endswith(".part"):
            full()
        real(old, new)

    for where, how in ((folders, full), (os, second)):
        with monkeypatch.context() as patch:
            patch.setattr(where, "_put" if where is folders else "rename", how)
            with pytest.raises(BadRequest, match="No space left on device"):
                write_folder(few, out)
        assert (out / "index.html").read_bytes() == before
        assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_command_tells_what_it_wrote(tmp_path: Path, books: Any) -> None:
    done = CliRunner().invoke(
        main, ["explore", "--folder", str(tmp_path / "out"), "--book-copy", str(books.shop)]
    )
    said = " ".join(done.output.split())
    assert done.exit_code == 0 and re.search(r"Written: \S+, [0-9,]+ pages, [0-9.]+ MB\.", said)
    assert "open index.html" in said and "keep the folder to yourself" in said


# --- names and pages


def test_names_of_files_are_plain_and_unlike() -> None:
    links = [
        "/",
        "/items/Aa",
        "/items/AA",
        "/items/a%2Fb",
        "/items/a_b",
        "/woods?page=2",
        "/items/..%2f..%2fx",
    ]
    files = file_names(links)
    assert files["/"] == "index.html" and files["/woods?page=2"] == "woods-page-2.html"
    assert len({name.casefold() for name in files.values()}) == len(links)
    for name in files.values():
        assert re.fullmatch(r"[A-Za-z0-9_/-]+\.html", name) and ".." not in name
    assert file_names(links) == files


FILES = {
    "/": "index.html",
    "/names": "names.html",
    "/wood/a": "wood/a.html",
    "/woods?page=2": "woods-page-2.html",
}


@pytest.mark.parametrize(("before", "after"), [
    ('<a href="/wood/a">x</a>', '<a href="a.html">x</a>'),
    ('<a href="/wood/a#more" class="y">x</a>', '<a href="a.html#more" class="y">x</a>'),
    ('<p>See <a href="/wood/b">b &amp; c</a>.</p>', "<p>See b &amp; c.</p>"),
    ('<p class="row"><a class="button" href="/instead?of=a">x</a></p>', ""),
    ('<ul><li><a href="/trade">x</a> 3</li></ul>', ""),
    ('<section><h2>x</h2><ul><li><a href="/trade">y</a></li></ul></section>', ""),
    ('<div><h2>x</h2><h3>y</h3><ul><li><a href="/trade">y</a></li></ul><h2>z</h2><p>w</p></div>',
     "<div><h2>z</h2><p>w</p></div>"),
    ('<a href="http://evil.example/">x</a>', "x"), ('<a href="//evil.example/">x</a>', "x"),
    ('<a href="javascript:x()">x</a>', "x"), ('<a href="#gone">x</a>', "x"),
    ('<p id="h">y</p><a href="#h">x</a>', '<p id="h">y</p><a href="#h">x</a>'),
    ('<img src="https://evil.example/x.png" alt="">', ""),
    ('<img src="/assets/x.png" alt="">', '<img src="../assets/x.png" alt="">'),
    ('<script src="/assets/x.js"></script>', ""),
    ('<p class="take"><a href="/wood/a.json">JSON</a></p>', ""),
    ('<svg viewBox="0 0 1 1"><a href="/wood/a"><path d="M0 0"/></a></svg>',
     '<svg viewBox="0 0 1 1"><a href="a.html"><path d="M0 0"/></a></svg>'),
    ('<div><svg viewBox="0 0 1 1"><rect width="1"/></svg></div>',
     '<div><svg viewBox="0 0 1 1"><rect width="1"/></svg></div>'),
    ('<form action="/woods"><table><thead><tr><th>tick</th><th>wood</th></tr></thead><tr><td><input></td>'
     '<td><a href="/wood/a">a</a></td></tr></table><button name="page" value="2">next</button>'
     '<button>lay</button></form>',
     '<table><thead><tr><th>wood</th></tr></thead><tr><td><a href="a.html">a</a></td></tr></table>'
     '<a class="button second" href="../woods-page-2.html">next</a>'),
])  # fmt: skip
def test_what_becomes_of_a_page(before: str, after: str) -> None:
    assert plain_page(read(before), "/wood/a", FILES, "2026-06-01") == after


def test_what_becomes_of_a_form() -> None:
    search = plain_page(read('<form action="/search"><input></form>'), "/wood/a", FILES, "2026-06-01")
    assert 'href="../names.html"' in search and "<form" not in search
    twice = plain_page(read("<form><input></form><details><form></form></details>"), "/", FILES, "2026-06-01")
    assert twice.count("answered by the explorer itself") == 1 and "<details" not in twice


@pytest.mark.parametrize("broken", ["<p>", "<p></div>", "<ul><li></ul>"])
def test_a_page_that_is_not_closed_is_no_page(broken: str) -> None:
    with pytest.raises(ValueError, match=r"ends|has no end"):
        read(broken)


def test_a_page_that_nothing_is_changed_in_stays_as_it_was() -> None:
    page = '<!DOCTYPE html>\n<p class=\'a\' id="&quot;">&lt;x&#62; é</p><br><svg viewBox="0 0 1 1"/>\n'
    assert read(page).text() == page
