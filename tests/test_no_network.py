"""woodref needs no network at run time: every command works in a process that can reach nothing, and the
explorer opens one door, on the loopback alone.

The guard is a `sitecustomize` in a folder of its own, so that it stands before the first import of ours: each
connection, each name looked up and each packet is written down and refused."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

CLONE = Path(__file__).resolve().parent.parent
GUARD = """
import os, socket

def written(what):
    with open(os.environ["WOODREF_TRIED"], "a") as file:
        file.write(what + "\\n")

class Guarded(socket.socket):
    def _refuse(self, *args, **kwargs):
        written(f"reach {args[:1]}")
        raise OSError("no network here")
    connect = connect_ex = sendto = _refuse
    def bind(self, address):
        written(f"bind {address[0]}")
        return super().bind(address)

def looked_up(name, *args, **kwargs):
    if name not in ("127.0.0.1", "::1", None):
        written(f"look up {name}")
        raise socket.gaierror("no network here")
    return found(name, *args, **kwargs)

found = socket.getaddrinfo
socket.getaddrinfo = looked_up
socket.gethostbyname = socket.gethostbyname_ex = socket.create_connection = Guarded._refuse
socket.socket = Guarded
"""
SCENARIO = str(CLONE / "tests" / "provenance" / "data" / "scenario.json")
COMMANDS = (
    ("show", "black walnut"), ("find", "--with", "density=..520"), ("compare", "black walnut", "teak"),
    ("substitute", "Brazilian rosewood", "--role", "face"), ("listings", "Dalbergia nigra"),
    ("trade", "Indian rosewood", "--form", "veneer", "--from", "IN", "--to", "DE", "--origin", "IN"),
    ("layup", str(CLONE / "data" / "demo" / "seat-shell.yaml"), "--short"), ("data", "check"),
    ("data", "sources"), ("book", "record", SCENARIO), ("stock", "list"), ("whence", "STOOL-001"),
    ("item", "proof", "STOOL-001", "--to", "EU"), ("sheet", "STOOL-001", "--out", "sheet"),
    ("book", "check", "--sheet", "sheet"), ("book", "check"), ("book", "publish", "public.sqlite"),
    ("explore", "--folder", "pages", "--book-copy", "public.sqlite"),
)  # fmt: skip


@pytest.fixture
def alone(tmp_path: Path) -> dict[str, str]:
    """What a process is told that stands behind the guard, in a home of its own."""
    (tmp_path / "guard").mkdir()
    (tmp_path / "guard" / "sitecustomize.py").write_text(GUARD)
    path = os.pathsep.join(p for p in (str(tmp_path / "guard"), os.environ.get("PYTHONPATH", "")) if p)
    return {
        **os.environ, "PYTHONPATH": path, "WOODREF_TRIED": str(tmp_path / "tried"), "HOME": str(tmp_path),
        "WOODREF_BOOK": str(tmp_path / "book.sqlite"), "WOODREF_KEY": str(tmp_path / "maker.key"),
        "XDG_DATA_HOME": str(tmp_path / "own"),
    }  # fmt: skip


def test_the_guard_refuses_and_writes_down_what_is_tried(alone: dict[str, str], tmp_path: Path) -> None:
    for tried in (
        "import socket; socket.socket().connect(('127.0.0.1', 9))",
        "import urllib.request; urllib.request.urlopen('http://localhost:9/')",
        "import socket; socket.getaddrinfo('example.invalid', 80)",
    ):
        done = subprocess.run([sys.executable, "-c", tried], env=alone, capture_output=True, check=False)
        assert b"no network here" in done.stderr
    assert len((tmp_path / "tried").read_text().splitlines()) >= 3


def test_every_command_works_with_no_network(alone: dict[str, str], tmp_path: Path) -> None:
    for words in COMMANDS:
        done = subprocess.run(
            [sys.executable, "-m", "woodref", *words], cwd=tmp_path, env=alone, capture_output=True,
            text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, (words, done.stderr[-600:])
        assert done.stdout.strip() or done.stderr.strip(), words
    assert not (tmp_path / "tried").exists(), (tmp_path / "tried").read_text()


def test_the_explorer_binds_the_loopback_and_reaches_for_nothing(
    alone: dict[str, str], tmp_path: Path
) -> None:
    serving = subprocess.Popen(
        [sys.executable, "-m", "woodref", "explore", "--port", "0"], env={**alone, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        assert serving.stdout is not None
        lines = []
        for line in serving.stdout:
            lines.append(line)
            if "http://127.0.0.1:" in line:
                break
        words = " ".join(lines).split()
        door = next((w.rstrip(".") for w in words if w.startswith("http://127.0.0.1:")), None)
        assert door is not None, lines
        for path in ("/", "/wood/juglans-nigra.json", "/layup", "/trade"):
            with urllib.request.urlopen(door.rstrip("/") + path, timeout=30) as answer:
                body = answer.read()
                assert answer.status == 200 and body
            if path.endswith(".json"):
                assert json.loads(body)
    finally:
        serving.terminate()
        serving.communicate(timeout=30)
    tried = (tmp_path / "tried").read_text().splitlines()
    assert tried and set(tried) == {"bind 127.0.0.1"}, tried
