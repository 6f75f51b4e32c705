"""Rows of a user's own lists as answers: one shown, several found. Every answer says whose list it is and
that nothing of it was checked here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from woodref.catalogue.material import Figure, Material, citation, condition_words, shown
from woodref.catalogue.ownknown import Known, Link, taxon
from woodref.catalogue.ownrow import OwnFigure, OwnRow
from woodref.catalogue.ownstore import OwnList, called, holding, list_ids, row_at, rows_of
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadList, Candidate, SharedName, echo
from woodref.selection import status
from woodref.selection.cells import LEGEND as MARKED
from woodref.selection.cells import MARKS, unit_head
from woodref.selection.ownstatus import OwnStatus, own_status
from woodref.selection.portrait import Line, Section, figure_dict
from woodref.units import Range

#: rows of lists that a search for a name shows, unless more are asked for
FOUND = 10
#: rows of a list that are printed when it is asked for alone, unless more are
MOST = 50
OWN = "my/"
BRACKETS = "In brackets: not at the moisture at which figures are compared here."
LEGEND = f"{MARKED} {BRACKETS}"


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
        far = _far(_figure(row, name), figure)
        if far:
            lines.append(Line(far))
    lines.append(Line("These figures, not those of the list, go into a ranking."))
    lines.append(Line(f"All of it: woodref show {material.id}"))
    return lines


@dataclass(frozen=True)
class Hit:
    """A row found, the wood of the catalogue that it is, and what of its law is known."""

    row: OwnRow
    link: Link
    material: Material | None
    law: str
    trade_status: str | None

    def as_dict(self) -> dict[str, Any]:
        """The row as the JSON contract shows it."""
        return row_dict(self.row, self.link, self.material) | {"trade_status": self.trade_status}


#: a row's law in a cell of a table
_LAW = {"closed": "closed", "papers": "with papers", "maybe": "may be listed", "not-known": "not known"}


@dataclass
class OwnFinds:
    """Rows of lists that answer a search; count: how many do, shown or not."""

    lists: list[OwnList]
    rows: list[Hit]
    count: int
    query: dict[str, Any]
    asked: tuple[str, ...]
    closing: list[str]
    notices: list[Notice]
    stamp: dict[str, str]

    @property
    def apart(self) -> Notice:
        """That rows of lists are not in the CSV of a search of the catalogue, whose columns are others."""
        rows = "1 row of your lists is" if self.count == 1 else f"{self.count:,} rows of your lists are"
        return Notice("rows-of-lists", f"{rows} called so too and not in this CSV: ask with --among LIST.")

    def as_rows(self) -> list[dict[str, Any]]:
        """The rows as the JSON contract shows them."""
        return [hit.as_dict() for hit in self.rows]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `find --among LIST`."""
        return {
            "query": self.query,
            "count": self.count,
            "rows": self.as_rows(),
            "lists": [held.as_dict() for held in self.lists],
            "closing": self.closing,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }

    def flat(self) -> list[dict[str, Any]]:
        """One line a row for CSV."""
        out = []
        for hit in self.rows:
            row, material = hit.row, hit.material
            figures = {f.property: figure_of(f, row) for f in row.figures}
            out.append(
                {
                    "id": row.id,
                    "name": row.called,
                    "botanical_name": row.botanical,
                    "known_as": material.id if material else None,
                    "line": row.line,
                    "density_kg_m3": _typical(figures.get("density")),
                    "basic_density_kg_m3": _typical(figures.get("basic_density")),
                    "moe_gpa": _typical(figures.get("moe")),
                    "moisture": next((str(f.condition.get("mc", "")) for f in figures.values()), None),
                    "price": row.price.amount if row.price else None,
                    "currency": row.price.currency if row.price else None,
                    "per": row.price.per if row.price else None,
                    "thickness_mm": row.thickness,
                    "cut": row.cut,
                    "notes": [f"{column}: {text}" for column, text in row.notes],
                    "trade_status": hit.trade_status,
                    "checked": "no",
                }
            )
        return out


def _typical(figure: Figure | None) -> float | None:
    return figure.typical if figure else None


def find_rows(
    text: str,
    lists: Iterable[str],
    limits: dict[str, Range],
    catalogue: Catalogue,
    on: dt.date,
    most: int | None,
) -> OwnFinds:
    """Rows of lists one of whose names holds every word typed (all without words), within the limits by the
    list's own figures. A list that cannot be read is told and stops no other."""
    known: Known | None = None
    notices: list[Notice] = []
    held_lists: list[OwnList] = []
    hits: list[OwnRow] = []
    for list_id in lists:
        try:
            held, rows = holding(list_id, text) if text.strip() else rows_of(list_id)
        except BadList as fault:
            notices.append(Notice("list-unreadable", str(fault)))
            continue
        held_lists.append(held)
        hits += rows
    silent: dict[str, int] = {}
    fitting = [row for row in hits if _inside(row, limits, silent)]
    if limits:
        first = next(iter(limits))
        fitting.sort(key=lambda row: (_typical(_figure(row, first)) or 0.0, row.id))
    kept = fitting if most is None else fitting[:most]
    out = []
    for row in kept:
        known = known or Known(catalogue)
        link = known.link(row)
        out.append(_hit(row, link, catalogue, known, on))
    for name, count in silent.items():
        notices.append(
            Notice(
                "figure-not-known",
                f"Of {count:,} more row{'' if count == 1 else 's'} the list does not tell the "
                f"{PROPERTIES[name].asks} at the usual moisture: not shown, not refused.",
            )
        )
    query = {"text": text or None, "with": {n: str(v) for n, v in limits.items()}, "rows": most}
    asked = tuple(limits) or ("density", "moe")
    return OwnFinds(
        held_lists, out, len(fitting), query, asked, [], [*catalogue.notices, *notices], catalogue.stamp
    )


def _hit(row: OwnRow, link: Link, catalogue: Catalogue, known: Known, on: dt.date) -> Hit:
    if link.material_id is None:
        kind = own_status(row, catalogue, known, on).kind
        return Hit(row, link, None, _LAW[kind], kind)
    material = catalogue.material(link.material_id)
    return Hit(row, link, material, status.origins(material, on, catalogue).share(material), None)


def find_among(
    text: str,
    list_id: str,
    limits: dict[str, Range],
    catalogue: Catalogue,
    on: dt.date,
    most: int | None,
) -> OwnFinds:
    """`find --among LIST`: its rows alone. BadList when there is no such list."""
    held, _ = holding(list_id, "")
    found = find_rows(text, [list_id], limits, catalogue, on, most)
    found.query |= {"among": list_id}
    if not found.rows:
        what = f" holds {echo(text)} and" if text and limits else f" holds {echo(text)}" if text else ""
        limit = " lies within the limits" if limits else ""
        found.closing.append(f"No row of {held.words}{what}{limit}.")
    elif found.count > len(found.rows):
        found.closing.append(f"{len(found.rows):,} of {found.count:,} rows shown; --rows for more.")
    found.closing.append(_marked(held))
    found.closing.append(
        "Where a row was harvested no list tells: origins are those of the wood as known here. More on one: "
        "woodref show and the id of its row."
    )
    found.closing.append(status.law_caution(catalogue))
    found.notices += status.law_notices(on, catalogue)
    return found


def _marked(held: OwnList) -> str:
    return f"From your list {held.id} ({held.title}, of {held.date}), not checked here."


def _figure(row: OwnRow, name: str) -> Figure | None:
    """A row's own figure of a property in the reference condition."""
    from woodref.catalogue.properties import in_reference

    for own in row.figures:
        if own.property == name and in_reference(name, own.condition):
            return figure_of(own, row)
    return None


def _inside(row: OwnRow, limits: dict[str, Range], silent: dict[str, int]) -> bool:
    for name, wanted in limits.items():
        figure = _figure(row, name)
        if figure is None:
            silent[name] = silent.get(name, 0) + 1
            return False
        if not wanted.holds(figure.typical):
            return False
    return True


def beside(found: OwnFinds, refused: Sequence[str]) -> list[str]:
    """What a search of the catalogue says of the rows of lists it found too. refused: options that ask what
    no list tells."""
    if not found.count:
        return []
    if refused:
        rows = f"{found.count:,} row{' is' if found.count == 1 else 's are'}"
        return [f"{rows} called so on your lists, which do not tell what {' and '.join(refused)} asks."]
    held_by = {hit.row.list_id for hit in found.rows}
    out = [_marked(held) for held in found.lists if held.id in held_by]
    if found.count > len(found.rows):
        out.append(f"{len(found.rows):,} of {found.count:,} rows of lists shown; more with --among LIST.")
    return out


def own_table(found: OwnFinds, system: str) -> tuple[list[str], list[list[str]], set[int]]:
    """Rows of lists as a table: head, cells, columns set flush right."""
    head = ["on your list", "botanical name", "id", *(unit_head(name, system) for name in found.asked),
            "price", "known here as", "origins not listed"]  # fmt: skip
    lines = []
    for hit in found.rows:
        row = hit.row
        own = {f.property: figure_of(f, row) for f in row.figures}
        cells = [_cell(own.get(name), system) for name in found.asked]
        lines.append(
            [
                row.called, row.botanical or "-", row.id, *cells, row.price.words if row.price else "-",
                hit.material.name if hit.material else "not known",
                hit.law,
            ]
        )  # fmt: skip
    return head, lines, set(range(3, 3 + len(found.asked)))


def _cell(figure: Figure | None, system: str) -> str:
    """'640 r'; a figure at another moisture than the usual one stands in brackets."""
    from woodref.catalogue.properties import in_reference

    if figure is None:
        return "-"
    text = f"{shown(figure.name, figure.typical, system)[0]} {MARKS[figure.evidence]}"
    return text if in_reference(figure.name, figure.condition) else f"({text})"
