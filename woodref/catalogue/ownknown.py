"""Which wood of the catalogue a row of a user's own list is: by its botanical name, else by a trade name
that only one wood has. Half names and shared names link nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from woodref.catalogue.fold import fold
from woodref.catalogue.ownrow import OwnRow
from woodref.catalogue.reader import Catalogue

#: words that stand for "some species of", or for doubt about which
_SOME = ("sp", "sp.", "spp", "spp.", "species")
_DOUBT = ("cf", "cf.", "aff", "aff.")
_CROSS = ("x", "×", "X")
#: words and signs that stand between several species: "Quercus robur / petraea", "Juglans nigra x regia"
_BETWEEN = ("+", "&", "or", "and", "et", "und", "oder", "ou", "y", "o")
_NAME = re.compile(r"[a-z][a-z-]+")


@dataclass(frozen=True)
class Link:
    """The wood of the catalogue that a row is. by: botanical or trade; against: a wood that its trade name
    stands for here though its botanical name is another's."""

    material_id: str | None
    by: str | None = None
    against: str | None = None


def taxon(text: str) -> str:
    """A botanical name as the law is asked: 'dalbergia nigra (Vell.) Allemao' -> 'Dalbergia nigra',
    'Shorea sp.', 'Shorea cf. laevis' and 'Shorea laevis / maxwelliana' -> 'Shorea spp.', hybrids with a
    name of their own with their cross."""
    words = [word for word in text.replace("_", " ").split() if word.strip(",;")]
    if len(words) > 1 and words[0] in _CROSS:
        words = words[1:]
    genus = words[0].strip(",;").capitalize() if words else ""
    rest = [word.strip(",;") for word in words[1:]]
    if not rest or rest[0].lower() in (*_SOME, *_DOUBT):
        return f"{genus} spp."
    if "/" in text or (rest[0] not in _CROSS and _several(genus, rest)):
        return f"{genus} spp."
    if rest[0] in _CROSS or rest[0].startswith("×"):
        return f"{genus} × {(rest[0].lstrip('×xX') or ' '.join(rest[1:2])).lower()}".strip()
    if not _NAME.fullmatch(rest[0].lower()) or (rest[0][0].isupper() and not rest[0].isupper()):
        return f"{genus} spp."  # an author, not a species
    return f"{genus} {rest[0].lower()}"


def _several(genus: str, rest: list[str]) -> bool:
    """Whether a further species follows: a cross, or a word between species and no author after it
    ("Terminalia superba Engl. & Diels" is one species)."""
    for word, after in pairwise([*rest[1:], ""]):
        if word in _CROSS or word.startswith("×"):
            return True
        if word in _BETWEEN and (after[:1].islower() or after in (genus, f"{genus[:1]}.")):
            return True
    return False


class Known:
    """The names of the catalogue, laid out once for any number of rows."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._botanical: dict[str, set[str]] = {}
        self._trade: dict[str, set[str]] = {}
        for row in catalogue.rows("SELECT folded, material_id, kind FROM name"):
            if row["kind"] in ("botanical", "synonym"):
                self._botanical.setdefault(row["folded"], set()).add(row["material_id"])
            elif row["kind"] == "trade":
                self._trade.setdefault(row["folded"], set()).add(row["material_id"])
        self._shared = {folded for folded, _ in catalogue.shared_names}

    def link(self, row: OwnRow) -> Link:
        """The wood a row is. Where it has a botanical name that alone decides."""
        trade = self._by_trade(row.name)
        if row.botanical is None:
            return Link(trade, "trade" if trade else None)
        found = self._botanical.get(fold(row.botanical)) or self._botanical.get(fold(taxon(row.botanical)))
        mine = next(iter(found)) if found is not None and len(found) == 1 else None
        return Link(mine, "botanical" if mine else None, trade if trade != mine else None)

    def _by_trade(self, name: str | None) -> str | None:
        folded = fold(name) if name else ""
        found = self._trade.get(folded, set()) | self._botanical.get(folded, set())
        return next(iter(found)) if len(found) == 1 and folded not in self._shared else None

    def within(self, text: str) -> Iterable[tuple[str, bool]]:
        """Names that stand whole within a longer one, longest first, and whether several woods share it:
        'pommele bubinga' holds bubinga."""
        words = fold(text).split()
        for size in range(min(4, len(words)), 0, -1):
            for start in range(len(words) - size + 1):
                part = " ".join(words[start : start + size])
                if part in self._shared:
                    yield part, True
                elif part in self._trade or part in self._botanical:
                    yield part, False

    def ids(self, folded: str) -> frozenset[str]:
        """The woods that a folded name stands for."""
        return frozenset(self._trade.get(folded, set()) | self._botanical.get(folded, set()))
