"""Names against the list of shared names itself, misspellings, and a catalogue of invented woods."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from woodref.catalogue.fold import fold
from woodref.catalogue.names import ASK_THE_SELLER, close_spellings, kind_words, resolve
from woodref.catalogue.reader import Catalogue, open_catalogue
from woodref.catalogue.yamlload import load
from woodref.errors import BadRequest, SharedName, UnknownName, WoodrefError

DAY = dt.date(2026, 6, 1)
DATA = Path(__file__).resolve().parents[2] / "data"
Edit = Callable[[str, str, str], None]


def shared_entries() -> list[dict[str, Any]]:
    """Every entry of names.yaml as plain values."""
    value, found = load((DATA / "names.yaml").read_bytes(), "names.yaml")
    assert not found
    return list(value["names"])


SHARED = shared_entries()
IDS = [entry["text"] for entry in SHARED]


def usual(entry: dict[str, Any], region: str | None) -> list[dict[str, Any]]:
    """The meanings that are usual there: those of the region, else those of everywhere."""
    meanings = entry["meanings"]
    own = [m for m in meanings if region is not None and region in m.get("usual_in", [])]
    return own or [m for m in meanings if "*" in m.get("usual_in", [])]


@pytest.mark.parametrize("entry", SHARED, ids=IDS)
def test_a_shared_name_answers_where_one_wood_is_usual_and_asks_elsewhere(
    entry: dict[str, Any], catalogue: Catalogue
) -> None:
    regions = {region for m in entry["meanings"] for region in m.get("usual_in", []) if region != "*"}
    for region in (None, "AQ", *sorted(regions)):  # nobody trades wood in Antarctica
        likely = usual(entry, region)
        if len(likely) == 1 and "material" in likely[0]:
            found = resolve(entry["text"], catalogue, DAY, region)
            assert (found.id, found.kind) == (likely[0]["material"], "shared")
            (notice,) = found.notices
            assert notice.code == "shared-name"
            # every other meaning is named with its listing
            assert notice.message.count(" (") >= len(entry["meanings"]) - 1
            assert (f" in {region} " in notice.message) == (region in regions)
            continue
        with pytest.raises(SharedName) as fault:
            resolve(entry["text"], catalogue, DAY, region)
        assert fault.value.exit_code == 3
        told = fault.value.candidates
        assert {c.id for c in told if c.id} == {m["material"] for m in entry["meanings"] if "material" in m}
        assert {c.name for c in told if not c.id} == {
            m["botanical"] for m in entry["meanings"] if "botanical" in m
        }
        assert all(len(c.says) > 20 for c in told)


@pytest.mark.parametrize(
    "text", ["tulipwood", "rosewood", "blackwood", "granadillo", "ebony", "oak", "jacaranda"]
)
def test_the_strictest_meaning_comes_first(text: str, catalogue: Catalogue) -> None:
    with pytest.raises(SharedName) as fault:
        resolve(text, catalogue, DAY)
    grades = []
    for candidate in fault.value.candidates:
        says = candidate.says
        grades.append(
            0 if "Appendix I," in says or "Appendix I." in says or "Appendix I " in says
            else 1 if "Appendix II," in says or "Appendix II." in says or "Appendix II " in says
            else 2 if "Appendix III" in says
            else 3
        )  # fmt: skip
    assert grades == sorted(grades), [(c.name, c.says) for c in fault.value.candidates]


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        ("tulipwood", 'The name "tulipwood" fits three woods; one is listed.'),
        ("sycamore", 'The name "sycamore" fits three woods; none of them is listed.'),
        ("oak", 'The name "oak" fits five woods; one is listed.'),
    ],
)
def test_the_question_counts_the_woods_and_the_listed_ones(
    text: str, counts: str, catalogue: Catalogue
) -> None:
    with pytest.raises(SharedName) as fault:
        resolve(text, catalogue, DAY)
    listed = "none of them" not in counts
    assert str(fault.value).startswith(counts)
    assert ("Until one is proved I treat it as the strictest." in str(fault.value)) == listed
    assert "--region" in str(fault.value)


def test_a_wood_we_do_not_hold_says_so_and_one_we_hold_does_not(catalogue: Catalogue) -> None:
    with pytest.raises(SharedName) as fault:
        resolve("tulipwood", catalogue, DAY)
    for candidate in fault.value.candidates:
        assert candidate.says.endswith("Not in the catalogue.") == (candidate.id is None)


def test_a_long_shared_name_is_cut_short_in_the_sentence(catalogue: Catalogue) -> None:
    # marks play no part in a name, so this is the word oak with a page of them behind it
    with pytest.raises(SharedName) as fault:
        resolve("oak" + "!" * 5000, catalogue, DAY)
    assert len(str(fault.value)) < 500


def typed_otherwise(text: str) -> Iterator[str]:
    """The same name as other people type it."""
    yield text.upper()
    yield f"  {text.replace(' ', '   ')}\t"
    yield text.replace(" ", "-")
    yield text.replace(" ", "_")
    yield f'"{text}".'


@pytest.mark.parametrize(
    "text", ["red alder", "black walnut", "big-leaf mahogany", "Alnus rubra", "Dalbergia nigra", "caviúna"]
)
def test_capitals_spaces_and_marks_play_no_part(text: str, catalogue: Catalogue) -> None:
    wanted = resolve(text, catalogue, DAY).id
    assert {t: resolve(t, catalogue, DAY).id for t in typed_otherwise(text)} == dict.fromkeys(
        typed_otherwise(text), wanted
    )


def test_every_id_and_every_botanical_name_answers_for_its_own_wood(catalogue: Catalogue) -> None:
    shared = {fold(entry["text"]) for entry in SHARED}
    rows = catalogue.rows("SELECT material_id, text, kind FROM name WHERE kind != 'trade'")
    assert len(rows) > 150
    for row in rows:
        found = resolve(row["text"], catalogue, DAY)
        assert found.id == row["material_id"], row["text"]
        # a Latin name that is a shared name as well would never be asked about
        assert row["kind"] == "id" or fold(row["text"]) not in shared, row["text"]


def test_every_trade_name_answers_for_its_own_wood_or_asks(catalogue: Catalogue) -> None:
    shared = {fold(entry["text"]) for entry in SHARED}
    rows = catalogue.rows("SELECT material_id, text FROM name WHERE kind = 'trade'")
    for row in rows:
        if fold(row["text"]) not in shared:
            assert resolve(row["text"], catalogue, DAY).id == row["material_id"], row["text"]


#: as people misspell -> what they mean
MISSPELT = {
    "walnit": "juglans-nigra", "zebranno": "microberlinia-brazzavillensis",
    "bubenga": "guibourtia-tessmannii", "purplehart": "peltogyne-venosa", "cocobollo": "dalbergia-retusa",
    "obechee": "triplochiton-scleroxylon", "ocoume": "aucoumea-klaineana", "limbaa": "terminalia-superba",
    "irokko": "milicia-excelsa", "makasser": "diospyros-celebica",
    "brazillian rosewood": "dalbergia-nigra", "indian rosewod": "dalbergia-latifolia",
    "sicamore": "acer-pseudoplatanus", "swamp mapple": "acer-rubrum",
    "yelow poplar": "liriodendron-tulipifera", "liquidamber": "liquidambar-styraciflua",
    "sappele": "entandrophragma-cylindricum", "teek": "tectona-grandis",
    "birdseye maple": "acer-saccharum", "fagus silvatica": "fagus-sylvatica",
    "quercus robor": "quercus-robur", "mahagony": "swietenia-macrophylla",
}  # fmt: skip


@pytest.mark.parametrize(("typed", "meant"), MISSPELT.items())
def test_a_misspelt_name_is_asked_about_never_taken(typed: str, meant: str, catalogue: Catalogue) -> None:
    with pytest.raises(UnknownName) as fault:
        resolve(typed, catalogue, DAY)
    assert meant in [c.id for c in fault.value.candidates]
    assert str(fault.value).endswith("Did you mean one of these?")
    assert 1 <= len(fault.value.candidates) <= 5


@pytest.mark.parametrize(
    ("typed", "meant"), [("mapel", "maple"), ("ceder", "cedar"), ("satinwod", "satinwood")]
)
def test_a_misspelt_shared_name_is_offered_too(typed: str, meant: str, catalogue: Catalogue) -> None:
    # these names stand in the list of shared names alone, and are the commonest words of the trade
    assert any(meant in f"{c.name} {c.says}".lower() for c in close_spellings(fold(typed), catalogue))


@pytest.mark.parametrize("region", ["us", "USA", "XX", "", "*", "GB-", "' OR 1=1"])
def test_a_region_that_is_no_country_is_refused(region: str, catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="is not a country code"):
        resolve("red alder", catalogue, DAY, region)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=120)
@given(
    st.text(max_size=60)
    | st.lists(st.sampled_from([*IDS, '"', "*", "NEAR(", "OR", "-", "\x00"])).map(" ".join)
)
@example("a b " * 3000)
@example("x" * 100_000)
@example("\udcff")
@example("²")
def test_whatever_is_typed_only_a_sentence_or_a_wood_comes_out(catalogue: Catalogue, typed: str) -> None:
    try:
        assert resolve(typed, catalogue, DAY).id in catalogue.ids()
    except WoodrefError as fault:
        assert fault.exit_code == 3
        assert ASK_THE_SELLER in str(fault) or fault.candidates


@given(st.text(st.characters(max_codepoint=0x24F), max_size=40))
def test_folding_leaves_letters_and_single_spaces_and_does_nothing_twice(text: str) -> None:
    folded = fold(text)
    assert folded == " ".join(folded.split())
    assert folded.isprintable()
    assert all(c == " " or c.isalnum() for c in folded)
    assert fold(folded) == folded


@pytest.fixture
def bench(invented: Path, tmp_path: Path, spare: Path, edit: Edit) -> Iterator[Catalogue]:
    """The invented woods, one of which used to go by the other's trade name as an id."""
    edit("species/ligna-altera.yaml", "was: []", "was: [plain-ficta]")
    with open_catalogue(invented, tmp_path / "cache") as opened:
        yield opened


@pytest.mark.parametrize(
    ("typed", "wanted", "kind"),
    [
        ("ligna-ficta", "ligna-ficta", "id"),
        ("Ligna ficta", "ligna-ficta", "botanical"),
        ("LIGNA ANTIQUA", "ligna-ficta", "synonym"),
        ("ligna-vetus", "ligna-ficta", "retired"),
        ("fauxbois-uni", "ligna-ficta", "trade"),
        # written as an id it is the retired one, as a name the trade's
        ("plain-ficta", "ligna-altera", "retired"),
        ("plain ficta", "ligna-ficta", "trade"),
    ],
)
def test_names_are_tried_in_their_order(typed: str, wanted: str, kind: str, bench: Catalogue) -> None:
    found = resolve(typed, bench, DAY)
    assert (found.id, found.kind) == (wanted, kind)
    assert kind_words(found.kind)
    assert [n.code for n in found.notices] == (["retired-id"] if kind == "retired" else [])


def test_the_region_decides_before_what_is_usual_everywhere(bench: Catalogue) -> None:
    assert resolve("bench pearl", bench, DAY, "US").id == "ligna-altera"
    assert resolve("bench pearl", bench, DAY, "IE").id == "ligna-ficta"
    assert resolve("shop pearl", bench, DAY, "US").id == "ligna-ficta"
    # in Brazil the name means a wood that is not held: it asks, the listed one first
    with pytest.raises(SharedName) as fault:
        resolve("shop pearl", bench, DAY, "BR")
    assert [c.name for c in fault.value.candidates] == ["Dalbergia nigra", "plain ficta"]


def test_what_a_shared_name_may_mean_follows_the_day(bench: Catalogue) -> None:
    told = resolve("shop pearl", bench, DAY).notices[0].message
    assert "Dalbergia nigra (CITES Appendix I" in told
    # 1970: before the Convention was open for signature
    before = resolve("shop pearl", bench, dt.date(1970, 1, 1)).notices[0].message
    assert "Dalbergia nigra (no listing known)" in before
