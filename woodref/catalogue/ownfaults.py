"""The faults of a list and its map, gathered so that a person mends a file in one go."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from woodref.errors import BadList, Candidate, echo

#: faults that are told one by one; more are counted
MOST_TOLD = 25


class Faults:
    """Faults of one file with their places, in the order found."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.count = 0
        self.told: list[Candidate] = []

    def add(self, where: str, says: str, expected: str | None = None) -> None:
        """One fault: its place ('price.csv:7, column "Price"') and what is wrong there."""
        self.count += 1
        if len(self.told) < MOST_TOLD:
            self.told.append(Candidate(None, where, f"{says}; expected: {expected}" if expected else says))

    def settle(self, next_: str | None = None) -> None:
        """Raise BadList with everything found, if anything was."""
        if not self.count:
            return
        if self.count == 1:
            raise BadList(self.told[0].says, where=self.told[0].name, next=next_)
        rest = self.count - len(self.told)
        more = f" (the first {len(self.told)} are told)" if rest else ""
        raise BadList(
            f"{self.count:,} things in {self.file} cannot be read{more}",
            next=next_ or "Mend them:",
            candidates=self.told,
        )


def near(text: str, known: Iterable[str]) -> str:
    """' Did you mean "density"?', or nothing where no known word is spelt nearly so."""
    found = difflib.get_close_matches(text, [str(word) for word in known], 1, 0.6)
    return f" (did you mean {echo(found[0])}?)" if found else ""
