"""Quantities, ranges and dates."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.errors import BadQuantity
from woodref.units import UNITS, convert, date, day_or_year, number, quantity, span, today


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        ("0.6", "0.6"),
        ("0,6", "0.6"),
        ("1,5", "1.5"),
        ("-3", "-3"),
        ("1e3", "1E+3"),
        (".5", "0.5"),
    ],
)
def test_numbers_people_write(text: str, value: str) -> None:
    assert number(text) == Decimal(value)


@pytest.mark.parametrize("text", ["1,500", "1.500,0", "1,2,3", "012", "", "x", "nan", "inf", "1 2 x", "--1"])
def test_numbers_that_are_refused(text: str) -> None:
    with pytest.raises(BadQuantity) as fault:
        number(text)
    assert fault.value.exit_code == 2


def test_a_bare_number_takes_the_unit_that_is_said_and_a_file_demands_one() -> None:
    assert quantity("0.6", "mm").unit == "mm"
    with pytest.raises(BadQuantity, match="has no unit"):
        quantity("0.6")


def test_a_unit_of_another_kind_is_named() -> None:
    with pytest.raises(BadQuantity, match="one is density, the other length"):
        convert(Decimal(1), "kg/m3", "mm")


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [("450..600", 450, 600), ("450..", 450, None), ("..600", None, 600), ("0.45 g/cm3..600", 450, 600)],
)
def test_ranges(text: str, low: float | None, high: float | None) -> None:
    found = span(text, "kg/m3")
    assert (found.low, found.high) == (low, high)


def test_a_unit_after_the_last_end_counts_for_both() -> None:
    found = span("28..37 lb/ft3", "kg/m3")
    # 1 lb/ft3 = 16.018463 kg/m3 (NIST SP 811, appendix B.8)
    assert found.low == pytest.approx(448.517, abs=1e-3)
    assert found.high == pytest.approx(592.683, abs=1e-3)


@pytest.mark.parametrize("text", ["450", "450-600", "..", "600..450", "a..b", "1..2..3", "450..600 mm"])
def test_ranges_that_are_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        span(text, "kg/m3")


@given(st.sampled_from(sorted(UNITS)), st.decimals("-1e6", "1e6", places=4))
def test_there_and_back_is_the_same(unit: str, value: Decimal) -> None:
    kind = UNITS[unit][0]
    for other, (its, _) in UNITS.items():
        if its == kind:
            back = convert(convert(value, unit, other), other, unit)
            assert abs(back - value) <= Decimal("1e-15") * max(1, abs(value))


def test_the_day_is_pinned_and_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WOODREF_TODAY", "2026-03-05")
    assert today() == dt.date(2026, 3, 5)
    monkeypatch.setenv("WOODREF_TODAY", "tomorrow")
    with pytest.raises(BadQuantity, match="WOODREF_TODAY"):
        today()
    monkeypatch.delenv("WOODREF_TODAY")
    assert today() == dt.date.today()


def test_a_year_or_month_alone_stands_for_its_last_day() -> None:
    assert day_or_year("1968") == dt.date(1968, 12, 31)
    assert day_or_year("2024-02") == dt.date(2024, 2, 29)
    assert day_or_year("9999-12") == dt.date(9999, 12, 31)
    with pytest.raises(BadQuantity):
        date("1968")


@pytest.mark.parametrize("text", ["1" * 21, "1." + "1" * 20, "1." + "1" * 100_000, "9" * 1_000_000])
def test_a_number_of_more_digits_than_a_conversion_keeps_is_refused(text: str) -> None:
    for read in (number, lambda t: quantity(t, "mm")):
        with pytest.raises(BadQuantity, match="is no number that wood needs") as refused:
            read(text)
        assert len(str(refused.value)) < 200
    assert number("1." + "1" * 19) == Decimal("1." + "1" * 19)
