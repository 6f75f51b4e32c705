"""Files and words that are wrong on purpose, before every reader: what a machine makes up (the same each
time), what is known to choke readers, and files too large to take in. Nothing but a sentence comes of it, in
two seconds of work, and memory stays bounded."""

from __future__ import annotations

import importlib.util
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pytest
from click.testing import Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

HERE = Path(__file__).resolve().parent
CLONE = HERE.parent.parent
#: work that one answer may cost [s of processor time]
MOST_SECONDS = 2.0


def _hostile() -> ModuleType:
    spec = importlib.util.spec_from_file_location("woodref_hostile", HERE / "hostile.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


HOSTILE = _hostile()
#: a good file for each reader, to be spoilt
GOOD: dict[str, bytes] = {
    "yaml": (CLONE / "data/species/alnus-rubra.yaml").read_bytes(),
    "numbers": b"450..600 lb/ft3",
    "layup": (CLONE / "data/demo/seat-shell.yaml").read_bytes(),
    "bundle": HOSTILE.BUNDLE.read_bytes(),
    "bundle figures": HOSTILE.in_bundle("figures.json"),
    "bundle layup": HOSTILE.in_bundle("layup.yaml"),
    "bundle report": b'{"thickness_mm": 8.5, "findings": [], "trade": [{"kg": 1}], "page": "all is well"}',
    "events": (HERE.parent / "provenance/data/scenario.json").read_bytes(),
    "trade item": b"woods: [Dalbergia latifolia]\nform: veneer\nfrom: IN\nto: DE\norigin: IN\nkg: 2 kg\n",
    "day": b"- day: {date: 2026-01-05, offset: Z}\n- scrap: {lot: W-7, amount: 1 leaf, time: '09:40'}\n",
    "parts": b"part,wood,role\nseat,wenge,face\n",
    "cell": b"=cmd|' /C calc'!A0",
    "wood": (CLONE / "data/species/alnus-rubra.yaml").read_bytes(),
    "evidence": (CLONE / "data/trade/evidence.yaml").read_bytes(),
    "law": (CLONE / "data/trade/listings.yaml").read_bytes(),
}
#: pieces that readers are known to trip over
PIECES = (
    b"&a ", b"*a", b"<<: *a", b"!!python/object:os.system ", b"!!binary x", b"---\n", b"...\n",
    b"%YAML 9.9\n", b"? ", b"- ", b": ", b"\t", b"{", b"}", b"[", b"]",
    b'"', b"'", b"|\n", b">-\n", b"#", b"\x00", b"\xff",
    b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\xe2\x80\xae", b"\xe2\x80\xa8", b"\x1b[2J", b"\r", b"\r\n", b"\n\n",
    b"\\ud800", b"null", b"true", b"yes", b"~", b".nan", b"-.inf", b"1e999", b"-0", b"012", b"1_000", b"0x10",
    b"9" * 30, b"9" * 5000, b"1." + b"1" * 200, b"1e-99999999999", b"\xd9\xa3 mm", b"\xe2\x88\x92" b"1",
    b"2026-02-30", b"0000-00-00", b"99999-01-01", b"1/42 in", b"..", b"...", b"<script>", b"{{7*7}}", b"=1+1",
    b"../../x", b"a" * 3000, b"[" * 50, b"{a: " * 50, b"id: ", b"lots: ", b"figures: ", b"plies: ",
)  # fmt: skip
EXAMPLES = {"wood": 15, "evidence": 8, "law": 8, "trade item": 60, "bundle layup": 60, "bundle report": 60}


def _edits(good: bytes) -> st.SearchStrategy[bytes]:
    """The good file with some places of it replaced, dropped, doubled or moved."""
    place = st.integers(0, len(good))
    edit = st.tuples(place, st.integers(0, 40), st.sampled_from(PIECES) | st.binary(max_size=8))

    def done(edits: list[tuple[int, int, bytes]]) -> bytes:
        body = good
        for at, gone, piece in edits:
            body = body[:at] + piece + body[at + gone :]
        return body

    return st.lists(edit, min_size=1, max_size=4).map(done)


@pytest.fixture(scope="module", autouse=True)
def _workroom(cache: Path) -> Iterator[None]:
    before = os.environ.get("WOODREF_CACHE")
    os.environ["WOODREF_CACHE"] = str(cache)
    yield
    if before is None:
        del os.environ["WOODREF_CACHE"]
    else:
        os.environ["WOODREF_CACHE"] = before


def _in_time(name: str, body: bytes) -> bool:
    begun = time.process_time()
    read = HOSTILE.refused_or_read(HOSTILE.TARGETS[name], body)
    assert time.process_time() - begun < MOST_SECONDS, (name, body[:80])
    return bool(read)


@pytest.mark.parametrize("name", GOOD)
def test_the_good_file_is_read(name: str) -> None:
    # else everything below would be refused at the door, and prove nothing
    assert set(GOOD) == set(HOSTILE.TARGETS)
    assert _in_time(name, GOOD[name])


@pytest.mark.parametrize("name", GOOD)
def test_a_spoilt_file_is_read_or_refused_in_a_sentence(name: str) -> None:
    @settings(
        max_examples=EXAMPLES.get(name, 150), derandomize=True, database=None, deadline=None,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(_edits(GOOD[name]) | st.lists(st.sampled_from(PIECES), max_size=12).map(b"".join))
    def spoilt(body: bytes) -> None:
        _in_time(name, body)

    spoilt()


def _bomb(levels: int) -> bytes:
    """Each anchor ten times in the next: ten to the power of `levels` values, were they written out."""
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, levels)]
    return "\n".join(lines).encode()


CHOKERS: dict[str, bytes] = {
    "alias bomb": _bomb(12),
    "deep lists": b"[" * 1_000_000,
    "deep lists, closed": b"[" * 100_000 + b"]" * 100_000,
    "deep mappings": b"{a: " * 200_000,
    "deep mappings of JSON": b'{"events":' * 100_000 + b"1" + b"}" * 100_000,
    "deep hyphens": b"- " * 1_000_000,
    "wide list": b"[" + b"1," * 1_900_000 + b"1]",
    "wide list just taken": b"plies: [" + b"1," * 36_000 + b"1]",
    "wide mapping": b"".join(b"k%d: 1\n" % n for n in range(350_000)),
    "wide mapping just taken": b"".join(b"k%d: 1\n" % n for n in range(18_000)),
    "one long word": b"x" * 3_900_000,
    "one long number": b"9" * 3_900_000,
    "one long quote": b'"' + b"a\n" * 40_000,
    "spaces": b" " * 3_900_000,
    "line ends": b"\n" * 3_900_000,
    "commas": b"," * 3_900_000,
    "quotes": b'"' * 3_900_000,
    "dots": b"." * 3_900_000,
    "one key again and again": b"{" + b'"a":1,' * 200_000 + b'"a":1}',
    "number of JSON": b'{"events": [' + b"9" * 5000 + b"]}",
    "number of JSON with a point": b'{"events": [1.' + b"9" * 5000 + b"]}",
    "lots of no event": json.dumps({"events": [], "lots": [{"id": f"A{n}"} for n in range(20_000)]}).encode(),
    "share of CSV": b"id,time,kind,in\nA,2026-01-01T00:00:00Z,scrap,A " + b"9" * 5000 + b" mm2\n",
    "plies of CSV": b"id,time,kind,in\nA,2026-01-01T00:00:00Z,scrap,A 1 mm2 x " + b"9" * 5000 + b"\n",
    "leaves": b"9" * 5000 + b" leaves of 100 x 100 mm",
}


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("choker", CHOKERS)
def test_what_chokes_readers_is_refused_in_time(name: str, choker: str) -> None:
    _in_time(name, CHOKERS[choker])


def test_a_table_of_faults_is_told_up_to_a_bound() -> None:
    rows = b"listings:\n" + b"- {no: 1}\n" * 8000
    begun = time.process_time()
    HOSTILE.TARGETS["law"](rows)
    assert time.process_time() - begun < 30


# --- files of a hundred megabytes and more, and devices without an end -----------------------------------

#: memory that a command may take beside what it takes to start [bytes]; a file read whole would break it
ROOM = 1_500_000_000
COMMANDS: dict[str, tuple[str, ...]] = {
    "layup": ("layup", "FILE"),
    "trade item": ("trade", "--goods", "FILE"),
    "day": ("stock", "day", "FILE"),
    "events": ("book", "record", "FILE"),
    "parts": ("substitute", "--batch", "FILE"),
    "profile": ("substitute", "wenge", "--profile", "FILE"),
    "sheet": ("book", "check", "--sheet", "FILE"),
    "deposit": ("book", "check", "--deposit", "FILE"),
}


def _refused(arguments: tuple[str, ...], file: str, tmp_path: Path) -> str:
    """What a command in a process of its own says of a file; it has to refuse, in bounded memory."""
    words = [file if word == "FILE" else word for word in arguments]
    done = subprocess.run(
        [sys.executable, "-m", "woodref", *words], capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "WOODREF_BOOK": str(tmp_path / "book.sqlite"), "OPENBLAS_NUM_THREADS": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (ROOM, ROOM)),
    )  # fmt: skip
    assert done.returncode in (1, 2), done.stderr[-500:]
    assert "Traceback" not in done.stderr + done.stdout and "MemoryError" not in done.stderr
    return done.stderr


@pytest.fixture
def book(woodref: Callable[..., Result], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with nothing in it but its first page, for the commands that read one."""
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("WOODREF_BOOK", str(path))
    done = woodref("stock", "receive", "W-1", "1 m2", "--species", "Millettia laurentii",
                   "--thickness", "0.6 mm", "--time", "2026-01-05T09:00:00Z")  # fmt: skip
    assert done.exit_code == 0, done.output
    return path


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_of_more_than_100_mb_is_refused_unread(name: str, book: Path, tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    with file.open("wb") as opened:
        opened.truncate(5_000_000_000)  # sparse: it takes no room on the disk
    assert "larger than" in " ".join(_refused(COMMANDS[name], str(file), tmp_path).split())


@pytest.mark.parametrize("name", COMMANDS)
def test_a_device_without_an_end_is_read_to_the_bound_and_no_further(
    name: str, book: Path, tmp_path: Path
) -> None:
    assert _refused(COMMANDS[name], "/dev/zero", tmp_path).strip()


def test_a_wood_of_5_gb_is_told_by_the_data_check(tmp_path: Path) -> None:
    (tmp_path / "species").mkdir()
    with (tmp_path / "species" / "large.yaml").open("wb") as opened:
        opened.truncate(5_000_000_000)
    done = subprocess.run(
        [sys.executable, "-m", "woodref", "data", "check", "--data", str(tmp_path)],
        capture_output=True, text=True, timeout=60, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (ROOM, ROOM)),
    )  # fmt: skip
    assert done.returncode == 1 and not done.stderr
    assert "data/species/large.yaml:1: the file is larger than 4,000,000 bytes" in done.stdout
