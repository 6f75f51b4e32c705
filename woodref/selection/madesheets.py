"""An engineered veneer and how its figure comes about: its recipe as geometry and as sentences."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, Candidate, echo
from woodref.science.pattern import STEEP, Cut, Mould, line_width, pressed, shift

#: leaves of a block that may be asked for
MOST_LEAVES = 500
SKETCH = (
    "A sketch from our own recipe, which is one of many that give such a figure. It is not any maker's "
    "sheet; the colours are the recipe's for drawing, and none of them was measured."
)
TAKEN = (
    "Taken for the drawing, because the recipe does not hold it: the mould is an even wave, and a glue line "
    "has no thickness of its own."
)
TAKEN_FLAT = (
    "Taken for the drawing, because the recipe does not hold it: a glue line has no thickness of its own."
)
#: how an engineered veneer comes about, in the list of them
PROCESS_WORDS = {
    "reconstituted": "glued up from sheets and sliced anew",
    "dyed-through": "single leaves dyed through",
}


@dataclass(frozen=True)
class RecipeSheet:
    """One sheet of the repeat, from the bottom up: as peeled and as pressed [mm]."""

    number: int
    mm: float
    pressed_mm: float
    colour: str

    def as_dict(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "mm": self.mm,
            "pressed_mm": round(self.pressed_mm, 3),
            "colour": self.colour,
        }


@dataclass(frozen=True)
class Block:
    """The block a leaf is sliced from, and the leaf asked for: its number, its thickness [mm] and how high
    its cut lies above that of the first [mm]; window: size of the piece of leaf drawn [mm], along the grain
    and across."""

    sheets: tuple[RecipeSheet, ...]
    mould: Mould
    cut: Cut
    leaf: int
    leaf_mm: float
    window: tuple[float, float]

    @property
    def thicknesses(self) -> tuple[float, ...]:
        return tuple(sheet.pressed_mm for sheet in self.sheets)

    @property
    def period(self) -> float:
        """Thickness of one repeat [mm]."""
        return sum(self.thicknesses)

    @property
    def rise(self) -> float:
        return self.cut.rise(self.leaf_mm)

    @property
    def z0(self) -> float:
        return self.rise * (self.leaf - 1)

    @property
    def leaves(self) -> float:
        """Leaves to a repeat."""
        return self.period / self.rise

    @property
    def plain(self) -> bool:
        """Whether all sheets are of one colour."""
        return len({sheet.colour for sheet in self.sheets}) == 1


@dataclass(frozen=True)
class MadeSheet:
    """block is None where no recipe is held; why then says so."""

    material: Material
    block: Block | None
    sentences: tuple[str, ...]
    looks_like: tuple[Material, ...] = ()
    base: Material | None = None
    why: str = ""
    stamp: dict[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        b, m = self.block, self.material
        return {
            "id": m.id,
            "name": m.name,
            "process": (m.made_from or {})["process"],
            "base": self.base.id if self.base else None,
            "look_of": [wood.id for wood in self.looks_like],
            "leaf": b.leaf if b else None,
            "leaf_mm": b.leaf_mm if b else None,
            "sheets": [sheet.as_dict() for sheet in b.sheets] if b else [],
            "relief": {"shape": b.mould.shape, "height_mm": b.mould.height, "pitch_mm": b.mould.pitch}
            if b
            else None,
            "cut_along_deg": b.cut.along if b else None,
            "cut_across_deg": b.cut.across if b else None,
            "repeat_mm": round(b.period, 3) if b else None,
            "repeat_leaves": round(b.leaves, 2) if b else None,
            "window_mm": [round(side, 1) for side in b.window] if b else None,
            "sentences": list(self.sentences),
            "not_drawn": self.why or None,
            "catalogue": self.stamp,
        }

    def rows(self) -> list[dict[str, Any]]:
        """One line a sheet of the repeat, for CSV."""
        return [sheet.as_dict() for sheet in self.block.sheets] if self.block else []


def made_of(catalogue: Catalogue) -> list[Material]:
    """Every engineered veneer, by name."""
    found = [m for m in catalogue.materials() if m.kind == "engineered"]
    return sorted(found, key=lambda m: fold(m.name))


def made_sheets(catalogue: Catalogue) -> list[MadeSheet]:
    """The same, each with how its figure comes about."""
    return [made_sheet(m, catalogue) for m in made_of(catalogue)]


def made_sheet(material: Material, catalogue: Catalogue, leaf: int = 1) -> MadeSheet:
    """One engineered veneer and the leaf asked for, 1 to 500, counted from the bottom of the block.

    BadRequest for a material of another kind or another leaf.
    """
    if material.kind != "engineered":
        raise BadRequest(
            f"{material.name} is no engineered veneer",
            expected="a sheet that is glued up or dyed through",
            next="Its own page tells what it is.",
            candidates=[Candidate(material.id, material.name)],
        )
    if not 1 <= leaf <= MOST_LEAVES:
        raise BadRequest(f"leaf {echo(str(leaf))}", expected=f"a leaf from 1 to {MOST_LEAVES}")
    made = material.made_from or {}
    held = catalogue.remembered("by id", lambda: {m.id: m for m in catalogue.materials()})
    looks = tuple(held[name] for name in made["look_of"] if name in held)
    told = [f"{_capital(made['words'])}."]
    base = held.get(made["base"])
    recipe = made.get("recipe")
    if recipe is None:
        why = _why(material, base)
        return MadeSheet(material, None, (*told, why), looks, base, why, catalogue.stamp)
    block = _block(material, recipe, leaf)
    told += [SKETCH, *_geometry(block), *_from_leaf_to_leaf(block)]
    told.append(TAKEN_FLAT if block.mould.shape == "flat" else TAKEN)
    if block.mould.angle > STEEP:
        told.append("The mould is steep, so that true lines lie a little closer than these.")
    return MadeSheet(material, block, tuple(told), looks, base, "", catalogue.stamp)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".")


def _why(material: Material, base: Material | None) -> str:
    wood = base.name if base else "its own wood"
    if (material.made_from or {})["process"] == "dyed-through":
        return (
            f"No pattern is drawn: each leaf is a sliced leaf of {wood} and keeps the figure that grew in "
            "it; only its colour was made."
        )
    return "No pattern is drawn: no recipe of its sheets, mould and cut is held."


def _block(material: Material, recipe: dict[str, Any], leaf: int) -> Block:
    made = material.made_from or {}
    thick = pressed([sheet["mm"] for sheet in recipe["sheets"]], made.get("compression") or 0.0)
    sheets = tuple(
        RecipeSheet(k + 1, float(sheet["mm"]), thick[k], sheet["colour"])
        for k, sheet in enumerate(recipe["sheets"])
    )
    relief = recipe["relief"]
    mould = Mould(relief["shape"], float(relief.get("height_mm") or 0), relief.get("pitch_mm"))
    cut = Cut(float(recipe.get("cut_along_deg") or 0), float(recipe.get("cut_across_deg") or 0))
    leaf_mm = float(max(material.veneer["thickness_mm"]))
    return Block(sheets, mould, cut, leaf, leaf_mm, _window(material, sheets, mould, cut))


def _window(
    material: Material, sheets: tuple[RecipeSheet, ...], mould: Mould, cut: Cut
) -> tuple[float, float]:
    """The piece of leaf drawn: enough repeats or tops to see the figure by, no wider than the leaf, and never
    so much of it that lines run together."""
    widest = float((material.veneer.get("leaf_width_mm") or {}).get("high") or 650)
    thinnest = min(sheet.pressed_mm for sheet in sheets)
    slope = max(map(abs, (*cut.slopes, *mould.steepest)))
    if len({sheet.colour for sheet in sheets}) == 1 or not slope:
        return 150.0, 100.0
    # 120 lines of the thinnest sheet are as many as can be told apart
    most = min(widest, 120 * line_width(thinnest, slope))
    if mould.pitch is None:
        period = sum(sheet.pressed_mm for sheet in sheets)
        wide = min(most, max(60.0, 7 * line_width(period, slope)))
    else:
        wide = min(most, mould.pitch * (1.2 if mould.pitch > 100 else 2.2))
    return 1.5 * wide, wide


def _geometry(block: Block) -> list[str]:
    """What the mould and the cut do to the lines."""
    thickest = max(block.thicknesses)
    sheet = f"a sheet of {thickest:.2f} mm"
    cut = _cut_words(block.cut)
    if block.plain:
        return ["All sheets are of one colour, so no line shows."]
    if block.mould.shape == "flat":
        slope = max(abs(block.cut.slopes[0]), abs(block.cut.slopes[1]))
        return [
            f"Pressed flat and cut {cut}: the lines are straight, and {sheet} shows "
            f"{line_width(thickest, slope):.1f} mm wide on the leaf."
        ]
    height, pitch = block.mould.height, block.mould.pitch
    along, across = map(abs, block.cut.slopes)
    steep_along, steep_across = block.mould.steepest
    crossed = block.mould.height / thickest
    if block.mould.shape == "ridges":
        told = f"Pressed over ridges {height:g} mm high and {pitch:g} mm from top to top, cut {cut}: "
        if across > steep_along:
            return [
                f"{told}the lines run along the leaf and sway, and {sheet} shows about "
                f"{line_width(thickest, across):.1f} mm wide."
            ]
        return [f"{told}the ridges beat the slope of the cut, so bars lie across the leaf."]
    told = f"Pressed over bumps {height:g} mm high and {pitch:g} mm from top to top, cut {cut}: "
    if along < steep_along and across < steep_across:
        return [
            f"{told}each top and each hollow gives rings. From hollow to top the mould goes through "
            f"about {crossed:.0f} sheets."
            if crossed >= 1.5
            else f"{told}each top gives an eye, about one sheet deep."
        ]
    return [f"{told}the slope of the cut beats the bumps, so no ring closes and flames show."]


def _cut_words(cut: Cut) -> str:
    parts = [
        f"{abs(angle):g} {'degree' if abs(angle) == 1 else 'degrees'} aslant {way}"
        for angle, way in ((cut.along, "along the leaf"), (cut.across, "across it"))
        if angle
    ]
    if not parts:
        return "level"
    text = " and ".join(parts)
    return text if cut.along else text.replace("across it", "across the leaf")


def _from_leaf_to_leaf(block: Block) -> list[str]:
    if block.plain:
        return []
    leaf = f"leaves of {block.leaf_mm:g} mm"
    slope = max(map(abs, block.cut.slopes))
    count = f"{block.leaves:.1f}".removesuffix(".0")
    again = (
        f"One repeat is {block.period:.2f} mm of the block, so the figure comes again after about "
        f"{count} {leaf}."
    )
    if block.mould.shape == "flat":
        return [f"From each leaf to the next the lines move {shift(block.rise, slope):.1f} mm across.", again]
    return [
        f"Each leaf is cut {block.rise:.2f} mm higher than the one before: every line moves to where the "
        "mould lies that much higher against the cut.",
        again,
    ]
