"""What a ply is reckoned with: stiffness, shear and movement of a leaf by its wood and cut, and of boards,
each with what it rests on. Nothing is filled in unseen: class means, base woods and shop rules are marked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from woodref.catalogue.material import Figure, Material
from woodref.catalogue.reader import Catalogue
from woodref.layup.asked import FIGURED, PlyAsk
from woodref.layup.boards import EVIDENCE, board_rule
from woodref.science import elasticity, estimates, moisture
from woodref.selection.estimates import RATIOS, estimated

#: shrinkage along the grain of sound straight wood, green to oven-dry [%]: handbook's 0.1 to 0.2 %
ALONG_SHRINKAGE = 0.15
RATIO_NAMES = tuple(estimates.RATIOS)
#: error of a base wood's movement taken for a sheet made of it [%]
AS_BASE_ERROR = 20


@dataclass(frozen=True)
class Used:
    """One figure that went into the check, with what it rests on in words."""

    name: str
    value: float
    unit: str
    grade: str
    source: str | None

    def as_dict(self) -> dict[str, Any]:
        return {
            "property": self.name,
            "value": self.value,
            "unit": self.unit,
            "evidence": self.grade,
            "source": self.source,
        }


def take(material: Material, name: str, used: list[Used], missing: list[str] | None) -> float | None:
    figure = material.figure(name)
    if figure is None:
        if missing is not None:
            missing.append(_WORDS.get(name, name))
        return None
    used.append(_used(figure))
    return figure.typical


def _used(figure: Figure) -> Used:
    place = " ".join(part for part in (figure.source, figure.locator) if part) or None
    return Used(figure.name, figure.typical, figure.unit, figure.grade, place)


_WORDS = {"density": "weight", "moe": "stiffness"}


def leaf_of(
    material: Material,
    cut: str,
    ask: PlyAsk,
    used: list[Used],
    missing: list[str],
    catalogue: Catalogue,
    guess: bool,
) -> tuple[elasticity.Leaf | None, bool]:
    """In-plane constants and whether movement is known; what they rest on goes into used."""
    if ask.figured or cut in FIGURED:
        missing.append("a figured leaf has no directions, so it gets no figures")
        return None, False
    if material.kind == "core":
        return _board(material, used, missing)
    moe = take(material, "moe", used, missing)
    totals, known = _shrinkages(material, used, missing, catalogue, guess)
    if moe is None:
        return None, False
    ratios = {name: _ratio(material, name, used) for name in RATIO_NAMES}
    wood = elasticity.Wood(
        el=elasticity.along_grain(moe) * 1e9,
        er=ratios["ratio_er_el"],
        et=ratios["ratio_et_el"],
        glr=ratios["ratio_glr_el"],
        glt=ratios["ratio_glt_el"],
        grt=ratios["ratio_grt_el"],
        nu_lr=ratios["poisson_lr"],
        nu_lt=ratios["poisson_lt"],
        nu_rt=ratios["poisson_rt"],
        beta_r=totals[0],
        beta_t=totals[1],
        beta_l=ALONG_SHRINKAGE,
    )
    # a leaf sliced from a pressed block shows peeled sheets on edge: taken as a crown leaf, which moves most
    flat = "crown" if cut == "block-sliced" else cut
    return elasticity.leaf(wood, flat, 45.0 if ask.rings is None else ask.rings), known


def _ratio(material: Material, name: str, used: list[Used]) -> float:
    """An elastic ratio of the wood, else the mean of its class, marked."""
    figure = material.figure(name)
    if figure is not None and figure.source != RATIOS:
        used.append(_used(figure))
        return figure.typical
    value, error = estimates.RATIOS[name][material.hardness_group]
    if figure is not None:  # the same mean, as it was when the figures were put together
        value, error = figure.typical, figure.added_error or 0.0
    grade = f"mean of {material.hardness_group}s, adds about {error:g} % of error"
    used.append(Used(name, value, "1", grade, RATIOS))
    return value


def _shrinkages(
    material: Material, used: list[Used], missing: list[str], catalogue: Catalogue, guess: bool
) -> tuple[tuple[float, float], bool]:
    """Radial and tangential shrinkage [%], and whether they are known. A measured movement coefficient goes
    before the total shrinkage, as everywhere; with --estimates a made sheet borrows from its base wood."""
    out = [_shrinkage(material, axis, used) for axis in ("radial", "tangential")]
    base_id = (material.made_from or {}).get("base")
    if None in out and guess and base_id:
        base = estimated(catalogue.material(base_id))
        borrowed: list[Used] = []
        out = [_shrinkage(base, axis, borrowed) for axis in ("radial", "tangential")]
        grade = f"as its base wood {base.name}, adds about {AS_BASE_ERROR} % of error"
        used += [replace(u, grade=grade) for u in borrowed]
    if out[0] is None or out[1] is None:
        missing.append("movement")
        return (0.0, 0.0), False
    return (out[0], out[1]), True


def _shrinkage(material: Material, axis: str, used: list[Used]) -> float | None:
    direct = material.figure(f"movement_{axis}")
    if direct is not None:
        used.append(_used(direct))
        return moisture.total_of(direct.typical / 100)
    return take(material, f"shrinkage_{axis}", used, None)


def _board(material: Material, used: list[Used], missing: list[str]) -> tuple[elasticity.Leaf | None, bool]:
    rule = board_rule(material)
    moe = take(material, "moe", used, missing)
    if rule is None or moe is None:
        if moe is not None:
            missing.append("stiffness across")
        return None, False
    e1 = moe * 1e9
    used.append(Used("board", rule.e2, "E across over along", EVIDENCE, None))
    in_plane, through = moisture.total_of(rule.in_plane), moisture.total_of(rule.through)
    return elasticity.Leaf(e1, rule.e2 * e1, rule.g * e1, rule.nu, in_plane, in_plane, through), True
