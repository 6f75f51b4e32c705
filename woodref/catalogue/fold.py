"""Folding of names: case, accents and punctuation play no part when a person types one."""

from __future__ import annotations

import re
import unicodedata

#: letters that do not come apart into a letter and an accent
_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ı": "i"})


def fold(text: str) -> str:
    """'Gonçalo-Alves' -> 'goncalo alves'."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    plain = "".join(c for c in apart if not unicodedata.combining(c)).translate(_LETTERS)
    return " ".join(re.sub(r"[\W_]+", " ", plain.replace("'", "")).split())
