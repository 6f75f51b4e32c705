"""Reading all of data/ and saying everything that is wrong with it at once.

`load_all` returns validated models and findings; nothing is raised. Cross-checks that need more
than one file (names, sources, plausibility) live in `crosscheck`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from woodref.catalogue import schema
from woodref.catalogue.crosscheck import cross_check
from woodref.catalogue.dataset import DOCUMENTS, LISTS, DataSet, Loaded, Path_, dotted
from woodref.catalogue.findings import Finding
from woodref.catalogue.fold import fold
from woodref.catalogue.glueschema import AdhesiveIn
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.rules import in_unit
from woodref.catalogue.yamlload import line_of, read
from woodref.errors import BadQuantity
from woodref.units import UNITS, units_of

#: faults of one file, or of one row of a list, that are told: a file of nothing else must not keep the
#: reader busy
MOST_FAULTS = 200


def _says(error: Any, path: Path_) -> str:
    """A pydantic error in a maker's words."""
    kind, given = error["type"], error.get("input")
    if kind == "extra_forbidden":
        return "this field is not known here: see data/README.md for the fields, or mend the spelling"
    if kind == "missing":
        return f'the field "{path[-1]}" is missing'
    if kind == "value_error":
        return str(error["ctx"]["error"])
    if kind == "literal_error":
        return f'"{given}" is not one of {error["ctx"]["expected"]}'
    if kind == "string_type":
        return f"{given!r} is read as a number or nothing: put it in quotes"
    if kind == "string_pattern_mismatch":
        return f'"{given}" does not have the form {error["ctx"]["pattern"]}'
    return f"{error['msg']} (given: {given!r})"


def _file_path(value: Any, loc: Path_) -> Path_:
    """A pydantic location as the path in the file: union branch names are dropped."""
    path: list[str | int] = []
    node: Any = value
    for step in loc:
        if _holds(node, step):
            node = node[step]
        elif isinstance(node, dict) and isinstance(step, str) and _is_field(step):
            node = None
        else:
            continue
        path.append(step)
    return tuple(path)


def _holds(node: Any, step: str | int) -> bool:
    """Whether a value of the file has this key or index."""
    if isinstance(node, dict):
        return step in node
    return isinstance(node, list) and isinstance(step, int) and step < len(node)


def _is_field(step: str) -> bool:
    """Whether a step of a location is a field of the file, not the name of a union's branch."""
    return step not in {"float", "int", "str", "constrained-str", "all"} and "[" not in step


def _validate(
    model: type[schema.Strict], value: Any, file: str, body: bytes, base: Path_
) -> tuple[Any, list[Finding]]:
    try:
        return model.model_validate(value), []
    except ValidationError as fault:
        seen: dict[tuple[Path_, str], Finding] = {}
        for error in fault.errors(include_url=False):
            if len(seen) == MOST_FAULTS:
                says = f"more than {MOST_FAULTS} things are wrong here; the first are told"
                seen[(), says] = Finding.error(file, line_of(body, base), dotted(base), says)
                break
            path = base + _file_path(value, error["loc"])
            says = _says(error, path or ("the file",))
            seen.setdefault((path, says), Finding.error(file, line_of(body, path), dotted(path), says))
        return None, list(seen.values())


def _material(data: DataSet, file: str, body: bytes, value: Any) -> None:
    folder, stem = file.split("/")[0], Path(file).stem
    model, found = _validate(schema.MaterialIn, value, file, body, ())
    data.findings += found
    if model is None:
        data.broken.add(stem)
        return
    loaded = Loaded(file, body, model)
    if model.id != stem:
        data.findings.append(
            loaded.finding(("id",), f'the id is "{model.id}" but the file is called {stem}.yaml')
        )
    if model.kind != schema.FOLDERS[folder]:
        data.findings.append(
            loaded.finding(("kind",), f"files in {folder}/ are of kind {schema.FOLDERS[folder]}")
        )
    if model.id in data.materials:
        other = data.materials[model.id].file
        data.findings.append(loaded.finding(("id",), f"this id already stands in data/{other}"))
        return
    data.materials[model.id] = loaded
    for name, figures in model.figures.items():
        for index, figure in enumerate(figures):
            data.findings += figure_findings(loaded, name, index, figure)


def _called(entry: Any) -> str:
    """What an entry of a list goes by."""
    return str(getattr(entry, "id", None) or getattr(entry, "text", ""))


def _adhesive(data: DataSet, file: str, body: bytes, value: Any) -> None:
    model, found = _validate(AdhesiveIn, value, file, body, ())
    data.findings += found
    if model is None:
        return
    loaded = Loaded(file, body, model)
    if model.id != Path(file).stem:
        data.findings.append(
            loaded.finding(("id",), f'the id is "{model.id}" but the file is called {Path(file).name}')
        )
    data.adhesives[model.id] = loaded


def figure_findings(loaded: Loaded, name: str, index: int, figure: schema.FigureIn) -> list[Finding]:
    """Unit and plausible range of one figure."""
    prop = PROPERTIES[name]
    path: Path_ = ("figures", name, index)
    if figure.unit not in UNITS:
        return [
            loaded.finding((*path, "unit"), f'"{figure.unit}" is not a unit I know; for {name}: {prop.unit}')
        ]
    try:
        numbers = in_unit(figure, prop.unit)
    except BadQuantity:
        return [
            loaded.finding(
                (*path, "unit"),
                f"{figure.unit} does not measure {name}; expected one of {', '.join(units_of(prop.unit))}",
            )
        ]
    found = []
    for key, number in numbers.items():
        if prop.low <= number <= prop.high:
            continue
        hint = ""
        if prop.unit == "kg/m3":
            hint = "; is it in g/cm3 or lb/ft3?"
        given = getattr(figure, key)
        turned = "" if figure.unit == prop.unit else f" = {number:g} {prop.unit}"
        found.append(
            loaded.finding(
                (*path, key),
                f"{given:g} {figure.unit}{turned} is outside what wood does "
                f"({prop.low:g} to {prop.high:g} {prop.unit}){hint}",
            )
        )
    return found


def _list_file(data: DataSet, file: str, body: bytes, value: Any) -> None:
    key, model = LISTS[file]
    rows = value.get(key) if isinstance(value, dict) else None
    if not isinstance(rows, list) or set(value) != {key}:
        data.findings.append(Finding.error(file, 1, key, f'expected one key "{key}" holding a list'))
        return
    kept = data.lists.setdefault(file, [])
    ids: dict[str, int] = {}
    for index, row in enumerate(rows):
        entry, found = _validate(model, row, file, body, (key, index))
        data.findings += found
        if entry is None:
            continue
        loaded = Loaded(file, body, entry)
        name = fold(_called(entry))
        if name in ids:
            data.findings.append(loaded.finding((key, index), f'"{_called(entry)}" stands here twice'))
        ids[name] = index
        kept.append((loaded, index, entry))


def load_all(root: Path) -> DataSet:
    """Read and validate every YAML file below root, then cross-check."""
    from woodref.paths import data_files

    data = DataSet()
    if not root.is_dir():
        data.findings.append(Finding.error("", 1, "", f"there is no folder {root}"))
        return data
    for path in data_files(root):
        file = path.relative_to(root).as_posix()
        folder = file.split("/")[0]
        value, body, found = read(path, root)
        data.findings += found
        if found:
            data.broken.add(path.stem)
            continue
        if folder in schema.FOLDERS and file.count("/") == 1:
            _material(data, file, body, value)
        elif folder == "adhesives" and file.count("/") == 1:
            _adhesive(data, file, body, value)
        elif file in LISTS:
            _list_file(data, file, body, value)
        elif file in DOCUMENTS:
            model, found = _validate(DOCUMENTS[file], value, file, body, ())
            data.findings += found
            if model is not None:
                data.documents[file] = Loaded(file, body, model)
        else:
            data.findings.append(
                Finding.error(file, 1, "", "no such file is expected here: see DEVELOPERS.md")
            )
    for file in (*LISTS, *DOCUMENTS):
        spoken_of = any(f.file == file for f in data.findings)
        if file not in data.lists and file not in data.documents and not spoken_of:
            data.findings.append(Finding.error(file, 1, "", "this file is missing"))
    cross_check(data)
    data.findings = sorted(set(data.findings))
    return data
