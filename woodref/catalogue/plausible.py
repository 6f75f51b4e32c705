"""Figures against each other: what one says of a wood makes another likely or odd.

Oddities are warnings, for the source may well print them. A figure whose note says why is left alone.
Distances are taken in logarithms (half and double are as odd as each other) and measured in the scatter of
the species held here about the rule (`science.estimates`). The variation between pieces of one species
(Table 5-6: 22 % for stiffness) is not added to it: a printed figure is the mean of many pieces, and with it
a slip of a factor of two would pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from woodref.catalogue import rules
from woodref.catalogue.dataset import DataSet, Loaded
from woodref.catalogue.findings import Finding
from woodref.catalogue.properties import PROPERTIES, in_reference
from woodref.catalogue.schema import FigureIn, MaterialIn
from woodref.errors import BadQuantity
from woodref.science import estimates, moisture

#: standard deviations beyond which a figure is told as odd
ODD = 3.0
#: times the variation between pieces that a figure from memory may lie beyond those read of its genus
KIN = 2.5
#: half a step of the last printed digit: Table 4-3 prints 0.1 %, Table 13-5 0.00001 a percent
STEP_SHRINKAGE, STEP_MOVEMENT = 0.05, 0.0005
AXES = ("radial", "tangential")


@dataclass(frozen=True)
class Held:
    """A figure in the reference condition: its place, and its value (of a range the middle) and ends in
    the property's unit."""

    name: str
    index: int
    value: float
    low: float
    high: float
    figure: FigureIn

    @property
    def unit(self) -> str:
        """The unit as it follows a number."""
        return "" if PROPERTIES[self.name].unit == "1" else f" {PROPERTIES[self.name].unit}"

    def __str__(self) -> str:
        if self.low < self.high:
            return f"{self.low:.4g} to {self.high:.4g}{self.unit}"
        return f"{self.value:.4g}{self.unit}"

    @property
    def origin(self) -> tuple[object, ...]:
        """Figures of one origin were measured on the same wood."""
        f = self.figure
        return f.source, f.locator, f.for_taxon, f.condition.set_


Figures = dict[str, list[Held]]


def plausible(data: DataSet) -> Iterator[Finding]:
    """Everything odd about the figures of the species, as warnings; swapped shrinkage as an error."""
    woods = [(loaded, _held(loaded.model)) for loaded in data.materials.values()]
    genera = _genera(woods)
    for loaded, figures in woods:
        yield from _swapped(loaded)
        if loaded.model.kind != "species":  # the rules are of clear wood
            continue
        yield from _against_weight(loaded, figures)
        yield from _volume(loaded, figures)
        yield from _movement(loaded, figures)
        yield from _against_kin(loaded, figures, genera.get(_genus(loaded.model), {}))


def _held(material: MaterialIn) -> Figures:
    """The figures in the reference condition and within the property's range (others are told already)."""
    out: Figures = {}
    for name, many in material.figures.items():
        prop = PROPERTIES[name]
        for index, figure in enumerate(many):
            if not in_reference(name, rules.condition_of(figure)):
                continue
            try:
                given = rules.in_unit(figure, prop.unit)
            except BadQuantity:
                continue
            if all(prop.low <= number <= prop.high for number in given.values()):
                value = rules.typical_of(given)
                # a range beside a value is the scatter about it, a range alone says no more than its ends
                ends = (value, value) if "value" in given else (given["low"], given["high"])
                out.setdefault(name, []).append(Held(name, index, value, *ends, figure))
    return out


def _asked(figures: Figures, name: str) -> Iterator[Held]:
    """The figures to judge: read or recalled ones without a note."""
    for one in figures.get(name, []):
        if one.figure.evidence != "estimated" and not one.figure.note:
            yield one


def _beside(one: Held, figures: Figures, name: str, material: MaterialIn) -> Held | None:
    """The figure of another property to lay beside one: of the same origin, else the preferred one."""
    many = figures.get(name, [])
    index = rules.preferred_index(name, material.figures.get(name, []))
    return next((h for h in many if h.origin == one.origin), None) or next(
        (h for h in many if h.index == index), None
    )


def _odd(loaded: Loaded, one: Held, because: str, low: float, high: float) -> Iterator[Finding]:
    """A warning when a figure lies outside low..high, a range when all of it does."""
    if one.low <= high and one.high >= low:
        return
    # near the limit three digits may hide which side a figure lies on
    digits = 3 if f"{one.value:.3g}" not in (f"{low:.3g}", f"{high:.3g}") else 5
    yield loaded.finding(
        ("figures", one.name, one.index),
        f"{one} is odd {because}: {low:.{digits}g} to {high:.{digits}g}{one.unit} expected; compare it "
        f"with {one.figure.source or 'where it comes from'}, and if it is printed so, say why in a note",
        "warning",
    )


def _within(expected: float, sigma: float) -> tuple[float, float]:
    """The range ODD standard deviations [percent] about what is expected."""
    reach = math.exp(ODD * sigma / 100)
    return expected / reach, expected * reach


def _swapped(loaded: Loaded) -> Iterator[Finding]:
    """Within one source and set the tangential figure is the larger one, or a note says why not."""
    figures = loaded.model.figures
    for kind in ("shrinkage", "movement"):
        for index, tangential in enumerate(figures.get(f"{kind}_tangential", [])):
            for radial in figures.get(f"{kind}_radial", []):
                alike = ("source", "locator", "condition", "for_taxon")
                if any(getattr(radial, key) != getattr(tangential, key) for key in alike):
                    continue
                if tangential.note or radial.note:
                    continue
                for key in ("value", "low", "high"):
                    t, r = getattr(tangential, key), getattr(radial, key)
                    if t is not None and r is not None and float(t) < float(r):
                        yield loaded.finding(
                            ("figures", f"{kind}_tangential", index),
                            f"tangential {t:g} is below radial {r:g}: "
                            "swapped? If the source prints it so, say so in a note",
                        )
                        break


def _against_weight(loaded: Loaded, figures: Figures) -> Iterator[Finding]:
    """Stiffness, strength and hardness against what wood of that density has (Table 5-11a)."""
    group = loaded.model.hardness_group
    for name in estimates.REGRESSIONS:
        for one in _asked(figures, name):
            weight = _beside(one, figures, "density", loaded.model)
            expected = None if weight is None else _from_weight(name, weight.value, group)
            if weight is None or expected is None:
                continue
            because = f"for a {group} of {weight.value:.0f} kg/m3"
            yield from _odd(loaded, one, because, *_within(expected, estimates.SCATTER[name][group]))


def _from_weight(name: str, density: float, group: str) -> float | None:
    """What the regression gives, or None where no wood of that density stands behind it."""
    try:
        return estimates.from_weight(name, density, group)
    except BadQuantity:
        return None


def _volume(loaded: Loaded, figures: Figures) -> Iterator[Finding]:
    """Shrinkage in volume against that of its axes: 1 - (1 - R)(1 - T). Axes of other trees than the
    volume add the variation of shrinkage (about 15 %). A note on either axis answers for the three."""
    for one in _asked(figures, "shrinkage_volumetric"):
        axes = [_beside(one, figures, f"shrinkage_{axis}", loaded.model) for axis in AXES]
        if axes[0] is None or axes[1] is None or axes[0].figure.note or axes[1].figure.note:
            continue
        same = axes[0].origin == axes[1].origin == one.origin
        expected = estimates.volumetric_of_axes(axes[0].value, axes[1].value)
        sigma = math.hypot(estimates.VOLUME_SCATTER, 0 if same else _variation(one.name))
        because = f"beside radial {axes[0].value:g} and tangential {axes[1].value:g} %"
        yield from _odd(loaded, one, because, *_within(expected, sigma))


def _movement(loaded: Loaded, figures: Figures) -> Iterator[Finding]:
    """Movement coefficients against total shrinkage. Table 13-5 of the Wood Handbook is its Table 4-3 put
    through C = 1/(3000/S - 20), so there only rounding may part them; measured ones vary as shrinkage does,
    about 15 % each."""
    for axis in AXES:
        for one in _asked(figures, f"movement_{axis}"):
            total = _beside(one, figures, f"shrinkage_{axis}", loaded.model)
            printed = [s for s in figures.get(f"shrinkage_{axis}", []) if _derived(one, s)]
            if printed:
                total = printed[0]
                low, high = (
                    100 * moisture.coefficient(total.value + sign * STEP_SHRINKAGE) + sign * STEP_MOVEMENT
                    for sign in (-1, 1)
                )
                because = f"beside shrinkage {total}, from which Table 13-5 is worked out"
                yield from _odd(loaded, one, because, low, high)
            elif total is not None:
                expected = 100 * moisture.coefficient(total.value)
                sigma = math.hypot(_variation(one.name), _variation(total.name))
                yield from _odd(loaded, one, f"beside shrinkage {total}", *_within(expected, sigma))


def _derived(coefficient: Held, shrinkage: Held) -> bool:
    """Whether a coefficient is of Table 13-5 and the shrinkage of Table 4-3, for the same wood."""
    places = (coefficient.figure.locator or "", shrinkage.figure.locator or "")
    handbook = all((h.figure.source or "").startswith("fpl-gtr-") for h in (coefficient, shrinkage))
    alike = coefficient.figure.for_taxon == shrinkage.figure.for_taxon
    tables = places[0].startswith("Table 13-5") and places[1].startswith("Table 4-3")
    return handbook and alike and tables


def _genus(material: MaterialIn) -> str:
    return material.botanical.name.split()[0] if material.botanical else ""


def _variation(name: str) -> float:
    """Variation between pieces of a species [%], of a ratio that between species; infinite: not known."""
    if name in estimates.RATIOS:
        return estimates.RATIOS[name]["hardwood"][1]
    return PROPERTIES[name].cv or math.inf


#: property -> (value, or value over what its weight makes likely; the wood's id)
Kin = dict[str, list[tuple[float, str]]]


def _genera(woods: list[tuple[Loaded, Figures]]) -> dict[str, Kin]:
    """What is read or worked out of the species of each genus."""
    out: dict[str, Kin] = {}
    for loaded, figures in woods:
        kin = out.setdefault(_genus(loaded.model), {})
        for name, many in figures.items():
            for one in many:
                relative = _relative(one, figures, loaded.model)
                if one.figure.evidence in ("quoted", "estimated") and relative is not None:
                    kin.setdefault(name, []).append((relative, loaded.model.id))
    return out


def _relative(one: Held, figures: Figures, material: MaterialIn) -> float | None:
    """A figure over what its weight makes likely where a regression says that, else the figure itself."""
    if one.name not in estimates.REGRESSIONS:
        return one.value
    weight = _beside(one, figures, "density", material)
    expected = None if weight is None else _from_weight(one.name, weight.value, material.hardness_group)
    return None if expected is None else one.value / expected


def _against_kin(loaded: Loaded, figures: Figures, genus: Kin) -> Iterator[Finding]:
    """Figures from memory against those read of the same genus: odd when outside their range by more than
    KIN times the variation between pieces of a species. Where weight explains a property it is taken out
    first, for species of one genus may differ in weight."""
    for name, kin in genus.items():
        (low, lowest), (high, highest) = min(kin), max(kin)
        reach = math.exp(KIN * _variation(name) / 100)
        ids = " and ".join(dict.fromkeys((lowest, highest)))
        because = f"for a figure from memory beside what is read of its genus ({ids})"
        for one in _asked(figures, name):
            relative = _relative(one, figures, loaded.model)
            if one.figure.evidence == "recalled" and relative is not None:
                by = one.value / relative
                yield from _odd(loaded, one, because, low / reach * by, high * reach * by)
