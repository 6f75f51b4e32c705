"""Faults that lie in where a file stands, or in several files at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue.findings import Finding

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]
Findings = Callable[[], list[Finding]]

FICTA = "species/ligna-ficta.yaml"
ALTERA = "species/ligna-altera.yaml"
DYED = "engineered/dyed-ficta.yaml"


def test_an_id_that_is_not_the_files_name_is_told_at_the_id(edit: Edit, at: At, findings: Findings) -> None:
    edit(ALTERA, "id: ligna-altera", "id: ligna-alter")
    (own,) = [f for f in findings() if f.file == ALTERA]
    assert (own.line, own.field) == (at(ALTERA, "id: ligna-alter"), "id")
    assert own.says == 'the id is "ligna-alter" but the file is called ligna-altera.yaml'


def test_the_same_id_in_two_folders_is_told_with_the_other_place(invented: Path, findings: Findings) -> None:
    (invented / "modified").mkdir()
    text = (invented / DYED).read_text("utf-8").replace("kind: engineered", "kind: modified")
    (invented / "modified" / "dyed-ficta.yaml").write_text(text, "utf-8")
    told = [f for f in findings() if f.field == "id"]
    assert [(f.file, f.line) for f in told] == [("modified/dyed-ficta.yaml", 2)]
    assert told[0].says == f"this id already stands in data/{DYED}"


def test_a_broken_file_is_not_held_against_those_that_speak_of_it(edit: Edit, findings: Findings) -> None:
    # the sheet is made of it, two shared names mean it: neither is wrong
    edit(FICTA, "tannin: low", "tannin: lots")
    assert [f.file for f in findings()] == [FICTA]


@pytest.mark.parametrize("body", ["", "just words\n", "- a list\n", "null\n"])
def test_a_file_that_holds_no_material_is_one_finding(invented: Path, body: str, findings: Findings) -> None:
    (invented / ALTERA).write_text(body, "utf-8")
    (only,) = findings()
    assert (only.file, only.line) == (ALTERA, 1)


def test_several_broken_files_are_told_all_at_once_in_order(
    edit: Edit, invented: Path, findings: Findings
) -> None:
    edit(FICTA, "tannin: low", "tannin: lots")
    edit(FICTA, "pores: diffuse", "pores: tiny")
    edit(ALTERA, "grown: unknown", "grown: perhaps")
    edit("names.yaml", "material: ligna-ficta\n", "material: ligna-nulla\n")
    (invented / "engineered" / "broken.yaml").write_text("id: [", "utf-8")
    found = findings()
    assert [(f.file, f.field) for f in found] == [
        ("engineered/broken.yaml", ""),
        ("names.yaml", "names.0.meanings.0"),
        (ALTERA, "grows.plantation.grown"),
        (FICTA, "look.pores"),
        (FICTA, "working.tannin"),
    ]
    assert found == sorted(found)


def test_a_finding_reads_as_file_line_field_and_sentence(edit: Edit, at: At, findings: Findings) -> None:
    edit(FICTA, "pores: diffuse", "pores: tiny")
    (only,) = findings()
    assert str(only).startswith(f'data/{FICTA}:{at(FICTA, "pores: tiny")}: look.pores: "tiny" is not one of')
    assert set(only.as_dict()) == {"file", "line", "field", "says", "severity"}


def test_a_material_below_a_folder_of_its_own_is_not_expected(invented: Path, findings: Findings) -> None:
    (invented / "species" / "mine").mkdir()
    (invented / ALTERA).rename(invented / "species" / "mine" / "ligna-altera.yaml")
    told = [f for f in findings() if "no such file is expected here" in f.says]
    assert [(f.file, f.line) for f in told] == [("species/mine/ligna-altera.yaml", 1)]


def test_a_stray_file_is_told(invented: Path, findings: Findings) -> None:
    (invented / "trade" / "notes.yaml").write_text("a: 1\n", "utf-8")
    (only,) = findings()
    assert only.file == "trade/notes.yaml"
    assert only.says.startswith("no such file is expected here")


def test_the_workshop_of_the_demonstration_is_no_part_of_the_catalogue(
    invented: Path, findings: Findings
) -> None:
    (invented / "demo").mkdir()
    (invented / "demo" / "anything.yaml").write_text("a: 1\n", "utf-8")
    assert findings() == []


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    from woodref.catalogue.check import load_all

    (only,) = load_all(tmp_path / "nowhere").findings
    assert "there is no folder" in only.says


def test_a_link_to_nowhere_left_by_an_editor_breaks_nothing(invented: Path, findings: Findings) -> None:
    # some editors mark a file as open with a link of this form beside it
    (invented / "species" / ".#ligna-ficta.yaml").symlink_to("someone@bench.1234")
    assert all(f.file == "species/.#ligna-ficta.yaml" for f in findings())


def test_a_folder_called_like_a_file_breaks_nothing(invented: Path, findings: Findings) -> None:
    (invented / "species" / "oak.yaml").mkdir()
    assert all(f.file == "species/oak.yaml" for f in findings())


def test_a_material_in_the_wrong_folder_is_told(invented: Path, findings: Findings) -> None:
    (invented / "modified").mkdir()
    (invented / DYED).rename(invented / "modified" / "dyed-ficta.yaml")
    (only,) = findings()
    assert (only.file, only.line, only.field) == ("modified/dyed-ficta.yaml", 3, "kind")
    assert only.says == "files in modified/ are of kind modified"
