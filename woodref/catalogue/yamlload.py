"""Reading YAML strictly and fast: libyaml, no duplicate keys, no surprises of YAML 1.1.

`NO` stays text, 1e3 is a number, 012 is refused, dates and times stay text. Files above 4 MB or of more
than a hundred thousand values and aliases are refused: no data file needs any of them, and all are ways to
make a reader choke.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from woodref.catalogue.findings import Finding

MAX_BYTES = 4_000_000
#: commas, colons and line ends of a file, at most: as many values take less than a second to read, and the
#: longest file of the catalogue has about a sixth of them
MOST_PARTS = 40_000

_Base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _Refused(Exception):
    """Something YAML allows and we do not; line is 1-based."""

    def __init__(self, line: int, says: str) -> None:
        super().__init__(says)
        self.line = line
        self.says = says


_TEXT = "tag:yaml.org,2002:str"


class StrictLoader(_Base):  # type: ignore[misc]
    """CSafeLoader with our own scalars and a check for keys given twice.

    What the base class does for every node in Python is done here for what our files hold alone: no tags by
    path, no aliases, text and lists made at once. Half the time of a build is spent here.
    """

    def descend_resolver(self, parent: Any, index: Any) -> None:
        """No tag of ours hangs on where a node stands."""

    def ascend_resolver(self) -> None:
        """As above."""

    def resolve(self, kind: Any, value: Any, implicit: Any) -> str:
        """The type of a node without a tag: by how plain text begins, then by all of it."""
        if kind is yaml.ScalarNode:
            if implicit[0]:
                for tag, pattern in self.yaml_implicit_resolvers.get(value[:1], ()):
                    if pattern.match(value):
                        return str(tag)
            return _TEXT
        return "tag:yaml.org,2002:seq" if kind is yaml.SequenceNode else "tag:yaml.org,2002:map"

    def get_single_data(self) -> Any:
        """The one document as plain values."""
        node = self.get_single_node()
        return None if node is None else _value(self, node)


def _value(loader: Any, node: Any) -> Any:
    """A node and all in it as plain values; what is neither text, list nor mapping by its constructor."""
    if node.tag == _TEXT and isinstance(node, yaml.ScalarNode):
        return node.value
    if isinstance(node, yaml.SequenceNode) and node.tag == "tag:yaml.org,2002:seq":
        return [_value(loader, each) for each in node.value]
    if isinstance(node, yaml.MappingNode) and node.tag == "tag:yaml.org,2002:map":
        return _mapping(loader, node)
    return loader.construct_object(node, deep=True)


StrictLoader.yaml_implicit_resolvers = {}
StrictLoader.add_implicit_resolver("tag:yaml.org,2002:null", re.compile(r"^(?:null|~|)$"), "n~\0")
StrictLoader.yaml_implicit_resolvers.setdefault("", []).append(("tag:yaml.org,2002:null", re.compile(r"^$")))
StrictLoader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(?:true|false)$"), list("tf"))
StrictLoader.add_implicit_resolver("!zero", re.compile(r"^[-+]?0\d[\d.]*$"), list("-+0"))
StrictLoader.add_implicit_resolver(
    "tag:yaml.org,2002:int", re.compile(r"^[-+]?(?:0|[1-9]\d*)$"), list("-+0123456789")
)
StrictLoader.add_implicit_resolver(
    "tag:yaml.org,2002:float",
    re.compile(r"^[-+]?(?:(?:0|[1-9]\d*)\.\d*|\.\d+|(?:0|[1-9]\d*)(?:\.\d*)?[eE][-+]?\d+)$"),
    list("-+.0123456789"),
)


def _no_zero(loader: Any, node: Any) -> Any:
    raise _Refused(
        node.start_mark.line + 1,
        f"{node.value} begins with a zero: put it in quotes if it is a code, drop the zero if not",
    )


def _mapping(loader: Any, node: Any) -> dict[Any, Any]:
    out: dict[Any, Any] = {}
    for key_node, value_node in node.value:
        key = _value(loader, key_node)
        if not isinstance(key, str):
            raise _Refused(key_node.start_mark.line + 1, f"the key {key!r} is not text: put it in quotes")
        if key in out:
            raise _Refused(key_node.start_mark.line + 1, f'the key "{key}" is given twice')
        out[key] = _value(loader, value_node)
    return out


StrictLoader.add_constructor("!zero", _no_zero)
StrictLoader.add_constructor("tag:yaml.org,2002:map", _mapping)
StrictLoader.add_constructor("tag:yaml.org,2002:merge", _no_zero)


def _holds_too_much(body: bytes) -> bool:
    return len(body) > MOST_PARTS and sum(body.count(mark) for mark in (b",", b":", b"\n")) > MOST_PARTS


def load(body: bytes, where: str) -> tuple[Any, list[Finding]]:
    """Parse one file: its value and the findings (value None when there is an error)."""
    if len(body) > MAX_BYTES:
        return None, [Finding.error(where, 1, "", f"the file is larger than {MAX_BYTES:,} bytes")]
    if _holds_too_much(body):
        return None, [Finding.error(where, 1, "", f"the file holds more than {MOST_PARTS:,} values")]
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = body.count(b"\n", 0, fault.start) + 1
        return None, [Finding.error(where, line, "", "the file is not UTF-8 text")]
    try:
        if any(mark in text for mark in "&*!"):
            _refuse_extras(text)
        return yaml.load(text, Loader=StrictLoader), []  # noqa: S506 - a safe loader, see above
    except _Refused as fault:
        return None, [Finding.error(where, fault.line, "", fault.says)]
    except yaml.YAMLError as fault:
        mark = getattr(fault, "problem_mark", None) or getattr(fault, "context_mark", None)
        line = mark.line + 1 if mark is not None else 1
        says = getattr(fault, "problem", None) or str(fault).splitlines()[0]
        return None, [Finding.error(where, line, "", f"not readable as YAML: {says}")]
    except RecursionError:
        return None, [Finding.error(where, 1, "", "nested too deeply to read")]


def _refuse_extras(text: str) -> None:
    """Anchors, aliases and types asked for by name: no data file needs any of them."""
    for event in yaml.parse(text, Loader=_Base):
        line = event.start_mark.line + 1 if event.start_mark is not None else 1
        if isinstance(event, yaml.AliasEvent):
            raise _Refused(line, "anchors and aliases are not used here: write it out")
        tag = getattr(event, "tag", None)
        if tag not in (None, "!"):
            raise _Refused(line, f"the type {tag} is not used here: leave it out")


def _number(read: Callable[[str], float | int]) -> Any:
    """A constructor for numbers that refuses what no wood needs."""

    def construct(loader: Any, node: Any) -> float | int:
        text = node.value
        value = read(text) if len(text) <= 40 else math.inf
        if not math.isfinite(value):
            raise _Refused(node.start_mark.line + 1, f"{text[:20]} is no number that wood needs")
        return value

    return construct


StrictLoader.add_constructor("tag:yaml.org,2002:int", _number(int))
StrictLoader.add_constructor("tag:yaml.org,2002:float", _number(float))


def composed(body: bytes) -> Any:
    """The nodes of a file, for `line_in`; None where it cannot be read."""
    if len(body) > MAX_BYTES or _holds_too_much(body):
        return None
    try:
        return yaml.compose(body.decode("utf-8"), Loader=_Base)
    except (yaml.YAMLError, UnicodeDecodeError):
        return None


@lru_cache(maxsize=1)
def _composed_last(body: bytes) -> Any:
    """The nodes of the file that was last asked about: a file of a thousand faults is composed once."""
    return composed(body)


def line_of(body: bytes, path: tuple[str | int, ...]) -> int:
    """The 1-based line where the node at this path begins; its nearest parent if it is absent.

    Only called for a file that has a finding: composing costs three times the parse.
    """
    return line_in(_composed_last(body), path)


def line_in(node: Any, path: tuple[str | int, ...]) -> int:
    """`line_of` for a file composed before, when many lines are wanted of it."""
    line = 1 if node is None else node.start_mark.line + 1
    for step in path:
        if isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                if key.value == step:
                    line, node = key.start_mark.line + 1, value
                    break
            else:
                return line
        elif isinstance(node, yaml.SequenceNode) and isinstance(step, int):
            if step >= len(node.value):
                return line
            node = node.value[step]
            line = node.start_mark.line + 1
        else:
            return line
    return line


def read(path: Path, root: Path) -> tuple[Any, bytes, list[Finding]]:
    """Read one file below root: value, bytes, findings."""
    where = path.relative_to(root).as_posix()
    if path.stat().st_size > MAX_BYTES:
        return (
            None,
            b"",
            [Finding.error(where, 1, "", f"the file is larger than {MAX_BYTES:,} bytes")],
        )
    # a pipe or a device tells no size beforehand
    with path.open("rb") as file:
        body = file.read(MAX_BYTES + 1)
    value, found = load(body, where)
    return value, body, found
