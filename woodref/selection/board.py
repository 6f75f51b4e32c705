"""Answers laid out as tables and paragraphs, the same for every front end that prints text."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from woodref.catalogue.material import shown
from woodref.selection import explain
from woodref.selection.answer import Answer, Row, beside_sentence
from woodref.selection.cells import LEGEND, latin, marked, unit_head
from woodref.selection.substitutes import CLOSE

if TYPE_CHECKING:
    from woodref.catalogue.ownrow import OwnRow
    from woodref.selection.partslist import Choice

#: how many ranked rows get their reasons printed, and how many of each other group are named
EXPLAINED, NAMED = 5, 4


@dataclass(frozen=True)
class Group:
    heading: str
    lines: list[str]


@dataclass(frozen=True)
class Page:
    """A substitution as text: opening, table, groups of paragraphs, closing."""

    opening: list[str]
    head: list[str]
    rows: list[list[str]]
    right: set[int]
    legend: str
    groups: list[Group]
    closing: list[str]
    #: columns to leave out on a narrow screen, the first named first
    spare: tuple[int, ...] = (2, 9, 4, 8, 7)
    #: the look of the rows explained, now and after years of light
    looks: list[list[str]] = field(default_factory=list)


LOOK_HEAD = ["", "wood", "now", "after years of light"]


def board(answer: Answer, system: str = "metric", explained: int = EXPLAINED) -> Page:
    """Lay a substitution out. explained: how many ranked rows get their reasons and their look."""
    head = [
        "", "wood", "botanical name", "like", "known", "colour",
        unit_head("density", system), unit_head("moe", system), "moves", "lawful from",
    ]  # fmt: skip
    head += ["price"] if answer.among else []
    rows = [_line(row, system, row.material.id == answer.wanted.id) for row in answer.ranked]
    rows.insert(0, _target_line(answer, system))
    return Page(
        answer.opening,
        head,
        rows if answer.ranked else [],
        {0, 3, 6, 7},
        LEGEND + " moves: a crown leaf against the target's. lawful from: origins not listed, of all "
        "countries of harvest held.",
        _groups(answer, explained),
        answer.closing,
        looks=[[str(row.rank), row.material.name, *row.light] for row in answer.ranked[:explained]],
    )


def _target_line(answer: Answer, system: str) -> list[str]:
    """What is wanted, in brackets above its stand-ins."""
    wanted, target = answer.wanted, answer.target
    looks = (wanted.look["class"] or "").replace("-", " ")
    if target is not None:
        weight, stiff = marked(target, "density", system), marked(target, "moe", system)
    else:
        weight, stiff = (
            shown(name, wanted.numbers[name], system)[0] if name in wanted.numbers else "-"
            for name in ("density", "moe")
        )
    latin_name = (target.botanical_name or "") if target else ""
    return [
        "",
        f"({wanted.name})",
        latin_name,
        "",
        "",
        looks,
        weight,
        stiff,
        "",
        "",
        *([""] if answer.among else []),
    ]


def _two(likeness: float) -> str:
    """Two decimals; 1.00 only for what is 1."""
    return "1.00" if likeness == 1 else f"{min(likeness, 0.99):.2f}"


def _line(row: Row, system: str, planted: bool = False) -> list[str]:
    colour = row.found.criterion("colour")
    movement = row.found.criterion("movement") or row.found.criterion("quarter_movement")
    moves = "-"
    if movement and movement.difference is not None:
        moves = f"{movement.difference:+.0f} %"
    if row.found.stained:
        looks = "if stained"
    elif colour is None:
        looks = (row.material.look["class"] or "-").replace("-", " ")
    elif colour.difference is not None:
        looks = f"{colour.difference:.0f} CIEDE2000"
    else:
        looks = colour.class_difference or ""
    return [
        str(row.rank),
        row.material.name + (", planted" if planted else ""),
        latin(row.material),
        _two(row.found.likeness),
        f"{row.found.known}/{row.found.asked}",
        looks,
        marked(row.material, "density", system),
        marked(row.material, "moe", system),
        moves,
        row.origins.share(row.material),
        *([] if row.on_list is None else [_price(row.on_list)]),
    ]


def _price(rows: tuple[OwnRow, ...]) -> str:
    """The price of the first row of a list that is this wood, and how many more there are."""
    first = rows[0].price.words if rows[0].price else "-"
    return first if len(rows) == 1 else f"{first} and {len(rows) - 1} more"


def _groups(answer: Answer, explained: int) -> list[Group]:
    groups = []
    for row in answer.ranked[:explained]:
        lines = [*row.reasons, *row.use, *_order_line(row), *_cited(row), *row.cautions]
        if row.on_list is not None:
            lines.insert(0, beside_sentence(row.on_list))
        groups.append(Group(f"{row.rank}. {row.material.name} ({latin(row.material)})", lines))
    for heading, held in (
        ("Too little known to rank", answer.low_coverage),
        ("Lawful only with papers", answer.with_papers),
        ("Left out", answer.left_out),
        ("Cannot say", answer.cannot_say),
    ):
        if held:
            most = answer.request.rows if answer.among and held is answer.low_coverage else NAMED
            # the likest come first, so that those close lie ahead of all others
            near = held[: sum(head.likeness >= CLOSE for head in held.heads[:most])]
            lines = [_named(row) for row in near]
            if len(held) > len(near):
                rest = len(held) - len(near)
                told = f"and {rest} less alike" if near else f"{rest}, none of them close"
                lines.append(f"{told} (all of them with --json).")
            groups.append(Group(heading, lines))
    return groups


def _order_line(row: Row) -> list[str]:
    """How well its place before the next row holds, where pieces are drawn at random."""
    if row.order_holds is None or row.order_holds >= 0.85:
        return []
    tenths = round(10 * row.order_holds)
    return [f"Its place before the next is not firm: pieces drawn at random keep it {tenths} times in 10."]


def _cited(row: Row) -> list[str]:
    """Where the row's figures come from, each source once."""
    places: dict[str, list[str]] = {}
    for criterion in row.found.criteria:
        for figure in criterion.figures:
            place = " ".join(part for part in (figure.source, figure.locator) if part)
            if figure.for_taxon:
                place += f" (measured on {figure.for_taxon})"
            name = explain.criterion_name(criterion.property if len(criterion.figures) == 1 else figure.name)
            held = places.setdefault(f"{figure.grade}, {place}".rstrip(", "), [])
            if name not in held:
                held.append(name)
    told = "; ".join(f"{' and '.join(names)} {place}" for place, names in places.items())
    return [f"Sources: {told}."] if told else []


def _named(row: Row) -> str:
    why = " ".join(row.because)
    known = f"known {row.found.known} of {row.found.asked}"
    listed = "" if row.on_list is None else f" {beside_sentence(row.on_list)}"
    name = row.material.name
    if row.material.botanical_name != name:
        name += f" ({latin(row.material)})"
    return f"{name}, likeness {row.found.likeness:.2f}, {known}: {why}{listed}"


def parts_table(choices: list[Choice]) -> tuple[list[str], list[list[str]], set[int]]:
    """A parts list answered: head, cells, columns set flush right."""
    rows = []
    for choice in choices:
        ranked = choice.answer.ranked if choice.answer else []
        first = ranked[0] if ranked else None
        rows.append(
            [
                choice.part.part,
                choice.part.wood,
                choice.part.role,
                first.material.name if first else "-",
                f"{first.found.likeness:.2f}" if first else "-",
                ", ".join(row.material.name for row in ranked[1:3]),
                "" if first else choice.said,
            ]
        )
    return ["part", "wood", "role", "stand-in", "like", "then", "why not"], rows, {4}
