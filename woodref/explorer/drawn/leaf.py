"""An engineered veneer drawn: a piece of leaf with its pattern, and the edge of the block it comes from."""

from __future__ import annotations

from functools import lru_cache

from woodref.explorer.drawn.outlines import path, rings, simpler
from woodref.explorer.drawn.shapes import tag, text_at
from woodref.selection.madesheets import Block

#: the piece of leaf on the picture, and the strip below it that holds the scale
WIDE, HIGH, FOOT = 720, 480, 34
#: grid points stand so far apart; outlines are true within so much
STEP, TRUE = 8, 0.3
LINE = 'fill="none" stroke="currentColor"'
#: lengths a scale bar may have [mm]
BARS = (5, 10, 20, 50, 100, 200)


@lru_cache(maxsize=64)
def pattern(block: Block) -> str:
    """The pattern of the leaf asked for, as paths from the lowest sheet seen upward, each over the last."""
    import numpy as np

    from woodref.science.pattern import boundaries, levels, sheet_seen

    long, wide = block.window
    u, v = np.meshgrid(np.linspace(0, long, WIDE // STEP + 1), np.linspace(0, wide, HIGH // STEP + 1))
    field = levels(block.mould, block.cut, u, v, block.z0)
    low, high = float(field.min()), float(field.max())
    colour = block.sheets[int(sheet_seen(np.array(low), block.thicknesses))].colour
    out = [f'<rect width="{WIDE}" height="{HIGH}" fill="{colour}"/>']
    for level, index in boundaries(low, high, block.thicknesses):
        if block.sheets[index].colour == colour:
            continue
        colour = block.sheets[index].colour
        d = path([simpler(ring, TRUE) for ring in rings(field, level, STEP)])
        if d:
            out.append(f'<path fill="{colour}" d="{d}"/>')
    return "\n".join(out)


def scale_bar(long: float) -> tuple[int, float]:
    """(length of the bar in mm, its length on the picture) for a piece of leaf so long [mm]: the longest of a
    few round ones that takes no more than a quarter of it."""
    bar = max((b for b in BARS if b <= long / 4), default=BARS[0])
    return bar, bar * WIDE / long


def leaf(block: Block, title: str, words: str) -> str:
    """The whole picture, with its scale."""
    bar, length = scale_bar(block.window[0])
    y = HIGH + 12
    return "\n".join([
        f'<svg class="drawn leaf" viewBox="0 0 {WIDE} {HIGH + FOOT}" role="img" '
        'aria-labelledby="leaf-t leaf-d" xmlns="http://www.w3.org/2000/svg">',
        tag("title", title, id="leaf-t"), tag("desc", words, id="leaf-d"),
        f'<g fill-rule="evenodd">{pattern(block)}</g>',
        f'<rect x=".5" y=".5" width="{WIDE - 1}" height="{HIGH - 1}" {LINE}/>',
        f'<path d="M1 {y - 5}v10m0-5h{length:.1f}m0-5v10" {LINE} stroke-width="2"/>',
        text_at(length + 12, y + 6, f"{bar} mm", size=18),
        text_at(WIDE, y + 6, "along the grain \N{RIGHTWARDS ARROW}", size=18, anchor="end"), "</svg>",
    ])  # fmt: skip


def edge(block: Block, high: int = 34, wide: int = 220) -> str:
    """One repeat of the block seen at its edge, the lowest sheet at the left, each as wide as it is thick."""
    x, per = 0.0, wide / block.period
    out = [
        f'<svg class="edge" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" aria-hidden="true">'
    ]
    for sheet in block.sheets:
        out.append(
            f'<rect x="{x:.1f}" width="{sheet.pressed_mm * per + 0.4:.1f}" height="{high}" '
            f'fill="{sheet.colour}"/>'
        )
        x += sheet.pressed_mm * per
    out.append(f'<rect x=".5" y=".5" width="{wide - 1}" height="{high - 1}" {LINE}/></svg>')
    return "".join(out)
