"""Every key of every JSON answer is explained in DEVELOPERS.md, "Keys of the JSON", and none there is stale.

A script of commands is run in a fresh workshop, and the pages are asked as JSON; each key that is met has to
stand under the heading of its answer, in backticks, or be a field of the data files in data/README.md. It is
written with as much of its way down from the top as tells it from others: `mould.name` is a name below mould.
"""

from __future__ import annotations

import asyncio
import csv
import json
import re
import shlex
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
import httpx
import pytest
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import COMMANDS, main
from woodref.explorer.asking import Shop
from woodref.explorer.guards import Rules
from woodref.explorer.routes import FORM, ROUTES
from woodref.explorer.serving import app_of, explorer

HERE = Path(__file__).resolve().parent
CLONE = HERE.parents[1]
SCRIPT = HERE / "json_keys_script.txt"
DEVELOPERS = CLONE / "DEVELOPERS.md"
PAGES = CLONE / "tests" / "explorer" / "pages.csv"
HOST = "http://127.0.0.1:8321"

#: heading in DEVELOPERS.md -> the commands and pages whose answers it explains
ANSWERS = {
    "show, find and compare": (
        "show", "find", "compare", "start:search", "woods:woods", "wood:wood", "beside:beside",
    ),
    "substitute": ("substitute", "instead:instead"),
    "layup": ("layup", "layup:layup"),
    "trade and listings": ("trade", "listings", "trade:trade", "trade:listings"),
    "stock": ("stock",),
    "item": ("item",),
    "document": ("document",),
    "whence and went-into": ("whence", "went-into"),
    "sheet": ("sheet",),
    "book": ("book",),
    "data": ("data", "about:sources", "about:coverage"),
    "pages": (
        "pictures:pictures", "pictures:picture", "board:board", "sheets:sheets", "sheets:sheet",
        "about:about", "about:source", "published:finished", "published:item",
        "published:customer_sheet", "published:shelf",
    ),
}  # fmt: skip
COMMON, ERRORS = "common to all", "errors"
#: what lies below these keys is explained under another heading
LENT = {
    ("show, find and compare", "listings"): "trade and listings",
    ("substitute", "listings"): "trade and listings",
    ("substitute", "in_stock"): "show, find and compare",
    ("layup", "states"): "trade and listings",
    ("item", "listings"): "trade and listings",
    ("item", "other_laws"): "trade and listings",
    ("pages", "sheet"): "sheet",
}
#: maps whose keys are data (a property, a kind, a leaf, a file), by the end of their way
DATA = (
    "query.with", "query.only", "query.keep", "query.limits", "query.weights", "figures", "by_kind",
    "by_evidence", "figures_by_evidence", "unknown", "states", "error.fields", "licences", "leaf_notes",
    "roles", "part_roles",
)  # fmt: skip
#: the same, under one heading alone
DATA_OF = {"pages": ("files", "law")}
#: headings whose answers repeat fields of the data files
FIELDS = ("show, find and compare", "substitute", "trade and listings", "data", "pages")
#: keys below which a row of a data file stands whole
ROWS = ("", "rows", "listings", "source")
#: what a block of the data files is called in an answer
CALLED = {"also_called": "names", "cure_part_min_at": "cure", "reference": "condition"}
#: keys between a block and its fields: figures in other conditions, and both sides of a difference
BETWEEN = ("others", "old", "new")
#: pages that answer with no JSON of their own
WITHOUT = {"start:start", "layup:written", "layup:card", "layup:style"}

Way = tuple[str, ...]


def every_command() -> Iterator[str]:
    """The commands that take --json, as they are typed."""

    def below(path: str, command: click.Command) -> Iterator[str]:
        if isinstance(command, click.Group):
            for name, sub in sorted(command.commands.items()):
                yield from below(f"{path} {name}", sub)
        elif any("--json" in p.opts for p in command.params):
            yield path

    for name in COMMANDS:
        found = main.get_command(click.Context(main), name)
        assert found is not None
        yield from below(name, found)


def script() -> list[tuple[int, str]]:
    """(exit code, line) in their order."""
    out = []
    for line in SCRIPT.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("# "):
            code, _, rest = line.partition(": ")
            out.append((int(code), rest) if code.isdigit() else (0, line))
    return out


@dataclass
class Met:
    """Keys met by heading: way of keys -> where it was met first."""

    keys: dict[str, dict[Way, str]] = field(default_factory=dict)

    def take(self, value: Any, heading: str, where: str, way: Way = (), plain: bool = True) -> None:
        """Everything below a value. Lists leave no mark in the way, nor do the keys of maps of data; plain:
        what comes is no such map, being in a list or in one."""
        if isinstance(value, list):
            for one in value:
                self.take(one, heading, where, way)
        elif isinstance(value, dict):
            for key, below in value.items():
                if not plain and is_map_of_data(heading, way):
                    self.take(below, heading, where, way)
                    continue
                self.keys.setdefault(heading, {}).setdefault((*way, key), where)
                lent = LENT.get((heading, key))
                self.take(below, lent or heading, where, (key,) if lent else (*way, key), False)

    def answer(self, value: dict[str, Any], heading: str, where: str) -> None:
        self.take(value, ERRORS if "error" in value else heading, where)


def is_map_of_data(heading: str, way: Way) -> bool:
    """Whether what lies at the end of this way is named in DATA."""
    ends = [tuple(one.split(".")) for one in (*DATA, *DATA_OF.get(heading, ()))]
    return any(way[-len(end) :] == end for end in ends)


def heading_of(name: str) -> str:
    """The heading that explains a command or page."""
    return next(heading for heading, names in ANSWERS.items() if name in names)


def changed_data(folder: Path) -> None:
    """The data with one name, one answer and one listing put otherwise, for `data diff`."""
    shutil.copytree(CLONE / "data", folder)
    for name, old, new in (
        ("species/juglans-nigra.yaml", "text: American walnut", "text: Quillbeck walnut"),
        ("species/juglans-nigra.yaml", "texture: medium", "texture: fine"),
        ("trade/listings.yaml", "date_evidence: recalled", "date_evidence: quoted"),
    ):
        text = (folder / name).read_text("utf-8")
        assert old in text, f"{name} has no more {old}"
        (folder / name).write_text(text.replace(old, new, 1), "utf-8")


def spoil(book: Path, copy: Path) -> None:
    """A copy of a book in which an amount was written over by hand."""
    with closing(sqlite3.connect(book)) as there, closing(sqlite3.connect(copy)) as here:
        there.backup(here)
        here.execute("UPDATE balance SET qty = qty + 1 WHERE lot = 'L-B'")
        here.commit()


def filled(word: str, told: dict[str, str]) -> str:
    """A word of the script with what was told before in the place of each name in braces."""
    return re.sub(r"\{(\w+)\}", lambda found: told[found[1]], word)


def run_script(folder: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """(line, answer) of every line."""
    (folder / "parts.csv").write_text("part,wood,role\nlid,Indian rosewood,face\nrail,teak,core\n", "utf-8")
    (folder / "scan.pdf").write_text("invoice 2026-14", "utf-8")
    (folder / "day.yaml").write_text(
        '- day: {date: 2020-02-03, offset: "+01:00", who: qb}\n'
        '- scrap: {lot: BIRCH, amount: 1 leaf, note: split, time: "09:40"}\n',
        "utf-8",
    )
    changed_data(folder / "changed")
    told = {"clone": str(CLONE), "folder": str(folder)}
    for code, line in script():
        words = [filled(word, told) for word in shlex.split(line)]
        spoiled = folder / "spoiled.sqlite"
        if str(spoiled) in words and not spoiled.exists():
            spoil(folder / "second.sqlite", spoiled)
        result = CliRunner().invoke(main, [*words, "--json"])
        assert result.exit_code == code, f"{line}: {result.output}"
        answer: dict[str, Any] = json.loads(result.stdout)
        told |= {k: v for k, v in answer.items() if isinstance(v, str) and k not in ("clone", "folder")}
        told |= {k: v["id"] for k, v in answer.items() if isinstance(v, dict) and "id" in v}
        yield line, answer


async def ask_pages(catalogue: Catalogue, copy: Path) -> dict[str, tuple[str, dict[str, Any]]]:
    """path -> (page, answer) of every listed page that has a JSON."""
    out = {}
    made = explorer(Shop(catalogue, copy, False), Rules())
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url=HOST) as client:
        for row in csv.DictReader(PAGES.read_text(encoding="utf-8").splitlines()):
            path, mark, asked = row["path"].partition("?")
            if ":" in row["page"] and row["page"] not in WITHOUT:
                got = await client.get(f"{path}.json{mark}{asked}")
                if "json" in got.headers["content-type"]:
                    out[row["path"]] = (row["page"], got.json())
                else:  # a form that cannot be answered comes again as a page
                    assert got.status_code >= 400, row["path"]
    return out


@pytest.fixture(scope="module")
def met(tmp_path_factory: pytest.TempPathFactory, catalogue: Catalogue, cache: Path) -> Met:
    """Every key of every answer."""
    folder, out = tmp_path_factory.mktemp("workshop"), Met()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for name, value in (
            ("TODAY", "2026-06-01"), ("CACHE", cache), ("BOOK", folder / "book.sqlite"),
            ("KEY", folder / "maker.key"), ("PARTIES", folder / "parties.sqlite"),
            ("HEADS", folder / "heads.json"), ("PAPERS", folder / "papers"), ("LISTS", folder / "lists"),
        ):  # fmt: skip
            patch.setenv(f"WOODREF_{name}", str(value))
        for line, answer in run_script(folder):
            out.answer(answer, heading_of(line.split()[0]), line)
        for path, (page, answer) in asyncio.run(ask_pages(catalogue, folder / "copy.sqlite")).items():
            out.answer(answer, heading_of(page), path)
    return out


def section() -> dict[str, list[Way]]:
    """heading -> the keys that stand in backticks under it."""
    text = DEVELOPERS.read_text(encoding="utf-8").split("\n## Keys of the JSON\n", 1)[1].split("\n## ", 1)[0]
    assert "```" not in text
    out = {}
    for part in text.split("\n### ")[1:]:
        heading, _, body = part.partition("\n")
        out[heading] = [tuple(key.split(".")) for key in re.findall(r"`([^`]+)`", body)]
    return out


def fields() -> tuple[set[str], set[Way]]:
    """Of data/README.md: fields of a file, and (block, field) of its blocks. Fenced code does not count."""
    text = re.sub(r"^```.*?^```$", "", (CLONE / "data" / "README.md").read_text("utf-8"), flags=re.M | re.S)
    whole: set[str] = set()
    blocks: set[Way] = set()
    block = ""
    for line in text.splitlines():
        if line.startswith("#"):
            block = line.removeprefix("### ").split(".")[-1] if line.startswith("### ") else ""
        elif found := re.match(r"- `([^`]+)` \(", line):
            (blocks.add((block, found[1])) if block else whole.add(found[1]))
    return whole, blocks


def is_told(way: Way, keys: list[Way]) -> bool:
    return any(way[-len(key) :] == key for key in keys)


def is_field(way: Way, whole: set[str], blocks: set[Way]) -> bool:
    """Whether a key is a field of the data files: of a block, of a whole row, or of its evidence."""
    above, key = [one for one in way[:-1] if one not in BETWEEN], way[-1]
    parent = above[-1] if above else ""
    return (
        (CALLED.get(parent, parent), key) in blocks
        or (parent in ROWS and key in whole)
        or key in ("evidence", "source", "locator", "note")
    )


def untold(met: Met, told: dict[str, list[Way]]) -> list[str]:
    """Keys that nothing explains, with the answer they were met in."""
    whole, blocks = fields()
    return [
        f"{heading}: {'.'.join(way)} ({where})"
        for heading, keys in met.keys.items()
        for way, where in keys.items()
        if not is_told(way, told[heading] + (told[COMMON] if heading != ERRORS else []))
        and not (heading in FIELDS and is_field(way, whole, blocks))
    ]


def stale(met: Met, told: dict[str, list[Way]]) -> list[str]:
    """Keys that are explained and in no answer of their heading; a common one has to be in two at least."""
    out = []
    for heading, keys in told.items():
        for key in keys:
            name = ".".join(key)
            if heading == COMMON:
                found = sum(any(is_told(way, [key]) for way in ways) for ways in met.keys.values())
                if found < 2:
                    out.append(f"{heading}: {name} is met in {found} answers")
            elif not any(is_told(way, [key]) for way in met.keys.get(heading, {})):
                out.append(f"{heading}: {name}")
    return out


def test_every_command_with_json_is_run() -> None:
    run = {line for _, line in script()}
    missing = [c for c in every_command() if not any(f"{line} ".startswith(f"{c} ") for line in run)]
    assert not missing, f"put a line into {SCRIPT.name} for: {', '.join(missing)}"


def test_every_page_with_json_is_explained_somewhere() -> None:
    explained = {name for names in ANSWERS.values() for name in names if ":" in name}
    listed = {row["page"] for row in csv.DictReader(PAGES.read_text(encoding="utf-8").splitlines())}
    for path, page, _ in ROUTES:
        assert (FORM in path) == (page not in WITHOUT), page
        assert FORM not in path or (page in explained and page in listed), page


def test_every_exit_code_is_met() -> None:
    assert {code for code, _ in script()} == {0, 1, 2, 3}


def test_the_headings_are_those_of_the_answers() -> None:
    assert list(section()) == [COMMON, ERRORS, *ANSWERS]


def test_no_key_is_explained_twice_under_a_heading() -> None:
    twice = {h: {".".join(key) for key in keys if keys.count(key) > 1} for h, keys in section().items()}
    assert not any(twice.values()), twice


def test_every_key_is_explained(met: Met) -> None:
    found = untold(met, section())
    assert not found, "\n".join(found)


def test_every_key_that_is_explained_is_in_an_answer(met: Met) -> None:
    found = stale(met, section())
    assert not found, "\n".join(found)


def test_a_key_without_words_and_a_stale_one_are_found() -> None:
    some = Met()
    some.answer({"count": 1, "rows": [{"lot": "W-7", "colour_of_the_door": "red"}]}, "stock", "a stock list")
    told: dict[str, list[Way]] = {heading: [] for heading in (COMMON, ERRORS, *ANSWERS)}
    told["stock"] = [("count",), ("rows",), ("lot",)]
    assert untold(some, told) == ["stock: rows.colour_of_the_door (a stock list)"]
    assert stale(some, told | {"stock": [("lot",), ("rows", "hinge")]}) == ["stock: rows.hinge"]


def test_maps_of_data_are_known_by_their_path() -> None:
    some = Met()
    some.answer({"query": {"weights": {"colour": 3}}, "weights": {"colour": 3}}, "substitute", "an answer")
    assert set(some.keys["substitute"]) == {
        ("query",), ("query", "weights"), ("weights",), ("weights", "colour"),
    }  # fmt: skip
