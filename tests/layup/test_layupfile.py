"""Layup files read: values, defaults, repeats, and every fault with its sentence and its line.

The workshop is invented, the Quillbeck Benders of Harrowmere; so is each pack here.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import io
import json
import math
import re
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue import yamlload
from woodref.errors import BadLayup, WoodrefError
from woodref.layup import asked, layupfile
from woodref.layup.asked import (
    Face,
    Finish,
    Journey,
    Layup,
    LeafStock,
    Limits,
    LineAsk,
    Mould,
    Panel,
    Plate,
    PlyAsk,
    Press,
    Room,
    Target,
    Waste,
)
from woodref.layup.layupfile import KEYS, PLY_KEYS, layup_of, parse, read_body, written_out
from woodref.layup.reading import MOST_FAULTS, Faults

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo" / "seat-shell.yaml"
#: the least that is a layup; what a test adds to it begins on line 3
BARE = "plies:\n  - {material: oak, thickness: 1 mm, grain: 0}\n"
TWO = BARE + "  - {material: oak, thickness: 2 mm, grain: 90}\n"


def read(text: str | bytes, file: str = "seat.yaml") -> Layup:
    body = text.encode() if isinstance(text, str) else text
    value = parse(body, file)
    faults = Faults(file, body)
    value["plies"] = written_out(value, faults)
    return layup_of(value, faults)


def fault_of(text: str | bytes) -> BadLayup:
    with pytest.raises(BadLayup) as caught:
        read(text)
    return caught.value


def told(text: str | bytes) -> list[tuple[str, str]]:
    """Where and what of several faults, 'seat.yaml:' left off."""
    fault = fault_of(text)
    assert fault.next == "Mend them:"
    assert fault.message == f"{len(fault.candidates)} things in seat.yaml cannot be read"
    assert all(c.id is None for c in fault.candidates)
    return [(c.name.removeprefix("seat.yaml:"), c.says) for c in fault.candidates]


def test_the_demo_file() -> None:
    layup = read(DEMO.read_bytes(), "seat-shell.yaml")
    lines = {i for i, line in enumerate(DEMO.read_text().splitlines(), 1) if line.startswith("  - {material")}
    walnut = dict(unidentified=None, cut="crown", thickness=0.6, grain=0.0, moisture=6.0, origin="US")
    poplar = dict(unidentified=None, cut="rotary", thickness=1.5, moisture=6.0, origin="US")
    first = min(lines)
    assert lines == set(range(first, first + 7))
    assert layup.plies == (
        PlyAsk("black walnut", **walnut, where=f"seat-shell.yaml:{first}"),
        *(
            PlyAsk("yellow-poplar", **poplar, grain=grain, where=f"seat-shell.yaml:{first + n}")
            for n, grain in enumerate((90.0, 0.0, 90.0, 0.0, 90.0), 1)
        ),
        PlyAsk("black walnut", **walnut, where=f"seat-shell.yaml:{first + 6}"),
    )
    assert layup.title == "seat shell"
    assert layup.thickness == pytest.approx(8.7)  # 2 x 0.6 + 5 x 1.5
    assert (layup.glue.adhesive, layup.glue.spread) == ("urea-formaldehyde", 110.0) if layup.glue else False
    assert layup.glue_lines == (layup.glue,) * 6
    assert layup.press == Press(None, 70.0, True, 7.0, 0.5, False, 0.0)
    assert layup.press.temperature == 70.0
    mould = dataclasses.replace(layup.mould, radius_where="")
    assert mould == Mould(300.0, False, False, 60.0, 0.0, False, None)
    assert not mould.show_outside  # in a hollow mould, show face up
    assert layup.panel == Panel(450.0, 420.0, 4, 20.0)
    assert layup.face == Face("book", True, True, 4)
    assert [dataclasses.replace(leaf, where="") for leaf in layup.leaves] == [
        LeafStock(1, 180.0, 2400.0, 8),
        LeafStock(7, 180.0, 2400.0, None),
    ]
    assert layup.room == Room(20.0, 30.0, 65.0)
    assert layup.sanding == (0.1, 0.1)
    assert layup.finish == Finish("oil", "oil") and not layup.finish.one_sided
    assert layup.use == "seat"
    assert layup.target == Target(7000.0 / 1000, 1300.0, 380.0, 12.0)
    assert layup.plate is None
    assert layup.journey == Journey("GB", "US", "seat", "finished", None)
    assert layup.limits == Limits(None, 20.0)
    assert layup.given == frozenset(KEYS) - {"plate", "limits", "waste"}


def test_plies_alone_are_enough_and_every_default_is_the_stated_one() -> None:
    layup = read(BARE, "harrowmere-seat.yaml")
    assert dataclasses.asdict(layup) == {
        "title": "harrowmere seat",
        "plies": (
            {
                "material": "oak",
                "unidentified": None,
                "thickness": 1.0,
                "grain": 0.0,
                "cut": None,
                "moisture": None,
                "rings": None,
                "figured": False,
                "origin": None,
                "acquired": None,
                "where": "harrowmere-seat.yaml:2",
            },
        ),
        "file": "harrowmere-seat.yaml",
        "glue": None,
        "lines": (),
        "press": {
            "cold": 20.0,
            "heated": None,
            "from_both": True,
            "at_set": None,
            "pressure": None,
            "bag": False,
            "altitude": 0.0,
        },
        "mould": {
            "radius": None,
            "convex": True,
            "show_against": False,
            "angle": None,
            "bend": 0.0,
            "closed": False,
            "second_radius": None,
            "radius_where": "harrowmere-seat.yaml:1",
        },
        "panel": {"length": None, "width": None, "count": 1, "trim": 20.0},
        "face": {"match": "slip", "centre_joint": True, "same_flitch": False, "parts_to_match": 1},
        "leaves": (),
        "room": {"temperature": 20.0, "rh_low": 30.0, "rh_high": 65.0},
        "sanding": (0.0, 0.0),
        "finish": {"face": None, "back": None},
        "use": None,
        "target": {"areal_mass_max": None, "load": None, "span": None, "sag_max": None},
        "plate": None,
        "journey": None,
        "limits": {"along": None, "across": 20.0},
        "waste": {"plain": None, "matched": None, "burr": None},
        "given": frozenset({"plies"}),
    }
    assert layup.glue_lines == ()
    assert (asked.PLY_MOISTURE, asked.HEATED_SET) == (8.0, (5.0, 8.0))


def test_every_key_that_the_demo_leaves_out() -> None:
    layup = read(
        "plies:\n"
        "  - {unidentified: pale  wood, cut: rift, thickness: 0.5 in, grain: -45, rings: 30, figured: yes,\n"
        "     acquired: 2019-05-02}\n"
        "  - {material: oak, thickness: 1 mm, grain: 45, acquired: '1974'}\n"
        "  - {material: oak, thickness: 1 mm, grain: 0, figured: false}\n"
        "glue:\n"
        "  spread: 120 g/m2\n"
        "  lines:\n"
        "    - {adhesive: epoxy}\n"
        "    - {adhesive: hide-glue, spread: 0.25 kg/m2}\n"
        "press: {cold: 68 F, bag: yes, altitude: 1200 m}\n"
        "mould: {radius: 2 m, face: convex, show_side: against-mould, bend: 90, second_radius: 50 cm}\n"
        "panel: {width: 1 ft, trim: 0 mm}\n"
        "face: {match: four-way, centre: leaf}\n"
        "finish: {face: lacquer, back: none}\n"
        "plate: {material: Sitka spruce, thickness: 2.5 mm}\n"
        "limits: {along: 50, across: 12.5}\n"
        "waste: {plain: 15 %, burr: 100 %}\n"
    )
    assert [(p.thickness, p.grain, p.rings, p.figured, p.acquired) for p in layup.plies] == [
        (12.7, -45.0, 30.0, True, dt.date(2019, 5, 2)),
        (1.0, 45.0, None, False, dt.date(1974, 12, 31)),  # a year alone: its last day
        (1.0, 0.0, None, False, None),
    ]
    assert [(p.said, p.long) for p in layup.plies[:2]] == [
        ("unidentified: pale wood", False),
        ("oak", False),
    ]
    assert layup.glue is None
    assert (
        layup.lines
        == layup.glue_lines
        == (
            LineAsk("epoxy", 120.0, "seat.yaml:9"),
            LineAsk("hide-glue", 250.0, "seat.yaml:10"),
        )
    )
    # 68 F are 20 C
    assert layup.press == Press(pytest.approx(20.0), None, True, None, None, True, 1200.0)
    assert layup.mould == Mould(2000.0, True, True, None, 90.0, False, 500.0, "seat.yaml:12")
    assert not layup.mould.show_outside
    assert layup.panel == Panel(None, pytest.approx(304.8), 1, 0.0)
    assert layup.face == Face("four-way", False, False, 1)
    assert layup.finish == Finish("lacquer", "none") and layup.finish.one_sided
    assert layup.plate == Plate("Sitka spruce", "quarter", 2.5, "seat.yaml:16")
    assert layup.limits == Limits(50.0, 12.5)
    assert layup.waste == Waste(15.0, None, 100.0)


@pytest.mark.parametrize(
    ("extra", "read_back"),
    [
        ("mould: {flat: true}", lambda got: got.mould.radius is None),
        ("mould: {radius: 300 mm, closed: yes}", lambda got: got.mould.closed and got.mould.radius == 300),
        (
            "press: {heated: 70 C, heated_from: one}",
            lambda got: not got.press.from_both and got.press.cold is None,
        ),
        ("press: {cold: 15 C}", lambda got: got.press.cold == got.press.temperature == 15),
        ("finish: {face: oil}", lambda got: got.finish == Finish("oil", "oil")),
        ("room: {rh_low: 0 %, rh_high: 95 %}", lambda got: (got.room.rh_low, got.room.rh_high) == (0, 95)),
        ("room: {rh_low: 40 %, rh_high: 40 %}", lambda got: got.room.rh_low == got.room.rh_high == 40),
        ("glue:", lambda got: got.glue is None and "glue" not in got.given),
    ],
)
def test_what_else_may_stand(extra: str, read_back: Any) -> None:
    assert read_back(read(BARE + extra + "\n"))


def test_the_ends_of_what_a_ply_may_be() -> None:
    plies = read(
        "plies:\n"
        "  - {material: oak, thickness: 0.1 mm, grain: -90, moisture: 0 %}\n"
        "  - {material: oak, thickness: 50 mm, grain: 90, moisture: 60 %}\n"
    ).plies
    assert [(p.thickness, p.grain, p.moisture) for p in plies] == [(0.1, -90.0, 0.0), (50.0, 90.0, 60.0)]


# --- repeats ---------------------------------------------------------------------------------------------


def test_a_ply_repeated() -> None:
    plies = read(BARE + "  - {repeat: 3, material: ash, thickness: 2 mm, grain: 90}\n").plies
    assert [(p.material, p.grain, p.where) for p in plies] == [
        ("oak", 0.0, "seat.yaml:2"),
        *[("ash", 90.0, "seat.yaml:3")] * 3,
    ]


def test_a_ply_repeated_once_is_one_ply() -> None:
    (ply,) = read("plies:\n  - {repeat: 1, material: ash, thickness: 2 mm, grain: 90}\n").plies
    assert (ply.material, ply.where) == ("ash", "seat.yaml:2")


def test_a_list_repeated_and_one_within_it() -> None:
    plies = read(
        BARE + "  - repeat: 2\n"
        "    plies:\n"
        "      - {material: ash, thickness: 2 mm, grain: 90}\n"
        "      - repeat: 2\n"
        "        plies:\n"
        "          - {material: elm, thickness: 3 mm, grain: 0}\n"
        "          - {repeat: 2, material: fir, thickness: 4 mm, grain: 45}\n"
    ).plies
    inner = [("elm", "seat.yaml:8"), ("fir", "seat.yaml:9"), ("fir", "seat.yaml:9")]
    assert [(p.material, p.where) for p in plies] == [
        ("oak", "seat.yaml:2"),
        *[("ash", "seat.yaml:5"), *inner, *inner] * 2,
    ]


def test_a_fault_in_a_repeated_ply_is_told_once_with_its_own_line() -> None:
    fault = fault_of(
        BARE + "  - repeat: 3\n    plies:\n      - {material: ash, thickness: 2 mm, grain: 0}\n"
        "      - material: ash\n        grain: 90\n        thickness: 99 mm\n"
    )
    assert (fault.where, fault.message) == ("seat.yaml:8", 'thickness: "99 mm" is outside')


def test_one_of_several_repeated_plies_can_be_changed_alone() -> None:
    body = b"plies:\n  - {repeat: 3, material: oak, thickness: 1 mm, grain: 0}\n"
    value = parse(body, "seat.yaml")
    faults = Faults("seat.yaml", body)
    value["plies"] = written_out(value, faults)
    value["plies"][1]["thickness"] = "2 mm"
    assert [p.thickness for p in layup_of(value, faults).plies] == [1.0, 2.0, 1.0]


@pytest.mark.parametrize("times", ["0", "61", "-1", "1.5", "two", "true", "[2]", ""])
def test_a_repeat_that_does_not_count(times: str) -> None:
    fault = fault_of(BARE + f"  - material: oak\n    repeat: {times}\n    thickness: 1 mm\n    grain: 0\n")
    assert (fault.where, fault.message, fault.expected) == (
        "seat.yaml:4",
        "repeat does not count",
        "a whole number, 1 to 60",
    )


@pytest.mark.parametrize(
    "entry", ["{repeat: 2, material: oak, plies: [{material: oak}]}", "{repeat: 2, plies: oak}"]
)
def test_a_repeated_list_holds_nothing_else(entry: str) -> None:
    fault = fault_of(f"{BARE}  - {entry}\n")
    assert (fault.where, fault.message, fault.expected) == (
        "seat.yaml:3",
        "a repeated list holds repeat and plies alone",
        "{repeat: 2, plies: [...]}",
    )


def test_sixty_plies_and_no_more() -> None:
    ply = "material: oak, thickness: 1 mm, grain: 0"
    assert len(read(f"plies:\n  - {{repeat: 60, {ply}}}\n").plies) == 60
    for text in (
        f"plies:\n  - {{repeat: 60, {ply}}}\n  - {{{ply}}}\n",
        f"plies:\n  - repeat: 31\n    plies: [{{{ply}}}, {{{ply}}}]\n",
        f"title: tall\nplies:\n{f'  - {{{ply}}}' + chr(10)}" + f"  - {{{ply}}}\n" * 60,
    ):
        fault = fault_of(text)
        assert (fault.message, fault.expected) == ("more than 60 plies", "at most 60")
        assert fault.where == f"seat.yaml:{1 + text[: text.index('plies:')].count(chr(10))}"


@pytest.mark.parametrize("core", ["", "{repeat: x}", "{repeat: 60, plies: []}"])
def test_repeats_within_repeats_do_not_keep_it_busy(core: str) -> None:
    # five deep would be 60^5 = 778 million turns
    text = f"plies: [{'{repeat: 60, plies: [' * 5}{core}{']}' * 5}]\n"
    begun = time.perf_counter()
    fault = fault_of(text)
    assert time.perf_counter() - begun < 1
    assert fault.message == ("repeat does not count" if "x" in core else "there is no ply")


# --- faults ----------------------------------------------------------------------------------------------

PLY = "plies:\n  - material: oak\n    {}\n    {}\n"
UNIT = 'such as "1 mm"'
MOULD_KEYS = "radius, face, show_side, angle, bend, flat, closed, second_radius"
FINE_PLY = "{material: oak, thickness: 1 mm, grain: 0}"

#: text, line, message, expected
ONE_FAULT: list[tuple[str, int | None, str, str | None]] = [
    # a ply's own
    (PLY.format("grain: 0", "thickness: 1"), 4, 'thickness: "1" has no unit', UNIT),
    (PLY.format("grain: 0", "thickness: 0.6"), 4, 'thickness: "0.6" has no unit', 'such as "0.6 mm"'),
    (PLY.format("grain: 0", "thickness: '1'"), 4, 'thickness: "1" has no unit', "a unit such as 1 mm"),
    (PLY.format("grain: 0", "thickness: 0.09 mm"), 4, 'thickness: "0.09 mm" is outside', "0.1 to 50 mm"),
    (PLY.format("grain: 0", "thickness: 50.1 mm"), 4, 'thickness: "50.1 mm" is outside', "0.1 to 50 mm"),
    (PLY.format("grain: 0", "thickness: 2 in"), 4, 'thickness: "2 in" is outside', "0.1 to 50 mm"),
    (PLY.format("grain: 0", "thickness: -1 mm"), 4, 'thickness: "-1 mm" is outside', "0.1 to 50 mm"),
    (
        PLY.format("grain: 0", "thickness: 1 kg"),
        4,
        "thickness: 1 kg cannot be given in mm: one is mass, the other length",
        "a unit of length: mm, cm, m, in, 1/42 in, ft",
    ),
    (
        PLY.format("grain: 0", "thickness: thin"),
        4,
        'thickness: "thin" does not begin with a number',
        "a quantity such as 12 mm",
    ),
    (
        PLY.format("grain: 0", "thickness: true"),
        4,
        'thickness: "True" is not a quantity',
        "such as 0.1 mm",
    ),
    (
        PLY.format("grain: 0", "thickness: nan mm"),
        4,
        'thickness: "nan mm" does not begin with a number',
        "a quantity such as 12 mm",
    ),
    (
        PLY.format("grain: 0", "thickness: -.inf"),
        4,
        'thickness: "-.inf" does not begin with a number',
        "a quantity such as 12 mm",
    ),
    (
        PLY.format("grain: 0", "thickness: 1e999 mm"),
        4,
        'thickness: "1e999" is no number that wood needs',
        "a number such as 0.6",
    ),
    (PLY.format("thickness: 1 mm", "grain: 90.5"), 4, 'grain: "90.5" degrees is outside', "-90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: -91"), 4, 'grain: "-91" degrees is outside', "-90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: .nan"), 4, 'grain: ".nan" is no angle', "degrees, -90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: inf"), 4, 'grain: "inf" is no angle', "degrees, -90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: true"), 4, 'grain: "True" is no angle', "degrees, -90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: 90 deg"), 4, 'grain: "90 deg" is no angle', "degrees, -90 to 90"),
    (PLY.format("thickness: 1 mm", "grain: 1e999"), 4, "1e999 is no number that wood needs", None),
    (PLY.format("thickness: 1 mm", "grain: 090"), 4,
     "090 begins with a zero: put it in quotes if it is a code, drop the zero if not", None),
    (PLY.format("grain: 0", "cut: rotary"), 2, "thickness is missing", "such as thickness: 0.6 mm"),
    (PLY.format("thickness: 1 mm", "cut: rotary"), 2, "grain is missing",
     "degrees from the length: grain: 0 or grain: 90"),
    (PLY.format("thickness: 1 mm, grain: 0", ""), 3, "not readable as YAML: mapping values are not allowed "
     "in this context", None),
    ("plies:\n  -\n    thickness: 1 mm\n    grain: 0\n", 3, "a ply names no wood",
     "material: NAME, or unidentified: WORDS"),
    ("plies:\n  -\n    material: oak\n    unidentified: pale\n    thickness: 1 mm\n    grain: 0\n", 3,
     "a ply is both named and unidentified", "material: NAME, or unidentified: WORDS"),
    ("plies:\n  -\n    thickness: 1 mm\n    material: 5\n    grain: 0\n", 4, 'material: "5" is no text',
     "words"),
    ("plies:\n  -\n    thickness: 1 mm\n    material: ' '\n    grain: 0\n", 4, 'material: "" is no text',
     "words"),
    (f"plies:\n  - {FINE_PLY}\n  - oak\n", 3, "number 2 of plies is no mapping",
     f"keys: {', '.join(PLY_KEYS)}"),
    (BARE.replace("}", ",\n     acquired: soon}"), 3, '"soon" is not a date',
     "YYYY-MM-DD, such as 2026-03-05"),
    (BARE.replace("}", ",\n     acquired: 2021-02-30}"), 3, '"2021-02-30" is not a date',
     "YYYY-MM-DD, such as 2026-03-05"),
    (BARE.replace("}", ",\n     acquired: 2019}"), 3, 'acquired: "2019" is no text', "words"),
    (BARE.replace("}", ",\n     cut: sawn}"), 3, 'cut: "sawn" is not known', " | ".join(asked.CUTS)),
    (BARE.replace("}", ",\n     rings: 91}"), 3, 'rings: "91" degrees is outside', "0 to 90"),
    (BARE.replace("}", ",\n     moisture: 61 %}"), 3, 'moisture: "61 %" is outside', "0 to 60 %"),
    (BARE.replace("}", ",\n     figured: perhaps}"), 3, 'figured: "perhaps" is not known', "yes | no"),
    # the file
    ("title: seat\n", 1, "there is no ply", "plies: and a line for each, show face first"),
    ("title: seat\nplies: []\n", 2, "there is no ply", "plies: and a line for each, show face first"),
    ("title: seat\nplies:\n", 2, "there is no ply", "plies: and a line for each, show face first"),
    ("title: seat\nplies: oak\n", 2, "plies is no list", "lines that begin with a hyphen"),
    ("title: seat\nplies: {material: oak}\n", 2, "plies is no list", "lines that begin with a hyphen"),
    ("", None, "this is no layup", f"keys: {', '.join(KEYS)}"),
    ("# nothing but this\n", None, "this is no layup", f"keys: {', '.join(KEYS)}"),
    (f"- {FINE_PLY}\n", None, "this is no layup", f"keys: {', '.join(KEYS)}"),
    (f"plies:\n  - &oak {FINE_PLY}\n  - *oak\n", 3,
     "anchors and aliases are not used here: write it out", None),
    (BARE + "title: !!str 5\n", 3, "the type tag:yaml.org,2002:str is not used here: leave it out", None),
    (BARE + "use: seat\nuse: panel\n", 4, 'the key "use" is given twice', None),
    ("plies:\n  - {material: oak,\n     grain: 0, thickness: 1 mm,\n     grain: 90}\n", 4,
     'the key "grain" is given twice', None),
    (BARE + "5: seat\n", 3, "the key 5 is not text: put it in quotes", None),
    (BARE + "title: [a\n", 4, "not readable as YAML: did not find expected ',' or ']'", None),
    # unknown keys, at each level
    (BARE + "titel: seat\n", 3, '"titel" is not known here', ", ".join(KEYS)),
    ("plies:\n  - material: oak\n    thick: 1 mm\n    thickness: 1 mm\n    grain: 0\n", 3,
     '"thick" is not known here', ", ".join(PLY_KEYS)),
    (BARE + "glue:\n  adhesive: epoxy\n  solids: 5 %\n", 5, '"solids" is not known here',
     "adhesive, spread, lines"),
    (TWO + "glue:\n  lines:\n    - adhesive: epoxy\n      tint: red\n", 7, '"tint" is not known here',
     "adhesive, spread"),
    (BARE + "press:\n  hot: 70 C\n", 4, '"hot" is not known here',
     "cold, heated, heated_from, at_set, pressure, bag, altitude"),
    (BARE + "mould:\n  flat: yes\n  radios: 1 m\n", 5, '"radios" is not known here', MOULD_KEYS),
    (BARE + "panel:\n  depth: 1 m\n", 4, '"depth" is not known here', "length, width, count, trim"),
    (BARE + "face:\n  mitre: yes\n", 4, '"mitre" is not known here',
     "match, centre, same_flitch, parts_to_match"),
    (BARE + "leaves:\n  - {ply: 1, width: 1 m, length: 1 m,\n     pile: 4}\n", 5, '"pile" is not known here',
     "ply, width, length, count"),
    (BARE + "room:\n  rh: 50 %\n", 4, '"rh" is not known here', "temperature, rh_low, rh_high"),
    (BARE + "sanding:\n  top: 1 mm\n", 4, '"top" is not known here', "face, back"),
    (BARE + "finish:\n  edge: oil\n", 4, '"edge" is not known here', "face, back"),
    (BARE + "target:\n  cost: 5\n", 4, '"cost" is not known here', "areal_mass_max, load, span, sag_max"),
    (BARE + "plate:\n  material: oak\n  thickness: 3 mm\n  grain: 0\n", 6, '"grain" is not known here',
     "material, cut, thickness"),
    (BARE + "journey:\n  from: GB\n  to: US\n  form: seat\n  via: FR\n", 7, '"via" is not known here',
     "from, to, form, state, origin"),
    (BARE + "waste:\n  plain: 20\n", 4, 'plain: "20" has no unit', 'such as "20 %"'),
    (BARE + "waste:\n  plain: -1 %\n", 4, 'plain: "-1 %" is outside', "0 to 1000 %"),
    (BARE + "waste:\n  figured: 20 %\n", 4, '"figured" is not known here', "plain, matched, burr"),
    (BARE + "limits:\n  around: 20\n", 4, '"around" is not known here', "along, across"),
    # sections that are no mapping
    *[(f"{BARE}{key}: 5\n", 3, f"{key} is no mapping", f"keys: {keys}") for key, keys in (
        ("glue", "adhesive, spread, lines"), ("mould", MOULD_KEYS), ("panel", "length, width, count, trim"),
        ("plate", "material, cut, thickness"), ("journey", "from, to, form, state, origin"))],
    (BARE + "leaves: {ply: 1}\n", 3, "leaves is no list", "lines that begin with a hyphen"),
    (BARE + "leaves:\n  - 1\n", 4, "number 1 of leaves is no mapping", "keys: ply, width, length, count"),
    # glue
    (TWO + "glue:\n  adhesive: epoxy\n  lines: [{spread: 90 g/m2}, {spread: 90 g/m2}]\n", 6,
     "2 glue lines for 2 plies", "1 lines"),
    (BARE + "glue:\n  adhesive: epoxy\n  lines: [{spread: 90 g/m2}]\n", 5, "1 glue lines for 1 plies",
     "0 lines"),
    (TWO + "glue:\n  lines:\n    - {spread: 90 g/m2}\n", 6, "line 1 names no adhesive", "adhesive: NAME"),
    (TWO + "glue:\n  adhesive: epoxy\n  lines:\n    - epoxy\n", 7, "number 1 of lines is no mapping",
     "keys: adhesive, spread"),
    (TWO + "glue: {spread: 90 g/m2}\n", 4, "glue names no adhesive",
     "adhesive: NAME, such as urea-formaldehyde"),
    (TWO + "glue: {adhesive: epoxy, spread: 19 g/m2}\n", 4, 'spread: "19 g/m2" is outside', "20 to 800 g/m2"),
    (TWO + "glue: {adhesive: epoxy, spread: 90 mm}\n", 4,
     "spread: 90 mm cannot be given in g/m2: one is length, the other areal", "a unit of areal: g/m2, kg/m2"),
    # press
    (BARE + "press:\n  cold: 20 C\n  heated: 70 C\n", 5, "the press is both cold and heated",
     "one of the two"),
    (BARE + "press:\n  at_set: 7 %\n", 4, "this is for a heated mould alone",
     "heated: 70 C beside it, or leave it out"),
    (BARE + "press:\n  cold: 20 C\n  heated_from: one\n", 5, "this is for a heated mould alone",
     "heated: 70 C beside it, or leave it out"),
    (BARE + "press:\n  at_set: 7 %\n  heated: 70\n", 5, 'heated: "70" has no unit', 'such as "70 C"'),
    (BARE + "press:\n  heated: 29 C\n", 4, 'heated: "29 C" is outside', "30 to 200 C"),
    (BARE + "press:\n  cold: nan C\n", 4, 'cold: "nan" is no number that wood needs', "a number such as 0.6"),
    (BARE + "press:\n  bag: yes\n  pressure: 0.5 MPa\n", 5, "a bag presses as the air does",
     "bag: yes, or a pressure"),
    # mould and panel
    (BARE + "mould:\n  radius: 300 mm\n  flat: true\n", 5, "the mould is both flat and round",
     "a radius, or flat: true"),
    (BARE + "mould:\n  closed: yes\n  flat: true\n", 4, "the mould is both flat and closed",
     "a radius for a ring"),
    (BARE + "mould:\n  angle: 60\n", 3, "the mould has no radius", "radius: 300 mm, or flat: true"),
    (BARE + "mould:\n  radius: 4.9 mm\n", 4, 'radius: "4.9 mm" is outside', "5 to 100000 mm"),
    (BARE + "mould:\n  radius: 1 m\n  angle: 0\n", 5, 'angle: "0" degrees is outside', "1 to 350"),
    (BARE + "mould:\n  radius: 1 m\n  angle: 351\n", 5, 'angle: "351" degrees is outside', "1 to 350"),
    (BARE + "mould:\n  radius: 1 m\n  bend: 91\n", 5, 'bend: "91" degrees is outside', "-90 to 90"),
    (BARE + "mould:\n  radius: 1 m\n  closed: yes\n  angle: 60\n", 5,
     "a closed ring has no angle and no second radius", "one of them"),
    (BARE + "mould:\n  radius: 1 m\n  second_radius: 1 m\n  closed: yes\n", 6,
     "a closed ring has no angle and no second radius", "one of them"),
    (BARE + "mould: {radius: 1 m, closed: yes}\npanel:\n  length: 1 m\n", 5,
     "the length of a ring follows from its radius", "width alone"),
    (f"plies:\n  - {FINE_PLY.replace('1 mm', '6 mm')}\nmould:\n  face: convex\n  radius: 6 mm\n", 5,
     "a radius of 6 mm is not larger than the pack of 6 mm",
     "a mould whose radius is larger than the pack is thick"),
    # a show face at 101 mm over a convex mould of 100 mm and a sheet of 1 mm: 101 pi/2 = 158.65 mm
    (BARE + "mould:\n  radius: 100 mm\n  angle: 90\npanel: {length: 158 mm}\n", 5,
     "90 degrees take 159 mm of show face, and the panel has 158 mm",
     "a longer panel, a smaller radius or a smaller angle"),
    (BARE + "mould:\n  radius: 100 mm\n  bend: 90\n  angle: 90\npanel: {width: 158 mm}\n", 6,
     "90 degrees take 159 mm of show face, and the panel has 158 mm",
     "a longer panel, a smaller radius or a smaller angle"),
    (BARE + "panel:\n  count: 0\n", 4, 'count: "0" does not count', "a whole number, 1 to 100000"),
    (BARE + "panel:\n  count: 2.5\n", 4, 'count: "2.5" does not count', "a whole number, 1 to 100000"),
    # the rest
    (BARE + "face:\n  match: mitre\n", 4, 'match: "mitre" is not known',
     "book | slip | end | four-way | random"),
    (BARE + "leaves:\n  - {ply: 2, width: 1 m, length: 1 m}\n", 4, 'ply: "2" does not count',
     "a whole number, 1 to 1"),
    (BARE + "leaves:\n  - {ply: 1, width: 1 m}\n", 4, "length of the leaves is missing",
     "ply, width and length"),
    (BARE + "room:\n  rh_low: -1 %\n", 4, 'rh_low: "-1 %" is outside', "0 to 95 %"),
    (BARE + "room:\n  rh_high: 95.5 %\n", 4, 'rh_high: "95.5 %" is outside', "0 to 95 %"),
    (BARE + "room:\n  rh_low: 30\n", 4, 'rh_low: "30" has no unit', 'such as "30 %"'),
    (BARE + "room:\n  rh_high: 50 %\n  rh_low: 51 %\n", 5, "rh_low 51 % is above rh_high 50 %",
     "dry air first"),
    # the other end is the default, 30 and 65 %
    (BARE + "room:\n  rh_low: 66 %\n", 4, "rh_low 66 % is above rh_high 65 %", "dry air first"),
    (BARE + "room:\n  rh_high: 29 %\n", 3, "rh_low 30 % is above rh_high 29 %", "dry air first"),
    # an end that cannot be read is not held against the default of the other
    (BARE + "room: {rh_low: 70 %,\n  rh_high: 120 %}\n", 4, 'rh_high: "120 %" is outside', "0 to 95 %"),
    (BARE + "room:\n  temperature: 20\n", 4, 'temperature: "20" has no unit', 'such as "20 C"'),
    (TWO + "sanding:\n  face: 1 mm\n", 5, "1 mm of sanding goes through a face of 1 mm",
     "less than the ply is thick"),
    (TWO + "sanding:\n  face: 0.9 mm\n  back: 2.5 mm\n", 6, "2.5 mm of sanding goes through a back of 2 mm",
     "less than the ply is thick"),
    (BARE + "use: boat\n", 3, 'use: "boat" is not known',
     "seat | panel | sounding-plate | shell | drum-shell"),
    (BARE + "target:\n  load: 1300\n", 4, 'load: "1300" has no unit', 'such as "1300 N"'),
    (BARE + "plate:\n  material: oak\n", 3, "thickness of the solid plate is missing",
     "material and thickness"),
    (BARE + "plate:\n  thickness: 3 mm\n", 3, "material of the solid plate is missing",
     "material and thickness"),
    (BARE + "journey:\n  to: US\n  form: seat\n", 3, "from of the journey is missing", "from, to and form"),
    (BARE + "journey:\n  from: GB\n  form: seat\n", 3, "to of the journey is missing", "from, to and form"),
    (BARE + "journey:\n  from: GB\n  to: US\n", 3, "form of the journey is missing", "from, to and form"),
    (BARE + "journey: {from: GB, to: US, form: seat,\n  state: raw}\n", 4, 'state: "raw" is not known',
     "blank | trimmed | finished"),
    (BARE + "limits:\n  across: 0.5\n", 4, 'across: "0.5" thicknesses is outside', "1 to 1000"),
    (BARE + "limits:\n  along: fifty\n", 4, 'along: "fifty" is no limit', "thicknesses, 1 to 1000"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "line", "says", "expected"), ONE_FAULT, ids=[f"{n}-{f[2][:40]}" for n, f in enumerate(ONE_FAULT)]
)
def test_one_fault_with_its_line(text: str, line: int | None, says: str, expected: str | None) -> None:
    fault = fault_of(text)
    assert (fault.message, fault.expected) == (says, expected)
    assert fault.where == ("seat.yaml" if line is None else f"seat.yaml:{line}")
    assert fault.candidates == []
    assert fault.exit_code == 1


#: section, key, unit, least, most: what a quantity may be, ends included
ENDS = [
    ("glue", "spread", "g/m2", "20", "800"),
    ("press", "cold", "C", "-20", "60"),
    ("press", "heated", "C", "30", "200"),
    ("press", "at_set", "%", "0", "30"),
    ("press", "pressure", "MPa", "0.001", "5"),
    ("press", "altitude", "m", "-400", "6000"),
    ("mould", "radius", "mm", "5", "100000"),
    ("mould", "second_radius", "mm", "5", "100000"),
    ("panel", "length", "mm", "10", "20000"),
    ("panel", "width", "mm", "10", "20000"),
    ("panel", "trim", "mm", "0", "200"),
    ("room", "temperature", "C", "-5", "50"),
    ("room", "rh_low", "%", "0", "95"),
    ("room", "rh_high", "%", "0", "95"),
    ("sanding", "face", "mm", "0", "50"),
    ("sanding", "back", "mm", "0", "50"),
    ("target", "areal_mass_max", "kg/m2", "0.01", "500"),
    ("target", "load", "N", "0.1", "1000000"),
    ("target", "span", "mm", "10", "20000"),
    ("target", "sag_max", "mm", "0.01", "1000"),
    ("plate", "thickness", "mm", "0.1", "50"),
    ("line", "spread", "g/m2", "20", "800"),
    ("leaf", "width", "mm", "10", "5000"),
    ("leaf", "length", "mm", "10", "20000"),
]
#: what has to stand beside a key, or stand otherwise, for the key to be right at its ends
BESIDE = {
    "glue": {"adhesive": "epoxy"},
    "press": {"heated": "70 C"},
    "mould": {"radius": "300 mm"},
    "room": {"rh_low": "0 %", "rh_high": "95 %"},
    "plate": {"material": "oak"},
    "leaf": {"ply": "1", "width": "1 m", "length": "1 m"},
}


def with_value(part: str, key: str, value: str) -> str:
    """A layup whose section holds the value; plies thick enough to sand, or thin for a small radius."""
    held = {**BESIDE.get(part, {}), key: value}
    if key == "cold":
        del held["heated"]
    said = "{" + ", ".join(f"{k}: {v}" for k, v in held.items()) + "}"
    thick = "50 mm" if part == "sanding" else "1 mm"
    text = "plies:\n" + f"  - {{material: oak, thickness: {thick}, grain: 0}}\n" * 2
    if part == "line":
        return f"{text}glue:\n  adhesive: epoxy\n  lines:\n    - {said}\n"
    return f"{text}leaves:\n  - {said}\n" if part == "leaf" else f"{text}{part}: {said}\n"


def of_file(layup: Layup, part: str, key: str) -> float:
    if part == "sanding":
        return layup.sanding[("face", "back").index(key)]
    held: Any = {"line": layup.lines, "leaf": layup.leaves}.get(part) or getattr(layup, part, None)
    return getattr(held[0] if isinstance(held, tuple) else held, key)


@pytest.mark.parametrize(("part", "key", "unit", "least", "most"), ENDS)
def test_the_ends_of_a_quantity(part: str, key: str, unit: str, least: str, most: str) -> None:
    for end in (least, most):
        text = with_value(part, key, f"{end} {unit}")
        if (part, end) == ("sanding", "50"):
            # a sheet of 50 mm is the thickest, so what is read here can only be told as going through it
            assert fault_of(text).message == f"50 mm of sanding goes through a {key} of 50 mm"
        else:
            assert of_file(read(text), part, key) == pytest.approx(float(end))
    line = 4 if part not in ("line", "leaf") else 5 if part == "leaf" else 7
    step = 0.0001 if "." in least else 0.5
    for beyond in (f"{float(least) - step:.4f} {unit}", f"{float(most) + 0.5} {unit}"):
        fault = fault_of(with_value(part, key, beyond))
        assert (fault.message, fault.where) == (f'{key}: "{beyond}" is outside', f"seat.yaml:{line}")
        assert fault.expected == f"{float(least):g} to {float(most):g} {unit}"


@pytest.mark.parametrize(
    ("part", "key", "most"),
    [("panel", "count", 100_000), ("face", "parts_to_match", 1000), ("leaf", "count", 100_000)],
)
def test_the_ends_of_a_count(part: str, key: str, most: int) -> None:
    for end in (1, most):
        assert of_file(read(with_value(part, key, str(end))), part, key) == end
    for beyond in (0, most + 1, -1):
        fault = fault_of(with_value(part, key, str(beyond)))
        assert (fault.message, fault.expected) == (
            f'{key}: "{beyond}" does not count',
            f"a whole number, 1 to {most}",
        )


def test_several_faults_are_all_told_each_with_its_line() -> None:
    text = (
        "titel: seat\n"
        "plies:\n"
        "  - {material: oak, thickness: 1, grain: 100}\n"
        "  - {thickness: 1 mm, grain: 0}\n"
        "  - {material: oak, grain: 0}\n"
        "press: {cold: 20 C, heated: 70 C,\n"
        "  bag: yes, pressure: 0.5 MPa}\n"
        "room:\n"
        "  rh_low: 70 %\n"
        "journey: {from: GB}\n"
    )
    assert sorted(told(text), key=lambda f: int(f[0])) == [
        ("1", f'"titel" is not known here; expected: {", ".join(KEYS)}'),
        ("3", f'thickness: "1" has no unit; expected: {UNIT}'),
        ("3", 'grain: "100" degrees is outside; expected: -90 to 90'),
        ("4", "a ply names no wood; expected: material: NAME, or unidentified: WORDS"),
        ("5", "thickness is missing; expected: such as thickness: 0.6 mm"),
        ("6", "the press is both cold and heated; expected: one of the two"),
        ("7", "a bag presses as the air does; expected: bag: yes, or a pressure"),
        ("9", "rh_low 70 % is above rh_high 65 %; expected: dry air first"),
        ("10", "to of the journey is missing; expected: from, to and form"),
        ("10", "form of the journey is missing; expected: from, to and form"),
    ]


@pytest.mark.parametrize("value", [{}, {"plies": None}, {"plies": []}])
def test_no_plies_at_all(value: dict[str, Any]) -> None:
    with pytest.raises(BadLayup, match=r"^seat\.yaml:1: there is no ply\."):
        layup_of(value, Faults("seat.yaml", b"title: seat\n"))


def test_a_misspelt_key_does_not_hide_that_there_is_no_ply() -> None:
    assert told("title: seat\nplys: []\n") == [
        ("2", f'"plys" is not known here; expected: {", ".join(KEYS)}'),
        ("1", "there is no ply; expected: plies: and a line for each, show face first"),
    ]


def test_a_line_of_nothing_but_its_hyphen_is_told() -> None:
    assert [says.partition(";")[0] for _, says in told(BARE + "  -\n")] == [
        "a ply names no wood",
        "thickness is missing",
        "grain is missing",
    ]
    assert {line for line, _ in told(BARE + "leaves:\n  - {ply: 1, width: 1 m, length: 1 m}\n  -\n")} == {"5"}
    assert fault_of(TWO + "glue:\n  lines:\n    -\n").message == "line 1 names no adhesive"


def test_a_tight_radius_does_not_hide_sanding_through_and_a_ring_of_a_length() -> None:
    text = (
        "plies:\n  - {material: oak, thickness: 6 mm, grain: 0}\nmould: {radius: 5 mm, closed: yes}\n"
        "sanding: {face: 6 mm}\npanel: {length: 1 m}\n"
    )
    assert [line for line, _ in told(text)] == ["3", "4", "5"]


def test_an_arc_as_long_as_the_panel_fits() -> None:
    # 101 pi/2 = 158.650 mm; in a hollow mould 99 pi/2 = 155.509 mm
    mould = "mould: {radius: 100 mm, angle: 90}\n"
    assert read(f"{BARE}{mould}panel: {{length: 158.651 mm}}\n").mould.angle == 90
    hollow = mould.replace("90}", "90, face: concave}")
    assert read(f"{BARE}{hollow}panel: {{length: 155.51 mm}}\n").mould.angle == 90
    assert "take 156 mm" in fault_of(f"{BARE}{hollow}panel: {{length: 155 mm}}\n").message


def test_the_sentence_of_one_fault_and_of_several() -> None:
    assert str(fault_of(BARE.replace("1 mm", "1"))) == (
        'seat.yaml:2: thickness: "1" has no unit. Expected: such as "1 mm".'
    )
    several = fault_of(BARE.replace("1 mm", "1").replace("grain: 0", "grain: x"))
    assert str(several) == "2 things in seat.yaml cannot be read. Mend them:"
    assert several.as_dict()["candidates"] == [
        {
            "id": None,
            "name": "seat.yaml:2",
            "says": 'thickness: "1" has no unit; expected: such as "1 mm"',
        },
        {"id": None, "name": "seat.yaml:2", "says": 'grain: "x" is no angle; expected: degrees, -90 to 90'},
    ]


# --- bytes -----------------------------------------------------------------------------------------------


def test_a_file_of_four_megabytes_is_read_and_a_longer_one_refused() -> None:
    padding = b"#" * (yamlload.MAX_BYTES - len(BARE))
    assert yamlload.MAX_BYTES == 4_000_000
    assert len(read(BARE.encode() + padding).plies) == 1
    fault = fault_of(BARE.encode() + padding + b"#")
    assert (fault.where, fault.message) == ("seat.yaml:1", "the file is larger than 4,000,000 bytes")


def test_a_longer_file_is_not_even_taken_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "seat.yaml"
    path.write_text(BARE)
    assert read_body(path) == BARE.encode()
    monkeypatch.setattr(layupfile, "MAX_BYTES", len(BARE))
    assert read_body(path) == BARE.encode()
    monkeypatch.setattr(layupfile, "MAX_BYTES", len(BARE) - 1)
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("it was read"))
    with pytest.raises(BadLayup, match=rf"seat\.yaml is larger than {len(BARE) - 1} bytes"):
        read_body(path)


def test_standard_input_is_read_no_further_than_one_byte_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layupfile, "MAX_BYTES", 100)
    monkeypatch.setattr(yamlload, "MAX_BYTES", 100)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(BARE.encode())))
    assert read_body(Path("-")) == BARE.encode()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(BARE.encode() + b"#" * 500)))
    body = read_body(Path("-"))
    assert len(body) == 101
    with pytest.raises(BadLayup, match="larger than 100 bytes"):
        parse(body, "standard input")


@pytest.mark.parametrize(("name", "why"), [("none.yaml", "No such file"), (".", "Is a directory")])
def test_a_file_that_cannot_be_read(tmp_path: Path, name: str, why: str) -> None:
    with pytest.raises(BadLayup, match=rf"cannot be read \({why}"):
        read_body(tmp_path / name)


@pytest.mark.parametrize("wrong", [b"\xff", b"\xe9t\xe9", b"\xed\xa0\x80"])
def test_a_file_that_is_not_utf_8(wrong: bytes) -> None:
    fault = fault_of(BARE.encode() + b"title: " + wrong + b"\n")
    assert (fault.where, fault.message) == ("seat.yaml:3", "the file is not UTF-8 text")
    assert read(BARE + "title: été\n").title == "été"


def test_a_file_of_nothing_but_faults_is_answered_soon() -> None:
    # looked up one by one, each key behind the ones before it, these would take minutes
    text = BARE + "".join(f"k{n}: 1\n" for n in range(18_000))
    begun = time.perf_counter()
    fault = fault_of(text)
    assert time.perf_counter() - begun < 20
    assert fault.message == f"more than {MOST_FAULTS} things in seat.yaml cannot be read"
    assert fault.candidates[-1].name == f"seat.yaml:{MOST_FAULTS + 2}"


# --- what-ifs --------------------------------------------------------------------------------------------


def test_a_what_if_tells_its_option_in_place_of_a_line() -> None:
    body = (BARE + "  - {repeat: 2, material: ash, thickness: 2 mm, grain: 91}\n").encode()
    value = parse(body, "seat.yaml")
    edits: dict[tuple[str | int, ...], str] = {
        ("plies", 0, "thickness"): "--set plies.1.thickness=900 mm",
        ("plies", 2, "grain"): "--set plies.3.grain=95",
        ("room",): "--set room=dry",
    }
    faults = Faults("seat.yaml", body, edits=edits)
    value["plies"] = written_out(value, faults)
    value["plies"][0]["thickness"] = "900 mm"
    value["plies"][2]["grain"] = 95
    value["room"] = {"rh_low": "99 %"}
    with pytest.raises(BadLayup) as caught:
        layup_of(value, faults)
    assert [(c.name, c.says.partition(";")[0]) for c in caught.value.candidates] == [
        ("--set plies.1.thickness=900 mm", 'thickness: "900 mm" is outside'),
        ("seat.yaml:3", 'grain: "91" degrees is outside'),
        ("--set plies.3.grain=95", 'grain: "95" degrees is outside'),
        ("--set room=dry", 'rh_low: "99 %" is outside'),
    ]


def test_one_fault_of_a_what_if() -> None:
    body = BARE.encode()
    value = parse(body, "seat.yaml")
    option = "--set plies.1.thickness=900 mm"
    faults = Faults("seat.yaml", body, edits={("plies", 0, "thickness"): option})
    value["plies"] = written_out(value, faults)
    value["plies"][0]["thickness"] = "900 mm"
    with pytest.raises(
        BadLayup, match=r'^--set plies\.1\.thickness=900 mm: thickness: "900 mm" is outside'
    ) as caught:
        layup_of(value, faults)
    assert caught.value.where == option


def test_a_what_if_that_holds_is_told_nowhere() -> None:
    body = BARE.encode()
    value = parse(body, "seat.yaml")
    faults = Faults("seat.yaml", body, edits={("plies", 0, "thickness"): "--have 1=0.5mm"})
    value["plies"] = written_out(value, faults)
    value["plies"][0]["thickness"] = "0.5 mm"
    (ply,) = layup_of(value, faults).plies
    assert (ply.thickness, ply.where) == (0.5, "seat.yaml:2")


# --- anything at all -------------------------------------------------------------------------------------

SECTIONS = {
    "glue": ("adhesive", "spread", "lines"),
    "press": ("cold", "heated", "heated_from", "at_set", "pressure", "bag", "altitude"),
    "mould": tuple(MOULD_KEYS.split(", ")),
    "panel": ("length", "width", "count", "trim"),
    "face": ("match", "centre", "same_flitch", "parts_to_match"),
    "room": ("temperature", "rh_low", "rh_high"),
    "sanding": ("face", "back"),
    "finish": ("face", "back"),
    "target": ("areal_mass_max", "load", "span", "sag_max"),
    "plate": ("material", "cut", "thickness"),
    "journey": ("from", "to", "form", "state", "origin"),
    "limits": ("along", "across"),
    "waste": ("plain", "matched", "burr"),
}
WORDS = (
    "1 mm", "300 mm", "nan mm", "inf mm", "1e999 mm", "-5 %", "40 %", "1,5 mm", "1,500 mm", "012 mm",
    "1 2 mm",
    "\N{ARABIC-INDIC DIGIT ONE} mm", "\N{SUPERSCRIPT TWO}", "20 C", "68 F", "C", "F", "\N{DEGREE SIGN}C",
    "nan C",
    "1e999 C", "yes", "no", "one", "convex", "concave", "against-mould", "book", "oak", "rift", "2020-02-31",
    "0000", "110 g/m2", "0.5 MPa", "seat", "none", "mm", "%", "-", "..", "\N{MINUS SIGN}1 mm", "1 mm\n",
)  # fmt: skip
NAMES = sorted({*KEYS, *PLY_KEYS, "repeat", *(key for keys in SECTIONS.values() for key in keys)})
plain = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 400),
    st.integers(-(10**42), 10**42),
    st.floats(),
    st.text(max_size=6),
    st.sampled_from(WORDS),
)
junk = st.recursive(
    plain,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(NAMES) | st.text(max_size=3), inner, max_size=5)
    ),
    max_leaves=15,
)
good_ply = {"material": "oak", "thickness": "1 mm", "grain": 0}
some_ply = st.dictionaries(st.sampled_from([*PLY_KEYS, "repeat", "plies"]), junk, max_size=3).map(
    lambda odd: {**good_ply, **odd}
)
section = st.sampled_from(sorted(SECTIONS)).flatmap(
    lambda name: st.tuples(
        st.just(name), st.dictionaries(st.sampled_from(SECTIONS[name]), plain | junk, max_size=4)
    )
)
files = st.one_of(
    # one key, anything in it
    st.tuples(st.sampled_from(KEYS), junk).map(lambda kv: {"plies": [good_ply], kv[0]: kv[1]}),
    # plies with anything in any of their keys
    st.lists(st.one_of(st.just(good_ply), some_ply, junk), max_size=4).map(lambda plies: {"plies": plies}),
    # sections whose keys are right and whose values are not
    st.lists(section, max_size=4).map(lambda parts: {"plies": [good_ply, good_ply], **dict(parts)}),
)


def finite(value: Any) -> bool:
    if isinstance(value, dict):
        return all(finite(sub) for sub in value.values())
    if isinstance(value, list | tuple):
        return all(finite(sub) for sub in value)
    return not isinstance(value, float) or math.isfinite(value)


@settings(deadline=2000, max_examples=500, suppress_health_check=[HealthCheck.too_slow])
@given(files, st.booleans())
def test_no_value_of_any_key_makes_it_fall_over(value: dict[str, Any], ascii_only: bool) -> None:
    # a JSON text is a YAML text; one value a line, so that lines can be checked
    body = json.dumps(value, indent=1, ensure_ascii=ascii_only).encode("utf-8")
    try:
        layup = read(body)
    except WoodrefError as fault:
        assert isinstance(fault, BadLayup)
        told_at = [c.name for c in fault.candidates] or [str(fault.where)]
        for place in told_at:
            line = re.fullmatch(r"seat\.yaml:(\d+)", place)
            assert line and 1 <= int(line[1]) <= body.count(b"\n") + 1
        assert len(str(fault)) < 2000
    else:
        assert 1 <= len(layup.plies) <= 60
        assert all(0.1 <= p.thickness <= 50 and -90 <= p.grain <= 90 for p in layup.plies)
        assert all((p.material is None) != (p.unidentified is None) for p in layup.plies)
        assert layup.mould.radius is None or layup.mould.radius > layup.thickness
        assert layup.press.cold is None or layup.press.heated is None
        assert 0 <= layup.room.rh_low <= layup.room.rh_high <= 95
        assert finite(dataclasses.asdict(layup))


@pytest.mark.parametrize(
    "number", [math.nan, math.inf, -math.inf, 10**400, -(10**400), 1e308, 10**25], ids=lambda n: str(n)[:6]
)
@pytest.mark.parametrize(
    ("part", "key"),
    [
        ("plies", "grain"), ("plies", "rings"), ("plies", "thickness"), ("plies", "moisture"), ("mould",
         "angle"),
        ("mould", "bend"), ("mould", "radius"), ("panel", "count"), ("face", "parts_to_match"),
        ("limits", "along"), ("press", "cold"), ("room", "rh_low"), ("target", "load"),
    ],
)  # fmt: skip
def test_a_number_that_an_option_sets_is_refused_in_words(part: str, key: str, number: float) -> None:
    body = (BARE + "mould: {radius: 300 mm}\n").encode()
    value = parse(body, "seat.yaml")
    option = f"--set {part}.{key}=N"
    path: tuple[str | int, ...] = ("plies", 0, key) if part == "plies" else (part, key)
    faults = Faults("seat.yaml", body, edits={path: option})
    value["plies"] = written_out(value, faults)
    holder = value["plies"][0] if part == "plies" else value.setdefault(part, {})
    holder[key] = number
    with pytest.raises(BadLayup) as caught:
        layup_of(value, faults)
    assert caught.value.where == option
    assert caught.value.message.startswith(f"{key}: ")
    assert len(str(caught.value)) < 300
