"""The pictures of all woods: figures where the scale says, words that cover nothing, and their pages."""

from __future__ import annotations

import json
import math
from itertools import combinations, pairwise

import pytest
from bs4 import BeautifulSoup
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest
from woodref.explorer.asking import Ask, Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.drawn import pairs as drawn_pairs
from woodref.explorer.drawn import spots as drawn_spots
from woodref.explorer.drawn.labels import Wish, loneliest_first, placed
from woodref.explorer.drawn.scales import Scale, fitted, round_step
from woodref.explorer.drawn.shapes import Box, cut_short, wide
from woodref.explorer.drawn.spots import BROAD, SLIM, Sheet, layout
from woodref.explorer.page import Answered
from woodref.selection import pictures
from woodref.selection.lightpairs import now_and_after_light
from woodref.selection.pictures import (
    Choice,
    Spread,
    chosen,
    movement_both_ways,
    weight_against_stiffness,
)
from woodref.units import today

MAKE = {"weight": weight_against_stiffness, "movement": movement_both_ways}
SHEETS = pytest.mark.parametrize("sheet", [BROAD, SLIM], ids=lambda s: s.key)
NAMES = pytest.mark.parametrize("name", MAKE)


def ask(catalogue: Catalogue, path: str, form: str = "html", **fields: str) -> Ask:
    name = path.rpartition("/")[2]
    suffix = "" if form == "html" else f".{form}"
    return ask_of(Shop(catalogue), {"name": name, "format": suffix}, list(fields.items()), path + suffix)


def page(catalogue: Catalogue, name: str, form: str = "html", **fields: str) -> Answered:
    return answer("pictures:picture", ask(catalogue, f"/pictures/{name}", form, **fields))


def spread(catalogue: Catalogue, name: str, of: str | None = None, within: bool = False) -> Spread:
    near = resolve(of, catalogue, today()) if of else None
    return MAKE[name](Choice(near=near, within=within), catalogue)


# scales


@pytest.mark.parametrize(
    ("width", "about", "step"), [(1400, 7, 200), (24, 7, 5), (3, 7, 0.5), (1, 10, 0.1), (7, 7, 1)]
)
def test_steps_are_round(width: float, about: int, step: float) -> None:
    assert round_step(width, about) == pytest.approx(step)


def test_a_scale_puts_figures_where_it_says() -> None:
    scale = Scale(0, 1000, 50, 650, 200)
    assert [scale.at(v) for v in (0, 500, 1000)] == [50, 350, 650]
    assert scale.ticks == [0, 200, 400, 600, 800, 1000]


@given(st.lists(st.floats(0.01, 5000), min_size=1, max_size=20))
def test_a_fitted_scale_holds_every_figure(values: list[float]) -> None:
    scale = fitted(values, 50, 650)
    assert all(50 - 1e-6 <= scale.at(value) <= 650 + 1e-6 for value in values)
    assert len(scale.ticks) >= 2


def test_nothing_to_draw_has_a_scale_all_the_same() -> None:
    assert fitted([], 0, 100).ticks


# labels


def overlapping(boxes: list[Box]) -> list[tuple[Box, Box]]:
    return [(a, b) for a, b in combinations(boxes, 2) if a.meets(b)]


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 300), st.floats(0, 200), st.text("abc oak", min_size=1, max_size=20)),
        max_size=30,
    )
)
def test_labels_never_cover_each_other_nor_a_mark_nor_leave_the_field(
    given_: list[tuple[float, float, str]],
) -> None:
    field = Box(0, 0, 300, 200)
    taken = [Box(100, 100, 60, 20)]
    wishes = [Wish(*one) for one in given_]
    labels = placed(wishes, field, taken)
    assert not overlapping([label.box for label in labels])
    for label in labels:
        assert label.box.within(field) and not label.box.meets(taken[0])
        assert label.box.width >= wide(label.words, 12) - 1e-9
        assert not any(
            label.box.x < w.x < label.box.right and label.box.y < w.y < label.box.bottom for w in wishes
        )
    assert len({label.wish for label in labels}) == len(labels)


def test_the_first_wish_is_served_first_and_none_is_moved_for_a_later_one() -> None:
    field = Box(0, 0, 200, 60)
    alone = placed([Wish(100, 30, "teak")], field)
    both = placed([Wish(100, 30, "teak"), Wish(104, 30, "iroko")], field)
    assert alone[0].box.x > 100
    assert both[0].wish == 0
    assert not placed([Wish(5, 5, "far too long for so small a field")], Box(0, 0, 40, 10))


def test_no_more_labels_than_asked_for() -> None:
    wishes = [Wish(50.0, 20.0 * n + 10, "oak") for n in range(10)]
    assert len(placed(wishes, Box(0, 0, 200, 220), most=3)) == 3


@given(st.lists(st.tuples(st.floats(0, 300), st.floats(0, 200)), min_size=2, max_size=20))
def test_the_loneliest_comes_first(points: list[tuple[float, float]]) -> None:
    alone = [min(math.dist(p, q) for n, q in enumerate(points) if n != k) for k, p in enumerate(points)]
    told = [alone[k] for k in loneliest_first(points)]
    assert told == pytest.approx(sorted(alone, reverse=True))


def test_a_text_cut_short_fits() -> None:
    assert wide(cut_short("reconstituted rosewood-figure veneer", 80, 12), 12) <= 80
    assert cut_short("teak", 80, 12) == "teak"


# the pictures of spots


@NAMES
@SHEETS
def test_marks_stand_where_the_scale_says(catalogue: Catalogue, name: str, sheet: Sheet) -> None:
    shown = spread(catalogue, name)
    at = layout(shown, sheet)
    f = sheet.field
    assert len(at.places) == len(shown.spots) > 100
    for spot, (x, y) in zip(shown.spots, at.places, strict=True):
        assert x == pytest.approx(f.x + (spot.x - at.x.low) / (at.x.high - at.x.low) * f.width)
        assert y == pytest.approx(f.bottom - (spot.y - at.y.low) / (at.y.high - at.y.low) * f.height)
        assert f.x <= x <= f.right and f.y <= y <= f.bottom


@NAMES
@SHEETS
@pytest.mark.parametrize("of", [None, "teak", "Sitka spruce"])
@pytest.mark.parametrize("within", [False, True])
def test_no_words_cover_words(
    catalogue: Catalogue, name: str, sheet: Sheet, of: str | None, within: bool
) -> None:
    at = layout(spread(catalogue, name, of, within and of is not None), sheet)
    labels = [label.box for label in at.labels]
    assert labels and not overlapping(labels)
    for words in at.line_words:
        for box in words.boxes:
            assert box.within(sheet.field)
            assert not any(box.meets(label) for label in labels)
    for one, two in combinations(at.line_words, 2):
        assert not any(a.meets(b) for a in one.boxes for b in two.boxes)


@NAMES
@SHEETS
def test_the_whole_picture_lies_inside_its_frame(catalogue: Catalogue, name: str, sheet: Sheet) -> None:
    from woodref.explorer.pages.pictures import fills

    svg = BeautifulSoup(drawn_spots.draw(spread(catalogue, name), fills(catalogue), sheet), "html.parser").svg
    assert svg is not None
    assert svg["viewbox"] == f"0 0 {sheet.wide:g} {sheet.high:g}"
    frame = Box(0, 0, sheet.wide, sheet.high)
    for text in svg.find_all("text"):
        size, x, y = (float(text[key]) for key in ("font-size", "x", "y"))
        assert size >= 11
        length = wide(text.get_text(), size)
        if "transform" in text.attrs:
            turn = math.radians(float(text["transform"].removeprefix("rotate(").split()[0]))
            assert Box(x - length * math.cos(turn), y, 0, 0).within(frame)
            continue
        left = {"end": x - length, "middle": x - length / 2}.get(text.get("text-anchor", ""), x)
        assert Box(left, y - size, length, size).within(frame), text


@NAMES
def test_lines_run_straight_through_what_they_are_named_after(catalogue: Catalogue, name: str) -> None:
    shown = spread(catalogue, name)
    at = layout(shown)
    assert len(at.ends) == len(shown.lines) >= 2
    for line, (x0, y0, x1, y1) in zip(shown.lines, at.ends, strict=True):
        for px, py in ((x0, y0), (x1, y1)):
            value = at.x.low + (px - at.x.start) / (at.x.end - at.x.start) * (at.x.high - at.x.low)
            up = at.y.low + (py - at.y.start) / (at.y.end - at.y.start) * (at.y.high - at.y.low)
            assert up == pytest.approx(line.slope * value, abs=1e-6)


def test_a_line_of_equal_stiffness_for_weight_goes_through_its_wood(catalogue: Catalogue) -> None:
    shown = spread(catalogue, "weight", "teak")
    marked = next(s for s in shown.spots if s.marked)
    assert [line.says for line in shown.lines] == ["as stiff for its weight as teak"]
    assert shown.lines[0].slope * marked.x == pytest.approx(marked.y)


def test_the_figures_are_those_of_the_catalogue(catalogue: Catalogue) -> None:
    spots = {s.material.id: s for s in spread(catalogue, "weight").spots}
    ash = catalogue.material("fraxinus-americana")
    density, moe = ash.figure("density"), ash.figure("moe")
    assert density and moe
    assert (spots[ash.id].x, spots[ash.id].y) == (density.typical, moe.typical)
    known = [m.id for m in catalogue.materials() if m.figure("density") and m.figure("moe")]
    assert sorted(spots) == sorted(known)


def test_what_is_not_drawn_is_counted(catalogue: Catalogue) -> None:
    shown = spread(catalogue, "movement")
    every, drawn = len(catalogue.ids()), len(shown.spots)
    assert (
        f"Of {every} that fit, {drawn} have both figures; of the other {every - drawn}" in shown.opening[-1]
    )


def test_within_reach_means_within_what_pieces_vary(catalogue: Catalogue) -> None:
    shown = spread(catalogue, "weight", "teak", within=True)
    marked = next(s for s in shown.spots if s.marked)
    assert len(shown.spots) > 2
    for spot in shown.spots:
        assert abs(spot.x - marked.x) <= 0.1 * marked.x + 1e-9
        assert abs(spot.y - marked.y) <= 0.22 * marked.y + 1e-9
    wider = spread(catalogue, "weight", "teak")
    assert {s.material.id for s in wider.spots if s.within} == {s.material.id for s in shown.spots}


def test_a_wood_whose_figures_are_not_known_is_said_not_to_be_marked(catalogue: Catalogue) -> None:
    lacking = next(m for m in catalogue.materials() if not m.figure("moe") and m.kind == "species")
    shown = spread(catalogue, "weight", lacking.id)
    assert (
        shown.opening[0]
        == f"Of {lacking.name} the weight or the stiffness is not known, so it cannot be marked."
    )
    assert not any(s.marked for s in shown.spots)
    assert not spread(catalogue, "weight", lacking.id, within=True).spots


def test_a_choice_is_kept_to(catalogue: Catalogue) -> None:
    assert {m.kind for m in chosen(Choice(kind="core"), catalogue)} == {"core"}
    planted = chosen(Choice(planted=True), catalogue)
    assert planted and all(m.grows["plantation"]["grown"] in ("yes", "some") for m in planted)
    with pytest.raises(BadRequest):
        chosen(Choice(kind="stone"), catalogue)
    with pytest.raises(BadRequest):
        chosen(Choice(within=True), catalogue)


def test_every_mark_is_a_link_with_a_name_and_of_one_size(catalogue: Catalogue) -> None:
    from woodref.explorer.pages.pictures import fills

    shown = spread(catalogue, "weight")
    soup = BeautifulSoup(drawn_spots.draw(shown, fills(catalogue)), "html.parser")
    links = soup.find_all("a")
    assert [a["href"] for a in links] == [f"/wood/{s.material.id}" for s in shown.spots]
    assert all(a.title and a.title.get_text().strip() for a in links)
    assert {c["r"] for c in soup.find_all("circle")} == {"4.6"}
    assert soup.title and soup.desc and soup.desc.get_text().endswith("The table below holds the same.")


@NAMES
def test_the_shipped_catalogue_is_drawn_whole(catalogue: Catalogue, name: str) -> None:
    shown = spread(catalogue, name)
    assert shown.drawn == shown.spots and not any("the picture draws" in line for line in shown.opening)


@NAMES
@pytest.mark.parametrize("of", [None, "teak"])
def test_too_many_woods_are_thinned_square_by_square_and_it_is_said(
    catalogue: Catalogue, name: str, of: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = spread(catalogue, name, of)
    most = 60
    monkeypatch.setattr(pictures.thinned, "__defaults__", (most,))
    thin = spread(catalogue, name, of)
    assert thin.spots == whole.spots and most / 2 < len(thin.drawn) <= most
    assert f"Of these {len(whole.spots)} the picture draws {len(thin.drawn)}: " in thin.opening[-1]
    drawn = {s.material.id for s in thin.drawn}
    assert drawn >= {s.material.id for s in whole.spots if s.marked or s.material.id in pictures.REFERENCES}
    assert [s for s in whole.spots if s.material.id in drawn] == thin.drawn
    # every wood that is not drawn has one that is nearby: no empty part of the picture where woods lie
    wide = max(s.x for s in whole.spots) - min(s.x for s in whole.spots)
    high = max(s.y for s in whole.spots) - min(s.y for s in whole.spots)
    for spot in whole.spots:
        off = (max(abs(spot.x - s.x) / wide, abs(spot.y - s.y) / high) for s in thin.drawn)
        assert min(off) < 0.25
    from woodref.explorer.pages.pictures import fills

    soup = BeautifulSoup(drawn_spots.draw(thin, fills(catalogue)), "html.parser")
    assert len(soup.find_all("a")) == len(thin.drawn)
    assert soup.desc and soup.desc.get_text().startswith(f"{len(thin.drawn)} marks.")


def test_thinning_takes_the_first_by_name_of_each_square(catalogue: Catalogue) -> None:
    from dataclasses import replace

    spot = spread(catalogue, "weight").spots[0]
    spots = [
        replace(spot, material=replace(spot.material, id=i, name=i), x=x, y=y)
        for i, x, y in [("b", 0.0, 0.0), ("a", 0.1, 0.1), ("d", 9.0, 9.0), ("c", 9.1, 9.1), ("e", 0.0, 9.1)]
    ]
    assert [s.material.id for s in pictures.thinned(spots, 3)] == ["a", "c", "e"]
    assert pictures.thinned(spots, 5) == spots
    alike = [replace(s, x=1.0, y=1.0) for s in spots]
    assert [s.material.id for s in pictures.thinned(alike, 2)] == ["a"]


@pytest.mark.parametrize("name", [*MAKE, "light"])
@pytest.mark.parametrize("number", ["0", "99", "x"])
def test_a_page_that_there_is_not_is_told(catalogue: Catalogue, name: str, number: str) -> None:
    answered = page(catalogue, name, page=number)
    assert answered.status == 400 and f"&#34;{number}&#34; is no whole number from 1 to " in answered.body


# now and after light


def test_pairs_tell_what_is_held_and_make_up_no_colour(catalogue: Catalogue) -> None:
    found = now_and_after_light(Choice(), catalogue)
    for pair in found.pairs:
        light = pair.material.look["light"]
        assert pair.change == light["change"] != "unknown"
        states = {s["state"] for s in pair.material.look["swatches"] if s["light"] == "D65/2"}
        assert pair.now.measured == ("planed" in states)
        assert (pair.after is not None) == ("aged-in-light" in states)
    silent = sum(m.look["light"]["change"] == "unknown" for m in catalogue.materials())
    assert len(found.pairs) + silent == len(catalogue.ids())
    assert f"What light does to {silent} more is not known." in found.opening


def test_a_measured_change_gets_its_own_plain_chip(catalogue: Catalogue) -> None:
    from dataclasses import replace

    from woodref.selection.lightpairs import Chip, Pair

    pair = now_and_after_light(Choice(), catalogue).pairs[0]
    aged: Pair = replace(pair, now=Chip("#a07040", True, "measured"), after=Chip("#804020", True, "measured"))
    (svg,) = drawn_pairs.draw("x", "Darker", [aged])
    assert 'fill="#804020"' in svg and "url(#hatch-x)" not in svg
    (worded,) = drawn_pairs.draw("x", "Darker", [pair])
    assert "url(#hatch-x)" in worded and "#804020" not in worded and pair.word in worded


def test_the_columns_hold_every_pair_once_and_fit_a_sheet_of_paper(catalogue: Catalogue) -> None:
    for _, _, pairs in now_and_after_light(Choice(), catalogue).groups:
        split = drawn_pairs.columns(pairs)
        assert [pair for column in split for pair in column] == pairs
        assert all(0 < len(column) <= drawn_pairs.MOST for column in split)
        for pair in pairs:
            lines, size = drawn_pairs.name_lines(pair.material.name)
            assert size >= 11 and len(lines) <= 2
            assert all(drawn_pairs.NAME + wide(line, size) <= drawn_pairs.WIDE for line in lines)
    boxes = drawn_pairs.cells(drawn_pairs.MOST)
    assert all(a.bottom <= b.y for a, b in pairwise(boxes))
    assert boxes[-1].bottom <= drawn_pairs.high(drawn_pairs.MOST)
    assert drawn_pairs.high(drawn_pairs.MOST) < 960


def test_within_reach_of_a_colour(catalogue: Catalogue) -> None:
    near = resolve("black cherry", catalogue, today())
    found = now_and_after_light(Choice(near=near, within=True), catalogue)
    ids = {p.material.id for p in found.pairs}
    assert "prunus-serotina" in ids and "diospyros-ebenum" not in ids
    assert sum(p.marked for p in found.pairs) == 1


# the pages


def soup_of(answered: Answered) -> BeautifulSoup:
    return BeautifulSoup(answered.body, "html.parser")


def linked(catalogue: Catalogue, name: str) -> list[str]:
    """Where the rows of the table lead, from the first page by its links to the last."""
    out: list[str] = []
    number = "1"
    while number:
        soup = soup_of(page(catalogue, name, page=number))
        out += [str(a["href"]) for a in soup.select("tbody th a")]
        after = soup.select_one('a[rel="next"]')
        number = str(after["href"]).rpartition("page=")[2] if after else ""
        assert len(out) <= len(catalogue.ids())
    return out


@pytest.mark.parametrize("name", [*MAKE, "light"])
def test_a_page_is_whole(catalogue: Catalogue, name: str) -> None:
    answered = page(catalogue, name)
    soup = soup_of(answered)
    assert answered.status == 200 and len(soup.find_all("h1")) == 1
    assert len(answered.body.encode()) < 150_000
    for field in soup.select("input, select"):
        assert soup.find("label", attrs={"for": field["id"]}), field
    assert "http" not in answered.body.replace("http://www.w3.org/2000/svg", "")
    assert not soup.select("[style]") and not soup.find_all("style")
    ids = [tag["id"] for tag in soup.select("[id]")]
    assert len(ids) == len(set(ids))
    for use in soup.find_all("use"):
        assert soup.find(id=use["href"].removeprefix("#"))
    told = json.loads(page(catalogue, name, "json").body)
    assert told["count"] == len(told["rows"])
    assert linked(catalogue, name) == [f"/wood/{row['id']}" for row in told["rows"]]
    rows = page(catalogue, name, "csv").body.strip().splitlines()
    assert len(rows) == told["count"] + 1


def test_the_first_page_leads_to_each(catalogue: Catalogue) -> None:
    soup = soup_of(answer("pictures:pictures", ask(catalogue, "/pictures")))
    assert [a["href"] for a in soup.select(".doors a")] == [
        "/pictures/weight", "/pictures/movement", "/pictures/light",
    ]  # fmt: skip


def test_an_unknown_picture_names_those_there_are(catalogue: Catalogue) -> None:
    answered = page(catalogue, "price")
    assert answered.status == 404 and "weight, movement, light" in answered.body


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"kind": "stone"}, "kind", "is not one of"),
        ({"within": "1"}, "within", "Within reach of which wood"),
        ({"of": "mahogani"}, "of", "mahogani"),
        ({"of": "<script>alert(1)</script>"}, "of", "No wood"),
    ],
)
def test_a_wrong_field_is_told_at_the_field(
    catalogue: Catalogue, fields: dict[str, str], field: str, says: str
) -> None:
    answered = page(catalogue, "weight", **fields)
    soup = soup_of(answered)
    assert answered.status == 400 and "<script>alert" not in answered.body
    fault = soup.find(id=f"{field}-fault")
    assert fault is not None and says in fault.get_text()
    assert not soup.find_all("svg")


def test_a_shared_name_in_the_field_offers_each_wood(catalogue: Catalogue) -> None:
    answered = page(catalogue, "weight", of="mahogany", kind="species")
    links = [a["href"] for a in soup_of(answered).select("form ul a")]
    assert answered.status == 400 and "/pictures/weight?kind=species&of=swietenia-macrophylla" in links


def test_a_narrowed_picture_has_a_link_that_lasts(catalogue: Catalogue) -> None:
    answered = page(catalogue, "movement", of="teak", within="1", kind="species", planted="1")
    told = json.loads(page(catalogue, "movement", "json", of="teak", within="1", kind="species").body)
    assert told["query"] == {
        "kind": "species",
        "planted": False,
        "near": "tectona-grandis",
        "within_reach": True,
    }
    soup = soup_of(answered)
    assert soup.find("details", open=True) and soup.find("input", id="within", checked=True)
    assert any("(marked)" in row.get_text() for row in soup.select("tbody th"))
