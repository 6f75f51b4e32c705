"""Every command has an example in its help, and every example is a line that the command takes."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator

import click
import pytest

from woodref.cli.main import COMMANDS, main


def _all() -> Iterator[tuple[tuple[str, ...], click.Command]]:
    context = click.Context(main)
    for name in COMMANDS:
        command = main.get_command(context, name)
        assert command is not None
        yield from _below((name,), command)


def _below(path: tuple[str, ...], command: click.Command) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    if not isinstance(command, click.Group):
        yield path, command
        return
    for name, sub in sorted(command.commands.items()):
        yield from _below((*path, name), sub)


EVERY = dict(_all())


def examples(command: click.Command) -> list[str]:
    return re.findall(r"^\s*(?:[A-Z][a-z ]*: )?(woodref .*)$", (command.help or "").replace("\b", ""), re.M)


@pytest.mark.parametrize("path", EVERY, ids=" ".join)
def test_its_example_is_a_line_it_takes(path: tuple[str, ...]) -> None:
    told = [line for line in examples(EVERY[path]) if line.startswith(f"woodref {' '.join(path)}")]
    assert told, f"woodref {' '.join(path)} --help has no example"
    for line in told:
        words = shlex.split(line)[1 + len(path) :]
        assert not {"-h", "--help"} & set(words)
        try:
            EVERY[path].make_context(path[-1], words)
        except click.UsageError as fault:
            raise AssertionError(f"{line}: {fault.format_message()}") from None


def test_an_option_that_is_not_there_would_be_found() -> None:
    with pytest.raises(click.UsageError):
        EVERY["stock", "cut"].make_context("cut", ["W-7", "2 leaves", "--onto", "X=1"])


def test_there_are_as_many_as_the_groups_say() -> None:
    assert len(EVERY) > 60
