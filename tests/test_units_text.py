"""Text that becomes a number, a quantity, a range or a day: what is taken, and what each refusal says."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from woodref.errors import BadQuantity, WoodrefError
from woodref.units import (
    UNITS,
    Quantity,
    Range,
    convert,
    date,
    number,
    quantity,
    span,
    today,
    unit_named,
    units_of,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0", "0"),
        ("-0.5", "-0.5"),
        ("+7", "7"),
        (" 450 ", "450"),
        ("−3", "-3"),  # the minus of a typesetter
        ("12,75", "12.75"),
        ("0,1234", "0.1234"),
        ("1.500", "1.500"),
        ("2.5e-3", "0.0025"),
        ("0.10", "0.10"),
    ],
)
def test_a_number_is_taken_as_it_stands(text: str, value: str) -> None:
    found = number(text)
    assert found == Decimal(value)
    # 0.1 stays a tenth: nothing has gone through a binary fraction
    assert isinstance(found, Decimal) and str(found) == value


#: text -> the whole sentence that refuses it
REFUSED = {
    "1,500": '"1,500" can be read in two ways. '
    "Expected: a decimal point and no thousands mark, such as 1500 or 1.5.",
    "1.500,5": '"1.500,5" can be read in two ways. '
    "Expected: a decimal point and no thousands mark, such as 1500 or 1.5.",
    "012": '"012" begins with a zero. Expected: a plain number such as 12.',
    "-012.5": '"-012.5" begins with a zero. Expected: a plain number such as 12.',
    "": '"" is not a number. Expected: a number such as 0.6.',
    "--1": '"--1" is not a number. Expected: a number such as 0.6.',
    "0x1F": '"0x1F" is not a number. Expected: a number such as 0.6.',
    "nan": '"nan" is no number that wood needs. Expected: a number such as 0.6.',
    "-Infinity": '"-Infinity" is no number that wood needs. Expected: a number such as 0.6.',
    "1e999999": '"1e999999" is no number that wood needs. Expected: a number such as 0.6.',
}


@pytest.mark.parametrize(("text", "sentence"), REFUSED.items())
def test_a_refused_number_is_told_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(BadQuantity) as fault:
        number(text)
    assert str(fault.value) == sentence
    assert (fault.value.code, fault.value.exit_code) == ("bad-quantity", 2)


@pytest.mark.parametrize("text", ["1_000", "１２", "١٢", "012e3", "00.5e1"])
def test_what_only_a_program_would_call_a_number_is_refused(text: str) -> None:
    # digits of other scripts, marks of program text, zeros before a power: typing slips in a workshop
    with pytest.raises(BadQuantity):
        number(text)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12 mm", "12", "mm"),
        ("12mm", "12", "mm"),
        ("0,6 mm", "0.6", "mm"),
        ('3"', "3", "in"),
        (".5 inch", ".5", "in"),
        ("28 pcf", "28", "lb/ft3"),
        ("0.45 g/cm³", "0.45", "g/cm3"),
        ("1.6 Mpsi", "1.6", "10^6 psi"),
        ("5   10^3   psi", "5", "10^3 psi"),
        ("1 1/42 in", "1", "1/42 in"),
        ("-5 %", "-5", "%"),
        ("−5 %", "-5", "%"),
        ("1e3 kg/m3", "1000", "kg/m3"),
    ],
)
def test_a_quantity_is_a_number_and_a_unit(text: str, value: str, unit: str) -> None:
    assert quantity(text) == Quantity(Decimal(value), unit)


@pytest.mark.parametrize(
    ("text", "bare", "sentence"),
    [
        ("12", None, '"12" has no unit. Expected: a unit such as 12 mm.'),
        ("mm", None, '"mm" does not begin with a number. Expected: a quantity such as 12 mm.'),
        ("heavy", "kg/m3", '"heavy" does not begin with a number. Expected: a quantity such as 12 kg/m3.'),
        ("", "mm", '"" does not begin with a number. Expected: a quantity such as 12 mm.'),
    ],
)
def test_a_quantity_that_says_too_little_is_told_what_is_missing(
    text: str, bare: str | None, sentence: str
) -> None:
    with pytest.raises(BadQuantity) as fault:
        quantity(text, bare)
    assert str(fault.value) == sentence


def test_an_unknown_unit_is_answered_with_all_known_ones() -> None:
    with pytest.raises(BadQuantity) as fault:
        quantity("5 furlongs")
    assert fault.value.message == '"furlongs" is not a unit I know'
    assert fault.value.expected == f"one of {', '.join(UNITS)}"


def test_a_unit_of_another_kind_is_answered_with_those_of_the_right_one() -> None:
    with pytest.raises(BadQuantity) as fault:
        Quantity(Decimal(450), "kg/m3").to("GPa")
    assert str(fault.value) == (
        "450 kg/m3 cannot be given in GPa: one is density, the other stress. "
        "Expected: a unit of stress: MPa, N/mm2, kPa, GPa, psi, 10^3 psi, 10^6 psi."
    )


@pytest.mark.parametrize(
    ("text", "to", "value"),
    [
        # exact by definition: NIST SP 811, appendix B.8
        ("1 in", "mm", "25.4"),
        ("1 ft", "mm", "304.8"),
        ("42 1/42 in", "in", "1"),
        ("1 lb", "g", "453.59237"),
        ("1 lbf", "N", "4.4482216152605"),
        ("1 GPa", "MPa", "1000"),
        ("1 N/mm2", "MPa", "1"),
        ("1 g/cm3", "kg/m3", "1000"),
        ("1 kg/m2", "g/m2", "1000"),
    ],
)
def test_an_exact_factor_stays_exact(text: str, to: str, value: str) -> None:
    # the unit of 1/42 in has no end in decimals: 28 digits are kept
    assert abs(quantity(text).to(to).value - Decimal(value)) <= Decimal("1e-25")


@pytest.mark.parametrize(
    ("text", "to", "value"),
    [
        ("1 lb/ft3", "kg/m3", 16.01846),  # NIST SP 811, appendix B.8
        ("1 psi", "kPa", 6.894757),  # NIST SP 811, appendix B.8
        ("1 in-lbf/in3", "kJ/m3", 6.894757),  # inch x lbf / inch3 = psi
    ],
)
def test_a_factor_is_that_of_the_published_table(text: str, to: str, value: float) -> None:
    assert float(quantity(text).to(to).value) == pytest.approx(value, rel=1e-6)


def test_units_of_a_kind_are_listed_with_the_kept_one_first() -> None:
    assert units_of("lb/ft3") == ["kg/m3", "g/cm3", "lb/ft3"]
    assert unit_named(" kg/m³ ") == "kg/m3"


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("450..600", 450, 600),
        (" 450 .. 600 ", 450, 600),
        ("450..", 450, None),
        ("..600", None, 600),
        ("450..450", 450, 450),
        ("0,45..0,6 g/cm3", 450, 600),
        ("0.45 g/cm3..600 kg/m3", 450, 600),
        (".5..1.5", 0.5, 1.5),
        ("-5..5", -5, 5),
        ("−5..5", -5, 5),
    ],
)
def test_a_range_has_one_end_or_two(text: str, low: float | None, high: float | None) -> None:
    assert span(text, "kg/m3") == Range(low, high, "kg/m3")


#: range as typed -> the whole sentence that refuses it
NO_RANGES = {
    "450": '"450" is not a range. Expected: LOW..HIGH, LOW.. or ..HIGH in kg/m3, such as 450..600.',
    "1..2..3": '"1..2..3" is not a range. Expected: LOW..HIGH, LOW.. or ..HIGH in kg/m3, such as 450..600.',
    "600..450": '"600..450" runs backwards. Expected: the smaller end first: 450..600.',
    "450..600 MPa": "450 MPa cannot be given in kg/m3: one is stress, the other density. "
    "Expected: a unit of density: kg/m3, g/cm3, lb/ft3.",
}


@pytest.mark.parametrize(("text", "sentence"), NO_RANGES.items())
def test_what_is_no_range_is_told_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(BadQuantity) as fault:
        span(text, "kg/m3")
    assert str(fault.value) == sentence


def test_the_sentence_on_a_range_without_ends_shows_a_range_that_is_taken() -> None:
    with pytest.raises(BadQuantity) as fault:
        span("..", "kg/m3")
    # two points belong to the example, a third would spoil it
    assert not str(fault.value).endswith("...")


def test_three_points_are_no_range_and_not_a_small_number() -> None:
    with pytest.raises(BadQuantity, match="is not a range"):
        span("450...600", "kg/m3")


def test_a_range_holds_its_ends() -> None:
    found = span("450..600", "kg/m3")
    assert [found.holds(v) for v in (449.9, 450, 600, 600.1)] == [False, True, True, False]
    assert all(span("450..", "kg/m3").holds(v) for v in (450, 1e9))
    assert [str(span(t, "kg/m3")) for t in ("450..600", "450..", "..0.5 g/cm3")] == [
        "450..600 kg/m3",
        "450.. kg/m3",
        "..500 kg/m3",
    ]


@given(st.text(max_size=30))
@example("9e99..")
@example("1e999..1e9999 g/cm3")
def test_any_text_is_a_range_or_a_sentence(text: str) -> None:
    try:
        found = span(text, "kg/m3")
    except WoodrefError as fault:
        assert fault.exit_code == 2 and str(fault)
    else:
        assert found.low is None or found.high is None or found.low <= found.high


@given(st.decimals("-1e9", "1e9", places=6), st.sampled_from(sorted(UNITS)))
def test_a_quantity_written_out_is_read_back_as_itself(value: Decimal, unit: str) -> None:
    text = f"{value:f}"
    assert quantity(f"{text} {unit}") == Quantity(value, unit)
    if "." in text and len(text.split(".")[1]) != 3:
        assert number(text.replace(".", ",")) == value


@given(st.decimals("0.001", "1e6", places=3), st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_the_larger_stays_the_larger_in_another_unit(value: Decimal, unit: str, other: str) -> None:
    if UNITS[unit][0] != UNITS[other][0]:
        with pytest.raises(BadQuantity):
            convert(value, unit, other)
        return
    assert convert(value, unit, other) < convert(value * 2, unit, other)


@pytest.mark.parametrize(
    "text", ["2026-3-5", "05.03.2026", "2026-02-30", "2026-13-01", "", "today", " 2026-03-05"]
)
def test_what_is_no_day_is_refused_with_the_form_of_one(text: str) -> None:
    with pytest.raises(BadQuantity, match=r"is not a date\. Expected: YYYY-MM-DD, such as 2026-03-05\.$"):
        date(text)


@pytest.mark.parametrize("text", ["20260305", "2026-W10-4", "2026W104"])
def test_a_day_is_read_in_the_one_form_that_is_promised(text: str) -> None:
    with pytest.raises(BadQuantity):
        date(text)


def test_the_clock_is_pinned_by_the_environment_and_says_so_when_it_cannot_be_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("WOODREF_TODAY", "2024-02-29")
    assert today() == dt.date(2024, 2, 29)
    monkeypatch.setenv("WOODREF_TODAY", "2023-02-29")
    with pytest.raises(BadQuantity) as fault:
        today()
    assert str(fault.value).startswith('WOODREF_TODAY: "2023-02-29" is not a date.')
    monkeypatch.setenv("WOODREF_TODAY", "")
    assert abs((today() - dt.date.today()).days) <= 1  # midnight may pass between the two
