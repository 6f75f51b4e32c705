"""The strict loader on text that people, editors and bad discs produce: a value or a finding, no more."""

from __future__ import annotations

import math
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from woodref.catalogue.findings import Finding
from woodref.catalogue.yamlload import MAX_BYTES, line_of, load, read


def finding(body: bytes) -> Finding:
    """The one finding of a file that must be refused."""
    value, found = load(body, "f.yaml")
    assert value is None
    (only,) = found
    return only


@pytest.mark.parametrize(
    "text", ["NO", "yes", "off", "On", "TRUE", "Null", "y", "N", "12:30", "1:2:3", "0x1F"]
)
def test_words_that_older_yaml_takes_for_something_else_stay_text(text: str) -> None:
    assert load(f"a: {text}".encode(), "f.yaml") == ({"a": text}, [])


@pytest.mark.parametrize(
    "text", ["2024-02-03", "2024-02-03T10:00:00Z", "2024-02", "44.10.00", "1_000", "0o17"]
)
def test_dates_times_and_codes_stay_text(text: str) -> None:
    assert load(f"- {text}".encode(), "f.yaml") == ([text], [])


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0", 0),
        ("-7", -7),
        ("+7", 7),
        ("0.50", 0.5),
        ("1e3", 1000.0),
        ("1.5E-2", 0.015),
        (".5", 0.5),
        ("5.", 5.0),
    ],
)
def test_numbers_are_numbers_of_their_own_kind(text: str, value: float) -> None:
    loaded, found = load(f"a: {text}".encode(), "f.yaml")
    assert (loaded, found) == ({"a": value}, [])
    assert type(loaded["a"]) is type(value)


@pytest.mark.parametrize("text", ["", "~", "null"])
def test_nothing_is_said_in_three_ways(text: str) -> None:
    assert load(f"a: {text}".encode(), "f.yaml") == ({"a": None}, [])


@pytest.mark.parametrize("text", ["012", "00", "-01", "+007", "01.5"])
def test_a_leading_zero_is_refused_with_what_to_do(text: str) -> None:
    only = finding(f"b: 1\na: {text}".encode())
    assert only.line == 2
    assert only.says == f"{text} begins with a zero: put it in quotes if it is a code, drop the zero if not"
    assert load(f"a: '{text}'".encode(), "f.yaml") == ({"a": text}, [])


@pytest.mark.parametrize("text", ["1e400", "-1e999", "9" * 5000])
def test_a_number_beyond_all_measure_is_refused_or_stays_text(text: str) -> None:
    # an endless figure would pass every comparison made with it
    value, found = load(f"a: {text}".encode(), "f.yaml")
    assert found or value == {"a": text}


@pytest.mark.parametrize(
    ("body", "line"),
    [(b"a: 1\nb: 2\na: 3\n", 3), (b"a:\n  x: 1\n  y: 2\n  x: 3\n", 4), (b"a: {x: 1, x: 1}", 1)],
)
def test_a_key_given_twice_is_told_at_the_second(body: bytes, line: int) -> None:
    only = finding(body)
    assert only.line == line
    assert only.says.endswith("is given twice")


@pytest.mark.parametrize("key", ["1", "1.5", "null", "true", "[a]", "{a: 1}"])
def test_a_key_that_is_no_text_is_refused(key: str) -> None:
    assert "is not text: put it in quotes" in finding(f"b: 1\n? {key}\n: 2\n".encode()).says


def test_an_alias_is_refused_and_an_ampersand_in_words_is_not() -> None:
    only = finding(b"a: &x [1]\nb: 2\nc: *x\n")
    assert (only.line, only.says) == (3, "anchors and aliases are not used here: write it out")
    assert load(b"a: bits & pieces, 2 * 2\n", "f.yaml") == ({"a": "bits & pieces, 2 * 2"}, [])


def test_aliases_that_multiply_are_refused_before_they_do() -> None:
    rows = [b"a0: &a0 [x, x]"] + [
        f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]".encode() for i in range(1, 30)
    ]
    started = time.process_time()
    assert finding(b"\n".join(rows)).line == 2
    assert time.process_time() - started < 2


@pytest.mark.parametrize(
    ("body", "line"),
    [
        (b"a: 1\n\tb: 2\n", 2),
        (b"a:\n\t- 1\n", 2),
        (b"a: [1, 2\nb: 3\n", 2),
        (b"a: 'open\nb: 3\n", 3),
        (b"a: b: c\n", 1),
        (b"a: 1\n---\nb: 2\n", 2),
        (b"%FOO\n", 1),
        (b"a: @b\n", 1),
    ],
)
def test_a_slip_of_syntax_is_told_with_its_line(body: bytes, line: int) -> None:
    only = finding(body)
    assert only.says.startswith("not readable as YAML: ")
    assert only.line == line


@pytest.mark.parametrize(
    ("body", "line"), [(b"\xff\xfea: 1", 1), (b"a: 1\nb: \xe9t\xe9\n", 2), ("a: ö".encode("utf-16"), 1)]
)
def test_other_encodings_are_told_with_their_line(body: bytes, line: int) -> None:
    assert (finding(body).line, finding(body).says) == (line, "the file is not UTF-8 text")


def test_control_characters_are_refused_and_a_byte_order_mark_is_not() -> None:
    assert "not readable as YAML" in finding(b"a: \x00\n").says
    assert load(b"\xef\xbb\xbfa: 1\n", "f.yaml") == ({"a": 1}, [])


def test_a_file_too_large_is_refused_unread(tmp_path: Path) -> None:
    (tmp_path / "big.yaml").write_bytes(b"#" * (MAX_BYTES + 1))
    value, body, found = read(tmp_path / "big.yaml", tmp_path)
    assert (value, body) == (None, b"")
    assert [str(f) for f in found] == ["data/big.yaml:1: the file is larger than 4,000,000 bytes"]


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? ", "[{a: "])
@pytest.mark.parametrize("deep", [900, 3000, 500_000])
def test_nesting_without_end_is_refused_in_time(opening: str, deep: int) -> None:
    # in a process of its own, since a stack that runs over would take the tests with it
    code = (
        "import sys; from woodref.catalogue.yamlload import load, line_of\n"
        "body = sys.stdin.buffer.read(); load(body, 'f'); line_of(body, (0, 0, 'a')); print('told')"
    )
    body = (opening * deep).encode()[:MAX_BYTES]
    done = subprocess.run(
        [sys.executable, "-c", code], input=body, capture_output=True, timeout=30, check=False
    )
    assert (done.returncode, done.stdout.split()) == (0, [b"told"]), done.stderr[-300:]


#: marks that ask for a type by name: none of them is needed, and some make a reader fall over
TAGS = [
    b"a: !!int abc", b"a: !!int ''", b"a: !!float x", b"a: !!bool maybe", b"a: !!timestamp now",
    b"a: !!timestamp 2001-13-45", b"a: !!map x", b"a: !!map [1]", b"a: !!set {a, b}", b"a: !!omap [a: 1]",
    b"a: !!binary YQ==", b"a: !!python/object:os.system x", b"a: !!merge x", b"a: !zero {b: 1}",
]  # fmt: skip


@pytest.mark.parametrize("body", TAGS, ids=[tag.decode() for tag in TAGS])
def test_a_type_asked_for_by_name_is_refused_in_a_sentence(body: bytes) -> None:
    only = finding(b"b: 1\n" + body)
    assert only.line == 2
    assert "begins with a zero" not in only.says


def plain(value: Any) -> bool:
    """Whether a value is made of nothing but what the schema knows."""
    if isinstance(value, dict):
        return all(isinstance(k, str) for k in value) and all(map(plain, value.values()))
    if isinstance(value, list):
        return all(map(plain, value))
    if isinstance(value, float):
        return math.isfinite(value)
    return value is None or isinstance(value, str | int)


#: pieces that YAML gives a meaning to
PIECES = [
    "a", "b: ", "- ", "\n", "\n  ", "[", "]", "{", "}", ", ", ": ", "? ", "'", '"', "#", "&x ", "*x",
    "!!int ", "!!map ", "!zero ", "|\n", ">\n", "012", "1e999", "1", "~", "---\n", "\t", "%",
    "<<: ", "\\", "é", "\x85",
]  # fmt: skip


@given(st.lists(st.sampled_from(PIECES), max_size=25).map("".join))
@example("a: !!bool maybe")
@example("9" * 5000)
def test_any_text_in_the_shape_of_yaml_gives_plain_values_or_findings(text: str) -> None:
    value, found = load(text.encode(), "f.yaml")
    assert (value is None) if found else plain(value)
    assert all(1 <= f.line <= len(text) + 1 for f in found)


@given(st.binary(max_size=200))
@example(b"!!timestamp 0")
def test_any_bytes_give_a_value_or_findings_and_a_line(body: bytes) -> None:
    value, found = load(body, "f.yaml")
    assert value is None or not found
    if not found:  # the line is only asked for of files that were read
        assert 1 <= line_of(body, ("a", 0, "b")) <= len(body) + 1


LEAVES = (
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | st.text("abc xyz012.:-#'\"é,{}[]", max_size=12)
)


@given(
    st.recursive(
        LEAVES,
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.text("abc-_", min_size=1), inner, max_size=3)
        ),
        max_leaves=12,
    )
)
def test_what_another_writer_writes_comes_back_as_it_was(value: Any) -> None:
    # PyYAML quotes what it would itself misread; whatever we read otherwise must be quoted as well
    body = yaml.safe_dump(value, allow_unicode=True).encode()
    loaded, found = load(body, "f.yaml")
    assert loaded == value or any("begins with a zero" in f.says for f in found)


def test_the_line_of_a_path_is_that_of_its_key_or_of_its_nearest_parent() -> None:
    body = b"# head\na:\n  b:\n    - {x: 1}\n    - x: 2\n      y: 3\n      'z z': [4,\n        5]\n"
    assert line_of(body, ()) == 2
    assert line_of(body, ("a",)) == 2
    assert line_of(body, ("a", "b", 0, "x")) == 4
    assert line_of(body, ("a", "b", 1)) == 5
    assert line_of(body, ("a", "b", 1, "z z", 1)) == 8
    # absent: the parent that would hold it
    assert line_of(body, ("a", "b", 1, "q")) == 5
    assert line_of(body, ("a", "b", 9)) == 3
    assert line_of(body, ("a", "b", 1, "y", "deeper")) == 6
    assert line_of(b"", ("a",)) == 1
