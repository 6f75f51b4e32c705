"""Every file of data/ and every field in it as values: type, allowed words, unit, what it means.

The words are the docstrings below the fields of the schema files, so that nothing is said twice; all the
rest is read from the same fields. `explained` turns it into data/README.md.
"""

from __future__ import annotations

import inspect
import re
import types
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel, StringConstraints
from pydantic.fields import FieldInfo

from woodref.catalogue import blockschema, dataset, figureschema, listingschema, madeschema, schema
from woodref.catalogue.figureschema import Cited
from woodref.catalogue.glueschema import AdhesiveIn

_PATTERNS = {
    figureschema.SLUG: "id",
    figureschema.COUNTRY: "country code",
    figureschema.DAY: "day as YYYY-MM-DD, in quotes",
    figureschema.YEAR: "year in quotes",
    blockschema.LANGUAGE: "language code",
    madeschema.COLOUR: "colour as #rrggbb, in quotes",
    schema.PLACE_OR_ALL: 'country code or "*"',
}
_FORMS = get_args(listingschema.Form)
_ENDS = (("gt", "above"), ("ge", "from"), ("lt", "below"), ("le", "up to"))
_UNIT = re.compile(r"\[([^\]]+)\]$")


@dataclass(frozen=True)
class FieldWords:
    """One field: type in words, allowed words (None: any), unit (None: no number), what it means."""

    name: str
    type: str
    words: tuple[str, ...] | None
    needed: bool
    left_out: str | None
    unit: str | None
    means: str


@dataclass(frozen=True)
class Block:
    """A block of a file by its path ("" for the file itself), or one entry of a list."""

    path: str
    says: str
    cited: str | None
    fields: tuple[FieldWords, ...]


@dataclass(frozen=True)
class FileKind:
    """Files of one shape; top: the key that holds the list, None for a file that is one thing."""

    name: str
    top: str | None
    blocks: tuple[Block, ...]


def file_kinds() -> list[FileKind]:
    """Every kind of file below data/, materials first."""
    folders = ", ".join(f"{folder}/" for folder in schema.FOLDERS)
    out = [
        FileKind(folders, None, _blocks(schema.MaterialIn)),
        FileKind("adhesives/", None, _blocks(AdhesiveIn)),
    ]
    out += [FileKind(file, None, _blocks(model)) for file, model in dataset.DOCUMENTS.items()]
    out += [FileKind(file, top, _blocks(model)) for file, (top, model) in dataset.LISTS.items()]
    return sorted(out, key=lambda kind: (kind.name.startswith("trade/"), kind.name.endswith(".yaml")))


def _blocks(model: type[BaseModel]) -> tuple[Block, ...]:
    """The block of a model and those inside it, in the order of the file; each model once."""
    paths: dict[type[BaseModel], str] = {}

    def walk(found: type[BaseModel], path: str) -> None:
        if found in paths:
            return
        paths[found] = path
        for name, hint in _hints(found):
            for inner in _models(hint):
                walk(inner, f"{path}.{name}".lstrip("."))

    walk(model, "")
    return tuple(
        Block(path, _says(found), _cited(found), _fields(found, paths)) for found, path in paths.items()
    )


def cited_block() -> Block:
    """The four fields of every cited block."""
    return Block("", _says(Cited), None, _fields(Cited, {}))


def _own(model: type[BaseModel]) -> list[str]:
    """Fields to explain: the model's own, then its parents', but for the four of every cited block."""
    known = [c for c in model.__mro__ if issubclass(c, BaseModel) and (c is model or c is not Cited)]
    chain = [list(inspect.get_annotations(c)) for c in known]
    names = list(dict.fromkeys(name for names in chain for name in names))
    return [name for name in names if name in model.model_fields]


def _hints(model: type[BaseModel]) -> list[tuple[str, Any]]:
    hints = get_type_hints(model, include_extras=True)
    return [(model.model_fields[name].alias or name, hints[name]) for name in _own(model)]


def _models(hint: Any) -> Iterator[type[BaseModel]]:
    """Every model inside a type that is explained as a block of its own."""
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        if not _is_band(hint):
            yield hint
    elif get_origin(hint) is not Literal:
        for inner in get_args(hint):
            yield from _models(inner)


def _is_band(model: type[BaseModel]) -> bool:
    """low and high alone: said in the line of their field."""
    return set(model.model_fields) == {"low", "high"}


def _plain(text: str | None) -> str:
    return " ".join((text or "").split())


def _says(model: type[BaseModel]) -> str:
    return _plain(vars(model).get("__doc__"))


def _cited(model: type[BaseModel]) -> str | None:
    """When a block needs evidence, None where it is not a cited one."""
    if not issubclass(model, Cited) or model is Cited:
        return None
    asked = (model.answer,) if isinstance(model.answer, str) else model.answer
    if asked is None:
        return "Cited, and evidence must be there."
    names = [f"`{model.model_fields[name].alias or name}`" for name in asked]
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    say = "says" if len(names) == 1 else "say"
    return f"Cited; without evidence only while {listed} {say} that nothing is known."


def _fields(model: type[BaseModel], paths: dict[type[BaseModel], str]) -> tuple[FieldWords, ...]:
    hints = dict(_hints(model))
    out = []
    for name in _own(model):
        info = model.model_fields[name]
        key = info.alias or name
        means = _plain(info.description)
        unit = _UNIT.search(means)
        out.append(
            FieldWords(
                key,
                _type(hints[key], paths, info.is_required()),
                _allowed(hints[key]),
                info.is_required(),
                _left_out(info),
                unit.group(1) if unit else None,
                means,
            )
        )
    return tuple(out)


def _left_out(info: FieldInfo) -> str | None:
    """What a field that is left out says, where that is more than nothing."""
    value = info.default
    if info.is_required() or value is None or value == [] or isinstance(value, BaseModel):
        return None
    return str(value).lower() if isinstance(value, bool) else str(value)


def _allowed(hint: Any) -> tuple[str, ...] | None:
    """The closed list of words a field takes, also inside a list or beside a number."""
    if get_origin(hint) is Literal:
        return tuple(str(word) for word in get_args(hint))
    found = [words for inner in get_args(hint) if (words := _allowed(inner))]
    return found[0] if found else None


def _type(hint: Any, paths: dict[type[BaseModel], str], needed: bool = False) -> str:
    """A type in words. needed: null is worth saying only where the field cannot be left out."""
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _limited(inner[0], inner[1:], paths)
    if origin in (Union, types.UnionType):
        return _either(inner, paths, needed)
    if inner == _FORMS and listingschema.FormIn not in paths:
        return "form of trade/forms.yaml"
    if origin is Literal:
        return f"one of {', '.join(f'`{word}`' for word in inner)}" if len(inner) > 1 else f"`{inner[0]}`"
    if origin is list:
        return f"list, each {_each(inner[0], paths)}"
    if origin is dict:
        return f"{_type(inner[0], paths)} -> {_type(inner[1], paths)}"
    if isinstance(hint, type) and issubclass(hint, BaseModel) and _is_band(hint):
        open_ended = not any(info.is_required() for info in hint.model_fields.values())
        return "band, either end of which may be missing" if open_ended else "band"
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return f"block `{paths[hint]}`"
    return {bool: "`true` or `false`", int: "whole number", float: "number", str: "text"}[hint]


def _either(inner: Sequence[Any], paths: dict[type[BaseModel], str], needed: bool) -> str:
    told = [
        _type(part, paths)
        for part in inner
        if part is not type(None) and not (part is int and float in inner)
    ]
    if needed and type(None) in inner:
        told.append("null")
    return ", or ".join(dict.fromkeys(told))


def _each(hint: Any, paths: dict[type[BaseModel], str]) -> str:
    said = _type(hint, paths)
    return f"a {said}" if said.startswith(("block", "number", "country", "list", "form")) else said


def _limited(base: Any, limits: Sequence[Any], paths: dict[type[BaseModel], str]) -> str:
    """A type with its limits: a pattern, ends of a number, a length of a list."""
    marks = [m for item in limits for m in (item.metadata if isinstance(item, FieldInfo) else [item])]
    pattern = next((m.pattern for m in marks if isinstance(m, StringConstraints) and m.pattern), None)
    if pattern:
        return _PATTERNS[str(pattern)]

    def limit(name: str) -> float | None:
        return next((v for m in marks if (v := getattr(m, name, None)) is not None), None)

    ends = [f"{words} {end:g}" for name, words in _ENDS if (end := limit(name)) is not None]
    said = " ".join([_type(base, paths), " and ".join(ends)]).strip()
    least, most = limit("min_length"), limit("max_length")
    if get_origin(base) is not list or least is None:
        return said
    many = f"{least:g}" if least == most else f"at least {least:g}"
    return said.replace("list", f"list of {many}", 1)
