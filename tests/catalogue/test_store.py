"""Build and read: what goes in comes out; the cache survives races, errors and bad files."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.properties import PROPERTIES, wide_column
from woodref.catalogue.reader import Catalogue, open_catalogue
from woodref.catalogue.rules import condition_of, in_unit, preferred_index
from woodref.errors import CatalogueUnreadable
from woodref.paths import digest

CLONE = Path(__file__).resolve().parents[2]


@pytest.fixture()
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(CLONE / "data", tmp_path / "data"))


def test_every_figure_of_every_file_comes_back(dataset: DataSet, catalogue: Catalogue) -> None:
    seen = 0
    for material_id, loaded in dataset.materials.items():
        read = catalogue.material(material_id)
        assert set(read.figures) == {n for n, f in loaded.model.figures.items() if f}
        for name, figures in loaded.model.figures.items():
            chosen = preferred_index(name, figures)
            held = read.figures[name]
            others = list(held.others)
            for index, figure in enumerate(figures):
                out = held.preferred if index == chosen else others.pop(0)
                assert out is not None
                given = in_unit(figure, PROPERTIES[name].unit)
                assert (out.value, out.low, out.high) == tuple(given.get(k) for k in ("value", "low", "high"))
                assert out.condition == condition_of(figure)
                assert (out.source, out.locator, out.evidence) == (
                    figure.source,
                    figure.locator,
                    figure.evidence,
                )
                seen += 1
    assert seen > 1200


def test_the_wide_view_holds_the_preferred_figures_under_unit_names(catalogue: Catalogue) -> None:
    for row in catalogue.rows("SELECT * FROM material_wide"):
        material = catalogue.material(row["id"])
        for name in PROPERTIES:
            figure = material.figure(name)
            assert row[wide_column(name)] == (figure.typical if figure else None)
    assert wide_column("density") == "density_kg_m3"


def test_full_view_and_name_search(catalogue: Catalogue) -> None:
    counted = catalogue.rows("SELECT count(*) AS n FROM figure_full")[0]["n"]
    assert counted == catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"]
    found = catalogue.rows("SELECT material_id FROM name_search WHERE name_search MATCH 'wal*'")
    assert "juglans-nigra" in {row["material_id"] for row in found}


def test_a_group_figure_gives_way_to_one_of_the_species_and_evidence_goes_first(catalogue: Catalogue) -> None:
    # Swietenia macrophylla: the handbook row was read, the 1974 row is from memory (Table 5-5a)
    moe = catalogue.material("swietenia-macrophylla").figure("moe")
    assert moe is not None and moe.evidence == "quoted" and moe.value == 10.3


def test_two_processes_may_build_at_once(folder: Path, tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from woodref.catalogue.reader import open_catalogue\n"
        "with open_catalogue(Path(sys.argv[1]), Path(sys.argv[2])) as c: print(len(c.ids()))"
    )
    cache = tmp_path / "cache"
    command = [sys.executable, "-c", code, str(folder), str(cache)]
    running = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    counts = {p.communicate(timeout=60)[0].strip() for p in running}
    assert [p.returncode for p in running] == [0, 0]
    assert len(counts) == 1
    assert len(list(cache.glob("catalogue-*.sqlite"))) == 1
    assert not list(cache.glob(".building-*"))


def change_digest(folder: Path, number: int) -> None:
    path = folder / "sources.yaml"
    path.write_text(path.read_text("utf-8") + f"# {number}\n", "utf-8")


def test_the_three_newest_are_kept_and_current_names_the_last(folder: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    for number in range(5):
        change_digest(folder, number)
        with open_catalogue(folder, cache) as opened:
            last = opened.path.name
            assert opened.meta["digest"] == digest(folder)
    assert len(list(cache.glob("catalogue-*.sqlite"))) == 3
    assert (cache / "current").read_text().strip() == last


def test_while_the_data_have_errors_the_last_good_catalogue_answers(folder: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    with open_catalogue(folder, cache) as good:
        before = good.path
    (folder / "species" / "alnus-rubra.yaml").write_text("id: [", "utf-8")
    with open_catalogue(folder, cache) as opened:
        assert opened.path == before
        assert [n.code for n in opened.notices] == ["data-have-errors"]
        assert "woodref data check" in opened.notices[0].message


def test_with_errors_and_nothing_built_before_it_says_where(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("woodref.catalogue.reader._spare", lambda: tmp_path / "spare")
    (folder / "species" / "alnus-rubra.yaml").write_text("id: [", "utf-8")
    with pytest.raises(CatalogueUnreadable, match=r"data/species/alnus-rubra\.yaml:"):
        open_catalogue(folder, tmp_path / "cache")


def test_a_cache_that_cannot_be_written_still_gives_an_answer(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # root may write anywhere, so the cache is put below a plain file
    (tmp_path / "file").write_text("")
    monkeypatch.setattr("woodref.catalogue.reader._spare", lambda: tmp_path / "spare")
    with open_catalogue(folder, tmp_path / "file" / "cache") as opened:
        assert [n.code for n in opened.notices] == ["cache-unwritable"]
        assert len(opened.ids()) >= 60


@pytest.mark.parametrize("body", [b"", b"not a database at all" * 100])
def test_a_spoilt_file_in_the_cache_is_built_anew(folder: Path, tmp_path: Path, body: bytes) -> None:
    cache = tmp_path / "cache"
    with open_catalogue(folder, cache) as opened:
        path = opened.path
    path.write_bytes(body)
    with open_catalogue(folder, cache) as opened:
        assert len(opened.ids()) >= 60


def test_the_catalogue_is_opened_read_only(catalogue: Catalogue) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        catalogue.connection.execute("DELETE FROM material")
