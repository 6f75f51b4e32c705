"""What the printed pages of the stock book share: the templates, a code to scan, and text cut to its room.

Pages are black on white, without script and without anything from outside; sizes are mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from woodref.layup.drawtext import readable, wrapped

_TEMPLATES = Path(__file__).resolve().parent / "templates"
#: least side of a code without its quiet zone, least side of one module [mm] (common practice: a telephone
#: reads either from arm's length), and the quiet zone in modules (ISO/IEC 18004 asks for four)
CODE, MODULE, QUIET = 18.0, 0.4, 4
#: letters of a text that are looked at: nothing longer fits any page
MOST_LETTERS = 600


def page(template: str, **values: Any) -> str:
    """A page of the stock book as HTML; every value is escaped, a missing one is a fault of ours."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, finalize=lambda value: readable(value) if type(value) is str else value,
    )  # fmt: skip
    return environment.get_template(template).render(**values)


def code(text: str) -> tuple[str, float]:
    """A QR code of a text as inline SVG, quiet zone included, and its side on paper [mm]."""
    import segno

    made = segno.make(text, micro=False, error="m", encoding=None if text.isascii() else "utf-8")
    modules = made.symbol_size(border=0)[0]
    side = max(CODE / modules, MODULE) * (modules + 2 * QUIET)
    drawn = made.svg_inline(
        border=QUIET, omitsize=True, dark="#000", light="#fff", svgclass=None, lineclass=None
    )
    return drawn, round(side, 2)


def cut_to(text: str, room: float, size: float, lines: int = 1) -> str:
    """A text that fits so many lines of `room` mm at a letter size of `size` mm; an ellipsis ends one that
    was cut."""
    tidy = " ".join(readable(text[:MOST_LETTERS]).split())
    if len(wrapped(tidy, room, size)) <= lines and len(text) <= MOST_LETTERS:
        return tidy
    fits, most = 0, len(tidy)
    while fits < most:
        tried = (fits + most + 1) // 2
        if len(wrapped(f"{tidy[:tried].rstrip()}…", room, size)) <= lines:
            fits = tried
        else:
            most = tried - 1
    return f"{tidy[:fits].rstrip()}…"


def largest(text: str, room: float, sizes: Sequence[float]) -> float:
    """The letter size [mm] for a text that may not be cut: the largest of the upper half on one line, else
    the largest on two, else the last."""
    for lines, tried in ((1, sizes[: len(sizes) // 2]), (2, sizes)):
        for size in tried:
            if len(wrapped(text, room, size)) <= lines:
                return size
    return sizes[-1]
