"""Which papers does this wood need, for this item, on this journey, on this day?

A pure function of item, movement and rules. Order of questions: row in force on the day (species
before genus), population (country of harvest), form the note covers, border crossed, category ->
papers, exemptions; then, always, bans and the other laws. "No treaty paper" never reads free to trade.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace

from woodref.trade import papers
from woodref.trade.coverage import MISSING, coverage, form_in_law
from woodref.trade.listings import ListingRow, caution, is_hybrid, listings_for
from woodref.trade.otherlaws import ExportRule, export_rules, other_laws
from woodref.trade.shapes import (
    ANSWERS,
    CITES_WORDS,
    Considered,
    Document,
    Doubt,
    Item,
    Leg,
    Movement,
    Reason,
    Rules,
    Verdict,
    WoodVerdict,
)
from woodref.trade.territory import crosses, place_rules

#: the Convention entered into force on this day
TREATY_BEGINS = dt.date(1975, 7, 1)
#: within so many days of a start or end that is only recalled the answer is `check`
NEAR_RECALLED = 180


@dataclass
class _Case:
    """One wood's verdict in the making."""

    wood: str
    item: Item
    movement: Movement
    rules: Rules
    day: dt.date = dt.date.min
    considered: list[Considered] = field(default_factory=list)
    reasons: list[Reason] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)

    def doubt(self, code: str, sentence: str) -> Doubt:
        found = Doubt(code, sentence)
        self.doubts.append(found)
        return found

    def reason_of(self, row: ListingRow, sentence: str) -> None:
        self.reasons.append(Reason(sentence, row.locator, row.source, row.evidence))

    def take(self, due: papers.Due) -> None:
        self.reasons += due.reasons
        self.doubts += due.doubts

    def held(self, code: str) -> Doubt | None:
        return next((d for d in self.doubts if d.code == code), None)

    def done(self, word: str, documents: tuple[Document, ...] = (), answer: str | None = None) -> WoodVerdict:
        """Close the case. answer: usual: check for check, papers where a document is due, else none."""
        if answer is None:
            answer = "check" if word == "check" else "papers" if documents else "no-listing-paper"
        unique = {d.code: d for d in documents}
        leg = Leg(self.movement.start, self.movement.to, word, tuple(unique.values()))
        return WoodVerdict(
            self.wood,
            answer,
            word,
            leg,
            tuple(self.considered),
            tuple(dict.fromkeys(self.reasons)),
            tuple(dict.fromkeys(self.doubts)),
        )

    def check(self, doubt: Doubt) -> WoodVerdict:
        """A deciding fact is missing or unsure: say so and stop."""
        self.reasons.append(Reason(doubt.sentence, None, None, "common-practice"))
        return self.done("check")


def verdict(item: Item, movement: Movement, rules: Rules) -> Verdict:
    """The answer for an item of one or several woods, strictest wood first."""
    judged = [_wood(_Case(wood, item, movement, rules)) for wood in item.woods]
    woods = [found for found, _ in judged]
    stops = [stop for _, more in judged for stop in more]
    woods.sort(key=lambda w: (ANSWERS.index(w.answer), CITES_WORDS.index(w.cites), w.wood))
    laws = other_laws(item, movement, rules, any(w.answer == "papers" for w in woods), stops)
    form = form_in_law(item)
    doubts = [d for w in woods for d in w.doubts]
    behind = rules.law.behind(movement.on)
    if behind:
        doubts.append(Doubt("rules-older-than-date", behind))
    return Verdict(
        item,
        movement,
        woods[0].answer,
        woods[0].cites,
        tuple(woods),
        tuple(laws),
        tuple(dict.fromkeys(r for w in woods for r in w.reasons)),
        tuple(dict.fromkeys(doubts)),
        rules.forms[form].hs if form in rules.forms else (),
        rules.law.as_of,
        rules.version,
        caution(rules.law.as_of, rules.read_in_full),
    )


#: verdict words under which no listing covers the goods
_UNCOVERED = {"not-listed", "not-yet-listed", "population-not-covered", "form-exempt", "no-border"}


def _wood(case: _Case) -> tuple[WoodVerdict, list[ExportRule]]:
    """One wood: the treaty and its mirrors, then bans and suspensions of the way out."""
    found = _listing(case)
    covered = found.cites not in _UNCOVERED
    stops = export_rules(case.wood, case.item, case.movement, case.rules, covered)
    if not stops:
        return found, []
    answer = "stop" if any(s.stops for s in stops) else found.answer
    reasons = tuple(dict.fromkeys((*found.reasons, *(s.reason for s in stops))))
    return replace(found, answer=answer, reasons=reasons), stops


def _law_day(case: _Case) -> dt.date:
    """The day whose listings count: of arrival, but GB takes the day of sailing (bill of lading)."""
    movement = case.movement
    if movement.shipped is None or movement.shipped >= movement.on:
        return movement.on
    if place_rules(movement.to, movement.on, case.rules) == "GB":
        case.reasons.append(
            Reason(
                "Great Britain looks at the day of the bill of lading: what sailed before a listing began "
                "needs no paper under it.",
                "authority's rule for ipe and cumaru, 2024",
                "gb-ipe-cumaru-rule-2024",
                "recalled",
            )
        )
        return movement.shipped
    return movement.on


def _listing(case: _Case) -> WoodVerdict:
    wood, on = case.wood, _law_day(case)
    case.day = on
    if on < TREATY_BEGINS:
        return case.check(
            case.doubt(
                "before-convention",
                f"{on.isoformat()} lies before the Convention came into force on 1 July 1975: ask.",
            )
        )
    rows = [r for r in listings_for(wood, on, case.rules.law) if _speaks(r, case)]
    applied = []
    for row in rows:
        why = _why_not(row, case)
        case.considered.append(Considered(row, why is None, why or "in force and reaches this harvest"))
        if why is None:
            applied.append(row)
    loose = _loose_name(wood)
    if loose and rows:
        known = "genus" if loose == "genus-only" else "hybrid"
        return case.check(
            case.doubt(
                loose,
                f"{wood}: only the {known} is known and a listing of it stands. Ask for the species; "
                "until then the strictest counts.",
            )
        )
    _near_recalled(case)
    doubt = case.held("date-recalled")
    if doubt:
        return case.check(doubt)
    return _applies(case, papers.strictest(applied)) if applied else _applies_not(case)


def _speaks(row: ListingRow, case: _Case) -> bool:
    """Treaty rows everywhere; the US act only for movements that touch the United States."""
    if row.regime == "US-ESA":
        return "US" in (case.movement.start, case.movement.to)
    return row.regime == "CITES"


def _loose_name(wood: str) -> str | None:
    if is_hybrid(wood):
        return "hybrid"
    words = [w for w in wood.split() if w != "spp."]
    return "genus-only" if len(words) == 1 else None


def _why_not(row: ListingRow, case: _Case) -> str | None:
    """Why a row in force does not apply; None when it does. A missing origin leaves a doubt."""
    if not row.restricts():
        return "asks for no paper under the treaty"
    if row.leaves and case.movement.start not in row.leaves:
        return f"reaches {row.population_words}, and these goods do not leave from there"
    if row.countries is None:
        return None
    if case.item.origin is None:
        case.doubt(
            "origin-missing",
            f"{row.taxon}: the listing reaches {row.population_words}. Say where the wood was harvested "
            "(--origin CC).",
        )
        return None
    if case.item.origin not in row.countries:
        return f"reaches {row.population_words}, not wood harvested in {case.rules.name(case.item.origin)}"
    return None


def _own_rows(case: _Case) -> list[ListingRow]:
    """Every treaty row of the wood or its genus, whatever its dates."""
    genus = case.wood.split()[0]
    return [
        row
        for row in case.rules.law.by_genus.get(genus, ())
        if row.regime == "CITES" and row.accepted in (case.wood, genus) and case.wood not in row.except_taxa
    ]


def _near_recalled(case: _Case) -> None:
    """A doubt when the day lies close to a start or an end known only from memory."""
    for row in _own_rows(case):
        if row.date_evidence not in ("recalled", "not-known") or not row.reaches(case.item.origin):
            continue
        for day in (row.valid_from, row.valid_to):
            if day is not None and abs((case.day - day).days) <= NEAR_RECALLED:
                case.doubt(
                    "date-recalled",
                    f"{row.taxon}: {row.category_words} changed about {day.isoformat()}, a date we have "
                    "from memory only: ask which side of it this movement falls.",
                )


def _applies_not(case: _Case) -> WoodVerdict:
    """No treaty row applies: another population, not yet, or none at all; Annex D is still asked."""
    limited = [c.row for c in case.considered if c.row.restricts() and c.row.countries is not None]
    on = case.day
    future = [r for r in _own_rows(case) if r.restricts() and r.valid_from and r.valid_from > on]
    if limited:
        word, row = "population-not-covered", limited[0]
        place = case.rules.name(case.item.origin or "")
        case.reason_of(
            row,
            f"{row.taxon} is listed ({row.category_words}) for {row.population_words}; wood harvested in "
            f"{place} is not reached, planted or not. Keep the proof of origin.",
        )
    elif future:
        word, row = "not-yet-listed", min(future, key=lambda r: r.valid_from or on)
        day = row.valid_from.isoformat() if row.valid_from else ""
        case.reason_of(row, f"{row.taxon} is listed ({row.category_words}) from {day}, after this movement.")
    else:
        word = "not-listed"
        case.reasons.append(Reason(f"No listing that we hold covers {case.wood}.", None, None, "recalled"))
        case.doubt(
            "lists-read-to",
            f"The species lists were last read in full as of {case.rules.read_in_full.isoformat()}, changes "
            f"followed up to {case.rules.law.as_of.isoformat()}: it may have been listed since.",
        )
    due = papers.notifications(case.wood, case.item, case.movement, case.rules)
    case.take(due)
    return case.done(word, due.documents)


def _applies(case: _Case, applied: list[ListingRow]) -> WoodVerdict:
    """At least one row applies: form, border, category, exemptions. The strictest that bites counts."""
    item, movement, rules = case.item, case.movement, case.rules
    for row in applied:
        found = coverage(row, item, movement, case.wood, rules)
        if found.covered is None:
            missing = found.missing or ""
            return case.check(case.doubt(MISSING[missing], f"{found.why} Say {missing}."))
        note = found.note
        if note is None:
            case.reason_of(row, found.why)
        else:
            case.reasons.append(Reason(found.why, note.listed_as, note.source, note.evidence))
        if found.shipment_doubt:
            case.doubt(
                "weight-per-shipment",
                "Each item lies under the limit, all together over it: some authorities may count the "
                "shipment.",
            )
        if not found.covered:
            continue
        unplaced = case.held("origin-missing")
        if unplaced and row.countries is not None:
            return case.check(unplaced)
        if not crosses(movement.start, movement.to, movement.on, rules):
            due = papers.sale_inside(row, case.wood, item, movement, rules)
        else:
            due = papers.for_row(row, case.wood, item, movement, rules)
        case.take(due)
        return case.done(due.word, due.documents, "stop" if due.stop else None)
    due = papers.notifications(case.wood, item, movement, rules)
    case.take(due)
    return case.done("form-exempt", due.documents)
