"""The map of a user's own list: what it takes, and that each fault is told with its line."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from woodref.catalogue.owncell import Writing, band, length, plain_number, price, tidy
from woodref.catalogue.ownmap import read_map
from woodref.errors import BadList, BadQuantity

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
GOOD = """\
list: shop
title: A list
source: {title: T, licence: none stated, date: 2026-03-01, got: by hand}
columns:
  name: Wood
  density: {column: Weight, unit: kg/m3, moisture: 12}
"""


def told(text: str) -> str:
    """Everything that is said of a map that cannot be read."""
    with pytest.raises(BadList) as caught:
        read_map(text.encode(), "map.yaml")
    return "\n".join([str(caught.value), *(f"{c.name}: {c.says}" for c in caught.value.candidates)])


def test_the_demo_map_says_what_each_column_means() -> None:
    by = read_map((DEMO / "lists" / "harrow-veneers.yaml").read_bytes(), "harrow-veneers.yaml")
    assert (by.list_id, by.separator, by.writing) == ("harrow-veneers", ";", Writing(",", "."))
    assert by.source.date == dt.date(2026, 3, 1)
    assert by.columns == (
        "Wood", "Latin", "Weight", "Price", "For", "Thickness", "Cut", "Remarks", "Order no.",
    )  # fmt: skip
    assert by.left_out == ("Bay",)
    (figure,) = by.figures
    assert (figure.property, figure.condition, figure.evidence) == (
        "density",
        {"mc": 12.0},
        "common-practice",
    )
    assert by.price is not None and (by.price.per, by.price.per_column) == (None, "For")


@pytest.mark.parametrize(
    ("moisture", "name", "condition"),
    [
        ("12", "density", {"mc": 12.0}),
        ("air-dry", "density", {"mc": "air-dry"}),
        ("not-stated", "density", {"mc": "not-stated"}),
        ("basic", "basic_density", {"mass": "oven-dry", "volume": "green"}),
    ],
)
def test_a_moisture_decides_which_figure_a_column_holds(
    moisture: str, name: str, condition: dict[str, object]
) -> None:
    (figure,) = read_map(GOOD.replace("moisture: 12", f"moisture: {moisture}").encode(), "m").figures
    assert (figure.property, figure.condition) == (name, condition)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("list: shop", "lits: shop", 'map.yaml:1: "lits" is not known here (did you mean "list"?)'),
        ("list: shop", "list: My Shop", 'map.yaml:1: "My Shop" is no id of a list'),
        ("list: shop", "list: ../shop", "is no id of a list"),
        ("list: shop", f"list: {'a' * 41}", "is no id of a list"),
        ("title: A list\n", "", "map.yaml:1: title is missing"),
        ("licence: none stated, ", "", "map.yaml:3: licence is missing"),
        ("2026-03-01", "March", 'map.yaml:3: "March" is not a date'),
        ("source:", "sauce:", 'did you mean "source"?'),
        ("  name: Wood\n", "", "map.yaml:4: no column of names"),
        ("moisture: 12", "moisture: dry", 'map.yaml:6: moisture "dry" is not known'),
        (", moisture: 12", "", "map.yaml:6: moisture is missing"),
        ("moisture: 12", "moisture: true", "is not known"),
        ("unit: kg/m3", "unit: GPa", '"GPa" is no unit of density'),
        ("unit: kg/m3", "unit: stone", '"stone" is not a unit I know'),
        ("column: Weight, ", "", "map.yaml:6: column is missing"),
        ("column: Weight", "colum: Weight", 'did you mean "column"?'),
        ("column: Weight", "column: Wood", 'map.yaml:4: the column "Wood" is named twice'),
        ("columns:", "decimal: dot\ncolumns:", 'map.yaml:4: decimal "dot" is not known'),
        ("columns:", "thousands: point\ncolumns:", "decimal and thousands are one mark"),
        ("columns:", "separator: pipe\ncolumns:", "comma, semicolon, tab, bar"),
        ("columns:", "leave-out: [2020]\ncolumns:", '"2020" is no name of a column'),
        ("name: Wood", "name: [Wood]", "name is no name of a column"),
        ("  name: Wood", "  name: Wood\n  price: {column: P, currency: euro}", '"euro" is no code'),
        ("  name: Wood", "  name: Wood\n  price: {column: P, currency: EUR}", "per is missing"),
        ("  name: Wood", "  name: Wood\n  price: {column: P, currency: EUR, per: foot}", 'per "foot"'),
    ],
)  # fmt: skip
def test_what_a_map_says_wrong_is_told_with_its_line(old: str, new: str, says: str) -> None:
    assert old in GOOD
    assert says in told(GOOD.replace(old, new))


@pytest.mark.parametrize("text", ["", "[]", "just words", "list: [a", "list: &a b\ntitle: *a\n", "a: 012\n"])
def test_what_is_no_map_is_refused(text: str) -> None:
    assert "map.yaml:" in told(text)


def test_all_faults_of_a_map_are_told_together() -> None:
    said = told(GOOD.replace("list: shop", "list: X Y").replace("kg/m3", "stone").replace("date:", "day:"))
    assert "4 things in map.yaml cannot be read" in said
    assert said.count("map.yaml:") >= 4


def test_numbers_are_read_as_the_map_says_they_are_written() -> None:
    comma, point = Writing(",", "."), Writing()
    assert plain_number("1.480,50", comma) == "1480.50"
    assert plain_number("0,634", comma) == "0.634"
    assert str(band("0,62", comma, "g/cm3", "kg/m3").value) == "620.00"
    assert band("600-650", point, "kg/m3", "kg/m3").high == 650
    assert f"{band('38 lb/ft3', point, 'kg/m3', 'kg/m3').value:.1f}" == "608.7"
    assert length("0,6", comma, "mm") == length("0.6 mm", point, "in")
    assert str(price("€ 14,20", comma, "EUR")) == "14.20"
    assert str(price("1.480,00", comma, "EUR")) == "1480.00"


@pytest.mark.parametrize("text", ["1,234", "12,50", "a", "", "1e99", "٣", "600-", "650-600", "NaN", "12 GPa"])
def test_a_number_written_otherwise_is_never_guessed_at(text: str) -> None:
    with pytest.raises(BadQuantity):
        band(text, Writing(), "kg/m3", "kg/m3")


@pytest.mark.parametrize("text", ["-5", "0", "14.20 GBP", "$14", "1,4,2", "9" * 30, "=1+1"])
def test_what_is_no_price_is_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        price(text, Writing(), "EUR")


def test_a_cell_holds_what_can_be_seen() -> None:
    assert tidy("  black\u00a0 walnut ") == "black walnut"
    for wrong in ("a\u200bb", "\x1b[31m", "x" * 2_001):
        with pytest.raises(BadQuantity):
            tidy(wrong)
