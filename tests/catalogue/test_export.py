"""Exports and frames: complete, in order, the same bytes every time."""

from __future__ import annotations

import csv
import json
import sqlite3
from pathlib import Path

import pytest

import woodref
from woodref.catalogue.export import MARK, export
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest


def test_csv_holds_every_material_and_figure_with_units(catalogue: Catalogue, tmp_path: Path) -> None:
    export(catalogue, "csv", tmp_path)
    wide = list(csv.reader((tmp_path / "materials.csv").read_text("utf-8").splitlines()))
    assert wide[1][wide[0].index("density_kg_m3")] == "kg/m3"
    assert [row[0] for row in wide[2:]] == catalogue.ids()
    long = list(csv.DictReader((tmp_path / "figures.csv").read_text("utf-8").splitlines()))
    counted = catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"]
    assert len(long) == counted
    alder = next(
        r for r in long if (r["material_id"], r["property"], r["preferred"]) == ("alnus-rubra", "moe", "1")
    )
    # Wood Handbook Table 5-3a, red alder at 12 %
    assert (alder["value"], alder["source_id"], alder["locator"]) == ("9.5", "fpl-gtr-190", "Table 5-3a")


@pytest.mark.parametrize("form", ["csv", "json", "sqlite"])
def test_the_same_bytes_every_time(form: str, catalogue: Catalogue, tmp_path: Path) -> None:
    one, two = (export(catalogue, form, tmp_path / name) for name in ("a", "b"))
    assert [p.read_bytes() for p in one] == [p.read_bytes() for p in two]


def test_the_mark_is_written_on_request_only(catalogue: Catalogue, tmp_path: Path) -> None:
    with_mark = export(catalogue, "csv", tmp_path / "a", mark=True)
    without = export(catalogue, "csv", tmp_path / "b")
    for marked, plain in zip(with_mark, without, strict=True):
        assert marked.read_text("utf-8") == MARK + plain.read_text("utf-8")


def test_json_and_sqlite_hold_the_same(catalogue: Catalogue, tmp_path: Path) -> None:
    body = json.loads(export(catalogue, "json", tmp_path)[0].read_text("utf-8"))
    assert [m["id"] for m in body["materials"]] == catalogue.ids()
    assert body["catalogue"] == catalogue.stamp
    with sqlite3.connect(export(catalogue, "sqlite", tmp_path)[0]) as copy:
        assert copy.execute("SELECT count(*) FROM material").fetchone()[0] == len(catalogue.ids())
    copy.close()


def test_a_folder_that_cannot_be_written_is_a_sentence(catalogue: Catalogue, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(BadRequest, match="cannot be written"):
        export(catalogue, "csv", tmp_path / "file" / "x")


def test_frames(catalogue: Catalogue) -> None:
    with woodref.open() as opened:
        wide, long = opened.frame(), opened.figures()
    assert list(wide.index) == catalogue.ids()
    assert wide.loc["alnus-rubra", "moe_gpa"] == 9.5
    assert set(long["evidence"]) == {"quoted", "recalled", "estimated", "common-practice"}
    assert long.loc[0, "condition"].__class__ is dict
