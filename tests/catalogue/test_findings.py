"""`data check`: one thing broken at a time, and the finding that names file, line and mend."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue.check import load_all
from woodref.catalogue.dataset import DataSet
from woodref.catalogue.scaffold import skeleton, write_new
from woodref.errors import BadRequest

CLONE = Path(__file__).resolve().parents[2]
ALDER = "species/alnus-rubra.yaml"


@pytest.fixture()
def folder(tmp_path: Path) -> Path:
    """A copy of data/ to break."""
    return Path(shutil.copytree(CLONE / "data", tmp_path / "data"))


def edit(folder: Path, file: str, change: Callable[[str], str]) -> int:
    """Change a file's text; returns the 1-based line of the first difference."""
    path = folder / file
    before = path.read_text("utf-8")
    after = change(before)
    assert after != before, "the edit changed nothing"
    path.write_text(after, "utf-8")
    pairs = zip(before.splitlines(), after.splitlines(), strict=False)
    return next((i for i, (a, b) in enumerate(pairs, 1) if a != b), len(after.splitlines()))


def test_the_clones_own_data_have_no_finding(dataset: DataSet) -> None:
    assert dataset.findings == []
    assert len(dataset.materials) >= 60


def swap(old: str, new: str) -> Callable[[str], str]:
    return lambda text: text.replace(old, new, 1)


BROKEN: list[tuple[str, str, Callable[[str], str], str]] = [
    ("syntax", ALDER, swap("names:", "names: ["), "not readable as YAML"),
    ("unknown field", ALDER, swap("was: []", "was: []\nweight: 3"), "not known here"),
    ("unit missing", ALDER, swap("unit: GPa, ", ""), 'field "unit" is missing'),
    ("unit unknown", ALDER, swap("unit: GPa", "unit: Gpa"), "not a unit I know"),
    ("unit of another kind", ALDER, swap("unit: GPa", "unit: mm"), "does not measure moe"),
    ("source unknown", ALDER, swap("source: fpl-gtr-190", "source: fpl-gtr-191"), "no source"),
    ("bare number as text", ALDER, swap("locator: Table 5-3a", "locator: 44.10"), "put it in quotes"),
    ("country", ALDER, swap("countries: [CA, GB, US]", "countries: [CA, UK, US]"), "not an ISO 3166-1 code"),
    ("order of countries", ALDER, swap("countries: [CA, GB, US]", "countries: [US, CA, GB]"), "alphabetical"),
    ("colour class", ALDER, swap("class: light-brown", "class: sandy"), "no colour class"),
    ("id", ALDER, swap("id: alnus-rubra", "id: alnus-ruber"), "but the file is called"),
    ("kind", ALDER, swap("kind: species", "kind: core"), "a species has a botanical name"),
    ("retired id", ALDER, swap("was: []", "was: [tilia-cordata]"), "id of a living material"),
]


@pytest.mark.parametrize(("file", "change", "gist"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_a_broken_file_is_named_with_its_line(
    folder: Path, file: str, change: Callable[[str], str], gist: str
) -> None:
    line = edit(folder, file, change)
    found = [f for f in load_all(folder).findings if f.file == file]
    assert found, "no finding"
    told = [f for f in found if re.search(gist, f.says)]
    assert told, [str(f) for f in found]
    # a rule about the whole file is reported at its first line
    assert any(abs(f.line - line) <= 2 or not f.field for f in told), (line, [str(f) for f in told])
    assert str(told[0]).startswith(f"data/{file}:")


def test_a_name_of_two_woods_must_stand_in_the_list_of_shared_names(folder: Path) -> None:
    edit(folder, ALDER, swap("text: red alder", "text: rubberwood"))
    found = load_all(folder).findings
    # told at the second file that uses it, with the id of the first
    assert [f.file for f in found] == ["species/hevea-brasiliensis.yaml"]
    assert '"rubberwood" is also a name of alnus-rubra' in found[0].says


def test_grams_are_not_kilograms(folder: Path) -> None:
    edit(folder, ALDER, lambda t: t.replace("value: 459.2, unit: kg/m3", "value: 64, unit: g/cm3", 1))
    found = [f for f in load_all(folder).findings if "64 g/cm3" in f.says]
    assert len(found) == 1
    assert "is it in g/cm3 or lb/ft3?" in found[0].says


def test_tangential_below_radial_needs_a_note(folder: Path) -> None:
    edit(folder, ALDER, swap("{value: 7.3, unit: ", "{value: 3.3, unit: "))
    assert any("swapped?" in f.says for f in load_all(folder).findings)
    edit(folder, ALDER, swap("{value: 3.3, unit: ", "{note: printed so, value: 3.3, unit: "))
    assert not any("swapped?" in f.says for f in load_all(folder).findings)


def test_a_worked_out_figure_that_its_rule_no_longer_gives(folder: Path) -> None:
    file = "engineered/dyed-black-tulipwood.yaml"
    edit(folder, file, swap("value: 480", "value: 520"))
    found = [f for f in load_all(folder).findings if f.file == file]
    assert len(found) == 1
    assert "now gives value 479.8 kg/m3" in found[0].says


def test_all_findings_come_at_once_and_sorted(folder: Path) -> None:
    edit(folder, ALDER, swap("unit: GPa", "unit: Gpa"))
    edit(folder, "species/taxus-baccata.yaml", swap("kind: species", "kind: tree"))
    edit(folder, "trade/listings.yaml", swap("regime: CITES", "regime: SITES"))
    (folder / "stray.yaml").write_text("a: 1\n")
    (folder / "names.yaml").unlink()
    found = load_all(folder).findings
    assert {f.file for f in found} >= {
        ALDER,
        "species/taxus-baccata.yaml",
        "trade/listings.yaml",
        "stray.yaml",
        "names.yaml",
    }
    assert found == sorted(found)


@pytest.mark.parametrize("kind", ["species", "engineered", "modified", "core"])
def test_a_skeleton_passes_the_check_as_it_stands(folder: Path, kind: str) -> None:
    base = None if kind == "species" else "fagus-sylvatica"
    text = skeleton("zelkova-serrata", kind, "keyaki", family="Ulmaceae", base=base)
    write_new(folder, "zelkova-serrata", kind, text)
    assert [str(f) for f in load_all(folder).findings] == []
    with pytest.raises(BadRequest, match="exists already"):
        write_new(folder, "zelkova-serrata", kind, text)
    with pytest.raises(BadRequest, match="is not an id"):
        skeleton("Ulmus glabra", kind)
