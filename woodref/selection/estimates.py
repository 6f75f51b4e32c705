"""What a wood lacks, worked out from its weight when a person asks for it (--estimates).

Nothing of this is stored. Every figure made here is `estimated` by a rule of data/sources.yaml, names the
figures it rests on and the error it adds, and stands only where no figure is held in the reference
condition. Made sheets, boards and treated wood get none: the rules are of clear wood.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial

from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Notice
from woodref.errors import BadQuantity
from woodref.science import estimates

STRENGTH = "rule-strength-from-weight"
FROM_WEIGHT = "rule-shrinkage-from-weight"
FROM_AXES = "rule-shrinkage-from-axes"
RATIOS = "rule-class-ratios"
#: the surer axis first
AXES = ("tangential", "radial")
RULES = (STRENGTH, FROM_WEIGHT, FROM_AXES, RATIOS)


def estimated(material: Material) -> Material:
    """The material with what it lacks in the reference condition worked out from its weight.

    Filled: stiffness, strength, crushing, shear and hardness from density at 12 %; each shrinkage from the
    others or from basic density; elastic ratios as means of the class. A held preferred figure always
    stays; figures held in another condition stay among the others. Anything but a species comes back as it
    is; a wood outside `science.estimates.WEIGHTS`, or without a density, gets what does not need it.
    """
    if material.kind != "species":
        return material
    made: dict[str, Figure] = {}
    for figure in (*_strength(material), *_shrinkage(material), *ratios(material)):
        if material.figure(figure.name) is None and _plausible(figure):
            made.setdefault(figure.name, figure)
    if not made:
        return material
    filled = {
        name: Figures(figure, material.figures[name].others if name in material.figures else ())
        for name, figure in made.items()
    }
    return replace(material, figures=material.figures | filled)


def worked_out(material: Material) -> tuple[Figure, ...]:
    """The figures of an estimated material that were made here, in the order of the properties."""
    held = (material.figure(name) for name in PROPERTIES)
    return tuple(figure for figure in held if figure and figure.source in RULES)


def _plausible(figure: Figure) -> bool:
    """Whether its numbers are such as wood has: a rule may lead out of that from an odd figure."""
    prop = PROPERTIES[figure.name]
    numbers = (n for n in (figure.value, figure.low, figure.high) if n is not None)
    return all(prop.low <= n <= prop.high for n in numbers)


def _strength(material: Material) -> Iterator[Figure]:
    """Table 5-11a from the density at 12 %."""
    weight, group = material.figure("density"), material.hardness_group
    if weight is None:
        return
    for name in estimates.REGRESSIONS:
        error = estimates.weight_error(name, group, weight.added_error or 0.0)
        work = partial(estimates.from_weight, name, group=group)
        try:
            yield _from(name, STRENGTH, error, work, weight)
        except BadQuantity:  # no wood of that weight stands behind the rule
            return


def _shrinkage(material: Material) -> Iterator[Figure]:
    """Each shrinkage in every way that what is held allows, the surest first."""
    group = material.hardness_group
    held = {axis: material.figure(f"shrinkage_{axis}") for axis in (*AXES, "volumetric")}
    volume, basic, weight = held["volumetric"], material.figure("basic_density"), material.figure("density")
    low, high = estimates.WEIGHTS[group]

    def way(axis: str, rule: str, error: float, work: Callable[..., float], *basis: Figure) -> Figure:
        beneath = (f.added_error or 0.0 for f in basis)
        return _from(f"shrinkage_{axis}", rule, math.hypot(error, *beneath), work, *basis)

    if held["radial"] and held["tangential"]:
        both = (held["radial"], held["tangential"])
        yield way("volumetric", FROM_AXES, estimates.VOLUME_SCATTER, estimates.volumetric_of_axes, *both)
    for axis, other in zip(AXES, reversed(AXES), strict=True):
        share_error, one, beside = estimates.SHARES[group][axis][1], held[axis], held[other]
        if one:
            work = partial(estimates.volumetric_of_axis, axis, group=group)
            yield way("volumetric", FROM_AXES, share_error, work, one)
        if volume:
            work = partial(estimates.axis_of_volume, axis, group=group)
            yield way(axis, FROM_AXES, share_error, work, volume)
        if beside:
            work = partial(estimates.axis_of_other, axis, group=group)
            yield way(axis, FROM_AXES, estimates.AXES_SCATTER, work, beside)
    if basic and weight and low <= weight.typical <= high:
        error = estimates.SHRINKAGE_SCATTER[group]
        yield way("volumetric", FROM_WEIGHT, error, estimates.volumetric_guess, basic)
        for axis in AXES:
            yield way(axis, FROM_WEIGHT, error, partial(estimates.axis_guess, axis, group=group), basic)


def ratios(material: Material) -> Iterator[Figure]:
    """Elastic ratios as the means of the class."""
    for name, of_group in estimates.RATIOS.items():
        value, error = of_group[material.hardness_group]
        table = "Table 5-1" if name.startswith("ratio") else "Table 5-2"
        of = f"fpl-gtr-190: {table}, mean of {material.hardness_group}s"
        yield _figure(name, RATIOS, error, {"value": value}, (of,))


def _from(name: str, rule: str, error: float, work: Callable[..., float], *basis: Figure) -> Figure:
    """A figure worked out from others, a range where the first of them is one. error: all of it [%]."""
    keys = ("value",) if basis[0].value is not None else ("low", "high")
    # more than four figures of a guess would only look well
    numbers = {key: float(f"{work(*(_number(f, key) for f in basis)):.4g}") for key in keys}
    taxon = next((f.for_taxon for f in basis if f.for_taxon), None)
    return _figure(name, rule, error, numbers, tuple(f.name for f in basis), taxon)


def _number(figure: Figure, key: str) -> float:
    """Its value or that end of it; what is typical of it where it has no such number."""
    held: float | None = getattr(figure, key)
    return figure.typical if held is None else held


def _figure(
    name: str,
    rule: str,
    error: float,
    numbers: dict[str, float],
    from_: tuple[str, ...],
    taxon: str | None = None,
) -> Figure:
    prop = PROPERTIES[name]
    return Figure(
        name=name,
        value=numbers.get("value"),
        low=numbers.get("low"),
        high=numbers.get("high"),
        unit=prop.unit,
        condition={k: v[0] if isinstance(v, tuple) else v for k, v in prop.reference.items()},
        source=rule,
        locator=None,
        evidence="estimated",
        for_taxon=taxon,
        from_=from_,
        added_error=float(round(error)),
    )


def estimate_notices(materials: Iterable[Material]) -> list[Notice]:
    """What a person who asked for estimates should know of these materials, as estimated() left them."""
    out = []
    for material in materials:
        made = len(worked_out(material))
        if material.kind != "species":
            says = (
                f"Nothing is worked out for {material.name}: the rules are of clear wood, not of made "
                "sheets, boards and treated wood."
            )
        elif made:
            figures = "1 figure that is" if made == 1 else f"{made} figures that are"
            says = (
                f"{material.name}: {figures} not known here stand worked out (--estimates), most from its "
                "weight alone: good for sorting woods, no measurement."
            )
        else:
            continue
        out.append(Notice("estimates", says))
    return out


def estimate_sentences(materials: Iterable[Material], names: Iterable[str]) -> list[str]:
    """For some properties of many woods: how many are worked out here, by which rule, with what error."""
    woods = list(materials)
    out = []
    for name in names:
        rules: dict[str, list[float]] = {}
        for material in woods:
            figure = material.figure(name)
            if figure and figure.source in RULES:
                rules.setdefault(figure.source, []).append(figure.added_error or 0.0)
        for rule, errors in rules.items():
            asks = PROPERTIES[name].asks
            least, most = min(errors), max(errors)
            error = f"{least:g}" if least == most else f"{least:g} to {most:g}"
            count = "1 wood" if len(errors) == 1 else f"{len(errors)} woods"
            out.append(
                f"{asks[0].upper()}{asks[1:]} of {count} is worked out by {rule}, which adds about {error} % "
                "of error (--estimates)."
            )
    return out
