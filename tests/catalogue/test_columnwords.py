"""Every column of the built catalogue has words, with a unit where it holds a number."""

from __future__ import annotations

import re

import pytest

from woodref.catalogue.columnwords import hidden_tables, table_words
from woodref.catalogue.reader import Catalogue

NUMBERS = ("INTEGER", "FLOAT", "REAL", "NUMERIC")


def columns(catalogue: Catalogue, table: str) -> dict[str, str]:
    """Column -> type; of a view the type of what it holds."""
    rows = catalogue.rows("SELECT name, type FROM pragma_table_info(?)", (table,))
    return {row["name"]: row["type"].upper() for row in rows}


def test_every_table_has_words_and_every_word_a_table(catalogue: Catalogue) -> None:
    held = {
        row["name"]
        for row in catalogue.rows("SELECT name FROM sqlite_master WHERE type IN ('table', 'view')")
    }
    assert held == set(table_words()) | hidden_tables()
    assert all(words.title and words.says.endswith(".") for words in table_words().values())


@pytest.mark.parametrize("table", sorted(table_words()))
def test_every_column_has_words_and_every_word_a_column(table: str, catalogue: Catalogue) -> None:
    words = table_words()[table]
    assert set(columns(catalogue, table)) == set(words.columns)
    assert set(words.facets) <= set(words.columns)
    assert all(says.endswith(".") for says in words.columns.values())


@pytest.mark.parametrize("table", sorted(table_words()))
def test_a_number_has_its_unit(table: str, catalogue: Catalogue) -> None:
    for name, kind in columns(catalogue, table).items():
        held = catalogue.rows(f"SELECT DISTINCT typeof({name}) AS t FROM {table}")
        number = kind in NUMBERS or {r["t"] for r in held} & {"integer", "real"}
        if number:
            assert re.search(r"\[.+\]\.$", table_words()[table].columns[name]), f"{table}.{name} has no unit"
