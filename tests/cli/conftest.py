"""Running the commands on a small catalogue that stands still while the big one grows."""

from __future__ import annotations

import difflib
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from woodref.catalogue.yamlload import read
from woodref.cli.main import main

CLONE = Path(__file__).resolve().parent.parent.parent
GOLDEN = Path(__file__).resolve().parent / "golden"
#: enough for every group of an answer: barred, papers, free in part, free, not sold, not known, made
CHOSEN = (
    "species/alnus-rubra", "species/dalbergia-decipularis", "species/dalbergia-latifolia",
    "species/dalbergia-nigra", "species/khaya-senegalensis", "species/liriodendron-tulipifera",
    "species/millettia-laurentii", "species/paubrasilia-echinata", "species/picea-abies",
    "species/platymiscium-yucatanum", "species/populus-nigra",
    "engineered/reconstituted-rosewood-figure",
)  # fmt: skip

Run = Callable[..., Result]


@pytest.fixture
def run() -> Run:
    """Run one command as a person does; never a traceback, whatever was asked."""

    def invoke(*words: str) -> Result:
        result = CliRunner().invoke(main, list(words), terminal_width=100)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise AssertionError(f"{words} broke down") from result.exception
        assert "Traceback" not in result.output
        return result

    return invoke


def _latin(wood: str) -> str:
    """The botanical name of a material of the clone, or of the wood a sheet is made of."""
    value, _, _ = read(next((CLONE / "data").glob(f"*/{wood}.yaml")), CLONE / "data")
    return str(value["botanical"]["name"]) if value["botanical"] else _latin(value["made_from"]["base"])


def _names() -> dict[str, Any]:
    """names.yaml for the chosen woods: a meaning that is not there goes by its botanical name."""
    value, _, found = read(CLONE / "data" / "names.yaml", CLONE / "data")
    assert not found
    kept = {Path(name).name for name in CHOSEN}
    for entry in value["names"]:
        for meaning in entry["meanings"]:
            if meaning.get("material", next(iter(kept))) not in kept:
                meaning["botanical"] = _latin(meaning.pop("material"))
    return dict(value)


@pytest.fixture(scope="session")
def small_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder of twelve materials with the whole law and every source."""
    folder = tmp_path_factory.mktemp("small") / "data"
    for name in CHOSEN:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(CLONE / "data" / f"{name}.yaml", folder / f"{name}.yaml")
    shutil.copytree(CLONE / "data" / "trade", folder / "trade")
    for name in ("classes.yaml", "sources.yaml"):
        shutil.copy(CLONE / "data" / name, folder / name)
    (folder / "names.yaml").write_text(
        yaml.safe_dump(_names(), allow_unicode=True, sort_keys=False), encoding="utf-8"
    )
    return folder


@pytest.fixture(scope="session")
def small_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its own cache, so that neither catalogue prunes the other."""
    return tmp_path_factory.mktemp("small-cache")


@pytest.fixture
def small(small_data: Path, small_cache: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the commands answer from the small catalogue."""
    monkeypatch.setenv("WOODREF_DATA", str(small_data))
    monkeypatch.setenv("WOODREF_CACHE", str(small_cache))
    return small_data


@pytest.fixture(scope="session")
def glued_data(small_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small data folder with every glue."""
    folder = tmp_path_factory.mktemp("glued") / "data"
    shutil.copytree(small_data, folder)
    shutil.copytree(CLONE / "data" / "adhesives", folder / "adhesives")
    return folder


@pytest.fixture
def golden() -> Callable[[str, str], None]:
    """Compare a text with tests/cli/golden/NAME.txt. WOODREF_WRITE_GOLDEN=1 puts it in instead: read
    the difference before you commit it."""

    def compare(name: str, text: str) -> None:
        path = GOLDEN / f"{name}.txt"
        if os.environ.get("WOODREF_WRITE_GOLDEN"):
            path.write_text(text, encoding="utf-8")
        wanted = path.read_text(encoding="utf-8")
        gap = "\n".join(
            difflib.unified_diff(wanted.splitlines(), text.splitlines(), "golden", "printed", lineterm="")
        )
        assert text == wanted, f"{path.name} differs:\n{gap}"

    return compare
