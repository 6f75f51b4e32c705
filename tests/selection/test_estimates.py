"""What a wood lacks, worked out on reading: marked, never in the place of a held figure."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import replace
from statistics import mean

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.names import Matched
from woodref.catalogue.properties import PROPERTIES, in_reference
from woodref.catalogue.reader import Catalogue
from woodref.science import estimates
from woodref.selection.compare import compare
from woodref.selection.estimates import RULES, estimate_notices, estimated, worked_out
from woodref.selection.find import Query, find, limit
from woodref.selection.portrait import portrait

MakeWood = Callable[..., Material]
ON = dt.date(2026, 6, 1)
AXES = ("radial", "tangential")
SHRINKAGE = tuple(f"shrinkage_{a}" for a in (*AXES, "volumetric"))


def made(material: Material, name: str) -> Figure:
    """The preferred figure of a property, which must be one worked out here."""
    figure = estimated(material).figure(name)
    assert figure is not None and figure.source in RULES, name
    return figure


def test_a_bare_weight_gives_what_the_regressions_say(wood: MakeWood) -> None:
    # Table 5-11a at G 616/1120 = 0.55, hardwood: 16.5 * 0.55^0.70 = 10.858 GPa, four figures kept
    moe = made(wood("Bare", density=616.0), "moe")
    assert (moe.value, moe.low, moe.high, moe.unit) == (10.86, None, None, "GPa")
    assert (moe.evidence, moe.source) == ("estimated", "rule-strength-from-weight")
    assert (moe.from_, moe.added_error, moe.condition) == (("density",), 16, {"mc": 12.0})
    # 15300 * 0.55^2.09 = 4385.8 N
    assert made(wood("Bare", density=616.0), "side_hardness").value == 4386


def test_a_softwood_takes_the_rules_of_softwoods(wood: MakeWood) -> None:
    # Table 5-11a at G 0.40: 20.5 * 0.40^0.84 = 9.4948 GPa
    spruce = replace(wood("Spruce", density=448.0), hardness_group="softwood")
    assert made(spruce, "moe").value == 9.495
    assert made(spruce, "ratio_er_el").value == 0.096


def test_a_range_of_weight_gives_a_range(wood: MakeWood) -> None:
    held = wood("Range", density=700.0)
    weight = replace(held.figures["density"].preferred, value=None, low=560.0, high=840.0, added_error=5.0)
    moe = made(replace(held, figures={"density": Figures(weight)}), "moe")
    # 16.5 * 0.50^0.70 = 10.157, 16.5 * 0.75^0.70 = 13.490; hypot(16, 0.70 * 5) = 16.38
    assert (moe.value, moe.low, moe.high, moe.added_error) == (None, 10.16, 13.49, 16)


def test_a_held_figure_stays(wood: MakeWood) -> None:
    given = wood("Held", density=616.0, moe=3.0, shrinkage_tangential=8.0)
    after = estimated(given)
    assert after.figures["moe"] is given.figures["moe"]
    assert after.figures["shrinkage_tangential"] is given.figures["shrinkage_tangential"]
    assert after.figures["density"] is given.figures["density"]


def test_a_figure_in_another_condition_stays_beside(wood: MakeWood) -> None:
    green = replace(wood("x", moe=8.0).figures["moe"].preferred, condition={"mc": "green"})
    held = wood("Green", density=616.0)
    held = replace(held, figures=held.figures | {"moe": Figures(None, (green,))})
    after = estimated(held)
    assert after.figures["moe"].others == (green,)
    preferred = after.figures["moe"].preferred
    assert preferred and preferred.value == 10.86


def test_it_is_pure(wood: MakeWood) -> None:
    held = wood("Pure", density=616.0)
    before = dict(held.figures)
    once = estimated(held)
    assert held.figures == before
    assert estimated(once) == once


@pytest.mark.parametrize("kind", ["engineered", "modified", "core"])
def test_made_sheets_get_nothing(kind: str, wood: MakeWood) -> None:
    sheet = wood("Sheet", kind=kind, density=616.0)
    assert estimated(sheet) is sheet
    (notice,) = estimate_notices([sheet])
    assert notice.message.startswith("Nothing is worked out for Sheet: the rules are of clear wood")


@pytest.mark.parametrize(
    ("held", "name", "value", "error", "from_"),
    [
        # both axes: 1.05 * (1 - 0.95 * 0.91) = 14.2275 %
        ({"radial": 5.0, "tangential": 9.0}, "volumetric", 14.23, 8, ("radial", "tangential")),
        # the volume: 0.36 and 0.61 of it in hardwoods
        ({"volumetric": 12.0}, "radial", 4.32, 15, ("volumetric",)),
        ({"volumetric": 12.0}, "tangential", 7.32, 10, ("volumetric",)),
        # the volume goes before the other axis, for it scatters less
        ({"volumetric": 12.0, "radial": 5.0}, "tangential", 7.32, 10, ("volumetric",)),
        # one axis: 5 * 0.61 / 0.36 = 8.472; 5 / 0.36 = 13.89
        ({"radial": 5.0}, "tangential", 8.472, 18, ("radial",)),
        ({"radial": 5.0}, "volumetric", 13.89, 15, ("radial",)),
        ({"tangential": 7.0}, "volumetric", 11.48, 10, ("tangential",)),
    ],
)
def test_shrinkage_comes_from_the_surest_of_what_is_held(
    held: dict[str, float], name: str, value: float, error: float, from_: tuple[str, ...], wood: MakeWood
) -> None:
    numbers = {f"shrinkage_{axis}": number for axis, number in held.items()}
    figure = made(wood("Axes", density=616.0, basic_density=500.0, **numbers), f"shrinkage_{name}")
    assert (figure.value, figure.added_error) == (value, error)
    assert figure.source == "rule-shrinkage-from-axes"
    assert figure.from_ == tuple(f"shrinkage_{axis}" for axis in from_)


def test_shrinkage_from_weight_alone(wood: MakeWood) -> None:
    # Wood Handbook Eq. 4-12: 26.5 * 0.50 = 13.25 %; 0.36 and 0.61 of it: 4.77 and 8.0825
    bare = wood("Bare", density=616.0, basic_density=500.0)
    assert [made(bare, name).value for name in SHRINKAGE] == [4.77, 8.082, 13.25]
    figure = made(bare, "shrinkage_radial")
    assert (figure.source, figure.from_) == ("rule-shrinkage-from-weight", ("basic_density",))
    assert figure.added_error == 33


def test_a_group_that_was_measured_is_still_named(wood: MakeWood) -> None:
    held = wood("Group", density=616.0)
    weight = replace(held.figures["density"].preferred, for_taxon="Lignum spp.")
    assert made(replace(held, figures={"density": Figures(weight)}), "moe").for_taxon == "Lignum spp."


@pytest.mark.parametrize("density", [150.0, 1350.0])
def test_a_wood_lighter_or_heavier_than_those_behind_the_rules_gets_no_guess_from_weight(
    density: float, wood: MakeWood
) -> None:
    odd = wood("Odd", density=density, basic_density=density / 1.2)
    assert {f.source for f in worked_out(estimated(odd))} == {"rule-class-ratios"}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    density=st.floats(60, 1450),
    basic=st.none() | st.floats(50, 1300),
    shrinkage=st.dictionaries(st.sampled_from(SHRINKAGE), st.floats(2, 15), max_size=2),
    group=st.sampled_from(["hardwood", "softwood"]),
)
def test_what_is_worked_out_lies_in_the_plausible_range_and_is_marked(
    wood: MakeWood, density: float, basic: float | None, shrinkage: dict[str, float], group: str
) -> None:
    numbers = {"density": density, **({} if basic is None else {"basic_density": basic}), **shrinkage}
    held = replace(wood("Any", **numbers), hardness_group=group)
    for figure in worked_out(estimated(held)):
        prop = PROPERTIES[figure.name]
        assert figure.name not in numbers
        assert prop.low <= figure.typical <= prop.high
        assert figure.evidence == "estimated" and figure.from_ and figure.added_error
        assert in_reference(figure.name, figure.condition) and figure.unit == prop.unit


def test_every_rule_stands_in_the_sources(catalogue: Catalogue) -> None:
    for rule in RULES:
        assert catalogue.sources[rule]["kind"] == "rule"
        assert "--estimates" in catalogue.sources[rule]["states"]


def _gaps(catalogue: Catalogue, group: str, name: str, *without: str) -> list[float]:
    """log(held over worked out) for every species of a group that holds a figure read or recalled."""
    out = []
    for material in catalogue.materials():
        figure = material.figure(name)
        if material.kind != "species" or material.hardness_group != group or figure is None:
            continue
        if figure.evidence == "estimated":
            continue
        left = {k: v for k, v in material.figures.items() if k not in (name, *without)}
        guess = estimated(replace(material, figures=left)).figure(name)
        if guess is not None:
            out.append(math.log(figure.typical / guess.typical))
    return out


def _spread(gaps: list[float]) -> float:
    """Root mean square [%]."""
    return 100 * math.sqrt(mean(gap**2 for gap in gaps))


@pytest.mark.parametrize("group", ["hardwood", "softwood"])
@pytest.mark.parametrize("name", estimates.REGRESSIONS)
def test_the_woods_held_scatter_about_the_regressions_as_we_say(
    name: str, group: str, catalogue: Catalogue
) -> None:
    gaps = _gaps(catalogue, group, name)
    assert len(gaps) > 10
    told = estimates.SCATTER[name][group]
    assert 0.6 * told < _spread(gaps) < 1.1 * told


@pytest.mark.parametrize("group", ["hardwood", "softwood"])
@pytest.mark.parametrize("name", SHRINKAGE)
def test_the_woods_held_scatter_about_the_shrinkage_of_their_weight_as_we_say(
    name: str, group: str, catalogue: Catalogue
) -> None:
    gaps = _gaps(catalogue, group, name, *SHRINKAGE)
    assert len(gaps) > 10
    told = estimates.SHRINKAGE_SCATTER[group]
    assert 0.7 * told < _spread(gaps) < 1.1 * told


def test_show_names_the_rule_and_the_error(catalogue: Catalogue) -> None:
    matched = Matched("dalbergia-retusa", "dalbergia-retusa", "id")
    plain, guessed = portrait(matched, catalogue, ON), portrait(matched, catalogue, ON, estimates=True)
    assert plain.material.figure("moe") is None
    heavy = next(s for s in guessed.sections if s.heading == "How heavy, how stiff?")
    moe = next(line.text for line in heavy.lines if line.text.startswith("Stiffness"))
    assert "(worked out, rule-strength-from-weight, from density, which adds about 16 % of error)" in moe
    assert guessed.as_dict()["figures"]["moe"]["evidence"] == "estimated"
    assert "estimates" in {n.code for n in guessed.notices} - {n.code for n in plain.notices}


def test_find_judges_by_estimates_only_when_asked(catalogue: Catalogue) -> None:
    limits = dict([limit("moe=14..17")])
    plain = find(Query(limits=limits), catalogue, ON)
    guessed = find(Query(limits=limits, estimates=True), catalogue, ON)
    ids = [{row.material.id for row in found.rows} for found in (plain, guessed)]
    assert "dalbergia-retusa" in ids[1] - ids[0] and ids[0] < ids[1]
    count = len(ids[1] - ids[0])
    assert any(f"Stiffness in bending of {count} woods is worked out by" in s for s in guessed.closing)
    assert guessed.as_dict()["query"]["estimates"] is True


def test_compare_names_the_rule_beside_each_guess(catalogue: Catalogue) -> None:
    pair = [Matched(i, i, "id") for i in ("juglans-nigra", "dalbergia-retusa")]
    found = compare(pair, catalogue, ON, estimates=True)
    cells = next(a.cells for a in found.aspects if a.name == "moe")
    assert cells[0] == "11.6 GPa (read in table)"
    assert "(worked out, rule-strength-from-weight, from density, which adds about 16 % of error)" in cells[1]
    assert found.as_dict()["query"]["estimates"] is True


def test_means_of_the_class_alone_are_no_comparison(catalogue: Catalogue) -> None:
    pair = [Matched(i, i, "id") for i in ("dalbergia-oliveri", "dalbergia-retusa")]
    aspects = {a.name for a in compare(pair, catalogue, ON, estimates=True).aspects}
    assert "moe" in aspects and "ratio_er_el" not in aspects
