"""Whatever a file holds, the report comes: strict JSON, whole sentences, a drawing and a card."""

from __future__ import annotations

import datetime as dt
import json
import re
from typing import Any

import numpy as np
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup
from woodref.layup.benchcard import bench_card
from woodref.layup.drawing import draw
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
WOODS = (
    "Juglans regia", "Betula pendula", "black walnut", "birch plywood", "medium-density-fibreboard",
    "reconstituted-rosewood-figure", "Dalbergia latifolia", "Fagus sylvatica", "balsa-end-grain",
    "thermally-treated-ash", "dyed-black-hornbeam", "Ochroma pyramidale", "Picea abies", None,
)  # fmt: skip
KEYS = {
    "thickness_mm", "areal_mass_g_m2", "A", "B", "D", "moduli", "balanced_construction",
    "angles_paired",
    "moisture_at_set_pct", "service_pct", "movement_pct", "bow_mm", "cup_mm", "twist_mm", "curvature_1_per_m",
    "bend_angle_change_deg", "springback_pct", "mould_radius_mm", "glue", "cure", "cutting", "trade",
    "findings",
}  # fmt: skip
GLUES = ("urea-formaldehyde", "epoxy", "PVA D3", "hide glue", "polyurethane-one-part", "resorcinol")


def mm(*sizes: float) -> st.SearchStrategy[str]:
    return st.sampled_from([f"{size} mm" for size in sizes])


def some(**keys: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=keys)


PLY = st.builds(
    lambda wood, rest: rest | ({"material": wood} if wood else {"unidentified": "a leaf from the attic"}),
    st.sampled_from(WOODS),
    st.fixed_dictionaries(
        {
            "thickness": mm(0.1, 0.5, 0.6, 0.9, 1.5, 2.5, 6, 50),
            "grain": st.sampled_from([0, 90, -90, 45, -30, 13.7]),
        },
        optional={
            "cut": st.sampled_from(["rotary", "crown", "quarter", "rift", "burr", "crotch", "half-round"]),
            "moisture": st.sampled_from(["0 %", "7 %", "12 %", "45 %"]),
            "figured": st.just("yes"),
            "rings": st.sampled_from([0, 30, 90]),
        },
    ),
)
FILE = st.fixed_dictionaries(
    {"plies": st.lists(PLY, min_size=1, max_size=9)},
    optional={
        "glue": st.fixed_dictionaries(
            {"adhesive": st.sampled_from(GLUES)}, optional={"spread": st.just("150 g/m2")}
        ),
        "press": st.sampled_from([
            {"cold": "20 C"}, {"cold": "5 C"}, {"heated": "70 C"}, {"heated": "120 C", "heated_from": "one"},
            {"cold": "20 C", "bag": "yes", "altitude": "1500 m"},
            {"heated": "60 C", "at_set": "6 %", "pressure": "3 MPa"},
        ]),
        "mould": st.sampled_from([
            {"flat": True}, {"radius": "500 mm"},
            {"radius": "500 mm", "angle": 20, "show_side": "against-mould"},
            {"radius": "2000 mm", "face": "concave"}, {"radius": "600 mm", "closed": True},
            {"radius": "1200 mm", "second_radius": "900 mm"}, {"radius": "800 mm", "bend": 90},
            {"radius": "800 mm", "bend": 37},
        ]),
        "panel": st.fixed_dictionaries({"width": st.just("300 mm")}, optional={
            "length": st.just("450 mm"), "count": st.just(4), "trim": mm(0, 20)}),
        "face": some(match=st.sampled_from(["book", "slip", "end", "four-way", "random"]),
                     centre=st.sampled_from(["joint", "leaf"])),
        "leaves": st.just([{"ply": 1, "width": "120 mm", "length": "2400 mm", "count": 5}]),
        "sanding": some(face=mm(0.05), back=mm(0.05)),
        "finish": some(face=st.just("oil"), back=st.sampled_from(["same", "none"])),
        "use": st.sampled_from(["seat", "panel", "sounding-plate", "shell", "drum-shell"]),
        "plate": st.just({"material": "Picea abies", "thickness": "3 mm"}),
        "target": some(load=st.just("500 N"), sag_max=mm(3), areal_mass_max=st.just("4 kg/m2")),
        "room": some(rh_low=st.sampled_from(["0 %", "30 %"]), rh_high=st.sampled_from(["65 %", "95 %"]),
                     temperature=st.sampled_from(["0 C", "35 C"])),
        "journey": st.sampled_from([{"from": "GB", "to": to, "form": form} for to, form in
                                    (("US", "seat"), ("DE", "plywood"), ("GB", "furniture"))]),
    },
)  # fmt: skip


def sentences(found: Report) -> list[str]:
    return [s for _, lines in found.page() for s in lines]


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(given=FILE, guess=st.booleans(), system=st.sampled_from(["metric", "us"]))
def test_a_report_comes_and_is_whole(
    catalogue: Catalogue, given: dict[str, Any], guess: bool, system: str
) -> None:
    plain = json.loads(json.dumps(given))  # no value stands twice, which YAML would write as an alias
    try:
        layup = load_layup(yaml.safe_dump(plain).encode(), "any.yaml")
    except BadLayup as fault:  # a ring with a length, a mould smaller than the pack
        assert "any.yaml" in str(fault)
        return
    found = report(layup, catalogue, ON, guess=guess, system=system)
    told = found.as_dict()
    assert set(told) >= KEYS
    json.dumps(told, allow_nan=False)
    if told["D"] is not None:
        assert np.linalg.eigvalsh(np.array(told["D"])).min() > 0
    for text in (*sentences(found), found.headline(), *found.engineers(), *(s for _, s in found.short())):
        assert not re.search(r"\bNone\b|\bnan\b|\binf\b|  | \.|\.\.|,\.", text), text
    for heading, lines in found.page():
        assert lines, heading
        for line in lines:
            assert line[-1] in ".?:", line
    assert draw(found).startswith("<svg")
    assert "None" not in bench_card(found)


@pytest.mark.parametrize("turn", [90, -90])
def test_turned_by_a_right_angle_length_and_width_change_places(catalogue: Catalogue, turn: int) -> None:
    def pack(by: int) -> dict[str, Any]:
        plies = [
            ("Juglans regia", "crown", 0.6, 0),
            ("Betula pendula", "rotary", 1.5, 90),
            ("Betula pendula", "rotary", 1.5, 30),
        ]
        body = {"plies": [
            {"material": wood, "cut": cut, "thickness": f"{t} mm", "grain": (g + by + 90) % 180 - 90}
            for wood, cut, t, g in plies
        ]}  # fmt: skip
        return report(load_layup(yaml.safe_dump(body).encode(), "x.yaml"), catalogue, ON).as_dict()

    one, other = pack(0), pack(turn)
    for name in "ABD":
        assert one[name][0][0] == pytest.approx(other[name][1][1], rel=1e-9)
        assert one[name][1][1] == pytest.approx(other[name][0][0], rel=1e-9)
