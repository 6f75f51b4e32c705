"""The sample board drawn: small cards laid round the wood in the middle, the likest nearest to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from woodref.explorer.drawn.chips import HATCH, chip
from woodref.explorer.drawn.shapes import Box, attribute, cut_short, tag, text_at, wide, wrapped
from woodref.selection.sampleboard import Sample, SampleBoard

SMALL = 12.0
#: of a card, both sides together
MARGIN = 11.0
#: lines that a name may take
LINES = 3
#: places round the middle of a board, column and row from it, the nearest first
INNER = ((0, -1), (1, 0), (0, 1), (-1, 0), (1, -1), (1, 1), (-1, 1), (-1, -1))
OUTER = (
    (0, -2), (2, 0), (0, 2), (-2, 0), (1, -2), (2, 1), (-1, 2), (-2, -1),
    (-1, -2), (2, -1), (1, 2), (-2, 1), (2, -2), (2, 2), (-2, 2), (-2, -2),
)  # fmt: skip


@dataclass(frozen=True)
class Board:
    """Sizes of a board. rings: how many fit round the middle, what does not hangs in rows below; swatch: how
    high the chip of a card is; name: size of its name."""

    key: str
    card: tuple[float, float]
    gap: float
    rings: int
    swatch: float
    name: float


BROAD = Board("broad", (168.0, 122.0), 14.0, 2, 36.0, 13.0)
#: three cards across, for a telephone held upright
SLIM = Board("slim", (106.0, 140.0), 5.0, 1, 34.0, 12.0)


def cards(board: Board, count: int) -> tuple[Box, list[Box], Box]:
    """(the middle card, the card of each sample in order, the whole board)."""
    (w, h), gap = board.card, board.gap
    side = 2 * board.rings + 1
    round_ = [*INNER, *OUTER][: side * side - 1]
    spots = [(column + board.rings, row + board.rings) for column, row in round_[:count]]
    rest = count - len(spots)
    spots += [(n % side, side + n // side) for n in range(rest)]

    def box(column: int, row: int) -> Box:
        return Box(gap + column * (w + gap), gap + row * (h + gap), w, h)

    rows = max([side, *(row + 1 for _, row in spots)])
    whole = Box(0, 0, gap + side * (w + gap), gap + rows * (h + gap))
    return box(board.rings, board.rings), [box(*spot) for spot in spots], whole


def draw(laid: SampleBoard, board: Board, links: str = "/wood/") -> str:
    """The board as SVG."""
    middle, places, whole = cards(board, len(laid.samples))
    key = board.key
    out = [
        f'<svg class="drawn board {key}" viewBox="0 0 {whole.width:g} {whole.height:g}" role="group" '
        f'aria-labelledby="{key}-t" xmlns="http://www.w3.org/2000/svg">',
        tag("title", f"Sample board round {laid.target.name}", id=f"{key}-t"),
        HATCH.replace('id="hatch"', f'id="hatch-{key}"'),
        f'<rect class="cork" width="{whole.width:g}" height="{whole.height:g}"/>',
    ]
    (w, h), gap = board.card, board.gap
    for ring in range(1, board.rings + 1):
        out.append(
            f'<rect class="ring" x="{middle.x - ring * (w + gap) - gap / 2:g}" '
            f'y="{middle.y - ring * (h + gap) - gap / 2:g}" width="{(2 * ring + 1) * (w + gap):g}" '
            f'height="{(2 * ring + 1) * (h + gap):g}"/>'
        )
    t = laid.target
    out += _card(middle, t.id, f"{t.name}: the wood in the middle", t.name, ["in the middle"],
                 laid.chip.hex, laid.chip.measured, board, links, mine=True)  # fmt: skip
    for sample, place in zip(laid.samples, places, strict=True):
        out += _card(place, sample.material.id, sample.says, sample.material.name, lines(sample, board),
                     sample.chip.hex, sample.chip.measured, board, links)  # fmt: skip
    return "\n".join([*out, "</svg>"])


def lines(sample: Sample, board: Board) -> list[str]:
    """The words below the name on a card: how near, and what stands in its way."""
    near = [f"{sample.word} {sample.shown}"]
    if wide(near[0], SMALL) > board.card[0] - MARGIN:
        near = [sample.word, f"likeness {sample.shown}"]
    return [*near, *([sample.barred] if sample.barred else [])]


def _card(
    box: Box, id_: str, says: str, name: str, words: Sequence[str], fill: str, measured: bool,
    board: Board, links: str, *, mine: bool = False,
) -> list[str]:  # fmt: skip
    """One card: a chip at the top, the name in two lines, the words below."""
    room = box.width - MARGIN
    out = [
        f'<a href="{attribute(links + id_)}"><title>{attribute(says)}</title>',
        f'<rect class="card{" mine" if mine else ""}" x="{box.x:g}" y="{box.y:g}" width="{box.width:g}" '
        f'height="{box.height:g}"/>',
        chip(box.x + 5, box.y + 5, box.width - 10, board.swatch, fill, measured).replace(
            "url(#hatch)", f"url(#hatch-{board.key})"
        ),
    ]
    y = box.y + board.swatch + 19
    for part in name_lines(name, room, board.name):
        out.append(text_at(box.x + 6, y, part, size=board.name, kind="name"))
        y += board.name + 2
    y = box.bottom - 6 - 14 * (len(words) - 1)
    for part in words:
        out.append(text_at(box.x + 6, y, cut_short(part, room, SMALL), size=SMALL))
        y += 14
    return [*out, "</a>"]


def name_lines(name: str, room: float, size: float) -> list[str]:
    """A name in three lines at the most, broken at hyphens too."""
    parts = wrapped(name.replace("-", "- "), room, size)
    parts = [part.replace("- ", "-") for part in parts]
    if len(parts) > LINES:
        rest = " ".join(parts[LINES - 1 :]).replace("- ", "-")
        parts = [*parts[: LINES - 1], cut_short(rest, room, size)]
    return parts
