"""What every file and field of data/ means, as a page: data/README.md is written from it."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from woodref.catalogue.fieldwords import Block, FieldWords, FileKind, cited_block, file_kinds
from woodref.catalogue.properties import PROPERTIES, Property
from woodref.errors import BadRequest, echo

#: columns at which the text is wrapped
WIDTH = 100

INTRO = """\
Everything woodref knows stands in the YAML files of this folder: one file a wood, sheet, board or glue,
and a few lists. Each is checked when it is read (`woodref data check`), and nothing is allowed in it that
is not named below. This page is generated from the same definitions; `woodref data fields` prints it, and
`woodref data fields veneer` or any other name a part of it. How to add a material stands in DEVELOPERS.md.

A field that is not marked "must be there" may be left out. The unit of a number stands in square brackets.
An id is written in small letters, figures and hyphens; a band is {low: 1, high: 2}. Countries are ISO
3166-1 codes of two capitals, and GB-NIR. Codes, headings, days and years are text and stand in quotes, and
so do "yes" and "no", which YAML would take for something else.

Beside them lie CHANGES.md, which tells in words what was put right in each release, released.csv with the
figures of the last release, and demo/ with an invented workshop."""

CITED_INTRO = """\
Most blocks say where they come from by the four fields of this section, which are not named again below.
A block that may be without evidence says so; all others demand it. To people the grades read: "read in
table", "from memory", "worked out", "shop rule"."""

PROPERTIES_INTRO = """\
The closed list of figures. A figure in another unit of its kind is converted; one outside what is
plausible is an error. Only a figure in the reference condition can be the preferred one. E is stiffness
and G stiffness in shear, L along the grain, R radial and T tangential, so ER/EL is the stiffness across
the grain, radially, as a share of that along it. "Varies" is the usual variation between pieces of one
wood."""


def page() -> str:
    """The whole of data/README.md."""
    parts = ["# The files of this folder", _wrapped(INTRO), "## Where a thing said comes from"]
    parts += [_wrapped(CITED_INTRO), _items(cited_block().fields)]
    parts += [_kind(kind) for kind in file_kinds()]
    parts += ["## Properties", _wrapped(PROPERTIES_INTRO), property_table(list(PROPERTIES.values()))]
    return "\n\n".join(parts) + "\n"


def part(kinds: Sequence[FileKind], properties: Sequence[Property]) -> str:
    """The part of the page that was asked for."""
    parts = [_kind(kind) for kind in kinds]
    if properties:
        parts += ["## Properties", property_table(properties)]
    return "\n\n".join(parts) + "\n"


def _wrapped(text: str) -> str:
    return "\n\n".join(
        textwrap.fill(" ".join(paragraph.split()), WIDTH, break_on_hyphens=False, break_long_words=False)
        for paragraph in text.split("\n\n")
    )


def _items(fields: Sequence[FieldWords]) -> str:
    return "\n".join(
        textwrap.fill(
            field_line(field), WIDTH, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False,
            break_long_words=False,
        )
        for field in fields
    )  # fmt: skip


def field_line(field: FieldWords) -> str:
    """'`sold` (must be there; one of `common`, `rare`): How easily it is had.'"""
    said = ["must be there"] if field.needed else []
    said.append(field.type)
    if field.left_out:
        said.append(f"left out: `{field.left_out}`")
    return f"`{field.name}` ({'; '.join(said)}): {field.means}"


def _kind(kind: FileKind) -> str:
    parts = [f"## {kind.name}"]
    for block in kind.blocks:
        parts += _block(block, kind)
    return "\n\n".join(parts)


def _block(block: Block, kind: FileKind) -> list[str]:
    says = " ".join(text for text in (block.says, block.cited) if text)
    if not block.path and kind.top:
        says = f"One key `{kind.top}` with a list. Each entry: {says}"
    out = [f"### {block.path}"] if block.path else []
    return [*out, _wrapped(says), _items(block.fields)]


def property_table(properties: Sequence[Property]) -> str:
    """Properties as a Markdown table."""
    head = ["property", "asks", "unit", "plausible", "reference condition", "varies"]
    rows = [
        [
            f"`{p.name}`",
            p.asks,
            p.unit,
            f"{p.low:g} to {p.high:g}",
            reference_words(p.reference),
            "not known" if p.cv is None else f"{p.cv:g} %",
        ]
        for p in properties
    ]
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        return f"| {' | '.join(cell.ljust(size) for cell, size in zip(cells, widths, strict=True))} |"

    return "\n".join([line(head), line(["-" * size for size in widths]), *(line(row) for row in rows)])


def reference_words(reference: Mapping[str, Any]) -> str:
    """{'mc': (12.0, 'as-sold')} -> 'mc: 12 or as-sold', as the condition is written in a file."""
    if not reference:
        return "any"
    return ", ".join(f"{key}: {_either(value)}" for key, value in reference.items())


def _either(value: Any) -> str:
    values = value if isinstance(value, tuple) else (value,)
    return " or ".join(f"{v:g}" if isinstance(v, float) else str(v) for v in values)


def narrowed(name: str) -> tuple[list[FileKind], list[Property]]:
    """What a name asks for: files and blocks called so, else properties, else fields wherever they stand.

    BadRequest when it is none of them.
    """
    asked = name.strip().strip("/").removesuffix(".yaml").casefold()
    if asked == "properties":
        return [], list(PROPERTIES.values())
    kinds = [FileKind("every cited block", None, (cited_block(),)), *file_kinds()]
    called = [kind if _is_called(kind, asked) else _with_blocks(kind, asked) for kind in kinds]
    properties = [p for p in PROPERTIES.values() if p.name == asked]
    found = [kind for kind in called if kind.blocks]
    if not found and not properties:
        found = [kind for kind in (_with_fields(kind, asked) for kind in kinds) if kind.blocks]
    if not found and not properties:
        files = ", ".join([*(kind.name for kind in kinds[1:]), "properties"])
        raise BadRequest(
            f"{echo(name)} is no file, block, field or property of data/",
            expected=f"one of {files}, a block such as veneer, a field such as tannin, or one property",
        )
    return found, properties


def _is_called(kind: FileKind, asked: str) -> bool:
    return asked in {kind.name.removesuffix(".yaml"), *re.findall(r"[a-z_]+(?=/|\.yaml)", kind.name)}


def _with_blocks(kind: FileKind, asked: str) -> FileKind:
    """The kind with the blocks of this path or below it only."""
    kept = [b for b in kind.blocks if b.path == asked or b.path.startswith(f"{asked}.")]
    return replace(kind, blocks=tuple(kept if asked else ()))


def _with_fields(kind: FileKind, asked: str) -> FileKind:
    """The kind with the fields of this name only, each in its block."""
    kept = [replace(b, fields=tuple(f for f in b.fields if f.name == asked)) for b in kind.blocks]
    return replace(kind, blocks=tuple(b for b in kept if b.fields))


def as_rows(kinds: Sequence[FileKind]) -> list[dict[str, Any]]:
    """One flat row a field, for JSON."""
    return [
        {
            "file": kind.name,
            "block": block.path or None,
            "field": f.name,
            "type": f.type.replace("`", ""),
            "words": list(f.words) if f.words else None,
            "unit": f.unit,
            "needed": f.needed,
            "left_out": f.left_out,
            "means": f.means,
        }
        for kind in kinds
        for block in kind.blocks
        for f in block.fields
    ]


def as_property_rows(properties: Sequence[Property]) -> list[dict[str, Any]]:
    """One flat row a property, for JSON."""
    return [
        {
            "property": p.name,
            "means": p.asks,
            "unit": p.unit,
            "low": p.low,
            "high": p.high,
            "reference": {k: list(v) if isinstance(v, tuple) else v for k, v in p.reference.items()},
            "varies_percent": p.cv,
        }
        for p in properties
    ]
