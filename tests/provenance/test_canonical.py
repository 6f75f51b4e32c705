"""One text for one value and the chain over it. Vectors: computed by another hand with SHA-256 over RFC
8785."""

from __future__ import annotations

import pytest

from woodref.provenance.canonical import LARGEST, START, canonical, digest, link, read_back
from woodref.provenance.faults import BadShape, OutOfRange

VECTORS = [
    (
        {"id": "E01", "kind": "receive", "out": [{"lot": "L-A", "qty": 20000000, "unit": "mm2"}],
         "time": "2025-09-02T07:15:00Z"},
        "89e8900670719c9817f65b9f226d1b53178441fb3eebf68f76332fd056bf4283",
        "24d61442ca6423311887e874b2c61f39fe1b8239aa009cf90051950c37ca45c4",
    ),
    (
        {"id": "E05", "in": [{"lot": "L-B", "qty": 720000, "unit": "mm2"}], "kind": "cut",
         "out": [{"lot": "L-F", "qty": 552000, "unit": "mm2"}], "time": "2025-10-06T06:20:00Z",
         "waste": [{"lot": "L-B", "qty": 168000, "unit": "mm2"}]},
        "923d9d822f7017c461774058639d0d4bcd18b01025c54c0e87b0149ab75b1801",
        "bc649816cb26238628b24451feec710f95ee50286a8b88f6f5415051ed94db57",
    ),
    (
        {"id": "E20", "in": [{"lot": "STOOL-001", "qty": 1, "unit": "pcs"}], "kind": "ship",
         "note": "Größe 1 – „A“", "time": "2025-10-28T09:00:00Z"},
        "c5d9a7d7d089f1a6540d01e7f47fb8e3be5f048225007931e12985749783c227",
        "9a44e4aeb2e14bd9fb7b6458b87b808ebbaaa48d1faf09e0798046c5d60ddebf",
    ),
]  # fmt: skip


def test_the_vectors_and_their_chain() -> None:
    hash_ = START
    for value, plain, chained in VECTORS:
        body = canonical(value)
        assert digest(body) == plain
        hash_ = link(hash_, body)
        assert hash_.hex() == chained


def test_the_order_of_keys_is_that_of_utf_16() -> None:
    # U+1F600 is D83D DE00 in UTF-16, before U+FF21; by code points it would stand behind (RFC 8785, 3.2.3)
    assert canonical({"\uff21": 1, "\U0001f600": 2, "a": 3}).decode() == '{"a":3,"\U0001f600":2,"\uff21":1}'
    assert (
        canonical({"b": 1, "a": {"d": None, "c": [True, False]}})
        == b'{"a":{"c":[true,false],"d":null},"b":1}'
    )


def test_one_word_has_one_hash() -> None:
    assert canonical("e\u0301") == canonical("é") == '"é"'.encode()
    assert canonical('\x08\x1f"\\/') == b'"\\b\\u001f\\"\\\\/"'


@pytest.mark.parametrize("value", [1.0, 0.5, {1: 2}, {"a": b"x"}, {"a": {1, 2}}, "\ud800"])
def test_what_has_no_place_in_an_event(value: object) -> None:
    with pytest.raises(BadShape):
        canonical(value)


def test_numbers_stop_where_every_reader_is_exact() -> None:
    assert canonical([LARGEST, -LARGEST]) == b"[9007199254740991,-9007199254740991]"
    with pytest.raises(OutOfRange):
        canonical(LARGEST + 1)


@pytest.mark.parametrize(
    "value", [{"a": [1, None, True, {"b": "x"}], "c": LARGEST}, {"\uff21": "é", "b": -1}]
)
def test_a_canonical_text_is_read_back(value: object) -> None:
    assert read_back(canonical(value).decode()) == value


@pytest.mark.parametrize(
    "text",
    [
        '{"b":1,"a":2}',
        '{"a": 1}',
        '{"a":1,"a":2}',
        "-0",
        '"\\u00e9"',
        '"\\ud800"',
        '"e\u0301"',
        "[1",
        '{"é":1,"a":2}',
    ],
)
def test_any_other_way_of_writing_it_is_not_read(text: str) -> None:
    with pytest.raises(ValueError):
        read_back(text)


def test_a_fraction_or_too_large_a_number_is_not_read_back() -> None:
    for text in ("1.5", "[1e3]", "NaN"):
        with pytest.raises(BadShape):
            read_back(text)
    with pytest.raises(OutOfRange):
        read_back(f"[-{LARGEST + 1}]")
