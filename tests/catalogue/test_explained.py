"""data/README.md: generated from the schema, and true.

Set WOODREF_WRITE_README=1 to put the present page in instead of comparing.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
from pydantic import BaseModel

from woodref.catalogue import schema
from woodref.catalogue.dataset import DOCUMENTS, LISTS
from woodref.catalogue.explained import narrowed, page, reference_words
from woodref.catalogue.fieldwords import file_kinds
from woodref.catalogue.figureschema import Cited, Strict
from woodref.catalogue.glueschema import AdhesiveIn
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.yamlload import load
from woodref.errors import BadRequest

CLONE = Path(__file__).resolve().parents[2]
DATA = CLONE / "data"
README = DATA / "README.md"
INVENTED = Path(__file__).resolve().parent / "invented"


def _inside(hint: Any) -> Iterator[type[BaseModel]]:
    """Every model named in a type, however deep; found here without the code under test."""
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        yield hint
    for part in get_args(hint):
        yield from _inside(part)


def _models() -> list[type[BaseModel]]:
    todo = [schema.MaterialIn, AdhesiveIn, *DOCUMENTS.values(), *(model for _, model in LISTS.values())]
    seen: dict[type[BaseModel], None] = {}
    while todo:
        model = todo.pop()
        if model not in seen:
            seen[model] = None
            for hint in get_type_hints(model).values():
                todo += list(_inside(hint))
    return list(seen)


MODELS = _models()


def test_the_page_is_what_the_schema_says() -> None:
    if os.environ.get("WOODREF_WRITE_README"):
        README.write_text(page(), encoding="utf-8")
    assert README.read_text(encoding="utf-8") == page(), "WOODREF_WRITE_README=1 puts the present page in"


def test_the_search_for_models_goes_all_the_way_down() -> None:
    assert {"RecipeSheet", "CureAt", "Waiver", "Condition", "Width", "Meaning"} <= {
        m.__name__ for m in MODELS
    }


def _without_words(models: list[type[BaseModel]]) -> list[str]:
    return [
        f"{model.__name__}.{name}"
        for model in models
        for name, info in model.model_fields.items()
        if not (info.description or "").strip()
    ]


def test_every_field_says_what_it_means() -> None:
    assert _without_words(MODELS) == []


def test_a_field_without_words_would_be_seen() -> None:
    class Bare(Strict):
        """An invented block."""

        told: str
        """It says what it means."""
        silent: str

    assert _without_words([Bare]) == ["Bare.silent"]


def test_every_block_says_what_it_is() -> None:
    assert [m.__name__ for m in MODELS if not (vars(m).get("__doc__") or "").strip()] == []


def _is_number(hint: Any) -> bool:
    if hint is bool:
        return False
    return hint in (int, float) or any(_is_number(part) for part in get_args(hint))


def test_every_number_has_its_unit_in_brackets() -> None:
    silent = []
    for model in MODELS:
        hints = get_type_hints(model)
        for name, info in model.model_fields.items():
            if _is_number(hints[name]) and not re.search(
                r"\[[^\]]+\]$", " ".join((info.description or "").split())
            ):
                silent.append(f"{model.__name__}.{name}")
    assert silent == []


def test_a_unit_in_the_name_is_the_unit_in_the_words() -> None:
    ends = {
        "_mm": "mm",
        "_mpa": "MPa",
        "_g_m2": "g/m2",
        "_deg": "degrees",
        "_c": "C",
        "_kg": "kg",
        "_share": "share",
    }
    checked = 0
    for kind in file_kinds():
        for block in kind.blocks:
            for field in block.fields:
                for end, unit in ends.items():
                    if field.name.endswith(end) and field.unit is not None:
                        assert field.unit == unit, (block.path, field.name)
                        checked += 1
    assert checked >= 12


def test_every_file_of_the_data_is_explained() -> None:
    text = README.read_text("utf-8")
    heads = " ".join(re.findall(r"^## (.*)$", text, re.MULTILINE))
    for path in DATA.rglob("*.yaml"):
        file = path.relative_to(DATA)
        if file.parts[0] == "demo":
            continue
        name = file.as_posix() if file.parts[0] == "trade" or len(file.parts) == 1 else f"{file.parts[0]}/"
        assert name in heads, file


@pytest.mark.parametrize("file", ["species/ligna-ficta.yaml", "engineered/dyed-ficta.yaml"])
def test_what_must_be_there_is_refused_when_it_is_not(file: str) -> None:
    """The page is held against what the check does: each key of a whole file taken away in turn."""
    value, found = load((INVENTED / file).read_bytes(), file)
    assert not found
    (material,) = [kind for kind in file_kinds() if kind.name.startswith("species/")]
    top = {field.name: field for field in material.blocks[0].fields}
    assert set(value) <= set(top)
    for key in value:
        missing = {name: held for name, held in value.items() if name != key}
        try:
            schema.MaterialIn.model_validate(missing)
            refused = False
        except ValueError:
            refused = True
        # made_from may be left out of a species only, and its field says so
        assert refused == (top[key].needed or key == "made_from"), key


def test_words_allowed_are_those_of_the_check() -> None:
    (material,) = [kind for kind in file_kinds() if kind.name.startswith("species/")]
    blocks = {block.path: {f.name: f for f in block.fields} for block in material.blocks}
    assert blocks["veneer"]["sold"].words == ("common", "to-order", "rare", "no", "not-known")
    assert blocks["look"]["figures"].words == get_args(schema.FIGURE_WORDS)
    assert blocks["working"]["tannin"].needed and not blocks["working"]["splinters"].needed
    assert blocks["working"]["splinters"].left_out == "unknown"
    assert blocks["look"]["class"].type == "id"  # under the file's own key, not class_
    assert blocks["veneer"]["thickness_mm"].type == "list, each a number above 0.05 and below 12"
    assert "source" not in blocks["look"]  # the four fields of a cited block are told once


def test_when_a_block_may_be_without_evidence() -> None:
    (material,) = [kind for kind in file_kinds() if kind.name.startswith("species/")]
    cited = {block.path: block.cited for block in material.blocks}
    assert cited["look"] == "Cited, and evidence must be there."
    only = "Cited; without evidence only while {} that nothing is known."
    assert cited["working.bending"] == only.format("`class` says")
    assert cited["working"] == only.format("`tannin`, `oily` and `splinters` say")
    assert cited["botanical"] is None
    for model in MODELS:
        if issubclass(model, Cited) and model.answer:
            names = (model.answer,) if isinstance(model.answer, str) else model.answer
            assert set(names) <= set(model.model_fields), model


def test_every_property_stands_in_the_table() -> None:
    text = README.read_text("utf-8")
    for name, prop in PROPERTIES.items():
        (row,) = re.findall(rf"^\| `{name}` .*$", text, re.MULTILINE)
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        assert cells[1:4] == [prop.asks, prop.unit, f"{prop.low:g} to {prop.high:g}"]
    # Janka hardness counts at 12 % and where a table says no more than "dry"
    assert reference_words(PROPERTIES["side_hardness"].reference) == "mc: 12 or dry"
    assert reference_words(PROPERTIES["intersection_moisture"].reference) == "any"


def test_a_name_narrows_the_page() -> None:
    kinds, properties = narrowed("veneer")
    assert [b.path for k in kinds for b in k.blocks] == ["veneer", "veneer.treatments", "veneer.sapwood"]
    assert not properties
    kinds, _ = narrowed("tannin")
    assert [(b.path, [f.name for f in b.fields]) for k in kinds for b in k.blocks] == [
        ("working", ["tannin"])
    ]
    kinds, properties = narrowed("moe")
    assert (kinds, [p.name for p in properties]) == ([], ["moe"])
    assert len(narrowed("properties")[1]) == len(PROPERTIES)
    assert [k.name for k in narrowed("adhesives")[0]] == ["adhesives/"]
    assert [k.name for k in narrowed("cores/")[0]] == ["species/, engineered/, modified/, cores/"]
    assert [k.name for k in narrowed("trade/papers.yaml")[0]] == ["trade/papers.yaml"]
    assert {k.name.split("/")[0] for k in narrowed("trade")[0]} == {"trade"}


@pytest.mark.parametrize("name", ["", "  ", "densty", ".*", "/", "yaml"])
def test_a_name_of_nothing_is_refused(name: str) -> None:
    with pytest.raises(BadRequest, match="no file, block, field or property"):
        narrowed(name)
