"""What a verdict asks of a received lot: each test of a requirement as a pure function of the lot, its
papers and what the trade engine says of its woods. None: nothing is wanting; else why, as a clause.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from woodref.provenance.documents import PERMITS, PURCHASE, Paper
from woodref.provenance.trace import Root
from woodref.trade.requirements import Asked
from woodref.trade.shapes import Document, WoodVerdict

#: papers that show when and how wood was come by
ACQUIRED = (*PURCHASE, "stock-declaration", "pre-convention-certificate", "affidavit")
#: a purchase shown by someone else than who sold it, with a day
BOUGHT = tuple(kind for kind in PURCHASE if kind != "supplier-declaration")
#: only somebody's word
STATEMENTS = ("supplier-declaration", "affidavit")
#: paper of the law -> kinds of papers of the book that are one. What is filled in at the border is not here.
KIND_OF = {
    "export-permit": ("permit-export", "permit"),
    "re-export-certificate": ("permit-re-export", "permit"),
    "import-permit": ("permit-import", "permit"),
    "certificate-of-origin": ("permit-export", "permit"),
    "pre-convention-certificate": ("pre-convention-certificate",),
    "instrument-certificate": ("instrument-certificate",),
    "sale-certificate": ("permit",),
}


@dataclass(frozen=True)
class Case:
    """What a verdict looks at. papers: by lot, those recorded by the moment; listed: (wood, country) ->
    the day from which its listing holds, or None; value: of the item, as text.

    reached: whether a requirement is asked of a lot at all; trade: lot -> what the trade engine says of each
    wood it may be; shown: papers of the item itself; on: the day, for papers that run out.
    """

    roots: Sequence[Root]
    papers: Mapping[str, Sequence[Paper]]
    listed: Callable[[str, str | None], dt.date | None] = lambda wood, country: None
    value: str | None = None
    reached: Callable[[Root, Asked], bool] = lambda root, asked: True
    trade: Mapping[str, Sequence[WoodVerdict]] = field(default_factory=dict)
    shown: Sequence[Paper] = ()
    on: dt.date | None = None

    def kinds(self, root: Root) -> set[str]:
        return {p.kind for p in self.papers.get(root.held.lot.id, ())}

    def wooden(self) -> list[Root]:
        return [r for r in self.roots if r.held.lot.wooden]

    def listed_roots(self) -> list[Root]:
        """Roots one of whose woods is listed; an unidentified one counts, as the strictest it may be."""
        return [r for r in self.wooden() if self.is_listed(r)]

    def is_listed(self, root: Root) -> bool:
        if not root.held.lot.may_be:
            return True
        return any(self.listed(wood, c) is not None for wood, c in woods_of(root))

    def listed_ng(self) -> Fraction | None:
        """Mass of listed wood in the item [ng], exact; None where the mass of one such lot is not known."""
        total = Fraction(0)
        for root in self.listed_roots():
            mass = listed_mass(root, self.listed)
            if mass is None:
                return None
            total += mass
        return total

    def in_date(self, root: Root) -> set[str]:
        """Kinds of the papers of a lot and of the item that have not run out on the day."""
        day = None if self.on is None else self.on.isoformat()
        return {
            p.kind
            for p in (*self.papers.get(root.held.lot.id, ()), *self.shown)
            if day is None or not p.expires_on or p.expires_on >= day
        }


def woods_of(root: Root) -> list[tuple[str, str | None]]:
    """Every (wood, country of harvest) that a lot may be; country None where it is not known."""
    lot = root.held.lot
    if lot.composition:
        return [
            (wood, c)
            for wood, _, countries in lot.composition
            for c in (countries or lot.countries or (None,))
        ]
    return [(wood, c) for wood in lot.may_be for c in (lot.countries or (None,))]


def listed_mass(root: Root, listed: Callable[[str, str | None], dt.date | None]) -> Fraction | None:
    """Mass of listed wood that a lot gave to the item [ng]: its shares of an engineered sheet, all of any
    other lot; None where it is not known."""
    lot, mass = root.held.lot, root.ng
    if mass is None or not lot.composition:
        return root.wood_ng
    permille = sum(
        share
        for wood, share, countries in lot.composition
        if any(listed(wood, c) is not None for c in (countries or lot.countries or (None,)))
    )
    return mass * permille / 1000


Test = Callable[[Case, Root, Asked], str | None]


def _name(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    if lot.species or lot.composition:
        return None
    if not lot.may_be:
        return f"nobody knows what wood {lot.id} is"
    return f"{lot.id} is one of {', '.join(lot.may_be)}"


def _names(case: Case, root: Root, _: Asked) -> str | None:
    """Every species it may be will do; a genus alone will not."""
    lot = root.held.lot
    if not lot.may_be:
        return f"nobody knows what wood {lot.id} is"
    loose = [wood for wood in lot.may_be if wood.endswith(" spp.")]
    return f"of {lot.id} only the genus is known ({', '.join(loose)})" if loose else None


def _document(case: Case, root: Root, _: Asked) -> str | None:
    if case.kinds(root) & set(BOUGHT):
        return None
    if "supplier-declaration" in case.kinds(root):
        return f"{root.held.lot.id} is stated by its supplier alone"
    return f"{root.held.lot.id} has no paper of its purchase"


def _country(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    if not lot.composition:
        return None if lot.countries else f"the country of harvest of {lot.id} is not known"
    bare = [wood for wood, _, countries in lot.composition if not (countries or lot.countries)]
    return f"the country of harvest of {' and '.join(bare)} in {lot.id} is not known" if bare else None


def _composition(case: Case, root: Root, _: Asked) -> str | None:
    lot = root.held.lot
    if lot.form != "engineered-veneer" or "composition-sheet" in case.kinds(root):
        return None
    return f"{lot.id} is an engineered sheet without a composition sheet"


def _reference(case: Case, root: Root, asked: Asked) -> str | None:
    """A reference of the first placing, or a paper older than the day of the argument."""
    papers = case.papers.get(root.held.lot.id, ())
    if any(p.kind == "eudr-reference" for p in papers):
        return None
    if asked.argument and any(p.issued_on is not None and p.issued_on < asked.argument for p in papers):
        return None
    return f"{root.held.lot.id} has no reference of its first placing on the market"


def _placing(case: Case, root: Root, asked: Asked) -> str | None:
    """A reference, or what whoever brings the goods in needs to be given one: plot and time of felling."""
    why = _reference(case, root, asked)
    told = root.held.lot.told
    lacks = [words for key, words in (("plot", "plot"), ("harvest", "time of felling")) if not told.get(key)]
    return f"{why}, and its {' and '.join(lacks)} {_is(lacks)} not known" if why and lacks else None


def _is(things: Sequence[str]) -> str:
    return "is" if len(things) == 1 else "are"


def _quantity(case: Case, root: Root, _: Asked) -> str | None:
    return None if root.ng is not None else f"the weight of what {root.held.lot.id} gave is not known"


def _value(case: Case, root: Root, _: Asked) -> str | None:
    return None if case.value else "the value of the item is not stated"


def _acquisition(case: Case, root: Root, asked: Asked) -> str | None:
    """A listed wood: a permit; or, in a finished item with no more of it than the argument [g], proof of
    how it was come by."""
    if not case.is_listed(root):
        return None
    kinds = case.kinds(root)
    if kinds & set(PERMITS):
        return None
    masses = [r.ng for r in case.listed_roots()]
    most = Fraction(asked.argument) * 10**9 if asked.argument else Fraction(0)
    light = None not in masses and sum(m for m in masses if m is not None) <= most
    if not light:
        return f"{root.held.lot.id} is of a listed wood and has no permit"
    if kinds & set(ACQUIRED):
        return None
    return f"{root.held.lot.id} is of a listed wood and nothing shows how it was come by"


def _acquired(case: Case, root: Root, _: Asked) -> str | None:
    """A listed wood: a paper that is more than somebody's word shows how it was come by."""
    if not case.is_listed(root):
        return None
    lot, kinds = root.held.lot, case.kinds(root)
    if kinds & (set(ACQUIRED) | set(PERMITS)) - set(STATEMENTS):
        return None
    listed = "may be of a listed wood" if lot.species is None else "is of a listed wood"
    if kinds & set(STATEMENTS):
        return f"{lot.id} {listed}, and how it was come by is only stated"
    return f"{lot.id} {listed} and nothing shows how it was come by"


def _papers(case: Case, root: Root, _: Asked) -> str | None:
    """The papers that the listings ask for on the way: strictest wood first, the first one that lacks
    something decides."""
    lot = root.held.lot
    if not lot.may_be:
        return f"{lot.id} may be of a listed wood, as nobody knows what wood it is"
    held = case.in_date(root)
    for found in case.trade.get(lot.id, ()):
        if found.answer == "stop":
            return f"{found.wood} of {lot.id} may not go: {_clause(found.reasons[-1].sentence)}"
        if found.cites == "check":
            said = found.doubts[-1].sentence if found.doubts else "a deciding fact is missing"
            return f"whether {found.wood} of {lot.id} wants a paper cannot be said: {_clause(said)}"
        lacks = [d for d in found.leg.documents if d.code in KIND_OF and not held & set(KIND_OF[d.code])]
        if lacks:
            return f"{lot.id} is of a listed wood and wants {_named(lacks)}"
    return None


def closes(case: Case, root: Root, asked: Asked) -> str:
    """What would close a gap of this lot: for a wood that may not go no paper does, and where a fact is
    missing that fact comes first."""
    strictest = next(iter(case.trade.get(root.held.lot.id, ())), None)
    if asked.test == "papers" and strictest is not None:
        if strictest.answer == "stop":
            return "another wood, for no paper can be had"
        if strictest.cites == "check":
            return "the fact that is missing, and then the papers it asks for"
    return asked.closes


def _named(papers: Sequence[Document]) -> str:
    """'an export permit and an import permit'."""
    return " and ".join(f"{'an' if d.name[0] in 'aeiou' else 'a'} {d.name}" for d in papers)


def _clause(sentence: str) -> str:
    return sentence.rstrip(".")


TESTS: dict[str, Test] = {
    "name": _name, "names": _names, "document": _document, "country": _country, "composition": _composition,
    "reference": _reference, "placing": _placing, "quantity": _quantity, "value": _value,
    "acquisition": _acquisition, "acquired": _acquired, "papers": _papers,
}  # fmt: skip
