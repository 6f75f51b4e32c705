"""A catalogue as large as one asks for, and by which law times grow with what they are measured on."""

from __future__ import annotations

import math
import re
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

#: laws of growth, the mildest first
LAWS: dict[str, Callable[[float], float]] = {
    "constant": lambda n: 1.0,
    "logarithmic": math.log,
    "linear": lambda n: n,
    "more than linear": lambda n: n**1.5,
    "quadratic": lambda n: n * n,
}
#: differences of times below this share are those of a shared machine
SWAYS = 0.4
#: and off a law by so much in the middle
FITS = 0.09


def grown_by(sizes: Sequence[int], times: Sequence[float], noise: float) -> str:
    """The law that times follow best, as start + slope * law(size) with neither below nothing. What differs
    by no more than noise [the unit of times], or by two fifths, is constant."""
    least, most = min(times), max(times)
    if most - least <= max(noise, SWAYS * least):
        return "constant"
    off = {name: _off(sizes, times, law, noise) for name, law in LAWS.items() if name != "constant"}
    # to sort is no more than linear
    off["linear"] = min(off["linear"], _off(sizes, times, lambda n: n * math.log(n), noise))
    # the mildest that the times follow as well as they can on a shared machine, else the nearest
    for name, far in off.items():
        near = math.sqrt(far / len(times)) <= FITS
        if near and (name != "logarithmic" or far <= off["linear"]):
            return name
    return min(off, key=lambda name: off[name])


def _off(sizes: Sequence[int], times: Sequence[float], law: Callable[[float], float], noise: float) -> float:
    """How far the best line over law(size) stays from the times, as a share of each."""
    held = [law(n) for n in sizes]
    # weighed by 1 / time, since a busy machine sways by a share, and by noise at the least
    w = [1 / (t + noise) ** 2 for t in times]
    total = sum(w)
    mx = sum(a * b for a, b in zip(w, held, strict=True)) / total
    my = sum(a * b for a, b in zip(w, times, strict=True)) / total
    apart = sum(a * (x - mx) ** 2 for a, x in zip(w, held, strict=True))
    slope = sum(a * (x - mx) * (y - my) for a, x, y in zip(w, held, times, strict=True)) / apart
    start = my - slope * mx
    if start < 0 and law is not math.log:  # nothing takes less than no time; a logarithm does of few
        start = 0.0
        slope = sum(a * x * y for a, x, y in zip(w, held, times, strict=True)) / sum(
            a * x * x for a, x in zip(w, held, strict=True)
        )
    return sum(a * (start + slope * x - y) ** 2 for a, x, y in zip(w, held, times, strict=True))


def no_worse(found: str, wanted: str) -> bool:
    """Whether a law is no steeper than another."""
    order = list(LAWS)
    return order.index(found) <= order.index(wanted)


def write_data(source: Path, target: Path, woods: int) -> int:
    """The YAML of a catalogue of at least so many materials: the shipped species again and again under
    names of their own. Gives how many there are."""
    shutil.copytree(source, target)
    (target / "DIGEST").unlink(missing_ok=True)
    species = sorted((source / "species").glob("*.yaml"))
    held = sum(
        1 for kind in ("species", "engineered", "modified", "cores") for _ in (source / kind).glob("*.yaml")
    )
    while held < woods:
        for path in species:
            # a word of its own for each file: many woods share a name with another
            word = tail(held)
            text = copied(path.read_text("utf-8"), word)
            (target / "species" / f"{path.stem}-{word}.yaml").write_text(text, "utf-8")
            held += 1
    return held


def tail(number: int) -> str:
    """A word of letters alone for each number: zc, zd ... zcb."""
    out = ""
    while number:
        number, last = divmod(number, 20)
        out = "bcdfghjklmnpqrstvwxz"[last] + out
    return f"z{out}"


def copied(text: str, word: str) -> str:
    """One file of a species as that of another: id, names and Latin names get a word at their end."""
    text = re.sub(r"^id: (.*)$", rf"id: \1-{word}", text, count=1, flags=re.M)
    text = re.sub(r"^was: .*$", "was: []", text, count=1, flags=re.M)
    text = re.sub(r"^(botanical: \{name: [^,}]*)", rf"\1{word}", text, count=1, flags=re.M)
    text = re.sub(r"synonyms: \[[^\]]*\]", "synonyms: []", text, count=1)
    return re.sub(r"^(\s*- \{text: )(\"?)([^,}\"]*)", rf"\1\2\3 {word}", text, flags=re.M)
