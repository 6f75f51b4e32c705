"""What differs between two states of the data: told once, in order, and nothing made up.

The woods are invented, and so are their figures.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.build import build_into
from woodref.catalogue.check import load_all
from woodref.catalogue.diff import Diff, compare
from woodref.catalogue.edition import HeldFigure, read_edition
from woodref.catalogue.material import Figure
from woodref.catalogue.pairing import paired
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, CatalogueUnreadable, WoodrefError

Edit = Callable[[str, str, str], None]
Told = Callable[[], Diff]

FICTA = "species/ligna-ficta.yaml"
ALTERA = "species/ligna-altera.yaml"
DYED = "engineered/dyed-ficta.yaml"
READ = "value: 600\n      unit: kg/m3\n"


@pytest.fixture
def before(invented: Path, tmp_path: Path) -> Path:
    """The folder as it stood before a test edits it."""
    return Path(shutil.copytree(invented, tmp_path / "before"))


@pytest.fixture
def told(before: Path, invented: Path) -> Told:
    """What differs between the folder as it was and as it is now."""
    return lambda: compare(read_edition(before), read_edition(invented))


def lines(found: Diff) -> list[str]:
    """Every sentence."""
    return [sentence for _, said in found.paragraphs for sentence in said]


def test_a_state_does_not_differ_from_itself(told: Told) -> None:
    found = told()
    assert (found.count, found.summary, found.paragraphs) == (0, "Nothing differs.", [])
    assert not found.notices


def test_a_folder_and_the_file_built_from_it_do_not_differ(invented: Path, tmp_path: Path) -> None:
    built = build_into(tmp_path / "built", load_all(invented), "0123456789abcdef")
    for old, new in ((invented, built), (built, invented), (built, built)):
        found = compare(read_edition(old), read_edition(new))
        assert lines(found) == []
    assert read_edition(built).stamp["digest"] == "0123456789abcdef"


def test_the_clones_own_folder_and_file_do_not_differ(catalogue: Catalogue) -> None:
    here = Path(__file__).resolve().parents[2] / "data"
    assert lines(compare(read_edition(here), read_edition(catalogue.path))) == []


#: what is done -> (file, text, text in its place, the only sentence)
ONE_FIGURE: dict[str, tuple[str, str, str, str]] = {
    "another number": (
        FICTA,
        READ,
        READ.replace("600", "610"),
        "weight (density) changed from 600 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a) to "
        "610 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a); preferred before and after.",
    ),
    "a number that six figures do not tell apart": (
        FICTA,
        READ,
        READ.replace("600", "600.00001"),
        "weight (density) changed from 600 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a) to "
        "600.00001 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a); preferred before and "
        "after.",
    ),
    "a range": (
        FICTA,
        "{low: 80, high: 100, unit: MPa",
        "{value: 90, low: 80, high: 101, unit: MPa",
        "strength in bending (mor) changed from 80-100 MPa at 12 % moisture (from memory, bre-hardwoods) to "
        "90 (80-101) MPa at 12 % moisture (from memory, bre-hardwoods).",
    ),
    "read, no longer from memory": (
        FICTA,
        "locator: p. 1, evidence: recalled",
        "locator: p. 1, evidence: quoted",
        "strength in bending (mor) 85-95 MPa at 12 % moisture: was from memory, bre-hardwoods p. 1; is now "
        "read in table, bre-hardwoods p. 1; preferred before and after.",
    ),
    "another source": (
        FICTA,
        "method: ultrasound}, source: bre-hardwoods",
        "method: ultrasound}, source: fpl-tech-sheets",
        "crushing along the grain (compression_parallel) 50 MPa at 12 % moisture, ultrasound: was from "
        "memory, bre-hardwoods; is now from memory, fpl-tech-sheets.",
    ),
    "a remark": (
        FICTA,
        "      n: 7\n      note: invented\n",
        "      n: 8\n",
        "weight (density) 600 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a): n, note "
        "changed; preferred before and after.",
    ),
    "another condition, and so no longer the one that counts": (
        FICTA,
        "condition: {mc: dry}",
        "condition: {mc: green}",
        "hardness (Janka, side) (side_hardness) changed from 3558.58 N dry (read in table, fpl-tech-sheets "
        "sheet) to 3558.58 N green (read in table, fpl-tech-sheets sheet); it is no longer the preferred "
        "figure.",
    ),
    "one that came": (
        ALTERA,
        "figures: {}\n",
        "figures:\n  mor:\n    - {value: 70, unit: MPa, condition: {mc: 12}, source: bre-hardwoods, locator: "
        "null, evidence: recalled}\n",
        "strength in bending (mor) added: 70 MPa at 12 % moisture (from memory, bre-hardwoods); it is the "
        "preferred figure.",
    ),
    "one that went": (
        FICTA,
        "    - {value: 88, unit: MPa, condition: {mc: green}, source: fpl-gtr-190, locator: Table 5-3a, "
        "evidence: quoted}\n",
        "",
        "strength in bending (mor) removed: 88 MPa green (read in table, fpl-gtr-190 Table 5-3a).",
    ),
}


@pytest.mark.parametrize("case", ONE_FIGURE.values(), ids=ONE_FIGURE.keys())
def test_one_figure_changed_is_one_sentence(case: tuple[str, str, str, str], told: Told, edit: Edit) -> None:
    file, old, new, sentence = case
    edit(file, old, new)
    assert lines(told()) == [sentence]


def test_the_parts_of_a_change_stand_in_the_json(told: Told, edit: Edit) -> None:
    edit(FICTA, READ, READ.replace("600", "610"))
    body = json.loads(json.dumps(told().as_dict()))
    (row,) = body["figures"]
    assert (row["material"], row["property"], row["what"]) == ("ligna-ficta", "density", "changed")
    assert row["changed"] == ["value"]
    assert (row["old"]["value"], row["new"]["value"], row["new"]["unit"]) == (600.0, 610.0, "kg/m3")
    assert (row["old"]["evidence"], row["new"]["source"]) == ("quoted", "fpl-gtr-190")
    assert (row["was_preferred"], row["is_preferred"]) == (True, True)
    assert body["count"] == 1
    assert body["catalogue"]["digest"] != body["before"]["digest"]


def test_the_preferred_figure_gone_another_takes_its_place(told: Told, edit: Edit, invented: Path) -> None:
    text = (invented / FICTA).read_text("utf-8")
    start = text.index("    - value: 600")
    edit(FICTA, text[start : text.index("  basic_density:")], "")
    assert lines(told()) == [
        "weight (density) 603 kg/m3 at 12 % moisture (worked out, rule-density-12, from basic_density and "
        "shrinkage_volumetric, which adds about 3 % of error): not changed itself; it is the preferred "
        "figure now.",
        "weight (density) removed: 600 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a); it "
        "was the preferred figure.",
    ]


def test_the_order_of_figures_in_a_file_is_no_change_of_theirs(told: Told, edit: Edit) -> None:
    ultra = (
        "    - {value: 50, unit: MPa, condition: {mc: 12, method: ultrasound}, source: bre-hardwoods, "
        "locator: null, evidence: recalled}\n"
    )
    more = ultra.replace("50", "51").replace("12,", "12.5,")
    edit(FICTA, ultra, more + ultra)
    assert [f.what for f in told().figures] == ["added"]


def _rename(folder: Path, file: str, old: str, new: str, was: str) -> None:
    path = folder / file
    text = path.read_text("utf-8").replace(f"id: {old}", f"id: {new}", 1)
    path.with_name(f"{new}.yaml").write_text(text.replace(was, f"was: [{old}]", 1), "utf-8")
    path.unlink()


def test_another_id_is_a_renaming_and_figures_are_followed_through_it(
    told: Told, edit: Edit, invented: Path, before: Path
) -> None:
    edit(DYED, "value: 612", "value: 613")
    _rename(invented, DYED, "dyed-ficta", "dyed-nova", "\nkind:")
    text = (invented / "engineered/dyed-nova.yaml").read_text("utf-8")
    (invented / "engineered/dyed-nova.yaml").write_text(
        text.replace("was: [dyed-ficta]", "\nwas: [dyed-ficta]\nkind:", 1), "utf-8"
    )
    found = told()
    assert [(m.what, m.was, m.id) for m in found.materials] == [("renamed", "dyed-ficta", "dyed-nova")]
    assert [(f.material, f.what) for f in found.figures] == [("dyed-nova", "changed")]
    assert not found.names  # the older id is told as the renaming
    assert found.materials[0].sentence == "dyed-ficta is now dyed-nova (dyed ficta)."
    # held up the other way round it is one, too
    back = compare(read_edition(invented), read_edition(before))
    assert [(m.what, m.was, m.id) for m in back.materials] == [("renamed", "dyed-nova", "dyed-ficta")]


def test_a_material_that_went_names_who_answers_for_it_and_one_that_came_counts_its_figures(
    told: Told, edit: Edit, invented: Path
) -> None:
    (invented / DYED).rename(invented / "engineered/dyed-nova.yaml")
    edit("engineered/dyed-nova.yaml", "id: dyed-ficta", "id: dyed-nova")
    edit(FICTA, "was: [ligna-vetus]", "was: [ligna-vetus, dyed-ficta]")
    found = told()
    assert [m.sentence for m in found.materials] == [
        "dyed-ficta (dyed ficta) removed, with 2 figures; ligna-ficta answers to its id.",
        "dyed-nova (dyed ficta) added, with 2 figures.",
    ]
    # their figures stand in the rows, not among the sentences
    assert [f.what for f in found.figures] == ["removed", "removed", "added", "added"]
    assert lines(found)[2:] == ['older id "dyed-ficta" added.']
    assert found.summary == "Materials: 1 added, 1 removed. Names: 1 added."


def test_names_are_told_by_what_happened_to_them(told: Told, edit: Edit) -> None:
    edit(FICTA, "  - {text: plain ficta, lang: en}\n", "  - {text: fair ficta, lang: en}\n")
    edit(FICTA, "regions: [BE, FR], note: the usual French name", "regions: [FR]")
    edit(FICTA, "synonyms: [Ligna antiqua]", "synonyms: [Ligna vetusta]")
    edit(ALTERA, "name: Ligna altera", "name: Ligna alterna")
    assert {n.sentence for n in told().names} == {
        'name printed first "plain ficta" became "fair ficta".',
        'synonym "Ligna vetusta" added.',
        'synonym "Ligna antiqua" removed.',
        'name "fair ficta" (en, everywhere) added.',
        'name "plain ficta" (en, everywhere) removed.',
        'name "fauxbois uni": fr, BE and FR, "the usual French name" became fr, FR.',
        'botanical name "Ligna altera" became "Ligna alterna".',
    }


ROW = """  - {id: cites-ligna-ii-2020, taxon: Ligna spp., accepted: Ligna, rank: genus, regime: CITES,
     category: II, population: {words: all, countries: all}, annotation: null, valid_from: "2020-01-02",
     date_evidence: quoted, evidence: quoted, source: cites-index-2017, locator: invented}
"""


def test_listings_that_came_went_or_changed(told: Told, before: Path, invented: Path) -> None:
    def put(folder: Path, row: str) -> None:
        with (folder / "trade" / "listings.yaml").open("a", encoding="utf-8") as out:
            out.write(row)

    stood = (invented / "trade" / "listings.yaml").read_text("utf-8")
    put(invented, ROW)
    came = told()
    assert [row.sentence for row in came.listings] == [
        "cites-ligna-ii-2020 added: Ligna spp.: CITES Appendix II since 2020-01-02."
    ]
    put(before, ROW)
    assert not told().count
    (invented / "trade" / "listings.yaml").write_text(
        stood + ROW.replace("category: II", "category: I"), "utf-8"
    )
    (row,) = told().listings
    assert (row.what, row.fields) == ("changed", ("category",))
    assert "Ligna spp.: CITES Appendix I since" in row.sentence
    assert row.sentence.endswith("Changed was: Ligna spp.: CITES Appendix II since 2020-01-02.")
    (invented / "trade" / "listings.yaml").write_text(stood + ROW.replace("invented", "p. 1"), "utf-8")
    (row,) = told().listings
    assert row.sentence.endswith("Changed in its locator.")
    (invented / "trade" / "listings.yaml").write_text(stood, "utf-8")
    assert [row.what for row in told().listings] == ["removed"]


def test_what_is_neither_figure_nor_name_is_not_passed_over(told: Told, edit: Edit, invented: Path) -> None:
    edit(FICTA, "words: pale and even", "words: pale and streaked")
    edit(FICTA, "family: Lignaceae", "family: Arboraceae")
    edit("names.yaml", "note: seen once", "note: seen twice")
    text = (invented / "sources.yaml").read_text("utf-8")
    (invented / "sources.yaml").write_text(
        text + "  - {id: invented-leaflet, kind: document, title: A leaflet, seen: never}\n", "utf-8"
    )
    assert lines(told()) == [
        "Its file differs in botanical and look, too.",
        "names.yaml: 1 changed (bench pearl).",
        "sources.yaml: 1 added (invented-leaflet).",
    ]


def test_what_cannot_be_read_is_not_taken_for_removed(told: Told, edit: Edit, invented: Path) -> None:
    edit(ALTERA, "pores: ", "pores: tiny #")
    with (invented / "trade" / "listings.yaml").open("a", encoding="utf-8") as out:
        out.write("  - {id: broken}\n")
    edit(FICTA, READ, READ.replace("600", "610"))
    found = told()
    assert [(f.material, f.what) for f in found.figures] == [("ligna-ficta", "changed")]
    assert not found.materials and not found.listings
    (notice,) = found.notices
    assert notice.code == "data-have-errors"
    assert "ligna-altera" in notice.message and "trade/listings.yaml" in notice.message


def test_a_figure_in_a_unit_that_does_not_measure_it_leaves_its_wood_out(told: Told, edit: Edit) -> None:
    edit(FICTA, READ, READ.replace("kg/m3", "GPa"))
    found = told()
    assert not found.figures and not found.materials
    assert "ligna-ficta" in found.notices[0].message


def test_places_that_hold_no_catalogue_get_a_sentence(invented: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "text.sqlite").write_text("no table here, only words and more words", "utf-8")
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE material (id TEXT)")
    connection.close()
    cases: dict[str, type[WoodrefError]] = {
        "nowhere": BadRequest, "empty": CatalogueUnreadable, "text.sqlite": CatalogueUnreadable,
        "other.sqlite": CatalogueUnreadable,
    }  # fmt: skip
    for name, kind in cases.items():
        with pytest.raises(kind) as fault:
            read_edition(tmp_path / name)
        assert name in str(fault.value) and fault.value.expected


def test_a_file_of_an_older_shape_is_read_where_nothing_needed_is_missing(
    invented: Path, tmp_path: Path
) -> None:
    built = build_into(tmp_path / "built", load_all(invented), "0123456789abcdef")
    with sqlite3.connect(built) as connection:
        connection.execute("UPDATE meta SET value = '1' WHERE key = 'tables'")
        connection.execute("ALTER TABLE source DROP COLUMN licence")
    connection.close()
    found = compare(read_edition(built), read_edition(invented))
    assert [part.part for part in found.parts] == ["sources.yaml"]
    with sqlite3.connect(built) as connection:
        connection.execute("DROP VIEW material_wide")
        connection.execute("DROP VIEW figure_full")
        connection.execute("ALTER TABLE figure DROP COLUMN locator")
    connection.close()
    with pytest.raises(CatalogueUnreadable, match="name the data folder"):
        read_edition(built)


def test_the_rows_are_in_order(told: Told, edit: Edit) -> None:
    edit(FICTA, "value: 4\n", "value: 5\n")
    edit(FICTA, READ, READ.replace("600", "610"))
    edit(DYED, "value: 612", "value: 613")
    found = told()
    assert [(f.material, f.prop) for f in found.figures] == [
        ("dyed-ficta", "density"), ("ligna-ficta", "density"), ("ligna-ficta", "shrinkage_radial"),
    ]  # fmt: skip
    assert found.summary == "Figures of materials on both sides: 3 changed."


FIGURES = st.builds(
    Figure,
    name=st.just("mor"),
    value=st.sampled_from([80.0, 90.0]),
    low=st.none(),
    high=st.none(),
    unit=st.just("MPa"),
    condition=st.sampled_from([{"mc": 12}, {"mc": "green"}]),
    source=st.sampled_from(["one", "two"]),
    locator=st.sampled_from([None, "p. 1"]),
    evidence=st.sampled_from(["quoted", "recalled"]),
)
HELD = st.lists(st.builds(HeldFigure, FIGURES, st.booleans()), max_size=6)


@given(HELD, HELD)
def test_every_figure_has_one_place_in_the_pairs(old: list[HeldFigure], new: list[HeldFigure]) -> None:
    pairs = paired(old, new)
    assert [two for _, two in pairs if two] == new
    assert sorted(map(repr, (one for one, _ in pairs if one))) == sorted(map(repr, old))


@given(HELD, st.randoms())
def test_figures_in_another_order_all_find_themselves(held: list[HeldFigure], random: Random) -> None:
    mixed = list(held)
    random.shuffle(mixed)
    assert all(one and two and one.figure == two.figure for one, two in paired(mixed, held))


def test_the_surer_sign_goes_first() -> None:
    one = Figure("mor", 80.0, None, None, "MPa", {"mc": 12}, "one", None, "recalled")
    two = replace(one, source="two", value=81.0)
    # both stand under one condition: the source decides, not the order
    now = [replace(two, value=82.0), replace(one, value=83.0)]
    pairs = paired([HeldFigure(one, True), HeldFigure(two, False)], [HeldFigure(f, False) for f in now])
    assert [(a.figure.source, b.figure.source) for a, b in pairs if a and b] == [
        ("two", "two"),
        ("one", "one"),
    ]
