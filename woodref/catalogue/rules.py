"""Which figure is preferred, and the rules by which estimated figures are worked out.

A rule is a source of kind `rule`. The number stays in the file, so that a review sees it; the check
works it out anew and speaks up when the two part.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from woodref.catalogue.material import EVIDENCE_ORDER
from woodref.catalogue.properties import PROPERTIES, in_reference
from woodref.catalogue.schema import FigureIn, MaterialIn
from woodref.errors import BadQuantity
from woodref.science import density, estimates
from woodref.units import convert

#: the mean of the rows a data set holds of one species
MEAN_OF_ROWS = "rule-mean-of-rows"


def condition_of(figure: FigureIn) -> dict[str, Any]:
    """The condition under the file's own key names, without empty ones."""
    return figure.condition.model_dump(by_alias=True, exclude_none=True)


def preferred_index(name: str, figures: list[FigureIn]) -> int | None:
    """Index of the preferred figure, or None: reference condition first, then evidence, then the
    narrower range, then the order in the file. A figure of exactly this taxon comes before one of
    its group, and so does the mean of rows of exactly this taxon, although it is worked out: a
    genus may span woods half as heavy again."""
    own_rows = any(f.source == MEAN_OF_ROWS and f.for_taxon is None for f in figures)
    worked_out = EVIDENCE_ORDER.index("estimated")
    ranked = [
        (
            max(_grade(f), worked_out if own_rows and f.for_taxon else 0),
            f.for_taxon is not None,
            _width(f),
            i,
        )
        for i, f in enumerate(figures)
        if in_reference(name, condition_of(f))
    ]
    return min(ranked)[3] if ranked else None


def _grade(figure: FigureIn) -> int:
    """Rank of the evidence, the best first."""
    return EVIDENCE_ORDER.index(figure.evidence or "common-practice")


def _width(figure: FigureIn) -> float:
    """Width of the range relative to its middle; 0 for a single value."""
    if figure.low is None or figure.high is None or not figure.high + figure.low:
        return 0.0
    return 2 * (figure.high - figure.low) / (figure.high + figure.low)


def preferred(material: MaterialIn, name: str) -> FigureIn | None:
    """The preferred figure of a property of a file, or None."""
    figures = material.figures.get(name, [])
    index = preferred_index(name, figures)
    return None if index is None else figures[index]


def in_unit(figure: FigureIn, unit: str) -> dict[str, float]:
    """The numbers a figure gives (some of value, low, high) in another unit; BadQuantity when the
    kinds differ."""
    return {
        key: float(convert(Decimal(str(number)), figure.unit, unit))
        for key in ("value", "low", "high")
        if (number := getattr(figure, key)) is not None
    }


def typical_of(numbers: dict[str, float]) -> float:
    """The value, or the middle of the range where only a range is given."""
    return numbers["value"] if "value" in numbers else (numbers["low"] + numbers["high"]) / 2


Worked = dict[str, float]


def _density_12(data: Any, material: MaterialIn) -> Worked | None:
    basic = preferred(material, "basic_density")
    if basic is None:
        return None
    shrinkage = preferred(material, "shrinkage_volumetric")
    given = in_unit(basic, "kg/m3")
    keep = {"value"} if "value" in given else {"low", "high"}
    if shrinkage is not None:
        total = typical_of(in_unit(shrinkage, "%"))
        return {key: density.density_at(given[key], 12, total) for key in keep}
    guess = {key: estimates.volumetric_guess(given[key]) for key in keep}
    return {key: density.density_at(given[key], 12, guess[key]) for key in keep}


def _base_figure(data: Any, material: MaterialIn, name: str) -> Worked | None:
    made = material.made_from
    held = data.materials.get(made.base) if made else None
    figure = preferred(held.model, name) if held else None
    return None if figure is None else in_unit(figure, PROPERTIES[name].unit)


def _engineered_density(data: Any, material: MaterialIn) -> Worked | None:
    base, made = _base_figure(data, material, "density"), material.made_from
    if base is None or made is None:
        return None
    return {
        key: density.engineered_density(
            value,
            made.dye_uptake,
            made.compression or 0.0,
            made.glue_solids_g_m2 or 0.0,
            made.sheet_mm,
        )
        for key, value in base.items()
    }


def _engineered_moe(data: Any, material: MaterialIn) -> Worked | None:
    base, made = _base_figure(data, material, "moe"), material.made_from
    if base is None or made is None or made.stiffness_factor is None:
        return None
    return {key: value * made.stiffness_factor for key, value in base.items()}


def _heated(name: str, factor: str) -> Callable[[Any, MaterialIn], Worked | None]:
    def work(data: Any, material: MaterialIn) -> Worked | None:
        base, by = _base_figure(data, material, name), getattr(material.made_from, factor, None)
        if base is None or by is None:
            return None
        return {key: value * by for key, value in base.items()}

    return work


def _as_base(name: str) -> Callable[[Any, MaterialIn], Worked | None]:
    return lambda data, material: _base_figure(data, material, name)


#: (rule, property) -> how it is worked out, and the tolerance of the comparison
RULES: dict[tuple[str, str], tuple[Callable[[Any, MaterialIn], Worked | None], float]] = {
    ("rule-density-12", "density"): (_density_12, 1.0),
    ("rule-engineered-density", "density"): (_engineered_density, 1.0),
    ("rule-engineered-moe", "moe"): (_engineered_moe, 0.06),
    ("rule-dyed-as-base", "shrinkage_radial"): (_as_base("shrinkage_radial"), 0.06),
    ("rule-dyed-as-base", "shrinkage_tangential"): (_as_base("shrinkage_tangential"), 0.06),
    ("rule-dyed-as-base", "side_hardness"): (_as_base("side_hardness"), 1.0),
    ("rule-heated", "density"): (_heated("density", "mass_factor"), 1.0),
    ("rule-heated", "shrinkage_radial"): (_heated("shrinkage_radial", "movement_factor"), 0.06),
    ("rule-heated", "shrinkage_tangential"): (_heated("shrinkage_tangential", "movement_factor"), 0.06),
}


def disagreement(data: Any, material: MaterialIn, name: str, figure: FigureIn) -> str | None:
    """A sentence when an estimated figure is not what its rule gives today, else None.

    Rules whose inputs are not in the catalogue (means of a data set's rows) cannot be worked anew.
    """
    entry = RULES.get((figure.source or "", name))
    made = material.made_from
    if entry is None or (made and made.base in data.broken):
        return None
    work, tolerance = entry
    try:
        worked = work(data, material)
        given = in_unit(figure, PROPERTIES[name].unit)
    except BadQuantity:  # a unit that does not measure the property is told where it stands
        return None
    if worked is None:
        return f"{figure.source} finds nothing to work from: the figure it rests on is not there"
    if set(given) != set(worked) or any(abs(given[k] - worked[k]) > tolerance for k in given):
        now = ", ".join(f"{k} {v:.4g}" for k, v in sorted(worked.items()))
        return f"{figure.source} now gives {now} {PROPERTIES[name].unit}: take it over"
    return None
