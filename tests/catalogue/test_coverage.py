"""How much is known, counted twice: by the program and by plain SQL."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from woodref.catalogue.bibliography import bibliography
from woodref.catalogue.coverage import Coverage, coverage, table_rows
from woodref.catalogue.dataset import DataSet
from woodref.catalogue.material import EVIDENCE_ORDER, GRADE_WORDS
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, open_catalogue


@pytest.fixture(scope="module")
def counted(catalogue: Catalogue) -> Coverage:
    return coverage(catalogue)


def test_every_property_is_counted_as_sql_counts_it(counted: Coverage, catalogue: Catalogue) -> None:
    assert [p.name for p in counted.properties] == list(PROPERTIES)
    for found in counted.properties:
        where = "FROM figure WHERE property = ?"
        held = catalogue.rows(f"SELECT count(*) AS n {where}", (found.name,))[0]["n"]
        assert found.figures == held
        rows = catalogue.rows(
            f"SELECT evidence, count(*) AS n {where} AND preferred = 1 GROUP BY evidence", (found.name,)
        )
        assert {e: n for e, n in found.preferred.items() if n} == {r["evidence"]: r["n"] for r in rows}
        some = catalogue.rows(f"SELECT count(DISTINCT material_id) AS n {where}", (found.name,))[0]["n"]
        assert found.known + found.elsewhere == some


def test_no_wood_has_two_preferred_figures_of_one_property(catalogue: Catalogue) -> None:
    sql = (
        "SELECT material_id, property FROM figure WHERE preferred = 1 "
        "GROUP BY material_id, property HAVING count(*) > 1"
    )
    assert [tuple(row) for row in catalogue.rows(sql)] == []


def test_figures_by_evidence_add_up_to_all_figures(counted: Coverage, catalogue: Catalogue) -> None:
    assert tuple(counted.evidence) == EVIDENCE_ORDER
    total = catalogue.rows("SELECT count(*) AS n FROM figure")[0]["n"]
    assert sum(counted.evidence.values()) == sum(p.figures for p in counted.properties) == total


def test_materials_by_kind_add_up(counted: Coverage, catalogue: Catalogue) -> None:
    rows = catalogue.rows("SELECT kind, count(*) AS n FROM material GROUP BY kind")
    assert counted.by_kind == {row["kind"]: row["n"] for row in rows}
    assert sum(counted.by_kind.values()) == counted.materials == len(catalogue.ids())


def test_the_table_says_the_same_in_the_bench_s_words(counted: Coverage) -> None:
    head, rows = table_rows(counted)
    assert (
        head[2:6] == list(GRADE_WORDS.values()) == ["read in table", "from memory", "worked out", "shop rule"]
    )
    assert len(rows) == len(PROPERTIES)
    for found, row in zip(counted.properties, rows, strict=True):
        assert len(row) == len(head)
        assert row[1] == f"{found.known} of {counted.materials}"
        assert sum(int(cell) for cell in row[2:6]) == found.known


def test_the_object_for_programs_is_plain_and_its_shares_are_shares(counted: Coverage) -> None:
    told = counted.as_dict()
    assert json.loads(json.dumps(told)) == told
    for block in told["unknown"].values():
        assert block["share"] == pytest.approx(block["count"] / told["materials"])
        assert 0 <= block["share"] <= 1


def test_what_is_not_known_is_counted_by_block(invented: Path, tmp_path: Path, spare: Path) -> None:
    with open_catalogue(invented, tmp_path / "cache") as opened:
        found = coverage(opened)
    # ligna-altera and dyed-ficta say of everything that it is not known; ligna-ficta leaves two things open
    assert found.by_kind == {"engineered": 1, "species": 2}
    assert found.unknown == {
        "cuts": 2,
        "leaf width": 2,
        "sold as veneer": 2,
        "treatments": 2,
        "sapwood in the sheets": 2,
        "sapwood's colour": 2,
        "beetles in the sapwood": 2,
        "pores": 1,
        "texture": 1,
        "grain": 1,
        "figure": 2,
        "change in light": 2,
        "measured colour": 2,
        "bending": 2,
        "gluing": 2,
        "bleed-through": 2,
        "tannin": 2,
        "oily": 2,
        "acid or alkaline extract": 2,
        "dust": 2,
        "plantation": 2,
        "planted wood as veneer": 1,
        "red list": 1,
    }
    density = next(p for p in found.properties if p.name == "density")
    assert (density.known, density.elsewhere, density.figures) == (2, 0, 4)
    assert density.preferred == {"quoted": 1, "recalled": 0, "estimated": 1, "common-practice": 0}
    crushing = next(p for p in found.properties if p.name == "compression_parallel")
    assert (crushing.known, crushing.elsewhere, crushing.figures) == (0, 1, 1)


def test_the_bibliography_counts_what_rests_on_each_source(dataset: DataSet, catalogue: Catalogue) -> None:
    cited = bibliography(catalogue)
    assert [c.source["id"] for c in cited] == sorted(s.id for s in dataset.entries("sources.yaml"))
    figures = dict.fromkeys((c.source["id"] for c in cited), 0)
    for loaded in dataset.materials.values():
        for held in loaded.model.figures.values():
            for figure in held:
                if figure.source:
                    figures[figure.source] += 1
    law = dict.fromkeys(figures, 0)
    for row in dataset.entries("trade/listings.yaml"):
        if row.source:
            law[row.source] += 1
    for one in cited:
        assert (one.figures, one.law_rows) == (figures[one.source["id"]], law[one.source["id"]])
        assert one.as_dict() == one.source | {"figures": one.figures, "law_rows": one.law_rows}


def test_every_source_reads_as_one_sentence_or_two(catalogue: Catalogue) -> None:
    for one in bibliography(catalogue):
        said = one.sentence
        assert said.startswith(f"[{one.source['id']}] ")
        assert one.source["title"] in said
        assert said.endswith(" on it.")
        assert not [wrong for wrong in ("None", "..", " ,", "  ", ": .") if wrong in said], said


def test_each_material_is_counted_as_sql_counts_it(counted: Coverage, catalogue: Catalogue) -> None:
    assert [m.id for m in counted.each] == catalogue.ids()
    sql = "SELECT evidence, count(*) AS n FROM figure WHERE material_id = ? GROUP BY evidence"
    for found in counted.each:
        rows = {r["evidence"]: r["n"] for r in catalogue.rows(sql, (found.id,))}
        assert {e: n for e, n in found.evidence.items() if n} == rows
        had = "SELECT count(*) AS n FROM figure WHERE material_id = ? AND preferred = 1"
        assert found.properties == catalogue.rows(had, (found.id,))[0]["n"]
    for key, n in counted.unknown.items():
        assert n == sum(key in m.unknown for m in counted.each)
