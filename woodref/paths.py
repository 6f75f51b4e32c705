"""Where the data lie and where the built catalogue is kept."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

#: raised whenever the built tables (or the JSON in them) change shape, so that an old cache is never read
TABLES_VERSION = 7

#: folder below data/ of the invented workshop's layups and books
DEMO = "demo"

_HERE = Path(__file__).resolve().parent


def data_dir() -> Path:
    """The catalogue's YAML: WOODREF_DATA, else inside the wheel, else the checkout's data/."""
    chosen = os.environ.get("WOODREF_DATA")
    if chosen:
        return Path(chosen)
    packed = _HERE / "_data"
    return packed if packed.is_dir() else _HERE.parent / "data"


def plugins_dir() -> Path:
    """The thin Datasette plugins: inside the wheel, else the checkout's plugins/."""
    packed = _HERE / "_plugins"
    return packed if packed.is_dir() else _HERE.parent / "plugins"


def cache_dir() -> Path:
    """Where built catalogues live: WOODREF_CACHE, else the user's cache."""
    chosen = os.environ.get("WOODREF_CACHE")
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_dir

    return Path(user_cache_dir("woodref", appauthor=False))


def lists_dir() -> Path:
    """Where the lists of the user's own are kept: WOODREF_LISTS, else the user's data folder."""
    chosen = os.environ.get("WOODREF_LISTS")
    if chosen:
        return Path(chosen)
    from platformdirs import user_data_dir

    return Path(user_data_dir("woodref", appauthor=False)) / "lists"


def data_files(data: Path) -> list[Path]:
    """Every YAML file of the catalogue below data/, in a fixed order; the invented workshop is no part of
    it."""
    found = []
    for folder, within, files in os.walk(data):
        if folder == os.fspath(data) and DEMO in within:
            within.remove(DEMO)
        found += [os.path.join(folder, name) for name in files if name.endswith(".yaml")]
    # folder by folder, as paths are compared, without making a path of each first
    return [Path(path) for path in sorted(found, key=lambda p: p.split(os.sep)) if os.path.isfile(path)]


def digest(data: Path) -> str:
    """16 hex digits over names and bytes of the data and the table version.

    A wheel carries the digest ready-made in data/DIGEST; a checkout works it out anew each time.
    """
    ready = data / "DIGEST"
    if ready.is_file():
        return ready.read_text("ascii").strip()
    return digest_of(data)


def digest_of(data: Path) -> str:
    """Work the digest out from the files."""
    total = hashlib.sha256(f"tables {TABLES_VERSION}\n".encode())
    for path in data_files(data):
        body = path.read_bytes()
        total.update(f"{path.relative_to(data).as_posix()} {len(body)}\n".encode())
        total.update(body)
    return total.hexdigest()[:16]
