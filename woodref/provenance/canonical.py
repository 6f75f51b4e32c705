"""One text for one value, and the chain of hashes over it.

Canonical JSON after RFC 8785: keys sorted by UTF-16 code units, no spaces, shortest escapes. Of numbers whole
ones within +-(2^53 - 1) alone are taken; text is brought to Unicode NFC first, so that one word has one hash.
Chain: h0 = 32 zero bytes, hn = SHA-256(h(n-1) || canonical event n).
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from typing import Any

from woodref.provenance.faults import BadShape, OutOfRange

#: largest whole number that every JSON reader keeps exactly
LARGEST = 2**53 - 1
#: hash before the first event
START = bytes(32)


def canonical(value: Any) -> bytes:
    """UTF-8 bytes of a value of dicts, lists, text, whole numbers, true, false and null. BadShape for
    anything else, OutOfRange for a number beyond 2^53 - 1."""
    return written(ordered(value))


def written(clean: Any) -> bytes:
    """UTF-8 bytes of what `ordered` gave, or of a mapping with fewer of its keys."""
    return _ENCODER.encode(clean).encode("utf-8")


_ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False, sort_keys=False)


def ordered(value: Any) -> Any:
    """The value with its text in NFC and its keys in order; faults as `canonical`."""
    # most values are short text and mappings of it: those go first, and text is not called for
    kind = type(value)
    if kind is dict:
        clean, plain = {}, True
        for key, sub in value.items():
            if not isinstance(key, str):
                raise BadShape("a key is no text")
            if not key.isascii():
                key, plain = _nfc(key), False
            clean[key] = sub if type(sub) is str and sub.isascii() else ordered(sub)
        keys = sorted(clean) if plain else sorted(clean, key=_utf16)
        return {key: clean[key] for key in keys}
    if isinstance(value, str):
        return value if value.isascii() else _nfc(value)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        if abs(value) > LARGEST:
            raise OutOfRange(f"{value} is too large", expected=f"at most {LARGEST:,}")
        return value
    if isinstance(value, list | tuple):
        return [ordered(v) for v in value]
    if isinstance(value, dict):
        return ordered(dict(value))
    raise BadShape(f"{kind.__name__} has no place in an event", expected="text and whole numbers")


def read_back(text: str) -> Any:
    """The value of a canonical text. ValueError when the text is not written as `canonical` writes it;
    faults as there."""
    if text.isascii():  # then nothing is to be put in NFC, and keys sort by their letters
        value = _DECODER.decode(text)
        same = _SORTED.encode(value) == text
    else:
        value = ordered(_DECODER.decode(text))
        same = _ENCODER.encode(value) == text
    if not same:
        raise ValueError("the text is not canonical")
    return value


def _no_float(text: str) -> Any:
    raise BadShape(f"{text} has no place in an event", expected="text and whole numbers")


def _bounded(text: str) -> Any:
    return ordered(int(text)) if len(text) > 15 else int(text)


_DECODER = json.JSONDecoder(parse_float=_no_float, parse_constant=_no_float, parse_int=_bounded)
_SORTED = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False, sort_keys=True)


def in_nfc(value: Any) -> Any:
    """The value with all its text in NFC, as `canonical` would write it; what has no place in an event is
    left for others to refuse."""
    if isinstance(value, str):
        return value if value.isascii() else _nfc(value)
    if isinstance(value, dict):
        out = {
            key if key.__class__ is str and key.isascii() else in_nfc(key):
            sub if sub.__class__ is str and sub.isascii() else in_nfc(sub)
            for key, sub in value.items()
        }  # fmt: skip
        if len(out) != len(value):
            raise BadShape("a key stands twice, written in two ways", expected="each key once")
        return out
    return [in_nfc(v) for v in value] if isinstance(value, list | tuple) else value


def _nfc(text: str) -> str:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise BadShape("a text holds half of a character (a lone surrogate)") from None
    return unicodedata.normalize("NFC", text)


def _utf16(key: str) -> bytes:
    return key.encode("utf-16-be")


def link(before: bytes, event: bytes) -> bytes:
    """Hash of an event (canonical bytes) on the chain after `before`, 32 bytes."""
    return hashlib.sha256(before + event).digest()


def digest(body: bytes) -> str:
    """SHA-256 in hex."""
    return hashlib.sha256(body).hexdigest()
