"""Helpers of the outside checks: the copied rows beside this file, read as text."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

#: name of a file in data/ -> its rows, every cell as the text that stands there
Rows = Callable[[str], list[dict[str, str]]]

_COPIES = Path(__file__).resolve().parent / "data"


@pytest.fixture(scope="session")
def rows() -> Rows:
    """Read one of the copied tables; empty cells are empty text."""

    def read(name: str) -> list[dict[str, str]]:
        with (_COPIES / name).open(encoding="utf-8", newline="") as opened:
            return list(csv.DictReader(opened))

    return read


@pytest.fixture(scope="session")
def digest() -> Callable[[str], str]:
    """SHA-256 of the bytes of one of the copied tables."""

    def of(name: str) -> str:
        return hashlib.sha256((_COPIES / name).read_bytes()).hexdigest()

    return of
