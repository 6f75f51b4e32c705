"""One line of a figure broken at a time: the finding names that file, that line, that field."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from woodref.catalogue.findings import Finding

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]
Findings = Callable[[], list[Finding]]

FICTA = "species/ligna-ficta.yaml"
DYED = "engineered/dyed-ficta.yaml"
#: the three lines of the moe figure that stand nowhere else
MOE = "value: 1.6\n      unit: 10^6 psi"

#: what is broken -> (file, text, text put in its place, text on the line that must be named, field, gist)
BROKEN: dict[str, tuple[str, str, str, str, str, str]] = {
    "a figure without unit": (
        FICTA,
        MOE,
        "value: 1.6",
        "value: 1.6",
        "figures.moe.0.unit",
        '"unit" is missing',
    ),
    "a unit misspelt": (FICTA, MOE, "value: 11\n      unit: Gpa", "Gpa", "figures.moe.0.unit", "not a unit"),
    "a unit of another kind": (
        FICTA,
        MOE,
        "value: 11\n      unit: N # here",
        "# here",
        "figures.moe.0.unit",
        "does not measure moe; expected one of MPa",
    ),
    "grams taken for kilograms": (
        FICTA,
        "value: 610\n      unit: kg/m3",
        "value: 64\n      unit: g/cm3",
        "value: 64",
        "figures.density.0.value",
        "64 g/cm3 = 64000 kg/m3 is outside what wood does (60 to 1450 kg/m3); is it in g/cm3",
    ),
    "a range whose end is too high": (
        FICTA,
        "{low: 85, high: 95,",
        "{low: 85, high: 950,",
        "high: 950",
        "figures.mor.1.high",
        "950 MPa is outside what wood does (10 to 300 MPa)",
    ),
    "a range upside down": (
        FICTA,
        "{low: 85, high: 95,",
        "{low: 95, high: 85,",
        "high: 85",
        "figures.mor.1",
        "above",
    ),
    "a property nobody knows": (FICTA, "  moe:\n", "  e_modulus:\n", "id: l", "", "figures.e_modulus is not"),
    "tangential below radial": (
        FICTA,
        "value: 8\n",
        "value: 3.5\n",
        "value: 3.5",
        "figures.shrinkage_tangential.0",
        "tangential 3.5 is below radial 4: swapped?",
    ),
    "a rule cited by a quoted figure": (
        FICTA,
        "source: fpl-gtr-190\n      locator: Table 5-3b",
        "source: rule-density-12\n      locator: Table 5-3b",
        "source: rule-density-12\n      locator",
        "figures.moe.0.source",
        "a rule is cited by estimated figures and by nothing else",
    ),
    "a document cited by an estimate": (
        FICTA,
        "source: rule-density-12",
        "source: powo # here",
        "# here",
        "figures.density.1.source",
        "a rule is cited by estimated figures and by nothing else",
    ),
    "an estimate its rule no longer gives": (
        FICTA,
        "value: 603",
        "value: 623",
        "value: 623",
        "figures.density.1",
        "rule-density-12 now gives value 603.4 kg/m3: take it over",
    ),
    "an estimate that rests on nothing known": (
        FICTA,
        "from: [basic_density, shrinkage_volumetric]",
        "from: [basic_density, weight_when_wet]",
        "weight_when_wet",
        "figures.density.1.from.1",
        '"weight_when_wet" is neither a property',
    ),
    "a number where text is wanted": (
        FICTA,
        "locator: Table 5-3b",
        "locator: 44.10",
        "locator: 44.10",
        "figures.moe.0.locator",
        "put it in quotes",
    ),
}


@pytest.mark.parametrize("case", BROKEN.values(), ids=BROKEN.keys())
def test_the_finding_names_the_file_the_line_and_the_field(
    case: tuple[str, str, str, str, str, str], tells: Callable[[tuple[str, ...]], None]
) -> None:
    tells(case)


@pytest.mark.parametrize("side", ["radial", "tangential"])
def test_tangential_below_radial_passes_when_a_note_says_why(
    side: str, edit: Edit, findings: Findings
) -> None:
    edit(FICTA, "value: 8\n", "value: 3.5\n")
    edit(
        FICTA,
        f"  shrinkage_{side}:\n    - value",
        f"  shrinkage_{side}:\n    - note: printed so\n      value",
    )
    assert findings() == []


def test_figures_of_two_sources_are_not_held_against_each_other(edit: Edit, findings: Findings) -> None:
    # two laboratories may well part further than the two directions of one board
    old = 'value: 8\n      unit: "%"\n      condition: {from: green, to: oven-dry}\n      source: fpl-gtr-190'
    edit(FICTA, old, old.replace("value: 8", "value: 3.5").replace("190", "282"))
    assert findings() == []


def test_an_estimate_follows_when_what_it_rests_on_is_changed(edit: Edit, findings: Findings) -> None:
    # the dyed sheet's figure is the base's: 5 % in the base leaves 4 % in the sheet behind
    edit(FICTA, "value: 4\n", "value: 5\n")
    (only,) = findings()
    assert (only.file, only.field) == (DYED, "figures.shrinkage_radial.0")
    assert "rule-dyed-as-base now gives value 5 %" in only.says


def test_a_base_without_the_figure_leaves_the_estimate_nothing_to_stand_on(
    edit: Edit, findings: Findings
) -> None:
    edit(DYED, "base: ligna-ficta", "base: ligna-altera")
    edit(DYED, "woods: [ligna-ficta]", "woods: [ligna-altera]")
    found = findings()
    assert {f.field for f in found} == {"figures.density.0", "figures.shrinkage_radial.0"}
    assert all("finds nothing to work from" in f.says for f in found)


#: numbers that no source prints -> text in the file, text put in its place
NO_NUMBERS = {
    "a range of nothing": ("value: 500\n", "low: 0\n      high: 0\n"),
    "a figure without end": ("value: 1.6\n", "value: 1e400\n"),
    "more digits than can be read": ("value: 1.6\n", f"value: {'9' * 5000}\n"),
    "an error without end": ("added_error: 3\n", "added_error: 1e400\n"),
    "a colour without end": ("lab: [70, 8, 25]", "lab: [70, 1e400, 25]"),
    "a leaf wider at its narrow end": ("{low: 150, high: 300}", "{low: 300, high: -150}"),
    "wood wetter than without end": ("{mc: 12, method: ultrasound}", "{mc: 1e400, method: ultrasound}"),
}


@pytest.mark.parametrize(("old", "new"), NO_NUMBERS.values(), ids=NO_NUMBERS.keys())
def test_a_number_that_no_source_prints_is_told_with_its_line(
    old: str, new: str, edit: Edit, at: At, findings: Findings
) -> None:
    edit(FICTA, old, new)
    told = [f for f in findings() if f.file == FICTA]
    assert at(FICTA, new) in {f.line for f in told}, [str(f) for f in told]
