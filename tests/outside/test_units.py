"""The factors of the unit table against pint, which keeps its own table of definitions."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest

from woodref.units import UNITS

#: our spelling -> pint's expression, where the two differ
SPELT = {
    "kg/m3": "kg/m**3",
    "g/cm3": "g/cm**3",
    "lb/ft3": "lb/ft**3",
    "N/mm2": "N/mm**2",
    "10^3 psi": "1000 psi",
    "10^6 psi": "1000000 psi",
    "in": "inch",
    "kJ/m3": "kJ/m**3",
    "in-lbf/in3": "inch * lbf / inch**3",
    "g/m2": "g/m**2",
    "kg/m2": "kg/m**2",
    "%": "percent",
    "1": "dimensionless",
}
#: units that pint does not know, with what is checked instead
UNKNOWN = {
    "1/42 in": "a veneer trade's fraction: 42 of them make an inch",
    "% per %": "percent of size per percent of moisture: a kind of its own with one unit",
}

#: the unit each kind is kept in (its first, with factor 1)
KEPT = {kind: next(u for u, (k, _) in UNITS.items() if k == kind) for kind, _ in UNITS.values()}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[Decimal]:
    return pint.UnitRegistry(non_int_type=Decimal)


def test_every_kind_is_kept_in_a_unit_of_factor_one() -> None:
    assert all(UNITS[unit][1] == 1 for unit in KEPT.values())


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit not in UNKNOWN])
def test_factor_is_that_of_pint(registry: pint.UnitRegistry[Decimal], unit: str) -> None:
    kind, factor = UNITS[unit]
    kept = KEPT[kind]
    expression, target = SPELT.get(unit, unit), SPELT.get(kept, kept)
    theirs = Decimal(registry.Quantity(expression).to(target).magnitude)
    # both are exact definitions; Decimal keeps 28 digits on the way
    assert abs(theirs - factor) <= abs(factor) * Decimal("1e-24")


def test_what_pint_does_not_know() -> None:
    assert 42 * UNITS["1/42 in"][1] == pytest.approx(UNITS["in"][1], rel=Decimal("1e-26"))
    assert [unit for unit, (kind, _) in UNITS.items() if kind == UNITS["% per %"][0]] == ["% per %"]


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("in", "25.4"),  # NIST SP 811, appendix B.8: exact
        ("lb", "453.59237"),  # g, exact
        ("lbf", "4.4482216152605"),  # N, exact: 0.45359237 kg x 9.80665 m/s2
    ],
)
def test_factor_is_that_of_the_definition(unit: str, factor: str) -> None:
    assert UNITS[unit][1] == Decimal(factor)
