"""Chips of colour: plain where it was measured, hatched where it is the middle of a coarse word."""

from __future__ import annotations

from woodref.explorer.drawn.shapes import attribute

#: one a picture: a pale and a dark thread side by side show on every colour and leave most of it free
HATCH = (
    '<defs><pattern id="hatch" width="11" height="11" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1" height="11" fill="#fff" fill-opacity=".7"/>'
    '<rect x="1" width=".7" height="11" fill="#000" fill-opacity=".4"/></pattern></defs>'
)


def chip(x: float, y: float, width: float, height: float, fill: str, measured: bool) -> str:
    """A chip; hatched where nothing was measured."""
    at = "".join(f'{name}="{value:g}" ' for name, value in (("x", x), ("y", y)) if value)
    place = f'{at}width="{width:g}" height="{height:g}"'
    over = "" if measured else f'<rect {place} fill="url(#hatch)"/>'
    return f'<rect {place} fill="{attribute(fill)}" class="edged"/>{over}'
