"""Rows as CSV: complete, in order, and safe in a spreadsheet."""

from __future__ import annotations

import csv
import io

import pytest
from click.testing import CliRunner

from woodref.catalogue.export import safe
from woodref.cli.main import main


def rows(*words: str) -> list[dict[str, str]]:
    result = CliRunner().invoke(main, [*words, "--csv"])
    assert result.exit_code == 0, result.output
    return list(csv.DictReader(io.StringIO(result.stdout)))


def test_substitute_and_find_give_their_rows_with_units_in_the_names() -> None:
    found = rows("substitute", "teak", "--rows", "5")
    assert [r["rank"] for r in found] == ["1", "2", "3", "4", "5"]
    assert {"density_kg_m3", "moe_gpa", "origins_free"} <= set(found[0])
    plain = rows("find", "--with", "density=..400")
    assert plain and all(float(r["density_kg_m3"]) <= 400 for r in plain)
    assert rows("listings", "Swietenia")[0]["regime"] == "CITES"


@pytest.mark.parametrize(
    ("value", "cell"),
    [("=1+1", "'=1+1"), ("@x", "'@x"), ("-x", "'-x"), (-3.5, "-3.5"), (None, ""), (["A", "B"], "A; B")],
)
def test_no_cell_reads_as_a_formula(value: object, cell: str) -> None:
    assert safe(value) == cell
