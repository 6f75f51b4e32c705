"""What-ifs: a layup as drawn and with a change, side by side."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from woodref.errors import BadQuantity, BadRequest, echo
from woodref.layup.saying import pct
from woodref.units import span

if TYPE_CHECKING:
    from woodref.layup.report import Report

Step = str | int


@dataclass(frozen=True)
class Edit:
    """One change: the path into the file (plies counted from 0) and the option as typed."""

    path: tuple[Step, ...]
    value: Any
    option: str

    def put_in(self, held: dict[str, Any]) -> None:
        """Change the mapping of the file. BadRequest when the path leads nowhere."""
        place: Any = held
        for step, after in zip(self.path, self.path[1:], strict=False):
            if isinstance(step, int):
                if not isinstance(place, list) or step >= len(place):
                    count = len(place) if isinstance(place, list) else 0
                    raise BadRequest(
                        f"{self.option}: there is no number {step + 1}", expected=f"1 to {count}"
                    )
                place = place[step]
            elif isinstance(place, dict):
                if place.get(step) is None:
                    place[step] = [] if isinstance(after, int) else {}
                place = place[step]
            if not isinstance(place, dict | list):
                raise BadRequest(f"{self.option}: {step} holds no {after}", expected="a path of the file")
        last = self.path[-1]
        if isinstance(place, list):
            if not isinstance(last, int) or last >= len(place):
                raise BadRequest(
                    f"{self.option}: the path ends at a list", expected="plies.2.thickness=0.9mm"
                )
            place[last] = self.value
        else:
            place[last] = self.value
            if last == "material":
                place.pop("unidentified", None)


def _typed(text: str) -> Any:
    """A value as YAML would take it: whole and broken numbers bare, true and false, everything else text."""
    if re.fullmatch(r"[+-]?[0-9]{1,400}", text):
        return int(text)
    if re.fullmatch(r"[+-]?[0-9]*\.[0-9]+", text):
        return float(text)
    return {"true": True, "false": False}.get(text, text)


def _steps(path: str, option: str) -> tuple[Step, ...]:
    steps: list[Step] = []
    for part in path.split("."):
        if not part:
            raise BadRequest(f"{option}: {echo(path)} is no path", expected="plies.2.thickness=0.9mm")
        if re.fullmatch(r"[0-9]{1,9}", part):
            if int(part) == 0:
                raise BadRequest(f"{option}: plies are counted from 1, the show face")
            steps.append(int(part) - 1)
        else:
            steps.append(part)
    return tuple(steps)


def _pair(text: str, option: str, expected: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise BadRequest(f"{option} {echo(text)} is not understood", expected=expected)
    return name.strip(), value.strip()


def edits_of(
    sets: Sequence[str] = (),
    swaps: Sequence[str] = (),
    haves: Sequence[str] = (),
    ranges: Sequence[str] = (),
) -> list[Edit]:
    """The changes of --set, --swap, --have and --range. BadRequest or BadQuantity says which cannot be
    read."""
    out = []
    for text in sets:
        path, value = _pair(text, "--set", "--set plies.2.thickness=0.9mm")
        out.append(Edit(_steps(path, f"--set {text}"), _typed(value), f"--set {text}"))
    for text in swaps:
        ply, name = _pair(text, "--swap", '--swap 1="black walnut"')
        out.append(Edit(("plies", _ply(ply, f"--swap {text}"), "material"), name, f"--swap {text}"))
    for text in haves:
        ply, thick = _pair(text, "--have", "--have 1=0.5mm")
        bare = f"{thick} mm" if re.fullmatch(r"[\d.,]+", thick) else thick
        out.append(Edit(("plies", _ply(ply, f"--have {text}"), "thickness"), bare, f"--have {text}"))
    for text in ranges:
        name, ends = _pair(text, "--range", "--range rh=25..75")
        if name != "rh":
            raise BadRequest(f"--range {echo(text)} is not known", expected="rh=LOW..HIGH in %")
        try:
            found = span(ends, "%")
        except BadQuantity as fault:
            fault.where = f"--range {text}"
            raise
        for key, end in (("rh_low", found.low), ("rh_high", found.high)):
            if end is not None:
                out.append(Edit(("room", key), f"{end:g} %", f"--range {text}"))
    return out


def _ply(text: str, option: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text) or int(text) == 0:
        raise BadRequest(f"{option}: {echo(text)} is no ply", expected="a number from 1, the show face")
    return int(text) - 1


def beside(drawn: Report, changed: Report) -> tuple[list[str], list[list[str]]]:
    """Head and rows of the table: what is told, as drawn, with this change."""
    rows = [
        [label, read(drawn), read(changed)]
        for label, read in _READ
        if (read(drawn), read(changed)) != ("-", "-")
    ]
    rows += _findings_beside(drawn, changed)
    return ["", "as drawn", "with this change"], rows


def _findings_beside(drawn: Report, changed: Report) -> list[list[str]]:
    def told(report: Report, others: Report) -> str:
        theirs = {(f.code, f.ply) for f in others.findings}
        own = [f for f in report.findings if (f.code, f.ply) not in theirs]
        return (
            ", ".join(dict.fromkeys(f"{f.code}{f' (ply {f.ply})' if f.ply else ''}" for f in own)) or "none"
        )

    return [["findings of this one alone", told(drawn, changed), told(changed, drawn)]]


def _mm(report: Report, value: float | None) -> str:
    return "-" if value is None else report.say.mm(value)


def _air(name: str, read: str) -> Any:
    def told(report: Report) -> str:
        air = report.shape.dry if name == "dry" else report.shape.damp
        value = None if air is None else getattr(air, read)
        if value is None:
            return "-"
        side = "" if abs(value) < 0.05 or read == "twist" else ", show face " + (
            "round" if value > 0 else "hollow"
        )  # fmt: skip
        return f"{report.say.mm(abs(value), 1)}{side}"

    return told


def _turn(name: str) -> Any:
    def told(report: Report) -> str:
        turned = getattr(report.curve, name) if report.curve else None
        if turned is None or turned.total is None:
            return "-"
        return f"{'closes' if turned.total > 0 else 'opens'} {abs(turned.total):.1f} degrees"

    return told


def _flat(read: Any) -> Any:
    """Bow, cup and twist of a part that is meant to be flat alone."""
    return lambda r: "-" if r.layup.mould.radius is not None else read(r)


def _weight(report: Report) -> str:
    mass = report.finished.areal_mass
    return "-" if mass is None else report.say.kg_m2(mass)


def _stiff(index: int) -> Any:
    def told(report: Report) -> str:
        m = report.finished.moduli
        return "-" if m is None else report.say.gpa((m.Efx, m.Efy)[index] / 1e9)

    return told


_READ: list[tuple[str, Any]] = [
    ("thickness as finished", lambda r: _mm(r, r.finished.thickness)),
    ("weight", _weight),
    ("sets at", lambda r: pct(r.moist.mean, 0)),
    ("lives at", lambda r: f"{r.moist.dry:.0f} to {r.moist.damp:.0f} %"),
    (
        "balanced construction",
        lambda r: {True: "yes", False: "no", None: "-"}[r.mirror.balanced],
    ),
    ("bow in dry air", _flat(_air("dry", "bow"))),
    ("cup in dry air", _flat(_air("dry", "cup"))),
    ("twist in dry air", _flat(_air("dry", "twist"))),
    ("cup in damp air", _flat(_air("damp", "cup"))),
    ("bend in dry air", _turn("dry")),
    ("bend in damp air", _turn("damp")),
    ("springs back", lambda r: "-" if not r.curve or r.curve.lost is None else pct(100 * r.curve.lost)),
    ("stiffness in bending, along", _stiff(0)),
    ("stiffness in bending, across", _stiff(1)),
    ("sag under the load", lambda r: _mm(r, r.finished.sag)),
    ("glue a part", lambda r: "-" if r.spreading.total is None else r.say.grams(r.spreading.total)),
]


def beside_dict(drawn: Report, changed: Report, options: Sequence[str]) -> dict[str, Any]:
    """The JSON of a what-if: both reports whole, and the table."""
    _, rows = beside(drawn, changed)
    return {
        "changes": list(options),
        "as_drawn": drawn.as_dict(),
        "with_this_change": changed.as_dict(),
        "beside": [dict(zip(("what", "as_drawn", "with_this_change"), row, strict=True)) for row in rows],
        "query": {"file": drawn.layup.file, "changes": list(options)},
        "notices": [n.as_dict() for n in changed.notices],
        "catalogue": changed.stamp,
    }
