"""Evidence of an item told: status, gaps, what is on record of each lot, listings, laws; sentences and JSON.

It says what is documented, stated by the supplier or not known, and makes no claim of its own about the wood.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.provenance.documents import Paper
from woodref.provenance.evidence import PROVEN, STATED, UNPROVEN, Case, Gap, Line, Verdict, grams, worst
from woodref.provenance.questions import BOUGHT, woods_of
from woodref.provenance.times import Moment
from woodref.provenance.trace import Root
from woodref.selection.journey import CITES_SAYS, cited
from woodref.selection.words import joined
from woodref.trade.listings import caution, restricting, said_of
from woodref.trade.requirements import WHOLE
from woodref.trade.shapes import Applies, Movement, Rules

PLACES = {"home": "at home", "EU": "in the EU", "GB": "in Great Britain", "US": "in the United States",
          "export": "over a border"}  # fmt: skip
DOCUMENTED, STATED_BY, NOT_KNOWN = "documented", "stated by supplier", "not known"
#: what a verdict may claim, and no more
MEANT = "Proven says that the book holds what these rules ask for; it is no finding about the wood itself."


#: what an item is judged as unless it is said: it meets the most laws and has no note of its own
SOLD_AS = "furniture"


@dataclass(frozen=True)
class Sale:
    """What is told of the goods beside the book. form: of the finished item; home: where it is made; value:
    its price as text; business: size of whoever brings it in or sells it."""

    form: str = SOLD_AS
    home: str | None = None
    value: str | None = None
    business: str | None = None


@dataclass(frozen=True)
class Proof:
    """An item held against the rules of a destination. case: what was looked at; head: number and hash of
    the last event of the book; by: what was recorded up to then, None for all; laws: those looked at; way:
    import, sale or export."""

    item: str
    destination: str
    sale: Sale
    verdict: Verdict
    case: Case
    movement: Movement | None
    rules: Rules
    head: tuple[int, str]
    by: Moment | None
    laws: tuple[Applies, ...]
    way: str

    @property
    def status(self) -> str:
        """proven, stated only, unproven or rule out of date: the item is as its worst line."""
        return worst(self.verdict)

    def missing(self) -> list[str]:
        """What keeps the claim that all wood is proven from being made; empty when nothing does."""
        if self.verdict.expired:
            return ["the rules that say what is proven are out of date"]
        if not self.case.wooden():
            return ["no wood of it is on record"]
        return [gap.sentence().removesuffix(".") for gap in self.verdict.gaps]

    # --- sentences

    def sections(self) -> list[tuple[str, list[str]]]:
        """Headings and sentences for print; the last section is always the caution."""
        held = self.verdict
        out = [("In short", self._short())]
        if held.gaps:
            out.append(("What is wanting", [_gap(gaps) for gaps in self._things()]))
        out.append(("What is on record", [self._record(root) for root in self.case.wooden()]))
        out += [(head, lines) for head, lines in (
            ("Listings", self._listings()), ("Other laws", [_law(law) for law in self._told_laws()]),
            ("What is not sure", self._doubts()),
        ) if lines]  # fmt: skip
        out.append(("Rests on", self._basis()))
        out.append(("Mind", [MEANT, self.caution]))
        return out

    def wanting(self) -> list[str]:
        """What is wanting, a clause a thing: 'L-C has no paper of its purchase'."""
        return [gaps[0].why for gaps in self._things()]

    def brief(self) -> str:
        """The answer in one sentence, for a sheet that tells the rest elsewhere."""
        head = self._short()[0].removesuffix(".")
        return f"{head}: {'; '.join(self.wanting())}." if self.wanting() else f"{head}."

    def sentences(self) -> list[str]:
        return [line for _, lines in self.sections() for line in lines]

    @property
    def caution(self) -> str:
        """What every answer ends with."""
        return caution(self.rules.law.as_of, self.rules.read_in_full)

    def _short(self) -> list[str]:
        held, day = self.verdict, self.verdict.on.isoformat()
        goes = "To go" if self.destination == "export" else "To be sold"
        head = f"{goes} {PLACES[self.destination]} on {day}, {self.item} is"
        if held.expired:
            return [
                f"{head} not judged: rule out of date. No rules that we hold stand on that day, so nothing "
                "passes."
            ]
        if not self.case.wooden():
            return [f"{head} unproven: no wood of it is on record."]
        gaps = len(self._things())
        told = "1 thing is wanting" if gaps == 1 else f"{gaps} things are wanting"
        words = {
            PROVEN: "proven: the book holds all that these rules ask for.",
            STATED: f"stated only: {told}, of which the supplier's word is all there is.",
        }
        lines = [_line(line, held.rules.mixing) for line in held.lines]
        return [f"{head} {words.get(self.status, f'unproven: {told}.')}", *lines]

    def _things(self) -> list[list[Gap]]:
        """Gaps, those together that are one thing wanting of several lots, such as the price of the item."""
        groups: dict[tuple[str, str], list[Gap]] = {}
        for gap in self.verdict.gaps:
            groups.setdefault((gap.key, gap.why), []).append(gap)
        return list(groups.values())

    def _told_laws(self) -> list[Applies]:
        """Laws that reach the goods, each once; one that surely applies to a wood stands before a doubt."""
        best: dict[tuple[str, str], Applies] = {}
        for law in self.laws:
            had = best.get((law.code, law.law))
            if law.applies is not False and (had is None or (law.applies and not had.applies)):
                best[law.code, law.law] = law
        return list(best.values())

    def _record(self, root: Root) -> str:
        """'L-B, Dalbergia latifolia, 34 g, grown in India: documented by invoice D-03 of 2009-05-14.'"""
        lot, papers = root.held.lot, self.case.papers.get(root.held.lot.id, ())
        mass = "mass not known" if root.ng is None else grams(root.ng)
        wood = lot.wood if lot.may_be else f'not identified ("{lot.trade}")'
        known = {
            DOCUMENTED: "its purchase is documented",
            STATED_BY: "its purchase is stated by the supplier alone",
            NOT_KNOWN: "of its purchase nothing is known",
        }[purchase(papers)]
        shown = (
            "; papers: " + ", ".join(paper_words(p) for p in papers) if papers else "; no paper is on record"
        )
        where = self._grown(root)
        return f"{lot.id}, {wood}, {mass}, {where}: {known}{shown}."

    def _grown(self, root: Root) -> str:
        countries = countries_of(root)
        if not countries:
            return "country of harvest not known"
        names = [self.rules.name(c) for c in countries]
        return f"grown in {joined(names)}" if len(names) == 1 else f"grown in one of {joined(names)}"

    def _listings(self) -> list[str]:
        """Each listed wood with what the trade engine says of it on this way; the others in one sentence."""
        out: list[str] = []
        free: dict[str, None] = {}
        mass = self.case.listed_ng()
        for root in self.case.wooden():
            if not self.case.is_listed(root):
                free.update(dict.fromkeys(root.held.lot.may_be))
            elif self.movement is None:
                out += [
                    said_of(row) for wood, c in woods_of(root)
                    for row in restricting([wood], c, self.verdict.on, self.rules.law)
                ]  # fmt: skip
            for found in self.case.trade.get(root.held.lot.id, ()) if self.case.is_listed(root) else ():
                out.append(f"{found.wood} {CITES_SAYS[found.cites]}.")
                out += [cited(r.sentence, r.citation, r.source, r.evidence) for r in found.reasons]
        if out and mass is not None:
            said = "by the densities on record; weigh it where that lies near a limit."
            sure = all(r.held.lot.species or r.held.lot.composition for r in self.case.listed_roots())
            what = "Listed wood in it" if sure else "Listed wood in it, with all that may be"
            out.insert(0, f"{what}: {_exactly(mass)}, {said}")
        if free:
            out.append(f"No listing that we hold covers {joined(list(free))} from where it grew.")
        return list(dict.fromkeys(out))

    def _doubts(self) -> list[str]:
        out = []
        if self.sale.home is None and self.destination != "home":
            out.append("Where it is made is not told: a border is taken to be crossed (--home CC).")
        if self.movement is not None:
            words = self.rules.forms[self.sale.form].words
            out.append(f"Judged as {words} (--form says otherwise).")
        out += [d.sentence for woods in self.case.trade.values() for w in woods for d in w.doubts]
        out += [said for said in (self.verdict.rules.behind(self.verdict.on), self._behind()) if said]
        return list(dict.fromkeys(out))

    def _behind(self) -> str | None:
        return None if self.movement is None else self.rules.law.behind(self.verdict.on)

    def _basis(self) -> list[str]:
        held, number = self.verdict.rules, self.head[0]
        begins = "" if held.valid_from is None else f" from {held.valid_from.isoformat()}"
        ends = "" if held.valid_to is None else f" to {held.valid_to.isoformat()}"
        source = f" ({held.source})" if held.source else ", a rule of the shop"
        till = "all that is recorded" if self.by is None else f"all that was recorded up to {self.by.utc}"
        return [
            held.words,
            f"Rule set {held.id}{begins}{ends}{source}; rules version {held.version}.",
            f"The book up to event {number:,}, head {self.head[1][:16]}; {till}; judged for "
            f"{self.verdict.on.isoformat()}.",
        ]

    # --- JSON

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `item proof`."""
        return {
            "query": {
                "item": self.item, "to": self.destination, "on": self.verdict.on.isoformat(),
                "form": self.sale.form, "home": self.sale.home, "value": self.sale.value,
                "business": self.sale.business, "recorded_by": None if self.by is None else self.by.utc,
            },
            "item": self.item,
            **self.verdict.as_dict(),
            "status": self.status,
            "lots": [self._lot(root) for root in self.case.wooden()],
            "listed_g": _listed_g(self.case),
            "listings": [w.as_dict() for woods in self.case.trade.values() for w in woods],
            "other_laws": [law.as_dict() for law in self._told_laws()],
            "way": None if self.movement is None else self.way,
            "book": {"events": self.head[0], "head": self.head[1]},
            "sentences": self.sentences(),
            "caution": self.caution,
            "notices": [],
        }  # fmt: skip

    def _lot(self, root: Root) -> dict[str, Any]:
        lot, papers = root.held.lot, self.case.papers.get(root.held.lot.id, ())
        return {
            "lot": lot.id, "wood": lot.wood, "may_be": list(lot.may_be),
            "countries": list(countries_of(root)),
            "mass_g": None if root.ng is None else round(float(root.ng) / 1e9, 4),
            "wood_g": None if root.wood_ng is None else round(float(root.wood_ng) / 1e9, 4),
            "listed": self.case.is_listed(root), "purchase": purchase(papers),
            "papers": [{"id": p.id, "kind": p.kind, "issued_on": p.issued_on} for p in papers],
            "sentence": self._record(root),
        }  # fmt: skip


def _line(line: Line, mixing: str) -> str:
    if mixing != WHOLE or line.status != UNPROVEN or not line.proven_ng or line.ng is None:
        return line.sentence()
    return (
        f"{line.wood}: unproven, for here one lot that lacks something counts for the whole line "
        f"({grams(line.proven_ng)} of {grams(line.ng)} lack nothing)."
    )


def purchase(papers: Sequence[Paper]) -> str:
    """documented: a paper by someone else; stated by supplier; not known."""
    kinds = {p.kind for p in papers}
    if kinds & set(BOUGHT):
        return DOCUMENTED
    return STATED_BY if "supplier-declaration" in kinds else NOT_KNOWN


def countries_of(root: Root) -> tuple[str, ...]:
    """Countries that the wood of a lot may have grown in."""
    lot = root.held.lot
    return tuple(dict.fromkeys((*lot.countries, *(c for _, _, cs in lot.composition for c in cs))))


def paper_words(paper: Paper) -> str:
    day = f" of {paper.issued_on}" if paper.issued_on else ""
    kind = paper.kind.replace("-", " ").replace("eudr", "EUDR")
    return f"{kind} {paper.id}{day}"


def _gap(gaps: Sequence[Gap]) -> str:
    """One thing wanting, what closes it and the rule behind it."""
    gap, asked = gaps[0], gaps[0].asked
    rule = "" if asked is None else cited(asked.words, asked.citation, asked.source, asked.evidence)
    why = gap.sentence() if len(gaps) == 1 else f"{gap.why[0].upper()}{gap.why[1:]}."
    return f"{why} It takes {gap.closes}. {rule}".rstrip()


def _law(law: Applies) -> str:
    limit = f" Limit: {law.limit}." if law.limit else ""
    return cited(f"{law.law}: {law.do}{limit}", law.citation, law.source, law.evidence)


def _exactly(ng: Any) -> str:
    """A mass to the milligram: '102 g', '499.999 g'."""
    return f"{float(ng) / 1e9:,.3f}".rstrip("0").rstrip(".") + " g"


def _listed_g(case: Case) -> float | None:
    mass = case.listed_ng()
    return None if mass is None else round(float(mass) / 1e9, 6)
