"""A wood in the air of a room: moisture, weight, movement, strength there, each with its rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material, shown
from woodref.errors import BadRequest, echo
from woodref.science import density, moisture
from woodref.selection.movement import leaf_words, movement_per_100
from woodref.units import celsius, quantity

#: the moisture that figures are held at [%]
AT = 12.0
#: handbook's default where Table 5-13 names no other (FPL-GTR-282 Table 5-13)
INTERSECTION = 25.0
#: treatments after which wood takes up clearly less water
HOLDS_LESS = ("thermally-treated", "resin-treated")


@dataclass(frozen=True)
class Air:
    """rh: share; temperature: deg C."""

    rh: float
    temperature: float


@dataclass(frozen=True)
class There:
    """One thing worked out for the room: sentence, value in the unit, the rule used."""

    property: str
    sentence: str
    value: float
    unit: str
    rule: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "property": self.property,
            "value": round(self.value, 4),
            "unit": self.unit,
            "evidence": "estimated",
            "rule": self.rule,
            "sentence": self.sentence,
        }


def air(texts: tuple[str, ...]) -> Air | None:
    """'rh=45' and 'temperature=20C' -> the air; None when nothing is asked. BadRequest otherwise."""
    if not texts:
        return None
    given: dict[str, float] = {}
    for text in texts:
        name, sign, value = text.partition("=")
        if name.strip() not in ("rh", "temperature") or not sign:
            raise BadRequest(f"{echo(text)} is not known", expected="rh=45 or temperature=20C")
        if name.strip() == "rh":
            given["rh"] = float(quantity(value, "%").to("%").value) / 100
        else:
            given["temperature"] = celsius(value)
    if "rh" not in given:
        raise BadRequest("the relative humidity is missing", expected="--at rh=45")
    return Air(given["rh"], given.get("temperature", 20.0))


def in_the_room(material: Material, where: Air, system: str = "metric") -> list[There]:
    """Moisture, density, movement from 12 % and stiffness of a wood in the air given."""
    mc = moisture.equilibrium(where.rh, where.temperature)
    said = f"It settles at about {mc:.1f} % moisture (any wood, give or take a point or two)."
    if material.kind == "core" or (material.made_from or {}).get("process") in HOLDS_LESS:
        said = (
            f"Plain wood settles at about {mc:.1f} % moisture; boards, heated wood and resin-treated wood "
            "hold less, and how much is not known here."
        )
    out = [
        There(
            "moisture",
            said,
            mc,
            "%",
            "Wood Handbook Eq. 4-5",
        )
    ]
    basic, total = material.figure("basic_density"), material.figure("shrinkage_volumetric")
    at_12 = material.figure("density")
    if basic is not None and at_12 is not None:
        # the change is reckoned from basic density and laid on the figure at 12 %, so that both agree
        swell = total.typical if total else None
        change = density.density_at(basic.typical, mc, swell) / density.density_at(basic.typical, AT, swell)
        weight = at_12.typical * change
        text, unit = shown("density", weight, system)
        rule = "Wood Handbook Eq. 4-9, 4-13, 4-14 from the weight at 12 %"
        out.append(There("density", f"It weighs about {text} {unit} there.", weight, "kg/m3", rule))
    out += _movement(material, mc, system)
    out += _strength(material, mc, system)
    return out


def _movement(material: Material, mc: float, system: str) -> list[There]:
    out = []
    for axis, cut in (("tangential", "crown or peeled"), ("radial", "quarter cut")):
        moved = movement_per_100(material, axis, AT, mc)
        if moved is None:
            continue
        size, change = leaf_words(moved[0], system)
        verb = "wider" if moved[0] > 0 else "narrower"
        beyond = "" if 6 <= mc <= 14 else " (outside 6 to 14 %, where the rule is rough)"
        out.append(
            There(
                f"movement_{axis}",
                f"A {cut} leaf {size} wide at {AT:g} % is {change} {verb} there{beyond}.",
                moved[0],
                "mm per 100 mm",
                "Wood Handbook Eq. 13-2",
            )
        )
    return out


def _green_for(dry: Figure, others: tuple[Figure, ...]) -> Figure | None:
    """The green figure that goes with a dry one: of the same source before another's, of the same
    standard of specimen before another; the same wood always."""

    def standard(figure: Figure) -> str:
        return str(figure.condition.get("set", "")).partition(",")[0]

    fit = [
        f
        for f in others
        if f.condition.get("mc") == "green"
        and f.condition.get("method") is None
        and f.for_taxon == dry.for_taxon
    ]
    return min(fit, key=lambda f: (f.source != dry.source, standard(f) != standard(dry)), default=None)


def _place(figure: Figure) -> str:
    return " ".join(part for part in (figure.source, figure.locator) if part)


def _strength(material: Material, mc: float, system: str) -> list[There]:
    """Stiffness and bending strength there, where a green value is held; the rule names its source."""
    point = material.figure("intersection_moisture")
    out = []
    for name, word in (("moe", "stiffness"), ("mor", "strength in bending")):
        held = material.figures.get(name)
        if held is None or held.preferred is None:
            continue
        dry = held.preferred
        green = _green_for(dry, held.others)
        if green is None:
            continue
        at = point.typical if point else INTERSECTION
        value = moisture.strength_at(dry.typical, green.typical, mc, at)
        text, unit = shown(name, value, system)
        low = " Below about 5 % wood may get weaker again." if mc < 5 else ""
        out.append(
            There(
                name,
                f"Its {word} is about {text} {unit} there.{low}",
                value,
                dry.unit,
                f"Wood Handbook Eq. 5-3 from the 12 % value and the green one of {_place(green)}",
            )
        )
    return out
