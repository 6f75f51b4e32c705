"""The main job: a wood that cannot be had, and what may stand in for it, ranked and explained.

A candidate is a material with a country of harvest. `ranked` holds those with at least one growing
country where no listing restricts them; `with_papers` those lawful only with papers; `left_out`
those barred, with the reason; `cannot_say` those of which a deciding fact is not known; `low_coverage`
those of which too little is known to be ranked.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, CannotAnswer
from woodref.selection import balance, explain, status, whynot, words
from woodref.selection.answer import Answer
from woodref.selection.columns import Columns, columns
from woodref.selection.estimates import RULES, estimated
from woodref.selection.onhand import Shelf
from woodref.selection.placing import ENOUGH_KNOWN, Told, fill
from woodref.selection.ranking import asked_of, rank
from woodref.selection.request import Request, check
from woodref.selection.roles import OWN, WEIGHTS, Profile
from woodref.selection.wanted import Wanted, of_description, of_material

if TYPE_CHECKING:
    from woodref.selection.among import Among

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
    target = catalogue.material(matched.id) if matched else None
    materials, table = _woods(request, catalogue) if own is None else _listed(own, target, request, catalogue)
    if request.estimates:
        target = estimated(target) if target else None
    wanted = of_material(target, request.state) if target else of_description(like, catalogue, request.state)
    profile = request.profile or Profile(request.role, WEIGHTS[request.role])
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
    told = Told(answer, materials, table, ranking, profile, catalogue, balanced, shelf, own)
    fill(told)
    answer.opening += _verdict(answer)
    answer.closing = _closing(catalogue)
    if own is not None:
        answer.closing[1:1] = own.closing(request.on, catalogue)
    if why_not is not None:
        of_list = own is not None and why_not.startswith("my/")
        asked = own.wood(why_not, catalogue) if own and of_list else catalogue.material(why_not)
        answer.why_not = whynot.sentences(answer, asked)
    answer.ranked = answer.ranked.first(request.rows)
    return answer


def _woods(request: Request, catalogue: Catalogue) -> tuple[Sequence[Material], Columns]:
    """All woods and their columns, laid out once for a catalogue."""
    if not request.estimates:
        woods: Sequence[Material] = catalogue.materials()
    else:
        woods = catalogue.remembered("estimated", lambda: [estimated(m) for m in catalogue.materials()])
    asked = ("columns", request.state, request.estimates)
    return woods, catalogue.remembered(asked, lambda: columns(woods, catalogue, request.state))


def _listed(
    own: Among, target: Material | None, request: Request, catalogue: Catalogue
) -> tuple[Sequence[Material], Columns]:
    """The woods of a user's own list, with the target, and their columns."""
    woods = [m for m in catalogue.materials() if m.id in own.beside or (target and m.id == target.id)]
    woods += own.materials
    if request.estimates:
        woods = [estimated(m) for m in woods]
    return woods, columns(woods, catalogue, request.state)


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
