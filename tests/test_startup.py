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
