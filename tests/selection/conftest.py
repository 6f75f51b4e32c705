"""Hand-made woods for the selection tests: every number in a test can be checked with a pencil."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, ColourClass

#: name, then numbers by property (moe=10.0), words of the look (pores="ring") and whole blocks
#: (veneer={...}); a tuple is (number, evidence)
MakeWood = Callable[..., Material]

_LOOK: dict[str, Any] = {
    "words": "brown", "oiled": None, "class": "mid-brown", "also": [], "swatches": [],
    "light": {"change": "darkens", "words": None}, "pores": "unknown", "texture": "unknown",
    "grain": "unknown", "figures": [], "sapwood": None, "evidence": "common-practice",
}  # fmt: skip
_VENEER: dict[str, Any] = {
    "sold": "common", "cuts": ["crown"], "thickness_mm": [0.6], "leaf_width_mm": {}, "treatments": [],
}  # fmt: skip
_WORKING: dict[str, Any] = {
    "bending": {"class": "good"}, "gluing": {"class": "easy"}, "bleed_through": {"risk": "low"},
    "dust": {"risk": "none-reported", "evidence": None}, "tannin": "low", "oily": "no", "splinters": "no",
}  # fmt: skip


def _figure(name: str, given: float | tuple[float, str]) -> Figures:
    value, evidence = given if isinstance(given, tuple) else (given, "quoted")
    reference = dict(PROPERTIES[name].reference)
    figure = Figure(name, value, None, None, PROPERTIES[name].unit, reference, "a-table", "row 1", evidence)
    return Figures(figure)


@pytest.fixture
def wood() -> MakeWood:
    """Make a wood of our own."""

    def make(name: str, **given: Any) -> Material:
        figures = {key: _figure(key, given.pop(key)) for key in list(given) if key in PROPERTIES}
        blocks = {key: given.pop(key) for key in ("veneer", "working", "grows", "made_from") if key in given}
        plantation = {"grown": "no", "countries": [], "sold_as_veneer": "not-known"}
        colour = given.pop("colour_class", "mid-brown")
        return Material(
            id=name.lower().replace(" ", "-"),
            kind=given.pop("kind", "species"),
            hardness_group="hardwood",
            name=name,
            botanical_name=given.pop("botanical_name", f"Lignum {name.lower()}"),
            family="Lignaceae",
            synonyms=(),
            names=(),
            woods=(f"Lignum {name.lower()}",),
            grows={"countries": ["FR"], "plantation": plantation} | blocks.get("grows", {}),
            look=_LOOK | {"class": colour} | given,
            veneer=_VENEER | blocks.get("veneer", {}),
            working=_WORKING | blocks.get("working", {}),
            red_list={"category": "unknown"},
            made_from=blocks.get("made_from"),
            cautions=(),
            figures=figures,
        )

    return make


@pytest.fixture
def hold(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> Callable[[Sequence[Material]], None]:
    """Lets the catalogue hold some woods alone, and nothing that it remembers of others."""

    def put(woods: Sequence[Material]) -> None:
        monkeypatch.setattr(catalogue, "materials", lambda: list(woods))
        for kept in ("_worked_out", "_large"):
            monkeypatch.setattr(catalogue, kept, {})

    return put


@pytest.fixture
def bench() -> Iterator[Catalogue]:
    """A catalogue of four colour classes in a row, each near the next, and no wood."""
    chain = ["cream", "mid-brown", "dark-brown", "black"]
    connection = sqlite3.connect(":memory:")
    made = Catalogue(Path("nowhere"), connection)
    made.__dict__["colour_classes"] = {
        name: ColourClass(
            name,
            name.replace("-", " "),
            (80.0 - 20 * i, 5.0, 15.0),
            7.0,
            frozenset(other for k, other in enumerate(chain) if abs(k - i) == 1),
        )
        for i, name in enumerate(chain)
    }
    made.__dict__["figure_words"] = ["plain", "stripe", "mottle", "ribbon", "fiddleback"]
    made.__dict__["near_figures"] = [("plain", "stripe"), ("stripe", "ribbon")]
    made.__dict__["orders"] = {
        "pores": ["none", "diffuse", "semi-ring", "ring"],
        "texture": ["fine", "medium", "coarse"],
        "grain": ["straight", "wavy", "interlocked", "irregular"],
    }
    yield made
    connection.close()
