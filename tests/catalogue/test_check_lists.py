"""The lists beside the materials broken one line at a time: shared names, sources, listings, classes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.catalogue.dataset import DOCUMENTS, LISTS
from woodref.catalogue.findings import Finding

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]
Findings = Callable[[], list[Finding]]

FICTA = "species/ligna-ficta.yaml"
ALTERA = "species/ligna-altera.yaml"
LISTINGS = "trade/listings.yaml"


def append(folder: Path, file: str, text: str) -> int:
    """Add lines to the end of a file; the 1-based line of the first."""
    path = folder / file
    body = path.read_text("utf-8").rstrip("\n") + "\n"
    path.write_text(f"{body}{text}\n", "utf-8")
    return body.count("\n") + 1


@pytest.mark.parametrize("file", [*LISTS, *DOCUMENTS])
def test_a_missing_list_is_told(file: str, invented: Path, findings: Findings) -> None:
    (invented / file).unlink()
    told = [f for f in findings() if f.file == file]
    assert [(f.line, f.says) for f in told] == [(1, "this file is missing")]


@pytest.mark.parametrize(
    ("file", "body"),
    [
        ("names.yaml", ""),
        ("sources.yaml", "other: []\n"),
        (LISTINGS, "- a\n"),
        ("trade/bans.yaml", "words\n"),
    ],
)
def test_a_list_file_without_its_list_is_told(
    file: str, body: str, invented: Path, findings: Findings
) -> None:
    (invented / file).write_text(body, "utf-8")
    told = [f for f in findings() if f.file == file]
    assert [(f.line, f.says) for f in told] == [(1, f'expected one key "{LISTS[file][0]}" holding a list')]


def test_a_name_of_two_woods_must_stand_among_the_shared_names(
    edit: Edit, at: At, findings: Findings
) -> None:
    edit(ALTERA, "text: other ficta", "text: Plain-Ficta")  # hyphen and capitals play no part
    (only,) = findings()
    # both files carry it; the second one read is told, with the first one's id
    assert (only.file, only.line, only.field) == (FICTA, at(FICTA, "text: plain ficta"), "names.0.text")
    assert '"plain ficta" is also a name of ligna-altera' in only.says
    assert "data/names.yaml" in only.says


def test_once_it_stands_there_nothing_is_said(edit: Edit, invented: Path, findings: Findings) -> None:
    edit(ALTERA, "text: other ficta", "text: Plain-Ficta")
    append(
        invented,
        "names.yaml",
        "  - text: plain ficta\n    meanings:\n      - {material: ligna-ficta, note: one}\n"
        "      - {material: ligna-altera, note: the other}",
    )
    assert findings() == []


def test_a_trade_name_that_is_another_woods_botanical_name_is_told(edit: Edit, findings: Findings) -> None:
    edit(ALTERA, "text: other ficta", "text: ligna antiqua")  # an old name of the first
    assert ["is also a name of" in f.says for f in findings()] == [True]


def test_a_name_twice_in_one_file_is_only_a_warning(edit: Edit, at: At, findings: Findings) -> None:
    edit(FICTA, "text: bench pearl", "text: PLAIN FICTA")
    (only,) = findings()
    assert (only.severity, only.line) == ("warning", at(FICTA, "PLAIN FICTA"))


#: entries put at the end of names.yaml -> what is said of the meaning
MEANINGS = {
    "a material that is not there": (
        "{material: ligna-nulla, note: a}",
        'there is no material "ligna-nulla"',
    ),
    "neither material nor Latin name": ("{note: a}", "give material (an id) or botanical"),
    "both": ("{material: ligna-ficta, botanical: Ligna ficta, note: a}", "one of the two"),
    "no note": ("{material: ligna-ficta}", 'the field "note" is missing'),
    "usual twice in one place": (
        "{material: ligna-ficta, usual_in: [US], note: a}",
        "two meanings are usual in US",
    ),
}


@pytest.mark.parametrize(("meaning", "gist"), MEANINGS.values(), ids=MEANINGS.keys())
def test_a_meaning_that_says_too_little_or_too_much_is_told(
    meaning: str, gist: str, invented: Path, findings: Findings
) -> None:
    first = "{botanical: Ligna, usual_in: [US], note: a}"
    entry = f"  - text: vice pearl\n    meanings:\n      - {first}\n      - {meaning}"
    line = append(invented, "names.yaml", entry)
    (only,) = findings()
    assert (only.file, only.line) == ("names.yaml", line + 3)
    assert gist in only.says


def test_one_meaning_alone_is_no_shared_name(invented: Path, findings: Findings) -> None:
    entry = "  - text: vice pearl\n    meanings:\n      - {botanical: Ligna, note: a}"
    line = append(invented, "names.yaml", entry)
    (only,) = findings()
    assert (only.line, only.field) == (line + 1, "names.2.meanings")


@pytest.mark.parametrize("text", ["bench pearl", "Bench-Pearl"])
def test_a_shared_name_written_twice_is_told(text: str, invented: Path, findings: Findings) -> None:
    # two entries that fold alike would be read as one name with the meanings of both
    meanings = "      - {botanical: Ligna, note: a}\n      - {botanical: Lignum, note: b}"
    entry = f"  - text: {text}\n    meanings:\n{meanings}"
    line = append(invented, "names.yaml", entry)
    assert [(f.file, f.line) for f in findings()] == [("names.yaml", line)]


def test_a_source_twice_is_told_at_the_second(invented: Path, findings: Findings) -> None:
    line = append(invented, "sources.yaml", "  - {id: powo, kind: document, title: again, seen: memory}")
    (only,) = findings()
    assert (only.file, only.line, only.says) == ("sources.yaml", line, '"powo" stands here twice')


def test_an_unreadable_list_of_sources_is_not_held_against_every_figure(
    invented: Path, findings: Findings
) -> None:
    # a slip of one bracket must not bury its own finding under a thousand others
    (invented / "sources.yaml").write_text("sources: [\n", "utf-8")
    assert {f.file for f in findings()} == {"sources.yaml"}


def listing(**changed: str) -> str:
    """One row of listings.yaml with some of its fields put otherwise."""
    fields = {
        "id": "cites-ligna-ii-2020",
        "taxon": "Ligna spp.",
        "accepted": "Ligna",
        "rank": "genus",
        "regime": "CITES",
        "category": "II",
        "population": "{words: all, countries: all}",
        "valid_from": '"2020-01-01"',
        "valid_to": "null",
        "date_evidence": "recalled",
        "evidence": "recalled",
        "source": "cites-appendices",
        "locator": "null",
    } | changed
    return "  - {" + ", ".join(f"{key}: {value}" for key, value in fields.items()) + "}"


#: fields of the row -> field named, gist of the sentence
ROWS: dict[str, tuple[dict[str, str], str, str]] = {
    "a group that is not there": (
        {"population": "{words: some, countries: atlantis}"},
        "population.countries",
        'no group "atlantis" stands in data/trade/places.yaml',
    ),
    "a country that is not there": (
        {"population": "{words: some, countries: [BR, UK]}"},
        "population.countries",
        "UK is not an ISO 3166-1 code",
    ),
    "a regime nobody knows": ({"regime": "SITES"}, "regime", "is not one of"),
    "an end before the start": ({"valid_to": '"2019-12-31"'}, "valid_to", "ends before it begins"),
    "a day without quotes": ({"valid_from": "2020"}, "valid_from", "put it in quotes"),
    "a day that no calendar has": ({"valid_from": '"2020-02-30"'}, "valid_from", ""),
    "a month that no calendar has": ({"valid_to": '"2020-13-01"'}, "valid_to", ""),
    "a source that is not there": ({"source": "cites-atlantis"}, "source", "no source"),
}


@pytest.mark.parametrize(("changed", "field", "gist"), ROWS.values(), ids=ROWS.keys())
def test_a_listing_that_cannot_be_is_told_with_its_line(
    changed: dict[str, str], field: str, gist: str, invented: Path, findings: Findings
) -> None:
    line = append(invented, LISTINGS, listing(**changed))
    told = [f for f in findings() if f.file == LISTINGS]
    assert [f.line for f in told] == [line]
    assert told[0].field.endswith(f".{field}")
    assert gist in told[0].says


def test_a_good_listing_passes(invented: Path, findings: Findings) -> None:
    append(invented, LISTINGS, listing())
    assert findings() == []


@pytest.mark.parametrize("key", ["as_of", "read_in_full"])
def test_the_day_the_law_was_followed_to_must_be_a_day(
    key: str, invented: Path, at: At, findings: Findings
) -> None:
    days = {"as_of": '"2026-13-05"', "read_in_full": '"2017-02-29"'}
    good = {"as_of": '"2026-03-05"', "read_in_full": '"2017-04-21"', "words": "how far we read"}
    text = "\n".join(f"{name}: {value}" for name, value in (good | {key: days[key]}).items())
    (invented / "trade" / "asof.yaml").write_text(text + "\n", "utf-8")
    told = findings()
    assert [(f.file, f.line, f.field) for f in told] == [("trade/asof.yaml", at("trade/asof.yaml", key), key)]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        (FICTA, "regions: [BE, FR]", "regions: [BE, UK]"),
        ("names.yaml", "usual_in: [GB, IE]", "usual_in: [IE, UK]"),
    ],
)
def test_the_country_of_a_name_is_an_iso_code_too(
    file: str, old: str, new: str, edit: Edit, at: At, findings: Findings
) -> None:
    # a region that is no code can never be asked for, so its name would be lost in silence
    edit(file, old, new)
    assert [(f.file, f.line) for f in findings()] == [(file, at(file, new))]


def test_a_colour_class_is_near_its_neighbour_both_ways(edit: Edit, at: At, findings: Findings) -> None:
    edit("classes.yaml", "near: [cream]", "near: []")
    (only,) = findings()
    assert (only.file, only.line) == ("classes.yaml", at("classes.yaml", "{id: cream"))
    assert only.says == '"white" does not name "cream" in return'


def test_two_woods_may_not_answer_for_one_retired_id(edit: Edit, at: At, findings: Findings) -> None:
    edit(ALTERA, "was: []", "was: [ligna-vetus]")
    (only,) = findings()
    # files are read by name, so the one further on is told
    assert (only.file, only.line, only.field) == (FICTA, at(FICTA, "was:"), "was.0")
    assert only.says == '"ligna-vetus" already answers for ligna-altera'


EVIDENCE = "trade/evidence.yaml"


NOBODY = 'words: "What nobody has named may be listed.", closes: "the botanical name'


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        (
            'valid_from: "2026-12-30"', 'valid_from: "2026-12-29"', "sets.2.valid_from",
            'on some day "eu-2013" stands',
        ),
        (
            "law: us-plant-trade-ban", "law: us-plant-band", "sets.4.asks.4.law",
            'no law of the code "us-plant-band"',
        ),
        ("destination: export", "destination: home", "sets", "no set is for export"),
        (
            f'{NOBODY}, from the supplier\n         or a test", evidence: common-practice',
            f'{NOBODY}", evidence: recalled, source: cites-convention-text, locator: null',
            "sets.5.asks.2", "citation is missing",
        ),
    ],
)  # fmt: skip
def test_an_evidence_set_is_held_against_the_law_and_the_other_sets(
    old: str, new: str, field: str, says: str, edit: Edit, findings: Findings
) -> None:
    edit(EVIDENCE, old, new)
    told = [f for f in findings() if f.file == EVIDENCE and says in f.says]
    assert told and told[0].field == field


def test_an_evidence_set_says_how_far_its_law_was_followed(edit: Edit, findings: Findings) -> None:
    edit(EVIDENCE, 'valid_from: "2021-01-01"\n    date_evidence: quoted\n    followed_to: "2026-03-05"',
         'valid_from: "2021-01-01"\n    date_evidence: quoted')  # fmt: skip
    assert ["followed_to" in f.says for f in findings()] == [True]


def test_the_same_thing_asked_twice_is_told(edit: Edit, findings: Findings) -> None:
    edit(EVIDENCE, "{key: NAME, test: name, words: \"What nobody has named may be listed.\"",
         "{key: PERMIT, test: papers, words: \"What nobody has named may be listed.\"")  # fmt: skip
    assert ["PERMIT is asked twice" in f.says for f in findings()] == [True]
