"""A walk over every page that a browser comes to from the first one, those of every route among them."""

from __future__ import annotations

import re
from collections import Counter, deque
from typing import Any
from urllib.parse import parse_qsl, urljoin, urlsplit

import pytest
from bs4 import BeautifulSoup, Tag

from woodref.explorer.routes import ROUTES, page_at, plain_paths

#: pages looked at of one route with one set of fields: enough to meet each kind, few enough to wait for
EACH = 8
#: no page weighs more [bytes]
MOST = 150_000
#: what a person may meet who follows a link: an answer, a question back, a field to mend
MEANT = (200, 300, 400)
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


def links_of(page: str, here: str) -> list[str]:
    """Links of a page as whole paths, in the order they stand; of other hosts as they are."""
    out = []
    for tag, name in LINKED:
        for found in BeautifulSoup(page, "html.parser").find_all(tag):
            assert isinstance(found, Tag)
            value = found.get(name) or found.get(f"xlink:{name}")
            if isinstance(value, str) and not value.startswith(("#", "data:")):
                out.append(
                    value if re.match(r"[a-z]+:|//", value) else urljoin(here, value).partition("#")[0]
                )
    return out


@pytest.fixture
async def walked(served: Any, books: Any) -> dict[str, Any]:
    """Link -> answer of some of each kind of page, from the first page and from each route's own path on."""
    out: dict[str, Any] = {}
    met: Counter[tuple[str, tuple[str, ...]]] = Counter()
    todo = deque(dict.fromkeys(["/", *plain_paths(), "/wood/nothing-of-that-name", "/wood/rosewood"]))
    seen = set(todo)
    async with served(books.shop) as browser:
        while todo:
            link = todo.popleft()
            if met[kind_of(link)] >= EACH:
                continue
            met[kind_of(link)] += 1
            out[link] = answered = await browser.get(link)
            ours = page_at(link.partition("?")[0]) is not None
            if ours and answered.headers["content-type"].startswith("text/html"):
                for other in links_of(answered.text, link):
                    if other not in seen:
                        seen.add(other)
                        todo.append(other)
    return out


def pages(walked: dict[str, Any]) -> dict[str, Any]:
    """Those that are pages of ours."""
    return {
        link: answered for link, answered in walked.items()
        if page_at(link.partition("?")[0]) and answered.headers["content-type"].startswith("text/html")
    }  # fmt: skip


async def test_every_link_leads_somewhere_and_to_no_other_host(walked: dict[str, Any]) -> None:
    wrong = []
    for link, answered in walked.items():
        split = urlsplit(link)
        if split.scheme or split.netloc:
            wrong.append((link, "another host"))
        elif answered.status_code not in MEANT and link != "/wood/nothing-of-that-name":
            wrong.append((link, answered.status_code))
    assert wrong == []


async def test_every_page_has_its_frame_and_its_weight(walked: dict[str, Any]) -> None:
    looked = pages(walked)
    assert len(looked) > 20
    for link, answered in looked.items():
        soup = BeautifulSoup(answered.text, "html.parser")
        assert len(soup.find_all("h1")) == 1, link
        assert len(soup.find_all("main")) == 1, link
        assert soup.html is not None and soup.html.get("lang") == "en", link
        assert soup.title is not None and len(soup.title.get_text(strip=True)) > len("- woodref"), link
        assert len(answered.content) < MOST, f"{link} weighs {len(answered.content):,} bytes"
        ids = [tag["id"] for tag in soup.find_all(id=True)]
        assert len(ids) == len(set(ids)), f"{link}: {[i for i, n in Counter(ids).items() if n > 1]}"


async def test_every_place_that_a_page_names_is_on_it(walked: dict[str, Any]) -> None:
    for link, answered in pages(walked).items():
        soup = BeautifulSoup(answered.text, "html.parser")
        for anchor in soup.select('a[href^="#"]'):
            assert soup.find(id=str(anchor["href"])[1:]), f"{link}: {anchor['href']}"


async def test_every_field_has_a_label_and_every_picture_its_words(walked: dict[str, Any]) -> None:
    for link, answered in pages(walked).items():
        soup = BeautifulSoup(answered.text, "html.parser")
        for field in soup.select("input:not([type=hidden]):not([type=submit]), select, textarea"):
            labelled = field.get("aria-label") or soup.find("label", attrs={"for": field.get("id")})
            assert labelled or field.find_parent("label"), f"{link}: {field.get('name')}"
        for drawing in soup.select("svg"):
            told = drawing.get("aria-label") or drawing.get("aria-labelledby") or drawing.find("title")
            assert told or drawing.get("aria-hidden") == "true", f"{link}: {str(drawing)[:80]}"


async def test_every_route_is_met(walked: dict[str, Any]) -> None:
    met = {kind_of(link)[0] for link in walked}
    # a page that answers a form alone is met where its form is tested
    wanted = {name for path, name, label in ROUTES if label or re.sub(r"[$^]", "", path).startswith("/items")}
    assert {name for name in wanted if name not in met} == set()


async def test_the_answers_of_the_forms_of_data_are_what_they_say(walked: dict[str, Any]) -> None:
    looked = 0
    for link, answered in walked.items():
        path = link.partition("?")[0]
        if page_at(path) and path.endswith(".json"):
            answered.json()
            looked += 1
        elif page_at(path) and path.endswith(".csv"):
            assert answered.headers["content-type"].startswith("text/csv"), link
            looked += 1
    assert looked > 5
