"""Files of data/adhesives/ broken one line at a time."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue.findings import Finding

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]
Findings = Callable[[], list[Finding]]

DATA = Path(__file__).resolve().parents[2] / "data"
UREA = "adhesives/urea-formaldehyde.yaml"
HIDE = "adhesives/hide-glue.yaml"

#: text that stands once in the urea file, text put in its place, text on the line named, field, gist
BROKEN = [
    ("pressure_mpa: {low: 0.3, high: 1.0}", "pressure_mpa: {low: 1.3, high: 1.0}", "pressure_mpa",
     "pressure_mpa", "low 1.3 is above high 1"),
    ("lowest_mpa: 0.07", "lowest_mpa: 0", "light_press", "light_press.lowest_mpa", "greater than 0"),
    ("lowest_mpa: 0.07", "lowest_mpa: 0.4", "id: urea", "", "leave light_press out"),
    ("temperature_c: 20,", "temperature_c: 70,", "id: urea", "", "cure goes from cold to hot"),
    ("stands: dry", "stands: inside", "stands: inside", "stands", '"inside" is not one of'),
    ("durability_class: null\n", "", "id: urea", "durability_class", "is missing"),
    ("used_for: ", "uses: ", "uses: ", "uses", "data/README.md for the fields"),
    ("evidence: common-practice", "evidence: quoted", "id: urea", "", "needs source and locator"),
]  # fmt: skip


@pytest.fixture
def glues(invented: Path) -> Path:
    """The clone's glues beside the invented woods."""
    shutil.copytree(DATA / "adhesives", invented / "adhesives")
    return invented


@pytest.mark.usefixtures("glues")
def test_the_glues_as_they_stand_are_sound(findings: Findings) -> None:
    assert findings() == []


@pytest.mark.usefixtures("glues")
@pytest.mark.parametrize(("old", "new", "marked", "field", "gist"), BROKEN, ids=[case[4] for case in BROKEN])
def test_a_glue_is_told_where_it_is_wrong(
    old: str, new: str, marked: str, field: str, gist: str, edit: Edit, at: At, findings: Findings
) -> None:
    edit(UREA, old, new)
    told = [f for f in findings() if gist in f.says]
    assert [(f.file, f.line, f.field) for f in told] == [(UREA, at(UREA, marked), field)]


@pytest.mark.usefixtures("glues")
@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("Ligna ficta", "ligna-ficta"),  # a botanical name
        ("plain ficta", "ligna-ficta"),  # a trade name
        ("Ligna-Altera", "ligna-altera"),  # an id, folded
        ("PVA", "pva-d2"),  # another glue
        ("pva d3", "pva-d3"),  # another glue's id
    ],
)
def test_a_glue_shares_its_name_with_nothing(
    name: str, other: str, edit: Edit, at: At, findings: Findings
) -> None:
    edit(UREA, "{text: urea glue, lang: en}", f"{{text: {name}, lang: en}}")
    (told,) = findings()
    assert (told.file, told.line, told.field) == (UREA, at(UREA, f"text: {name}, lang"), "names.2.text")
    assert told.says == f'"{name}" is also a name of {other}: a glue needs one of its own'


@pytest.mark.usefixtures("glues")
def test_a_glue_takes_no_name_that_woods_share(edit: Edit, findings: Findings, invented: Path) -> None:
    assert "text: bench pearl" in (invented / "names.yaml").read_text("utf-8")
    edit(UREA, "{text: urea glue, lang: en}", "{text: Bench Pearl, lang: en}")
    told = [f.says for f in findings()]
    assert told == ['"Bench Pearl" is also a name of data/names.yaml: a glue needs one of its own']


@pytest.mark.usefixtures("glues")
def test_the_id_is_the_name_of_the_file(edit: Edit, findings: Findings) -> None:
    edit(HIDE, "id: hide-glue", "id: hides-glue")
    assert [f.says for f in findings()] == ['the id is "hides-glue" but the file is called hide-glue.yaml']
