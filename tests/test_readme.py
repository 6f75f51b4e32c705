"""The sample commands in README.md print what the README shows.

Set WOODREF_WRITE_README=1 to put the present output in instead of comparing.
"""

from __future__ import annotations

import contextlib
import os
import re
import shlex
from pathlib import Path

import click
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


#: between these lines of the README stand all commands, written by the test
BEGIN, END = "<!-- commands -->", "<!-- end of commands -->"


def _commands() -> str:
    """Every command with its first sentence and the names of its options."""
    context = click.Context(main)
    lines = ["| command | what it does | options |", "| --- | --- | --- |"]

    def below(path: str, command: click.Command) -> None:
        if isinstance(command, click.Group):
            for name, sub in sorted(command.commands.items()):
                below(f"{path} {name}", sub)
            return
        params = [p for p in command.params if not getattr(p, "hidden", False)]
        words = " ".join(p.make_metavar(context) for p in params if p.param_type_name == "argument")
        options = " ".join(f"`{p.opts[0]}`" for p in params if p.param_type_name == "option")
        says = " ".join((command.help or "").split("\n\n")[0].split()).split(". ")[0].rstrip(".")
        called = f"{path} {words}".strip().replace("|", "\\|")
        lines.append(f"| `{called}` | {says} | {options} |")

    for name in COMMANDS:
        command = main.get_command(context, name)
        assert command is not None
        below(f"woodref {name}", command)
    return "\n".join(lines)


def test_every_command_and_option_stands_in_the_readme() -> None:
    text = README.read_text(encoding="utf-8")
    head, rest = text.split(BEGIN, 1)
    tail = rest.split(END, 1)[1]
    if os.environ.get("WOODREF_WRITE_README"):
        README.write_text(f"{head}{BEGIN}\n{_commands()}\n{END}{tail}", encoding="utf-8")
        text = README.read_text(encoding="utf-8")
    assert text.split(BEGIN, 1)[1].split(END, 1)[0].strip() == _commands()


def test_every_page_of_the_explorer_is_named_in_the_readme() -> None:
    from woodref.explorer.routes import FORM, ROUTES

    text = README.read_text(encoding="utf-8")
    for path, _, _ in ROUTES:
        # of a page with names of things below it, the part before them
        plain = re.split(r"\(\?P|\\\.", path.removeprefix("^").replace(FORM, ""))[0].rstrip("$/") or "/"
        assert f"`{plain}" in text, plain
