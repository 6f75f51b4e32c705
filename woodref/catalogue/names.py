"""From what a person typed to one material, or to a question.

Order: id, retired id, accepted botanical name, synonym, trade name (folded: case, accents and
punctuation play no part), the beginning of a name, then close spellings as suggestions only. Names that
several woods share stand in data/names.yaml and are never resolved silently.
"""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from dataclasses import dataclass

from woodref.catalogue.fold import fold
from woodref.catalogue.reader import Catalogue, HeldName, Notice
from woodref.errors import BadRequest, Candidate, SharedName, UnknownName, echo
from woodref.trade import restricting

_KIND_WORDS = {
    "id": "id",
    "retired": "a retired id",
    "botanical": "botanical name",
    "synonym": "older botanical name",
    "trade": "trade name",
    "shared": "shared trade name",
    "prefix": "a name typed in part",
}
#: letters of a name's last word that have to be typed before its beginning stands for it
ENOUGH_TYPED = 4
#: where rows of lists of the user's own answer, and where they do not
LISTS_APART = (
    "Lists of your own are kept apart from the catalogue: the commands show, find and substitute --among "
    "read them, and nothing else does."
)
ASK_THE_SELLER = (
    "I do not know. Ask the seller for the botanical name, the country of harvest and the harvest "
    "year, in that order."
)


@dataclass(frozen=True)
class Matched:
    """Which material answered, by which of its names, with what to know about that name."""

    id: str
    name: str
    kind: str
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True)
class Meaning:
    """One thing a shared name may mean."""

    material: str | None
    taxon: str
    name: str
    usual_in: tuple[str, ...]
    note: str
    status: str
    listed: bool
    #: 0 for the strictest listing, higher for milder ones and for none
    order: int = 9


def resolve(text: str, catalogue: Catalogue, on: dt.date, region: str | None = None) -> Matched:
    """The material a name stands for.

    region: ISO code of the trade the name comes from. Raises SharedName (the name fits several woods
    and none is the usual one) or UnknownName (with close spellings), both exit code 3.
    """
    if region is not None and region not in catalogue.countries:
        raise BadRequest(
            f"{echo(region)} is not a country code", expected="an ISO 3166-1 code of two capitals, such as US"
        )
    if text in catalogue.settled:
        known: Matched = catalogue.settled[text]
        return known
    folded = fold(text)
    rows = catalogue.rows(
        "SELECT material_id, text, kind, rank FROM name WHERE folded = ? ORDER BY rank, key",
        (folded,),
    )
    # "Picea abies" folds like the id picea-abies: only the id itself, hyphens and all, is called so
    typed = text.strip().casefold()
    rows = [r for r in rows if r["kind"] not in ("id", "retired") or r["text"] == typed] or rows
    meanings = shared_meanings(folded, catalogue, on)
    if rows and rows[0]["kind"] != "trade":
        return _direct(rows[0])
    if meanings:
        return _from_shared(text, meanings, region)
    if rows:
        return _direct(rows[0])
    if typed.startswith("my/"):
        raise UnknownName(
            f"{echo(text)} is a row of a list of your own, no wood of the catalogue", next=LISTS_APART
        )
    begun = _begun(text, folded, catalogue)
    if begun:
        return begun
    raise _unknown(text, folded, catalogue)


def _direct(row: sqlite3.Row) -> Matched:
    notices: tuple[Notice, ...] = ()
    if row["kind"] == "retired":
        notices = (Notice("retired-id", f"{row['text']} is retired; {row['material_id']} answers for it."),)
    return Matched(row["material_id"], row["text"], row["kind"], notices)


def _beginning(folded: str, catalogue: Catalogue) -> tuple[list[HeldName], list[str]]:
    """Names of our woods that begin so, best kind first, and other names that do: shared ones and Latin
    names of woods that only the shared names or the law speak of."""
    if not folded:
        return [], []
    rows = [name for name in catalogue.names if name.folded.startswith(folded)]
    held = {row.folded for row in rows}
    shared = {key for key, _ in catalogue.shared_names}
    found = [(key, text) for key, text in catalogue.other_names if key.startswith(folded)]
    return rows, [text for key, text in found if key in shared or key not in held]


def _begun(text: str, folded: str, catalogue: Catalogue) -> Matched | None:
    """The one wood whose name begins so. Half a name is none: the person has to be in its last word,
    so that a genus never stands for a species nor "Japanese" for the only Japanese wood held."""
    rows, others = _beginning(folded, catalogue)
    words = folded.split()
    if others or len({row.material_id for row in rows}) != 1 or len(words[-1]) < ENOUGH_TYPED:
        return None
    for row in rows:
        if len(row.folded.split()) == len(words):
            told = f'{echo(text)} is taken as the beginning of "{row.text}": no other name here begins so.'
            return Matched(row.material_id, row.text, "prefix", (Notice("name-in-part", told),))
    return None


def kind_words(kind: str) -> str:
    """The kind of name in words."""
    return _KIND_WORDS[kind]


def shared_meanings(folded: str, catalogue: Catalogue, on: dt.date) -> list[Meaning]:
    """Every meaning of a shared name with its listing status on the day."""
    rows = catalogue.rows(
        "SELECT s.*, m.name AS material_name, m.botanical_name AS material_botanical "
        "FROM shared_name s LEFT JOIN material m ON m.id = s.material_id "
        "WHERE s.folded = ? ORDER BY s.key",
        (folded,),
    )
    out = []
    for row in rows:
        taxon = row["botanical_name"] or row["material_botanical"] or row["material_name"]
        status, listed, order = _status(taxon, row["material_id"], catalogue, on)
        name = row["material_name"] or row["botanical_name"]
        usual = tuple(json.loads(row["usual_in"]))
        out.append(Meaning(row["material_id"], taxon, name, usual, row["note"], status, listed, order))
    return out


def _status(taxon: str, material_id: str | None, catalogue: Catalogue, on: dt.date) -> tuple[str, bool, int]:
    """Listing words of one meaning, whether any harvest we hold of it is listed, and how strictly.

    A wood of the catalogue is judged by its countries of harvest; of any other they are not held, so
    a listing limited to a population counts, with its limit said.
    """
    countries: list[str | None] = [None]
    if material_id is not None:
        # the plus keeps SQLite from going through every wood's row of that block
        sql = "SELECT data FROM fact WHERE material_id = ? AND +block = 'grows'"
        countries = json.loads(catalogue.rows(sql, (material_id,))[0]["data"])["countries"]
    found = {r.id: r for c in countries for r in restricting([taxon], c, on, catalogue.law)}
    if not found:
        return "no listing known", False, 9
    status = ", ".join(sorted({r.category_words for r in found.values()}))
    # the printed limit without its examples: `show` and `trade` print the whole of it
    limits = sorted(
        {r.population_words.partition(" (")[0] for r in found.values() if r.countries is not None}
    )
    if limits and all(r.countries is not None for r in found.values()):
        status += f", {' and '.join(limits)}"
    strict = {"I": 0, "A": 0, "endangered": 0, "threatened": 1, "II": 1, "B": 1, "III": 2, "C": 2}
    return status, True, min(strict.get(r.category, 9) for r in found.values())


def _says(meaning: Meaning) -> str:
    there = "" if meaning.material else " Not in the catalogue."
    taxon = f"{meaning.taxon}; " if meaning.taxon != meaning.name else ""
    note = meaning.note.rstrip(".")
    return f"{taxon}{meaning.status}. {note[0].upper()}{note[1:]}.{there}"


def _count_sentence(text: str, meanings: list[Meaning]) -> str:
    numbers = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]

    def word(n: int) -> str:
        return numbers[n] if n < len(numbers) else str(n)

    listed = sum(m.listed for m in meanings)
    are = "is" if listed == 1 else "are"
    many = "none of them is listed" if listed == 0 else f"{word(listed)} {are} listed"
    return f"The name {echo(text)} fits {word(len(meanings))} woods; {many}."


def _from_shared(text: str, meanings: list[Meaning], region: str | None) -> Matched:
    usual = [m for m in meanings if region and region in m.usual_in]
    if not usual:
        usual = [m for m in meanings if "*" in m.usual_in]
    if len(usual) == 1 and usual[0].material:
        others = [m for m in meanings if m is not usual[0]]
        told = "; ".join(f"{m.taxon} ({m.status})" for m in others)
        where = f"in {region} " if region and region in usual[0].usual_in else ""
        return Matched(
            usual[0].material,
            text,
            "shared",
            (
                Notice(
                    "shared-name",
                    f'"{text}" {where}usually means {usual[0].taxon}, but is also used for {told}. '
                    "Only the botanical name on the paper settles it.",
                ),
            ),
        )
    listed = any(m.listed for m in meanings)
    strict = " Until one is proved I treat it as the strictest." if listed else ""
    raise SharedName(
        _count_sentence(text, meanings) + strict,
        next="Say which: use the botanical name or the id, or --region with the country whose trade "
        "name it is.",
        candidates=[Candidate(m.material, m.name, _says(m)) for m in sorted(meanings, key=_strictest)],
    )


def _strictest(meaning: Meaning) -> tuple[int, str]:
    return (meaning.order, meaning.taxon)


def close_spellings(folded: str, catalogue: Catalogue, limit: int = 5) -> list[Candidate]:
    """Materials whose names begin so or are spelt nearly so, best first."""
    from rapidfuzz import fuzz, process

    rows = catalogue.names
    found = process.extract(
        folded, [row.folded for row in rows], scorer=fuzz.ratio, score_cutoff=65, limit=40
    )
    out: dict[str, Candidate] = {}
    begin, _ = _beginning(folded, catalogue)
    shared = catalogue.shared_names
    alike = process.extract(folded, [key for key, _ in shared], scorer=fuzz.ratio, score_cutoff=80, limit=2)
    same = [text for key, text in shared if key.startswith(folded)]
    for text in [*same[:2], *(shared[index][1] for _, _, index in alike)]:
        out.setdefault(text, Candidate(None, text, "a name that several woods share"))
    for name in [*begin, *(rows[index] for _, _, index in found)]:
        out.setdefault(name.material_id, Candidate(name.material_id, name.text, name.name))
    words = catalogue.rows(
        "SELECT DISTINCT s.material_id, s.text, m.name FROM name_search s "
        "JOIN material m ON m.id = s.material_id WHERE name_search MATCH ? LIMIT ?",
        (_prefix_query(folded), limit),
    )
    for row in words:
        out.setdefault(row["material_id"], Candidate(row["material_id"], row["text"], row["name"]))
    return list(out.values())[:limit]


def _prefix_query(folded: str) -> str:
    """FTS5 query: every word as a quoted prefix; never syntax of the person's own."""
    words = [w for w in folded.split() if w]
    return " ".join(f'"{w}"*' for w in words) or '""'


def _unknown(text: str, folded: str, catalogue: Catalogue) -> UnknownName:
    near = close_spellings(folded, catalogue) if folded else []
    if near:
        return UnknownName(
            f"no wood of the catalogue is called {echo(text)}",
            next="Did you mean one of these?",
            candidates=near,
        )
    return UnknownName(f"no wood of the catalogue is called {echo(text)}", next=ASK_THE_SELLER)
