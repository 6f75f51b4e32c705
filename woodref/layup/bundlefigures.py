"""The figures that a report of a layup rests on: gathered from the catalogue, written down, read back.

Only what went into the report is gathered, each figure with its source. Means of a class and what was worked
out from other figures are among them as they stood that day, so that nothing has to be worked out again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from woodref.catalogue.lent import Lent
from woodref.catalogue.material import Figure, Figures, Material
from woodref.catalogue.names import Matched, resolve
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.layup.boards import BROUGHT, BoardRule, board_rule
from woodref.layup.pack import Sheet
from woodref.layup.sounding import plate_sheet
from woodref.selection.estimates import estimated, ratios

if TYPE_CHECKING:
    from woodref.layup.bundleschema import FiguresIn, UsedWood
    from woodref.layup.report import Report


@dataclass(frozen=True)
class Gathered:
    """names: as the layup writes them; woods: by id, each with the figures used alone; plies: id -> plies it
    lies in; lab: colour class -> how it is drawn; sources: the documents that are named."""

    names: Mapping[str, Matched]
    woods: Mapping[str, Material]
    plies: Mapping[str, tuple[int, ...]]
    glues: Mapping[str, dict[str, Any]]
    lab: Mapping[str, tuple[float, float, float]]
    sources: tuple[dict[str, Any], ...]

    def figures(self) -> list[tuple[str, Figure]]:
        """(id of the wood, figure) in order."""
        return [
            (name, held.preferred)
            for name in sorted(self.woods)
            for held in self.woods[name].figures.values()
            if held.preferred
        ]

    def over(self, catalogue: Catalogue, mark: Mapping[str, str]) -> Lent:
        """A catalogue of these figures alone, with the law of the one given; mark: its stamp."""
        # the law asks for woods by their id
        names = {name: Matched(name, name, "id") for name in self.woods} | dict(self.names)
        return Lent(
            catalogue.path, catalogue.connection, settled=names, woods=self.woods, glues=self.glues,
            lab=self.lab, mark=mark,
        )  # fmt: skip

    def as_dict(self) -> dict[str, Any]:
        """figures.json (`bundleschema.FiguresIn`)."""
        return {
            "names": [
                {"said": said, "id": m.id, "name": m.name, "kind": m.kind,
                 "notices": [n.as_dict() for n in m.notices]}
                for said, m in sorted(self.names.items())
            ],
            "woods": [_wood_told(self.woods[name], self.plies[name]) for name in sorted(self.woods)],
            "glues": [self.glues[name] for name in sorted(self.glues)],
            "colours": [{"id": name, "lab": list(self.lab[name])} for name in sorted(self.lab)],
            "sources": list(self.sources),
        }  # fmt: skip


def gather(report: Report, catalogue: Catalogue, on: dt.date, region: str | None = None) -> Gathered:
    """Everything of the catalogue that the report rests on."""
    pack = report.pack
    plate = plate_sheet(pack, catalogue, on, region)
    sheets = [*pack.sheets, *([plate] if plate else [])]
    used: dict[str, Material] = {}
    wanted: dict[str, dict[str, None]] = {}
    plies: dict[str, list[int]] = {}
    for sheet in sheets:
        if sheet.material is None:
            continue
        name = sheet.material.id
        used[name] = sheet.material
        wanted.setdefault(name, {})
        plies.setdefault(name, [])
        if sheet is not plate:
            plies[name].append(sheet.number)
        for figure, of in _went_in(sheet, catalogue):
            used.setdefault(of.id, of)
            wanted.setdefault(of.id, {})[figure] = None
            plies.setdefault(of.id, [])
    woods = {name: _with(used[name], wanted[name]) for name in used}
    asks = {sheet.ask.material for sheet in sheets}
    names = {said: resolve(said, catalogue, on, region) for said in asks if said is not None}
    glues = {glue["id"]: glue for glue, _ in pack.glues}
    drawn = catalogue.colour_classes
    classes = {m.look["class"] for m in woods.values()} & drawn.keys()
    return Gathered(
        names, woods, {name: tuple(found) for name, found in plies.items()}, glues,
        {name: drawn[name].lab for name in classes}, _sources(woods.values(), glues.values(), catalogue),
    )  # fmt: skip


def _went_in(sheet: Sheet, catalogue: Catalogue) -> Iterable[tuple[str, Material]]:
    """(property, wood whose figure it is) of all that a sheet was reckoned with."""
    material = sheet.material
    assert material is not None
    base_id = (material.made_from or {}).get("base")
    for used in sheet.used:
        if used.name not in PROPERTIES:  # a board's rule goes with the board
            continue
        if material.figure(used.name) is None and used.name not in ratios_of(material) and base_id:
            yield used.name, estimated(catalogue.material(base_id))
        else:
            yield used.name, material


def ratios_of(material: Material) -> dict[str, Figure]:
    """The elastic ratios that are means of the wood's class, as figures."""
    return {figure.name: figure for figure in ratios(material)}


def _with(material: Material, names: Iterable[str]) -> Material:
    """The material with these figures alone."""
    means = ratios_of(material)
    held = {name: material.figure(name) or means.get(name) for name in sorted(names)}
    rule = board_rule(material) if material.kind == "core" else None
    made = material.made_from
    if rule is not None and made is not None:
        made = made | {BROUGHT: rule}
    return replace(
        material, figures={name: Figures(figure) for name, figure in held.items() if figure}, made_from=made
    )


def _sources(
    woods: Iterable[Material], glues: Iterable[Mapping[str, Any]], catalogue: Catalogue
) -> tuple[dict[str, Any], ...]:
    cited = {held.preferred.source for m in woods for held in m.figures.values() if held.preferred}
    cited |= {glue.get("source") for glue in glues}
    known = catalogue.sources
    return tuple(known[name] for name in sorted(name for name in cited if name) if name in known)


def figure_told(figure: Figure) -> dict[str, Any]:
    """A figure under the keys of `bundleschema.UsedFigure`."""
    out = asdict(figure)
    name, from_ = out.pop("name"), out.pop("from_")
    return {"property": name, **out, "from": list(from_)}


def _wood_told(material: Material, plies: tuple[int, ...]) -> dict[str, Any]:
    made = dict(material.made_from) if material.made_from is not None else None
    rule: BoardRule | None = made.pop(BROUGHT, None) if made else None
    return {
        "id": material.id, "kind": material.kind, "hardness_group": material.hardness_group,
        "name": material.name, "botanical_name": material.botanical_name, "woods": list(material.woods),
        "plies": list(plies),
        "figures": [figure_told(held.preferred) for held in material.figures.values() if held.preferred],
        "look": material.look, "veneer": material.veneer, "working": material.working, "made_from": made,
        "board": asdict(rule) if rule else None, "cautions": list(material.cautions),
    }  # fmt: skip


def read_back(told: FiguresIn) -> Gathered:
    """What `as_dict` wrote, checked by its schema."""
    woods = {wood.id: _material(wood) for wood in told.woods}
    names = {
        n.said: Matched(n.id, n.name, n.kind, tuple(Notice(m.code, m.message) for m in n.notices))
        for n in told.names
    }
    return Gathered(
        names, woods, {wood.id: tuple(wood.plies) for wood in told.woods},
        {glue.id: _plain(glue) for glue in told.glues},
        {c.id: (float(c.lab[0]), float(c.lab[1]), float(c.lab[2])) for c in told.colours},
        tuple(told.sources),
    )  # fmt: skip


def _plain(model: Any) -> dict[str, Any]:
    from woodref.catalogue.schema import json_ready

    return json_ready(model)


def _material(wood: UsedWood) -> Material:
    made = None if wood.made_from is None else _plain(wood.made_from)
    if wood.board is not None:
        board = wood.board
        rule = BoardRule(board.e2, board.nu, board.g, board.in_plane, board.through)
        made = (made or {}) | {BROUGHT: rule}
    figures = {}
    for told in wood.figures:
        plain = _plain(told)
        name, from_ = plain.pop("property"), tuple(plain.pop("from"))
        figures[name] = Figures(Figure(name=name, from_=from_, **plain))
    return Material(
        id=wood.id, kind=wood.kind, hardness_group=wood.hardness_group, name=wood.name,
        botanical_name=wood.botanical_name, family=None, synonyms=(), names=(), woods=tuple(wood.woods),
        grows={"countries": []}, look=_plain(wood.look), veneer=_plain(wood.veneer),
        working=_plain(wood.working), red_list={}, made_from=made, cautions=tuple(wood.cautions),
        figures=figures,
    )  # fmt: skip
