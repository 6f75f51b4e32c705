"""What a check of the data says: values, not exceptions, so that all of them come at once."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from woodref.errors import visible

Severity = Literal["error", "warning"]


@dataclass(frozen=True, order=True)
class Finding:
    """One thing found: file below data/, 1-based line, field path, sentence."""

    file: str
    line: int
    field: str
    says: str
    severity: Severity = "error"

    @classmethod
    def error(cls, file: str, line: int, field: str, says: str) -> Finding:
        return cls(file, line, field, says, "error")

    @classmethod
    def warning(cls, file: str, line: int, field: str, says: str) -> Finding:
        return cls(file, line, field, says, "warning")

    def __str__(self) -> str:
        field = f"{self.field}: " if self.field else ""
        mild = "" if self.severity == "error" else "(warning) "
        place = f"data/{self.file}:{self.line}" if self.file else "data"
        return visible(f"{place}: {mild}{field}{self.says}")

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def errors(found: list[Finding]) -> list[Finding]:
    """Only those that forbid a build."""
    return [f for f in found if f.severity == "error"]
