"""Folding of names: case, accents and punctuation play no part when a person types one."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

#: marks that people and printers put for an apostrophe
_APOSTROPHES = re.compile("['’‘ʼ´`]")
_BETWEEN = re.compile(r"[\W_]+")
#: letters that do not come apart into a letter and an accent
_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ı": "i"})


@lru_cache(maxsize=8192)  # the same few thousand names of countries and woods come again and again
def fold(text: str) -> str:
    """'Gonçalo-Alves' -> 'goncalo alves'."""
    text = _APOSTROPHES.sub("", text)
    if text.isascii():  # nearly every name: nothing to take apart
        return " ".join(_BETWEEN.sub(" ", text.lower()).split())
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    plain = "".join(c for c in apart if not unicodedata.combining(c)).translate(_LETTERS)
    return " ".join(_BETWEEN.sub(" ", _APOSTROPHES.sub("", plain)).split())
