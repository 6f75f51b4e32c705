"""The table pages: our look, every column described, cells, questions and faults told as pages."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import AsyncIterator
from itertools import pairwise
from typing import Any
from urllib.parse import urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.columnwords import hidden_tables, table_words
from woodref.catalogue.export import safe
from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.cells import cell
from woodref.explorer.csvguard import NUMBER, Passing, safe_rows
from woodref.explorer.serving import COUNTING, app_of, explorer
from woodref.explorer.tables import EXAMPLES

SHOWN = sorted(set(table_words()) - hidden_tables())
PAGES = (
    "/catalogue", "/catalogue/figure?material_id=alnus-rubra", "/catalogue/material/alnus-rubra",
    "/catalogue?sql=select+1+as+one", "/catalogue?sql=select+nope", "/catalogue/nope",
    *(f"/catalogue/{name}" for name in SHOWN), *(f"/catalogue/{name}" for name, *_ in EXAMPLES),
)  # fmt: skip


@pytest.fixture
async def browser(catalogue: Catalogue) -> AsyncIterator[httpx.AsyncClient]:
    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        yield client
    made.executor.shutdown(wait=False)


def soup_of(answer: httpx.Response) -> BeautifulSoup:
    return BeautifulSoup(answer.text, "html.parser")


@pytest.mark.parametrize("path", PAGES)
async def test_a_table_page_wears_our_dress(browser: httpx.AsyncClient, path: str) -> None:
    answer = await browser.get(path)
    assert len(answer.content) < 150_000
    soup = soup_of(answer)
    start = soup_of(await browser.get("/"))
    assert soup.html is not None and soup.html["lang"] == "en"
    assert soup.select_one("a.skip[href='#main']") and soup.select_one("main#main")
    assert len(soup.find_all("h1")) == 1
    assert [a["href"] for a in soup.select("nav[aria-label=Pages] a")] == [
        a["href"] for a in start.select("nav[aria-label=Pages] a")
    ]
    levels = [int(tag.name[1]) for tag in soup.find_all(["h1", "h2", "h3"])]
    assert all(after - before <= 1 for before, after in pairwise(levels)), levels
    ids = [tag["id"] for tag in soup.find_all(id=True)]
    assert len(ids) == len(set(ids))
    labels = {label.get("for") for label in soup.find_all("label")}
    for field in soup.find_all(["input", "select", "textarea"]):
        assert field.get("type") == "hidden" or field.get("id") in labels, field
    assert not soup.find_all(style=True)
    assert not [t for t in soup.find_all(["script", "style"]) if not t.get("src")]
    for tag in soup.find_all(["link", "script", "img", "a", "form"]):
        for key in ("href", "src", "action"):
            assert urlsplit(tag.get(key, "")).netloc in ("", "127.0.0.1:8321"), tag
    assert "unsafe-inline" not in answer.headers["content-security-policy"]


@pytest.mark.parametrize("table", SHOWN)
async def test_a_page_describes_every_column_it_shows(browser: httpx.AsyncClient, table: str) -> None:
    soup = soup_of(await browser.get(f"/catalogue/{table}"))
    described = {dt.text: dd.text for dt, dd in zip(soup.find_all("dt"), soup.find_all("dd"), strict=True)}
    assert described == table_words()[table].columns
    assert set(described) == {
        th.text.split("\u25b2")[0].split("\u25bc")[0].strip() for th in soup.select("thead th")
    }


async def test_inner_tables_are_not_shown(browser: httpx.AsyncClient) -> None:
    listed = {a["href"] for a in soup_of(await browser.get("/catalogue")).find_all("a", href=True)}
    assert {f"/catalogue/{name}" for name in SHOWN} <= listed
    for name in hidden_tables():
        assert f"/catalogue/{name}" not in listed
        assert (await browser.get(f"/catalogue/{name}")).status_code == 404


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e[0])
async def test_an_example_answers(browser: httpx.AsyncClient, example: tuple[str, ...]) -> None:
    asked = "?name_begins=Dalbergia" if ":name_begins" in example[3] else ""
    answer = await browser.get(f"/catalogue/{example[0]}{asked}")
    assert answer.status_code == 200
    assert len(soup_of(answer).select("tbody tr")) > 3


def test_cells_link_and_carry_units_and_chips() -> None:
    figure = {"unit": "GPa", "value": 9.5}
    assert cell(figure, 9.5, "value", "figure") == '<span class="right">9.5&nbsp;GPa</span>'
    assert cell({"unit": "1"}, 0.3, "value", "figure") is None
    assert cell({}, 458.0, "density_kg_m3", "material_wide") == '<span class="right">458&nbsp;kg/m3</span>'
    named = {"value": "alnus-rubra", "label": "red alder"}
    assert cell({}, named, "material_id", "figure") == '<a href="/wood/alnus-rubra">red alder</a>'
    assert cell({}, "gwdd", "source_id", "figure_full") == '<a href="/about/source/gwdd">gwdd</a>'
    chip = cell({"l_star": 50.0, "a_star": 0.0, "b_star": 0.0}, 50.0, "l_star", "swatch")
    assert chip is not None and 'fill="#777777"' in chip and chip.endswith("50")
    assert cell({}, "quoted", "evidence", "figure") == "read in table (quoted)"
    hostile = '"><script>'
    drawn = cell({"id": hostile}, hostile, "name", "material")
    assert drawn is not None and "<script>" not in drawn
    for value in (None, ""):
        assert cell({}, value, "material_id", "figure") is None
    assert cell({}, 1, "material_id", None) is None


@pytest.mark.parametrize(
    ("path", "status", "said"),
    [
        ("/catalogue/nope", 404, "no such table"),
        ("/catalogue/material/nope", 404, "no such page, table or row"),
        ("/catalogue/material/alnus-rubra.csv", 404, "no such table or row"),
        ("/catalogue/figure.xml", 404, "no such table"),
        ("/catalogue/foo~5Dbar", 404, "no such table"),
        ("/catalogue.csv", 404, "has no CSV"),
        ("/catalogue/figure?_sort=nope", 400, "no column"),
        ("/catalogue/figure?_sort_desc=nope", 400, "no column"),
        ("/catalogue/figure?_facet=nope", 400, "no column"),
        ("/catalogue/figure?_col=nope", 400, "no column"),
        ("/catalogue/figure?nope=1", 400, "no column"),
        ("/catalogue/figure?value__near=1", 400, "no test of a column"),
        ("/catalogue/figure?material_id__in=[1", 400, "no list of values"),
        ("/catalogue/figure?_size=many", 400, "cannot be"),
        ("/catalogue/figure?_facet_size=", 400, "is empty"),
        ("/catalogue/figure?_trace=1", 400, "no field of this page"),
        ("/catalogue/figure?_through=1", 400, "no field of this page"),
        ("/catalogue/figure?_where=nope", 400, "no such column"),
        ("/catalogue/figure?value__gt=999999999999999999999", 400, "too large"),
        ("/catalogue/material_wide?_next=x", 400, "_next"),
        ("/catalogue/material_wide.json?_shape=object", 400, "no key"),
        ("/catalogue?sql=delete+from+meta", 400, "must be a SELECT"),
        ("/catalogue?sql=select+nope", 400, "no such column"),
        ("/nope", 404, "no such page"),
    ],
)
async def test_a_slip_is_told_on_a_page_and_not_on_the_terminal(
    browser: httpx.AsyncClient, capfd: pytest.CaptureFixture[str], path: str, status: int, said: str
) -> None:
    answer = await browser.get(path)
    assert answer.status_code == status
    text = answer.json()["error"]["message"] if ".json" in path else soup_of(answer).text
    assert said in text
    assert "Traceback" not in answer.text
    heard = capfd.readouterr()
    assert heard.out == heard.err == ""


async def test_an_endless_question_is_cut_and_told(browser: httpx.AsyncClient) -> None:
    sql = "with recursive n(i) as (select 1 union all select i + 1 from n) select count(*) from n"
    answer = await browser.get("/catalogue", params={"sql": sql})
    assert answer.status_code == 400
    assert "longer than 3 seconds" in answer.text


async def test_a_page_that_fails_says_so_without_its_inside(
    browser: httpx.AsyncClient, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(ask: Any) -> Any:
        raise RuntimeError("the inside of the page")

    monkeypatch.setattr("woodref.explorer.pages.about.about", failing)
    answer = await browser.get("/about")
    assert answer.status_code == 500
    assert "the inside of the page" not in answer.text and "Traceback" not in answer.text
    assert "Something is wrong in woodref itself" in answer.text
    # whoever started the explorer reads what went wrong
    assert "the inside of the page" in caplog.text
    told = (await browser.get("/about.json")).json()
    assert told["error"]["code"] == "failed"


async def test_csv_of_a_table_is_safe_and_whole(browser: httpx.AsyncClient, catalogue: Catalogue) -> None:
    answer = await browser.get("/catalogue/figure.csv?_stream=on&_size=max")
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert len(rows) == catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"]
    notes = {r["note"] for r in catalogue.rows("SELECT note FROM figure WHERE note IS NOT NULL")}
    assert notes <= {row["note"] for row in rows}
    sql = "select '=1+1' as a, '-2+3' as b, -2.5 as c, '@x,\"y\"\n=z' as d, '+1e5' as e, char(9) || '=1' as f"
    answer = await browser.get("/catalogue.csv", params={"sql": sql})
    (head, row) = list(csv.reader(io.StringIO(answer.text)))
    assert head == ["a", "b", "c", "d", "e", "f"]
    assert row == ["'=1+1", "'-2+3", "-2.5", '\'@x,"y"\n=z', "+1e5", "'\t=1"]


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\r\x00"), max_size=12)


@given(st.lists(st.lists(CELL, min_size=2, max_size=4), min_size=1, max_size=6), st.integers(1, 7))
def test_csv_in_pieces_is_csv_at_once(rows: list[list[str]], size: int) -> None:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    whole = out.getvalue().encode()
    passing = Passing()
    parts = [passing.feed(whole[at : at + size]) for at in range(0, len(whole), size)]
    sent = b"".join([*parts, passing.feed(b"", last=True)]).decode()
    assert sent == safe_rows(whole.decode())
    read = list(csv.reader(io.StringIO(sent, newline="")))
    assert read == [[c if NUMBER.fullmatch(c) else safe(c) for c in row] for row in rows]


async def request(browser: httpx.AsyncClient, raw: bytes, **heads: str) -> int:
    """The status of a path sent as it is, which a client would tidy up."""
    sent: list[dict[str, Any]] = []
    given = {"host": "127.0.0.1:8321"} | heads
    scope = {
        "type": "http", "method": given.pop("method", "GET"), "path": raw.decode("latin-1"), "raw_path": raw,
        "query_string": b"", "headers": [(k.encode(), v.encode()) for k, v in given.items()],
        "http_version": "1.1", "scheme": "http", "root_path": "", "server": ("127.0.0.1", 8321),
    }  # fmt: skip

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    await browser._transport.app(scope, receive, send)  # type: ignore[attr-defined]
    places = [v for k, v in sent[0]["headers"] if k.lower() == b"location"]
    assert all(v.startswith(b"/") and not v.startswith((b"//", b"/\\")) for v in places), places
    return int(sent[0]["status"])


@pytest.mark.parametrize("path", [b"/catalogue", b"/catalogue/figure", b"/catalogue/figure/1"])
async def test_tables_answer_to_this_machine_and_only_read(browser: httpx.AsyncClient, path: bytes) -> None:
    assert await request(browser, path) == 200
    assert await request(browser, path, host="evil.example") == 421
    assert await request(browser, path, host="127.0.0.1.evil.example") == 421
    for method in ("POST", "PUT", "DELETE", "PATCH", "OPTIONS"):
        assert await request(browser, path, method=method) == 405
    elsewhere = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}
    assert await request(browser, path, **elsewhere) == 403


@pytest.mark.parametrize(
    "path",
    [
        b"//evil.example/", b"//evil.example/catalogue/", b"/\\evil.example/", b"/%5cevil.example/",
        b"/%2f/evil.example/", b"/%2Fevil.example/", b"/catalogue/foo]bar", b"/catalogue/foo~5Dbar",
        b"/catalogue/sqlite_master", b"/catalogue/name_search_data", b"/catalogue/%5d", b"/_memory",
        b"/_internal", b"/_internal/tables", b"/:memory:x", b"/-/patterns", b"/-/permissions", b"/-/messages",
        b"/-/allow-debug", b"/-/logout", b"/-/auth-token", b"/assets/../serving.py",
        b"/assets/%2e%2e/serving.py",
    ],
)  # fmt: skip
async def test_side_doors_are_closed(browser: httpx.AsyncClient, path: bytes) -> None:
    status = await request(browser, path)
    # a path in other letters may be sent on to its plain spelling, which is read in its turn
    assert status in (403, 404) or (status == 302 and b"%" in path)


def test_a_long_cell_passes_and_the_limit_of_others_stays() -> None:
    import csv

    before = csv.field_size_limit()
    long = "x" * (before + 10)
    assert safe_rows(f"name\r\n{long}\r\n") == f"name\r\n{long}\r\n"
    assert csv.field_size_limit() == before


async def test_a_table_is_counted_once_and_its_rows_are_read_each_time(
    browser: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from datasette.database import Database

    asked: list[str] = []
    plain = Database.execute

    async def watched(self: Any, sql: str, *args: Any, **given: Any) -> Any:
        asked.append(" ".join(sql.split()))
        return await plain(self, sql, *args, **given)

    monkeypatch.setattr(Database, "execute", watched)
    paths = ("/catalogue/figure_full?_facet=evidence", "/catalogue/figure_full?_facet=evidence&preferred=1")
    first = [(await browser.get(path)).text for path in paths]
    once = [sql for sql in asked if COUNTING.match(sql)]
    assert any(sql.startswith("select count(*) from figure_full") for sql in once)
    assert any(sql.startswith("select evidence as value, count(*)") for sql in once)
    asked.clear()
    again = [(await browser.get(path)).text for path in paths]
    assert not [sql for sql in asked if COUNTING.match(sql)]
    assert any(sql.startswith("select material,") for sql in asked)
    # what the page says of its own speed is left aside
    without = [re.sub(r"Queries took [0-9.]+", "", text) for text in (*first, *again)]
    assert without[:2] == without[2:] and without[0] != without[1]


@pytest.mark.parametrize(
    "sql",
    [
        "select count(*) + random() from figure",
        "select id from material",
        "select 1 as value, count(*) as count",
    ],
)
def test_only_counts_are_remembered(sql: str) -> None:
    assert not COUNTING.match(sql)
