"""The sample board: what is pinned, where the cards hang, and its page."""

from __future__ import annotations

import json
from itertools import combinations

import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.drawn.samples import BROAD, MARGIN, SLIM, SMALL, Board, cards, draw, lines, name_lines
from woodref.explorer.drawn.shapes import Box, wide
from woodref.explorer.page import Answered
from woodref.selection.request import Request
from woodref.selection.roles import ROLES
from woodref.selection.sampleboard import INNER, NEAR, OUTER, SampleBoard, sample_board
from woodref.selection.substitutes import CLOSE, substitutes
from woodref.units import today

BOARDS = pytest.mark.parametrize("board", [BROAD, SLIM], ids=lambda b: b.key)


def page(catalogue: Catalogue, form: str = "html", **fields: str) -> Answered:
    suffix = "" if form == "html" else f".{form}"
    return answer(
        "board:board", ask_of(Shop(catalogue), {"format": suffix}, list(fields.items()), "/board" + suffix)
    )


def laid(catalogue: Catalogue, name: str, role: str = "face", free: bool = False) -> SampleBoard:
    return sample_board(resolve(name, catalogue, today()), role, catalogue, today(), free=free)


def test_the_likest_hang_nearest(catalogue: Catalogue) -> None:
    found = laid(catalogue, "black walnut")
    likeness = [sample.likeness for sample in found.samples]
    assert likeness == sorted(likeness, reverse=True) and min(likeness) >= CLOSE
    assert [sample.ring for sample in found.samples] == [1] * INNER + [2] * (len(found.samples) - INNER)
    assert len(found.samples) <= INNER + OUTER
    for sample in found.samples:
        assert sample.word == ("near" if sample.likeness >= NEAR else "some way off")
    assert found.target.id not in {sample.material.id for sample in found.samples}


@pytest.mark.parametrize("role", ROLES)
def test_likeness_is_that_of_the_substitution(catalogue: Catalogue, role: str) -> None:
    matched = resolve("teak", catalogue, today())
    told = substitutes(Request(matched.name, role, today(), rows=300), matched, catalogue)
    ranked = {row.material.id: row.found.likeness for row in told.ranked}
    free = laid(catalogue, "teak", role, free=True)
    best = [row.material.id for row in told.ranked if row.found.likeness >= CLOSE][: INNER + OUTER]
    assert {sample.material.id: sample.likeness for sample in free.samples} == {
        id_: ranked[id_] for id_ in best
    }


def test_what_cannot_be_had_freely_hangs_there_and_says_so(catalogue: Catalogue) -> None:
    found = {sample.material.id: sample for sample in laid(catalogue, "black walnut").samples}
    assert found["dalbergia-latifolia"].barred == "needs papers"
    assert found["dalbergia-nigra"].barred == "closed to trade" and found["dalbergia-nigra"].because
    assert not any(sample.barred for sample in laid(catalogue, "black walnut", free=True).samples)


@BOARDS
@pytest.mark.parametrize("count", [0, 1, 7, 8, 9, 24])
def test_no_card_covers_another_and_all_hang_on_the_board(board: Board, count: int) -> None:
    middle, places, whole = cards(board, count)
    assert len(places) == count
    assert not any(one.meets(two) for one, two in combinations([middle, *places], 2))
    assert all(box.within(whole) for box in (middle, *places))


def _far(middle: Box, box: Box) -> float:
    return max(abs(box.x - middle.x) / box.width, abs(box.y - middle.y) / box.height)


def test_the_inner_ring_touches_the_middle() -> None:
    middle, places, _ = cards(BROAD, INNER + OUTER)
    inner, outer = places[:INNER], places[INNER:]
    assert max(_far(middle, box) for box in inner) < min(_far(middle, box) for box in outer)


@BOARDS
@pytest.mark.parametrize("name", ["black walnut", "dalbergia-nigra", "reconstituted-walnut-figure"])
def test_the_words_of_a_card_stay_on_it_and_apart(catalogue: Catalogue, board: Board, name: str) -> None:
    found = laid(catalogue, name)
    soup = BeautifulSoup(draw(found, board), "html.parser")
    links = soup.find_all("a")
    assert len(links) == len(found.samples) + 1
    for a in links:
        card = a.find("rect", class_="card")
        box = Box(*(float(card[key]) for key in ("x", "y", "width", "height")))
        rows = []
        for text in a.find_all("text"):
            size, x, y = (float(text[key]) for key in ("font-size", "x", "y"))
            assert size >= 11
            # room is reckoned for a plain face; a name in bold is still within the card
            rows.append(Box(x, y - 0.75 * size, wide(text.get_text(), size), 0.95 * size))
        assert all(row.within(box) for row in rows), a
        assert not any(one.meets(two) for one, two in combinations(rows, 2)), a
        assert a.title and a.title.get_text()


@BOARDS
def test_no_word_of_the_judgement_is_cut(catalogue: Catalogue, board: Board) -> None:
    for sample in laid(catalogue, "dalbergia-nigra").samples:
        for line in lines(sample, board):
            assert wide(line, SMALL) <= board.card[0] - MARGIN
        assert len(name_lines(sample.material.name, board.card[0] - MARGIN, board.name)) <= 3


def test_a_colour_that_was_not_measured_is_hatched(catalogue: Catalogue) -> None:
    found = laid(catalogue, "black walnut")
    assert not found.chip.measured
    soup = BeautifulSoup(draw(found, BROAD), "html.parser")
    for a, chip in zip(soup.find_all("a"), [found.chip, *(p.chip for p in found.samples)], strict=True):
        assert bool(a.select('rect[fill="url(#hatch-broad)"]')) is not chip.measured
    assert any("hatched" in line for line in found.closing)


def test_a_measured_colour_is_plain() -> None:
    from woodref.explorer.drawn.chips import chip

    assert "hatch" not in chip(0, 0, 10, 10, "#abcdef", True)
    assert "url(#hatch)" in chip(0, 0, 10, 10, "#abcdef", False)


def test_the_page_is_whole(catalogue: Catalogue) -> None:
    answered = page(catalogue, of="black walnut")
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == 200 and len(soup.find_all("h1")) == 1
    assert len(answered.body.encode()) < 150_000 and not soup.select("[style]") and not soup.find_all("style")
    told = json.loads(page(catalogue, "json", of="black walnut").body)
    links = [a["href"] for a in soup.select("ol.samples a")]
    assert links == [f"/wood/{row['id']}" for row in told["rows"]]
    for board in soup.select("svg.board"):
        assert {a["href"] for a in board.find_all("a")} == {*links, "/wood/juglans-nigra"}
    ids = [tag["id"] for tag in soup.select("[id]")]
    assert len(ids) == len(set(ids))
    assert len(page(catalogue, "csv", of="black walnut").body.strip().splitlines()) == told["count"] + 1


def test_nothing_asked_shows_the_fields_alone(catalogue: Catalogue) -> None:
    answered = page(catalogue)
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == 200 and not soup.find_all("svg")
    for field in soup.select("input, select"):
        assert soup.find("label", attrs={"for": field["id"]}), field


def test_a_shared_name_asks_back_and_keeps_the_role(catalogue: Catalogue) -> None:
    answered = page(catalogue, of="mahogany", role="solid")
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == 300
    assert "/board?role=solid&of=swietenia-macrophylla" in [a["href"] for a in soup.select("form ul a")]
    told = json.loads(page(catalogue, "json", of="mahogany").body)
    assert told["error"]["code"] == "shared-name" and told["error"]["candidates"]


@pytest.mark.parametrize(
    ("fields", "status", "field"),
    [
        ({"of": "walnot black"}, 404, "of"),
        ({"of": "teak", "role": "throne"}, 400, "role"),
        ({"of": "<b>x</b>"}, 404, "of"),
    ],
)
def test_what_is_wrong_is_told_at_the_field(
    catalogue: Catalogue, fields: dict[str, str], status: int, field: str
) -> None:
    answered = page(catalogue, **fields)
    soup = BeautifulSoup(answered.body, "html.parser")
    assert answered.status == status and soup.find(id=f"{field}-fault") and "<b>x" not in answered.body
