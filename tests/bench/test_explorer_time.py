"""How long the pages of the explorer take, how heavy they are, and what a busy shop does to them.

CPU time is that of the whole request in this process: guards, Datasette, page, template. The load is real:
a child process on the loopback, asked ten times a second by one clock whatever it answers, beside Datasette's
own page of the same view of the same file.
"""

from __future__ import annotations

import asyncio
import csv
import os
import random
import re
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median, quantiles

import httpx
import pytest
from bs4 import BeautifulSoup

from woodref.catalogue.reader import Catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.drawing import STATIC
from woodref.explorer.serving import app_of, explorer

LISTED = Path(__file__).resolve().parents[1] / "explorer" / "pages.csv"
ROWS = list(csv.DictReader(LISTED.read_text("utf-8").splitlines()))
PATHS = [row["path"] for row in ROWS]
#: answers that are reckoned: stand-ins, packs
RECKONED = ("/instead", "/layup")
#: milliseconds of CPU, warm: a page of the shipped catalogue, one among 5,000 woods, and an answer that is
#: reckoned. The best of several is held to them, so that a busy machine does not speak for the page. Nothing
#: is added for a slow machine: it has what the pages leave, which is nearly half.
USUAL, USUAL_MANY, HEAVY = 50, 100, 150
#: times each page is asked after the first
TIMES = 5
#: bytes of a page with the files of ours that it loads
WEIGHT = 150_000
#: the load: requests a second, seconds, and the time within which 95 of 100 are answered
RATE, LENGTH, P95 = 10, 8, 0.250
#: requests over which memory may not grow, and by how much it may still settle [kB]
REQUESTS, SETTLES = 500, 6_000


def limit_of(path: str, usual: int) -> int:
    return HEAVY if path.startswith(RECKONED) else usual


async def _timed(catalogue: Catalogue, paths: list[str]) -> dict[str, tuple[float, httpx.Response]]:
    """path -> (milliseconds of CPU, the answer), the best of several after the first."""
    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    out = {}
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        for path in paths:
            took = []
            for _ in range(TIMES + 1):
                begun = time.process_time()
                answer = await client.get(path)
                took.append(1000 * (time.process_time() - begun))
                assert answer.status_code < 500, path
            out[path] = (min(took[1:]), answer)
    made.executor.shutdown(wait=False)
    return out


def _weight(answer: httpx.Response) -> int:
    """Bytes of an answer with the files of ours that a page loads."""
    loaded = {file.name: file.stat().st_size for file in STATIC.iterdir()}
    size = len(answer.content)
    if answer.headers["content-type"].startswith("text/html"):
        page = BeautifulSoup(answer.text, "html.parser")
        names = {str(node.get("src") or node.get("href")) for node in page.select("script[src], link[href]")}
        size += sum(loaded.get(name.rpartition("/")[2], 0) for name in names)
    return size


async def _held_to(catalogue: Catalogue, usual: int, capsys: pytest.CaptureFixture[str]) -> None:
    """Every page of the list within its time and weight."""
    found = await _timed(catalogue, PATHS)
    sizes = {path: _weight(answer) for path, (_, answer) in found.items()}
    late = [f"{path}: {took:.0f} ms" for path, (took, _) in found.items() if took > limit_of(path, usual)]
    fat = [f"{path}: {size:,} bytes" for path, size in sizes.items() if size > WEIGHT]
    slow = sorted(((took, path) for path, (took, _) in found.items()), reverse=True)[:5]
    heaviest = max(sizes, key=lambda path: sizes[path])
    with capsys.disabled():
        print(f"\n{len(catalogue.ids()):,} woods, CPU of {len(found)} pages, warm, the slowest: ", end="")
        print(", ".join(f"{path} {took:.0f} ms" for took, path in slow))
        print(f"heaviest: {heaviest} {sizes[heaviest] / 1000:.0f} kB with what it loads")
    assert not late and not fat, (late, fat)


async def test_every_page_within_its_time_and_weight(
    catalogue: Catalogue, capsys: pytest.CaptureFixture[str]
) -> None:
    await _held_to(catalogue, USUAL, capsys)


async def test_every_page_among_five_thousand_woods(
    large: Catalogue, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(large.ids()) >= 5_000
    await _held_to(large, USUAL_MANY, capsys)


async def test_pages_of_long_lists_among_five_thousand_woods(
    large: Catalogue, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pages from the first to the last of each list that turns its pages."""
    made = explorer(Shop(large))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    lists = (
        "/woods",
        "/engineered",
        "/pictures/weight",
        "/pictures/movement",
        "/pictures/light",
        "/about/coverage",
    )
    turned: dict[str, tuple[int, float, int]] = {}
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        for path in lists:
            # a page that there is not tells how many there are
            told = (await client.get(f"{path}?page=999999")).text
            pages = int(re.findall(r"is no whole number from 1 to (\d+)", told)[0])
            best, weight = [], []
            for number in sorted({1, 2, pages // 3, pages // 2, pages - 1, pages}):
                took = []
                for _ in range(3):
                    begun = time.process_time()
                    answer = await client.get(f"{path}?page={number}")
                    took.append(1000 * (time.process_time() - begun))
                assert answer.status_code == 200, (path, number)
                soup = BeautifulSoup(answer.text, "html.parser")
                ways = [soup.select_one(f'a[rel="{way}"], button[name="page"]') for way in ("prev", "next")]
                assert any(ways), (path, number)
                best.append(min(took))
                weight.append(_weight(answer))
            turned[path] = (pages, max(best), max(weight))
    with capsys.disabled():
        print("\n" + ", ".join(f"{path}: {n} pages, {took:.0f} ms" for path, (n, took, _) in turned.items()))
    assert all(pages > 2 for pages, _, _ in turned.values()), turned
    assert all(took <= USUAL_MANY and weight <= WEIGHT for _, took, weight in turned.values()), turned


@contextmanager
def _child(words: list[str], cache: Path, says: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A server of its own process, and its address once it says it."""
    told = os.environ | {"WOODREF_CACHE": str(cache), "WOODREF_TODAY": "2026-06-01", "PYTHONUNBUFFERED": "1"}
    child = subprocess.Popen(
        [sys.executable, "-m", *words], env=told, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    try:
        assert child.stdout is not None
        patience = threading.Timer(60, child.kill)
        patience.start()
        found = next((m for line in child.stdout if (m := re.search(says, line))), None)
        patience.cancel()
        assert found, "nothing was said"
        yield child, found[0].rstrip("/")
    finally:
        child.terminate()
        child.communicate(timeout=20)


def _free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return int(held.getsockname()[1])


async def _load(address: str, paths: list[str], seconds: float) -> list[float]:
    """Seconds that each of RATE requests a second took, by a clock that waits for no answer."""
    took: list[float] = []

    async def one(client: httpx.AsyncClient, path: str) -> None:
        begun = time.perf_counter()
        answer = await client.get(path)
        took.append(time.perf_counter() - begun)
        assert answer.status_code < 500, path

    async with httpx.AsyncClient(base_url=address, timeout=30) as client:
        for path in sorted(set(paths)):
            await client.get(path)
        took.clear()
        begun, tasks = time.perf_counter(), []
        for number in range(int(RATE * seconds)):
            await asyncio.sleep(max(0.0, begun + number / RATE - time.perf_counter()))
            tasks.append(asyncio.create_task(one(client, paths[number % len(paths)])))
        await asyncio.gather(*tasks)
    return took


async def _one_by_one(address: str, path: str) -> float:
    """Milliseconds of an answer, median, asked one after the other."""
    took = []
    async with httpx.AsyncClient(base_url=address, timeout=30) as client:
        for _ in range(9):
            begun = time.perf_counter()
            assert (await client.get(path)).status_code == 200
            took.append(1000 * (time.perf_counter() - begun))
    return median(took[1:])


async def _stock(catalogue: Catalogue, cache: Path, says: str, more: list[str]) -> float:
    """The same for Datasette's own page of the same view of the same file."""
    words = ["datasette", "serve", "-i", str(catalogue.path), "--port", str(_free_port()), *more]
    with _child(words, cache, says) as (_, address):
        return await _one_by_one(address, f"/{catalogue.path.stem}/material_wide")


def _memory(child: subprocess.Popen[str]) -> int:
    """Resident memory of a process [kB]."""
    told = Path(f"/proc/{child.pid}/status").read_text("ascii")
    return int(re.findall(r"VmRSS:\s+(\d+)", told)[0])


async def test_a_busy_shop_is_answered_and_memory_stays(
    catalogue: Catalogue, cache: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mixed = [path for path in PATHS if not path.startswith("/layup/")]
    random.Random(7).shuffle(mixed)
    table = "/catalogue/material_wide"
    says = r"http://127\.0\.0\.1:\d+/?"
    with _child(["woodref", "explore", "--port", "0"], cache, says) as (child, address):
        took = await _load(address, mixed, LENGTH)
        ours_table = await _one_by_one(address, table)
        async with httpx.AsyncClient(base_url=address, timeout=30) as client:
            for path in mixed:
                await client.get(path)
            before = _memory(child) if sys.platform == "linux" else 0
            for number in range(REQUESTS):
                await client.get(mixed[number % len(mixed)])
            grown = _memory(child) - before if sys.platform == "linux" else 0
            # far more than it can do at once: slow answers, and none that fails
            many = await asyncio.gather(*(client.get(path) for path in mixed * 2))
        assert all(answer.status_code < 500 for answer in many)
    stock, bare = [
        await _stock(catalogue, cache, says, more) for more in ([], ["--setting", "suggest_facets", "off"])
    ]
    p95 = quantiles(took, n=20)[-1]
    with capsys.disabled():
        print(
            f"\n{RATE} requests a second of {len(mixed)} mixed pages: half within "
            f"{1000 * median(took):.0f} ms, 95 of 100 within {1000 * p95:.0f} ms; "
            f"memory {grown:+,} kB over {REQUESTS} requests\n"
            f"the table of all woods: {ours_table:.0f} ms; Datasette's own page of it: {stock:.0f} ms, "
            f"{bare:.0f} ms where it suggests no facets (as ours)"
        )
    assert len(took) == RATE * LENGTH
    assert p95 < P95
    assert grown < SETTLES
