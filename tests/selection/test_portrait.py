"""What `show` tells about one wood: numbers worked by hand, sentences a maker wants to hear."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest

from woodref.catalogue.material import Figures, Material
from woodref.catalogue.names import Matched, resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import SharedName, UnknownName
from woodref.selection.movement import movement_per_100
from woodref.selection.portrait import Portrait, portrait
from woodref.selection.words import trust_sentence
from woodref.trade import is_listed

MakeWood = Callable[..., Material]
ON = dt.date(2026, 6, 1)


def shown(catalogue: Catalogue, name: str, system: str = "metric", full: bool = False) -> Portrait:
    return portrait(resolve(name, catalogue, ON), catalogue, ON, system, full)


def said(found: Portrait, heading: str) -> list[str]:
    return [line.text for s in found.sections if s.heading == heading for line in s.lines]


def test_movement_from_a_measured_coefficient(wood: MakeWood) -> None:
    # 0.256 % per 1 % of moisture, six points, 100 mm: 0.256 * 6 = 1.536 mm
    moved = movement_per_100(wood("Alder", movement_tangential=0.256), "tangential")
    assert moved is not None
    assert moved[0] == pytest.approx(1.536)
    assert moved[1].name == "movement_tangential"


def test_movement_from_total_shrinkage(wood: MakeWood) -> None:
    # Wood Handbook Eq. 13-2 near 10 % moisture: 1 / (100 * 30 / 8.8 - 30 + 10) per point
    # = 1 / 320.909; six points on 100 mm: 600 / 320.909 = 1.8697 mm
    moved = movement_per_100(wood("Ebony", shrinkage_tangential=8.8), "tangential")
    assert moved is not None
    assert moved[0] == pytest.approx(1.8697, abs=5e-5)
    assert movement_per_100(wood("Bare"), "tangential") is None


def test_a_measured_coefficient_goes_before_the_total_shrinkage(wood: MakeWood) -> None:
    both = wood("Both", movement_radial=0.2, shrinkage_radial=9.0)
    moved = movement_per_100(both, "radial")
    assert moved is not None
    assert moved[0] == pytest.approx(1.2)


def test_black_walnut_moves_as_the_handbook_says(catalogue: Catalogue) -> None:
    # Table 13-5: black walnut CR 0.00190, CT 0.00274; six points on 100 mm: 1.1 and 1.6 mm
    told = said(shown(catalogue, "juglans-nigra"), "Will it stay?")
    assert told[0].startswith("A crown or peeled leaf 100 mm wide moves 1.6 mm across")
    assert told[1].startswith("A quarter cut leaf 100 mm wide moves 1.1 mm across")
    # 0.00274 / 0.00190 = 1.44
    assert told[2].startswith("Crown moves 1.4 times as much as quarter")


def test_inches_are_the_same_movement(catalogue: Catalogue) -> None:
    # 4 in * 0.00274 * 6 = 0.0658 in
    told = said(shown(catalogue, "juglans-nigra", "us"), "Will it stay?")
    assert told[0].startswith("A crown or peeled leaf 4 in wide moves 0.066 in across")


def test_us_units_turn_every_size_and_leave_no_millimetre(catalogue: Catalogue) -> None:
    for name in catalogue.ids():
        found = shown(catalogue, name, "us")
        for heading in ("Will it stay?", "How heavy, how stiff?"):
            text = " ".join(said(found, heading))
            assert " mm " not in text and "kg/m3" not in text and " GPa" not in text, name


def test_a_leaf_that_moves_less_along_the_crown_is_not_called_even(catalogue: Catalogue) -> None:
    """Tangential below radial is nearly always a slip of the source: no praise may rest on it."""
    for material in catalogue.materials():
        radial, tangential = (movement_per_100(material, axis) for axis in ("radial", "tangential"))
        if radial and tangential and tangential[0] < radial[0]:
            told = " ".join(said(shown(catalogue, material.id), "Will it stay?"))
            assert "even in its movement" not in told, material.id


def test_the_sentence_on_trust_in_the_order_of_the_grades(wood: MakeWood) -> None:
    made = wood("Wenge", density=(880.0, "quoted"), moe=(13.0, "recalled"))
    assert trust_sentence(made) == (
        "The density is read in a table, the stiffness is from memory, the colour is only a word: "
        "trust them in that order."
    )
    turned = wood("Wenge", density=(880.0, "estimated"), moe=(13.0, "quoted"))
    assert trust_sentence(turned).startswith(
        "The stiffness is read in a table, the density is worked out, the colour is only a word"
    )
    bare = wood("Wenge")
    assert trust_sentence(bare) == (
        "The colour is only a word. The density is not known and the stiffness is not known."
    )


def test_a_measured_colour_is_trusted_like_a_table(wood: MakeWood) -> None:
    swatch = {"part": "ground", "state": "planed", "lab": [50, 10, 20], "light": "D65/2"}
    made = wood("Wenge", density=(880.0, "recalled"), swatches=[swatch])
    assert trust_sentence(made).startswith("The colour is measured, the density is from memory")


def test_every_figure_that_is_printed_carries_its_grade_and_its_source(catalogue: Catalogue) -> None:
    seen = 0
    for name in ("alnus-rubra", "dalbergia-nigra", "picea-abies", "reconstituted-rosewood-figure"):
        for section in shown(catalogue, name, full=True).sections:
            for line in section.lines:
                if line.figure is not None:
                    seen += 1
                    assert f"({line.figure.grade}, {line.figure.source}" in line.text
    assert seen > 60


def test_all_prints_every_figure_held(catalogue: Catalogue) -> None:
    for name in ("alnus-rubra", "swietenia-macrophylla"):
        held = catalogue.material(name).figures.values()
        count = sum(len(f.others) + (f.preferred is not None) for f in held)
        assert len(said(shown(catalogue, name, full=True), "Every figure held")) == count


def test_a_figure_in_another_condition_is_shown_as_such(catalogue: Catalogue) -> None:
    # rubberwood's stiffness is known, but its moisture is not stated
    held = catalogue.material("hevea-brasiliensis").figures["moe"]
    assert held == Figures(None, held.others)
    told = " ".join(said(shown(catalogue, "hevea-brasiliensis"), "How heavy, how stiff?"))
    assert "not known in the usual condition" in told
    assert "moisture not stated" in told


def test_twins_are_named_with_their_listing(catalogue: Catalogue) -> None:
    told = " ".join(said(shown(catalogue, "liriodendron-tulipifera"), "Is it this wood?"))
    assert '"tulipwood" is also a name of Dalbergia decipularis (CITES Appendix II' in told


def test_what_was_typed_is_what_answered(catalogue: Catalogue) -> None:
    """A botanical name is no id, though the two fold alike."""
    matched = resolve("Picea abies", catalogue, ON)
    assert (matched.id, matched.kind) == ("picea-abies", "botanical")


def test_a_shared_name_is_counted_with_live_listings(catalogue: Catalogue) -> None:
    with pytest.raises(SharedName) as fault:
        resolve("tulipwood", catalogue, ON)
    assert fault.value.message == (
        'The name "tulipwood" fits three woods; one is listed. Until one is proved I treat it as the '
        "strictest."
    )
    # the day before Dalbergia came as a genus, none of the three was
    with pytest.raises(SharedName) as before:
        resolve("tulipwood", catalogue, dt.date(2017, 1, 1))
    assert before.value.message == 'The name "tulipwood" fits three woods; none of them is listed.'


def test_a_wood_is_not_called_listed_for_a_country_it_does_not_grow_in(catalogue: Catalogue) -> None:
    """Ebonies of the mainland and of Celebes carry no listing: the row speaks of Madagascar alone."""
    with pytest.raises(SharedName) as fault:
        resolve("ebony", catalogue, ON)
    for candidate in fault.value.candidates:
        if candidate.id is None:
            continue
        material = catalogue.material(candidate.id)
        listed = any(is_listed(material.woods, c, ON, catalogue.law) for c in material.countries)
        assert ("CITES" in candidate.says) is listed, candidate.id


def test_not_knowing_says_what_to_ask_the_seller(catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        resolve("xqzzvw", catalogue, ON)
    assert str(fault.value).endswith(
        "I do not know. Ask the seller for the botanical name, the country of harvest and the harvest "
        "year, in that order."
    )


def test_the_notes_on_shared_names_are_whole_sentences(catalogue: Catalogue) -> None:
    """A note cut short in the middle leaves a dangling word."""
    for row in catalogue.rows("SELECT DISTINCT text, note FROM shared_name"):
        last = row["note"].rstrip(".").split()[-1]
        assert last not in {"and", "but", "or", "with", "the", "a", "of", "not"}, (row["text"], row["note"])


def test_the_id_alone_shows_the_same_wood(catalogue: Catalogue) -> None:
    one = portrait(Matched("alnus-rubra", "alnus-rubra", "id"), catalogue, ON)
    assert one.material.id == "alnus-rubra"
    assert not any(
        "It answered to" in text for text in said(shown(catalogue, "red alder"), "Is it this wood?")
    )


def test_no_sentence_has_a_gap_a_double_stop_or_a_python_word(catalogue: Catalogue) -> None:
    for name in catalogue.ids():
        for section in shown(catalogue, name, full=True).sections:
            for line in section.lines:
                for wrong in ("  ", "..", " .", " ,", "None", "True", "False", "[]", "{}"):
                    assert wrong not in line.text.split(" (")[0], line.text
                assert "nan" not in line.text.split(), line.text


def test_what_passes_for_a_wood_is_told_of_both(catalogue: Catalogue) -> None:
    """The sheet's file names the woods (`look_of`); both pages say so."""
    sheet = catalogue.material("reconstituted-rosewood-figure")
    assert sheet.made_from is not None and "dalbergia-nigra" in sheet.made_from["look_of"]

    def looks(material: str) -> list[str]:
        found = portrait(Matched(material, material, "id"), catalogue, dt.date(2026, 6, 1))
        (section,) = [s for s in found.sections if s.heading == "How will it look?"]
        return [line.text for line in section.lines]

    assert f"Sheets made to pass for it: {sheet.name}." in looks("dalbergia-nigra")
    names = [catalogue.material(wood).name for wood in sheet.made_from["look_of"]]
    told = [line for line in looks(sheet.id) if line.startswith("Made to pass for")]
    assert len(told) == 1 and all(name in told[0] for name in names)
    assert not any("pass for" in line for line in looks("alnus-rubra"))
