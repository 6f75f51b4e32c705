"""A small data folder of invented woods, beside the clone's own law, classes and sources.

The invented woods have round figures and stand still while the catalogue grows, so a test can break
one line and name it exactly.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue.check import load_all
from woodref.catalogue.findings import Finding

DATA = Path(__file__).resolve().parents[2] / "data"
INVENTED = Path(__file__).resolve().parent / "invented"

#: file, text that stands there once, text in its place
Edit = Callable[[str, str, str], None]
#: file, text that stands there once -> its 1-based line
At = Callable[[str, str], int]


@pytest.fixture
def invented(tmp_path: Path) -> Path:
    """The folder, to break at will."""
    folder = Path(shutil.copytree(INVENTED, tmp_path / "data"))
    shutil.copytree(DATA / "trade", folder / "trade")
    for name in ("classes.yaml", "sources.yaml"):
        shutil.copy(DATA / name, folder / name)
    return folder


@pytest.fixture
def edit(invented: Path) -> Edit:
    """Put one text in the place of another that stands exactly once in the file."""

    def change(file: str, old: str, new: str) -> None:
        path = invented / file
        text = path.read_text("utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), "utf-8")

    return change


@pytest.fixture
def at(invented: Path) -> At:
    """The line on which a text begins that stands exactly once in the file."""

    def line(file: str, text: str) -> int:
        body = (invented / file).read_text("utf-8")
        assert body.count(text) == 1, f"{text!r} stands {body.count(text)} times in {file}"
        return body[: body.index(text)].count("\n") + 1

    return line


@pytest.fixture
def findings(invented: Path) -> Callable[[], list[Finding]]:
    """Everything the check says about the folder as it stands now."""
    return lambda: load_all(invented).findings


@pytest.fixture
def tells(edit: Edit, at: At, findings: Callable[[], list[Finding]]) -> Callable[[tuple[str, ...]], None]:
    """Break one line and hold the check to it: (file, text, text put in its place, text on the line that
    must be named, field, gist of the sentence)."""

    def hold(case: tuple[str, ...]) -> None:
        file, old, new, marked, field, gist = case
        edit(file, old, new)
        found = findings()
        told = [f for f in found if gist in f.says]
        assert told, [str(f) for f in found]
        assert (told[0].file, told[0].line, told[0].field) == (file, at(file, marked), field)
        assert told[0].severity == "error"
        # what is broken is told where it stands and nowhere else
        assert {f.file for f in found} == {file}

    return hold


@pytest.fixture
def spare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The temporary folder that serves when the cache cannot be written: the test's own."""
    place = tmp_path / "spare"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    return place
