"""Fields that no page has: told on every page, in every form, and never passed over."""

from __future__ import annotations

import csv
import json
from collections.abc import AsyncIterator
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import WORD, Shop
from woodref.explorer.known import fields_of_page
from woodref.explorer.routes import ROUTES, is_page, page_at
from woodref.explorer.serving import app_of, explorer

LISTED = Path(__file__).with_name("pages.csv")
PATHS = [row["path"] for row in csv.DictReader(LISTED.read_text("utf-8").splitlines())]
OURS = [path for path in PATHS if not path.startswith("/catalogue")]
TOLD = '"zqvx" is no field of this page.'


@pytest.fixture
async def browser(catalogue: Catalogue) -> AsyncIterator[httpx.AsyncClient]:
    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        yield client
    made.executor.shutdown(wait=False)


def with_field(path: str, name: str = "zqvx") -> str:
    return f"{path}{'&' if '?' in path else '?'}{name}=7"


def test_every_page_of_ours_is_tried() -> None:
    tried = {found[0] for path in OURS if (found := page_at(urlsplit(path).path)) is not None}
    assert tried == {name for _, name, _ in ROUTES}


@pytest.mark.parametrize("path", OURS)
async def test_a_field_that_no_page_has_is_told(browser: httpx.AsyncClient, path: str) -> None:
    plain, asked = await browser.get(path), await browser.get(with_field(path))
    # a name that is not clear may be what is told first
    assert asked.status_code in ((400, plain.status_code) if plain.status_code in (300, 404) else (400,))
    soup = BeautifulSoup(asked.text, "html.parser")
    assert soup.select_one("h1") is not None
    told = [line.get_text() for line in soup.select(".wrong li")]
    assert TOLD in told and not soup.select('.wrong a[href="#zqvx"]')
    assert not soup.select(".take a")
    # no link of the page asks it again
    assert not [a["href"] for a in soup.select("a[href]") if "zqvx" in str(a["href"])]
    assert not soup.select('input[name="zqvx"]')


@pytest.mark.parametrize("path", OURS)
async def test_the_same_in_json(browser: httpx.AsyncClient, path: str) -> None:
    bare, _, query = path.partition("?")
    if not is_page(f"{bare}.json"):
        return
    answer = await browser.get(with_field(f"{bare}.json?{query}" if query else f"{bare}.json"))
    assert answer.status_code in (300, 400, 404)
    fault = json.loads(answer.text)["error"]
    if answer.status_code == 400:
        assert TOLD in fault["message"] and fault["fields"]["zqvx"] == TOLD


@pytest.mark.parametrize("path", OURS)
async def test_every_field_of_a_form_is_known_to_its_page(browser: httpx.AsyncClient, path: str) -> None:
    page = BeautifulSoup((await browser.get(path)).text, "html.parser")
    for form in page.find_all("form"):
        found = page_at(urlsplit(str(form.get("action") or path)).path)
        if found is None:
            assert str(form["action"]).startswith("/catalogue")
            continue
        known = fields_of_page(found[0])
        for field in form.find_all(["input", "select", "textarea", "button"]):
            name = str(field.get("name") or "")
            assert not name or name in (*known.once, *known.several) or (
                known.rows is not None and known.rows.fullmatch(name)
            ), (found[0], name)  # fmt: skip


@pytest.mark.parametrize("path", [path for path in OURS if "?" not in path])
async def test_an_empty_field_and_the_word_at_the_door_are_no_slip(
    browser: httpx.AsyncClient, path: str
) -> None:
    plain = await browser.get(path)
    for query in ("zqvx=", f"{WORD}=abc"):
        assert (await browser.get(f"{path}?{query}")).status_code == plain.status_code


@pytest.mark.parametrize(
    "path", ["/wood/no-such-wood", "/about/source/nope", "/instead", "/trade", "/no-page"]
)
async def test_where_there_is_no_answer_none_can_be_taken(browser: httpx.AsyncClient, path: str) -> None:
    assert not BeautifulSoup((await browser.get(path)).text, "html.parser").select(".take")


@pytest.mark.parametrize(
    "path",
    ["/board?of=rosewood", "/pictures/weight?of=rosewood", "/beside?wood=rosewood", "/woods?wood=rosewood"],
)
async def test_a_fault_speaks_of_the_fields_of_the_page(browser: httpx.AsyncClient, path: str) -> None:
    soup = BeautifulSoup((await browser.get(path)).text, "html.parser")
    told = " ".join(line.get_text() for line in soup.select(".wrong li, .fault"))
    assert 'The name "rosewood" fits' in told and "--" not in told
    label = soup.find("label", attrs={"for": "region"})
    if label is None:
        assert told.count("Say which: use the botanical name or the id.")
    else:
        assert f'or "{label.get_text()}" with the country' in told


async def test_a_country_that_there_is_not_is_told_at_its_field(browser: httpx.AsyncClient) -> None:
    for path in ("/board?of=walnut&region=XX", "/pictures/light?of=walnut&region=XX"):
        answer = await browser.get(path)
        assert answer.status_code == 400
        fault = BeautifulSoup(answer.text, "html.parser").find(id="region-fault")
        assert fault is not None and '"XX" is not a country' in fault.get_text()
    assert (await browser.get("/board?of=cedar&region=united+states")).status_code in (200, 300)
