"""The order of the rooms: a file imports only from its own room or from one named above it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import woodref

PACKAGE = Path(woodref.__file__).resolve().parent
ORDER = ("ground", "science", "trade", "catalogue", "selection", "layup", "provenance", "front")
GROUND = {"errors", "units", "paths", "files", "version"}
#: the package as its users see it: may reach into any room
FRONT = {"__init__", "__main__"}
FILES = sorted(p for p in PACKAGE.rglob("*.py") if "_plugins" not in p.parts)


def room_of(parts: tuple[str, ...]) -> str:
    """The room of a module given below the package: ('catalogue', 'reader') -> catalogue."""
    if parts[0] in FRONT:
        return "front"
    if parts[0] in GROUND:
        return "ground"
    return "front" if parts[0] in ("explorer", "cli") else parts[0]


def imports_of(path: Path) -> set[tuple[str, ...]]:
    """Every import of our own package in a file, those inside functions too."""
    out: set[tuple[str, ...]] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("woodref"):
            base = tuple(node.module.split(".")[1:])
            if base:
                out.add(base)
            else:
                out |= {(alias.name,) for alias in node.names}
        if isinstance(node, ast.Import):
            out |= {tuple(a.name.split(".")[1:]) for a in node.names if a.name.startswith("woodref.")}
    return out


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_a_file_imports_only_upwards(path: Path) -> None:
    mine = room_of(path.relative_to(PACKAGE).with_suffix("").parts)
    for parts in imports_of(path):
        theirs = room_of(parts)
        assert ORDER.index(theirs) <= ORDER.index(mine), f"{path.name} ({mine}) imports {'.'.join(parts)}"


@pytest.mark.parametrize("room", ["science", "trade"])
def test_pure_rooms_read_no_file(room: str) -> None:
    for path in (PACKAGE / room).glob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [a.name for a in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            for name in names:
                assert name.split(".")[0] not in {"pathlib", "os", "io", "sqlite3", "yaml", "json"}, path
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id != "open", path


def test_the_order_is_really_held_by_the_test() -> None:
    """A downward import would be seen: trade importing catalogue is below its room."""
    assert ORDER.index(room_of(("catalogue", "reader"))) > ORDER.index(room_of(("trade", "verdict")))


def test_every_file_stands_in_the_map_of_rooms() -> None:
    """DEVELOPERS.md names each file in its own room, so that a newcomer finds it."""
    text = (Path(__file__).resolve().parents[1] / "DEVELOPERS.md").read_text("utf-8")
    held = text[text.index("## Rooms") : text.index("## How data flow")]
    for room in ("science", "trade", "catalogue", "selection", "layup", "provenance", "explorer"):
        told = re.search(rf"^  {room}/(.*?)(?=^  [a-z]+/|^```)", held, re.M | re.S)
        assert told, room
        named = set(re.findall(r"[a-z_0-9]+", told[1]))
        there = {path.stem for path in (PACKAGE / room).glob("*.py")} - {"__init__"}
        assert there <= named, f"{room}: {', '.join(sorted(there - named))}"
