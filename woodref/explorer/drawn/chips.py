"""Chips of colour: plain where it was measured, hatched where it is the middle of a coarse word."""

from __future__ import annotations

from woodref.explorer.drawn.shapes import attribute

#: one definition a page: white and black hatching shows on pale and dark chips alike
HATCH = (
    '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1" height="7" fill="#fff" fill-opacity=".75"/>'
    '<rect x="1" width="1" height="7" fill="#000" fill-opacity=".45"/></pattern></defs>'
)


def chip(x: float, y: float, width: float, height: float, fill: str, measured: bool) -> str:
    """A chip; hatched where nothing was measured."""
    place = f'x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}"'
    over = "" if measured else f'<rect {place} fill="url(#hatch)"/>'
    return f'<rect {place} fill="{attribute(fill)}" class="edged"/>{over}'
