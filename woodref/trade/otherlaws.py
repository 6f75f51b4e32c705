"""What holds whether or not a treaty lists the wood: timber law, plant import, formaldehyde, bans."""

from __future__ import annotations

from dataclasses import dataclass

from woodref.trade.coverage import form_in_law
from woodref.trade.listings import stands
from woodref.trade.shapes import Applies, Ban, Item, Movement, OtherLaw, Reason, Rules, Suspension
from woodref.trade.territory import covers, crosses, territory

#: forms that are plywood, board or glued sheet by themselves
PANELS = frozenset({"plywood", "panel-veneered", "fibreboard", "particleboard", "reconstituted-veneer"})


@dataclass(frozen=True)
class ExportRule:
    """A national ban or a suspension met on the way out. stops: nothing may leave."""

    stops: bool
    reason: Reason
    law: Applies


def export_rules(
    wood: str, item: Item, movement: Movement, rules: Rules, covered: bool = True
) -> list[ExportRule]:
    """Bans of the country of harvest on what leaves it, and suspensions of trade with it.

    covered: whether a listing covers this form; a suspension under the treaty speaks of nothing else.
    """
    if not crosses(movement.start, movement.to, movement.on, rules):
        return []
    out: list[ExportRule] = []
    for ban in rules.bans_of.get(movement.start, ()):
        if _ban_meets(ban, wood, item, movement):
            words = f"{rules.name(ban.country)}: {ban.words}"
            law = f"Export rule of {rules.name(ban.country)}"
            out.append(_export_rule("export-ban", law, ban.effect == "ban", words, ban))
    for stop in rules.suspensions:
        if stop.country in (item.origin, movement.start) and _suspension_meets(
            stop, wood, item, movement, rules, covered
        ):
            words = f"{rules.name(stop.country)}: {stop.words}"
            law = f"Trade suspended by {stop.by}"
            out.append(_export_rule("trade-suspension", law, True, words, stop))
    return out


def _export_rule(code: str, law: str, stops: bool, words: str, row: Ban | Suspension) -> ExportRule:
    applies = Applies(
        code, law, True, words, None, row.valid_from, row.id, row.source, row.evidence, "recalled"
    )
    return ExportRule(stops, Reason(words, row.id, row.source, row.evidence), applies)


def _suspension_meets(
    stop: Suspension, wood: str, item: Item, movement: Movement, rules: Rules, covered: bool
) -> bool:
    """Whether a suspension of trade with this country reaches this wood and form."""
    if not stands(stop.valid_from, stop.valid_to, movement.on):
        return False
    if stop.taxon not in (wood, wood.split()[0]):
        return False
    if stop.forms is not None and form_in_law(item) not in stop.forms:
        return False
    if stop.by == "CITES":
        return covered
    return territory(movement.to, movement.on, rules) == stop.by


def _ban_meets(ban: Ban, wood: str, item: Item, movement: Movement) -> bool:
    """Whether a ban of the country that is left reaches this wood, grown there, in this form."""
    home = item.origin in (None, movement.start)
    if not home or not stands(ban.valid_from, ban.valid_to, movement.on):
        return False
    if form_in_law(item) not in ban.forms:
        return False
    if ban.taxa is not None and wood not in ban.taxa and wood.split()[0] not in ban.taxa:
        return False
    grown = item.planted or (item.planted is None and item.source_code in ("A", "Y", "D"))
    return not (ban.natural_forest_only and grown)


def other_laws(
    item: Item, movement: Movement, rules: Rules, listing_papers: bool, stops: list[ExportRule]
) -> list[Applies]:
    """Every law beside the listings that this movement meets, one row a code; export rules first.

    applies: True, or None where a deciding fact (size of business, day of harvest, shape) is missing.
    """
    best: dict[str, Applies] = {}
    # a row that only speaks of other goods never stands before one of the same law that speaks of these
    elsewhere: dict[str, Applies] = {}
    for found in stops:
        best.setdefault(found.law.code, found.law)
    form = form_in_law(item)
    named = rules.forms[form].words if form in rules.forms else form
    for row in rules.other_laws:
        met = _meets(row, item, movement, rules)
        if met is False:
            if _meets(row, item, movement, rules, any_form=True) is not False:
                elsewhere.setdefault(row.code, _applies(row, False, f"Does not reach {named}."))
            continue
        if not row.reaches:
            if met and row.code not in best:
                best[row.code] = _applies(row, False, row.do)
            continue
        do = row.do
        if met is None:
            do += f" Whether it applies turns on {_open_question(row, item, movement)}."
        if row.listing_papers_satisfy and listing_papers:
            do += " Goods with the listing papers count as lawful here."
        old = best.get(row.code)
        if old is None or old.applies is False or (old.applies is None and met):
            best[row.code] = _applies(row, met, do)
    return sorted((elsewhere | best).values(), key=lambda law: law.applies is False)


def _applies(row: OtherLaw, met: bool | None, do: str) -> Applies:
    return Applies(
        row.code,
        row.law,
        met,
        do,
        row.limit if met is not False else None,
        row.valid_from,
        row.citation,
        row.source,
        row.evidence,
        row.date_evidence,
    )


def _meets(
    row: OtherLaw, item: Item, movement: Movement, rules: Rules, any_form: bool = False
) -> bool | None:
    """True, False, or None where a fact is missing that only this row asks for. any_form: leave the
    form out of the question."""
    day = movement.on
    if not stands(row.valid_from, row.valid_to, day) or (row.commercial_only and not movement.commercial):
        return False
    reached = row.forms is None or item.form in row.forms or form_in_law(item) in row.forms
    if not reached and not any_form:
        return False
    border = crosses(movement.start, movement.to, day, rules)
    if row.when == "import" and not (border and covers(row.places, movement.to, day, rules)):
        return False
    if row.when == "export" and not (border and covers(row.places, movement.start, day, rules)):
        return False
    if row.when == "sale" and not (movement.commercial and covers(row.places, movement.to, day, rules)):
        return False
    unknown = row.composite_only and item.form not in PANELS and item.shape is None
    if row.business:
        if movement.business is None:
            unknown = True
        elif movement.business not in row.business:
            return False
    if row.harvested_from and item.acquired and item.acquired < row.harvested_from:
        return False
    if row.harvested_before is not None:
        if item.acquired is None:
            unknown = True
        elif item.acquired >= row.harvested_before:
            return False
    if row.shape != "any":
        if item.shape in (None, "partly-flat"):
            unknown = True
        elif item.shape != row.shape:
            return False
    return None if unknown else True


def _open_question(row: OtherLaw, item: Item, movement: Movement) -> str:
    asks = []
    if row.business and movement.business is None:
        asks.append("the size of the importing business")
    if row.harvested_before is not None and item.acquired is None:
        asks.append("the day of harvest")
    if row.composite_only and item.form not in PANELS and item.shape is None:
        asks.append("whether plywood, board or glued sheet is inside")
    if row.shape != "any" and item.shape is None:
        asks.append("whether the part is flat or curved")
    elif row.shape != "any" and item.shape == "partly-flat":
        asks.append("how much of the part is flat: ask")
    return " and ".join(asks)
