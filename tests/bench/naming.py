"""Finding a wood by name: hit rate and time, beside rapidfuzz and difflib over the same names.

Ours answers with one wood or asks back; it takes a close spelling for no answer and only suggests it, so
for letters lost and words turned round a hit is that the wood stands among its suggestions. The peers' hit
is that the wood stands among the five nearest names.
"""

from __future__ import annotations

import datetime as dt
import difflib
import random
from collections import Counter
from collections.abc import Callable

from rapidfuzz import fuzz, process
from timing import Row, interleaved

from woodref.catalogue.fold import fold
from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue, HeldName, open_catalogue
from woodref.errors import WoodrefError

DAY = dt.date(2026, 6, 1)
ASKED, NEAREST = 200, 5


def found(text: str, catalogue: Catalogue) -> set[str]:
    """Ids of the wood a name stands for, or of those it is asked back with."""
    try:
        return {resolve(text, catalogue, DAY).id}
    except WoodrefError as fault:
        return {one.id for one in fault.candidates if one.id}


def asked_of(names: list[HeldName], kinds: dict[str, str]) -> dict[str, list[tuple[str, str]]]:
    """kind of question -> (what is typed, whose name it is); the same each time."""
    chance = random.Random(11)
    chosen = chance.sample(names, ASKED)
    out: dict[str, list[tuple[str, str]]] = {"as written": [(n.text, n.material_id) for n in chosen]}
    accented = [n for n in names if not n.text.isascii()]
    out["accents left out"] = [
        (n.folded, n.material_id) for n in chance.sample(accented, min(ASKED, len(accented)))
    ]
    lost = []
    for n in chance.sample([n for n in names if len(n.text) > 5], ASKED):
        cut = chance.randrange(1, len(n.text) - 1)
        lost.append((n.text[:cut] + n.text[cut + 1 :], n.material_id))
    out["one letter lost"] = lost
    two = [n for n in names if len(n.text.split()) == 2]
    out["words turned round"] = [
        (" ".join(reversed(n.text.split())), n.material_id) for n in chance.sample(two, ASKED)
    ]
    older = [n for n in names if kinds[n.text] == "synonym"]
    out["synonym"] = [(n.text, n.material_id) for n in chance.sample(older, min(ASKED, len(older)))]
    return out


def rows(runs: int, full: bool) -> list[Row]:
    """One row a kind of question and a peer; time is that of one question."""
    out = []
    with open_catalogue() as catalogue:
        names = catalogue.names
        kinds = {row["text"]: row["kind"] for row in catalogue.rows("SELECT text, kind FROM name")}
        folded = [name.folded for name in names]
        size = f"{len(names):,} names"

        def by_rapidfuzz(text: str) -> set[str]:
            near = process.extract(fold(text), folded, scorer=fuzz.WRatio, limit=NEAREST)
            return {names[place].material_id for _, _, place in near}

        def by_difflib(text: str) -> set[str]:
            near = set(difflib.get_close_matches(fold(text), folded, n=NEAREST, cutoff=0.6))
            return {name.material_id for name in names if name.folded in near}

        def ours(text: str) -> set[str]:
            return found(text, catalogue)

        # a name of several woods has no one right answer
        times = Counter(folded) + Counter({key: 2 for key, _ in catalogue.shared_names})
        for kind, asked in asked_of([n for n in names if times[n.folded] == 1], kinds).items():
            for peer, other in (
                ("rapidfuzz, five nearest", by_rapidfuzz),
                ("difflib, five nearest", by_difflib),
            ):
                few = asked if other is by_rapidfuzz else asked[:20]
                hits = [sum(wood in answer(text) for text, wood in few) for answer in (ours, other)]
                if kind == "as written":  # what is written as it is held is known, each time
                    assert hits[0] == len(few), (kind, hits)
                took = interleaved(*(_each(answer, few) for answer in (ours, other)), runs=max(3, runs // 6))
                one, two = (type(t)(t.median / len(few), t.p95 / len(few), t.runs) for t in took)
                rate = f"hits {hits[0]} and {hits[1]} of {len(few)}"
                out.append(Row("names", kind, size, one, peer, two, rate))
    return out


def _each(answer: Callable[[str], set[str]], asked: list[tuple[str, str]]) -> Callable[[], None]:
    def work() -> None:
        for text, _ in asked:
            answer(text)

    return work
