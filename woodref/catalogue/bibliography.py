"""The sources as a list to print: what each is, how it was seen, how much rests on it.

`citing` has them for a bibliography program.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue


@dataclass(frozen=True)
class Cited:
    """One source with the number of figures and law rows that rest on it."""

    source: dict[str, Any]
    figures: int
    law_rows: int

    @property
    def sentence(self) -> str:
        s = self.source
        parts = [p for p in (s["by"], f"({s['year']})" if s["year"] else None) if p]
        head = f"[{s['id']}] {' '.join(parts)}{': ' if parts else ''}{s['title']}"
        tail = "".join(
            f". {label}{s[key]}"
            for key, label in (("publisher", ""), ("doi", "doi:"), ("licence", "Licence: "))
            if s[key] and s[key] != s["by"]
        )
        says = f" {s['states'].rstrip('.')}." if s["states"] else ""
        rests = [
            f"{count} {word if count == 1 else f'{word}s'}"
            for count, word in ((self.figures, "figure"), (self.law_rows, "law row"))
            if count
        ]
        verb = "rests" if self.figures + self.law_rows == 1 else "rest"
        unseen = "figures worked out on reading" if s["kind"] == "rule" else "facts and notes"
        told = " and ".join(rests) or unseen
        return f"{(head + tail).rstrip('.')}.{says} Seen: {s['seen']}; {told} {verb} on it."

    def as_dict(self) -> dict[str, Any]:
        return self.source | {"figures": self.figures, "law_rows": self.law_rows}


def bibliography(catalogue: Catalogue) -> list[Cited]:
    """Every source by id."""

    def counts(table: str) -> dict[str, int]:
        sql = f"SELECT source_id, count(*) AS n FROM {table} GROUP BY source_id"
        return {row["source_id"]: row["n"] for row in catalogue.rows(sql)}

    figures, law = counts("figure"), counts("law_row")
    return [Cited(source, figures.get(sid, 0), law.get(sid, 0)) for sid, source in catalogue.sources.items()]
