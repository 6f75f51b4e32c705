"""The form of papers and the lists of a day: the answers of `trade` and `listings`."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from bs4 import BeautifulSoup, Tag
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import main
from woodref.explorer.asking import Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.page import Answered
from woodref.explorer.pages.trade import SOURCES
from woodref.trade.shapes import SOURCE_CODES

SEAT = "wood=Indian+rosewood&form=seat&from=IN&to=DE"


def got(catalogue: Catalogue, query: str = "", form: str = "", name: str = "trade") -> Answered:
    ask = ask_of(
        Shop(catalogue), {"format": form}, parse_qsl(query, keep_blank_values=True), f"/{name}{form}"
    )
    return answer(f"trade:{name}", ask)


def page(catalogue: Catalogue, query: str = "", status: int = 200, name: str = "trade") -> BeautifulSoup:
    found = got(catalogue, query, name=name)
    assert found.status == status
    return BeautifulSoup(found.body, "html.parser")


def words(tag: Any) -> str:
    return " ".join(tag.get_text(" ").split())


def told(*asked: str) -> Any:
    return json.loads(CliRunner().invoke(main, [*asked, "--json"]).output)


@pytest.mark.parametrize("name", ["trade", "listings"])
def test_every_field_has_its_label_and_every_id_is_one(catalogue: Catalogue, name: str) -> None:
    soup = page(catalogue, name=name)
    assert len(soup.find_all("h1")) == 1
    for field in soup.select("form input, form select"):
        assert soup.select_one(f'label[for="{field["id"]}"]'), field
    ids = [tag["id"] for tag in soup.select("[id]")]
    assert len(ids) == len(set(ids))
    assert not soup.select("style, [style], script:not([src])")


def test_choices_are_in_the_words_of_the_trade(catalogue: Catalogue) -> None:
    soup = page(catalogue)
    said = {str(o["value"]): words(o) for o in soup.select("#form option")}
    assert {key: said[key] for key in catalogue.rules.forms} == {
        k: f.words for k, f in catalogue.rules.forms.items()
    }
    assert set(SOURCES) == set(SOURCE_CODES)
    for form in catalogue.rules.forms.values():
        assert form.test in words(soup.main)


@pytest.mark.parametrize(
    ("query", "asked"),
    [
        (SEAT, ["Indian rosewood", "--form", "seat", "--from", "IN", "--to", "DE"]),
        ("wood=Dalbergia+nigra&form=veneer&from=brazil&to=united+kingdom&origin=Brazil&acquired=1990&on=2024-05-01"
         "&source_code=W&kg=1.5&items=4",
         ["Dalbergia nigra", "--form", "veneer", "--from", "BR", "--to", "GB", "--origin", "BR",
          "--acquired", "1990",
          "--on", "2024-05-01", "--source-code", "W", "--kg", "1.5", "--items", "4"]),
        ("wood=teak&form=seat-part&from=GB&to=US&state=finished&shape=curved&business=small&mode=post"
         "&commercial=personal&shipped=2024-01-02",
         ["teak", "--form", "seat-part", "--from", "GB", "--to", "US", "--state", "finished", "--shape",
          "curved",
          "--business", "small", "--mode", "post", "--personal", "--shipped", "2024-01-02"]),
    ],
)  # fmt: skip
def test_the_json_is_that_of_the_command(catalogue: Catalogue, query: str, asked: list[str]) -> None:
    found = got(catalogue, query, ".json")
    assert found.status == 200
    assert json.loads(found.body) == told("trade", *asked)


def test_the_answer_is_told_in_the_order_of_the_command(catalogue: Catalogue) -> None:
    soup = page(catalogue, SEAT)
    plain = CliRunner().invoke(
        main, ["trade", "Indian rosewood", "--form", "seat", "--from", "IN", "--to", "DE"]
    )
    theirs = " ".join(plain.output.split())
    headings = [words(h) for h in soup.select("section h3")]
    assert headings[0] == "The part as blank and as finished" and headings[-1] == "Mind"
    at = [theirs.index(heading) for heading in headings]
    assert at == sorted(at)
    for line in soup.select("section li"):
        # where the command names an option, the page leads to its field
        if not line.a:
            assert words(line) in theirs
    # what an option would settle leads to its field
    link = soup.select_one('section a[href="#kg"]')
    assert link is not None and words(link) == '"Listed wood in one item, kg"'
    assert "--" not in words(soup.main)
    heading = soup.find(id="answer")
    assert (
        isinstance(heading, Tag)
        and words(heading) == "Dalbergia latifolia, IN to DE"
        and heading["tabindex"] == "-1"
    )


def test_the_csv_holds_each_sentence(catalogue: Catalogue) -> None:
    lines = got(catalogue, SEAT, ".csv").body.splitlines()
    assert lines[0] == "heading,sentence" and lines[-1].startswith("Mind,")


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("form=seat&from=IN&to=DE", "wood", "No wood is named."),
        ("wood=teak&from=IN&to=DE", "form", "Made into is missing."),
        ("wood=teak&form=seat&to=DE", "from", "Leaves is missing."),
        ("wood=teak&form=seat&from=IN", "to", "Enters is missing."),
        ("wood=teak&form=hat&from=IN&to=DE", "form", 'Made into: "hat" is not known.'),
        ("wood=teak&form=seat&from=Narnia&to=DE", "from", 'Leaves: "Narnia" is not a country code.'),
        (
            "wood=teak&form=seat&from=IN&to=DE&origin=xx",
            "origin",
            'Harvested in: "xx" is not a country code.',
        ),
        ("wood=teak&form=seat&from=IN&to=DE&on=soon", "on", 'Day of the journey: "soon" is not a date.'),
        (
            "wood=teak&form=seat&from=IN&to=DE&acquired=2050",
            "acquired",
            "The wood was acquired on 2050-12-31",
        ),
        ("wood=teak&form=seat&from=IN&to=DE&shipped=2050-01-01", "shipped", "The goods sailed on 2050-01-01"),
        ("wood=teak&form=seat&from=IN&to=DE&kg=much", "kg", '"much" does not begin with a number.'),
        ("wood=teak&form=seat&from=IN&to=DE&kg=-1", "kg", "is below zero"),
        ("wood=teak&form=seat&from=IN&to=DE&items=0", "items", '"0" is no whole number'),
        ("wood=teak&form=seat&from=IN&to=DE&mode=kite", "mode", 'How it travels: "kite" is not known.'),
        ("wood=teak&form=seat&from=IN&to=DE&state=raw", "state", '"raw" is not one of'),
        ("wood=teak&form=seat&from=IN&to=DE&region=Narnia", "wood", '"Narnia" is not a country code.'),
    ],
)
def test_a_fault_stands_at_its_field(catalogue: Catalogue, query: str, field: str, says: str) -> None:
    soup = page(catalogue, query, 400)
    fault = words(soup.find(id=f"{field}-fault"))
    assert says in fault and "--" not in fault and "woodref" not in fault
    holder = soup.find(id=field)
    assert isinstance(holder, Tag) and holder["aria-invalid"] == "true"
    folded = holder.find_parent("details")
    assert folded is None or folded.has_attr("open")
    wood = dict(parse_qsl(query)).get("wood")
    if wood:
        assert soup.find(id="wood")["value"] == wood  # type: ignore[index]
    assert "error" in json.loads(got(catalogue, query, ".json").body)


def test_names_ask_back(catalogue: Catalogue) -> None:
    soup = page(catalogue, "wood=ebony&form=seat&from=IN&to=DE", 300)
    links = [str(link["href"]) for link in soup.select(".meant a")]
    assert len(links) == 5
    assert page(catalogue, urlsplit(links[0]).query).select("section h3")
    assert page(catalogue, "wood=wengee&form=seat&from=IN&to=DE", 404).select(".meant a")
    bare = got(catalogue, "", ".json")
    assert bare.status == 400 and json.loads(bare.body)["error"]["message"] == "no wood is named"


@pytest.mark.parametrize(
    ("query", "asked"),
    [
        ("", []),
        ("since=2024-01-01", ["--since", "2024-01-01"]),
        ("taxon=Dalbergia&on=2020-01-01", ["Dalbergia", "--on", "2020-01-01"]),
        ("taxon=Nonsense", ["Nonsense"]),
    ],
)
def test_the_lists_are_those_of_the_command(catalogue: Catalogue, query: str, asked: list[str]) -> None:
    theirs = told("listings", *asked)
    assert json.loads(got(catalogue, query, ".json", "listings").body) == theirs
    soup = page(catalogue, query, name="listings")
    plain = " ".join(CliRunner().invoke(main, ["listings", *asked]).output.split())
    lines = [words(line) for line in soup.select("section li")]
    assert len(lines) == max(theirs["count"], 1) and all(line in plain for line in lines)
    assert theirs["caution"] in words(soup.main)
    assert got(catalogue, query, ".csv", "listings").status == 200


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("on=soon", "on", 'On the day: "soon" is not a date.'),
        ("since=2050-01-01", "since", "Changes since 2050-01-01 is not before"),
        ("since=x", "since", 'Changes since: "x" is not a date.'),
    ],
)
def test_a_day_that_is_none_is_told_at_its_field(
    catalogue: Catalogue, query: str, field: str, says: str
) -> None:
    soup = page(catalogue, query, 400, "listings")
    assert says in words(soup.find(id=f"{field}-fault"))


@pytest.mark.parametrize(
    "text", ['"><script>alert(1)</script>', "\u2028\x07", "{{7*7}}", "9" * 500, "--kg", "=1+1"]
)
@pytest.mark.parametrize("name", ["trade", "listings"])
def test_hostile_text_in_any_field_is_shown_as_text(catalogue: Catalogue, name: str, text: str) -> None:
    fields = {str(f["name"]) for f in page(catalogue, name=name).select("form [name]")}
    good = dict(parse_qsl(SEAT)) if name == "trade" else {}
    for field in fields:
        pairs = list((good | {field: text}).items())
        for form in ("", ".json", ".csv"):
            found = answer(
                f"trade:{name}", ask_of(Shop(catalogue), {"format": form}, pairs, f"/{name}{form}")
            )
            assert found.status < 500
            assert form or "<script>alert" not in found.body
