"""Text in a drawing: its sizes, its room, its lines, and the style of the whole.

400 units wide and 160 mm: 2.5 units are a millimetre. On a telephone 360 points wide small text is then
nearly 12 points.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from xml.sax.saxutils import escape

#: width in units, and on paper [mm]
WIDE, PAPER = 400, 160.0
PER_MM = WIDE / PAPER
#: the block of the pack: left, width; where the words begin; margin of them
LEFT, BLOCK, WORDS, EDGE = 8, 116, 154, 6
#: sizes of text, and the step from line to line
LARGE, SMALL, STEP = 14.0, 13.0, 16.5

STYLE = """
.pack-drawing{color-scheme:light dark;max-width:100%;height:auto}
.pack-drawing text{font-family:Arial,Helvetica,'Liberation Sans',sans-serif;font-size:14px;fill:#1f1a14}
.pack-drawing .pd-small{font-size:13px}
.pack-drawing .pd-head{font-weight:600}
.pack-drawing .pd-paper{fill:none}
.pack-drawing .pd-ply{stroke:#1f1a14;stroke-width:1}
.pack-drawing .pd-bare{fill:#ffffff}
.pack-drawing .pd-grain{stroke:#1f1a14;stroke-width:.9;fill:none}
.pack-drawing .pd-pale{stroke:#fff8ec}
.pack-drawing .pd-lead{stroke:#6b6257;stroke-width:.8;fill:none}
.pack-drawing .pd-glue{fill:#1f1a14}
.pack-drawing .pd-part{stroke:#1f1a14;stroke-width:2.5;fill:none}
.pack-drawing .pd-thin{stroke-width:1.2}
.pack-drawing .pd-flat{stroke:#6b6257;stroke-width:.8;fill:none;stroke-dasharray:2 3}
.pack-drawing .pd-dry{stroke-dasharray:7 5}
@media screen and (prefers-color-scheme:dark){
.pack-drawing text,.pack-drawing .pd-glue{fill:#f1e9dc}
.pack-drawing .pd-paper,.pack-drawing .pd-bare{fill:#191613}
.pack-drawing .pd-ply,.pack-drawing .pd-part{stroke:#f1e9dc}
.pack-drawing .pd-bare+.pd-grain{stroke:#f1e9dc}
.pack-drawing .pd-lead,.pack-drawing .pd-flat{stroke:#b3a999}
}
"""


def readable(text: str) -> str:
    """Without control characters and halves of surrogate pairs, which no page and no drawing may hold."""
    return "".join(c for c in text if unicodedata.category(c) not in ("Cc", "Cs") and c not in "\ufffe\uffff")


def safe(text: str) -> str:
    return escape(readable(text))


def wide(text: str, size_: float) -> float:
    """Room for a text [units]; a wide sans is reckoned with."""
    return size_ * sum(map(_broad, text))


def _broad(c: str) -> float:
    """Width of a letter over the size of the text."""
    if unicodedata.east_asian_width(c) in "WF" or c in "mwMW%@":
        return 1.0
    if c in " ijlrtf.,:;'()-":
        return 0.37
    return 0.75 if c.isupper() else 0.62


def wrapped(text: str, room: float, size_: float) -> list[str]:
    """A text in lines of so many units, long words broken."""
    out, line = [], ""
    for word in readable(text).split():
        while wide(word, size_) > room:
            most = next(k for k in range(1, len(word) + 1) if wide(word[:k], size_) > room) - 1
            out += [line] if line else []
            out.append(word[: max(most, 1)])
            line, word = "", word[max(most, 1) :]
        longer = f"{line} {word}".strip()
        if wide(longer, size_) > room:
            out.append(line)
            longer = word
        line = longer
    return [*out, line] if line else out


def text_at(x: float, y: float, text: str, kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:g}" y="{y:.1f}"{named}>{safe(text)}</text>'


def lines_at(sentences: Sequence[str], y: float) -> tuple[list[str], float]:
    """Sentences one below the other from a base line; the base line after them."""
    out = []
    for sentence in sentences:
        for part in wrapped(sentence, WIDE - LEFT - EDGE, SMALL):
            out.append(text_at(LEFT, y, part, "pd-small"))
            y += STEP
    return out, y
