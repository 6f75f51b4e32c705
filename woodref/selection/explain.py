"""Why a wood stands where it stands, in sentences."""

from __future__ import annotations

from woodref.catalogue.material import Material, shown
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue
from woodref.science import sound
from woodref.selection import legs, status, words
from woodref.selection.answer import Row
from woodref.selection.criteria import Criterion, Likeness
from woodref.selection.wanted import Wanted

_MORE_LESS = {
    "density": ("heavier", "lighter", "about as heavy"),
    "moe": ("stiffer", "less stiff", "about as stiff"),
    "side_hardness": ("harder", "softer", "about as hard"),
    "pull": ("more pull across", "less pull across", "pulls about as hard across"),
    "radiation": ("more radiation", "less radiation", "radiates about as well"),
}
#: names of what is worked out, where the trade has a word
_NAMES = {
    "pull": "pull across", "radiation": "radiation of sound", "glue": "gluing", "peeled": "peeling",
    "had": "how it is sold", "quarter_movement": "movement on the quarter",
}  # fmt: skip
#: within this many percent two figures are called alike
ALIKE = 3.0
UNBEATEN = "Nothing ranked here beats it on every count."


def difference_words(criterion: Criterion) -> str | None:
    """'8 % lighter', 'moves 12 % more', 'colour near (dark brown)'; None when not known."""
    name, gap = criterion.property, criterion.difference
    if criterion.use is None:
        return None
    if name == "colour":
        if gap is not None:
            return f"colour {gap:.0f} CIEDE2000 away, both measured"
        if criterion.class_difference == "near":
            return f"colour near ({criterion.value})"
        apart = criterion.class_difference
        return f"colour {apart} ({criterion.value} beside {criterion.target})"
    told = None if gap is None else gap_words(name, gap)
    if told is not None:
        return told
    if name == "pores" and criterion.value != criterion.target:
        return f"{words.PORE_WORDS[criterion.value]} where the other is {words.PORE_WORDS[criterion.target]}"
    if name in ("texture", "grain") and criterion.value != criterion.target:
        return f"{name} {criterion.value} instead of {criterion.target}"
    if name in ("quiet", "glue", "peeled"):
        return str(criterion.value)
    return None


def gap_words(name: str, gap: float) -> str | None:
    """'8 % lighter', 'moves 12 % more across a crown leaf'; None for what has no words of its own.

    gap: percent of what it is laid beside.
    """
    if name in ("movement", "quarter_movement"):
        leaf = "a crown leaf" if name == "movement" else "a quarter cut leaf"
        if abs(gap) < ALIKE:
            return f"moves about as much across {leaf}"
        return f"moves {abs(gap):.0f} % {'more' if gap > 0 else 'less'} across {leaf}"
    if name not in _MORE_LESS:
        return None
    more, less, same = _MORE_LESS[name]
    return same if abs(gap) < ALIKE else f"{abs(gap):.0f} % {more if gap > 0 else less}"


def reasons(found: Likeness, wanted: Wanted, candidate: Material) -> list[str]:
    """The sentences of one row, best known things first."""
    parts = [text for c in found.criteria if (text := difference_words(c))]
    out = [f"{text[0].upper()}{text[1:]}." for text in [", ".join(parts)] if text]
    out += _pieces(found)
    made = candidate.made_from
    if made and wanted.id in made["look_of"]:
        out.append(f"Made to pass for it: {made['words']}.")
    if found.stained:
        out.append(
            "Ranked as stained to the colour: the stain must be tried, and it must not be sold as the other."
        )
    missed = [c.property for c in found.criteria if c.outside and c.tolerance is not None]
    if missed:
        out.append(f"Outside what pieces of the same wood vary by: {_listed(missed)}.")
    unlike = [
        c.property for c in found.criteria if c.outside and c.tolerance is None and c.property != "colour"
    ]
    if unlike:
        out.append(f"Not alike in {_listed(unlike)}.")
    if found.known < found.asked:
        gaps = _listed([c.property for c in found.criteria if c.use is None])
        low, high = found.interval
        out.append(
            f"Known for {found.known} of {found.asked} things asked; not known: {gaps}. At worst or best the "
            f"likeness would be {low:.2f} to {high:.2f}."
        )
    sold = candidate.veneer["sold"]
    if sold in ("to-order", "rare"):
        text = words.SOLD_WORDS[sold]
        out.append(f"{text[0].upper()}{text[1:]}.")
    return out


def _pieces(found: Likeness) -> list[str]:
    """'6 in 10 pieces come within 10 % of its weight.': the numbers that are not far off."""
    told = [
        f"{_in_ten(c.within)} come within {c.tolerance:.0f} % in {criterion_name(c.property)}"
        for c in found.criteria
        if c.within is not None and c.property in ("density", "moe", "side_hardness") and not c.outside
    ]
    if not told:
        return []
    text = ", ".join(told)
    return [f"{text[0].upper()}{text[1:]}."]


def _in_ten(share: float) -> str:
    tenths = round(10 * share)
    if tenths == 0:
        return "fewer than 1 in 10 pieces"
    return "nearly all pieces" if tenths == 10 else f"{tenths} in 10 pieces"


def criterion_name(name: str) -> str:
    """A criterion in the trade's word: moe -> stiffness."""
    if name in _NAMES:
        return _NAMES[name]
    short = words.SHORT_NAMES.get(name)
    return short or (PROPERTIES[name].asks if name in PROPERTIES else name)


def _listed(names: list[str]) -> str:
    return words.joined([criterion_name(name) for name in names])


def gives_up(row: Row) -> str:
    """What the nearest wood gives up, when none is close."""
    lost = [c.property for c in row.found.criteria if c.outside]
    if not lost:
        return f"{row.material.name} is the nearest there is."
    return f"{row.material.name} gives up {_listed(lost)}."


def described(wanted: Wanted, catalogue: Catalogue) -> str:
    """The described target in a sentence."""
    parts = []
    look = wanted.look
    if look["class"] is not None:
        held = [catalogue.colour_classes[c].words for c in (look["class"], *look["also"])]
        parts.append(f"colour {' or '.join(held)}")
    if look["figures"]:
        parts.append(f"figure {words.joined(look['figures'])}")
    parts += [f"{n} {look[n]}" for n in ("pores", "texture", "grain") if look[n] != "unknown"]
    for name, value in wanted.numbers.items():
        if name in PROPERTIES:
            text, unit = shown(name, value, "metric")
            parts.append(f"{criterion_name(name)} {text} {unit}".rstrip())
        elif name == "movement":
            parts.append(f"movement {value:g} mm on a crown leaf of 100 mm")
    return f"What you describe: {', '.join(parts)}."


def dust_first(wanted: Wanted, candidate: Material) -> list[str]:
    """A dust worse than the target's, to be said before anything else."""
    if wanted.material is None:
        return []
    mine, theirs = (m.working["dust"]["risk"] for m in (wanted.material, candidate))
    if words.DUST_ORDER[theirs] <= words.DUST_ORDER[mine]:
        return []
    if theirs == "no-record":
        return [f"Less is known of its dust than of {wanted.name}'s: treat it as harmful."]
    return [f"Worse for you than {wanted.name}: {words.DUST_WORDS[theirs]}."]


def in_use(wanted: Wanted, candidate: Material, role: str) -> list[str]:
    """What would change: the thickness for equal bending stiffness, or for the same pitch of a plate, and
    the weight at that thickness. Thin-plate rules: stiffness E t^3, pitch t sqrt(E/rho)."""
    e, rho = (candidate.figure(n) for n in ("moe", "density"))
    target_e, target_rho = wanted.numbers.get("moe"), wanted.numbers.get("density")
    if e is None or rho is None or target_e is None or target_rho is None:
        return []
    if role == "sounding-plate":
        ratio, what = (
            sound.same_pitch(target_e, target_rho, e.typical, rho.typical),
            "sound at the same pitch",
        )
    else:
        ratio, what = sound.same_stiffness(target_e, e.typical), "be as stiff in bending"
    weight, thick = 100 * (ratio * rho.typical / target_rho - 1), 100 * (ratio - 1)
    if abs(thick) < ALIKE and abs(weight) < ALIKE:
        return []
    size = "as thick" if abs(thick) < ALIKE else f"{abs(thick):.0f} % {'thicker' if thick > 0 else 'thinner'}"
    told = f"To {what} it must be {size}"
    if abs(weight) < ALIKE:
        return [f"{told}; it is then about as heavy."]
    return [f"{told}; it is then {abs(weight):.0f} % {'heavier' if weight > 0 else 'lighter'}."]


def cautions(
    candidate: Material, found: status.Origins, catalogue: Catalogue, said: bool = False
) -> list[str]:
    """What to know before buying: dust (unless it was said first), planted wood, papers of some origins."""
    out = []
    risk = candidate.working["dust"]["risk"]
    if not said and risk in ("sensitiser", "toxic", "no-record"):
        text = words.DUST_WORDS[risk]
        out.append(f"{text[0].upper()}{text[1:]}.")
    if found.listed and found.free:
        out.append(status.origin_sentence(candidate, found, catalogue))
    out += status.notification_sentences(found)
    if status.planted(candidate) and candidate.kind != "species":
        out.append(status.PLANTED_IN_IT)
    elif status.planted(candidate):
        out.append(status.PLANTED_SENTENCE)
        natural = status.natural_figures_caution(candidate)
        if natural:
            out.append(natural)
    made = candidate.made_from
    if made and (candidate.kind == "engineered" or made["process"] == "dyed-through"):
        out.append("Natural and dyed faces part in colour with light.")
    return out


def stop_words(stop: legs.Stop) -> str:
    """Why a wood cannot come, and on which leg where a journey was asked for."""
    return stop.sentence if stop.leg == legs.INCOMING else f"On the leg {stop.leg}: {stop.sentence}"


def stopped(found: list[legs.Stop], catalogue: Catalogue) -> list[str]:
    """Which origins fall away on the route, on which leg, and why."""
    groups: dict[tuple[str, str], list[str]] = {}
    for stop in found:
        why = stop.sentence.partition(": ")[2] or stop.sentence
        groups.setdefault((stop.leg, why.rstrip(".")), []).append(stop.origin)
    return [
        f"Not from {status.country_names(sorted(set(codes)), catalogue)}"
        f"{'' if leg == legs.INCOMING else f', on the leg {leg}'}: {why}."
        for (leg, why), codes in groups.items()
    ]
