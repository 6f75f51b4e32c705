"""Why a wood stands where it stands, in sentences."""

from __future__ import annotations

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue
from woodref.selection import status, words
from woodref.selection.criteria import Criterion, Likeness

_MORE_LESS = {
    "density": ("heavier", "lighter", "about as heavy"),
    "moe": ("stiffer", "less stiff", "about as stiff"),
    "side_hardness": ("harder", "softer", "about as hard"),
}
#: within this many percent two figures are called alike
ALIKE = 3.0


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
    if name == "movement" and gap is not None:
        if abs(gap) < ALIKE:
            return "moves about as much across a crown leaf"
        return f"moves {abs(gap):.0f} % {'more' if gap > 0 else 'less'} across a crown leaf"
    if name in _MORE_LESS and gap is not None:
        more, less, same = _MORE_LESS[name]
        return same if abs(gap) < ALIKE else f"{abs(gap):.0f} % {more if gap > 0 else less}"
    if name == "pores" and criterion.value != criterion.target:
        return f"{words.PORE_WORDS[criterion.value]} where the other is {words.PORE_WORDS[criterion.target]}"
    if name in ("texture", "grain") and criterion.value != criterion.target:
        return f"{name} {criterion.value} instead of {criterion.target}"
    return None


def reasons(found: Likeness, target: Material, candidate: Material) -> list[str]:
    """The sentences of one row, best known things first."""
    parts = [text for c in found.criteria if (text := difference_words(c))]
    out = [f"{text[0].upper()}{text[1:]}." for text in [", ".join(parts)] if text]
    made = candidate.made_from
    if made and target.id in made["look_of"]:
        out.append(f"Made to pass for it: {made['words']}.")
    missed = [c.property for c in found.criteria if c.outside]
    if missed:
        out.append(f"Outside what pieces of the same wood vary by: {_listed(missed)}.")
    if found.known < found.asked:
        gaps = _listed([c.property for c in found.criteria if c.use is None])
        out.append(f"Known for {found.known} of {found.asked} things asked; not known: {gaps}.")
    sold = candidate.veneer["sold"]
    if sold in ("to-order", "rare"):
        text = words.SOLD_WORDS[sold]
        out.append(f"{text[0].upper()}{text[1:]}.")
    return out


def criterion_name(name: str) -> str:
    """A criterion in the trade's word: moe -> stiffness."""
    return words.SHORT_NAMES.get(name, name)


def _listed(names: list[str]) -> str:
    return words.joined([criterion_name(name) for name in names])


def cautions(target: Material, candidate: Material, found: status.Origins, catalogue: Catalogue) -> list[str]:
    """What to know before buying: worse dust first, planted wood, papers of some origins."""
    out = []
    mine, theirs = (m.working["dust"]["risk"] for m in (target, candidate))
    if words.DUST_ORDER[theirs] > words.DUST_ORDER[mine]:
        text = words.DUST_WORDS[theirs]
        out.append(f"Worse for you than {target.name}: {text}.")
    elif theirs in ("sensitiser", "toxic", "no-record"):
        text = words.DUST_WORDS[theirs]
        out.append(f"{text[0].upper()}{text[1:]}.")
    if found.listed and found.free:
        out.append(status.origin_sentence(candidate, found, catalogue))
    out += status.notification_sentences(found)
    if status.planted(candidate):
        out.append(status.PLANTED_SENTENCE)
        natural = status.natural_figures_caution(candidate)
        if natural:
            out.append(natural)
    if candidate.kind == "engineered":
        out.append("Natural and dyed faces part in colour with light.")
    return out
