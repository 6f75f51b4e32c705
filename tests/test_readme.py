"""The sample commands in README.md print what the README shows.

Set WOODREF_WRITE_README=1 to put the present output in instead of comparing.
"""

from __future__ import annotations

import contextlib
import os
import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from woodref.cli.main import COMMANDS, main

CLONE = Path(__file__).resolve().parent.parent
README = CLONE / "README.md"
BLOCK = re.compile(r"```console\n\$ woodref (?P<command>[^\n]*)\n(?P<shown>.*?)```", re.DOTALL)


def _printed(command: str) -> str:
    with contextlib.chdir(CLONE):  # samples name files of the clone
        result = CliRunner().invoke(main, shlex.split(command), terminal_width=100)
    return result.output


def _renewed(text: str) -> str:
    return BLOCK.sub(lambda m: f"```console\n$ woodref {m['command']}\n{_printed(m['command'])}```", text)


def test_every_sample_prints_what_the_readme_shows() -> None:
    text = README.read_text(encoding="utf-8")
    assert len(BLOCK.findall(text)) >= 4
    if os.environ.get("WOODREF_WRITE_README"):
        README.write_text(_renewed(text), encoding="utf-8")
    for match in BLOCK.finditer(README.read_text(encoding="utf-8")):
        assert match["shown"] == _printed(match["command"]), match["command"]


def test_both_commands_stand_in_the_readme_word_for_word() -> None:
    text = README.read_text(encoding="utf-8")
    assert (
        "python3 -m venv .venv && .venv/bin/pip install . && "
        '.venv/bin/woodref substitute "Brazilian rosewood" --role face' in text
    )
    assert "python3 -m venv .venv && .venv/bin/pip install '.[test]' && .venv/bin/pytest" in text


def test_every_command_is_named_in_the_readme() -> None:
    text = README.read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"woodref {command}" in text, command
