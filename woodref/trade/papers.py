"""From a category to the papers of a movement: export side, import side, exemptions, sales."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from woodref.trade.listings import ListingRow, listings_for
from woodref.trade.shapes import (
    INSTRUMENT_FORMS,
    Document,
    Doubt,
    Item,
    Movement,
    PaperRule,
    Reason,
    Rules,
)
from woodref.trade.territory import crosses, place_rules, territory

#: worked before this day: EU and GB ask no import permit of the usual kind and no sale certificate
WORKED_BEFORE = dt.date(1947, 3, 3)

#: an annex that only mirrors the treaty may follow it late: within so many days, ask
ANNEX_LAG = 120

_ORDER = {"I": 0, "II": 1, "III": 2}


@dataclass(frozen=True)
class Due:
    """What a row asks for. word: the verdict word; stop: no paper can be had."""

    word: str
    documents: tuple[Document, ...]
    reasons: tuple[Reason, ...]
    stop: bool = False
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True)
class Annex:
    """The EU or GB category of a wood on a day, with the sentence that supports it."""

    category: str
    reason: Reason
    late: bool


def document(code: str, rules: Rules) -> Document:
    """A paper by its code."""
    paper = rules.papers[code]
    return Document(paper.code, paper.name, paper.issued_by)


def rule_for(place: str, category: str, step: str, commercial: bool, rules: Rules) -> PaperRule | None:
    """The paper rule of a place for a category and step; a rule for just this purpose goes first."""
    purpose = "yes" if commercial else "no"
    found = [
        r
        for r in rules.paper_rules
        if r.place == place and r.category == category and r.step == step and r.commercial in ("any", purpose)
    ]
    found.sort(key=lambda r: r.commercial == "any")
    return found[0] if found else None


def _reason(rule: PaperRule) -> Reason:
    return Reason(rule.words, rule.locator or rule.id, rule.source, rule.evidence)


def strictest(rows: Iterable[ListingRow]) -> list[ListingRow]:
    """Treaty rows with the strictest category first, then other regimes."""
    return sorted(rows, key=lambda r: (_ORDER.get(r.category, 9), r.regime != "CITES", r.id))


def first_listed(wood: str, rules: Rules) -> dt.date | None:
    """The day the treaty first reached this wood in any population; None when not known."""
    genus = wood.split()[0]
    days = [
        row.valid_from
        for row in rules.law.by_genus.get(genus, ())
        if row.regime == "CITES"
        and row.restricts()
        and row.accepted in (wood, genus)
        and wood not in row.except_taxa
    ]
    known = [day for day in days if day is not None]
    return min(known) if known and len(known) == len(days) else None


def annex(wood: str, place: str, item: Item, on: dt.date, rules: Rules) -> Annex | None:
    """The EU or GB annex of a wood: its own row, else the treaty's appendix mirrored."""
    rows = [r for r in listings_for(wood, on, rules.law) if r.reaches(item.origin)]
    for row in rows:
        if row.regime == place and row.category in "ABC":
            said = f"{row.taxon}: {row.category_words}."
            return Annex(row.category, Reason(said, row.locator, row.source, row.evidence), False)
    treaty = strictest(r for r in rows if r.regime == "CITES" and r.restricts())
    for row in treaty:
        for mirror in rules.mirrors:
            if mirror.regime == place and mirror.of == row.category and mirror.valid_from <= on:
                late = row.valid_from is not None and (on - row.valid_from).days < ANNEX_LAG
                reason = Reason(mirror.words, mirror.locator or mirror.id, mirror.source, mirror.evidence)
                return Annex(mirror.category, reason, late)
    return None


def for_row(row: ListingRow, wood: str, item: Item, movement: Movement, rules: Rules) -> Due:
    """Papers for a covered form that crosses a border under one treaty row."""
    before = _pre_convention(wood, item, rules)
    if (
        movement.mode == "instrument-travel"
        and not movement.commercial
        and item.form in INSTRUMENT_FORMS
        and (row.category != "I" or before)
    ):
        return _instrument(rules)
    grown = item.source_code in ("A", "D")
    if row.category == "I" and not grown:
        return _first_appendix(row, wood, item, movement, rules, before)
    personal = _personal(row, item, movement, rules)
    if personal is not None:
        return personal
    export = _export(row, item, movement, rules, before)
    entry = _import(row, wood, item, movement, rules)
    return Due(
        export.word,
        (*export.documents, *entry.documents),
        (*export.reasons, *entry.reasons),
        False,
        (*export.doubts, *entry.doubts),
    )


def _pre_convention(wood: str, item: Item, rules: Rules) -> bool:
    """Acquired before the first listing, and not declared as of another source."""
    if item.source_code not in (None, "O"):
        return False
    first = first_listed(wood, rules)
    return first is not None and item.acquired is not None and item.acquired < first


def _instrument(rules: Rules) -> Due:
    paper = rules.papers["instrument-certificate"]
    reason = Reason(paper.words, "Res. Conf. 16.8 (Rev. CoP17)", None, "recalled")
    return Due("instrument-certificate", (document("instrument-certificate", rules),), (reason,))


#: States known to ask an export paper for personal effects of Appendix II all the same
STILL_ASK = frozenset({"CN"})


def _personal(row: ListingRow, item: Item, movement: Movement, rules: Rules) -> Due | None:
    """Personal and household effects of Appendix II and III: freed by the treaty, with exceptions.

    A household move passes. Luggage passes unless it leaves the State where the wood was cut (the
    stricter reading: the traveller is going home) or a State that still asks for the paper; then the
    export side is due and the entering side is not.
    """
    if movement.commercial or movement.mode not in ("hand-luggage", "household-move"):
        return None
    source = "cites-convention-text"
    if movement.mode == "household-move":
        words = "Household effects that move with their owner need no treaty paper."
        return Due("form-exempt", (), (Reason(words, "Convention Art. VII(3)", source, "quoted"),))
    why: list[Reason] = []
    if movement.start in STILL_ASK:
        words = f"{rules.name(movement.start)} still asks an export paper for personal effects."
        why.append(Reason(words, "page on exemptions", "cites-exemptions-page", "quoted"))
    elif item.origin in (None, movement.start):
        words = (
            "Personal effects bought where the wood was cut and taken home still need the export paper of a "
            "State that asks for one."
        )
        why.append(Reason(words, "Convention Art. VII(3)(b)", source, "quoted"))
        if place_rules(movement.to, movement.on, rules) in ("EU", "GB"):
            words = "At home no import permit is asked of a traveller for Annex B wood in the luggage."
            why.append(Reason(words, "Reg. (EC) 865/2006 Art. 57", "gb-865-2006-art-57", "quoted"))
    else:
        words = (
            "Personal effects in a traveller's luggage need no treaty paper; some States ask all the same."
        )
        return Due("form-exempt", (), (Reason(words, "Convention Art. VII(3)", source, "quoted"),))
    export = _export(row, item, movement, rules, False)
    return Due(export.word, export.documents, (*why, *export.reasons), False, export.doubts)


def _first_appendix(
    row: ListingRow, wood: str, item: Item, movement: Movement, rules: Rules, before: bool
) -> Due:
    """Appendix I of wild or unknown source."""
    if before:
        code = "pre-convention-certificate"
        place = place_rules(movement.to, movement.on, rules)
        gate = rule_for(place, "A" if place in ("EU", "GB") else "I", "import", movement.commercial, rules)
        if gate is not None and gate.prohibited:
            return Due("prohibited", (), (_reason(gate),), True)
        reason = Reason(rules.papers[code].words, "Convention Art. VII(2)", "cites-convention-text", "quoted")
        inward = _import(row, wood, item, movement, rules) if place in ("EU", "GB") else Due("", (), ())
        return Due(code, (document(code, rules), *inward.documents), (reason, *inward.reasons))
    step = "export" if item.origin in (None, movement.start) else "re-export"
    rule = rule_for("CITES", "I", step, movement.commercial, rules)
    if rule is not None and (rule.prohibited or movement.commercial):
        return Due("prohibited", (), (_reason(rule),), True)
    export = tuple(document(code, rules) for code in rule.documents) if rule else ()
    entry = _import(row, wood, item, movement, rules)
    more = (_reason(rule),) if rule else ()
    return Due("permit", (*export, *entry.documents), (*more, *entry.reasons), False, entry.doubts)


def _export(row: ListingRow, item: Item, movement: Movement, rules: Rules, before: bool) -> Due:
    """The paper on the leaving side."""
    if before:
        code = "pre-convention-certificate"
        reason = Reason(rules.papers[code].words, "Convention Art. VII(2)", "cites-convention-text", "quoted")
        return Due(code, (document(code, rules),), (reason,))
    category = "II" if row.category == "I" else row.category
    home = item.origin in (None, movement.start)
    doubts: tuple[Doubt, ...] = ()
    if item.origin is None:
        doubts = (
            Doubt(
                "origin-missing",
                "The country of harvest is not given: taken to be the country it leaves from. Say it "
                "with --origin CC; the paper is another one for a re-export.",
            ),
        )
    if home and category == "III":
        rule_id = "cites-iii-export-party" if movement.start in row.parties else "cites-iii-export-other"
        rule = next((r for r in rules.paper_rules if r.id == rule_id), None)
    else:
        rule = rule_for("CITES", category, "export" if home else "re-export", movement.commercial, rules)
    if rule is None:
        return Due("permit", (), ())
    word = "certificate-of-origin" if "certificate-of-origin" in rule.documents else "permit"
    papers = tuple(document(code, rules) for code in rule.documents)
    return Due(word, papers, (_reason(rule),), False, doubts)


def _import(row: ListingRow, wood: str, item: Item, movement: Movement, rules: Rules) -> Due:
    """The paper on the entering side."""
    place = place_rules(movement.to, movement.on, rules)
    category, reasons, doubts = row.category, [], []
    grown = item.source_code in ("A", "D")
    if place in ("EU", "GB"):
        found = annex(wood, place, item, movement.on, rules)
        if found is None:
            return Due("", (), ())
        category = found.category
        reasons.append(found.reason)
        if found.late:
            doubts.append(
                Doubt(
                    "annex-lag",
                    f"The {place} annexes may follow the treaty by weeks or months: until the wood stands "
                    "there no import permit is asked.",
                )
            )
    if grown:  # Appendix I grown for trade is treated as Appendix II (Art. VII(4))
        category = {"I": "II", "A": "B"}.get(category, category)
    rule = rule_for(place, category, "import", movement.commercial, rules)
    if rule is None:
        return Due("", (), tuple(reasons), False, tuple(doubts))
    papers = tuple(document(code, rules) for code in rule.documents)
    return Due("", papers, (*reasons, _reason(rule)), False, tuple(doubts))


_WORKED = Reason(
    "Worked more than fifty years before the Regulation (before 3 March 1947): no certificate is needed "
    "to sell it, if its age can be proved.",
    "Reg. (EC) 338/97 Art. 2(w), 8(3)(b)",
    "eu-wildlife-guide-3-6-10",
    "recalled",
)


def _worked(item: Item, rules: Rules) -> bool:
    """Whether it is a finished thing worked before the Regulation's day."""
    form = rules.forms.get(item.form)
    old = item.acquired is not None and item.acquired < WORKED_BEFORE
    return old and form is not None and form.finished


def sale_inside(row: ListingRow, wood: str, item: Item, movement: Movement, rules: Rules) -> Due:
    """No border is crossed: what a sale inside the territory asks for."""
    place = territory(movement.to, movement.on, rules)
    if place not in ("EU", "GB") or not movement.commercial:
        return Due("no-border", (), (Reason("No border that the treaty sees is crossed.", None, None,
                                            "common-practice"),))  # fmt: skip
    if _worked(item, rules):
        return Due("no-border", (), (_WORKED,))
    found = annex(wood, place, item, movement.on, rules)
    rule = rule_for(place, found.category, "sale", True, rules) if found else None
    if rule is None or found is None:
        return Due("no-border", (), ())
    papers = tuple(document(code, rules) for code in rule.documents)
    word = "sale-certificate" if papers else "no-border"
    return Due(word, papers, (found.reason, _reason(rule)))


def notifications(wood: str, item: Item, movement: Movement, rules: Rules) -> Due:
    """EU Annex D: an import notification when the wood enters the EU; no permit."""
    if territory(movement.to, movement.on, rules) != "EU":
        return Due("", (), ())
    if not crosses(movement.start, movement.to, movement.on, rules):
        return Due("", (), ())
    for row in listings_for(wood, movement.on, rules.law):
        if row.regime == "EU" and row.category == "D" and row.reaches(item.origin):
            rule = rule_for("EU", "D", "import", movement.commercial, rules)
            reason = Reason(f"{row.taxon}: {row.category_words}.", row.locator, row.source, row.evidence)
            more = (_reason(rule),) if rule else ()
            return Due("", (document("import-notification", rules),), (reason, *more))
    return Due("", (), ())
