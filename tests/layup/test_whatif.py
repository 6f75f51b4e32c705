"""What-ifs: an option changes what it names and nothing else, and what is advised really helps."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup, BadRequest, CannotAnswer, UnknownName, WoodrefError
from woodref.layup.asked import Layup
from woodref.layup.backs import suggest_backs
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report
from woodref.layup.warping import worst
from woodref.layup.whatif import Edit, beside, beside_dict, edits_of

ON = dt.date(2026, 6, 1)
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
TRAY = """
title: tray
plies:
  - {material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}
  - {material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}
  - repeat: 2
    plies:
      - {material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 0, moisture: 7 %}
      - {unidentified: attic leaf, cut: rotary, thickness: 0.9 mm, grain: 90, moisture: 7 %}
glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}
panel: {length: 450 mm, width: 320 mm}
finish: {face: lacquer, back: none}
"""
FACE = "{material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}"
CROSS = "{material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}"
LONG = CROSS.replace("grain: 90", "grain: 0")
REST = (
    "glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}\npanel: {length: 450 mm, width: 320 mm}\n"
    "press: {cold: 20 C, pressure: 0.4 MPa}\n"
)
ODD = [FACE, CROSS, LONG, CROSS, LONG]


def layup(edits: list[Edit] | None = None, text: str = TRAY) -> Layup:
    return load_layup(text.encode(), "tray.yaml", edits or [])


def of(catalogue: Catalogue, plies: list[str], rest: str = REST, edits: list[Edit] | None = None) -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + rest
    return report(load_layup(body.encode(), "x.yaml", edits or []), catalogue, ON)


def settled(one: Layup, **same: object) -> Layup:
    """A layup with what an edit is meant to change put back, and where each ply stands left out."""
    plain = replace(one, plies=tuple(replace(p, where="") for p in one.plies), given=frozenset())
    return replace(plain, **same)  # type: ignore[arg-type]


# --- each option


def test_the_tray_as_drawn() -> None:
    drawn = layup()
    assert [p.said for p in drawn.plies] == [
        "Juglans regia", "Betula pendula", "Betula pendula", "unidentified: attic leaf", "Betula pendula",
        "unidentified: attic leaf",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("options", "ply", "changes"),
    [
        ({"sets": ["plies.3.thickness=0.9mm"]}, 3, {"thickness": 0.9}),
        ({"sets": ["plies.1.grain=-45"]}, 1, {"grain": -45.0}),
        ({"sets": ["plies.1.grain=12.5"]}, 1, {"grain": 12.5}),
        ({"sets": ["plies.5.cut=quarter"]}, 5, {"cut": "quarter"}),
        ({"sets": ["plies.2.moisture=10 %"]}, 2, {"moisture": 10.0}),
        ({"sets": ["plies.2.figured=true"]}, 2, {"figured": True}),
        ({"haves": ["1=0.5"]}, 1, {"thickness": 0.5}),
        ({"haves": ["1=0.5mm"]}, 1, {"thickness": 0.5}),
        ({"haves": ["2=0.0625 in"]}, 2, {"thickness": 25.4 / 16}),
        ({"swaps": ["2=Fagus sylvatica"]}, 2, {"material": "Fagus sylvatica"}),
        # a named wood takes the place of the unnamed leaf
        ({"swaps": ["4=Fagus sylvatica"]}, 4, {"material": "Fagus sylvatica", "unidentified": None}),
    ],
)  # fmt: skip
def test_one_ply_changes_and_nothing_else(
    options: dict[str, list[str]], ply: int, changes: dict[str, object]
) -> None:
    drawn, changed = settled(layup()), settled(layup(edits_of(**options)))
    assert changed != drawn
    want = [replace(p, **changes) if n == ply else p for n, p in enumerate(drawn.plies, 1)]  # type: ignore[arg-type]
    for got, wanted in zip(changed.plies, want, strict=True):
        assert got.thickness == pytest.approx(wanted.thickness)
        assert replace(got, thickness=1.0) == replace(wanted, thickness=1.0)
    assert replace(changed, plies=()) == replace(drawn, plies=())


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"sets": ["finish.back=same"]}, "finish"), ({"sets": ["panel.width=250 mm"]}, "panel"),
        ({"sets": ["sanding.face=0.1mm"]}, "sanding"), ({"sets": ["mould.radius=300 mm"]}, "mould"),
        ({"sets": ["press.heated=70 C"]}, "press"), ({"sets": ["title=another"]}, "title"),
        ({"sets": ["use=seat"]}, "use"), ({"ranges": ["rh=25..75"]}, "room"),
    ],
)  # fmt: skip
def test_one_section_changes_and_nothing_else(options: dict[str, list[str]], field: str) -> None:
    drawn, changed = layup(), layup(edits_of(**options))
    assert getattr(changed, field) != getattr(drawn, field)
    assert settled(changed, **{field: getattr(drawn, field)}) == settled(drawn)


def test_what_is_beside_the_change_in_its_section_stays() -> None:
    changed = layup(edits_of(["panel.width=250 mm", "finish.back=same"], [], [], ["rh=25..75"]))
    assert (changed.panel.length, changed.panel.width) == (450, 250)
    assert (changed.finish.face, changed.finish.back) == ("lacquer", "lacquer")
    assert (changed.room.rh_low, changed.room.rh_high, changed.room.temperature) == (25, 75, 20)
    assert layup(edits_of(ranges=["rh=40.."])).room.rh_low == 40
    assert layup(edits_of(ranges=["rh=40.."])).room.rh_high == 65


def test_a_line_of_glue_of_its_own() -> None:
    text = (
        TRAY.replace("finish:", "#")
        .replace("- repeat: 2\n    plies:\n      - ", "- ")
        .replace("      - {unidentified", "  - {unidentified")
    )
    text = text.replace(
        "spread: 110 g/m2}", "lines: [{spread: 90 g/m2}, {spread: 100 g/m2}, {spread: 110 g/m2}]}"
    )
    changed = layup(edits_of(["glue.lines.2.spread=150 g/m2"]), text)
    assert [line.spread for line in changed.lines] == [90, 150, 110]


@COMMON
@given(ply=st.integers(1, 6), mm=st.floats(0.1, 50).map(lambda v: round(v, 3)))
def test_the_last_change_of_one_thing_holds(ply: int, mm: float) -> None:
    edits = edits_of([f"plies.{ply}.thickness=7 mm", f"plies.{ply}.thickness={mm} mm"])
    assert layup(edits).plies[ply - 1].thickness == pytest.approx(mm)
    assert sum(p.thickness for p in layup(edits).plies) == pytest.approx(
        sum(p.thickness for n, p in enumerate(layup().plies, 1) if n != ply) + mm
    )


# --- what is refused


@pytest.mark.parametrize(
    ("options", "kind", "says"),
    [
        ({"sets": ["plies.9.grain=0"]}, BadRequest, "--set plies.9.grain=0: there is no number 9"),
        ({"sets": ["plies.0.grain=0"]}, BadRequest, "--set plies.0.grain=0: plies are counted from 1"),
        ({"sets": ["plies..grain=0"]}, BadRequest, '--set plies..grain=0: "plies..grain" is no path'),
        ({"sets": ["plies.2=7"]}, BadLayup, "--set plies.2=7"),
        ({"sets": ["title.first=7"]}, BadRequest, "--set title.first=7: title holds no first"),
        ({"sets": ["plies.2.grain"]}, BadRequest, '--set "plies.2.grain" is not understood'),
        ({"sets": ["plies.2.grain=120"]}, BadLayup, "--set plies.2.grain=120"),
        ({"sets": ["plies.2.thickness=0.9"]}, BadLayup, "--set plies.2.thickness=0.9"),
        ({"sets": ["mould=7"]}, BadLayup, "--set mould=7"),
        ({"sets": ["sauce=brown"]}, BadLayup, "--set sauce=brown"),
        ({"sets": ["mould.radius=6 mm"]}, BadLayup, "--set mould.radius=6 mm"),
        ({"swaps": ["0=Fagus sylvatica"]}, BadRequest, '--swap 0=Fagus sylvatica: "0" is no ply'),
        ({"swaps": ["face=Fagus sylvatica"]}, BadRequest, '--swap face=Fagus sylvatica: "face" is no ply'),
        ({"swaps": ["8=Fagus sylvatica"]}, BadRequest, "--swap 8=Fagus sylvatica: there is no number 8"),
        ({"swaps": ["1="]}, BadRequest, '--swap "1=" is not understood'),
        ({"haves": ["1=0"]}, BadLayup, "--have 1=0"),
        ({"haves": ["1=thick"]}, BadLayup, "--have 1=thick"),
        ({"ranges": ["warmth=1..2"]}, BadRequest, '--range "warmth=1..2" is not known'),
        ({"ranges": ["rh=30..99"]}, BadLayup, "--range rh=30..99"),
    ],
)  # fmt: skip
def test_a_bad_change_is_told_with_its_option(
    options: dict[str, list[str]], kind: type[BadRequest] | type[BadLayup], says: str
) -> None:
    with pytest.raises(kind) as caught:
        layup(edits_of(**options))
    assert says in f"{caught.value.where or ''} {caught.value}" and "None" not in str(caught.value)


@pytest.mark.parametrize("ends", ["80..30", "wet", "30 mm..60 mm"])
def test_a_bad_range_is_told_with_its_option(ends: str) -> None:
    with pytest.raises(WoodrefError) as caught:
        layup(edits_of(ranges=[f"rh={ends}"]))
    assert "--range" in f"{caught.value.where or ''} {caught.value}"


def test_a_wood_nobody_knows_is_told_with_its_option(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as caught:
        of(catalogue, ODD, edits=edits_of(swaps=["2=porridgewood"]))
    assert caught.value.where == "--swap 2=porridgewood"


# --- side by side


def test_both_stand_side_by_side(catalogue: Catalogue) -> None:
    options = ["--swap 5=Juglans regia"]
    drawn = of(catalogue, ODD)
    changed = of(catalogue, ODD, edits=edits_of(["plies.5.cut=crown"], ["5=Juglans regia"], ["5=0.6"]))
    head, rows = beside(drawn, changed)
    assert head == ["", "as drawn", "with this change"]
    table = {row[0]: row[1:] for row in rows}
    assert len(table) == len(rows) and all(len(row) == 3 and all(row) for row in rows)
    assert table["thickness as finished"] == ["6.6 mm", "5.7 mm"]
    assert table["balanced construction"] == ["no", "yes"]
    assert table["cup in dry air"][1] == "0 mm" and "show face" in table["cup in dry air"][0]
    assert table["weight"] == [f"{r.finished.areal_mass / 1000:.2f} kg/m2" for r in (drawn, changed)]  # type: ignore[operator]
    only, other = table["findings of this one alone"]
    assert "unbalanced (ply 1)" in only and "unbalanced" not in other
    # what neither has is no row
    assert "springs back" not in table and "sag under the load" not in table
    told = beside_dict(drawn, changed, options)
    assert told["as_drawn"] == drawn.as_dict() and told["with_this_change"] == changed.as_dict()
    assert told["changes"] == options
    assert [list(row.values()) for row in told["beside"]] == rows


def test_bent_and_flat_beside_one_another(catalogue: Catalogue) -> None:
    flat = of(catalogue, [FACE, CROSS, FACE])
    bent = of(catalogue, [FACE, CROSS, FACE], edits=edits_of(["mould.radius=300 mm"]))
    table = {row[0]: row[1:] for row in beside(flat, bent)[1]}
    assert table["springs back"][0] == "-" and table["springs back"][1].endswith(" %")
    assert table["cup in dry air"][1] == "-" and table["bend in dry air"][0] == "-"
    assert {row[1] == row[2] for row in beside(flat, flat)[1]} == {True}


# --- what is advised helps


@pytest.mark.parametrize(
    "plies",
    [ODD, [FACE, CROSS, LONG], [LONG, LONG, CROSS], [FACE, CROSS, LONG, FACE], [FACE, CROSS]],
)
def test_the_mend_of_a_warp_flattens_the_part(catalogue: Catalogue, plies: list[str]) -> None:
    found = of(catalogue, plies)
    (warps,) = [f for f in found.findings if f.code == "warps"]
    before = abs(worst(found.shape)[2])
    words = str(warps.mend).split()
    ply = int(words[2])
    if words[0] == "Turn":
        grain = found.layup.plies[ply - 1].grain
        edits = edits_of([f"plies.{ply}.grain={90 if grain == 0 else 0}"])
        mended = of(catalogue, plies, edits=edits)
    else:
        assert words[:2] == ["Make", "ply"] and words[3:5] == ["as", "ply"], warps.mend
        mended = of(catalogue, [*plies[: ply - 1], plies[int(words[5]) - 1], *plies[ply:]])
    after = abs(worst(mended.shape)[2])
    # "and it is under 2 mm": the glue's water falls on another weight of wood, so a quarter may be added
    promised = float(words[words.index("under") + 1])
    assert after < promised + 0.25 and after < before / 2
    assert warps.message.startswith(("In a heated house", "In damp air"))


def test_where_no_one_change_helps_none_is_promised(catalogue: Catalogue) -> None:
    # four crossed plies have two pairs at odds: no single turn makes both good
    found = of(catalogue, [CROSS, LONG, CROSS, LONG])
    (warps,) = [f for f in found.findings if f.code == "warps"]
    assert warps.mend is not None and warps.mend.startswith("Give every ply an equal opposite")
    before = abs(worst(found.shape)[2])
    for ply, grain in ((1, 0), (2, 90), (3, 0), (4, 90)):
        turned = of(catalogue, [CROSS, LONG, CROSS, LONG], edits=edits_of([f"plies.{ply}.grain={grain}"]))
        assert abs(worst(turned.shape)[2]) >= before / 2, ply


def test_backs_keep_the_panel_flat(catalogue: Catalogue) -> None:
    found = of(catalogue, ODD)
    backs = suggest_backs(found, catalogue, ON)
    before = abs(worst(found.shape)[2])
    assert len(backs.rows) >= 3 and backs.now > 2 and backs.tried > 50
    ids = [row.sheet.material.id for row in backs.rows if row.sheet.material]
    assert len(set(ids)) == len(backs.rows) and "juglans-regia" not in ids
    for row in backs.rows:
        edits = edits_of(
            [f"plies.5.cut={row.sheet.cut}", "plies.5.grain=0"],
            [f"5={row.sheet.material.id if row.sheet.material else ''}"],
            [f"5={row.sheet.thickness}"],
        )
        put_in = of(catalogue, ODD, edits=edits)
        dry = put_in.shape.dry
        assert dry is not None
        rises = [abs(r or 0) for r in (dry.bow, dry.cup, dry.twist)]
        assert max(rises) <= row.warp + 0.25 and max(rises) < before / 4, row.sheet.name
        assert 0.3 <= row.sheet.thickness <= 1.2  # no more than twice as thick or thin as the face
    assert backs.as_dict()["count"] == len(backs.rows)
    assert "Its own face wood, European walnut crown cut, 0.6 mm, on the back" in backs.sentences[0]


def test_no_back_for_a_single_sheet_or_an_unknown_face(catalogue: Catalogue) -> None:
    with pytest.raises(CannotAnswer, match="a single ply has no back"):
        suggest_backs(of(catalogue, [FACE]), catalogue, ON)
    attic = "{unidentified: attic leaf, thickness: 0.6 mm, grain: 0}"
    with pytest.raises(CannotAnswer, match="attic leaf"):
        suggest_backs(of(catalogue, [attic, CROSS, LONG]), catalogue, ON)
