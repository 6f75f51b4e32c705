"""Botanical names for the book, by the catalogue: accepted names stand, older ones answer with the
accepted one; and names as papers write them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from woodref.catalogue.fold import fold
from woodref.catalogue.names import close_spellings
from woodref.catalogue.reader import Catalogue
from woodref.provenance.lots import Knows


def knows_of(catalogue: Catalogue) -> Knows:
    """Looks a name up: accepted and synonym of the catalogue, names that the law knows, and hybrids (Genus x
    epithet) of a genus that is known. Nothing near is taken for it."""

    def knows(name: str) -> tuple[str | None, tuple[str, ...]]:
        tidy = " ".join(name.split())
        rows = catalogue.rows(
            "SELECT m.botanical_name FROM name n JOIN material m ON m.id = n.material_id "
            "WHERE n.folded = ? AND n.kind IN ('botanical', 'synonym') AND m.botanical_name IS NOT NULL",
            (fold(tidy),),
        )
        if len({row[0] for row in rows}) == 1:
            return str(rows[0][0]), ()
        law = catalogue.law_synonyms.get(tidy.casefold())
        if law:
            return law, ()
        words = tidy.replace("×", "x ").split()
        genus = words[0] if words else ""
        if len(words) == 3 and words[1] == "x" and _genus(genus, catalogue):
            return " ".join(words), ()
        if len(words) >= 2 and any(row.accepted == tidy for row in catalogue.law.by_genus.get(genus, ())):
            return tidy, ()
        ids = [c.id for c in close_spellings(fold(tidy), catalogue, 8) if c.id]
        latin = [catalogue.material(i).botanical_name for i in ids]
        return None, tuple(dict.fromkeys(n for n in latin if n))[:3]

    return knows


def woods_called(words: str, catalogue: Catalogue) -> frozenset[str]:
    """Botanical names of every wood that has the words in one of its names: 'walnut' -> Juglans nigra and
    others."""
    folded = fold(words)
    if not folded:
        return frozenset()
    rows = catalogue.rows(
        "SELECT DISTINCT m.botanical_name FROM name n JOIN material m ON m.id = n.material_id "
        "WHERE instr(n.folded, ?) > 0 AND m.botanical_name IS NOT NULL",
        (folded,),
    )
    return frozenset(str(row[0]) for row in rows)


def _genus(genus: str, catalogue: Catalogue) -> bool:
    if genus in catalogue.law.by_genus:
        return True
    return bool(catalogue.rows("SELECT 1 FROM material WHERE botanical_name LIKE ? LIMIT 1", (f"{genus} %",)))


@dataclass(frozen=True)
class Written:
    """A botanical name as papers write it: no author, hybrids with x; older: the name that a listing in force
    uses instead of the accepted one."""

    genus: str
    species: str
    older: str | None = None

    @property
    def printed_species(self) -> str:
        """'echinata (Caesalpinia echinata)'."""
        return f"{self.species} ({self.older})" if self.older else self.species


#: a name of a species alone; listings also print groups and places
_TWO_WORDS = re.compile(r"[A-Z][a-z-]+ (?:x )?[a-z-]+")
#: a botanical name of the book -> as papers write it
Names = Callable[[str], Written]


def plain_name(name: str) -> Written:
    """'Populus x canadensis' -> genus Populus, species x canadensis; 'Quercus spp.' stays so."""
    words = name.replace("×", " x ").split()
    genus = 2 if words[:1] == ["x"] else 1
    return Written(" ".join(words[:genus]), " ".join(words[genus:]))


def names_of(catalogue: Catalogue, on: dt.date) -> Names:
    """Names with the older one beside them where a listing in force on the day is printed under it."""

    def written(name: str) -> Written:
        plain = plain_name(name)
        rows = catalogue.law.by_genus.get(plain.genus, ())
        older = {
            row.taxon for row in rows
            if row.accepted == name != row.taxon and _TWO_WORDS.fullmatch(row.taxon) and row.in_force(on)
        }  # fmt: skip
        return replace(plain, older=" / ".join(sorted(older)) or None)

    return written
