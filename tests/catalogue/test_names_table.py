"""Shared and tricky names with the answer a merchant would give (data/names_table.csv).

The answers were written down from the practice of the trade before the program was asked. answers is an
id (that wood answers), ask (a question that offers at least these, ids or Latin names), suggest (no such
name, but at least these are offered) or not (whatever happens, none of these answers).
"""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import pytest

from woodref.catalogue.names import kind_words, resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import SharedName, UnknownName

DAY = dt.date(2026, 6, 1)
TABLE = Path(__file__).parent / "data" / "names_table.csv"


def table() -> list[dict[str, str]]:
    """The rows as they stand, spaces and all."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = table()


@pytest.mark.parametrize("row", ROWS, ids=[f"{r['typed'].strip()}-{r['region'] or 'anywhere'}" for r in ROWS])
def test_a_name_answers_or_asks_as_the_trade_would(row: dict[str, str], catalogue: Catalogue) -> None:
    named = {part.strip() for part in row["offered"].split(";") if part.strip()}
    try:
        found = resolve(row["typed"], catalogue, DAY, row["region"] or None)
    except (SharedName, UnknownName) as fault:
        assert row["answers"] == "not" or isinstance(
            fault, SharedName if row["answers"] == "ask" else UnknownName
        )
        # a wood taken into the catalogue later is still known by its Latin name
        offered = {c.id or c.name for c in fault.candidates}
        offered |= {catalogue.material(c.id).botanical_name or "" for c in fault.candidates if c.id}
        assert row["answers"] in ("ask", "suggest", "not"), f"{fault}: {sorted(offered)}"
        if row["answers"] != "not":
            assert fault.candidates
            assert named <= offered, row["why"]
    else:
        if row["answers"] == "not":
            assert found.id not in named, row["why"]
        else:
            assert found.id == row["answers"], row["why"]


def test_the_table_is_long_enough_and_asks_each_name_once_a_region() -> None:
    asked = [(r["typed"], r["region"]) for r in ROWS]
    assert len(set(asked)) == len(asked) >= 90
    assert all(r["why"] for r in ROWS)
    for answer in ("ask", "suggest", "not"):
        assert sum(r["answers"] == answer for r in ROWS) >= 9


def test_the_beginning_of_a_name_answers_with_a_notice_and_says_so(catalogue: Catalogue) -> None:
    found = resolve("afrorm", catalogue, DAY)
    assert (found.id, found.name, found.kind) == ("pericopsis-elata", "afrormosia", "prefix")
    (notice,) = found.notices
    assert notice.code == "name-in-part"
    assert notice.message == (
        '"afrorm" is taken as the beginning of "afrormosia": no other name here begins so.'
    )
    assert kind_words(found.kind) == "a name typed in part"


@pytest.mark.parametrize(
    "typed",
    [
        "afr",  # three letters
        "Bombay",  # half a name
        "Pericopsis",  # a genus
        "Acer sacch",  # sugar maple, but silver maple as well, which is not held
        "padou",  # a name that woods share
    ],
)
def test_too_little_of_a_name_is_only_asked_about(typed: str, catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        resolve(typed, catalogue, DAY)
    assert fault.value.candidates


def test_a_whole_name_goes_before_the_beginning_of_another(catalogue: Catalogue) -> None:
    # some of them begin longer names: the name itself is never a beginning
    for typed in ("koa", "teak", "Tanne", "red alder", "sapele"):
        try:
            assert resolve(typed, catalogue, DAY).kind != "prefix"
        except SharedName:
            continue
