"""What counts in each place of the pack: roles, their criteria and weights, and how a person changes them.

The weights are shop rules of ours (common practice, no source). A criterion is either a number, compared
with the target in percent, or a word of the look, compared by the match table of data/classes.yaml.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from woodref.catalogue.properties import PROPERTIES
from woodref.errors import BadRequest, echo
from woodref.units import Range, number, span

#: words of the look that are compared, in the order they are told
WORDS = ("colour", "figure", "pores", "texture", "grain")
#: numbers worked out from figures: name -> (what it is, variation within a species in percent)
WORKED = {
    # shrinkage varies by about 15 % within a species (from memory); the others add their parts up
    "movement": ("movement of a crown leaf, mm per 100 mm", 15.0),
    "quarter_movement": ("movement of a quarter cut leaf, mm per 100 mm", 15.0),
    "pull": ("stiffness times movement of a crown leaf", 27.0),
    "radiation": ("radiation ratio, sqrt(E/rho^3)", 19.0),
}

#: variation where no table gives one [percent]
USUAL_CV = 15.0
#: role -> criterion -> weight
WEIGHTS: dict[str, dict[str, float]] = {
    "face": {"colour": 4.5, "figure": 2.4, "pores": 0.3, "texture": 0.35, "movement": 0.6, "density": 1,
             "moe": 0.8, "side_hardness": 0.2, "had": 0.85},
    "back": {"pull": 4, "density": 1, "movement": 1, "texture": 0.5, "quiet": 0.5, "had": 0.5},
    "core": {"density": 3, "movement": 1.5, "moe": 1.5, "texture": 0.5, "glue": 1, "pores": 0.5,
             "side_hardness": 0.5, "had": 0.5},
    "crossband": {"movement": 3, "even": 2, "straight": 1, "clean": 1, "pores": 1, "peeled": 1, "moe": 1,
                  "density": 1, "had": 0.5},
    "solid": {"side_hardness": 3, "colour": 3.5, "pores": 2, "texture": 0.5, "density": 0.7, "moe": 0.7,
              "movement": 0.7},
    "bow": {"moe": 3, "density": 3, "loss_tangent": 2, "side_hardness": 1, "texture": 0.5},
    "frame": {"movement": 3, "moe": 1.5, "density": 1.5, "side_hardness": 1, "grain": 1},
    "sounding-plate": {"radiation": 3, "density": 2, "moe": 2, "quarter_movement": 0.5, "pores": 1,
                       "texture": 0.5, "grain": 0.5},
    "drum-shell": {"density": 2, "moe": 3, "side_hardness": 0.7, "texture": 1, "pores": 1.5,
                   "movement": 0.5, "had": 1.2},
}  # fmt: skip
#: role -> how many times the variation within a species counts as alike (1 where not named): the figures
#: of a thin face matter less than its look, those of plies within less than their weight
SLACK: dict[str, dict[str, float]] = {
    "face": {"movement": 2.5, "density": 3, "moe": 2, "side_hardness": 2},
    "core": {"movement": 2, "moe": 1.5, "side_hardness": 2, "density": 1.5},
    "drum-shell": {"movement": 2, "side_hardness": 1.5, "density": 1.5},
    "solid": {"movement": 2, "density": 2, "side_hardness": 1.5},
    "sounding-plate": {"quarter_movement": 3},
}
#: what may freely be less, or more, than the target's: moving less is never a fault but in a back, a core
#: may be lighter, what wears harder (Derringer and Suich's one-sided form)
FREELY: dict[str, dict[str, str]] = {
    "face": {"movement": "less", "side_hardness": "more"},
    "core": {"movement": "less", "density": "less"},
    "crossband": {"movement": "less"},
    "solid": {"movement": "less", "side_hardness": "more"},
    "bow": {"loss_tangent": "less"},
    "frame": {"movement": "less", "side_hardness": "more"},
    "sounding-plate": {"quarter_movement": "less", "radiation": "more"},
    "drum-shell": {"movement": "less", "side_hardness": "more"},
}
ROLES = tuple(WEIGHTS)
#: roles for which the sheet must be had as veneer
VENEER_ROLES = ("face", "back", "core", "crossband", "drum-shell")
#: criteria answered by a rule on the candidate alone, whatever the target: 1 good, 0.5 fair, 0.01 bad
OWN = ("quiet", "glue", "peeled", "had", "even", "straight", "clean")
#: of these, what is asked outright, however the target is
OUTRIGHT = ("had", "even", "straight", "clean")
CRITERIA = (*WORDS, *WORKED, *OWN, *PROPERTIES)


def variation(name: str) -> float:
    """How much pieces of one species vary in it: the coefficient of variation [percent]."""
    return WORKED[name][1] if name in WORKED else PROPERTIES[name].cv or USUAL_CV


@dataclass(frozen=True)
class Profile:
    """Weights, tolerances [percent of the target, full use within] and limits of one search."""

    role: str
    weights: Mapping[str, float]
    keep: Mapping[str, float] = field(default_factory=dict)
    limits: Mapping[str, Range] = field(default_factory=dict)

    def tolerance(self, name: str) -> float:
        """Full use within this many percent of the target: as given, else the variation within a species
        times the role's slack."""
        if name in self.keep:
            return self.keep[name]
        return variation(name) * SLACK.get(self.role, {}).get(name, 1.0)

    def freely(self, name: str) -> str | None:
        """ "less" or "more" where that side is never a fault; a tolerance given by hand holds both ways."""
        return None if name in self.keep else FREELY.get(self.role, {}).get(name)

    def as_dict(self) -> dict[str, Any]:
        return {
            "weights": dict(self.weights),
            "keep": {name: f"{value:g}%" for name, value in self.keep.items()},
            "limits": {name: str(limit) for name, limit in self.limits.items()},
        }


def profile(
    role: str,
    weights: tuple[str, ...] = (),
    keep: tuple[str, ...] = (),
    least: tuple[str, ...] = (),
    most: tuple[str, ...] = (),
    file: Path | None = None,
) -> Profile:
    """The role's own weights, then a profile file's, then the options given.

    weights: 'colour=3'; keep: 'density=5%'; least, most: 'density=600'. Raises BadRequest naming what is
    not known, not a number, negative, or contradictory.
    """
    if role not in WEIGHTS:
        raise BadRequest(f"{echo(role)} is not a role", expected=", ".join(ROLES))
    held: dict[str, list[str]] = {"counts": [], "keep": [], "min": [], "max": []}
    if file is not None:
        held = _read(file)
    weight = dict(WEIGHTS[role])
    for text in (*held["counts"], *weights):
        name, value = _pair(text, "counts")
        weight[name] = _amount(value, "counts", text)
    weight = {name: value for name, value in weight.items() if value > 0}
    if not weight:
        raise BadRequest(
            "nothing counts, so nothing would be compared", next="Let one thing count more than 0."
        )
    tolerance = {}
    for text in (*held["keep"], *keep):
        name, value = _pair(text, "keep")
        if name in WORDS or name in OWN:
            raise BadRequest(
                f"{echo(name)} is a word, and words have no percent to keep within",
                next=f"Let it count more instead: --counts {name}=5",
            )
        percent = _amount(value.rstrip("% "), "keep", text)
        if not 0 < percent <= 100:
            raise BadRequest(f"--keep {echo(text)} keeps nothing", expected="a percentage above 0, up to 100")
        tolerance[name] = percent
        weight.setdefault(name, 1.0)
    limits: dict[str, Range] = {}
    # an option goes before the file for the same property and side
    given = {side: {_pair(t, side)[0] for t in texts} for side, texts in (("min", least), ("max", most))}
    for texts, side in (((*held["min"], *least), "min"), ((*held["max"], *most), "max")):
        for place, text in enumerate(texts):
            name, value = _pair(text, side)
            if place < len(held[side]) and name in given[side]:
                continue
            if name not in PROPERTIES:
                raise BadRequest(
                    f"--{side} {echo(text)}: only figures have limits", expected=", ".join(PROPERTIES)
                )
            unit = PROPERTIES[name].unit
            new = span(f"{value}.." if side == "min" else f"..{value}", unit)
            limits[name] = _both(limits[name], new, name) if name in limits else new
    return Profile(role, weight, tolerance, limits)


def _both(one: Range, two: Range, name: str) -> Range:
    """Both limits at once; BadRequest when nothing can lie in between."""
    low = max((r.low for r in (one, two) if r.low is not None), default=None)
    high = min((r.high for r in (one, two) if r.high is not None), default=None)
    if low is not None and high is not None and low > high:
        raise BadRequest(
            f"nothing can meet both limits of {name}: at least {low:g} and at most {high:g} {one.unit}",
            next="Raise --max or lower --min.",
        )
    return replace(one, low=low, high=high)


def _pair(text: str, option: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    name = name.strip().replace("-", "_") if name.strip() not in CRITERIA else name.strip()
    if not sign or not value.strip():
        raise BadRequest(f"--{option} {echo(text)} lacks a value", expected=f"--{option} density=...")
    if name not in CRITERIA:
        raise BadRequest(
            f"--{option} {echo(text)}: {echo(name)} is not something that is compared",
            expected=", ".join(CRITERIA),
        )
    return name, value.strip()


def _amount(text: str, option: str, given: str) -> float:
    value = float(number(text))
    if value < 0:
        raise BadRequest(f"--{option} {echo(given)} is below 0", expected="a number of 0 or more")
    return value


def _read(file: Path) -> dict[str, list[str]]:
    """A profile file: counts, keep, min and max, each a mapping of criterion to number or text."""
    from woodref.catalogue.yamlload import read

    try:
        value, _, findings = read(file, file.parent)
    except OSError as error:
        raise BadRequest(
            f"the profile {echo(str(file))} cannot be read: {error.strerror}",
            next="Give the path of a file that is there.",
        ) from None
    if findings:
        raise BadRequest(
            f"the profile {echo(str(file))}: {findings[0].says}", where=f"line {findings[0].line}"
        )
    out: dict[str, list[str]] = {}
    if not isinstance(value, dict):
        raise BadRequest(
            f"the profile {echo(str(file))} is not a mapping", expected="counts:, keep:, min:, max:"
        )
    unknown = sorted(set(map(str, value)) - {"counts", "keep", "min", "max"})
    if unknown:
        raise BadRequest(
            f"the profile {echo(str(file))} holds {', '.join(unknown)}",
            expected="counts:, keep:, min: and max:",
        )
    for key in ("counts", "keep", "min", "max"):
        block = value.get(key) or {}
        if not isinstance(block, dict):
            raise BadRequest(
                f"{key} of the profile {echo(str(file))} is not a mapping", expected=f"{key}: {{density: 3}}"
            )
        out[key] = [f"{name}={amount}" for name, amount in block.items()]
    return out
