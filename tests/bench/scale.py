"""A catalogue and a book as large as they may ever grow, the commands run on them, and how times grow.

    python tests/bench/scale.py [--woods N] [--events N] [--out FILE]

Growth is told from the work at one twentieth, one quarter and the whole: constant,
logarithmic, linear, or more.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path


def write_data(source: Path, target: Path, woods: int) -> int:
    """The YAML of a catalogue of at least so many materials: the shipped species again and again under
    names of their own. Gives how many there are."""
    shutil.copytree(source, target)
    (target / "DIGEST").unlink(missing_ok=True)
    species = sorted((source / "species").glob("*.yaml"))
    held = sum(
        1 for kind in ("species", "engineered", "modified", "cores") for _ in (source / kind).glob("*.yaml")
    )
    copy = 0
    while held < woods:
        copy += 1
        for path in species:
            (target / "species" / f"{path.stem}-{tail(copy)}.yaml").write_text(
                copied(path.read_text("utf-8"), copy), "utf-8"
            )
        held += len(species)
    return held


def tail(copy: int) -> str:
    """A word of letters alone for each copy: zb, zc ... zbb."""
    out = ""
    while copy:
        copy, last = divmod(copy, 20)
        out = "bcdfghjklmnpqrstvwxz"[last] + out
    return f"z{out}"


def copied(text: str, copy: int) -> str:
    """One file of a species as that of another: id, names and Latin names get a tail."""
    word = tail(copy)
    text = re.sub(r"^id: (.*)$", rf"id: \1-{word}", text, count=1, flags=re.M)
    text = re.sub(r"^was: .*$", "was: []", text, count=1, flags=re.M)
    text = re.sub(r"^(botanical: \{name: [^,}]*)", rf"\1{word}", text, count=1, flags=re.M)
    text = re.sub(r"synonyms: \[[^\]]*\]", "synonyms: []", text, count=1)
    return re.sub(r"^(\s*- \{text: )(\"?)([^,}\"]*)", rf"\1\2\3 {word}", text, flags=re.M)
