"""Figures and blocks as the sentences a maker reads. The only place where they are worded, but for the
condition and the citation of a figure, which the catalogue words itself."""

from __future__ import annotations

from collections.abc import Sequence

from woodref.catalogue.material import EVIDENCE_ORDER, Figure, Material, citation, shown
from woodref.catalogue.properties import PROPERTIES

_CUT_WORDS = {
    "rotary": "peeled",
    "crown": "crown cut",
    "quarter": "quarter cut",
    "rift": "rift cut",
    "half-round": "half-round",
    "burr": "burr",
    "block-sliced": "sliced from the pressed block",
}
SOLD_WORDS = {
    "common": "commonly sold as veneer",
    "to-order": "veneer to order",
    "rare": "rare as veneer",
    "no": "not sold as veneer",
    "not-known": "not known whether it is sold as veneer",
}
DUST_WORDS = {
    "sensitiser": "the dust can make you allergic (sensitiser)",
    "toxic": "the dust is toxic",
    "irritant": "the dust irritates skin, eyes or airways",
    "none-reported": "no harm from the dust is reported beyond that of any wood dust",
    "no-record": "no record about the dust: treat it as harmful",
}
#: the evidence of something said that is not a figure
SAID_WORDS = {
    "quoted": "read",
    "recalled": "from memory",
    "estimated": "worked out",
    "common-practice": "shop knowledge",
}
PORE_WORDS = {
    "none": "without pores",
    "diffuse": "diffuse-porous",
    "semi-ring": "semi-ring-porous",
    "ring": "ring-porous",
}
#: what the trade calls a property in a column or a list where its full words are too long
SHORT_NAMES = {"moe": "stiffness", "density": "weight", "side_hardness": "hardness"}
#: worse dust has the higher number; no-record never passes for harmless
DUST_ORDER = {"none-reported": 0, "irritant": 1, "no-record": 2, "toxic": 3, "sensitiser": 4}

DUST_LINE = (
    "Fine wood dust of any hardwood is a cause of cancer of the nose and of asthma: extraction at the "
    "machine, a close-fitting P2 or P3 mask for sanding, wet wiping instead of sweeping; local limits "
    "and the works doctor decide."
)
SOFTWOOD_LINE = (
    "Fine wood dust harms nose and lungs: extraction at the machine and a close-fitting P2 mask for "
    "sanding; local limits decide."
)


def joined(texts: Sequence[str]) -> str:
    """'weight', 'weight and hardness', 'weight, movement and hardness'."""
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"


def cut_words(cuts: list[str]) -> str:
    """'crown cut, quarter cut'."""
    return ", ".join(_CUT_WORDS[cut] for cut in cuts)


def number_of(figure: Figure, system: str = "metric") -> str:
    """'458 kg/m3' or '3.6-5.3 %': the number as printed for people."""
    prop = figure.name
    if figure.value is not None:
        text, unit = shown(prop, figure.value, system)
    else:
        low, unit = shown(prop, figure.low or 0.0, system)
        high, _ = shown(prop, figure.high or 0.0, system)
        text = f"{low}-{high}"
    return f"{text} {unit}".strip()


def figure_sentence(figure: Figure, system: str = "metric") -> str:
    """'weight 458 kg/m3 (read in table, fpl-gtr-190 Table 5-3a)'."""
    asks = PROPERTIES[figure.name].asks
    return f"{asks} {number_of(figure, system)} ({citation(figure)})"


def light_words(material: Material) -> str:
    """What years of light do."""
    light = material.look["light"]
    if light["change"] == "unknown":
        return "what light does to it is not known"
    if light["words"]:
        return str(light["words"])
    return "changes little in light" if light["change"] == "little" else f"{light['change']} in light"


def dust_line(material: Material) -> str:
    """The general line on dust for its group."""
    return DUST_LINE if material.hardness_group == "hardwood" else SOFTWOOD_LINE


def trust_sentence(material: Material) -> str:
    """Which of its figures to trust more: density, stiffness and colour, best known first."""
    says = {
        "quoted": ("is read in a table", "are read in tables"),
        "recalled": ("is from memory", "are from memory"),
        "estimated": ("is worked out", "are worked out"),
        "common-practice": ("is a shop rule", "are shop rules"),
    }
    grades: dict[str, list[str]] = {}
    missing = []
    for name, word in (("density", "density"), ("moe", "stiffness")):
        figure = material.figure(name)
        if figure is None:
            missing.append(f"the {word} is not known")
        else:
            grades.setdefault(figure.evidence, []).append(f"the {word}")
    texts = [
        f"{' and '.join(grades[grade])} {says[grade][len(grades[grade]) - 1]}"
        for grade in EVIDENCE_ORDER
        if grade in grades
    ]
    lights = {s["light"] for s in material.look["swatches"]}
    if "D65/2" in lights:
        texts.insert(0, "the colour is measured")
    elif lights:
        texts.append("the colour was measured under another light")
    else:
        texts.append("the colour is only a word")
    known = ", ".join(texts)
    out = known[0].upper() + known[1:]
    if len(texts) > 1:
        out += ": trust them in that order"
    if missing:
        gap = " and ".join(missing)
        out += f". {gap[0].upper()}{gap[1:]}"
    return out + "."
