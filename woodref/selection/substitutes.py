"""The main job: a wood that cannot be had, and what may stand in for it, ranked and explained.

A candidate is a material with a country of harvest. `ranked` holds those with at least one growing
country where no listing restricts them; `with_papers` those lawful only with papers; `left_out`
those barred, with the reason; `cannot_say` those of which a deciding fact is not known; `low_coverage`
those of which too little is known to be ranked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, CannotAnswer
from woodref.selection import balance, explain, gates, legs, status, whynot, words
from woodref.selection.answer import GROUPS, Answer, Row
from woodref.selection.certainty import order_holds, undominated
from woodref.selection.columns import Columns, columns
from woodref.selection.criteria import detail
from woodref.selection.estimates import RULES, estimated
from woodref.selection.onhand import OnHand, Shelf, on_shelf
from woodref.selection.ranking import Ranking, asked_of, rank
from woodref.selection.request import Request, check
from woodref.selection.roles import OWN, VENEER_ROLES, WEIGHTS, Profile
from woodref.selection.wanted import Wanted, of_description, of_material

if TYPE_CHECKING:
    from woodref.selection.among import Among

#: below this share of known weight a row stands apart
ENOUGH_KNOWN = 0.6
#: that nothing beats a row on every count is said when no more than this share of the ranked can say it
TELLING = 0.5
#: when no row reaches this, nothing close is known
CLOSE = 0.3


def substitutes(
    request: Request,
    matched: Matched | None,
    catalogue: Catalogue,
    *,
    like: tuple[str, ...] = (),
    face: Material | None = None,
    why_not: str | None = None,
    shelf: Shelf | None = None,
    own: Among | None = None,
) -> Answer:
    """Rank what may stand in for the matched wood, or for what `like` describes.

    face: the material of request.face; why_not: id of a wood (with own, or of a row of the list) whose place
    is to be explained; shelf: only woods on hand, judged by where those grew (with request.in_stock); own:
    only what stands on a list of the user's own (with request.among). Raises BadRequest for what contradicts
    itself, CannotAnswer when nothing of the target is known that the role asks for.
    """
    check(request, catalogue)
    if request.role not in WEIGHTS:
        raise BadRequest(f'"{request.role}" is not a role', expected=", ".join(WEIGHTS))
    materials = catalogue.materials()
    target = catalogue.material(matched.id) if matched else None
    if own is not None:
        materials = [m for m in materials if m.id in own.beside or (target and m.id == target.id)]
        materials += own.materials
    if request.estimates:
        materials = [estimated(m) for m in materials]
        target = estimated(target) if target else None
    wanted = of_material(target, request.state) if target else of_description(like, catalogue, request.state)
    profile = request.profile or Profile(request.role, WEIGHTS[request.role])
    table = columns(materials, catalogue, request.state)
    balanced = None
    if request.face and face is not None:
        wanted, table, balanced = balance.for_face(request.face, face, wanted, table, materials)
    _askable(wanted, profile)
    ranking = rank(table, wanted, profile, request.stain_ok)
    origins = status.origins(target, request.on, catalogue) if target else None
    answer = Answer(request, wanted, origins, _opening(wanted, origins, catalogue))
    answer.opening += _thin(wanted, profile)
    if own is not None:
        answer.among = own.held
        answer.opening += own.opening(target)
    answer.notices = [
        *catalogue.notices,
        *(matched.notices if matched else ()),
        *status.law_notices(request.on, catalogue),
        *_gaps(wanted, profile),
        *_remarks(request, table),
    ]
    answer.stamp = catalogue.stamp
    for index, material in enumerate(materials):
        mine = on_shelf(material, shelf) if shelf is not None else None
        if shelf is not None and mine is None:
            answer.not_held += 1
            continue
        if own is not None and not own.rows(material):
            continue
        if target is None or material.id != target.id or (request.natural and status.planted(material)):
            found = detail(ranking, table, index, wanted, material, catalogue, profile)
            known = mine.known if mine else None
            row = Row(material, found, status.origins(material, request.on, catalogue, known))
            if own is not None:
                row = replace(row, on_list=own.rows(material), cautions=own.cautions(material, request.role))
            if own is not None and material.id in own.unknown:
                _place_own(answer, row, catalogue, balanced, own)
            else:
                _place(answer, row, catalogue, balanced, mine)
    _order(answer, table, ranking, profile)
    answer.opening += _verdict(answer)
    answer.closing = _closing(catalogue)
    if own is not None:
        answer.closing[1:1] = own.closing(request.on, catalogue)
    if why_not is not None:
        of_list = own is not None and why_not.startswith("my/")
        asked = own.wood(why_not, catalogue) if own and of_list else catalogue.material(why_not)
        answer.why_not = whynot.sentences(answer, asked)
    answer.ranked = answer.ranked[: request.rows]
    return answer


def _askable(wanted: Wanted, profile: Profile) -> None:
    """Refuse a target of which the role can ask nothing."""
    asked = asked_of(wanted, profile.weights)
    if not set(asked) - set(OWN):
        needed = ", ".join(explain.criterion_name(n) for n in profile.weights if n not in OWN)
        if wanted.material is None:
            raise CannotAnswer(
                f"nothing that the role {profile.role} asks for is described",
                expected=f"some of: {needed}",
                next="Say more with --like PROPERTY=VALUE, such as --like density=850.",
            )
        raise CannotAnswer(
            f"nothing that the role {profile.role} asks for is known of {wanted.name}",
            expected=f"some of: {needed}",
            next=f"`woodref show {wanted.id}` prints what is known; describe it with --like, "
            "or try --estimates.",
        )
    missing = [name for name in profile.keep if name not in asked]
    if missing:
        raise CannotAnswer(
            f"--keep {missing[0]}: the {explain.criterion_name(missing[0])} of {wanted.name} is not known",
            next=f"Describe it instead: --like {missing[0]}=VALUE, or try --estimates.",
        )


def _thin(wanted: Wanted, profile: Profile) -> list[str]:
    """A warning where most of what the role turns on is not known of the target itself."""
    # what --estimates worked out is no second witness
    asked = [
        n
        for n in asked_of(wanted, profile.weights)
        if n not in OWN and not any(f.source in RULES for f in wanted.figures.get(n, ()))
    ]
    can = {n: w for n, w in profile.weights.items() if n not in OWN}
    if wanted.material is None or sum(can.get(n, 0) for n in asked) >= ENOUGH_KNOWN * sum(can.values()):
        return []
    if not asked:
        return [
            f"Of {wanted.name} itself nothing that the role turns on is known but what is worked out: "
            "take the order for little."
        ]
    told = words.joined([explain.criterion_name(n) for n in asked])
    return [
        f"Of {wanted.name} itself only {told} {'is' if len(asked) == 1 else 'are'} known of what the role "
        "turns on: take the order for little."
    ]


def _gaps(wanted: Wanted, profile: Profile) -> list[Notice]:
    """What the role asks for and the target does not tell, said once."""
    asked = asked_of(wanted, profile.weights)
    gaps = [explain.criterion_name(n) for n in profile.weights if n not in asked]
    if not gaps or wanted.material is None:
        return []
    verb, it = ("is", "it is") if len(gaps) == 1 else ("are", "they are")
    told = f"Of {wanted.name} the {words.joined(gaps)} {verb} not known, so {it} not compared."
    return [Notice("target-figure-missing", told)]


def _remarks(request: Request, table: Columns) -> list[Notice]:
    """What an option asked for could not do, and what --estimates means here."""
    out = []
    if request.state != "planed" and not (table.labs == table.labs).any():
        out.append(
            Notice(
                "no-colour-in-state",
                f"No wood here has a measured colour {request.state.replace('-', ' ')}: colours go by class.",
            )
        )
    if request.estimates:
        out.append(
            Notice(
                "estimates",
                "With --estimates what a wood lacks is worked out from its weight: such figures are one "
                "witness, not several, and their error widens what is said.",
            )
        )
    return out


def _place(
    answer: Answer, row: Row, catalogue: Catalogue, balanced: Callable[[Material], str | None] | None,
    mine: OnHand | None = None,
) -> None:  # fmt: skip
    """Put one material into its group, with the reasons. mine: what of it is on hand, which no longer has to
    come in."""
    request, material, origins = answer.request, row.material, row.origins
    if request.origin:
        origins = status.only_from(origins, request.origin)
    if request.natural and material.id == answer.wanted.id:
        origins = status.only_planted(origins, material)
    solid = request.role not in VENEER_ROLES
    grown = mine.known if mine and mine.known else material.countries
    stopped = [
        s
        for c in grown
        for s in _stops(material, c, request, catalogue, solid)
        if mine is None or s.leg != legs.INCOMING
    ]
    origins = status.without(origins, {s.origin for s in stopped})
    wanted = answer.wanted
    first = explain.dust_first(wanted, material)
    reasons = explain.reasons(row.found, wanted, material)
    sizes = None if mine else gates.piece_words(material, request.piece)
    for more in (balanced(material) if balanced else None, sizes):
        if more:
            reasons.append(more)
    row = replace(
        row,
        origins=origins,
        reasons=tuple(first + reasons),
        cautions=row.cautions
        + tuple(
            explain.cautions(material, origins, catalogue, bool(first)) + explain.stopped(stopped, catalogue)
        ),
        use=tuple(explain.in_use(wanted, material, request.role)),
    )
    barred = gates.barred(material, origins, request, catalogue)
    if not barred and stopped and not origins.free and not origins.listed:
        barred = list(dict.fromkeys(explain.stop_words(s) for s in stopped))
    unknown = gates.unknown(material, request)
    if mine and not mine.known and origins.listed and origins.free:
        unknown.append("Where the wood on hand grew is not known, and from some countries it is listed.")
    if barred:
        answer.left_out.append(replace(row, because=tuple(barred)))
    elif unknown:
        answer.cannot_say.append(replace(row, because=tuple(unknown)))
    elif not origins.free:
        text = status.origin_sentence(material, origins, catalogue)
        answer.with_papers.append(replace(row, because=(text,)))
    elif row.found.coverage < ENOUGH_KNOWN or _blind(row, request):
        answer.low_coverage.append(replace(row, because=(_too_little(row, request),)))
    else:
        answer.ranked.append(row)


def _place_own(
    answer: Answer, row: Row, catalogue: Catalogue, balanced: Callable[[Material], str | None] | None,
    own: Among,
) -> None:  # fmt: skip
    """Put a row of a list that is no wood of the catalogue into its group. Where too little is told to rank
    it beside others it stands in the order of what is told."""
    from woodref.selection.among import standing
    from woodref.selection.ownstatus import NOT_KNOWN_SHORT

    request, material = answer.request, row.material
    group, because, law = standing(material, own.unknown[material.id], own, request, catalogue)
    first = explain.dust_first(answer.wanted, material)
    reasons = [*first, *explain.reasons(row.found, answer.wanted, material)]
    if balanced and (text := balanced(material)):
        reasons.append(text)
    row = replace(
        row,
        reasons=tuple(reasons),
        cautions=(*row.cautions, *law, *explain.cautions(material, row.origins, catalogue, bool(first))),
        use=tuple(explain.in_use(answer.wanted, material, request.role)),
    )
    if not group and (row.found.coverage < ENOUGH_KNOWN or _blind(row, request)):
        group, because = "low_coverage", (_too_little(row, request), *law[:-1], NOT_KNOWN_SHORT)
    getattr(answer, group or "ranked").append(replace(row, because=because))


def _stops(
    material: Material, origin: str, request: Request, catalogue: Catalogue, solid: bool
) -> list[legs.Stop]:
    """What stops it on the way, worked out once for all woods to which the law is the same."""
    made = material.made_from and material.made_from["process"]
    planted = origin in material.grows["plantation"]["countries"]
    asked = ("stops", material.woods, made, origin, planted, request.route, request.on, solid)
    return catalogue.remembered(
        asked, lambda: legs.stops(material, origin, request.route, request.on, catalogue.rules, solid)
    )


#: role -> the one thing it turns on: where that is not known, a wood is not ranked for it
TURNS_ON = {
    "back": "pull", "crossband": "movement", "frame": "movement", "bow": "moe",
    "sounding-plate": "radiation", "drum-shell": "moe",
}  # fmt: skip


def _blind(row: Row, request: Request) -> bool:
    """Whether the one thing the role turns on is asked and not known."""
    turns = row.found.criterion(TURNS_ON.get(request.role, ""))
    return turns is not None and turns.use is None


def _too_little(row: Row, request: Request) -> str:
    """Why a row stands apart."""
    gaps = words.joined([explain.criterion_name(c.property) for c in row.found.criteria if c.use is None])
    if _blind(row, request):
        return f"Not known: {gaps}. The role turns on {explain.criterion_name(TURNS_ON[request.role])}."
    return f"Not known: {gaps}. At least 60 % of what counts must be known."


def _key(row: Row) -> tuple[float, int, float, float, str]:
    """Best first; ties by number outside, colour, how far the numbers are off, id."""
    colour = row.found.criterion("colour")
    use = colour.use if colour and colour.use is not None else 0.0
    outside = sum(c.outside for c in row.found.criteria)
    off = sum(
        abs(c.difference) / c.tolerance * c.weight
        for c in row.found.criteria
        if c.difference is not None and c.tolerance
    )
    return (-row.found.likeness, outside, -use, round(off, 9), row.material.id)


def _order(answer: Answer, table: Columns, ranking: Ranking, profile: Profile) -> None:
    """Sort the groups; number the ranked, mark what nothing beats and how well neighbours' order holds."""
    import numpy as np

    for name in GROUPS:
        getattr(answer, name).sort(key=_key)
    places = np.array([table.place[row.material.id] for row in answer.ranked], dtype=np.int64)
    if not len(places):
        return
    best = undominated(ranking, places)
    # said only where it tells the rows apart
    telling = (explain.UNBEATEN,) if best[: answer.request.rows].mean() <= TELLING else ()
    shown = places[: answer.request.rows + 1]
    holds = order_holds(table, answer.wanted, profile, shown, ranking)
    answer.ranked = [
        replace(
            row,
            rank=k + 1,
            pareto=bool(best[k]),
            order_holds=holds[k] if k < len(holds) else None,
            reasons=(*row.reasons, *(telling if best[k] else ())),
        )
        for k, row in enumerate(answer.ranked)
    ]


def _opening(wanted: Wanted, origins: status.Origins | None, catalogue: Catalogue) -> list[str]:
    material = wanted.material
    if material is None or origins is None:
        return [explain.described(wanted, catalogue)]
    name = f"{material.name} ({material.botanical_name})" if material.botanical_name else material.name
    return [f"{name}: {status.origin_sentence(material, origins, catalogue)}"]


def _verdict(answer: Answer) -> list[str]:
    """What the opening says of the whole: that nothing is there, or nothing close."""
    best = answer.ranked[0] if answer.ranked else None
    if best is None:
        return [_why_empty(answer)]
    if best.found.likeness >= CLOSE:
        return []
    told = [explain.gives_up(row) for row in answer.ranked[:3]]
    return [f"Nothing close is known. {' '.join(told)}"]


def _closing(catalogue: Catalogue) -> list[str]:
    return [
        "Likeness weighs what the role asks for by a shop rule of ours; woods are measured against "
        "how much pieces of one species vary (Wood Handbook Table 5-6). It is a reckoning from tables: lay "
        "sheets side by side before you buy.",
        status.law_caution(catalogue),
    ]


def _why_empty(answer: Answer) -> str:
    """Never an empty table without the reason."""
    counts = [
        (len(answer.with_papers), "lawful only with papers"),
        (len(answer.left_out), "left out"),
        (len(answer.cannot_say), "of which a deciding fact is not known"),
        (len(answer.low_coverage), "of which too little is known"),
    ]
    told = ", ".join(f"{n} {text}" for n, text in counts if n)
    if answer.request.in_stock:
        return (
            f"No wood on hand can stand in{f': {told}' if told else ''}. Leave out --in-stock to see others."
        )
    if answer.among is not None:
        return (
            f"Nothing on {answer.among.words} can be ranked{f': {told}' if told else ''}. Leave out --among "
            "to see what the catalogue has."
        )
    return f"No wood of the catalogue meets what you ask: {told}. Ask for less to see more."
