"""What is wrong with a pack, or wants to be known before the glue is spread."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

#: worst first: do not press it so; change something; know it
SEVERITIES = ("stop", "mend", "mind")
SEVERITY_WORDS = {"stop": "Stop", "mend": "To mend", "mind": "Mind"}


@dataclass(frozen=True)
class Finding:
    """One thing found. ply: its number from the show face, None for the whole pack; mend: what helps."""

    code: str
    severity: str
    message: str
    mend: str | None = None
    ply: int | None = None
    where: str | None = None

    @property
    def sentence(self) -> str:
        """Message and mend as a person reads them."""
        return f"{self.message} {self.mend}" if self.mend else self.message

    def as_dict(self) -> dict[str, Any]:
        return {
            "code": self.code,
            "severity": self.severity,
            "ply": self.ply,
            "message": self.message,
            "mend": self.mend,
            "where": self.where,
        }


def ordered(found: list[Finding]) -> tuple[Finding, ...]:
    """Each once, the worst first; among equals in the order in which they were found."""
    return tuple(sorted(dict.fromkeys(found), key=lambda f: SEVERITIES.index(f.severity)))
