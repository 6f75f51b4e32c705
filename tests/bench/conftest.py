"""A catalogue as large as a reference ever grows, made of the shipped one."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from woodref.catalogue.reader import Catalogue, _connect

#: woods of the large catalogue, at the least
MANY = 5_000
#: tables with a row a wood: (table, columns that are taken as they are)
HELD = (
    ("name", "rank, lang, regions, note", "text || :tail, folded || :tail, kind"),
    ("swatch", "part, state, l_star, a_star, b_star, spread, light, source_id, locator, evidence", ""),
    ("fact", "block, data", ""),
    ("cut", "cut", ""),
)  # fmt: skip
FIGURE = (
    "property, preferred, unit, printed, condition, source_id, locator, evidence, for_taxon, worked_from, "
    "added_error, n, note"
)


def grow(source: Path, target: Path) -> int:
    """Copy a built catalogue until it holds MANY woods. The copies grow in the same places, are listed alike
    and differ in name and by up to a twentieth in their figures. Gives how many woods it holds then."""
    shutil.copyfile(source, target)
    with closing(sqlite3.connect(target)) as opened, opened:
        (own,) = opened.execute("SELECT count(*) FROM material").fetchone()
        opened.execute("CREATE TEMP TABLE own AS SELECT id FROM material")
        for copy in range(1, -(-MANY // own)):
            told = {"tail": f" {copy}", "id": f"-{copy}", "size": 1 + 0.05 * (copy % 11 - 5) / 5}
            among = "WHERE material_id IN (SELECT id FROM own)"
            opened.execute(
                "INSERT INTO material SELECT id || :id, kind, hardness_group, name || :tail, "
                "botanical_name || :tail, family FROM material WHERE id IN (SELECT id FROM own)", told,
            )  # fmt: skip
            for table, same, changed in HELD:
                into = f"material_id, {same}" + (", text, folded, kind" if changed else "")
                opened.execute(
                    f"INSERT INTO {table} ({into}) SELECT material_id || :id, {same}"
                    f"{', ' + changed if changed else ''} FROM {table} {among}", told,
                )  # fmt: skip
            opened.execute(
                f"INSERT INTO figure (material_id, value, low, high, typical, {FIGURE}) SELECT "
                "material_id || :id, value * :size, low * :size, high * :size, typical * :size, "
                f"{FIGURE} FROM figure {among}", told,
            )  # fmt: skip
            opened.execute(
                "INSERT INTO name_search (folded, text, material_id) SELECT folded || :tail, text || :tail, "
                f"material_id || :id FROM name_search {among}", told,
            )  # fmt: skip
        # an id is a name too, and is written with hyphens
        opened.execute("UPDATE name SET text = material_id WHERE kind = 'id'")
        (held,) = opened.execute("SELECT count(*) FROM material").fetchone()
    return int(held)


@pytest.fixture(scope="session")
def large(catalogue: Catalogue, tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    """Five thousand woods, open."""
    path = tmp_path_factory.mktemp("large") / "catalogue-large.sqlite"
    assert grow(catalogue.path, path) >= MANY
    return Catalogue(path, _connect(path))
