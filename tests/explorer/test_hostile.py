"""A hostile walk: every page, every field that stands in its forms, filled with what nobody means well by.

No page breaks down, none keeps anybody waiting, and nothing that was sent comes back as anything but text.
Every field meets every text alone; then all fields together, drawn by a fixed seed.
"""

from __future__ import annotations

import csv
import random
import re
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlencode

import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.guards import App
from woodref.explorer.routes import FORM, ROUTES, page_at
from woodref.explorer.serving import app_of, explorer

LISTED = Path(__file__).with_name("pages.csv")
PAGES = [(row["page"], row["path"]) for row in csv.DictReader(LISTED.read_text("utf-8").splitlines())]
#: one good question for each page
OURS = {page: path for page, path in reversed(PAGES) if page != "tables"}
TABLES = [path for page, path in PAGES if page == "tables"]
#: a word that is on no page unless it was sent
MARK = "zqvxk"
#: seconds that a page may take, whatever is asked
PATIENCE = 2.0
#: fields of a form that is large
MANY = 24
#: texts, as the bytes of a query
TEXTS = {
    "script": quote(f"<script>{MARK}()</script>"),
    "closing": quote(f"</textarea></title></svg></style><img src={MARK} onerror={MARK}()>"),
    "quote": quote(f'"\' onfocus={MARK}() autofocus x="'),
    "link": quote(f"javascript:{MARK}()"),
    "template": quote("{{7*7*7*7*7*7*7}}{% include '/etc/passwd' %}${7*7}#{7*7}"),
    "nul": f"a%00{MARK}%00%0d%0aSet-Cookie:%20{MARK}=1",
    "bytes": f"%ff%fe%c0%af{MARK}%ed%a0%80",
    "turned": quote(f"\u202e\u2066{MARK}\u2069\ufeff\u200b"),
    "astral": quote("\U0001f332" * 40),
    "up": quote(f"../../../../etc/{MARK}"),
    "sql": quote(f"{MARK}'; DROP TABLE material; -- \" ) OR 1=1"),
    "search": quote(f'"* NEAR({MARK} OR ) AND NOT ^ : {{ }}'),
    "number": "1e309",
    "digits": "9" * 400,
    "minus": "-0.0000000000000000000000000001",
    "arabic": quote("٣٥٤"),
    "nan": "nan",
    "range": "..,..;1..2..3",
    "date": "9999-12-31T25:61:61Z",
    "yaml": quote(f"a: &a [*a, *a]\n!!python/object/apply:os.system ['{MARK}']\n- {MARK}"),
    "space": "%20%09%0a%0c%e2%80%a8",
}
LONG = {
    "long": "x" * 100_000,
    "deep": quote("[" * 20_000 + "{" * 20_000),
    "many words": quote("ab " * 33_000),
}
#: names that every page might read
KNOWN = {
    "q",
    "of",
    "wood",
    "name",
    "region",
    "units",
    "page",
    "rows",
    "word",
    "begin",
    "paste",
    "face",
    "back",
}


def fields_of(page: BeautifulSoup) -> set[str]:
    """Names of the fields of all forms of a page."""
    return {str(field["name"]) for field in page.select("input[name], select[name], textarea[name]")}


def said_otherwise(body: str) -> list[str]:
    """What of the words sent stands on the page as more than text or a value."""
    page = BeautifulSoup(body, "html.parser")
    out = [str(script)[:120] for script in page.find_all("script") if not script.get("src")]
    out += [str(script)[:120] for script in page.find_all("script") if MARK in str(script)]
    for node in page.find_all(True):
        for name, value in node.attrs.items():
            text = " ".join(value) if isinstance(value, list) else str(value)
            if name.startswith("on") or MARK in name:
                out.append(f"{node.name} {name}")
            if name in ("href", "src", "action", "formaction") and re.match(
                r"\s*(?:javascript|data|//)", text
            ):
                out.append(f"{node.name} {name}={text[:80]}")
        if MARK in (node.name or ""):
            out.append(node.name)
    if str(7**7) in body:
        out.append("a template was worked out")
    return out


@dataclass(frozen=True)
class Answer:
    """What came back, and after how many seconds."""

    status: int
    headers: dict[str, str]
    body: str
    took: float


async def sent(app: App, target: str) -> Answer:
    """The bytes of a request line as they stand: browsers and libraries would mend them first."""
    path, _, query = target.partition("?")
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET", "scheme": "http",
        "path": unquote(path), "raw_path": path.encode("latin-1"), "query_string": query.encode("latin-1"),
        "headers": [(b"host", b"127.0.0.1:8321")], "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 8321),
        "root_path": "",
    }  # fmt: skip
    said: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        said.append(message)

    begun = time.perf_counter()
    await app(scope, receive, send)
    took = time.perf_counter() - begun
    headers = {key.decode("latin-1").lower(): value.decode("latin-1") for key, value in said[0]["headers"]}
    body = b"".join(message.get("body", b"") for message in said[1:])
    return Answer(said[0]["status"], headers, body.decode("utf-8"), took)


async def asked(app: App, target: str) -> list[str]:
    """What is wrong with the answer to a question; nothing when all is well."""
    answer = await sent(app, target)
    where = f"{target[:160]} ({len(target)} bytes)"
    out = []
    if answer.status >= 500:
        out.append(f"{where}: {answer.status}")
    if answer.took > PATIENCE:
        out.append(f"{where}: {answer.took:.1f} s")
    if "set-cookie" in answer.headers or any("\n" in f"{k}{v}" for k, v in answer.headers.items()):
        out.append(f"{where}: a header was set")
    if answer.headers["content-type"].startswith("text/html"):
        if MARK in answer.body or str(7**7) in answer.body:
            out += [f"{where}: {fault}" for fault in said_otherwise(answer.body)]
        if "\x00" in answer.body or "Traceback" in answer.body:
            out.append(f"{where}: NUL or a traceback")
    return out


async def names_on(app: App, page: str) -> set[str]:
    """Every field of the forms of a page, and those that any page might read."""
    names = set(KNOWN)
    for path in {path for name, path in PAGES if name == page}:
        names |= fields_of(BeautifulSoup((await sent(app, path)).body, "html.parser"))
    return names


def with_field(path: str, name: str, value: str) -> str:
    """A question with one field put in place of what stood there; value: bytes of a query."""
    bare, _, query = path.partition("?")
    kept = [pair for pair in query.split("&") if pair and pair.partition("=")[0] != quote(name)]
    return f"{bare}?{'&'.join([*kept, f'{quote(name)}={value}'])}"


def test_every_page_is_listed() -> None:
    """A page that is added comes into the walks that go through all of them."""
    assert {name for _, name, _ in ROUTES} <= {page for page, _ in PAGES}
    for page, path in PAGES:
        if page != "tables":
            found = page_at(path.partition("?")[0])
            assert found is not None and found[0] == page, path


@pytest.mark.parametrize(
    "body",
    [f"<p><script>{MARK}()</script></p>", f'<input value="" onfocus={MARK}()>',
     f"<a href='javascript:{MARK}()'>x</a>",
     f"<p>{7**7}</p>", f"<{MARK}>", f"<p {MARK}=1>"],
)  # fmt: skip
def test_the_walk_sees_what_it_looks_for(body: str) -> None:
    assert said_otherwise(body)
    assert not said_otherwise(f'<script src="/a.js"></script><a href="/b">{MARK}</a><input value="{MARK}">')


@pytest.fixture
async def app(catalogue: Catalogue, books: Any) -> App:
    """The explorer behind its guards, with the copy of a book that has a shelf."""
    made = explorer(Shop(catalogue, books.signed))
    await made.invoke_startup()
    return app_of(made)


@pytest.mark.parametrize("page", OURS)
async def test_a_field_meets_every_text(page: str, app: App) -> None:
    bare = OURS[page].partition("?")[0]
    # rows that are alike behave alike
    names = {name for name in await names_on(app, page) if not re.search(r"_(?:[2-9]|\d\d)_", name)}
    chance = random.Random(f"field {page}")
    faults = []
    for name in sorted(names):
        # of many fields each meets some of the texts, so that the walk has an end
        met = list(TEXTS.values()) if len(names) <= MANY else chance.sample(list(TEXTS.values()), 6)
        for text in met:
            faults += await asked(app, with_field(OURS[page], name, text))
        faults += await asked(app, with_field(bare, name, LONG["long"]))
    assert not faults, "\n".join(faults[:20])


@pytest.mark.parametrize("page", OURS)
async def test_all_fields_at_once_and_far_too_much(page: str, app: App) -> None:
    chance = random.Random(f"hostile {page}")
    names = await names_on(app, page)
    bare = OURS[page].partition("?")[0]
    faults = []
    every = [*TEXTS.values(), "1", "density", "black+walnut", "US"]
    for _ in range(25):
        pairs = [f"{quote(name)}={chance.choice(every)}" for name in sorted(names) if chance.random() < 0.5]
        ending = chance.choice(("", "", ".json", ".csv")) if "." not in bare and bare != "/" else ""
        faults += await asked(app, f"{bare}{ending}?{'&'.join(pairs)}")
    for text in LONG.values():
        for name in sorted(names & {"q", "of", "wood", "paste", "text", "name", "why_not", "like_colour"}):
            faults += await asked(app, f"{bare}?{quote(name)}={text}")
    faults += await asked(app, f"{bare}?{urlencode([('wood', str(n)) for n in range(5_000)])}")
    faults += await asked(app, f"{bare}?{urlencode([(f'f{n}', 'x') for n in range(5_000)])}")
    assert not faults, "\n".join(faults[:20])


async def test_words_of_a_path(app: App) -> None:
    """The names that stand in a path itself."""
    faults = []
    more = ("x" * 60_000, "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "a%2fb", "%25%32%66", ".", "%", "%zz", "\xff\xfe")
    begins = {
        re.split(r"\(\?P<", path.replace(FORM, ""))[0].removeprefix("^").replace("\\", "")
        for path, _, _ in ROUTES
        if "(?P<" in path.replace(FORM, "")
    }
    assert {"/wood/", "/about/source/", "/items/"} <= begins
    for begin in sorted(begins):
        for text in (*TEXTS.values(), *more):
            for ending in ("", ".json", ".csv"):
                faults += await asked(app, f"{begin}{text}{ending}")
    assert not faults, "\n".join(faults[:20])


#: every question that the table pages know
ASKED_OF_TABLES = (
    "_sort", "_sort_desc", "_facet", "_facet_array", "_facet_date", "_facet_size", "_next", "_size", "_where",
    "_search", "_searchmode", "_shape", "_nl", "_labels", "_col", "_nocol", "_through", "_trace", "_ttl",
    "_stream", "_extra", "_json", "_timelimit", "id", "id__contains", "id__nosuch", "sql", "]",
)  # fmt: skip


@pytest.mark.parametrize("path", TABLES)
async def test_the_table_pages(path: str, app: App) -> None:
    faults = []
    for name in ASKED_OF_TABLES:
        for text in TEXTS.values():
            faults += await asked(app, with_field(path, name, text))
    assert not faults, "\n".join(faults[:20])


async def test_tables_that_there_are_not(app: App) -> None:
    faults = []
    for text in TEXTS.values():
        for begin in ("/catalogue/", "/catalogue/material/", "/catalogue/nosuch/", "/-/", "/"):
            faults += await asked(app, f"{begin}{text}")
    assert not faults, "\n".join(faults[:20])
