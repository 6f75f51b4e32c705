"""The catalogue holds what it promises: every wood of the list, sheets, treated woods, boards, glues."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

from woodref.catalogue.coverage import coverage
from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue

LIST = Path(__file__).parent / "data" / "woods_to_be_held.csv"
DAY = dt.date(2026, 6, 1)


def test_every_wood_of_the_list_answers_to_its_botanical_name(catalogue: Catalogue) -> None:
    with LIST.open(encoding="utf-8", newline="") as file:
        names = [row["binomial"] for row in csv.DictReader(file)]
    assert len(names) == len(set(names)) == 170
    for name in names:
        material = catalogue.material(resolve(name, catalogue, DAY).id)
        assert material.kind == "species"
        assert name in (material.botanical_name, *material.synonyms)


def test_the_counts_hold_and_are_printed(catalogue: Catalogue) -> None:
    told = coverage(catalogue).as_dict()
    kinds = told["by_kind"]
    assert kinds["species"] >= 170
    assert kinds["engineered"] >= 30
    assert kinds["modified"] >= 5
    assert kinds["core"] >= 6
    assert told["materials"] == sum(kinds.values()) == len(told["by_material"])
    assert len(catalogue.adhesives) >= 9
    assert sum(told["figures_by_evidence"].values()) > 2900


def test_treated_woods_and_boards_that_stand_in_for_scarce_ones_are_there(catalogue: Catalogue) -> None:
    wanted = {
        "dyed-black-pear", "dyed-black-hornbeam", "resin-treated-beech", "thermally-treated-ash",
        "thermally-treated-robinia", "birch-plywood", "poplar-plywood", "medium-density-fibreboard",
        "particleboard", "strip-core-board", "balsa-end-grain",
    }  # fmt: skip
    assert wanted <= set(catalogue.ids())
