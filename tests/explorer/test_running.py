"""Listening, the printed link, and the end: on this machine, for phones, with a busy port, with Control-C."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import main
from woodref.errors import BadRequest
from woodref.explorer import network, running
from woodref.explorer.asking import Shop
from woodref.explorer.network import bound, names_for, own_addresses
from woodref.explorer.running import code_width, for_phones, qr_drawn, who_sees

LINK = "http://192.168.178.120:8321/?word=k7m3-q9tw-xh4e"


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with one address that others reach."""
    monkeypatch.setattr(running, "names_for", lambda address: ["192.168.7.20", "10.0.0.4"])


# --- where


def test_addresses_that_nobody_else_reaches_are_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    found = [
        ("", 0, 0, "", (a, 0))
        for a in ("127.0.1.1", "169.254.3.4", "192.168.7.20", "10.0.0.4", "192.168.7.20")
    ]
    monkeypatch.setattr(network.socket, "getaddrinfo", lambda *a: found)
    assert own_addresses()[-2:] == ["192.168.7.20", "10.0.0.4"]
    assert not set(own_addresses()) & {"127.0.1.1", "169.254.3.4"}
    monkeypatch.setattr(network, "own_addresses", list)
    with pytest.raises(BadRequest, match="no address on a network"):
        names_for("0.0.0.0")


@pytest.mark.parametrize(("address", "names"), [
    ("192.168.7.20", ["192.168.7.20"]), ("Bench.Shop", ["bench.shop"]), ("fd00::2", ["[fd00::2]"]),
])  # fmt: skip
def test_what_a_chosen_address_is_called(address: str, names: list[str]) -> None:
    assert names_for(address) == names


@pytest.mark.parametrize("address", ["127.0.0.1", "127.3.2.1", "::1"])
def test_this_machine_alone_is_no_address_for_a_phone(address: str) -> None:
    with pytest.raises(BadRequest, match="no phone reaches it"):
        names_for(address)


def test_a_busy_port_and_an_address_of_others_are_told_in_words() -> None:
    with bound("127.0.0.1", 0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(BadRequest, match=f"port {port} is taken"):
            bound("127.0.0.1", port)
        done = CliRunner().invoke(main, ["explore", "--port", str(port)])
        assert done.exit_code == 2 and "Name another port, or 0 for a free one." in " ".join(
            done.output.split()
        )
    with pytest.raises(BadRequest, match="is no address of this machine"):
        bound("198.51.100.7", 0)
    with pytest.raises(BadRequest, match="no machine is called"):
        bound("nobody.invalid", 0)


@pytest.mark.parametrize(("words", "said"), [
    (("--address", "192.168.7.20"), "--address goes with --phone"),
    (("--folder", "x", "--phone"), "--phone: with --folder nothing is served"),
    (("--folder", "x", "--open", "--port", "0"), "--port and --open: with --folder nothing is served"),
    (("--port", "65536"), "65535"), (("--book-copy", "nowhere.sqlite"), "nowhere.sqlite cannot be read"),
])  # fmt: skip
def test_options_that_do_not_go_together(words: tuple[str, ...], said: str) -> None:
    done = CliRunner().invoke(main, ["explore", *words])
    assert done.exit_code == 2 and said in " ".join(done.output.split())
    assert not Path("x").exists()


def test_a_real_book_is_refused_before_anything_is_served(books: Any) -> None:
    for more in ((), ("--phone",), ("--folder", "x")):
        done = CliRunner().invoke(main, ["explore", "--book-copy", str(books.book), *more])
        assert done.exit_code == 2 and "is a stock book itself" in " ".join(done.output.split())
    assert not Path("x").exists()


# --- the link


def test_a_link_for_phones_carries_a_new_word_and_closes_the_rest(at_home: None) -> None:
    words = set()
    for _ in range(3):
        opened = for_phones(None, 0)
        with opened.listening:
            assert opened.listening.getsockname()[0] == "0.0.0.0"
            assert opened.links[0] == f"http://192.168.7.20:{opened.port}/?word={opened.rules.word}"
            assert opened.rules.hosts == frozenset(["192.168.7.20", "10.0.0.4"]) and opened.rules.public
            words.add(opened.rules.word)
    assert len(words) == 3 and None not in words


def test_who_can_see_what_is_said(at_home: None, catalogue: Catalogue, books: Any) -> None:
    opened = for_phones(None, 0)
    with opened.listening:
        bare = " ".join(who_sees(opened, Shop(catalogue), False))
        shelf = " ".join(who_sees(opened, Shop(catalogue, books.shop), True))
        port = opened.port
    assert "Whoever has this link and is on the same network can read" in bare and "items" not in bare
    assert "of shop.sqlite the published items and the shelf" in shelf
    for said in (bare, shelf):
        assert "not encrypted" in said and "Control-C stops it" in said and f"port {port}" in said
        assert f"http://10.0.0.4:{port}/" in said


def test_the_code_on_the_terminal_is_that_of_the_link() -> None:
    import segno

    drawn = qr_drawn(LINK, "utf-8", 80)
    assert drawn is not None
    lines = [re.sub("\x1b\\[[0-9;]*m", "", line) for line in drawn.split("\n")]
    assert {len(line) for line in lines} == {code_width(LINK)} and code_width(LINK) <= 80
    # each sign stands for two cells, one above the other; light is drawn
    light = {"█": (True, True), "▀": (True, False), "▄": (False, True), " ": (False, False)}
    cells = [[light[sign][half] for sign in line] for line in lines for half in (0, 1)]
    wanted = [
        [not dark for dark in row] for row in segno.make(LINK, error="m", micro=False).matrix_iter(border=4)
    ]
    assert cells[: len(wanted)] == wanted
    # white on black whatever the terminal looks like
    assert all(line.startswith("\x1b[97;40m") and line.endswith("\x1b[0m") for line in drawn.split("\n"))


@pytest.mark.parametrize(("encoding", "columns"), [("ascii", 80), (None, 80), ("no-such", 80), ("utf-8", 30)])
def test_a_terminal_that_cannot_show_it_gets_the_link_alone(encoding: str | None, columns: int) -> None:
    assert qr_drawn(LINK, encoding, columns) is None


# --- running


@contextmanager
def started(cache: Path, tmp_path: Path, *words: str) -> Iterator[tuple[subprocess.Popen[bytes], Any]]:
    """`woodref explore WORDS` as a process, and what it says as a growing text."""
    out, err = tmp_path / "out.txt", tmp_path / "err.txt"
    env = os.environ | {"WOODREF_CACHE": str(cache), "PYTHONUNBUFFERED": "1"}
    with out.open("wb") as o, err.open("wb") as e:
        process = subprocess.Popen(
            [sys.executable, "-m", "woodref", "explore", "--port", "0", *words], stdout=o, stderr=e, env=env
        )
    try:
        yield process, lambda: out.read_text("utf-8") + err.read_text("utf-8")
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()


def until(said: Any, pattern: str, seconds: float = 60) -> re.Match[str]:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = re.search(pattern, said())
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError(f"{pattern} was not said: {said()}")


def get(host: str, port: int, path: str, **heads: str) -> tuple[int, bytes]:
    end = time.monotonic() + 60
    while True:
        connection = http.client.HTTPConnection(host, port, timeout=20)
        try:
            connection.request("GET", path, headers=heads)
            answered = connection.getresponse()
            return answered.status, answered.read()
        except ConnectionError:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)
        finally:
            connection.close()


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on a Unix terminal")
def test_browsers_that_break_off_and_control_c_leave_no_traceback(
    cache: Path, catalogue: Catalogue, tmp_path: Path
) -> None:
    assert catalogue.path.exists()
    with started(cache, tmp_path) as (process, said):
        port = int(until(said, r"woodref is open at http://127\.0\.0\.1:(\d+)/ on this machine alone")[1])
        assert get("127.0.0.1", port, "/")[0] == 200
        for request in (
            b"GET /catalogue/figure.csv?_stream=on HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
            b"GET /woods HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", b"GET / HTTP/1.1\r\nHost: 127.0",
            b"\x16\x03\x01\x02\x00nonsense", b"GET /wood/\xff HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", b"",
        ):  # fmt: skip
            with socket.create_connection(("127.0.0.1", port), timeout=20) as broken:
                broken.sendall(request)
                broken.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\x00\x00\x00\x00\x00\x00\x00")
        assert get("127.0.0.1", port, "/wood/teak")[0] == 200
        assert get("127.0.0.1", port, "/nothing-there")[0] == 404
        assert get("127.0.0.1", port, "/", Host="evil.example")[0] == 421
        with socket.create_connection(("127.0.0.1", port)):  # one that stays open
            process.send_signal(signal.SIGINT)
            assert process.wait(30) == 0
        assert said().rstrip().endswith("Stopped.") and "Traceback" not in said()
        assert "Aborted" not in said() and "Exception" not in said()


def test_phones_come_in_by_the_printed_link_alone(
    cache: Path, catalogue: Catalogue, books: Any, tmp_path: Path
) -> None:
    assert catalogue.path.exists()
    address = next(iter(own_addresses()), None)
    if address is None:
        with pytest.raises(BadRequest, match="no address on a network"):
            names_for("0.0.0.0")
        return
    with started(cache, tmp_path, "--phone", "--book-copy", str(books.shop)) as (_, said):
        until(said, "Control-C stops it")
        host, port, word = re.search(r"http://([0-9.]+):(\d+)/\?word=(\S+)", said()).groups()  # type: ignore[union-attr]
        assert host == address and "█" not in said() and "\x1b" not in said()  # a pipe gets the plain link
        assert get(host, int(port), "/shelf")[0] == 403
        assert get(host, int(port), f"/shelf?word={word}")[0] == 303
        kept = {"Cookie": f"woodref_word={word}"}
        status, body = get(host, int(port), "/shelf", **kept)
        assert status == 200 and b"rack 1" in body and word.encode() not in body
        assert get(host, int(port), "/catalogue", **kept)[0] == 403
        assert get(host, int(port), "/", Host="127.0.0.1", **kept)[0] == 421
        assert get("127.0.0.1", int(port), "/", **kept)[0] == 421


def test_the_browser_is_opened_beside_the_server(monkeypatch: pytest.MonkeyPatch) -> None:
    import threading
    import webbrowser

    asked, told = list[str](), list[str]()
    monkeypatch.setattr(webbrowser, "open", lambda link: bool(asked.append(link)))
    running._show("http://127.0.0.1:1/", told.append)
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and thread.daemon and thread.name.startswith("Thread-"):
            thread.join(5)
    assert asked == ["http://127.0.0.1:1/"]
    assert told == ["No browser could be started here: open the address yourself."]
