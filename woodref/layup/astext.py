"""A report as plain text, wrapped and in columns: what is printed into a pipe or laid into a bundle."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from woodref.layup.report import Report

#: columns that lines are wrapped at
WIDTH = 100


def columns(head: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> list[str]:
    """A table as lines; right: columns set flush right."""
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    out = []
    for row in [head, *rows]:
        cells = [
            cell.rjust(size) if index in right else cell.ljust(size)
            for index, (cell, size) in enumerate(zip(row, widths, strict=True))
        ]
        out.append("  ".join(cells).rstrip())
    return out


def as_text(report: Report) -> str:
    """The whole report in words, moduli and matrices last."""
    out = [*_wrapped(report.headline(), "")]
    out += [line for asks, answer in report.short() for line in _wrapped(f"{asks + ':':<8}{answer}.", "  ")]
    for heading, lines in report.page():
        out += ["", heading, *(line for said in lines for line in _wrapped(said, "  "))]
    head, rows = report.pack_table()
    out += ["", "The pack, show face first", *columns(head, rows, {3, 4, 5, 6})]
    out += ["", "For engineers", *(line for said in report.engineers() for line in _wrapped(said, "  "))]
    for title, matrix in report.matrices():
        out += [f"  {title}", *("    " + "  ".join(f"{v:>14,.3f}" for v in row) for row in matrix)]
    return "\n".join([*out, ""])


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
