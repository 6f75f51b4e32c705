"""The rows outside the handbook's tables that are left out, and the tables that say whose rows they are.

Sources: those of test_other_rows.py. An excuse names one row by file, line and words; the reasons that
can be laid beside the catalogue are laid beside it here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import pytest

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.properties import PROPERTIES

Rows = Callable[[str], list[dict[str, str]]]
Copied = Mapping[tuple[str, int], Mapping[str, str]]

FILES = {
    "other_sources.csv": 154,
    "other_sources2.csv": 520,
    "other_sources3.csv": 404,
    "anc18_1951_moisture_correction_pct_per_1pct_mc.csv": 9,
}
NOT_OURS = "the species is not in the catalogue"
LACKS = re.compile("(.*) (?:is|are) not in the abstract: a swatch needs")


@pytest.fixture(scope="module")
def copied(rows: Rows) -> Copied:
    """Every copied row under its file and line."""
    return {(file, line): row for file in FILES for line, row in enumerate(rows(file), start=2)}


@pytest.fixture(scope="module")
def latin(dataset: DataSet) -> dict[str, list[str]]:
    """The species of the catalogue -> accepted name and synonyms."""
    models = [loaded.model for loaded in dataset.materials.values()]
    return {
        m.id: [m.botanical.name, *m.botanical.synonyms] for m in models if m.botanical and m.kind == "species"
    }


def species(row: Mapping[str, str]) -> str:
    return row.get("species") or row["binomial"]


def test_the_copies_are_whole(rows: Rows, digest: Callable[[str], str]) -> None:
    sums = {row["file"]: row["sha256"] for row in rows("copies_sha256.csv")}
    assert {file: digest(file) for file in FILES} == {file: sums[file] for file in FILES}
    assert {file: len(rows(file)) for file in FILES} == FILES


def test_an_excuse_names_one_row_and_its_words(rows: Rows, copied: Copied) -> None:
    excuses = rows("other_rows_left_out.csv")
    named = [(e["file"], int(e["line"])) for e in excuses]
    assert len(named) == len(set(named)) == 137
    for key, excuse in zip(named, excuses, strict=True):
        assert excuse["row"] == " | ".join(list(copied[key].values())[:3]), key
        assert len(excuse["reason"]) > 10, key


def test_a_species_called_not_ours_is_not(rows: Rows, copied: Copied, latin: dict[str, list[str]]) -> None:
    ours = {name for names in latin.values() for name in names}
    for excuse in rows("other_rows_left_out.csv"):
        row = copied[excuse["file"], int(excuse["line"])]
        if excuse["reason"] == NOT_OURS:
            assert species(row) not in ours, excuse
    everyone = {e["row"].split(" | ")[0] for e in rows("other_rows_left_out.csv") if e["reason"] == NOT_OURS}
    assert len(everyone) == 16


def test_a_colour_called_short_of_a_coordinate_is(rows: Rows, copied: Copied) -> None:
    """Whoever reads the missing coordinate and adds its row must add the swatch as well."""
    matched = [(excuse, LACKS.match(excuse["reason"])) for excuse in rows("other_rows_left_out.csv")]
    short = [(excuse, found[1]) for excuse, found in matched if found]
    assert len(short) == 14
    for excuse, lacks in short:
        row = copied[excuse["file"], int(excuse["line"])]
        same = [r for r in copied.values() if species(r) == species(row) and r.get("source") == row["source"]]
        has = {axis for r in same for axis in ("L*", "a*", "b*") if axis in r["property"]}
        assert has == {"L*", "a*", "b*"} - set(lacks.split(" and ")), excuse


def test_a_poisson_ratio_called_implausible_is(rows: Rows) -> None:
    (excuse,) = [e for e in rows("other_rows_left_out.csv") if "takes for plausible" in e["reason"]]
    assert float(excuse["row"].split(" | ")[2]) < PROPERTIES["poisson_lt"].low


def test_every_species_of_a_printed_group_is_named(
    rows: Rows, copied: Copied, latin: dict[str, list[str]]
) -> None:
    named = {(r["printed"], r["material"]): r["why_not"] for r in rows("other_names.csv")}
    printed = {species(row) for row in copied.values()}
    assert {name for name, _ in named} <= printed
    for name in printed:
        for material, names in latin.items():
            genus, epithet = names[0].split(" ")[:2]
            if name.split(" ")[0] != genus:
                continue
            if " sp" in name:
                assert (name, material) in named, f"{name}: does {material} carry its rows?"
            elif " / " in name and epithet in name:
                assert named.get((name, material)) == "", f"{name}: {material} must carry its rows"


def test_grades_and_words_stand_beside_their_rows(rows: Rows, copied: Copied) -> None:
    for graded in rows("other_graded.csv"):
        assert (graded["file"], int(graded["line"])) in copied and graded["reason"]
    for said in rows("other_from_words.csv"):
        assert said["words"] in copied[said["file"], int(said["line"])]["basis"], said
