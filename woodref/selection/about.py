"""What the reference says of itself: edition, grades, gaps, licences, how a wrong figure is put right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.coverage import Coverage, coverage
from woodref.catalogue.material import EVIDENCE_ORDER, GRADE_WORDS, Figure, Material
from woodref.catalogue.reader import Catalogue
from woodref.selection import status

#: evidence -> what the grade means
GRADES_MEAN = {
    "quoted": "copied from the table or page that is named",
    "recalled": "known to be of the source that is named, but not read in it again for this catalogue",
    "estimated": "worked out from other figures by a rule that is named, with the error that it adds",
    "common-practice": "a rule of the trade that nobody wrote down; no source",
}
GRADES_MORE = (
    "A figure that is not known is missing; nothing is filled in silently.",
    "Only figures in one reference condition count (12 % moisture, static bending, green to oven-dry); the "
    "others are shown beside them.",
    "Figures are means of small clear specimens and no basis for a load-bearing design.",
)
NOT_IN_IT = (
    "Whether the bundle in your hand is the wood on the label: only a test or a paper can say.",
    "Prices, and what a dealer has in stock.",
    "No listing is never the same as free to trade.",
)


@dataclass(frozen=True)
class Grade:
    """A grade of evidence: its words, what it means, how many figures have it."""

    evidence: str
    words: str
    means: str
    figures: int


@dataclass(frozen=True)
class About:
    """edition, held, gaps, report: sentences; licences: words of a licence -> ids of the sources under it."""

    edition: tuple[str, ...]
    held: tuple[str, ...]
    grades: tuple[Grade, ...]
    gaps: tuple[str, ...]
    report: tuple[str, ...]
    report_line: str
    licences: dict[str, tuple[str, ...]]
    unstated: int
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        return {
            "edition": list(self.edition), "held": list(self.held),
            "grades": [
                {"evidence": g.evidence, "words": g.words, "means": g.means, "figures": g.figures}
                for g in self.grades
            ],
            "grades_more": list(GRADES_MORE), "gaps": list(self.gaps), "report": list(self.report),
            "report_line": self.report_line,
            "licences": {words: list(ids) for words, ids in self.licences.items()},
            "licence_not_stated": self.unstated, "catalogue": self.stamp,
        }  # fmt: skip


def about(catalogue: Catalogue) -> About:
    """Everything a reader should know before a figure is trusted."""
    counted = coverage(catalogue)
    licences: dict[str, list[str]] = {}
    unstated = 0
    for source in catalogue.sources.values():
        if source["licence"]:
            licences.setdefault(source["licence"], []).append(source["id"])
        elif source["kind"] != "rule":
            unstated += 1
    return About(
        _edition(catalogue),
        _held(counted, catalogue),
        tuple(Grade(e, GRADE_WORDS[e], GRADES_MEAN[e], counted.evidence[e]) for e in EVIDENCE_ORDER),
        _gaps(counted, catalogue),
        _report(catalogue),
        _report_line(catalogue.materials()),
        {words: tuple(ids) for words, ids in sorted(licences.items())},
        unstated,
        catalogue.stamp,
    )


def _edition(catalogue: Catalogue) -> tuple[str, ...]:
    stamp = catalogue.stamp
    return (
        f"woodref {stamp['version']}, catalogue {stamp['digest']}. The same digest stands for the same data.",
        "To cite a value, cite its source; to cite the catalogue, give version and digest.",
        catalogue.meta["law_words"],
        status.law_caution(catalogue),
    )


def _held(found: Coverage, catalogue: Catalogue) -> tuple[str, ...]:
    figures = sum(p.figures for p in found.properties)
    kinds = ", ".join(f"{n} {kind}" for kind, n in found.by_kind.items())
    return (
        f"{found.materials} materials: {kinds}; and {len(catalogue.adhesives)} classes of glue.",
        f"{figures:,} figures of {len(found.properties)} properties, from {len(catalogue.sources)} sources.",
    )


def _gaps(found: Coverage, catalogue: Catalogue) -> tuple[str, ...]:
    every = found.materials
    thin = sorted((p for p in found.properties), key=lambda p: (p.known, p.name))[:4]
    told = "; ".join(f"{p.asks} of {p.known}" for p in thin)
    measured = every - found.unknown["measured colour"]
    planted = sum(
        figure.condition.get("stand") == "planted" for m in catalogue.materials() for figure in _figures(m)
    )
    return (
        *NOT_IN_IT,
        f"{measured} of {every} materials have a measured colour; the others have colour words and a class.",
        f"Least known are: {told} of {every} materials.",
        f"{planted} figures are of planted wood: planted wood often differs from the natural-grown wood that "
        "most figures were measured on.",
        f"Of {found.unknown['plantation']} materials it is not known whether they are planted for timber, of "
        f"{found.unknown['red list']} there is no Red List category held.",
    )


def _figures(material: Material) -> Sequence[Figure]:
    return [f for held in material.figures.values() for f in (held.preferred, *held.others) if f is not None]


def _report(catalogue: Catalogue) -> tuple[str, ...]:
    stamp = catalogue.stamp
    return (
        "Send the id of the material, the property, what the source prints, and where: title, table or page.",
        f"Add which edition shows it: woodref {stamp['version']}, digest {stamp['digest']}.",
        "Send it to whoever you have woodref from. In a copy of the files it is a change of one line below "
        "data/, and woodref data check says whether the file can be read.",
        "Without a source a figure from memory can be doubted in its note, but not replaced.",
    )


def _report_line(materials: Sequence[Material]) -> str:
    """A report as it should look, of a figure that is held."""
    for material in materials:
        figure = material.figure("moe")
        if figure is not None and figure.printed and figure.evidence == "quoted":
            return f"{material.id}, moe, {figure.printed}, {figure.source} {figure.locator}"
    return "genus-species, moe, 9,500 MPa, title of the source, Table 5-3a"
