"""Any valid pack gives a whole report: every key, strict JSON, sentences that a person can read.

The packs are drawn so that each is valid: a pack that is refused here is a fault of the reader."""

from __future__ import annotations

import datetime as dt
import json
import re
from typing import Any

import numpy as np
import pytest
from bs4 import BeautifulSoup
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.layup.benchcard import bench_card
from woodref.layup.drawing import draw
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
KEYS = {
    "thickness_mm", "areal_mass_g_m2", "A", "B", "D", "moduli", "balanced_construction", "angles_paired",
    "moisture_at_set_pct", "service_pct", "movement_pct", "bow_mm", "cup_mm", "twist_mm", "curvature_1_per_m",
    "bend_angle_change_deg", "springback_pct", "mould_radius_mm", "glue", "cure", "cutting", "trade",
    "findings",
}  # fmt: skip
#: woods with figures of their own, and those without a direction, without figures, or without a name
KNOWN = ("Juglans regia", "Betula pendula", "black walnut", "Fagus sylvatica")
WOODS: tuple[dict[str, Any], ...] = (
    *({"material": name} for name in KNOWN),
    {"material": "birch plywood"},
    {"material": "medium density fibreboard"},
    {"material": "reconstituted-rosewood-figure"},
    {"material": "Dalbergia latifolia", "origin": "IN"},
    {"unidentified": "a leaf from the attic of Harrowmere"},
    {"material": "black walnut", "cut": "burr"},
    {"material": "balsa-end-grain"},
    {"material": "thermally-treated-ash"},
)
PLAIN_CUTS = ("rotary", "crown", "half-round", "quarter", "rift")
GLUES = (
    "urea-formaldehyde", "urea-formaldehyde-extended", "epoxy", "PVA D2", "PVA D3", "PVA D4", "hide glue",
    "polyurethane-one-part", "resorcinol", "melamine-urea-formaldehyde",
)  # fmt: skip
PRESSES: tuple[dict[str, Any], ...] = (
    {}, {"cold": "20 C"}, {"cold": "3 C", "pressure": "0.5 MPa"}, {"heated": "70 C"},
    {"heated": "110 C", "heated_from": "one", "at_set": "6 %"}, {"heated": "200 C", "pressure": "5 MPa"},
    {"cold": "35 C", "bag": True, "altitude": "3000 m"}, {"bag": True}, {"pressure": "0.02 MPa"},
)  # fmt: skip
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@st.composite
def plies(draw: st.DrawFn, woods: tuple[dict[str, Any], ...] = WOODS, most: int = 9) -> list[dict[str, Any]]:
    out = []
    for _ in range(draw(st.integers(1, most))):
        ply = {
            **draw(st.sampled_from(woods)),
            "thickness": f"{draw(st.floats(0.1, 50).map(lambda v: round(v, 3)))} mm",
            "grain": draw(st.one_of(st.sampled_from([0, 90, -90, 45]), st.integers(-90, 90))),
        }
        if "cut" not in ply and draw(st.booleans()):
            ply["cut"] = draw(st.sampled_from(PLAIN_CUTS))
        if draw(st.booleans()):
            ply["moisture"] = f"{draw(st.integers(0, 60))} %"
        out.append(ply)
    return out


@st.composite
def layups(draw: st.DrawFn) -> dict[str, Any]:
    """A valid file: moulds larger than the pack, angles within the panel, sanding that leaves a face."""
    pack = draw(plies())
    thick = sum(float(p["thickness"].split()[0]) for p in pack)
    body: dict[str, Any] = {"plies": pack}
    if draw(st.booleans()):
        body["glue"] = {"adhesive": draw(st.sampled_from(GLUES))}
        if draw(st.booleans()):
            body["glue"]["spread"] = f"{draw(st.integers(20, 800))} g/m2"
    if draw(st.booleans()):
        body["press"] = draw(st.sampled_from(PRESSES))
    shape = draw(st.sampled_from(["none", "flat", "round", "ring", "double"]))
    length = draw(st.sampled_from([None, 60, 450, 3000]))
    radius = thick + draw(st.sampled_from([1, 20, 300, 4000]))
    if shape == "flat":
        body["mould"] = {"flat": True}
    elif shape != "none":
        body["mould"] = {
            "radius": f"{max(radius, 5)} mm",
            "face": draw(st.sampled_from(["convex", "concave"])),
            "show_side": draw(st.sampled_from(["away", "against-mould"])),
        }
    if shape == "ring":
        body["mould"]["closed"], length = True, None
    elif shape == "double":
        body["mould"]["second_radius"] = "900 mm"
    elif shape == "round":
        body["mould"]["bend"] = draw(st.sampled_from([0, 90, -90, 30]))
        if length is None and draw(st.booleans()):
            body["mould"]["angle"] = draw(st.integers(1, 350))
    if draw(st.booleans()):
        panel = {"width": "300 mm", "length": length and f"{length} mm", "count": 3, "trim": "0 mm"}
        if draw(st.booleans()):
            del panel["trim"]
        if shape == "round" and "angle" in body["mould"]:
            del panel["width"]  # an angle takes up the panel's size along the bend, which may be the width
        body["panel"] = panel
        body["face"] = {"match": draw(st.sampled_from(["book", "slip", "end", "four-way", "random"]))}
    if draw(st.booleans()):
        body["sanding"] = {"face": "0.05 mm", "back": "0 mm"}
    if draw(st.booleans()):
        body["finish"] = {"face": "lacquer", "back": draw(st.sampled_from(["same", "none"]))}
    if draw(st.booleans()):
        body["use"] = draw(st.sampled_from(["seat", "panel", "sounding-plate", "shell", "drum-shell"]))
        body["plate"] = {"material": "Picea abies", "thickness": "3 mm"}
    if draw(st.booleans()):
        body["target"] = {"load": "900 N", "span": "380 mm", "sag_max": "4 mm", "areal_mass_max": "5 kg/m2"}
    if draw(st.booleans()):
        body["journey"] = {"from": "GB", "to": draw(st.sampled_from(["US", "DE"])), "form": "seat"}
    if draw(st.booleans()):
        body["room"] = {"rh_low": "0 %", "rh_high": "95 %", "temperature": "5 C"}
    return body


def of(catalogue: Catalogue, body: dict[str, Any], **more: Any) -> Report:
    # JSON is YAML, and writes nothing twice
    return report(load_layup(json.dumps(body).encode(), "any.yaml"), catalogue, ON, **more)


def everything_printed(found: Report) -> list[str]:
    """Each piece of text that a person may read, with the spaces as printed."""
    drawn = draw(found)
    soups = [BeautifulSoup(text, "html.parser") for text in (drawn, bench_card(found, drawn))]
    for soup in soups:
        for style in soup.find_all("style"):
            style.decompose()
    pieces = [str(piece) for soup in soups for piece in soup.find_all(string=True) if str(piece).strip()]
    return [
        *(s for heading, lines in found.page() for s in (heading, *lines)),
        found.headline(),
        *(s for pair in found.short() for s in pair),
        *found.engineers(),
        *pieces,
    ]


def unreadable(text: str) -> bool:
    """A value that slipped through, or two spaces inside a line (a line break of the page is none)."""
    return bool(
        re.search(r"None|\bnan\b|\binf\b(?!\.)|(?<=\S) {2,}(?=\S)|\{|\bTrue\b|\bFalse\b", text.strip())
    )


def test_what_is_called_unreadable() -> None:
    for bad in ("about None mm", "nan mm", "inf mm", "two  spaces", "{x}"):
        assert unreadable(bad), bad
    assert not unreadable("Plain words, financed by information.")


@COMMON
@given(body=layups(), guess=st.booleans(), system=st.sampled_from(["metric", "us"]))
def test_every_valid_pack_gives_a_whole_report(
    catalogue: Catalogue, body: dict[str, Any], guess: bool, system: str
) -> None:
    found = of(catalogue, body, guess=guess, system=system)
    told = found.as_dict()
    assert sorted(KEYS - set(told)) == []
    assert json.loads(json.dumps(told, allow_nan=False)).keys() == told.keys()
    if told["D"] is not None:
        d = np.array(told["D"])
        assert np.allclose(d, d.T, rtol=1e-4) and np.linalg.eigvalsh(d).min() > 0
    else:
        # only a ply whose stiffness is not known takes the matrices away
        assert any(s.leaf is None for s in found.pack.sheets)
    for text in everything_printed(found):
        assert not unreadable(text), text
    for heading, lines in found.page():
        assert heading and lines
        for line in lines:
            assert line[-1] in ".?:" and not line[0].isspace(), line


@COMMON
@given(pack=plies(tuple({"material": name} for name in KNOWN), most=6))
def test_turned_by_a_right_angle_length_and_width_change_places(
    catalogue: Catalogue, pack: list[dict[str, Any]]
) -> None:
    turned = [{**p, "grain": p["grain"] + (90 if p["grain"] <= 0 else -90)} for p in pack]
    # an unsaid cut and the room are the same for both, so nothing but the axes differs
    one, other = (of(catalogue, {"plies": p}).finished.stack for p in (pack, turned))
    assert one is not None and other is not None
    for name in "AD":
        here, there = (np.asarray(getattr(s, name)) for s in (one, other))
        assert here[0, 0] == pytest.approx(there[1, 1], rel=1e-9)
        assert here[1, 1] == pytest.approx(there[0, 0], rel=1e-9)
        assert here[2, 2] == pytest.approx(there[2, 2], rel=1e-9)


def test_the_two_directions_differ_at_all(catalogue: Catalogue) -> None:
    # guards the swap above: a report that told one stiffness for both ways would pass it
    ply = {"material": "Betula pendula", "cut": "rotary", "thickness": "1 mm", "grain": 0}
    told = of(catalogue, {"plies": [ply, ply]}).as_dict()
    assert told["A"][0][0] > 5 * told["A"][1][1] and told["D"][0][0] > 5 * told["D"][1][1]


@pytest.mark.parametrize("grain", [0, 90])
def test_how_stiff_beside_a_plate_along_and_across_its_grain(catalogue: Catalogue, grain: int) -> None:
    # the sentence speaks of the plate's grain, not of how the face happens to lie: a pack all across is as
    # stiff along its length as the plate is across its grain, a small share of what it is along it
    ply = {"material": "Betula pendula", "cut": "rotary", "thickness": "1.5 mm", "grain": grain}
    found = of(catalogue, {"plies": [ply, ply]})
    leaf = found.pack.sheets[0].leaf
    assert leaf is not None and leaf.e1 > 10 * leaf.e2
    (text,) = [s for _, lines in found.page() for s in lines if "as stiff as a solid plate" in s]
    assert "is along its grain" in text and "is across its grain" in text
    shares = re.findall(r"([\d.]+) (%|times) as stiff", text)
    told = [float(n) / (100 if unit == "%" else 1) for n, unit in shares]
    turned = leaf.e2 / leaf.e1
    assert told == pytest.approx([1, 1] if grain == 0 else [turned, 1 / turned], rel=0.1)
