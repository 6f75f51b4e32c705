"""Browsing, laying side by side and the pages about the data, as a browser meets them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import AsyncIterator
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner

from woodref.catalogue.names import LISTS_APART
from woodref.catalogue.ownimport import bring_in
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.serving import app_of, explorer

HOSTILE = "\"><script>alert(1)</script>'{{7*7}}"
PAGES = (
    "/woods", "/woods?density_from=450&density_to=600&pores=ring", "/woods?kind=glue",
    "/woods?density_from=x",
    "/beside", "/beside?wood=teak&wood=ovangkol", "/beside?wood=teak&wood=rosewood", "/beside?wood=teak",
    "/about", "/about/sources", "/about/sources?page=2", "/about/source/gwdd", "/about/coverage",
)  # fmt: skip


@pytest.fixture
async def browser(catalogue: Catalogue) -> AsyncIterator[httpx.AsyncClient]:
    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        yield client


async def read(browser: httpx.AsyncClient, path: str, status: int = 200) -> BeautifulSoup:
    answer = await browser.get(path)
    assert answer.status_code == status, answer.text[:400]
    assert len(answer.content) < 150_000
    return BeautifulSoup(answer.text, "html.parser")


def commanded(*words: str) -> Any:
    """What the command prints as JSON."""
    from woodref.cli.main import main

    done = CliRunner().invoke(main, list(words))
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.mark.parametrize("path", PAGES)
async def test_every_page_has_one_heading_labels_and_nothing_foreign(
    browser: httpx.AsyncClient, path: str
) -> None:
    soup = BeautifulSoup((await browser.get(path)).text, "html.parser")
    assert len(soup.find_all("h1")) == 1
    levels = [int(tag.name[1]) for tag in soup.find_all(["h1", "h2", "h3", "h4"])]
    assert all(after - before <= 1 for before, after in pairwise(levels)), levels
    ids = [tag["id"] for tag in soup.find_all(id=True)]
    assert len(ids) == len(set(ids)), "an id stands twice"
    labels = {label.get("for") for label in soup.find_all("label")}
    for field in soup.find_all(["input", "select", "textarea"]):
        if field.get("type") != "hidden":
            assert field.get("id") in labels or field.get("aria-label"), field
    assert not soup.find_all(style=True)
    assert not [t for t in soup.find_all("script") if not t.get("src")]
    for tag in soup.find_all(["link", "script", "img", "a", "form"]):
        for key in ("href", "src", "action"):
            assert not urlsplit(tag.get(key, "")).netloc, tag


async def test_the_json_of_browsing_is_that_of_find(browser: httpx.AsyncClient) -> None:
    shown = await browser.get("/woods.json?density_from=450&density_to=600&pores=ring&planted=yes")
    assert shown.json() == commanded(
        "find", "--with", "density=450..600", "--only", "pores=ring", "--only", "planted=yes", "--json"
    )


async def test_limits_take_other_units_and_a_whole_range_in_one_field(browser: httpx.AsyncClient) -> None:
    by_ends = (await browser.get("/woods.json?density_from=30&density_to=40 lb/ft3")).json()
    at_once = (await browser.get("/woods.json?density_from=30..40 lb/ft3")).json()
    said = commanded("find", "--with", "density=30..40 lb/ft3", "--json")
    assert by_ends == at_once == said
    assert by_ends["count"] > 10


async def test_a_page_of_fifty_and_the_next(browser: httpx.AsyncClient) -> None:
    every = commanded("find", "--json")["rows"]
    seen: list[str] = []
    page: int | None = 1
    while page is not None:
        soup = await read(browser, f"/woods?page={page}")
        seen += [a["href"].removeprefix("/wood/") for a in soup.select("tbody th a")]
        following = [b for b in soup.select("button[name=page]") if int(b["value"]) > page]
        assert len(soup.select("tbody tr")) == (50 if following else len(every) % 50 or 50)
        page = int(following[0]["value"]) if following else None
    assert seen == [row["id"] for row in every]


async def test_heaps_count_what_their_links_lead_to(browser: httpx.AsyncClient) -> None:
    soup = await read(browser, "/woods?density_from=450&density_to=700")
    heaps = soup.select(".heaps li")
    assert len(heaps) > 20
    for heap in heaps:
        link, count = heap.find("a"), heap.find(class_="quiet")
        assert link is not None and count is not None
        path, _, query = str(link["href"]).partition("?")
        found = (await browser.get(f"{path}.json?{query}")).json()
        assert found["count"] == int(count.text), link["href"]


async def test_what_is_asked_can_be_dropped_again(browser: httpx.AsyncClient) -> None:
    soup = await read(
        browser, "/woods?density_from=450&density_to=600&pores=ring&like_colour=%23a07040&within=20"
    )
    drops = {li.a["href"] for li in soup.select(".drops li") if li.a}
    assert len(drops) == 3
    left = [set(dict(parse_qsl(urlsplit(href).query))) for href in drops]
    assert {"pores", "like_colour", "within"} in left
    assert {"density_from", "density_to", "pores"} in left


async def test_ticks_go_along_to_the_next_page_and_beside(browser: httpx.AsyncClient) -> None:
    soup = await read(browser, "/woods?page=2&wood=abies-alba")
    laid = soup.select_one("#laid-abies-alba")
    assert laid is not None and laid.has_attr("checked") and laid["value"] == "abies-alba"
    assert {b.get("formaction") for b in soup.select("form.rows button")} >= {"/beside"}
    # the form hands its question on, which leads back to the same woods
    soup = await read(browser, "/beside?pores=ring&wood=teak&wood=ovangkol")
    back = soup.select_one(".way a")
    assert back is not None and back["href"] == "/woods?pores=ring&wood=teak&wood=ovangkol"


@pytest.mark.parametrize(
    ("query", "field", "said"),
    [
        ("density_from=x", "density_from", "does not begin with a number"),
        ("density_from=500&density_to=y", "density_to", "does not begin with a number"),
        ("moe_from=20&moe_to=10", "moe_to", "runs backwards"),
        ("like_colour=brownish", "like_colour", "is not a colour"),
        ("like_colour=%23aaaaaa&within=-1", "within", "is no distance"),
        ("within=5", "within", "without a colour"),
        ("pores=square", "pores", "is no word for pores"),
        ("kind=stone", "kind", "is not one of"),
        ("page=99", "page", "no whole number from 1 to"),
        ("densty_from=400", "densty_from", "is no field of this page"),
        ("density_from=400&density_from=500", "density_from", "filled in twice"),
        ("wood=xqzzyw", "wood", "No wood of the catalogue"),
        ("kind=glue&density_from=4", "density_from", "cannot be asked of a glue"),
    ],
)
async def test_a_field_that_cannot_be_read_is_told_at_the_field(
    browser: httpx.AsyncClient, query: str, field: str, said: str
) -> None:
    soup = await read(browser, f"/woods?{query}", 400)
    # one that is no field has no place on the page to lead to
    told = soup.select_one(".wrong li" if "no field" in said else f'.wrong a[href="#{field}"]')
    assert told is not None and said in told.text
    assert not soup.select(".heaps"), "rows stand beside a question that was not read"
    held = soup.find(id=field)
    if held is not None and held.name in ("input", "select"):
        assert held["aria-invalid"] == "true"
    answer = await browser.get(f"/woods.json?{query}")
    assert answer.status_code == 400
    assert said in answer.json()["error"]["fields"][field]
    assert (await browser.get(f"/woods.csv?{query}")).status_code == 400


@pytest.mark.parametrize(
    "name", ["text", "like_colour", "within", "pores", "kind", "page", "wood", "moe_from"]
)
@pytest.mark.parametrize("path", ["/woods", "/woods.json", "/woods.csv", "/beside", "/about/sources"])
async def test_hostile_words_are_shown_as_words(browser: httpx.AsyncClient, path: str, name: str) -> None:
    for value in (HOSTILE, "\x00", "%00", "9" * 5000, "=cmd|' /C calc'!A0", "é\u202e", "../../etc/passwd"):
        answer = await browser.get(path, params={name: value})
        assert answer.status_code < 500
        if "html" in answer.headers["content-type"]:
            assert "<script>alert" not in answer.text


async def test_glues_have_rows_of_their_own(browser: httpx.AsyncClient) -> None:
    soup = await read(browser, "/woods?kind=glue")
    said = commanded("find", "--kind", "glue", "--json")
    assert len(soup.select("tbody tr")) == said["count"]
    assert (await browser.get("/woods.json?kind=glue")).json() == said


async def test_csv_has_every_row_whichever_page_is_shown(browser: httpx.AsyncClient) -> None:
    answer = await browser.get("/woods.csv?page=2")
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert len(rows) == commanded("find", "--json")["count"]


async def test_side_by_side_is_compare(browser: httpx.AsyncClient) -> None:
    said = commanded("compare", "teak", "black walnut", "ovangkol", "--json")
    assert (await browser.get("/beside.json?wood=teak&wood=black+walnut&wood=ovangkol")).json() == said
    soup = await read(browser, "/beside?wood=teak&wood=black+walnut&wood=ovangkol")
    assert [th.text for th in soup.select(".sides thead th")] == [
        "compared",
        "teak",
        "black walnut",
        "ovangkol",
    ]
    assert len(soup.select(".sides tbody tr")) == len(said["aspects"])
    assert all(sentence in soup.text for sentence in (*said["in_words"], *said["sentences"]))
    out = [a["href"] for a in soup.find_all("a") if a.text.startswith("take out")]
    assert out[0] == "/beside?wood=black+walnut&wood=ovangkol"


SEVEN = "&wood=".join(("teak", "ovangkol", "wenge", "imbuia", "sapele", "hornbeam", "padauk"))


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("wood=teak", "1 different wood to compare"),
        ("wood=teak&wood=Tectona+grandis", "1 different wood to compare"),
        (f"wood={SEVEN}", "7 different woods to compare"),
    ],
)
async def test_fewer_than_two_or_more_than_six_are_told(
    browser: httpx.AsyncClient, query: str, said: str
) -> None:
    soup = await read(browser, f"/beside?{query}", 400)
    assert said in soup.select_one(".wrong").text  # type: ignore[union-attr]
    answer = await browser.get(f"/beside.json?{query}")
    assert answer.status_code == 400
    assert said in answer.json()["error"]["message"]


async def test_nothing_laid_out_is_a_form_and_no_json(browser: httpx.AsyncClient) -> None:
    soup = await read(browser, "/beside")
    assert len(soup.select("input[name=wood]")) == 2
    assert (await browser.get("/beside.json")).status_code == 400


async def test_a_shared_name_asks_and_leaves_the_others_lying(browser: httpx.AsyncClient) -> None:
    soup = await read(browser, "/beside?wood=teak&wood=rosewood", 300)
    hrefs = {a["href"] for a in soup.find_all("a", href=True)}
    assert "/beside?wood=teak&wood=dalbergia-latifolia" in hrefs
    assert "/beside?wood=teak" in hrefs
    soup = await read(browser, "/beside?wood=teak&wood=ovankol", 404)
    hrefs = {a["href"] for a in soup.find_all("a", href=True)}
    assert "/beside?wood=teak&wood=guibourtia-ehie" in hrefs


@pytest.mark.parametrize("path", ["/wood/my/harrow/teak", "/wood/my%2Fharrow%2Fteak"])
async def test_a_row_of_a_list_of_ones_own_is_told_where_it_answers(
    browser: httpx.AsyncClient, path: str
) -> None:
    soup = await read(browser, path, 404)
    assert LISTS_APART in soup.text
    assert (await browser.get(f"{path}.json")).json()["error"]["code"] == "unknown-name"


async def test_a_search_says_that_lists_are_kept_apart(
    browser: httpx.AsyncClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WOODREF_LISTS", str(tmp_path))
    demo = Path(__file__).resolve().parents[2] / "data" / "demo"
    bring_in(demo / "lists" / "harrow-veneers.csv", demo / "lists" / "harrow-veneers.yaml", False, False)
    for text in ("laburnum", "walnut", "my/harrow-veneers/laburnum"):
        page = await browser.get(f"/search?q={text}")
        assert LISTS_APART in BeautifulSoup(page.text, "html.parser").text
        # prices of a list are nobody's business on a page that others may reach
        assert "EUR" not in page.text and "my/harrow-veneers/american" not in page.text
    assert LISTS_APART not in (await browser.get("/search")).text


async def test_about_says_edition_grades_gaps_and_how_to_report(
    browser: httpx.AsyncClient, catalogue: Catalogue
) -> None:
    soup = await read(browser, "/about")
    assert {h.text for h in soup.find_all("h2")} >= {
        "Which edition", "What the grades mean", "What it does not know", "A wrong figure?",
        "Licences of the sources",
    }  # fmt: skip
    assert catalogue.stamp["digest"] in soup.text
    told = (await browser.get("/about.json")).json()
    figures = catalogue.rows("SELECT evidence, count(*) AS n FROM figure GROUP BY evidence")
    assert {g["evidence"]: g["figures"] for g in told["grades"]} == {r["evidence"]: r["n"] for r in figures}
    wood, prop, printed, *_ = told["report_line"].split(", ")
    figure = catalogue.material(wood).figure(prop)
    assert figure is not None and (figure.printed or "").startswith(printed)


async def test_sources_and_coverage_are_those_of_the_commands(browser: httpx.AsyncClient) -> None:
    assert (await browser.get("/about/sources.json")).json() == commanded("data", "sources", "--json")
    assert (await browser.get("/about/coverage.json")).json() == commanded("data", "coverage", "--json")
    soup = await read(browser, "/about/coverage")
    assert len(soup.select("table")[0].select("tbody tr")) == len(PROPERTIES)


async def test_every_source_has_a_page_that_says_where_it_is_used(
    browser: httpx.AsyncClient, catalogue: Catalogue
) -> None:
    rows = catalogue.rows("SELECT source_id, count(*) AS n FROM figure GROUP BY source_id")
    figures = {row["source_id"]: row["n"] for row in rows}
    for source in catalogue.sources:
        told = (await browser.get(f"/about/source/{source}.json")).json()
        assert sum(sum(m["figures"].values()) for m in told["materials"]) == figures.get(source, 0)
    soup = await read(browser, "/about/source/rule-class-ratios")
    assert "used on reading" in soup.text
    soup = await read(browser, "/about/source/nope", 404)
    assert "no source of the catalogue" in soup.text.lower()
