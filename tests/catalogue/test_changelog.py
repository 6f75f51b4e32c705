"""A figure that changed since the last release is told in data/CHANGES.md, by material and property."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue import changelog
from woodref.catalogue.changelog import CHANGES, COLUMNS, RELEASED, UNRELEASED, unannounced
from woodref.catalogue.edition import read_edition
from woodref.catalogue.reader import Catalogue
from woodref.errors import CatalogueUnreadable

DATA = Path(__file__).resolve().parents[2] / "data"
Edit = Callable[[str, str, str], None]

FICTA = "species/ligna-ficta.yaml"
DYED = "engineered/dyed-ficta.yaml"
READ = "value: 600\n      unit: kg/m3\n"
HEAD = ",".join(COLUMNS) + "\n"
RELEASE = re.compile(r"(\d+)\.(\d+)\.(\d+), \d{4}-\d{2}-\d{2}")


def test_every_change_since_the_last_release_is_told() -> None:
    """The one that a curator meets: it names what has no line under "Unreleased" yet."""
    if os.environ.get("WOODREF_WRITE_RELEASED"):  # at a release: see DEVELOPERS.md
        (DATA / RELEASED).write_text(
            changelog.as_csv(changelog.snapshot_of(read_edition(DATA))), "utf-8", newline=""
        )
    assert unannounced(DATA) == []


def test_the_sections_are_one_a_release_and_the_newest_stands_first() -> None:
    heads = list(changelog.sections((DATA / CHANGES).read_text("utf-8")))
    assert heads[0] == UNRELEASED
    releases = [RELEASE.fullmatch(head) for head in heads[1:]]
    assert all(releases), f"a heading that is neither {UNRELEASED} nor VERSION, YYYY-MM-DD: {heads}"
    numbers = [tuple(map(int, match.groups())) for match in releases if match]
    assert numbers == sorted(set(numbers), reverse=True)
    # figures are kept from a release on, and from no earlier day
    assert bool(numbers) == bool(changelog.released(DATA))


def test_the_first_release_holds_what_its_section_says(catalogue: Catalogue) -> None:
    if changelog.released(DATA):
        return  # by then the section speaks of the past
    told = changelog.sections((DATA / CHANGES).read_text("utf-8"))
    first = " ".join(list(told.values())[-1])
    counted = {
        "woods": "material WHERE kind = 'species'",
        "veneers": "material WHERE kind = 'engineered'",
        "treated woods": "material WHERE kind = 'modified'",
        "boards and cores": "material WHERE kind = 'core'",
        "figures": "figure",
        "rows of listings": "law_row",
        "kinds of glue": "adhesive",
    }
    for words, table in counted.items():
        found = re.search(rf"([\d,]+) {words}", first)
        assert found, words
        least = int(found.group(1).replace(",", ""))
        held = catalogue.rows(f"SELECT count(*) AS n FROM {table}")[0]["n"]
        # "at least" is no licence to say next to nothing
        assert least <= held <= 2 * least, words


@pytest.fixture
def folder(invented: Path) -> Path:
    """The invented woods as they were released, with nothing changed since."""
    (invented / RELEASED).write_text(
        changelog.as_csv(changelog.snapshot_of(read_edition(invented))), "utf-8", newline=""
    )
    (invented / CHANGES).write_text(
        "# Changes\n\n## Unreleased\n\n## 1.0.0, 2026-05-01\n\n- All new.\n", "utf-8"
    )
    return invented


def tell(folder: Path, line: str) -> None:
    """Put a line under the heading of what is not released."""
    path = folder / CHANGES
    path.write_text(
        path.read_text("utf-8").replace("## Unreleased\n", f"## Unreleased\n\n{line}\n", 1), "utf-8"
    )


def test_nothing_changed_nothing_to_tell(folder: Path) -> None:
    assert unannounced(folder) == []


def test_before_the_first_release_there_is_nothing_to_tell(folder: Path, edit: Edit) -> None:
    (folder / RELEASED).write_text(HEAD, "utf-8")
    edit(FICTA, READ, READ.replace("600", "610"))
    assert unannounced(folder) == []


#: what is done -> (text, text in its place)
CHANGED = {
    "number": (READ, READ.replace("600", "610")),
    "evidence": (
        "locator: Table 5-3a\n      evidence: quoted\n      n: 7",
        "locator: null\n      evidence: recalled\n      n: 7",
    ),
    "source": (
        "source: fpl-gtr-190\n      locator: Table 5-3a\n      evidence: quoted\n      n: 7",
        "source: fpl-gtr-282\n      locator: Table 5-3a\n      evidence: quoted\n      n: 7",
    ),
    "range": (READ, f"low: 590\n      high: 620\n      {READ}"),
}


@pytest.mark.parametrize("case", CHANGED.values(), ids=CHANGED.keys())
def test_a_changed_figure_fails_without_a_line_and_passes_with_one(
    case: tuple[str, str], folder: Path, edit: Edit
) -> None:
    edit(FICTA, *case)
    (missing,) = unannounced(folder)
    assert missing.startswith("ligna-ficta density: 600.0 kg/m3 quoted fpl-gtr-190 became ")
    tell(folder, "- `ligna-ficta` density (weight): 600 kg/m3 was\n  read in the wrong row.")
    assert unannounced(folder) == []


@pytest.mark.parametrize(
    "line",
    [
        "- `ligna-ficta` basic_density: put right.",  # another property, and no part of a word counts
        "- `ligna-altera` density: put right.",
        "- `dyed-ligna-ficta` density: put right.",
        "- `ligna-ficta-2` density: put right.",
        "- `ligna-ficta`: put right.\n- density: put right.",  # two lines are not one
        "`ligna-ficta` density: put right.",  # no list item
    ],
)
def test_a_line_that_speaks_of_something_else_does_not_do(line: str, folder: Path, edit: Edit) -> None:
    edit(FICTA, READ, READ.replace("600", "610"))
    tell(folder, line)
    assert len(unannounced(folder)) == 1


def test_a_line_below_an_older_release_does_not_do(folder: Path, edit: Edit) -> None:
    edit(FICTA, READ, READ.replace("600", "610"))
    with (folder / CHANGES).open("a", encoding="utf-8") as out:
        out.write("- `ligna-ficta` density: put right.\n")
    assert len(unannounced(folder)) == 1


def test_one_line_may_tell_several(folder: Path, edit: Edit) -> None:
    edit(FICTA, READ, READ.replace("600", "610"))
    edit(FICTA, "value: 4\n", "value: 5\n")
    assert len(unannounced(folder)) == 2
    tell(folder, "- `ligna-ficta` density and shrinkage_radial: read again.")
    assert unannounced(folder) == []


def test_a_figure_that_is_not_preferred_needs_no_line_and_one_that_came_or_went_does(
    folder: Path, edit: Edit
) -> None:
    edit(FICTA, "value: 610\n", "value: 611\n")  # air-dry: stands beside
    assert unannounced(folder) == []
    edit(FICTA, "condition: {mc: dry}", "condition: {mc: green}")
    (missing,) = unannounced(folder)
    assert "ligna-ficta side_hardness" in missing and "became nothing" in missing


def test_a_material_that_came_went_or_took_another_id_needs_one_line(
    folder: Path, edit: Edit, tmp_path: Path
) -> None:
    text = (folder / DYED).read_text("utf-8")
    (folder / DYED).unlink()
    assert len(unannounced(folder)) == 1 and "dyed-ficta is gone" in unannounced(folder)[0]
    new = folder / "engineered" / "dyed-nova.yaml"
    new.write_text(text.replace("id: dyed-ficta", "id: dyed-nova"), "utf-8")
    assert [says.split(":")[0] for says in unannounced(folder)] == ["dyed-ficta is gone", "dyed-nova is new"]
    tell(folder, "- `dyed-ficta` removed, `dyed-nova` added.")
    assert unannounced(folder) == []
    new.write_text(text.replace("id: dyed-ficta", "id: dyed-nova\nwas: [dyed-ficta]"), "utf-8")
    (missing,) = unannounced(folder)
    assert missing.startswith("dyed-ficta is now dyed-nova")
    tell(folder, "- `dyed-ficta` renamed `dyed-nova`.")
    assert unannounced(folder) == []


def test_a_material_without_figures_is_no_new_one_later(folder: Path, edit: Edit) -> None:
    assert changelog.released(folder)["ligna-altera"] == {}
    mor = "{value: 70, unit: MPa, condition: {mc: 12}, evidence: common-practice}"
    edit("species/ligna-altera.yaml", "figures: {}\n", f"figures:\n  mor:\n    - {mor}\n")
    (missing,) = unannounced(folder)
    assert missing.startswith("ligna-altera mor: nothing became 70.0 MPa")


def test_the_kept_figures_are_the_same_bytes_each_time_and_come_back(folder: Path) -> None:
    snapshot = changelog.snapshot_of(read_edition(folder))
    assert changelog.as_csv(snapshot) == (folder / RELEASED).read_text("utf-8")
    assert changelog.released(folder) == snapshot
    assert snapshot["ligna-ficta"]["density"] == ("600.0", "", "", "kg/m3", "quoted", "fpl-gtr-190")


@pytest.mark.parametrize("text", ["", "material,property\n", HEAD + "ligna-ficta,density,600\n"])
def test_kept_figures_that_cannot_be_read_are_a_sentence(text: str, folder: Path) -> None:
    (folder / RELEASED).write_text(text, "utf-8")
    with pytest.raises(CatalogueUnreadable, match=RELEASED) as fault:
        unannounced(folder)
    assert fault.value.expected


@pytest.mark.parametrize("file", [RELEASED, CHANGES])
def test_a_file_that_is_missing_is_a_sentence(file: str, folder: Path) -> None:
    (folder / file).unlink()
    with pytest.raises(CatalogueUnreadable, match="cannot be read"):
        unannounced(folder)
