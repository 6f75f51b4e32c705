"""Rows of a user's own lists as answers: one of them shown. Every answer says whose list it is and
that nothing of it was checked here."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict, dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material, citation, condition_words, shown
from woodref.catalogue.ownknown import Known, Link, taxon
from woodref.catalogue.ownrow import OwnFigure, OwnRow
from woodref.catalogue.ownstore import OwnList, called, list_ids, row_at
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadList, Candidate, SharedName, echo
from woodref.selection import status
from woodref.selection.ownstatus import OwnStatus, own_status
from woodref.selection.portrait import Line, Section, figure_dict

OWN = "my/"
BRACKETS = "In brackets: not at the moisture at which figures are compared here."


def figure_of(figure: OwnFigure, row: OwnRow) -> Figure:
    """A figure of a row as the rest of the house sees one: its source is the list, its locator the line."""

    def number(text: str | None) -> float | None:
        return None if text is None else float(text)

    return Figure(
        figure.property, number(figure.value), number(figure.low), number(figure.high),
        PROPERTIES[figure.property].unit, figure.condition, f"my/{row.list_id}", f"line {row.line}",
        figure.evidence, figure.printed,
    )  # fmt: skip


@dataclass(frozen=True)
class OwnShown:
    """One row of a list, told. sections are sentences; the rest is for JSON."""

    row: OwnRow
    of: OwnList
    link: Link
    material: Material | None
    law: OwnStatus | None
    origins: status.Origins | None
    sections: tuple[Section, ...]
    closing: str
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `show my/LIST/ROW`."""
        return {
            **row_dict(self.row, self.link, self.material),
            "list": self.of.as_dict(),
            "trade_status": self.law.kind if self.law else None,
            "listings": [r.as_dict() for r in (self.law or self.origins).rows],  # type: ignore[union-attr]
            "sections": [
                {"heading": s.heading, "lines": [line.text for line in s.lines]} for s in self.sections
            ],
            "cautions": [self.closing],
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def row_dict(row: OwnRow, link: Link, material: Material | None) -> dict[str, Any]:
    """A row as the JSON contract shows it. known_as: the wood of the catalogue that it is, or null."""
    return {
        "id": row.id,
        "kind": "list-row",
        "name": row.called,
        "botanical_name": row.botanical,
        "known_as": {"id": material.id, "name": material.name, "by": link.by} if material else None,
        "line": row.line,
        "figures": {f.property: figure_dict(figure_of(f, row)) for f in row.figures},
        "price": asdict(row.price) if row.price else None,
        "thickness_mm": None if row.thickness is None else float(row.thickness),
        "cut": row.cut,
        "notes": [{"column": column, "text": text} for column, text in row.notes],
        "checked": False,
    }


def own_named(text: str) -> tuple[OwnList, OwnRow] | None:
    """The row that an id or a name stands for, or None where no list has it. UnknownName for an id that is
    none; SharedName where several rows are called so."""
    if text.strip().startswith(OWN):
        return row_at(text)
    found: list[tuple[OwnList, OwnRow]] = []
    for list_id in list_ids():
        try:
            held, rows = called(list_id, text)
        except BadList:
            continue  # told by `find` and `data lists`; it must not hide the catalogue's answer
        found += [(held, row) for row in rows]
    if len(found) > 1:
        raise SharedName(
            f"no wood of the catalogue is called {echo(text)}, and {len(found)} rows of your lists are",
            next="Say which:",
            candidates=[Candidate(row.id, row.called, _brief(row)) for _, row in found[:20]],
        )
    return found[0] if found else None


def _brief(row: OwnRow) -> str:
    parts = [row.botanical, f"{row.thickness} mm" if row.thickness else None, row.cut,
             row.price.words if row.price else None]  # fmt: skip
    return ", ".join(part for part in parts if part) or f"line {row.line}"


def show_row(
    held: OwnList, row: OwnRow, catalogue: Catalogue, on: dt.date, system: str = "metric"
) -> OwnShown:
    """Everything that a list tells of one row, and what the catalogue knows of its wood."""
    known = Known(catalogue)
    link = known.link(row)
    material = catalogue.material(link.material_id) if link.material_id else None
    law = None if material else own_status(row, catalogue, known, on)
    origins = status.origins(material, on, catalogue) if material else None
    sections = [
        Section(f"From your list {held.id}, not checked here", tuple(_whose(held, row))),
        Section("Is it this wood?", tuple(Line(text) for text in _identity(row, link, material, catalogue))),
        Section("May I?", tuple(Line(text) for text in _may_i(material, law, origins, catalogue))),
        Section("What the list tells", tuple(_told(row, system))),
    ]
    if material is not None:
        sections.append(Section("What is known here", tuple(_here(material, row, system))))
    notices = (*catalogue.notices, *status.law_notices(on, catalogue))
    closing = status.law_caution(catalogue)
    return OwnShown(
        row, held, link, material, law, origins, tuple(sections), closing, notices, catalogue.stamp
    )


def _whose(held: OwnList, row: OwnRow) -> list[Line]:
    return [
        Line(f"{row.called}: line {row.line} of {held.file}, {held.title}."),
        Line(
            f"Source: {held.source}, of {held.date}, {held.got}. Licence: {held.licence}. Brought in on "
            f"{held.imported}, digest {held.digest}."
        ),
    ]


def _identity(row: OwnRow, link: Link, material: Material | None, catalogue: Catalogue) -> list[str]:
    out = []
    latin = (
        f"The list calls it {row.botanical.rstrip('.')}."
        if row.botanical
        else "The list gives no botanical name."
    )
    out.append(latin)
    if material is not None:
        by = "its botanical name" if link.by == "botanical" else "its trade name alone"
        named = f" ({material.botanical_name})" if material.botanical_name else ""
        out.append(f"Known here as {material.name}{named} [{material.id}], by {by}.")
        if link.by == "trade":
            out.append("Only the botanical name on the paper settles it.")
    else:
        out.append("No wood of the catalogue is called so.")
    if link.against:
        other = catalogue.material(link.against)
        genus, _, rest = taxon(row.botanical or "").partition(" ")
        among = rest == "spp." and genus == (other.botanical_name or "").split(" ")[0]
        which = "may be that wood or another of its genus" if among else "is another wood"
        out.append(
            f"{echo(row.called)} is a name of {other.name} [{other.id}] here, but what the list calls so in "
            f"Latin {which}: ask the seller which it is. I go by the botanical name."
        )
    return out


def _may_i(
    material: Material | None, law: OwnStatus | None, origins: status.Origins | None, catalogue: Catalogue
) -> list[str]:
    if material is None or origins is None:
        assert law is not None
        return [*law.sentences, status.law_caution(catalogue)]
    return [
        status.origin_sentence(material, origins, catalogue),
        *status.listing_sentences(material, origins),
        "The list does not say where this wood was harvested: ask the seller.",
        status.law_caution(catalogue),
    ]


def _told(row: OwnRow, system: str) -> list[Line]:
    lines = []
    for own in row.figures:
        figure = figure_of(own, row)
        where = condition_words(figure)
        at = f" {where}" if where else ""
        asks = PROPERTIES[figure.name].asks
        lines.append(
            Line(
                f"{asks[0].upper()}{asks[1:]}{at}: {_amount(figure, system)} ({citation(figure)}; printed "
                f'"{own.printed}").',
                figure,
            )
        )
    if row.price:
        lines.append(Line(f"Price: {row.price.words}."))
    if row.thickness:
        size = f"{float(row.thickness) / 25.4:.3f} in" if system == "us" else f"{row.thickness} mm"
        lines.append(Line(f"Thickness: {size}."))
    if row.cut:
        lines.append(Line(f"Cut: {row.cut}."))
    lines += [Line(f"{column}: {text.rstrip('.')}.") for column, text in row.notes]
    return lines or [Line("Nothing but the name.")]


def _amount(figure: Figure, system: str) -> str:
    if figure.value is not None:
        return " ".join(filter(None, shown(figure.name, figure.value, system)))
    low, high = (shown(figure.name, end or 0.0, system) for end in (figure.low, figure.high))
    return f"{low[0]} to {' '.join(filter(None, high))}"


#: how far a figure of a list may be off that of its wood before it is told [variations within a species]
_FAR = 2.0


def _far(own: Figure | None, figure: Figure) -> str | None:
    """That the list's figure is farther off than pieces of one wood are, or None."""
    cv = PROPERTIES[figure.name].cv
    if own is None or cv is None:
        return None
    gap = 100 * (own.typical - figure.typical) / figure.typical
    if abs(gap) <= _FAR * cv:
        return None
    side = "more" if gap > 0 else "less"
    return f"That of the list is {abs(gap):.0f} % {side}: make sure that it is this wood, and of its unit."


def _here(material: Material, row: OwnRow, system: str) -> list[Line]:
    lines = []
    for name in ("density", "moe"):
        figure = material.figure(name)
        if figure is None:
            lines.append(Line(f"Its {PROPERTIES[name].asks} is not known here."))
            continue
        asks = PROPERTIES[name].asks
        lines.append(
            Line(f"{asks[0].upper()}{asks[1:]}: {_amount(figure, system)} ({citation(figure)}).", figure)
        )
        far = _far(own_figure(row, name), figure)
        if far:
            lines.append(Line(far))
    lines.append(Line("These figures, not those of the list, go into a ranking."))
    lines.append(Line(f"All of it: woodref show {material.id}"))
    return lines


def own_figure(row: OwnRow, name: str) -> Figure | None:
    """A row's own figure of a property in the reference condition."""
    from woodref.catalogue.properties import in_reference

    for own in row.figures:
        if own.property == name and in_reference(name, own.condition):
            return figure_of(own, row)
    return None
