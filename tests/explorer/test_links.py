"""A walk over every page that a browser comes to from the first one, those of every route among them."""

from __future__ import annotations

import asyncio
import json
import re
from collections import Counter, deque
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl, urljoin, urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup, Tag

from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.routes import ROUTES, page_at, plain_paths
from woodref.explorer.serving import app_of, explorer

#: pages looked at of one route with one set of fields, and of one route in all
EACH, ROUTE = 2, 9
#: no page weighs more [bytes]
MOST = 150_000
#: what a person may meet who follows a link: an answer, a question back, a field to mend
MEANT = (200, 300, 400)
UNKNOWN, SHARED = "/wood/nothing-of-that-name", "/wood/rosewood"
#: where links stand
LINKED = (
    ("a", "href"),
    ("link", "href"),
    ("script", "src"),
    ("img", "src"),
    ("image", "href"),
    ("form", "action"),
)


def kind_of(link: str) -> tuple[str, tuple[str, ...]]:
    """The route of a link and the fields it fills in."""
    path, _, query = link.partition("?")
    found = page_at(path)
    fields = tuple(sorted({name for name, _ in parse_qsl(query)}))
    return (found[0] + found[1].get("format", "") if found else path), fields


def links_of(page: BeautifulSoup, here: str) -> list[str]:
    """Links of a page as whole paths, in the order they stand; of other hosts as they are."""
    out = []
    for found in page.find_all([tag for tag, _ in LINKED]):
        assert isinstance(found, Tag)
        name = dict(LINKED)[found.name]
        value = found.get(name) or found.get(f"xlink:{name}")
        if isinstance(value, str) and not value.startswith(("#", "data:")):
            out.append(value if re.match(r"[a-z]+:|//", value) else urljoin(here, value).partition("#")[0])
    return out


@dataclass(frozen=True)
class Walked:
    """answers: link -> (status, kind, bytes), status 0 for another host; pages: those that are ours, read."""

    answers: dict[str, tuple[int, str, bytes]]
    pages: dict[str, BeautifulSoup]


@pytest.fixture(scope="module")
def walked(catalogue: Catalogue, books: Any) -> Walked:
    """Some of each kind of page, from the first one and from each route's own path on."""
    return asyncio.run(_walk(catalogue, books))


async def _walk(catalogue: Catalogue, books: Any) -> Walked:
    out = Walked({}, {})
    met: Counter[Any] = Counter()
    todo = deque(dict.fromkeys(["/", *plain_paths(), UNKNOWN, SHARED]))
    seen = set(todo)
    made = explorer(Shop(catalogue, books.signed))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as browser:
        while todo:
            link = todo.popleft()
            kind = kind_of(link)
            if met[kind] >= EACH or met[kind[0]] >= ROUTE:
                continue
            met[kind] += 1
            met[kind[0]] += 1
            if urlsplit(link).netloc or urlsplit(link).scheme:
                out.answers[link] = (0, "", b"")
                continue
            got = await browser.get(link)
            told = got.headers.get("content-type", "")
            out.answers[link] = (got.status_code, told, got.content)
            if page_at(link.partition("?")[0]) and told.startswith("text/html"):
                out.pages[link] = BeautifulSoup(got.text, "html.parser")
                fresh = [other for other in links_of(out.pages[link], link) if other not in seen]
                seen.update(fresh)
                todo += fresh
    return out


def test_every_link_leads_somewhere_and_to_no_other_host(walked: Walked) -> None:
    wrong = {
        link: status for link, (status, _, _) in walked.answers.items()
        if status not in MEANT and not (link.startswith(UNKNOWN) and status == 404)
    }  # fmt: skip
    assert wrong == {}
    assert walked.answers[UNKNOWN][0] == 404 and walked.answers[SHARED][0] == 300


def test_every_page_has_its_frame_and_its_weight(walked: Walked) -> None:
    assert len(walked.pages) > 20
    for link, page in walked.pages.items():
        assert len(page.find_all("h1")) == 1, link
        assert len(page.find_all("main")) == 1, link
        assert page.html is not None and page.html.get("lang") == "en", link
        assert page.title is not None and len(page.title.get_text(strip=True)) > len("- woodref"), link
        weight = len(walked.answers[link][2])
        assert weight < MOST, f"{link} weighs {weight:,} bytes"
        ids = [tag["id"] for tag in page.find_all(id=True)]
        assert len(ids) == len(set(ids)), f"{link}: {[i for i, n in Counter(ids).items() if n > 1]}"


def test_every_place_that_a_page_names_is_on_it(walked: Walked) -> None:
    for link, page in walked.pages.items():
        for anchor in page.select('a[href^="#"]'):
            assert page.find(id=str(anchor["href"])[1:]), f"{link}: {anchor['href']}"


def test_every_field_has_a_label_and_every_picture_its_words(walked: Walked) -> None:
    for link, page in walked.pages.items():
        labels = {label.get("for") for label in page.find_all("label")}
        for field in page.select("input:not([type=hidden]):not([type=submit]), select, textarea"):
            known = field.get("aria-label") or field.get("id") in labels or field.find_parent("label")
            assert known, f"{link}: {field.get('name')}"
        for drawing in page.select("svg"):
            told = drawing.get("aria-label") or drawing.get("aria-labelledby") or drawing.find("title")
            assert told or drawing.get("aria-hidden") == "true", f"{link}: {str(drawing)[:80]}"


def test_our_pages_hold_to_what_their_policy_says(walked: Walked) -> None:
    for link, page in walked.pages.items():
        assert not page.select("[style], style, script:not([src])"), link
        assert not [a for tag in page.find_all() for a in tag.attrs if a.startswith("on")], link


def test_every_page_of_the_menu_and_of_the_book_is_met(walked: Walked) -> None:
    met = {kind_of(link)[0] for link in walked.answers}
    wanted = {name for path, name, label in ROUTES if label or name.startswith("published:")}
    assert wanted - met == set()


def test_what_is_taken_away_is_what_it_says(walked: Walked) -> None:
    looked = 0
    for link, (status, kind, body) in walked.answers.items():
        path = link.partition("?")[0]
        if page_at(path) and path.endswith(".json"):
            json.loads(body)
            looked += 1
        elif page_at(path) and path.endswith(".csv") and status == 200:
            assert kind.startswith("text/csv"), link
            looked += 1
    assert looked > 5
