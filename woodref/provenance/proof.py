"""Evidence of an item: its received lots and their papers, asked of the trade engine wood by wood, held
against the rule set of a destination. Pure: the same book, papers, rules and day give the same answer.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from woodref.errors import BadRequest, echo
from woodref.provenance.book import Held
from woodref.provenance.documents import PERMITS, Paper, paper_of
from woodref.provenance.evidence import Case, judge
from woodref.provenance.faults import UnknownLot
from woodref.provenance.proofwords import Proof, Sale
from woodref.provenance.questions import BOUGHT, woods_of
from woodref.provenance.standing import Standing
from woodref.provenance.times import Moment
from woodref.provenance.trace import Reads, Root, whence
from woodref.trade.listings import restricting
from woodref.trade.otherlaws import other_laws
from woodref.trade.requirements import DESTINATIONS, Asked, rule_set
from woodref.trade.shapes import (
    ANSWERS,
    CITES_WORDS,
    SOURCE_CODES,
    Applies,
    Item,
    Movement,
    Rules,
    Verdict,
    WoodVerdict,
)
from woodref.trade.territory import crosses, place_rules, territory
from woodref.trade.verdict import verdict

if TYPE_CHECKING:
    from woodref.provenance.store import Store

SIZES = ("large", "medium", "small", "micro")
_PAPERS = (
    "SELECT p.id, p.told FROM paper_lot l JOIN paper p ON p.id = l.paper WHERE l.lot = :lot ORDER BY p.id"
)
#: ng in a kg
KG = 10**12


def evidence_of(
    store: Store,
    rules: Rules,
    item_id: str,
    destination: str,
    on: dt.date,
    as_recorded_by: Moment | None = None,
    sale: Sale | None = None,
) -> Proof:
    """What is proven of an item for a destination on a day, by the book as it stood at a moment (None: as it
    stands).

    UnknownLot when there is no such item, BadRequest when it is a lot and no item or when a word of the
    question is not known.
    """
    sale = sale or Sale()
    _known(destination, sale, rules)
    if as_recorded_by is not None:
        stood = Standing(store, as_recorded_by)
        roots = stood.roots(_an_item(stood.lot(item_id)))
        papers = stood.papers([item_id, *(r.held.lot.id for r in roots)])
        head = stood.events, stood.head
        return judged(
            item_id, destination, on, rules, sale, roots, papers, papers[item_id], head, as_recorded_by
        )
    for _ in range(5):  # until nobody wrote while it was read
        head = store.head()
        roots, papers, shown = _read(store, item_id)
        if store.head() == head:
            break
    return judged(item_id, destination, on, rules, sale, roots, papers, shown, head)


def _known(destination: str, sale: Sale, rules: Rules) -> None:
    finished = [name for name, form in rules.forms.items() if form.finished]
    for option, value, known in (
        ("--to", destination, DESTINATIONS),
        ("--form", sale.form, finished),
        ("--business", sale.business, SIZES),
    ):
        if value is not None and value not in known:
            raise BadRequest(f"{option} {echo(value)} is not known", expected=", ".join(known))
    if sale.home is not None and sale.home not in rules.names:
        raise BadRequest(
            f"--home {echo(sale.home)} is not a country code",
            expected="an ISO 3166-1 code of two capitals, such as DE, or GB-NIR",
        )
    if sale.value is not None and not re.fullmatch(r"[0-9]+(\.[0-9]{1,2})?( [A-Z]{3})?", sale.value):
        raise BadRequest(f"--value {echo(sale.value)} is no price", expected="such as 420.00 EUR")


def _an_item(held: Held) -> str:
    if held.lot.form != "item":
        raise BadRequest(f"{held.lot.id} is a lot, no item", next=f"woodref stock show {held.lot.id}")
    return held.lot.id


def _read(store: Reads, item_id: str) -> tuple[list[Root], dict[str, list[Paper]], list[Paper]]:
    """Roots of an item, the papers of each, and those of the item itself."""
    _an_item(store.book().lot(item_id, "item proof"))
    roots = whence(store, item_id)
    papers = {r.held.lot.id: papers_of(store, r.held.lot.id) for r in roots}
    return roots, papers, papers_of(store, item_id)


def papers_of(store: Reads, lot_id: str) -> list[Paper]:
    """Papers of a lot, in the order of their ids."""
    return [paper_of(json.loads(told), name) for name, told in store.rows(_PAPERS, lot=lot_id)]


def judged(
    item_id: str,
    destination: str,
    on: dt.date,
    rules: Rules,
    sale: Sale,
    roots: Sequence[Root],
    papers: dict[str, list[Paper]],
    shown: Sequence[Paper] = (),
    head: tuple[int, str] = (0, ""),
    by: Moment | None = None,
) -> Proof:
    """The answer for roots and papers as values."""
    held = rule_set(rules.evidence, destination, on)
    if held is None:
        raise BadRequest(f"no rules are held for {destination}", where="--to")

    def listed(wood: str, country: str | None) -> dt.date | None:
        rows = restricting([wood], country, on, rules.law)
        return min((row.valid_from or dt.date.min for row in rows), default=None)

    bare = Case(roots, papers, listed, sale.value, shown=shown, on=on)
    movement = movement_to(destination, on, sale, rules, roots)
    answers = {} if movement is None else _asked(bare, movement, sale, rules)
    laws = {lot: found.laws for lot, found in answers.items()}
    trade = {lot: found.woods for lot, found in answers.items()}
    inside = movement is None or not crosses(movement.start, movement.to, on, rules)
    way = "export" if destination == "export" else "sale" if inside else "import"

    def reached(root: Root, asked: Asked) -> bool:
        if asked.when is not None and asked.when != way:
            return False
        mine = laws.get(root.held.lot.id, ())
        return asked.law is None or any(law.code == asked.law and law.applies is not False for law in mine)

    case = Case(roots, papers, listed, sale.value, reached, trade, shown, on)
    told = tuple(law for mine in laws.values() for law in mine)
    return Proof(
        item_id, destination, sale, judge(case, held, on), case, movement, rules, head, by, told, way,
    )  # fmt: skip


@dataclass(frozen=True)
class _Answers:
    """Of one lot: what each wood it may be meets, strictest first, and the laws that reach the goods."""

    woods: tuple[WoodVerdict, ...]
    laws: tuple[Applies, ...]


def _asked(case: Case, movement: Movement, sale: Sale, rules: Rules) -> dict[str, _Answers]:
    """The trade engine's answer for every wooden lot. The mass it weighs is that of all listed wood in the
    item, exact."""
    mass = case.listed_ng()
    kg = None if mass is None else Fraction(mass) / KG
    out = {}
    for root in case.wooden():
        mine = case.papers.get(root.held.lot.id, ())
        found: list[Verdict] = []
        for wood, country in dict.fromkeys(woods_of(root)):
            found.append(verdict(_goods((wood,), country, kg, root, mine, sale), movement, rules))
        woods = [w for v in found for w in v.woods]
        woods.sort(key=lambda w: (ANSWERS.index(w.answer), CITES_WORDS.index(w.cites), w.wood))
        laws = [law for v in found for law in v.other_laws]
        if not found:  # nobody knows the wood: the laws that look at the goods alone
            laws = other_laws(_goods((), None, kg, root, mine, sale), movement, rules, False, [])
        out[root.held.lot.id] = _Answers(tuple(dict.fromkeys(woods)), tuple(dict.fromkeys(laws)))
    return out


def _goods(
    woods: tuple[str, ...], country: str | None, kg: Fraction | None, root: Root, papers: Sequence[Paper],
    sale: Sale,
) -> Item:  # fmt: skip
    """One wood of the finished item. How it was grown counts only where a permit says so."""
    code = root.held.lot.told.get("source_code")
    permit = any(p.kind in PERMITS for p in papers)
    return Item(
        woods, sale.form, kg, origin=country, acquired=first_shown(papers),
        source_code=code if permit and code in SOURCE_CODES else None, state="finished",
    )  # fmt: skip


def first_shown(papers: Sequence[Paper]) -> dt.date | None:
    """The first day on which somebody else's paper shows the wood in hand; None without such a paper."""
    days = [p.issued_on for p in papers if p.issued_on and p.kind in (*BOUGHT, *PERMITS)]
    return dt.date.fromisoformat(min(days)) if days else None


def movement_to(
    destination: str, on: dt.date, sale: Sale, rules: Rules, roots: Sequence[Root] = ()
) -> Movement | None:
    """The way of the finished item. Where no home is told a border is taken to be crossed; at home, without
    one, there is no way to ask about."""
    home = sale.home
    if destination == "home":
        return None if home is None else Movement(home, home, on, "sale-inside", business=sale.business)
    grown = {c for r in roots for _, c in woods_of(r) if c is not None}
    start = home or _plain(rules, on, grown)
    if destination == "export":
        to = _plain(rules, on, grown | {start})
    elif destination == "EU":
        to = next(code for code in sorted(rules.eu) if territory(code, on, rules) == "EU")
    else:
        to = destination
    if not crosses(start, to, on, rules):
        return Movement(start, start, on, "sale-inside", business=sale.business)
    return Movement(start, to, on, business=sale.business)


def _plain(rules: Rules, on: dt.date, but: set[str]) -> str:
    """A State without rules of its own here, in which none of these woods grew."""
    own = {b.country for b in rules.bans} | {s.country for s in rules.suspensions} | but
    return next(c for c in sorted(rules.names) if c not in own and place_rules(c, on, rules) == "CITES")


class Prover:
    """What keeps an item from the claim that all its wood is proven, by the shop's own rules of a day, in
    sentences: the `prove` of `Store.record`, which lets it read within its own transaction, so that papers
    recorded by the same file count."""

    def __init__(self, store: Store, rules: Rules, on: dt.date) -> None:
        self.rules, self.on = rules, on
        self.view: Reads = store

    def within(self, view: Reads) -> None:
        """Read there from now on."""
        self.view = view

    def __call__(self, item_id: str) -> list[str]:
        try:
            roots, papers, shown = _read(self.view, item_id)
        except UnknownLot:
            return ["a claim is weighed by what is in the book: put it together first, then close it"]
        return judged(item_id, "home", self.on, self.rules, Sale(), roots, papers, shown).missing()
