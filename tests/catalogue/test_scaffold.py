"""A new material file: valid from the start, saying nothing it does not know, never over another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from woodref.catalogue.findings import Finding
from woodref.catalogue.scaffold import FOLDER_OF, skeleton, write_new
from woodref.catalogue.schema import FOLDERS, MaterialIn
from woodref.catalogue.yamlload import load
from woodref.errors import BadRequest

Findings = Callable[[], list[Finding]]


def read(text: str) -> Any:
    value, found = load(text.encode(), "new.yaml")
    assert not found, [str(f) for f in found]
    return value


@pytest.mark.parametrize("softwood", [False, True])
@pytest.mark.parametrize("kind", list(FOLDER_OF))
def test_every_kind_passes_the_check_as_it_stands(
    kind: str, softwood: bool, invented: Path, findings: Findings
) -> None:
    base = None if kind == "species" else "ligna-ficta"
    path = write_new(
        invented, "ligna-nova", kind, skeleton("ligna-nova", kind, "new wood", base=base, softwood=softwood)
    )
    assert path == invented / FOLDER_OF[kind] / "ligna-nova.yaml"
    assert [str(f) for f in findings()] == []
    value = read(path.read_text("utf-8"))
    assert (value["kind"], value["hardness_group"]) == (kind, "softwood" if softwood else "hardwood")


def test_the_folders_are_those_of_the_check() -> None:
    assert {folder: kind for kind, folder in FOLDER_OF.items()} == FOLDERS


def test_a_new_file_claims_nothing() -> None:
    model = MaterialIn.model_validate(read(skeleton("ligna-nova", "species")))
    assert model.figures == {}
    assert model.grows.countries == []
    assert model.grows.plantation.grown == "unknown"
    assert model.working.dust.risk == "no-record"
    assert model.veneer.sold == "not-known"
    assert model.red_list.category == "unknown"


def test_the_keys_stand_in_the_order_of_the_other_files() -> None:
    fields = [name for name in MaterialIn.model_fields]
    for kind in FOLDER_OF:
        keys = list(read(skeleton("ligna-nova", kind, base="ligna-ficta")))
        assert keys == [name for name in fields if name in keys]


def test_the_botanical_name_is_made_from_the_id_or_taken_as_given() -> None:
    assert read(skeleton("ulmus-glabra", "species"))["botanical"]["name"] == "Ulmus glabra"
    given_name = skeleton("ulmus-glabra", "species", botanical="Ulmus × hollandica", family="Ulmaceae")
    assert read(given_name)["botanical"] == {
        "name": "Ulmus × hollandica",
        "family": "Ulmaceae",
        "synonyms": [],
    }
    assert read(skeleton("ulmus-glabra", "species"))["names"] == [{"text": "ulmus glabra", "lang": "en"}]


@pytest.mark.parametrize(
    "wrong", ["", "Ulmus", "ulmus glabra", "ulmus_glabra", "../evil", "-a", "a-", "a--b", "ulme-é"]
)
def test_an_id_in_another_form_is_refused(wrong: str) -> None:
    with pytest.raises(BadRequest, match="is not an id"):
        skeleton(wrong, "species")


def test_a_species_of_one_word_and_a_sheet_without_base_are_asked_for_more() -> None:
    with pytest.raises(BadRequest, match="Give --botanical 'Genus species'"):
        skeleton("ulmus", "species")
    with pytest.raises(BadRequest, match=r"needs its base wood\. Give --base ID"):
        skeleton("dyed-elm", "engineered")


AWKWARD = [
    "NO", "null", "true", "12", "012", "1e3", "2024-02-03", "a: b", "a, b", "elm #1", "{elm}", "[elm]",
    "*elm", "&elm", "- elm", "? elm", "!elm", "'elm'", '"elm"', "elm\\", "elm\nid: other", "orme d'Écosse",
    "~", "%elm", "@elm", "elm:", "|", ">", "elm\tbark",
]  # fmt: skip


@given(st.text(min_size=1, max_size=30).filter(lambda t: t.isprintable() and t == t.strip()))
@example("elm: {wych}")
def test_any_name_stays_the_name_it_is(name: str) -> None:
    names = read(skeleton("ulmus-glabra", "species", name))["names"]
    assert names == [{"text": name, "lang": "en"}]


@pytest.mark.parametrize("words", AWKWARD)
def test_words_that_yaml_would_read_otherwise_stay_words(words: str) -> None:
    value = read(skeleton("ulmus-glabra", "species", words, botanical=words, family=words))
    assert value["names"][0]["text"] == words
    assert (value["botanical"]["name"], value["botanical"]["family"]) == (words, words)
    assert value["id"] == "ulmus-glabra"


@pytest.mark.parametrize("base", ["ulmus glabra", "ulmus, glabra", "x]\nid: y", "Ulmus", "a: b", "NO"])
def test_a_base_that_is_no_id_is_refused_before_a_file_is_written(base: str) -> None:
    with pytest.raises(BadRequest):
        skeleton("dyed-elm", "engineered", base=base)


def test_a_file_that_is_there_is_never_written_over(invented: Path) -> None:
    before = (invented / "species" / "ligna-ficta.yaml").read_bytes()
    with pytest.raises(BadRequest, match=r"ligna-ficta\.yaml exists already. Edit that file instead"):
        write_new(invented, "ligna-ficta", "species", skeleton("ligna-ficta", "species"))
    assert (invented / "species" / "ligna-ficta.yaml").read_bytes() == before


def test_a_link_in_its_place_is_not_followed(invented: Path, tmp_path: Path) -> None:
    (invented / "species" / "ligna-nova.yaml").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(BadRequest):
        write_new(invented, "ligna-nova", "species", skeleton("ligna-nova", "species"))
    assert not (tmp_path / "elsewhere").exists()


def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path) -> None:
    # root ignores permissions, so the folder is put below a plain file
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(BadRequest, match=r"cannot be written.*set WOODREF_DATA to a folder of your own"):
        write_new(tmp_path / "file" / "data", "ulmus-glabra", "species", "text")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(st.from_regex(r"[a-z][a-z0-9]{0,8}(-[a-z0-9]{1,8}){1,3}", fullmatch=True))
def test_any_id_makes_a_file_that_reads_back_as_that_id(material_id: str) -> None:
    model = MaterialIn.model_validate(read(skeleton(material_id, "species")))
    assert model.id == material_id
    assert model.botanical is not None and model.botanical.name.lower() == material_id.replace("-", " ")
