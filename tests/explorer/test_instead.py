"""The stand-in form: the answer of `substitute`, faults at their fields, nothing typed lost."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup, Tag
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import main
from woodref.explorer.asking import Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.page import Answered

ROSEWOOD = "of=Brazilian+rosewood&plantation=1"


def got(catalogue: Catalogue, query: str = "", form: str = "") -> Answered:
    ask = ask_of(
        Shop(catalogue), {"format": form}, parse_qsl(query, keep_blank_values=True), f"/instead{form}"
    )
    return answer("instead:instead", ask)


def page(catalogue: Catalogue, query: str = "", status: int = 200) -> BeautifulSoup:
    found = got(catalogue, query)
    assert found.status == status
    return BeautifulSoup(found.body, "html.parser")


def words(tag: Tag | None) -> str:
    assert tag is not None
    return " ".join(tag.get_text(" ").split())


def told(*asked: str) -> Any:
    done = CliRunner().invoke(main, ["substitute", *asked, "--json"])
    return json.loads(done.output)


def test_the_bare_form_asks_for_a_wood_and_keeps_the_rest_folded(catalogue: Catalogue) -> None:
    soup = page(catalogue)
    assert [words(h) for h in soup.find_all("h1")] == ["Find a stand-in"]
    form = soup.select_one('form[action="/instead#answer"]')
    assert form is not None
    for field in form.select("input, select, textarea"):
        assert form.select_one(f'label[for="{field["id"]}"]'), field
    ids = [tag["id"] for tag in soup.select("[id]")]
    assert len(ids) == len(set(ids))
    assert not soup.select("details[open]")
    assert [field["name"] for field in form.select(":scope > .row input, :scope > .tick input")] == [
        "of",
        "plantation",
    ]
    assert soup.find(id="answer") is None


@pytest.mark.parametrize(
    ("query", "asked"),
    [
        (ROSEWOOD, ["Brazilian rosewood", "--plantation"]),
        ("of=teak&role=core&rows=3&kind=species&stain_ok=1", ["teak", "--role", "core", "--rows", "3",
         "--kind",
         "species", "--stain-ok"]),
        ("like_colour=dark-brown&like_density=850&like_pores=diffuse",
         ["--like", "colour=dark-brown", "--like", "density=850", "--like", "pores=diffuse"]),
        ("of=wenge&limit_1_property=density&limit_1_max=700&limit_1_min=400&limit_2_property=colour&limit_2_weight=9"
         "&limit_4_property=moe&limit_4_keep=20%25",
         ["wenge", "--max", "density=700", "--min", "density=400", "--counts", "colour=9", "--keep",
          "moe=20%"]),
        ("of=sapele&role=back&face=Juglans+nigra&face_thickness=0.6&cut=quarter",
         ["sapele", "--role", "back", "--for-face", "Juglans nigra@0.6", "--cut", "quarter"]),
        ("of=wenge&piece=490x460&joints=1&home=germany&sell_to=US&origin=Gh&natural=1&estimates=1&state=oiled",
         ["wenge", "--piece", "490x460", "--joints", "1", "--home", "DE", "--sell-to", "US", "--origin", "GH",
          "--natural", "--estimates", "--colour-state", "oiled"]),
        (f"{ROSEWOOD}&why_not=wenge&units=us&region=US", ["Brazilian rosewood", "--plantation", "--why-not",
         "wenge",
         "--units", "us", "--region", "US"]),
    ],
)  # fmt: skip
def test_the_json_is_that_of_the_command(catalogue: Catalogue, query: str, asked: list[str]) -> None:
    found = got(catalogue, query, ".json")
    assert (found.status, found.kind) == (200, "application/json; charset=utf-8")
    assert json.loads(found.body) == told(*asked)


def test_the_answer_stands_as_the_board_prints_it(catalogue: Catalogue) -> None:
    soup, theirs = page(catalogue, ROSEWOOD), told("Brazilian rosewood", "--plantation")
    heading = soup.find(id="answer")
    assert heading is not None and heading["tabindex"] == "-1"
    assert words(heading) == "What may stand in for Brazilian rosewood"
    rows = soup.select("section table tbody tr")
    assert [words(row.th) for row in rows[1:]] == [row["name"] for row in theirs["ranked"]]
    articles = soup.select("article")
    assert len(articles) == len(theirs["ranked"]) == 10
    for article, row in zip(articles, theirs["ranked"], strict=True):
        said = words(article)
        assert all(" ".join(reason.split()) in said for reason in (*row["reasons"], *row["cautions"]))
        assert row["look_now"] in said and row["look_in_years"] in said
    for group, key in (
        ("Lawful only with papers", "with_papers"),
        ("Left out", "left_out"),
        ("Cannot say", "cannot_say"),
    ):
        at = soup.find("h3", string=group)
        assert at is not None
        assert theirs[key][0]["name"] in words(at.find_next("ul"))
    assert "--" not in words(soup.main)
    assert words(soup.main).count(theirs["closing"][1]) == 1


def test_every_stand_in_leads_on(catalogue: Catalogue) -> None:
    soup, theirs = page(catalogue, ROSEWOOD), told("Brazilian rosewood", "--plantation")
    for article, row in zip(soup.select("article"), theirs["ranked"], strict=True):
        hrefs = [str(link["href"]) for link in article.select("p.row a")]
        assert hrefs == [
            f"/beside?wood=dalbergia-nigra&wood={row['id']}", f"/layup?face={row['id']}",
            f"/wood/{row['id']}",
        ]  # fmt: skip
    # the table leads to the reasons, and from there on
    for link in soup.select("section table th[scope=row] a")[1:]:
        assert soup.select_one(str(link["href"])) is not None
    assert not page(catalogue, "of=teak&role=solid").select('a[href^="/layup?"]')
    assert page(catalogue, "of=birch&role=crossband&region=GB").select('a[href^="/layup?inner="]')


def test_why_not_is_asked_with_everything_else_kept(catalogue: Catalogue) -> None:
    soup = page(catalogue, f"{ROSEWOOD}&role=face&limit_1_property=density&limit_1_max=900")
    field = soup.find(id="why_not")
    assert field is not None
    form = field.find_parent("form")
    assert isinstance(form, Tag)
    kept = {str(one["name"]): str(one["value"]) for one in form.select("input[type=hidden]")}
    assert kept == {
        "of": "Brazilian rosewood", "plantation": "1", "role": "face", "limit_1_property": "density",
        "limit_1_max": "900",
    }  # fmt: skip
    asked = page(catalogue, f"{ROSEWOOD}&why_not=wenge")
    assert told("Brazilian rosewood", "--plantation", "--why-not", "wenge")["why_not"][0] in words(asked.main)
    missed = page(catalogue, f"{ROSEWOOD}&why_not=wengee", 404)
    assert missed.find(id="why_not-fault") is not None and missed.select("article")
    assert (
        json.loads(got(catalogue, f"{ROSEWOOD}&why_not=wengee", ".json").body)["error"]["code"]
        == "unknown-name"
    )


def test_a_shared_name_asks_back_and_keeps_what_was_typed(catalogue: Catalogue) -> None:
    soup = page(catalogue, "of=ebony&role=back&plantation=1", 300)
    meant = soup.select(".meant a")
    assert len(meant) == 5
    for link in meant:
        query = dict(parse_qsl(urlsplit(str(link["href"])).query))
        assert query["role"] == "back" and query["plantation"] == "1"
        assert page(catalogue, urlsplit(str(link["href"])).query).find(id="answer") is not None
    assert soup.find(id="of")["value"] == "ebony"  # type: ignore[index]


def test_an_unknown_name_offers_close_spellings(catalogue: Catalogue) -> None:
    soup = page(catalogue, "of=wengee", 404)
    assert "wenge" in words(soup.select_one(".meant"))
    assert json.loads(got(catalogue, "of=wengee", ".json").body)["error"]["code"] == "unknown-name"


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("role=back", "of", "Nothing to replace is named."),
        ("of=teak&like_density=800", "of", "More than one thing to replace is named."),
        ("of=teak&role=hull", "role", '"hull" is not one of'),
        ("of=teak&rows=0", "rows", '"0" is no whole number from 1 to 500.'),
        ("of=teak&piece=49", "piece", 'What a sheet must cover: "49" is not a size.'),
        ("of=teak&joints=2", "joints", 'Joints allowed in it needs "What a sheet must cover".'),
        ("of=teak&face=walnut", "face", "The face it must balance is for"),
        ("of=teak&role=back&face_thickness=2", "face", "The face it must balance lacks a name."),
        ("of=teak&cut=crown", "cut", 'How that face is cut goes with "The face it must balance".'),
        ("of=teak&home=Nowhere", "home", '"Nowhere" is not a country code.'),
        ("of=teak&sell_to=DE", "sell_to", 'You sell the part to needs "You make the part in".'),
        ("of=teak&region=Nowhere", "of", '"Nowhere" is not a country code.'),
        ("like_density=9000", "like_density", "no wood has that"),
        ("like_density=heavy", "like_density", "does not begin with a number"),
        ("like_colour=plaid", "like_colour", 'Colour "plaid" is not known.'),
        ("like_texture=rough", "like_texture", "is not known"),
        ("of=teak&limit_1_property=density&limit_1_max=x", "limit_1_max", "number"),
        ("of=teak&limit_1_property=density&limit_1_weight=-1", "limit_1_weight", "below 0"),
        ("of=teak&limit_1_property=colour&limit_1_keep=5", "limit_1_keep", "is a word"),
        ("of=teak&limit_1_property=colour&limit_1_max=5", "limit_1_max", "only figures have limits"),
        ("of=teak&limit_3_max=5", "limit_3_property", "What is limited is not named."),
        ("of=teak&limit_2_property=moe", "limit_2_property", "Nothing is asked of stiffness."),
        ("of=teak&limit_1_property=nonsense&limit_1_max=5", "limit_1_max",
         "is not something that is compared"),
        ("of=teak&limit_1_property=moe&limit_1_min=9&limit_2_property=moe&limit_2_max=5", "limit_1_property",
         "nothing can meet both limits"),
        ("of=teak&units=stones", "units", '"stones" is not one of metric, us.'),
    ],
)  # fmt: skip
def test_a_fault_stands_at_its_field(catalogue: Catalogue, query: str, field: str, says: str) -> None:
    soup = page(catalogue, query, 400)
    fault = words(soup.find(id=f"{field}-fault"))  # type: ignore[arg-type]
    assert says.casefold() in fault.casefold() and "--" not in fault
    holder = soup.find(id=field)
    assert isinstance(holder, Tag) and holder["aria-invalid"] == "true"
    assert f"{field}-fault" in holder["aria-describedby"]
    folded = holder.find_parent("details")
    assert folded is None or folded.has_attr("open")
    box = soup.find(id="answer")
    assert isinstance(box, Tag) and box["role"] == "alert" and box.select_one(f'a[href="#{field}"]')
    for name, value in parse_qsl(query):
        kept = soup.find(id=name)
        if isinstance(kept, Tag) and kept.name == "input" and kept["type"] != "checkbox":
            assert kept["value"] == value
    assert "error" in json.loads(got(catalogue, query, ".json").body)
    assert got(catalogue, query, ".json").status == 400


def test_what_cannot_be_answered_is_told_at_the_wood(catalogue: Catalogue) -> None:
    soup = page(catalogue, "like_figure=plain&role=back", 400)
    assert "nothing that the role back asks for" in words(soup.find(id="like_colour-fault")).casefold()  # type: ignore[arg-type]


def test_rows_as_csv_and_a_link_that_lasts(catalogue: Catalogue) -> None:
    found = got(catalogue, f"{ROSEWOOD}&rows=3", ".csv")
    assert found.status == 200 and found.body.splitlines()[0].startswith("rank,id,name")
    assert len(found.body.splitlines()) == 4
    links = [str(link["href"]) for link in page(catalogue, f"{ROSEWOOD}&rows=3&home=").select(".take a")]
    assert links == [f"/instead{form}?{ROSEWOOD}&rows=3" for form in (".json", ".csv", "")]


def test_one_more_row_for_a_limit_stands_after_those_that_are_used(catalogue: Catalogue) -> None:
    assert [words(x) for x in page(catalogue).select("legend")] == ["Limit 1", "Limit 2"]
    soup = page(
        catalogue, "of=teak&limit_2_property=moe&limit_2_min=5&limit_7_property=density&limit_7_max=900"
    )
    assert [words(x) for x in soup.select("legend")] == ["Limit 1", "Limit 2", "Limit 7"]


@pytest.mark.parametrize(
    "text", ['"><script>alert(1)</script>', "%00", "\u2028\x07", "{{7*7}}", "a" * 5000, "--max", "=1+1"]
)
def test_hostile_text_in_any_field_is_shown_as_text(catalogue: Catalogue, text: str) -> None:
    names = [str(f["name"]) for f in page(catalogue, ROSEWOOD).select("form [name]")]
    assert len(set(names)) > 35
    for name in {*names, "limit_01_max", "limit_99_max", "nothing"}:
        pairs = [("of", "teak"), (name, text)] if name != "of" else [("of", text)]
        ask = ask_of(Shop(catalogue), {}, pairs, "/instead")
        found = answer("instead:instead", ask)
        assert found.status < 500 and "<script>alert" not in found.body and found.body != "49"


def test_weight_of_the_page(catalogue: Catalogue) -> None:
    assert len(got(catalogue, f"{ROSEWOOD}&rows=500").body.encode()) < 150_000


async def test_served_it_loads_nothing_but_our_own_files(catalogue: Catalogue) -> None:
    from woodref.explorer.serving import app_of, explorer

    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        found = await client.get(f"/instead?{ROSEWOOD}")
        assert found.status_code == 200
        assert "unsafe" not in found.headers["content-security-policy"]
        soup = BeautifulSoup(found.text, "html.parser")
        for tag in soup.select("[src], link[href]"):
            path = str(tag.get("src") or tag.get("href"))
            assert path.startswith("/") and (await client.get(path)).status_code == 200
        assert not soup.select("style, [style], script:not([src])")
        assert not [key for tag in soup.find_all(True) for key in tag.attrs if key.startswith("on")]
