"""From files to tables and back: every figure and block, which figure is preferred, what the views hold."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from woodref import __version__
from woodref.catalogue import schema
from woodref.catalogue.dataset import DataSet
from woodref.catalogue.fold import fold
from woodref.catalogue.material import Figure, Material
from woodref.catalogue.properties import PROPERTIES, wide_column
from woodref.catalogue.reader import Catalogue, open_catalogue
from woodref.units import convert


def held_figures(material: Material, name: str) -> list[Figure]:
    """Every figure of a property, the preferred first."""
    held = material.figures[name]
    return [*([held.preferred] if held.preferred else []), *held.others]


def converted(number: float | None, unit: str, to: str) -> float | None:
    return None if number is None else float(convert(Decimal(str(number)), unit, to))


def test_every_figure_of_every_file_comes_back_whole(dataset: DataSet, catalogue: Catalogue) -> None:
    read = {m.id: m for m in catalogue.materials()}
    assert set(read) == set(dataset.materials)
    count = 0
    for material_id, loaded in dataset.materials.items():
        for name, figures in loaded.model.figures.items():
            unit = PROPERTIES[name].unit
            told = [
                Figure(
                    name=name,
                    value=converted(f.value, f.unit, unit),
                    low=converted(f.low, f.unit, unit),
                    high=converted(f.high, f.unit, unit),
                    unit=unit,
                    condition=f.condition.model_dump(by_alias=True, exclude_none=True),
                    source=f.source,
                    locator=f.locator,
                    evidence=str(f.evidence),
                    for_taxon=f.for_taxon,
                    from_=tuple(f.from_ or ()),
                    added_error=f.added_error,
                    n=f.n,
                    note=f.note,
                )
                for f in figures
            ]
            # what was printed is asked for further down: it may be made by the turning of a unit
            back = [replace(f, printed=None) for f in held_figures(read[material_id], name)] if told else []
            assert len(back) == len(told), (material_id, name)
            assert all(figure in back for figure in told), (material_id, name)
            count += len(told)
    assert count == catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"] > 1000


def test_every_block_of_every_file_comes_back(dataset: DataSet, catalogue: Catalogue) -> None:
    for material in catalogue.materials():
        model = dataset.materials[material.id].model
        plain = schema.json_ready(model)
        for block in ("grows", "look", "veneer", "working", "red_list", "made_from"):
            assert getattr(material, block) == plain[block], (material.id, block)
        assert list(material.cautions) == model.cautions
        assert [(n.text, n.lang, list(n.regions), n.note) for n in material.names] == [
            (n.text, n.lang, n.regions, n.note) for n in model.names
        ]
        assert material.name == model.names[0].text
        assert list(material.synonyms) == (model.botanical.synonyms if model.botanical else [])


def test_a_sheet_is_for_the_law_every_wood_in_it(dataset: DataSet, catalogue: Catalogue) -> None:
    for material in catalogue.materials():
        made = dataset.materials[material.id].model.made_from
        woods = [material.id] if made is None else made.woods
        latin = [dataset.materials[wood].model.botanical.name for wood in woods]
        assert list(material.woods) == latin


def test_the_lists_come_back_as_they_stand(dataset: DataSet, catalogue: Catalogue) -> None:
    assert set(catalogue.sources) == {s.id for s in dataset.entries("sources.yaml")}
    assert {r.id for r in catalogue.law.rows} == {r.id for r in dataset.entries("trade/listings.yaml")}
    assert set(catalogue.colour_classes) == {c.id for c in dataset.documents["classes.yaml"].model.colours}
    assert catalogue.countries == dataset.documents["trade/countries.yaml"].model.countries
    meanings = sum(len(s.meanings) for s in dataset.entries("names.yaml"))
    assert catalogue.rows("SELECT count(*) AS n FROM shared_name")[0]["n"] == meanings
    assert catalogue.stamp["version"] == __version__


def test_a_listing_by_a_named_group_reaches_the_countries_of_the_group(
    dataset: DataSet, catalogue: Catalogue
) -> None:
    groups = {g.id: frozenset(g.countries) for g in dataset.entries("trade/places.yaml")}
    back = {row.id: row.countries for row in catalogue.law.rows}
    named = 0
    for row in dataset.entries("trade/listings.yaml"):
        reach = row.population.countries
        if reach == "all":
            assert back[row.id] is None
        elif isinstance(reach, str):
            assert back[row.id] == groups[reach]
            named += 1
        else:
            assert back[row.id] == frozenset(reach)
    assert named


def expected_preferred(material: schema.MaterialIn, name: str) -> int | None:
    """The rule of the design said anew: in the reference condition, then evidence, then a figure of this
    very taxon, then the narrower range, then the order in the file. Where rows of this very taxon were
    averaged, a figure of its group is no better than worked out."""
    rows = any(f.source == "rule-mean-of-rows" and f.for_taxon is None for f in material.figures[name])
    best: tuple[int, bool, float, int] | None = None
    for index, figure in enumerate(material.figures[name]):
        condition = figure.condition.model_dump(by_alias=True, exclude_none=True)
        reference = PROPERTIES[name].reference
        if "method" in condition or any(
            condition.get(key) not in (wanted if isinstance(wanted, tuple) else (wanted,))
            for key, wanted in reference.items()
        ):
            continue
        width = 0.0
        if figure.low is not None and figure.high is not None:
            width = (figure.high - figure.low) / (figure.high + figure.low)
        grade = ("quoted", "recalled", "estimated", "common-practice").index(str(figure.evidence))
        if rows and figure.for_taxon is not None:
            grade = max(grade, 2)
        mine = (grade, figure.for_taxon is not None, width, index)
        if best is None or mine < best:
            best = mine
    return None if best is None else best[3]


def test_the_preferred_figure_is_the_one_the_rule_names(dataset: DataSet, catalogue: Catalogue) -> None:
    for material in catalogue.materials():
        model = dataset.materials[material.id].model
        for name, held in material.figures.items():
            index = expected_preferred(model, name)
            if index is None:
                assert held.preferred is None
                continue
            figure = model.figures[name][index]
            assert held.preferred is not None, (material.id, name)
            assert (held.preferred.source, held.preferred.locator, held.preferred.value) == (
                figure.source,
                figure.locator,
                converted(figure.value, figure.unit, PROPERTIES[name].unit),
            ), (material.id, name)


@pytest.fixture
def ficta(invented: Path, tmp_path: Path, spare: Path) -> Material:
    """The invented wood as read from a catalogue of its own."""
    with open_catalogue(invented, tmp_path / "cache") as opened:
        return opened.material("ligna-ficta")


def test_what_was_read_comes_before_what_was_worked_out_wherever_it_stands(ficta: Material) -> None:
    density = ficta.figure("density")
    assert density is not None
    assert (density.value, density.evidence, density.printed) == (600, "quoted", "specific gravity 0.54")
    # the others keep the order of the file, the one in another condition among them
    assert [f.value for f in ficta.figures["density"].others] == [610, 603]


def test_of_two_ranges_the_narrower_is_preferred_and_a_group_figure_gives_way(ficta: Material) -> None:
    mor = ficta.figure("mor")
    assert mor is not None
    # 99 MPa has no range at all, but speaks of the genus; 88 MPa was read, but of green wood
    assert (mor.low, mor.high, mor.typical) == (85, 95, 90)


def test_a_figure_by_another_test_is_held_and_never_preferred(ficta: Material) -> None:
    assert ficta.figure("compression_parallel") is None
    assert [f.value for f in ficta.figures["compression_parallel"].others] == [50]


def test_a_figure_in_another_unit_is_turned_and_keeps_what_was_printed(ficta: Material) -> None:
    moe, hardness = ficta.figure("moe"), ficta.figure("side_hardness")
    assert moe is not None and hardness is not None
    # 1 lbf = 4.4482216152605 N, 1 psi = 6894.757 Pa (NIST SP 811, appendix B.8)
    assert moe.value == pytest.approx(1.6 * 6.894757, abs=1e-4)
    assert (moe.unit, moe.printed) == ("GPa", "1.6 10^6 psi")
    assert hardness.value == pytest.approx(800 * 4.4482216152605)
    assert hardness.printed == "800 lbf"


def test_an_id_that_is_not_there_is_a_key_error(catalogue: Catalogue) -> None:
    with pytest.raises(KeyError):
        catalogue.material("ligna-nulla")


def test_the_wide_view_has_one_row_a_material_and_one_column_a_property(catalogue: Catalogue) -> None:
    rows = catalogue.rows("SELECT * FROM material_wide")
    assert [row["id"] for row in rows] == catalogue.ids()
    head = ["id", "kind", "name", "botanical_name", "family"]
    assert list(rows[0].keys()) == head + [wide_column(name) for name in PROPERTIES]
    assert {
        wide_column(n) for n in ("density", "moe", "side_hardness", "shrinkage_radial", "poisson_lr")
    } == {
        "density_kg_m3",
        "moe_gpa",
        "side_hardness_n",
        "shrinkage_radial_pct",
        "poisson_lr",
    }


def test_the_full_view_names_the_material_and_the_document(catalogue: Catalogue) -> None:
    rows = catalogue.rows("SELECT * FROM figure_full")
    names = {m.id: m.name for m in catalogue.materials()}
    for row in rows:
        assert row["material"] == names[row["material_id"]]
        source = catalogue.sources.get(row["source_id"])
        assert row["source_title"] == (source["title"] if source else None)
        assert isinstance(json.loads(row["condition"]), dict)


def test_every_name_is_found_by_the_beginnings_of_its_words(catalogue: Catalogue) -> None:
    names = catalogue.rows("SELECT material_id, text, folded FROM name")
    for row in names:
        assert row["folded"] == fold(row["text"])
        words = " ".join(f'"{word[:4]}"*' for word in row["folded"].split())
        found = catalogue.rows("SELECT material_id FROM name_search WHERE name_search MATCH ?", (words,))
        assert row["material_id"] in {r["material_id"] for r in found}, row["text"]
