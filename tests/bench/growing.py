"""A catalogue as large as one asks for, and by which law times grow with what they are measured on."""

from __future__ import annotations

import itertools
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


#: what ought to be linear may be steeper by so much: to sort, to miss the processor's caches and the work of
#: others on a shared machine make a true line look so by a fifth to two fifths, a square by far more
FAIR = 1.6


def within(sizes: Sequence[int], times: Sequence[float], may: str, noise: float) -> bool:
    """Whether times grow no faster than they may, by a fair margin. noise [the unit of times]: by which the
    time of the smallest sways.

    "constant": the largest takes no more than two fifths above the smallest. "linear": the largest takes no
    more than as many times the smallest as it is larger, and each step costs no more a wood or an event than
    the step before; both within FAIR. A square takes 16 times as long for 4 times as many, and each next step
    costs twice as much.
    """
    first, last = times[0], times[-1]
    if last - first <= noise or last <= (1 + SWAYS) * first:
        return True
    if may == "constant":
        return False
    if may != "linear":
        raise ValueError(f"{may} is no growth that anything is allowed")
    if last > FAIR * (first + noise / 2) * sizes[-1] / sizes[0] + noise:
        return False
    slopes = [
        (sizes[k + 1] - sizes[k], times[k + 1] - times[k], SWAYS / 4 * times[k + 1] + noise / 2)
        for k in range(len(sizes) - 1)
    ]
    return all(
        more <= FAIR * (max(before, 0.0) + sway) / step * wide + noise / 2
        for (step, before, sway), (wide, more, _) in itertools.pairwise(slopes)
    )


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


def write_data(source: Path, target: Path, woods: int) -> int:
    """The YAML of a catalogue of at least so many materials: the shipped species again and again under
    names of their own. Gives how many there are."""
    shutil.copytree(source, target)
    (target / "DIGEST").unlink(missing_ok=True)
    species = sorted((source / "species").glob("*.yaml"))
    held = sum(
        1 for kind in ("species", "engineered", "modified", "cores") for _ in (source / kind).glob("*.yaml")
    )
    for path in itertools.islice(itertools.cycle(species), max(0, woods - held)):
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
