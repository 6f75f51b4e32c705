"""What a command loads. A tool that imports everything feels broken; these are its limits."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from woodref.catalogue.reader import Catalogue

HEAVY = {"sqlmodel", "pydantic", "pandas", "datasette", "rich", "numpy", "sqlalchemy", "yaml"}
SCRIPT = """
import sys
from woodref.cli.main import main
try:
    main(sys.argv[1:], standalone_mode=False)
finally:
    print("LOADED", *sorted({m.split(".")[0] for m in sys.modules}), file=sys.stderr)
"""


def loaded(cache: Path, *arguments: str) -> set[str]:
    """Top-level modules in a fresh process after one command."""
    env = os.environ | {"WOODREF_CACHE": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *arguments], capture_output=True, text=True, env=env, timeout=60
    )
    line = next(part for part in done.stderr.splitlines() if part.startswith("LOADED"))
    return set(line.split()[1:])


@pytest.mark.parametrize(
    ("arguments", "barred"),
    [
        (("--help",), HEAVY),
        (("--version",), HEAVY),
        (("show", "teak"), HEAVY),
        (("show", "hide glue"), HEAVY),
        (("find", "--kind", "glue"), HEAVY),
        (("find", "walnut"), HEAVY),
        (("data", "lists"), HEAVY),
        (("find", "--with", "density=450..600"), HEAVY),
        (("find", "--with", "moe=14..17", "--estimates"), HEAVY),
        (("substitute", "teak", "--role", "core"), HEAVY - {"numpy"}),
        (("trade", "teak", "--form", "veneer", "--from", "ID", "--to", "DE"), HEAVY),
        (("listings",), HEAVY),
        (("data", "coverage"), HEAVY),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, tuple) else "",
)
def test_a_reading_command_stays_light(
    arguments: tuple[str, ...], barred: set[str], cache: Path, catalogue: Catalogue
) -> None:
    assert catalogue.path.exists()  # built: the command only reads
    assert not loaded(cache, *arguments) & barred


def test_a_kept_list_makes_no_reading_command_heavy(
    cache: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from woodref.catalogue.ownimport import bring_in

    monkeypatch.setenv("WOODREF_LISTS", str(tmp_path))
    demo = Path(__file__).resolve().parent.parent / "data" / "demo"
    bring_in(demo / "lists" / "harrow-veneers.csv", demo / "lists" / "harrow-veneers.yaml", False, False)
    for words in (("find", "walnut"), ("find", "--among", "harrow-veneers"), ("show", "laburnum"),
                  ("show", "teak"), ("data", "lists")):  # fmt: skip
        assert not loaded(cache, *words) & HEAVY, words
    # what asks nothing of a list opens none and loads none of its readers
    assert "woodref.catalogue.ownstore" not in every_module(cache, "show", "teak")


def every_module(cache: Path, *arguments: str) -> set[str]:
    """All modules in a fresh process after one command, by their full names."""
    script = SCRIPT.replace('{m.split(".")[0] for m in sys.modules}', "sys.modules")
    env = os.environ | {"WOODREF_CACHE": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments], capture_output=True, text=True, env=env, timeout=60
    )
    line = next(part for part in done.stderr.splitlines() if part.startswith("LOADED"))
    assert "woodref.catalogue.reader" in line
    return set(line.split()[1:])
