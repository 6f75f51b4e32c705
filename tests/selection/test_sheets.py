"""What is done to sheets before they are sold, their sapwood and their extract."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection.sheets import extract_sentence, sapwood_sentences, treatment_sentences

MakeWood = Callable[..., Material]


@pytest.mark.parametrize(
    ("held", "said"),
    [
        (None, ["Whether it is sold steamed, fumed, bleached, dyed through or heat-treated is not known."]),
        ([], ["Sold as it grew: not steamed, fumed, bleached, dyed or heat-treated."]),
        (
            [
                {"kind": "fumed", "colour": "dark brown", "sold": "common"},
                {"kind": "bleached", "colour": None, "sold": "to-order"},
                {"kind": "thermally-treated", "colour": "mid brown", "sold": "not-known"},
            ],
            [
                "Also fumed with ammonia: dark brown (commonly sold so).",
                "Also bleached (to order).",
                "Also heat-treated: mid brown (not known whether it is sold so).",
            ],
        ),
    ],
)
def test_treatments_with_the_colour_each_gives(held: Any, said: list[str], wood: MakeWood) -> None:
    assert treatment_sentences(wood("Plain", veneer={"treatments": held})) == said


def test_nothing_is_said_of_treatments_where_no_sheet_is_sold(wood: MakeWood) -> None:
    assert treatment_sentences(wood("Plain", veneer={"treatments": None, "sold": "no"})) == []


def test_sapwood_its_colour_its_place_and_its_beetle(wood: MakeWood) -> None:
    block = {"with_heart": "no", "beetles": "powder-post", "note": "old stock above all"}
    plain = wood("Plain", veneer={"sapwood": block})
    plain.look["sapwood"] = "nearly white"
    assert sapwood_sentences(plain) == [
        "Sapwood: nearly white.",
        "Good sheets have the sapwood cut out.",
        "Powder-post beetles eat the sapwood and breed on indoors: look for small round holes and fine flour "
        "before you store it.",
        "Old stock above all.",
    ]
    plain.look["sapwood"] = "nearly white, cut out"
    assert not any("Good sheets" in said for said in sapwood_sentences(plain))  # said once is enough
    plain.look["sapwood"] = None
    open_ = wood("Open", veneer={"sapwood": {"with_heart": "unknown", "beetles": "unknown"}})
    assert sapwood_sentences(open_) == [
        "Whether sheets come with the sapwood in them is not known.",
        "Whether beetles eat the sapwood is not known.",
    ]


@pytest.mark.parametrize(
    ("block", "said"),
    [
        ({"reaction": "acid", "words": "about pH 4"},
         "Acid in water: quickens urea glue, slows phenolic glue and rusts bare steel in damp air; "
         "about pH 4."),
        ({"reaction": "alkaline", "words": None}, "Alkaline in water: slows urea glue, so try a joint."),
        ({"reaction": "unknown", "words": None}, "How acid its extract is, is not known."),
    ],
)  # fmt: skip
def test_the_extract_says_what_it_does_to_glue(block: dict[str, Any], said: str, wood: MakeWood) -> None:
    assert extract_sentence(wood("Plain", working={"extract": block})) == said


#: reaction of the extract: Corrosion of metals by wood (1979), pH classes; powder-post beetles in the wide
#: pores of starchy sapwood, treatments: common practice
@pytest.mark.parametrize(
    ("material", "block", "key", "value"),
    [
        ("quercus-robur", "extract", "reaction", "acid"),
        ("castanea-sativa", "extract", "reaction", "acid"),
        ("thuja-plicata", "extract", "reaction", "acid"),
        ("ulmus-glabra", "extract", "reaction", "neutral"),
        ("quercus-robur", "sapwood", "beetles", "powder-post"),
        ("fraxinus-excelsior", "sapwood", "beetles", "powder-post"),
        ("betula-pendula", "sapwood", "beetles", "furniture"),
        ("dalbergia-latifolia", "sapwood", "with_heart", "no"),
        ("acer-pseudoplatanus", "sapwood", "with_heart", "yes"),
    ],
)
def test_well_known_answers(material: str, block: str, key: str, value: str, catalogue: Catalogue) -> None:
    held = catalogue.material(material)
    found = (held.working if block == "extract" else held.veneer)[block]
    assert found[key] == value
    assert found["evidence"] in ("recalled", "common-practice")


@pytest.mark.parametrize(
    ("material", "kinds"),
    [
        ("quercus-robur", {"fumed", "bleached"}),
        ("fagus-sylvatica", {"steamed"}),
        ("pyrus-communis", {"steamed"}),
        ("juglans-regia", {"steamed"}),
        ("acer-pseudoplatanus", {"dyed-through", "bleached"}),
        ("acer-saccharum", {"bleached"}),
        ("fraxinus-excelsior", {"thermally-treated"}),
        ("robinia-pseudoacacia", {"steamed", "thermally-treated"}),
    ],
)
def test_treatments_the_trade_sells(material: str, kinds: set[str], catalogue: Catalogue) -> None:
    held = catalogue.material(material).veneer["treatments"]
    assert kinds <= {one["kind"] for one in held}
    assert all(one["colour"] for one in held)


def test_every_species_answers_or_says_that_it_does_not_know(dataset: DataSet) -> None:
    """A question left out of a file is no answer: write `unknown` (treatments: null) instead."""
    silent = []
    for loaded in dataset.materials.values():
        model = loaded.model
        if model.kind != "species":
            continue
        blocks = {
            "look": (model.look, ("class_", "light", "pores", "texture", "grain", "figures", "sapwood")),
            "veneer": (model.veneer, ("sold", "cuts", "treatments", "sapwood")),
            "working": (
                model.working,
                ("bending", "gluing", "bleed_through", "dust", "extract", "tannin", "oily", "splinters"),
            ),
        }
        for name, (block, asked) in blocks.items():
            silent += [f"{model.id}: {name}.{key}" for key in asked if key not in block.model_fields_set]
    assert silent == []
