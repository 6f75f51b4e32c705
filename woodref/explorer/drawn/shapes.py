"""Small pieces of SVG, and how much room words take."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from woodref.layup.drawtext import readable, wide, wrapped

__all__ = ["Box", "attribute", "cut_short", "mark", "tag", "text_at", "wide", "wrapped"]


@dataclass(frozen=True)
class Box:
    """A rectangle of the picture, y downward."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    def meets(self, other: Box, apart: float = 0.0) -> bool:
        """Whether the two overlap, or lie nearer than `apart`."""
        return (
            self.x < other.right + apart
            and other.x < self.right + apart
            and self.y < other.bottom + apart
            and other.y < self.bottom + apart
        )

    def within(self, other: Box) -> bool:
        """Whether it lies wholly inside the other."""
        return (
            self.x >= other.x
            and self.y >= other.y
            and self.right <= other.right
            and self.bottom <= other.bottom
        )


def attribute(text: str) -> str:
    """A text as the value of an attribute or as content."""
    return escape(readable(text), quote=True)


def tag(name: str, text: str, **named: str) -> str:
    """An element that holds a text."""
    told = "".join(f' {key}="{attribute(value)}"' for key, value in named.items())
    return f"<{name}{told}>{attribute(text)}</{name}>"


def text_at(
    x: float,
    y: float,
    text: str,
    *,
    size: float = 13,
    anchor: str = "start",
    turn: float = 0.0,
    kind: str = "",
) -> str:
    """A line of words from its base line; turn: degrees clockwise about its own point."""
    more = "" if anchor == "start" else f' text-anchor="{anchor}"'
    if turn:
        more += f' transform="rotate({turn:.2f} {x:.1f} {y:.1f})"'
    if kind:
        more += f' class="{kind}"'
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}"{more}>{attribute(text)}</text>'


def cut_short(text: str, room: float, size: float) -> str:
    """A text that fits the room, its end left out with three dots where need be."""
    if wide(text, size) <= room:
        return text
    kept = text
    while kept and wide(kept + "\N{HORIZONTAL ELLIPSIS}", size) > room:
        kept = kept[:-1].rstrip()
    return kept + "\N{HORIZONTAL ELLIPSIS}"


def mark(kind: str, x: float, y: float, fill: str, size: float = 4.6) -> str:
    """The mark of a wood, all of one size, its shape by the kind: round as it grew, square made up, on its
    corner changed, three-cornered a core."""
    r = size
    if kind == "engineered":
        shape = f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:g}" height="{2 * r:g}"'
    elif kind == "modified":
        d = f"{1.3 * r:.1f}"
        shape = f'<path d="M{x:.1f} {y - 1.3 * r:.1f}l{d} {d}-{d} {d}-{d}-{d}z"'
    elif kind == "core":
        shape = f'<path d="M{x:.1f} {y - 1.2 * r:.1f}l{1.2 * r:.1f} {2.1 * r:.1f}h-{2.4 * r:.1f}z"'
    else:
        shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}"'
    return f'{shape} fill="{fill}"/>'
