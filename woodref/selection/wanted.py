"""What a stand-in is measured against: a wood of the catalogue, or a description."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from woodref.catalogue.material import Figure, Material
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, echo
from woodref.science import sound
from woodref.science.colour import Lab, ciede2000, parse_hex, srgb_to_lab
from woodref.selection.movement import movement_per_100
from woodref.selection.roles import WORKED
from woodref.units import quantity

#: CIEDE2000 beyond the nearest class within which a colour given in numbers counts for another class too
ALSO_WITHIN = 6.0
STATES = ("planed", "oiled", "lacquered", "aged-in-light")


def value_of(material: Material, name: str) -> tuple[float, tuple[Figure, ...]] | None:
    """A number that is compared and the figures behind it, or None where one is not known.

    movement, quarter_movement: mm per 100 mm of crown or quarter leaf from 6 to 12 % moisture; pull:
    GPa times that (a leaf's force across the grain goes with stiffness across, taken in proportion to
    that along); radiation: sqrt(E/rho^3) in m4/(kg s).
    """
    if name in ("movement", "quarter_movement"):
        moved = movement_per_100(material, "tangential" if name == "movement" else "radial")
        return None if moved is None else (moved[0], (moved[1],))
    if name == "pull":
        moe, moved = material.figure("moe"), movement_per_100(material, "tangential")
        return None if moe is None or moved is None else (moe.typical * moved[0], (moe, moved[1]))
    if name == "radiation":
        moe, density = material.figure("moe"), material.figure("density")
        if moe is None or density is None:
            return None
        return sound.radiation_ratio(moe.typical * 1e9, density.typical), (moe, density)
    figure = material.figure(name)
    return None if figure is None else (figure.typical, (figure,))


def error_of(figures: tuple[Figure, ...]) -> float:
    """The added error of worked-out figures together, as a share; 0 for figures read or recalled."""
    return math.hypot(*((f.added_error or 0.0) / 100 for f in figures)) if figures else 0.0


def measured(material: Material, state: str = "planed", part: str = "ground") -> tuple[Lab, str] | None:
    """A measured colour under D65 at 2 degrees and its evidence, or None: other lights are never
    compared, nor one state or part with another."""
    for swatch in material.look["swatches"]:
        if (swatch["light"], swatch["state"], swatch["part"]) == ("D65/2", state, part):
            lightness, a, b = swatch["lab"]
            return (float(lightness), float(a), float(b)), swatch["evidence"]
    return None


@dataclass(frozen=True)
class Wanted:
    """numbers: criterion -> value in the property's unit; look: class, also, figures, pores, texture,
    grain as in a material's look, `unknown` or empty where not asked; lab, line: the measured or given
    colour of the ground and the measured one of the lines.
    material is the wood it was taken from; face_pull a face's stiffness x movement x thickness."""

    name: str
    numbers: Mapping[str, float]
    look: Mapping[str, Any]
    lab: Lab | None = None
    line: Lab | None = None
    state: str = "planed"
    material: Material | None = None
    figures: Mapping[str, tuple[Figure, ...]] = field(default_factory=dict)

    @cached_property
    def errors(self) -> dict[str, float]:
        """The added error of its own worked-out figures, as shares."""
        return {name: error_of(held) for name, held in self.figures.items()}

    @property
    def id(self) -> str:
        return self.material.id if self.material else ""


def of_material(material: Material, state: str = "planed") -> Wanted:
    """A wood of the catalogue as the target."""
    numbers, figures = {}, {}
    for name in (*WORKED, *PROPERTIES):
        held = value_of(material, name)
        if held is not None:
            numbers[name], figures[name] = held
    ground, line = measured(material, state), measured(material, state, "line")
    return Wanted(
        material.name,
        numbers,
        material.look,
        ground[0] if ground else None,
        line[0] if line else None,
        state,
        material,
        figures,
    )


_EMPTY: dict[str, Any] = {
    "class": None, "also": [], "figures": [], "pores": "unknown", "texture": "unknown", "grain": "unknown",
}  # fmt: skip


def of_description(texts: tuple[str, ...], catalogue: Catalogue, state: str = "planed") -> Wanted:
    """'colour=#3a2417', 'density=850', 'pores=diffuse', 'figure=plain' ... as the target.

    A colour given in hex is taken for a measured one under D65 and for the class whose drawing colour lies
    nearest. BadRequest names what is not known or not a value.
    """
    numbers: dict[str, float] = {}
    look = dict(_EMPTY)
    lab: Lab | None = None
    for text in texts:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not sign or not value:
            raise BadRequest(f"--like {echo(text)} lacks a value", expected="--like density=850")
        if name in PROPERTIES:
            unit = PROPERTIES[name].unit
            given = float(quantity(value, unit).to(unit).value)
            low, high = PROPERTIES[name].low, PROPERTIES[name].high
            if not low <= given <= high:
                raise BadRequest(
                    f"--like {echo(text)}: no wood has that", expected=f"{low:g} to {high:g} {unit}"
                )
            numbers[name] = given
        elif name == "movement":
            numbers[name] = float(quantity(value, "mm").to("mm").value)
            if not 0.2 <= numbers[name] <= 8:
                raise BadRequest(
                    f"--like {echo(text)}: no wood moves so", expected="0.2 to 8 mm on a crown leaf of 100 mm"
                )
        elif name == "colour":
            lab, look["class"], look["also"] = _colour(value, catalogue)
        elif name in ("figure", "pores", "texture", "grain"):
            _word(name, value, look, catalogue)
        else:
            known = ("colour", "figure", "pores", "texture", "grain", "movement", *PROPERTIES)
            raise BadRequest(f"--like {echo(text)}: {echo(name)} is not known", expected=", ".join(known))
    density, moe = numbers.get("density"), numbers.get("moe")
    if moe is not None and density is not None:
        numbers["radiation"] = sound.radiation_ratio(moe * 1e9, density)
    if moe is not None and "movement" in numbers:
        numbers["pull"] = moe * numbers["movement"]
    return Wanted("what you describe", numbers, look, lab, state=state)


def _colour(value: str, catalogue: Catalogue) -> tuple[Lab | None, str, list[str]]:
    """The colour, its class, and the classes whose drawing colour lies hardly farther."""
    classes = catalogue.colour_classes
    slug = value.lower().replace(" ", "-")
    if slug in classes:
        return None, slug, []
    if not value.startswith("#"):
        raise BadRequest(
            f"colour {echo(value)} is not known",
            expected="six hex digits such as '#5a3a22' (in quotes), or " + ", ".join(classes),
        )
    lab = srgb_to_lab(*parse_hex(value))
    # classes hardly farther than the nearest are as good as it
    gaps = sorted((ciede2000(lab, c.lab), c.id) for c in classes.values())
    return lab, gaps[0][1], [name for gap, name in gaps[1:] if gap <= gaps[0][0] + ALSO_WITHIN]


def _word(name: str, value: str, look: dict[str, Any], catalogue: Catalogue) -> None:
    if name == "figure":
        known = sorted({f for m in catalogue.materials() for f in m.look["figures"]})
        asked = [part.strip() for part in value.split(",")]
        if not set(asked) <= set(known):
            raise BadRequest(f"figure {echo(value)} is not known", expected=", ".join(known))
        look["figures"] = asked
        return
    order = catalogue.orders[name]
    known = [*order, "none"] if name == "pores" else order
    if value not in known:
        raise BadRequest(f"{name} {echo(value)} is not known", expected=", ".join(known))
    look[name] = value
