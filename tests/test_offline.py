"""No command asks anything of a network: with every socket shut they answer as ever."""

from __future__ import annotations

import socket
from pathlib import Path
from typing import Any, NoReturn

import pytest
from click.testing import CliRunner

from woodref.cli.main import main

CLONE = Path(__file__).resolve().parent.parent
SCENARIO = str(CLONE / "tests" / "provenance" / "data" / "scenario.json")
COMMANDS = [
    ("show", "black walnut"), ("find", "--with", "density=..520"), ("compare", "black walnut", "teak"),
    ("substitute", "Brazilian rosewood", "--role", "face"), ("listings", "Dalbergia nigra"),
    ("trade", "Indian rosewood", "--form", "veneer", "--from", "IN", "--to", "DE", "--origin", "IN"),
    ("layup", str(CLONE / "data" / "demo" / "seat-shell.yaml"), "--short"), ("data", "check"),
    ("data", "sources"), ("book", "record", SCENARIO), ("stock", "list"), ("whence", "STOOL-001"),
    ("item", "proof", "STOOL-001", "--to", "EU"), ("sheet", "STOOL-001", "--out", "sheet"),
    ("book", "check", "--sheet", "sheet"), ("book", "check"), ("book", "publish", "public.sqlite"),
    ("explore", "--folder", "pages", "--book-copy", "public.sqlite"),
]  # fmt: skip


class Shut(AssertionError):
    pass


def _refuse(*_: Any, **__: Any) -> NoReturn:
    raise Shut("a network was asked")


def test_every_socket_shut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("connect", "connect_ex", "sendto", "bind"):
        monkeypatch.setattr(socket.socket, name, _refuse)
    monkeypatch.setattr(socket, "getaddrinfo", _refuse)
    monkeypatch.setattr(socket, "create_connection", _refuse)
    with pytest.raises(Shut):  # the shutter shuts
        socket.create_connection(("127.0.0.1", 1))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WOODREF_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("WOODREF_KEY", str(tmp_path / "maker.key"))
    for words in COMMANDS:
        told = CliRunner().invoke(main, list(words))
        assert told.exit_code == 0, (words, told.output[-500:], told.exception)
