"""Every wood of the catalogue against what wood can be: coarse nets for slips of the pen."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from woodref.catalogue.coverage import coverage
from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue

CLONE = Path(__file__).resolve().parents[2]
IDS = sorted(
    p.stem
    for p in (CLONE / "data").glob("*/*.yaml")
    if p.parent.name in ("species", "engineered", "modified", "cores")
)


@pytest.fixture(scope="module", params=IDS)
def material(request: pytest.FixtureRequest, catalogue: Catalogue) -> Material:
    return catalogue.material(request.param)


def test_it_can_be_judged_at_all(material: Material) -> None:
    assert material.countries, "without a country of harvest it is no candidate"
    assert material.figure("density") is not None
    assert material.woods


def test_wet_wood_on_green_volume_weighs_less_than_at_twelve(material: Material) -> None:
    density, basic = material.figure("density"), material.figure("basic_density")
    if density and basic and density.from_ == ("basic_density",):
        assert 1.12 < density.typical / basic.typical < 1.45


def test_stiffness_goes_with_weight(material: Material) -> None:
    moe, density = material.figure("moe"), material.figure("density")
    if moe and density:
        # specific stiffness of clear wood at 12 %: 8 to 28 (GPa over g/cm3), own reckoning from
        # Table 5-3a of FPL-GTR-190, where it runs from 11 to 27; reconstituted sheets carry glue
        low = {"species": 8, "core": 4}.get(material.kind, 6)  # boards of fibres and chips are limp
        assert low < 1000 * moe.typical / density.typical < 28


def test_ratios_of_stiffness_are_in_order(material: Material) -> None:
    radial, tangential = material.figure("ratio_er_el"), material.figure("ratio_et_el")
    if radial and tangential and material.id != "sequoia-sempervirens":  # redwood: ET above ER as printed
        assert tangential.typical < radial.typical


def test_every_figure_says_where_it_comes_from(material: Material, catalogue: Catalogue) -> None:
    for held in material.figures.values():
        for figure in (*((held.preferred,) if held.preferred else ()), *held.others):
            if figure.evidence == "common-practice":  # a board or treated wood as the trade sells it
                assert material.kind in ("core", "modified") and figure.source is None
                continue
            assert figure.evidence in ("quoted", "recalled", "estimated")
            assert figure.source in catalogue.sources
            if figure.evidence == "quoted":
                assert figure.locator


def test_coverage_counts_every_figure_once(catalogue: Catalogue) -> None:
    found = coverage(catalogue)
    rows = catalogue.rows("SELECT evidence, count(*) AS n FROM figure GROUP BY evidence")
    assert {e: n for e, n in found.evidence.items() if n} == {row["evidence"]: row["n"] for row in rows}
    assert sum(p.figures for p in found.properties) == sum(found.evidence.values())
    assert found.materials == len(IDS)


def test_country_codes_are_text_even_for_norway() -> None:
    text = (CLONE / "data" / "species" / "picea-abies.yaml").read_text("utf-8")
    plain = yaml.safe_load(text)
    assert all(isinstance(code, str) for code in plain["grows"]["countries"])
