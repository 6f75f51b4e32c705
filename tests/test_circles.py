"""No two files of the package need each other, not even inside a function."""

from __future__ import annotations

import ast
from pathlib import Path

import woodref

PACKAGE = Path(woodref.__file__).resolve().parent


def _name(path: Path) -> str:
    parts = ("woodref", *path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


FILES = {_name(path): path for path in PACKAGE.rglob("*.py") if "_plugins" not in path.parts}


def _run_time(tree: ast.AST) -> list[ast.AST]:
    """Every node but those under `if TYPE_CHECKING:`, which no program runs."""
    out: list[ast.AST] = []
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and getattr(node.test, "id", None) == "TYPE_CHECKING":
            continue
        out += [node, *_run_time(node)]
    return out


def _imports(path: Path) -> set[str]:
    """Files of the package that this one imports; `from woodref.trade import x` is its __init__."""
    found: set[str] = set()
    for node in _run_time(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= inside & set(FILES) or {node.module} & set(FILES)
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names} & set(FILES)
    return found


def _circle(graph: dict[str, set[str]]) -> list[str]:
    """One circle as a path that ends where it began, or nothing."""
    done: set[str] = set()

    def walk(at: str, path: list[str]) -> list[str]:
        if at in path:
            return [*path[path.index(at) :], at]
        if at in done:
            return []
        for there in sorted(graph[at]):
            found = walk(there, [*path, at])
            if found:
                return found
        done.add(at)
        return []

    return next((found for start in sorted(graph) if (found := walk(start, []))), [])


def test_a_circle_would_be_seen() -> None:
    assert _circle({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": set()}) == ["a", "b", "c", "a"]
    assert _circle({"a": {"b"}, "b": {"c"}, "c": set()}) == []


def test_no_file_imports_itself_over_others() -> None:
    graph = {name: _imports(path) - {name} for name, path in FILES.items()}
    assert graph["woodref.catalogue.reader"] >= {"woodref.paths", "woodref.catalogue.build"}
    assert _circle(graph) == []
