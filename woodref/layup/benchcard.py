"""The bench card: one page to lie beside the press, plies in the order they go down. Every word is made
here or in the report; the template only sets them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref.layup.cutting import is_ring
from woodref.layup.drawtext import readable
from woodref.layup.edgedrawing import grain_words
from woodref.layup.findings import SEVERITY_WORDS
from woodref.layup.leafcount import size
from woodref.layup.saying import pct, plural
from woodref.science import gluing
from woodref.selection.glues import Glue
from woodref.selection.words import joined

if TYPE_CHECKING:
    from woodref.layup.leafcount import PlyCut
    from woodref.layup.pack import Sheet
    from woodref.layup.report import Report
    from woodref.layup.spreading import Line

_TEMPLATES = Path(__file__).resolve().parent / "templates"
#: lines to write on, and those that a single sheet has too
TO_WRITE = (
    "Date", "Initials", "Shop, temperature and humidity", "Glue, batch and age", "First line spread at",
    "Press shut at", "Press opened at",
)  # fmt: skip
SINGLE = 3
#: least and largest width of the drawing beside the words, and its height where there is a choice [mm];
#: width and height of one on a sheet of its own
BESIDE, SHEET = (62, 76, 108), (160, 255)
#: lines of plies and of what is to settle that leave room for the drawing, and letters on a line
ROOM, LETTERS = 11, 120
#: findings of no great weight that want doing before the glue is spread
BENCH_MINDS = ("iron-stain", "oily-wood", "bleed-through")
#: how sentences of the cutting begin that are done while the pack is laid, and the one on the trim
LAID = ("Lay the pack centred", "Mark the middle", "Spread the closing joints")
#: and the one of the moisture that is not in the file
TAKEN = "since the file gives no moisture"
LOOSE, TRIM = "Lay the loose side", ("Every edge carries", "Both edges carry", "No edge carries")
#: what a glue's caution on cleaning begins with; what a caution for the body speaks of
CLEANS = ("Wash the spreader", "Clean up")
BODY = (
    "glove", "skin", "ventilat", "mask", "lungs", "eyes", "burn", "dust", "sensitis", "smoke", "harmful",
    "proof of strength",
)  # fmt: skip


@dataclass(frozen=True)
class Down:
    """One ply as it goes down: number from the show face, wood and cut, which side of the part it is,
    thickness and grain, size of its blank, moisture it is meant to have, and what is spread of it."""

    number: int
    wood: str
    side: str
    thick: str
    grain: str
    blank: str
    moisture: str
    spread: str


@dataclass(frozen=True)
class Linked:
    """What a card loads when it stands among other pages, instead of carrying its style with it: style
    sheets, scripts, and the page it goes back to."""

    sheets: tuple[str, ...]
    scripts: tuple[str, ...] = ()
    back: str | None = None


def card_style() -> str:
    """The style of the card as CSS."""
    return (_TEMPLATES / "bench-card.css").read_text("utf-8")


def bench_card(report: Report, drawing: str | None = None, linked: Linked | None = None) -> str:
    """The page as HTML. drawing: what `draw` made of the same report, set beside the words; linked: what the
    page loads, None for one that stands alone."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, finalize=_readable,
    )  # fmt: skip
    wrong = to_settle(report)
    apart, wide = _picture(report, drawing, wrong)
    if drawing is not None:
        drawing = _at_width(drawing, wide)
    return environment.get_template("bench-card.html").render(
        title=report.layup.title,
        parts=plural(report.layup.panel.count, "part"),
        summary=report.summary(),
        stop=any(f.severity == "stop" for f in report.findings),
        wrong=wrong,
        order=order_words(report),
        plies=going_down(report),
        sections=[
            ("before", "Before the glue", before(report)),
            ("glue", "Glue", glue_sentences(report)),
            ("press", "Press", press_sentences(report)),
            ("after", "After", after(report)),
        ],
        to_write=TO_WRITE if len(report.pack.sheets) > 1 else TO_WRITE[:SINGLE],
        drawing=drawing,
        apart=apart,
        style=Markup(card_style()),  # noqa: S704 - a file of our own
        sheets=linked.sheets if linked else (),
        scripts=linked.scripts if linked else (),
        back=linked.back if linked else None,
        cautions=short_cautions(report),
        version=f"woodref {report.stamp['version']}, catalogue {report.stamp['digest']}",
    )


def _readable(value: Any) -> Any:
    """Text of a file without what no page may hold; markup as it is."""
    return readable(value) if type(value) is str else value


def _picture(report: Report, drawing: str | None, wrong: Sequence[str]) -> tuple[bool, int]:
    """Whether the drawing gets a sheet of its own, where plies and what is to settle leave it no room, and
    its width on paper [mm]: a tall one is made smaller, down to where it can be read."""
    found = re.search(r'viewBox="0 0 (\d+) (\d+)"', drawing or "")
    shape = int(found[1]) / int(found[2]) if found else 1.0
    lines = len(report.pack.sheets) + sum(math.ceil(len(sentence) / LETTERS) for sentence in wrong)
    if lines > ROOM:
        return True, round(min(SHEET[0], SHEET[1] * shape))
    return False, round(max(BESIDE[0], min(BESIDE[1], BESIDE[2] * shape)))


def _at_width(drawing: str, wide: int) -> str:
    """The drawing with its width on paper [mm] in its first tag; its height follows."""
    first, end, rest = drawing.partition(">")
    return re.sub(r' width="[^"]*" height="[^"]*"', f' width="{wide}mm"', first) + end + rest


def to_settle(report: Report) -> list[str]:
    """What stops the press and what is to mend, the worst first; what is mended alike stands together."""
    alike: dict[tuple[str, str | None], list[str]] = {}
    for f in report.findings:
        if f.severity != "mind":
            alike.setdefault((f.severity, f.mend), []).append(f.message)
    return [
        f"{SEVERITY_WORDS[severity]}: {' '.join([*messages, *([mend] if mend else [])])}"
        for (severity, mend), messages in alike.items()
    ]


def going_down(report: Report) -> list[Down]:
    """The plies in the order they go down: first the one that lies against the mould, or lowest in a flat
    press."""
    cuts, out = {row.number: row for row in report.cutting.rows}, []
    for sheet in report.pack.sheets:
        row = cuts.get(sheet.number)
        side = {len(report.pack.sheets): "back", 1: "show face"}.get(sheet.number, "")
        wood = sheet.name if sheet.is_board else f"{sheet.name}, {sheet.cut.replace('-', ' ')}"
        blank = _blank(report, row) if row else "left out"
        thick, wet, spread = report.say.mm(sheet.thickness), pct(sheet.moisture), _spread(report, sheet)
        out.append(Down(sheet.number, wood, side, thick, grain_words(sheet), blank, wet, spread))
    return out if report.layup.mould.show_against else out[::-1]


def _blank(report: Report, row: PlyCut) -> str:
    """'499 x 460 mm'."""
    length, width = size(report.say, row.length), size(report.say, row.width)
    number, _, unit = length.rpartition(" ")
    return f"{number if width.endswith(f' {unit}') else length} x {width}"


def _spread(report: Report, sheet: Sheet) -> str:
    """What is spread of a ply as it lies, with grams a part."""
    lines = [line for line in report.spreading.lines if line.spread_on == sheet.number]
    if not lines:
        nothing = "no glue line" if len(report.pack.sheets) == 1 else "left out"
        return "stays dry" if report.spreading.lines else nothing
    much = [_grams(report, line) for line in lines]
    if len(lines) == 2 and much[0] == much[1]:
        return f"both sides{much[0]}{' each' if much[0] else ''}"
    return "; ".join(_place(report, line) + grams for line, grams in zip(lines, much, strict=True))


def _place(report: Report, line: Line) -> str:
    """'on top (inner side)': as the ply lies in the press."""
    to_back = line.upper.number == line.spread_on
    where = "below" if to_back != report.layup.mould.show_against else "on top"
    outer = line.spread_on in (1, len(report.pack.sheets))
    return f"{where} ({'inner' if outer else 'back' if to_back else 'face'} side)"


def _grams(report: Report, line: Line) -> str:
    """', 25 g', with the glue where a pack has several; nothing where the size is not known."""
    several = len({other.glue["id"] for other in report.spreading.lines}) > 1
    name = line.glue["names"][0]["text"] if several else ""
    much = "" if line.grams is None else report.say.grams(line.grams)
    told = f"{much} of {name}" if much and name else much or name
    return f", {told}" if told else ""


def order_words(report: Report) -> str:
    """Which side lies on what."""
    mould = report.layup.mould
    place = "the lower caul"
    if mould.radius is not None:
        place = "the former" if mould.convex else "the hollow mould"
    first, last = ("show face", "back") if mould.show_against else ("back", "show face")
    if len(report.pack.sheets) == 1:
        return f"One sheet, its {first} against {place}."
    return (
        f"They go down on {place}: {first} first, against it; {last} last, away from it. Numbers count "
        "from the show face."
    )


def before(report: Report) -> list[str]:
    """What is done before the glue is mixed."""
    said = report.cutting.sentences
    out = ["Measure each ply and write it down: what it is meant to have stands beside it."]
    out += [s for s in report.moist.sentences if TAKEN in s]
    if len(report.pack.sheets) > 1:
        out.append(_release(report))
        out.append("Pick off every grain of grit, wood and mould alike.")
    if any(row.leaves is not None and row.leaves.leaves_across > 1 for row in report.cutting.rows):
        out.append("Tape the joints of face and back on their outer sides only, and leave no tape in a line.")
    loose = next((s for s in said if s.startswith(LOOSE)), None)
    if loose is None and len(report.pack.sheets) > 1 and not report.pack.sheets[0].is_board:
        loose = "Lay the loose side of face and back to the glue."
    out += [loose] if loose else []
    out += [s for s in said if s.startswith(LAID)]
    out += [report.cutting.left_out] if report.cutting.left_out else []
    return out + [f.sentence for f in report.findings if f.severity == "mind" and f.code in BENCH_MINDS]


def _release(report: Report) -> str:
    """What keeps the pack from the mould, the caul and the bag."""
    flat = report.layup.mould.radius is None
    if report.layup.press.bag:
        place = "caul" if flat else "mould"
        return f"Wax the {place} or lay release film on it, and film between the pack and the bag."
    return f"Wax {'both cauls' if flat else 'the mould and the caul'} or lay release film on both."


def glue_sentences(report: Report) -> list[str]:
    """Which glue, how much, how long it stays open and how it is mixed."""
    out = list(report.spreading.sentences)
    press = report.layup.press
    if report.spreading.open_min is not None:
        shop = report.layup.room.temperature if press.heated is not None else press.temperature
        out.append(f"That time holds at {report.say.warmth(max(shop, gluing.COLDEST))}: warmer is shorter.")
    return out + _by_glue(report, lambda glue: _MIX[glue["parts"]])


#: how a glue is made ready (the glue's file says of how many parts it is)
_MIX = {
    "one": "It comes ready to spread: nothing is mixed in.",
    "two": "Weigh both parts by the sheet of the glue in hand, no more than goes down while it stays open.",
    "powder-and-water": "Weigh powder and water by the sheet of the glue in hand, no more than goes down "
    "while it stays open.",
}


def press_sentences(report: Report) -> list[str]:
    """Pressure, time, how it is opened."""
    if len(report.pack.sheets) == 1:
        return ["A single sheet is not pressed."]
    return list(report.pressing.sentences) or ["Pressing is left out: the file names no glue."]


def after(report: Report) -> list[str]:
    """What is done when the press is shut, and when it is open."""
    layup, moist = report.layup, report.moist
    out = _by_glue(report, _clean)
    trim = next((s for s in report.cutting.sentences if s.startswith(TRIM)), None)
    if trim is None and layup.panel.trim and len(report.pack.sheets) > 1:
        edges = "both edges" if is_ring(layup) else "every edge"
        trim = f"Trim after pressing, {report.say.mm(layup.panel.trim)} on {edges}: the edges bond worst."
    out += [trim] if trim else []
    if report.pack.glues and moist.mean > moist.middle + 1:
        where = "flat" if layup.mould.radius is None else "on its former"
        out.append(
            f"It comes out at about {moist.mean:.0f} % and will live at {moist.middle:.0f} %: let it dry "
            f"{where}, air on both sides, before it is trimmed."
        )
    return out


def _by_glue(report: Report, said: Callable[[Glue], str]) -> list[str]:
    """A sentence for each glue of the pack, its name before it where they differ."""
    by: dict[str, list[str]] = {}
    for glue, _ in report.pack.glues:
        names = by.setdefault(said(glue), [])
        if glue["names"][0]["text"] not in names:
            names.append(glue["names"][0]["text"])
    if len(by) < 2:
        return list(by)
    return [f"{joined(names)}: {text[0].lower()}{text[1:]}" for text, names in by.items()]


def _clean(glue: Glue) -> str:
    """How the spreader is cleaned: as the glue's file says, or by whether the glue has water in it."""
    told = next((c for c in glue["cautions"] if c.startswith(CLEANS)), None)
    if told is not None:
        return f"{told}."
    if glue["water"] == "brings-in":
        return "Wash the spreader before the glue dries on it."
    return "Wipe the spreader clean before the glue sets; its sheet says what takes it off."


def short_cautions(report: Report) -> list[str]:
    """What can hurt at the bench; the report has them all."""
    kept = [c for c in report.cautions if any(word in c for word in BODY) and not c.startswith(CLEANS)]
    if len(kept) < len(report.cautions):
        kept.append("The report of this pack has more to mind.")
    return kept
