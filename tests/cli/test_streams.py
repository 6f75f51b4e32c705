"""The real program in a real process: streams, exit codes, pipes, bytes that are no text."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

PROGRAM = [sys.executable, "-m", "woodref"]


def start(*words: str | bytes, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*PROGRAM, *words], capture_output=True, env=os.environ | env, timeout=60)


@pytest.mark.parametrize(
    ("words", "leaves"),
    [
        (("show", "alnus-rubra"), 0),
        (("show", "tulipwood"), 3),
        (("find", "--with", "density"), 2),
        (("find", "--rows", "0"), 2),
        (("nonsense",), 2),
        (("data", "check", "--data", "/nowhere"), 1),
    ],
)
def test_the_process_leaves_with_the_promised_code(small: Path, words: tuple[str, ...], leaves: int) -> None:
    done = start(*words)
    assert done.returncode == leaves
    assert b"Traceback" not in done.stderr + done.stdout
    # an answer on stdout or a sentence on stderr, never silence
    assert done.stdout if leaves in (0, 1) else done.stderr


def test_the_answer_alone_goes_down_the_pipe(small: Path) -> None:
    done = start("show", "red alder", "--json")
    assert json.loads(done.stdout)["id"] == "alnus-rubra"
    plain = start("show", "alnus-rubra")
    assert b"Note: " not in plain.stdout
    assert b"Note: The trade rules here go up to" in plain.stderr


def test_a_reader_that_has_had_enough_is_no_fault(small: Path) -> None:
    command = subprocess.Popen(
        [*PROGRAM, "data", "sources"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=os.environ
    )
    assert command.stdout is not None and command.stderr is not None
    command.stdout.readline()
    command.stdout.close()
    told = command.stderr.read().decode()
    command.stderr.close()
    assert command.wait(60) == 0
    assert "Traceback" not in told


@pytest.mark.parametrize("command", ["show", "find", "substitute"])
@pytest.mark.parametrize("as_json", [False, True])
def test_bytes_that_are_no_text_break_nothing(small: Path, command: str, as_json: bool) -> None:
    done = start(command, b"w\xff\xfelnut", *([b"--json"] if as_json else []))
    assert done.returncode in (0, 3)
    assert b"Traceback" not in done.stderr + done.stdout


@pytest.mark.parametrize("locale", ["C", "POSIX"])
def test_a_plain_locale_prints_accents_or_stand_ins(small: Path, locale: str) -> None:
    done = start("show", "populus-nigra", LC_ALL=locale, PYTHONIOENCODING="ascii:backslashreplace")
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("find", "--rows", "0", "--json"),
        ("find", "--kind", "plank", "--json"),
        ("substitute", "teak", "--role", "nose", "--json"),
        ("show", "--json"),
        ("trade", "teak", "--items", "0", "--json"),
    ],
)
def test_a_wrong_command_line_fails_in_json_too_when_json_is_asked(
    small: Path, words: tuple[str, ...]
) -> None:
    """A program that reads our JSON must not have to read usage texts."""
    done = start(*words)
    assert done.returncode == 2
    error: dict[str, Any] = json.loads(done.stdout)["error"]
    assert set(error) == {"code", "message", "where", "expected", "next", "candidates"}
    assert error["message"]
