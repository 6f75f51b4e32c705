"""The main job: a wood that cannot be had, and what may stand in for it, ranked and explained.

A candidate is a material with a country of harvest. `ranked` holds those with at least one growing
country where no listing restricts them; `with_papers` those lawful only with papers; `left_out`
those barred, with the reason; `cannot_say` those of which a deciding fact is not known.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.names import Matched
from woodref.catalogue.properties import wide_column
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadRequest, CannotAnswer, echo
from woodref.selection import explain, legs, status
from woodref.selection.criteria import ROLES, WEIGHTS, Likeness, likeness, value_of

#: below this share of known weight a row stands apart
ENOUGH_KNOWN = 0.6
#: when no row reaches this, nothing close is known
CLOSE = 0.3


@dataclass(frozen=True)
class Request:
    """What is asked. origin: ISO code the wood must come from; kind: only this kind of material."""

    target: str
    role: str
    on: dt.date
    plantation: bool = False
    kind: str | None = None
    origin: str | None = None
    rows: int = 10
    natural: bool = False
    route: legs.Route = field(default_factory=legs.Route)

    def as_dict(self) -> dict[str, Any]:
        return {
            "target": self.target,
            "role": self.role,
            "on": self.on.isoformat(),
            "plantation": self.plantation,
            "kind": self.kind,
            "origin": self.origin,
            "rows": self.rows,
            "natural": self.natural,
            **self.route.as_dict(),
        }


@dataclass(frozen=True)
class Row:
    """One candidate. rank is None outside `ranked`; because says why it is not ranked."""

    material: Material
    found: Likeness
    origins: status.Origins
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    rank: int | None = None

    def as_dict(self) -> dict[str, Any]:
        m = self.material
        colour = self.found.criterion("colour")
        return {
            "rank": self.rank,
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "woods": list(m.woods),
            "kind": m.kind,
            "likeness": round(self.found.likeness, 4),
            "known": self.found.known,
            "asked": self.found.asked,
            "colour": {
                "difference": colour.difference if colour else None,
                "class_difference": colour.class_difference if colour else None,
            },
            "plantation": m.grows["plantation"],
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "criteria": [c.as_dict() for c in self.found.criteria],
            "reasons": list(self.reasons),
            "cautions": list(self.cautions),
            "because": list(self.because),
        }

    def flat(self) -> dict[str, Any]:
        """One line for CSV: the names, likeness, preferred figures and origins."""
        m = self.material
        figures = {
            wide_column(n): (f.typical if (f := m.figure(n)) else None)
            for n in ("density", "moe", "side_hardness", "shrinkage_radial", "shrinkage_tangential")
        }
        colour = self.found.criterion("colour")
        return {
            "rank": self.rank,
            "id": m.id,
            "name": m.name,
            "botanical_name": m.botanical_name,
            "kind": m.kind,
            "likeness": round(self.found.likeness, 4),
            "known": self.found.known,
            "asked": self.found.asked,
            "colour": colour.class_difference if colour else None,
            **figures,
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "reasons": " ".join(self.reasons),
        }


@dataclass
class Answer:
    """The whole answer; opening and closing are the sentences around the table."""

    request: Request
    target: Material
    target_origins: status.Origins
    opening: list[str]
    ranked: list[Row] = field(default_factory=list)
    low_coverage: list[Row] = field(default_factory=list)
    with_papers: list[Row] = field(default_factory=list)
    left_out: list[Row] = field(default_factory=list)
    cannot_say: list[Row] = field(default_factory=list)
    closing: list[str] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    stamp: dict[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `substitute`."""

        def rows(group: list[Row]) -> list[dict[str, Any]]:
            return [row.as_dict() for row in group]

        return {
            "query": self.request.as_dict(),
            "target": {
                "id": self.target.id,
                "name": self.target.name,
                "botanical_name": self.target.botanical_name,
                "origins_free": list(self.target_origins.free),
                "origins_listed": list(self.target_origins.listed),
                "listings": [row.as_dict() for row in self.target_origins.rows],
            },
            "role": self.request.role,
            "opening": self.opening,
            "count": len(self.ranked),
            "ranked": rows(self.ranked),
            "low_coverage": rows(self.low_coverage),
            "with_papers": rows(self.with_papers),
            "left_out": rows(self.left_out),
            "cannot_say": rows(self.cannot_say),
            "closing": self.closing,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def substitutes(request: Request, matched: Matched, catalogue: Catalogue) -> Answer:
    """Rank what may stand in for the matched wood.

    Raises BadRequest for an unknown role, kind or country, CannotAnswer when nothing of the target
    is known that the role asks for.
    """
    _check(request, catalogue)
    target = catalogue.material(matched.id)
    weights = WEIGHTS[request.role]
    origins = status.origins(target, request.on, catalogue)
    answer = Answer(request, target, origins, _opening(target, origins, catalogue))
    answer.notices = [
        *catalogue.notices,
        *matched.notices,
        *status.law_notices(request.on, catalogue),
    ]
    answer.stamp = catalogue.stamp
    if not likeness(target, target, weights, catalogue).known:
        raise CannotAnswer(
            f"nothing that the role {request.role} asks for is known of {target.name}",
            next=f"`woodref show {target.id}` prints what is known.",
        )
    missing = [n for n in ("density", "moe", "movement", "side_hardness") if n in weights]
    gaps = [explain.criterion_name(n) for n in missing if value_of(target, n) is None]
    if gaps:
        answer.notices.append(
            Notice(
                "target-figure-missing",
                f"Of {target.name} the {' and the '.join(gaps)} is not known, so it is not compared.",
            )
        )
    for material in catalogue.materials():
        if material.id != target.id or (request.natural and status.planted(material)):
            _place(answer, material, target, weights, catalogue)
    _order(answer)
    answer.closing = _closing(answer, catalogue)
    return answer


def _check(request: Request, catalogue: Catalogue) -> None:
    if request.role not in ROLES:
        raise BadRequest(f'"{request.role}" is not a role', expected=", ".join(ROLES))
    route = request.route
    for option, code in (
        ("--origin", request.origin),
        ("--home", route.home),
        ("--veneer-from", route.veneer_from),
        ("--sell-to", route.sell_to),
    ):
        if code is not None and code not in catalogue.countries:
            raise BadRequest(
                f"{option} {echo(code)} is not a country code",
                expected="an ISO 3166-1 code of two capitals, such as GH for Ghana",
            )
    if route.sell_to and not route.home:
        raise BadRequest("--sell-to needs --home", next="Say with --home CC where the part is made.")


def _place(
    answer: Answer,
    material: Material,
    target: Material,
    weights: dict[str, float],
    catalogue: Catalogue,
) -> None:
    """Put one material into its group, with the reasons."""
    request = answer.request
    found = likeness(target, material, weights, catalogue)
    origins = status.origins(material, request.on, catalogue)
    if request.origin:
        origins = status.only_from(origins, request.origin)
    if request.natural and material.id == target.id:
        origins = status.only_planted(origins, material)
    stopped = [s for c in material.countries for s in legs.stops(material, c, request.route, request.on,
                                                                 catalogue.rules)]  # fmt: skip
    origins = status.without(origins, {s.origin for s in stopped})
    row = Row(
        material,
        found,
        origins,
        tuple(explain.reasons(found, target, material)),
        tuple(explain.cautions(target, material, origins, catalogue) + _stopped(stopped, catalogue)),
    )
    barred = _barred(row, request, catalogue)
    if not barred and stopped and not origins.free and not origins.listed:
        barred = list(dict.fromkeys(f"On the leg {s.leg}: {s.sentence}" for s in stopped))
    unknown = _unknown(row, request)
    if barred:
        answer.left_out.append(replace(row, because=tuple(barred)))
    elif unknown:
        answer.cannot_say.append(replace(row, because=tuple(unknown)))
    elif not origins.free:
        text = status.origin_sentence(material, origins, catalogue)
        answer.with_papers.append(replace(row, because=(text,)))
    elif found.coverage < ENOUGH_KNOWN or _blind(row, request):
        answer.low_coverage.append(row)
    else:
        answer.ranked.append(row)


def _stopped(stopped: list[legs.Stop], catalogue: Catalogue) -> list[str]:
    """Which origins fall away on the route, on which leg, and why."""
    groups: dict[tuple[str, str], list[str]] = {}
    for stop in stopped:
        why = stop.sentence.partition(": ")[2] or stop.sentence
        groups.setdefault((stop.leg, why.rstrip(".")), []).append(stop.origin)
    return [
        f"Not from {status.country_names(sorted(set(codes)), catalogue)}, on the leg {leg}: {why}."
        for (leg, why), codes in groups.items()
    ]


def _barred(row: Row, request: Request, catalogue: Catalogue) -> list[str]:
    """Every reason that keeps a material out altogether."""
    material = row.material
    out = []
    if request.kind and material.kind != request.kind:
        out.append(f"Its kind is {material.kind}; only {request.kind} was asked for.")
    if request.origin and request.origin not in material.countries:
        out.append(f"It is not harvested in {catalogue.countries[request.origin]}, as far as we know.")
    if request.plantation and material.grows["plantation"]["grown"] == "no":
        out.append("It is not planted for timber to speak of.")
    if request.role in ("face", "back", "core", "crossband") and material.veneer["sold"] == "no":
        out.append("It is not sold as veneer.")
    if request.role == "crossband" and material.look["pores"] == "ring":
        out.append("Its hard growth rings print through a thin face.")
    made = material.made_from
    if request.role in ("core", "crossband") and made and made["process"] == "reconstituted":
        out.append("A decorative sheet, too dear and too weak across for the plies within.")
    if row.origins.barred:
        out.append(status.origin_sentence(material, row.origins, catalogue))
    return out


def _unknown(row: Row, request: Request) -> list[str]:
    """Deciding facts that are not known."""
    material = row.material
    out = []
    if not material.countries:
        out.append("No country of harvest is known, so its listing cannot be judged.")
    if request.role in ("face", "back") and material.veneer["sold"] == "not-known":
        out.append("It is not known whether it is sold as veneer.")
    if request.plantation and material.grows["plantation"]["grown"] == "unknown":
        out.append("Whether it is planted for timber is not known.")
    return out


def _blind(row: Row, request: Request) -> bool:
    """Whether the one thing the role turns on is not known: how much a back or crossband moves."""
    movement = row.found.criterion("movement")
    return request.role in ("back", "crossband") and movement is not None and movement.use is None


def _key(row: Row) -> tuple[float, int, float, str]:
    """Best first; ties by number outside, colour, id."""
    colour = row.found.criterion("colour")
    use = colour.use if colour and colour.use is not None else 0.0
    outside = sum(c.outside for c in row.found.criteria)
    return (-round(row.found.likeness, 12), outside, -use, row.material.id)


def _order(answer: Answer) -> None:
    for name in ("ranked", "low_coverage", "with_papers", "left_out", "cannot_say"):
        getattr(answer, name).sort(key=_key)
    kept = answer.ranked[: answer.request.rows]
    answer.ranked = [replace(row, rank=place) for place, row in enumerate(kept, 1)]


def _opening(target: Material, origins: status.Origins, catalogue: Catalogue) -> list[str]:
    name = f"{target.name} ({target.botanical_name})" if target.botanical_name else target.name
    return [f"{name}: {status.origin_sentence(target, origins, catalogue)}"]


def _closing(answer: Answer, catalogue: Catalogue) -> list[str]:
    out = []
    best = answer.ranked[0] if answer.ranked else None
    if best is None:
        answer.opening.append(_why_empty(answer))
    elif best.found.likeness < CLOSE:
        lost = [explain.criterion_name(c.property) for c in best.found.criteria if c.outside]
        gives = f" {best.material.name}, the nearest, gives up {', '.join(lost)}." if lost else ""
        answer.opening.append(f"Nothing close is known.{gives}")
    out.append(
        "Likeness weighs what the role asks for by a shop rule of ours; woods are measured against "
        "how much pieces of one species vary (Wood Handbook Table 5-6)."
    )
    out.append(status.law_caution(catalogue))
    return out


def _why_empty(answer: Answer) -> str:
    """Never an empty table without the reason."""
    counts = [
        (len(answer.with_papers), "lawful only with papers"),
        (len(answer.left_out), "left out"),
        (len(answer.cannot_say), "of which a deciding fact is not known"),
        (len(answer.low_coverage), "of which too little is known"),
    ]
    told = ", ".join(f"{n} {text}" for n, text in counts if n)
    return f"No wood of the catalogue meets what you ask: {told}. Ask for less to see more."
