"""Every command that reads, in a process of its own, and every page of the explorer, on a catalogue and a
book of some size: what each takes, and the law by which that may grow."""

from __future__ import annotations

import asyncio
import csv
import gc
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from growing import grown_by, within
from timing import TESTS

SEAT = str(TESTS.parent / "data" / "demo" / "seat-shell.yaml")
LISTED = TESTS / "explorer" / "pages.csv"
#: user milliseconds by which a command's time sways in a process of its own, in this one, and a page's
NOISE, NOISE_INSIDE, PAGE_NOISE = 60.0, 25.0, 10.0
#: the first lots and the last item of the first hundred: they stand in a book of any size
ITEM, LOT = "I99", "A0"

#: command line -> the steepest law that it may follow with the number of materials
BY_MATERIALS: dict[str, str] = {
    "show teak": "constant",
    "find teek": "linear",  # found by no name, so close spellings are looked for
    "trade teak --form veneer --from ID --to DE": "constant",
    "compare teak iroko": "constant",
    "listings --on 2026-01-01": "constant",
    f"layup {SEAT}": "linear",
    f"layup {SEAT} --json": "linear",
    "find maple": "linear",
    "find --with density=450..600": "linear",
    "find --like-colour #5a3a22": "linear",
    "substitute 'Brazilian rosewood' --role face": "linear",
    "substitute --like colour=dark-brown --like density=850": "linear",
    "substitute sapele --role back --for-face 'black walnut@0.6mm'": "linear",
    "data coverage": "linear",
    "data sources": "linear",
    "data fields": "constant",
    "data export OUT": "linear",
    "data diff CATALOGUE CATALOGUE": "linear",
    "data check": "linear",
}
PUBLISH = "book publish OUT.sqlite --shelf"
#: the same with the number of events of the book; the catalogue is the shipped one
BY_EVENTS: dict[str, str] = {
    f"whence {ITEM}": "constant",
    f"went-into {LOT}": "constant",
    f"stock show {LOT}": "constant",
    "stock list": "linear",
    f"stock list {LOT}": "linear",
    f"stock label {LOT} --out OUT.html": "constant",
    f"stock slip {LOT} --out OUT.html": "constant",
    f"stock pick --layup {SEAT}": "linear",
    "find --in-stock --piece 490x460": "linear",
    "substitute 'black walnut' --in-stock": "linear",
    "item list": "linear",
    f"item show {ITEM}": "constant",
    f"item proof {ITEM}": "constant",
    f"item repair-kit {ITEM}": "constant",
    "document list": "linear",
    f"document list {LOT}": "constant",
    f"sheet {ITEM} --answer": "constant",
    f"sheet {ITEM} --out OUT": "constant",
    f"stock note {LOT} 'Well dried.'": "constant",
    f"stock scrap {LOT} 100mm2 --note 'A split end.'": "constant",
    "book check": "linear",
    PUBLISH: "linear",
    "book backup OUT": "linear",
    "book deposit --out OUT.json": "constant",
}
#: commands whose answer is the same whatever else stands in the catalogue or was booked later
SAME = (
    "show teak", "trade teak", "compare teak", "listings", "layup", "whence", "stock show", "item show",
    "document list A0",
)  # fmt: skip


@dataclass
class Grown:
    """What one command or page takes at each size [ms of the processor]."""

    what: str
    may: str
    noise: float
    sizes: list[int] = field(default_factory=list)
    times: list[float] = field(default_factory=list)
    memory: list[float] = field(default_factory=list)
    answers: list[str] = field(default_factory=list)

    @property
    def law(self) -> str:
        return grown_by(self.sizes, self.times, self.noise)

    @property
    def holds(self) -> bool:
        return within(self.sizes, self.times, self.may, self.noise)

    def note(self, size: int, took: float, memory: float, answer: str) -> None:
        """What was measured; of a size that was measured before the lesser time counts."""
        if size in self.sizes:
            place = self.sizes.index(size)
            self.times[place] = min(self.times[place], took)
            return
        self.sizes.append(size)
        self.times.append(took)
        self.memory.append(memory)
        self.answers.append(answer)


def run(words: list[str], env: dict[str, str], folder: Path) -> tuple[float, float, str]:
    """User milliseconds, peak memory [MB; 0 where it is not seen] and what is printed of one command in a
    fresh process."""
    with (folder / "said").open("w+b") as out, (folder / "told").open("w+b") as err:
        child = subprocess.Popen([sys.executable, "-m", "woodref", *words], stdout=out, stderr=err, env=env)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0), err.seek(0)
        said = out.read().decode()
        if child.returncode:
            raise AssertionError(
                f"{words}: exit {child.returncode}: {said[-300:]}{err.read().decode()[-900:]}"
            )
    # a child begins with the memory of its parent: what it took itself is seen where it is more
    mine = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return 1000 * used.ru_utime, used.ru_maxrss / 1024 if used.ru_maxrss > 1.05 * mine else 0.0, said


def run_here(words: list[str], env: dict[str, str], folder: Path) -> tuple[float, float, str]:
    """The same in this process: milliseconds of the processor, without any start."""
    from click.testing import CliRunner

    from woodref.cli.main import main

    gc.collect()
    begun = time.process_time()
    done = CliRunner().invoke(main, words, env=env)
    took = 1000 * (time.process_time() - begun)
    assert done.exit_code == 0, (words, done.output[-600:], done.exception)
    return took, 0.0, done.stdout


def environment(folder: Path, **more: str) -> dict[str, str]:
    """What a command is run with: a cache and a home of its own, a pinned day."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("OPENBLAS", "WOODREF"))}
    home = {"WOODREF_CACHE": "cache", "XDG_DATA_HOME": "share", "XDG_CONFIG_HOME": "settings",
            "WOODREF_PARTIES": "parties.sqlite", "WOODREF_HEADS": "heads.json",
            "WOODREF_KEY": "maker.key"}  # fmt: skip
    return env | {k: str(folder / v) for k, v in home.items()} | {"WOODREF_TODAY": "2026-06-01"} | more


def commands(
    asked: dict[str, str],
    size: int,
    env: dict[str, str],
    held: dict[str, Grown],
    catalogue: Path | None = None,
    inside: bool = False,
) -> None:
    """Run each once, the quick ones again for the least of a few; add it to what is held."""
    import shlex

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for line, may in asked.items():
            told = line.replace(SEAT, Path(SEAT).name)
            grown = held.setdefault(line, Grown(told, may, NOISE_INSIDE if inside else NOISE))
            took, memory, said = [], [], ""
            # what is loaded once in this process is no part of the smallest's time
            unmeasured = inside and not grown.sizes
            while not took or (len(took) < 2 and took[0] < (300 if inside else 2000)):
                place = str(folder / f"out-{len(list(folder.iterdir()))}")
                words = [
                    word.replace("OUT", place) if word.startswith("OUT")
                    else str(catalogue) if word == "CATALOGUE" else word
                    for word in shlex.split(line)
                ]  # fmt: skip
                used, peak, said = (run_here if inside else run)(words, env, folder)
                if unmeasured:
                    unmeasured = False
                    continue
                assert said.strip() or list(folder.glob("out-*")), line
                took.append(used)
                memory.append(peak)
            print(
                f"  {size:,}: {min(took):,.0f} ms, {min(memory):,.0f} MB: {grown.what}",
                file=sys.stderr,
                flush=True,
            )
            grown.note(size, min(took), min(memory), said)


def same_answers(held: dict[str, Grown]) -> int:
    """Whether what must not hang on the size says the same at each; how many were looked at."""
    looked = 0
    for line, grown in held.items():
        if line.startswith(SAME):
            first, *others = (_told(text) for text in grown.answers)
            assert all(other == first for other in others), line
            looked += 1
    return looked


def _told(text: str) -> Any:
    """An answer without the digest of the catalogue, wherever it stands in it."""
    if not text.startswith("{"):
        return text
    told = json.loads(text)
    return json.loads(text.replace(told["catalogue"]["digest"], "")) if "catalogue" in told else told


def paths_of_pages() -> list[str]:
    """Every page that answers, as the explorer's own tests ask for them."""
    told = [row["path"] for row in csv.DictReader(LISTED.read_text("utf-8").splitlines())]
    return [path for path in told if "STOOL" not in path]


def pages(
    size: int, held: dict[str, Grown], catalogue: Path, book_copy: Path | None, only: tuple[str, ...] = ("",)
) -> None:
    """Ask for each page that begins so in this process, warm; the least of three or, of slow ones, two."""
    from woodref.catalogue.reader import Catalogue, _connect

    with Catalogue(catalogue, _connect(catalogue)) as opened:
        asyncio.run(_pages(size, held, opened, book_copy, only))


async def _pages(
    size: int, held: dict[str, Grown], catalogue: Any, copy: Path | None, only: tuple[str, ...]
) -> None:  # fmt: skip
    import httpx

    from woodref.explorer.asking import Shop
    from woodref.explorer.serving import app_of, explorer

    made = explorer(Shop(catalogue, copy))
    await made.invoke_startup()
    asked = [*paths_of_pages(), f"/items/{ITEM}", "/items?page=2", "/woods?page=2"]
    at = "http://127.0.0.1:8321"
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app_of(made)), base_url=at) as client:  # type: ignore[arg-type]
        for path in asked:
            if not path.startswith(only):
                continue
            grown = held.setdefault(path, Grown(path, "linear", PAGE_NOISE))
            took: list[float] = []
            answer = await client.get(path)
            while len(took) < 2 or (len(took) < 3 and took[0] < 1000):
                begun = time.process_time()
                answer = await client.get(path)
                took.append(1000 * (time.process_time() - begun))
            assert answer.status_code < 500, (path, answer.status_code, answer.text[:300])
            print(f"  {size:,}: {min(took):,.0f} ms: {path}", file=sys.stderr, flush=True)
            grown.note(size, min(took), len(answer.content) / 1000, str(answer.status_code))
