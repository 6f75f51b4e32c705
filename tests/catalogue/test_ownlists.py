"""Lists of the user's own: all of a CSV or nothing, kept in a file of its own, linked to woods by name."""

from __future__ import annotations

import os
import random
import sqlite3
import stat
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.catalogue.ownimport import Imported, bring_in
from woodref.catalogue.ownknown import Known, taxon
from woodref.catalogue.ownmap import COLUMN_KEYS, FIGURE_KEYS, KEYS, PRICE_KEYS, SOURCE_KEYS, read_map
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.ownrows import MAX_BYTES, take
from woodref.catalogue.ownstore import called, described, drop, holding, kept_lists, row_at, rows_of
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadList, UnknownName

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
MAP = """\
list: shop
title: A list
source: {title: T, licence: none stated, date: 2026-03-01, got: by hand}
columns:
  name: Wood
  botanical: Latin
  density: {column: Weight, unit: kg/m3, moisture: 12}
  price: {column: Price, currency: EUR, per: m2}
leave-out: [Bay]
"""
#: keys of a map, so that random ones get past the first question
KEY = st.sampled_from([*KEYS, *SOURCE_KEYS, *COLUMN_KEYS, *FIGURE_KEYS, *PRICE_KEYS]) | st.text(max_size=8)
HEAD = "Wood,Latin,Weight,Price,Bay\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("WOODREF_LISTS", str(tmp_path / "lists"))
    return tmp_path


def bring(
    folder: Path, rows: str | bytes, by: str = MAP, leave_out: bool = False, replace: bool = False
) -> Imported:
    body = rows if isinstance(rows, bytes) else (HEAD + rows).encode()
    (folder / "shop.csv").write_bytes(body)
    (folder / "map.yaml").write_text(by, "utf-8")
    return bring_in(folder / "shop.csv", folder / "map.yaml", leave_out, replace)


def told(folder: Path, rows: str | bytes, by: str = MAP) -> str:
    """Everything said of a list that is refused; nothing of it is kept."""
    with pytest.raises(BadList) as caught:
        bring(folder, rows, by)
    assert kept_lists().lists == []
    assert not list((folder / "lists").glob("*")) if (folder / "lists").exists() else True
    return "\n".join([str(caught.value), *(f"{c.name}: {c.says}" for c in caught.value.candidates)])


def test_a_list_is_kept_with_its_source_day_and_digest(folder: Path) -> None:
    done = bring_in(
        DEMO / "lists" / "harrow-veneers.csv", DEMO / "lists" / "harrow-veneers.yaml", False, False
    )
    held = described("harrow-veneers")
    assert held == done.kept
    assert (held.rows, held.left_out, held.date, held.imported) == (14, 0, "2026-03-01", "2026-06-01")
    assert len(held.digest) == 16
    _, rows = rows_of("harrow-veneers")
    first, boards = rows[0], rows[-1]
    assert first.id == "my/harrow-veneers/american-black-walnut-0-6-mm-crown"
    assert (first.line, first.thickness, first.cut) == (2, "0.6", "crown")
    assert first.price is not None and first.price.words == "14.20 EUR per m2"
    assert boards.price is not None and boards.price.words == "1480.00 EUR per m3"
    pear = next(row for row in rows if row.slug == "pear-steamed")
    assert (pear.figures[0].low, pear.figures[0].high, pear.figures[0].value) == ("690", "720", None)
    assert pear.figures[0].printed == "690-720 kg/m3"
    if os.name == "posix":
        assert stat.S_IMODE(held.path.stat().st_mode) == 0o600
    again = bring_in(
        DEMO / "lists" / "harrow-veneers.csv", DEMO / "lists" / "harrow-veneers.yaml", False, True
    )
    assert again.replaced and again.kept.digest == held.digest


def test_a_list_replaces_one_of_its_id_only_when_asked(folder: Path) -> None:
    bring(folder, "teak,,650,9,\n")
    with pytest.raises(BadList, match="kept already"):
        bring(folder, "oak,,650,9,\n")
    assert [row.name for row in rows_of("shop")[1]] == ["teak"]
    bring(folder, "oak,,650,9,\n", replace=True)
    assert [row.name for row in rows_of("shop")[1]] == ["oak"]
    assert drop("shop") is not None
    assert kept_lists().lists == []
    with pytest.raises(BadList, match="no list of your own"):
        drop("shop")


def test_a_faulty_list_put_in_place_of_a_good_one_leaves_the_good_one(folder: Path) -> None:
    bring(folder, "teak,,650,9,\n")
    with pytest.raises(BadList):
        bring(folder, "oak,,heavy,9,\n", replace=True)
    assert [row.name for row in rows_of("shop")[1]] == ["teak"]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("teak,,heavy,9,\n", 'shop.csv:2, column "Weight"'),
        ("teak,,650,9,\noak,,0.65,9,\n", 'shop.csv:3, column "Weight"'),
        ("teak,,0.65,9,\n", "look at the unit in the map"),
        ("teak,,650,free,\n", '"free" is no price'),
        (",,650,9,\n", "the row has no name"),
        ("teak,,650\n", "3 cells where the head line names 5 columns"),
        ("teak,,650,9,A1,more\n", "6 cells where the head line names 5 columns"),
        ('"two\nlines",,x,9,\nteak,,y,9,\n', 'shop.csv:4, column "Weight"'),
        ('teak,,"650,9,\n', "this is no CSV"),
        ('te"ak,"a"b,650,9,\n', "this is no CSV"),
        ("te\u200bak,,650,9,\n", "U+200B"),
        ("te\x1bak,,650,9,\n", "U+001B"),
        (f"{'x' * 3_000},,650,9,\n", "has 3,000 signs"),
        ("," * 1_100_000, "a row of more than 1,000,000 signs"),
        ('"a\n",' * 300_000, "a row of more than 1,000,000 signs"),
        ("\n" * 1_100_000, "more than 1,000,000 lines"),
        (f"{'x' * 200_000},,650,9,\n", "field larger than field limit"),
        ("te\0ak,,650,9,\n", "shop.csv:2: a sign of no text (NUL)"),
        ("", "has no row below its head line"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_line_and_column_and_nothing_is_kept(folder: Path, rows: str, says: str) -> None:
    assert says in told(folder, rows)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"", "no column that the map names stands in the head line"),
        (b"Wood,Latin,Weight,Price\nteak,,650,9\n", 'no column "Bay", which the map names'),
        (b"Wood,Latin,Weigth,Price,Bay\nteak,,650,9,\n", 'did you mean "Weigth"?'),
        (b"Wood,Latin,Weight,Price,Bay,Grade\nteak,,650,9,,A\n", '"Grade" is neither mapped nor left out'),
        (b"Wood,Wood,Latin,Weight,Price,Bay\n", 'two columns are called "Wood"'),
        ("Wood,Latin,Weight,Price,Bay\nPalo rosa é".encode("latin-1"), "shop.csv:2: this is no UTF-8 text"),
        ("Wood,Latin".encode("utf-16"), "NUL"),
    ],
)  # fmt: skip
def test_a_head_that_does_not_fit_the_map_is_refused(folder: Path, body: bytes, says: str) -> None:
    assert says in told(folder, body)


def test_all_faults_are_told_at_once_and_no_more_than_a_page(folder: Path) -> None:
    said = told(folder, "teak,,x,y,\n" * 100)
    assert "200 things in shop.csv cannot be read (the first 25 are told)" in said
    assert "100 rows have faults and nothing was kept" in said
    assert said.count('column "') == 25


def test_faulty_rows_are_left_out_only_when_asked_and_then_told(folder: Path) -> None:
    done = bring(folder, "teak,,650,9,\noak,,heavy,9,\nash,,600,,\n", leave_out=True)
    assert (done.kept.rows, done.kept.left_out) == (2, 1)
    assert done.faults == ['shop.csv:3, column "Weight": "heavy" does not begin with a number; expected: '
                           "a quantity such as 12 kg/m3"]  # fmt: skip
    with pytest.raises(BadList, match=r"nothing was kept\. Mend them\."):
        bring(folder, "oak,,heavy,9,\n", leave_out=True, replace=True)


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("begin", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_the_separator_is_found_with_or_without_a_mark_of_utf_8(
    folder: Path, mark: str, begin: bytes, end: str
) -> None:
    text = (HEAD + "Bübinga,,900,9,\n\n").replace(",", mark).replace("\n", end)
    bring(folder, begin + text.encode())
    (row,) = rows_of("shop")[1]
    assert (row.name, row.slug, row.figures[0].value) == ("Bübinga", "bubinga", "900")


def test_empty_columns_at_the_end_are_no_columns(folder: Path) -> None:
    bring(folder, b"Wood,Latin,Weight,Price,Bay,,\nteak,,650,9,,,\n")
    assert "where the head line names" in told_again(folder)


def told_again(folder: Path) -> str:
    drop("shop")
    return told(folder, b"Wood,Latin,Weight,Price,Bay,,\nteak,,650,9,,lost,\n")


def test_a_file_too_large_is_refused_unread(folder: Path) -> None:
    (folder / "map.yaml").write_text(MAP, "utf-8")
    with (folder / "big.csv").open("wb") as file:
        file.truncate(100_000_000)
    began = time.monotonic()
    with pytest.raises(BadList, match=f"larger than {MAX_BYTES:,} bytes"):
        bring_in(folder / "big.csv", folder / "map.yaml", False, False)
    assert time.monotonic() - began < 1


def test_rows_of_one_name_have_ids_of_their_own(folder: Path) -> None:
    bring(folder, "teak,,650,9,\nteak,,660,9,\n木,,600,9,\nteak 2,,600,9,\n")
    slugs = [row.slug for row in rows_of("shop")[1]]
    assert slugs == ["teak", "teak-2", "line-4", "teak-2-2"]
    held, row = row_at("my/shop/teak-2")
    assert (held.id, row.line) == ("shop", 3)
    with pytest.raises(UnknownName, match="did you mean"):
        row_at("my/shop/teek")
    for wrong in ("my/", "my/nope/x", "my/../x", "my/shop", "my//x", "my/shop/../../x"):
        with pytest.raises((BadList, UnknownName)):
            row_at(wrong)


def test_names_are_looked_up_by_their_beginnings(folder: Path) -> None:
    bring(folder, "black walnut,Juglans nigra,650,9,\nwalnut-look,,600,9,\nteak,,600,9,\n")
    assert [row.slug for row in holding("shop", "Waln")[1]] == ["black-walnut", "walnut-look"]
    assert [row.slug for row in holding("shop", "jug nig")[1]] == ["black-walnut"]
    assert holding("shop", "%")[1] == []
    assert [row.slug for row in called("shop", "TEAK")[1]] == ["teak"]


def test_a_spoilt_list_is_told_and_can_be_removed(folder: Path) -> None:
    bring(folder, "teak,,650,9,\n")
    path = described("shop").path
    path.write_bytes(b"no database at all")
    found = kept_lists()
    assert found.lists == [] and "cannot be read" in found.unreadable[0]
    assert drop("shop") is None and not path.exists()
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE meta (key TEXT, value TEXT)")
    connection.execute("INSERT INTO meta VALUES ('tables', '0')")
    connection.commit()
    connection.close()
    with pytest.raises(BadList, match="another version"):
        described("shop")


def test_a_folder_that_cannot_be_written_is_told(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "file").write_text("x")
    monkeypatch.setenv("WOODREF_LISTS", str(folder / "file" / "lists"))
    with pytest.raises(BadList, match="WOODREF_LISTS"):
        bring(folder, "teak,,650,9,\n")


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("Juglans nigra", "Juglans nigra"), ("juglans NIGRA L.", "Juglans nigra"),
        ("JUGLANS NIGRA", "Juglans nigra"), ("Dalbergia sp.", "Dalbergia spp."),
        ("Dalbergia", "Dalbergia spp."), ("Shorea cf. laevis", "Shorea spp."),
        ("Quercus robur subsp. robur", "Quercus robur"), ("Populus x canadensis", "Populus × canadensis"),
        ("Populus ×canadensis", "Populus × canadensis"),
        ("× Hesperotropsis leylandii", "Hesperotropsis leylandii"),
        ("Dalbergia L.f.", "Dalbergia spp."),
        ("Juglans nigra x regia", "Juglans spp."), ("Quercus robur / petraea", "Quercus spp."),
        ("Quercus robur or petraea", "Quercus spp."), ("Quercus robur/petraea", "Quercus spp."),
        ("Terminalia superba Engl. & Diels", "Terminalia superba"),
        ("Quercus robur and Quercus petraea", "Quercus spp."), ("Quercus robur & Q. alba", "Quercus spp."),
        ("Picea_abies", "Picea abies"),
    ],
)  # fmt: skip
def test_a_botanical_name_is_asked_of_the_law_as_genus_and_species(text: str, asked: str) -> None:
    assert taxon(text) == asked


@pytest.mark.parametrize(
    ("name", "botanical", "wood", "by", "against"),
    [
        (None, "Juglans nigra", "juglans-nigra", "botanical", None),
        (None, "Juglans nigra L.", "juglans-nigra", "botanical", None),
        (None, "Wallia nigra", "juglans-nigra", "botanical", None),
        ("wych elm", None, "ulmus-glabra", "trade", None),
        # shared names, half names and unknown species link nothing
        ("rosewood", None, None, None, None),
        ("wych", None, None, None, None),
        ("pommele bubinga", None, None, None, None),
        ("wych elm", "Ulmus laevis", None, None, "ulmus-glabra"),
        ("wych elm", "Tectona grandis", "tectona-grandis", "botanical", "ulmus-glabra"),
        (None, "Dalbergia sp.", None, None, None),
        (None, "Juglans nigra x regia", None, None, None),
        (None, "Terminalia superba Engl. & Diels", "terminalia-superba", "botanical", None),
    ],
)  # fmt: skip
def test_a_row_is_a_wood_of_the_catalogue_by_its_whole_name_alone(
    name: str | None,
    botanical: str | None,
    wood: str | None,
    by: str | None,
    against: str | None,
    catalogue: Catalogue,
) -> None:
    link = Known(catalogue).link(OwnRow("shop", "x", 2, name, botanical))
    assert (link.material_id, link.by, link.against) == (wood, by, against)


def test_a_set_of_8412_names_comes_in_within_seconds_and_is_searched_at_once(folder: Path) -> None:
    draw = random.Random(8412)
    parts = [first + second for first in "bdfgklmnprst" for second in "aeiou"]
    names: set[str] = set()
    while len(names) < 8_412:
        genus, kind = ("".join(draw.choices(parts, k=k)) for k in (3, 4))
        names.add(f"{genus.capitalize()} {kind}a")
    lines = ["species,family,density", *(f"{n},F,{draw.uniform(0.12, 1.2):.3f}" for n in sorted(names))]
    by = """\
list: densities
title: A made set
source: {title: Made by a test, licence: CC0, date: 2026-01-01, got: drawn at random}
columns:
  botanical: species
  density: {column: density, unit: g/cm3, moisture: basic}
leave-out: [family]
"""
    began = time.monotonic()
    done = bring(folder, "\n".join(lines).encode(), by)
    assert done.kept.rows == 8_412
    assert time.monotonic() - began < 20  # half a second of one core; a busy machine is no fault
    began = time.monotonic()
    first = sorted(names)[4_000]
    assert [row.botanical for row in holding("densities", first)[1]] == [first]
    assert time.monotonic() - began < 1


@given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
@settings(max_examples=150, deadline=None)
def test_whatever_stands_in_a_list_it_is_read_or_refused_in_a_sentence(junk: bytes) -> None:
    by = read_map(MAP.encode(), "map.yaml")
    for body in (junk, HEAD.encode() + junk, HEAD.encode() + b"teak,,650," + junk + b","):
        try:
            taken = take(body, "shop.csv", by)
        except BadList as fault:
            assert str(fault)
        else:
            assert taken.rows or taken.faulty
            assert all(row.called.isprintable() for row in taken.rows)


PLAIN = st.none() | st.booleans() | st.integers() | st.text(max_size=20)
BLOCK = st.dictionaries(KEY, PLAIN | st.lists(PLAIN, max_size=3), max_size=4)


@given(PLAIN | st.lists(PLAIN | BLOCK, max_size=3) | BLOCK | st.dictionaries(KEY, BLOCK, max_size=3))
@settings(max_examples=150, deadline=None)
def test_whatever_stands_in_a_map_it_is_read_or_refused_in_a_sentence(value: object) -> None:
    held = yaml.safe_load(MAP)
    for key in held:
        text = yaml.safe_dump({**held, key: value}, allow_unicode=True)
        try:
            read_map(text.encode("utf-8", "surrogatepass"), "map.yaml")
        except BadList as fault:
            assert str(fault)
