"""One report of a layup: everything reckoned once, the sentences made here or in the rooms it calls."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue, Notice
from woodref.layup.asked import Layup
from woodref.layup.bends import Bend, bend_findings, bend_sentences, bends
from woodref.layup.curve import Curve, curve
from woodref.layup.cutting import Cutting, cutting
from woodref.layup.findings import SEVERITIES, SEVERITY_WORDS, Finding, ordered
from woodref.layup.inshort import in_short
from woodref.layup.lawful import Lawful, lawful
from woodref.layup.mirror import Mirror, mirror
from woodref.layup.moist import Moist, moist
from woodref.layup.pack import Pack, pack_of
from woodref.layup.pressing import Pressing, pressing
from woodref.layup.saying import Say, pct, plural
from woodref.layup.shape import Shape, across_sentences, flat_sentences, shape, shape_findings
from woodref.layup.solid import FINISHED, PRESSED, Solid, solid, weight_findings, weight_sentences
from woodref.layup.sounding import Sounding, sounding
from woodref.layup.spreading import Spreading, spreading
from woodref.layup.surface import cautions, surface
from woodref.layup.warping import warp_findings

Section = tuple[str, list[str]]


@dataclass(frozen=True)
class Report:
    """Everything about one pack. Each part holds its numbers and its sentences."""

    pack: Pack
    say: Say
    moist: Moist
    pressed: Solid
    finished: Solid
    mirror: Mirror
    shape: Shape
    curve: Curve | None
    bends: tuple[Bend, ...]
    spreading: Spreading
    pressing: Pressing
    cutting: Cutting
    lawful: Lawful
    sounding: Sounding | None
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    @property
    def layup(self) -> Layup:
        return self.pack.layup

    def headline(self) -> str:
        """The pack in one line, with its title."""
        return f"{self.layup.title}: {self.summary()}"

    def summary(self) -> str:
        """What it is and how many findings."""
        count = {s: sum(f.severity == s for f in self.findings) for s in SEVERITIES}
        told = [f"{count[s]} to {s}" for s in SEVERITIES if count[s]]
        plies = plural(len(self.pack.sheets), "ply", "plies")
        wrong = f"findings: {', '.join(told)}" if told else "nothing found wrong"
        return f"{plies}, {self.say.mm(self.finished.thickness)}; {wrong}."

    def short(self) -> list[tuple[str, str]]:
        """A screenful: (question, answer)."""
        return in_short(self)

    def page(self) -> list[Section]:
        """Headings and sentences in the order a maker asks; matrices stand apart (`engineers`)."""
        curved = self.layup.mould.radius is not None
        out: list[Section] = []
        out.append(("Will it keep its bend?" if curved else "Will it stay flat?", self._stay(curved)))
        if curved:
            out.append(("Will it bend?", bend_sentences(self.bends, self.say)))
        out.append(
            (
                "What does it weigh, how stiff is it?",
                weight_sentences(self.pack, self.pressed, self.finished, self.moist, self.say),
            )
        )
        out.append(
            ("How much to spread, how long to press?", [*self.spreading.sentences, *self.pressing.sentences])
        )
        cut = [self.cutting.left_out] if self.cutting.left_out else list(self.cutting.sentences)
        out.append(("How much to cut?", cut))
        out.append(("What is wrong?", self._wrong()))
        out.append(("May it go?", list(self.lawful.sentences)))
        if self.sounding:
            out.append(("How does it sound?", list(self.sounding.sentences)))
        out.append(("What can hurt you", list(self.cautions)))
        return out

    def _stay(self, curved: bool) -> list[str]:
        out = list(self.moist.sentences)
        if self.curve is not None:
            out += [*self.curve.sentences, *across_sentences(self.shape, self.say)]
        if not curved:
            out += flat_sentences(self.pack, self.shape, self.say)
        return [*out, *self.mirror.sentences]

    def _wrong(self) -> list[str]:
        if not self.findings:
            return ["Nothing was found. That is not to say that nothing is: press a trial piece first."]
        return [f"{SEVERITY_WORDS[f.severity]}: {f.sentence}" for f in self.findings]

    def pack_table(self) -> tuple[list[str], list[list[str]]]:
        """The pack, show face first."""
        head = ["ply", "wood", "cut", "thick", "grain", "laid at", "weight", "weight is"]
        rows = []
        for s in self.pack.sheets:
            grade = next((u.grade for u in s.used if u.name == "density"), "not known")
            weight = "-" if s.density is None else self.say.density(s.density)
            cut = s.cut if s.ask.cut or s.is_board or s.material is None else f"{s.cut} (taken)"
            side = (
                " (show face)"
                if s.number == 1
                else " (back)"
                if s.number == len(self.pack.sheets) > 1
                else ""
            )
            rows.append(
                [f"{s.number}{side}", s.name, cut, self.say.mm(s.thickness), f"{s.ask.grain:g}",
                 pct(s.moisture), weight, grade]
            )  # fmt: skip
        return head, rows

    def engineers(self) -> list[str]:
        """Moduli, matrices and what the figures rest on: last, and only for who asks."""
        out = []
        for state in (self.finished,) if not any(self.layup.sanding) else (self.pressed, self.finished):
            m, flat = state.moduli, state.flat
            if m is None or flat is None or state.stack is None:
                out.append(f"As {state.state}: left out, {self.pack.lacking()}.")
                continue
            out.append(
                f"As {state.state}, {m.definition}: Ex {m.Ex / 1e9:.2f}, Ey {m.Ey / 1e9:.2f}, Gxy "
                f"{m.Gxy / 1e9:.2f}, "
                f"Efx {m.Efx / 1e9:.2f}, Efy {m.Efy / 1e9:.2f} GPa."
            )
            if state.stack.coupled:
                out.append(
                    f"{flat.definition}: Ex {flat.Ex / 1e9:.2f}, Ey {flat.Ey / 1e9:.2f}, Efx "
                    f"{flat.Efx / 1e9:.2f}, "
                    f"Efy {flat.Efy / 1e9:.2f} GPa: the two differ, since pulling bends it."
                )
        if not self.mirror.angles_paired:
            out.append(
                "Its slanted plies have no partner at the opposite angle: it shears when it is pulled."
            )
        if self.shape.dry:
            pulls = ", ".join(f"{p:.1f}" for p in self.shape.dry.pull)
            out.append(f"Pull across the grain in dry air by ply, elastic, from the show face: {pulls} MPa.")
        out += _rests_on(self.pack)
        return out

    def matrices(self) -> list[tuple[str, list[list[float]]]]:
        """A [N/mm], B [N], D [N mm] of the finished part."""
        told = self.finished.as_dict()
        if told["A"] is None:
            return []
        return [("A, N/mm", told["A"]), ("B, N", told["B"]), ("D, N mm", told["D"])]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `layup`: the finished part's numbers, then each part."""
        finished, m, layup = self.finished.as_dict(), self.moist, self.layup
        glue = self.spreading.as_dict() | self.pressing.as_dict()
        curve_ = self.curve.as_dict() if self.curve else _NO_CURVE
        return {
            "query": {
                "file": layup.file,
                "title": layup.title,
                "given": sorted(layup.given),
                "estimates": self.pack.estimates,
            },
            "state": FINISHED,
            **finished,
            "as_pressed": self.pressed.as_dict(),
            "pack": [s.as_dict() for s in self.pack.sheets],
            "balanced_construction": self.mirror.balanced,
            "balanced_as_pressed": self.mirror.pressed,
            "pairs": [{"plies": [p.upper, p.lower], "differ_in": list(p.differ)} for p in self.mirror.pairs],
            "angles_paired": self.mirror.angles_paired,
            "moisture_at_set_pct": round(m.mean, 3),
            "moisture_at_set_stated": m.stated,
            "moisture_at_set_by_ply_pct": [round(v, 3) for v in m.at_set],
            "service_pct": {"dry": round(m.dry, 3), "damp": round(m.damp, 3)},
            **self.shape.as_dict(),
            **curve_,
            "bends": [b.as_dict() for b in self.bends],
            "glue": glue,
            "cure": self.pressing.cure.as_dict() if self.pressing.cure else None,
            "cutting": self.cutting.as_list(),
            "trade": [w.as_dict() for w in self.lawful.woods],
            "trade_answer": self.lawful.answer,
            "sound": self.sounding.as_dict() if self.sounding else None,
            "findings": [f.as_dict() for f in self.findings],
            "short": [{"asks": asks, "answer": said} for asks, said in self.short()],
            "page": [{"heading": h, "sentences": list(s)} for h, s in self.page()],
            "cautions": list(self.cautions),
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


_NO_CURVE: dict[str, Any] = {
    "bend_angle_deg": None, "bend_angle_change_deg": None, "bend_curl_deg": None, "springback_pct": None,
    "springback_grows": None, "mould_radius_mm": None, "ring": None, "double_curve_too_long_mm": None,
}  # fmt: skip


def _rests_on(pack: Pack) -> list[str]:
    """Which figures are no wood's own, by wood."""
    out = []
    for name in dict.fromkeys(s.name for s in pack.sheets):
        sheet = next(s for s in pack.sheets if s.name == name)
        grades: dict[str, list[str]] = {}
        for u in sheet.used:
            grades.setdefault(u.grade, []).append(u.name)
        told = "; ".join(f"{grade}: {', '.join(names)}" for grade, names in grades.items())
        if told:
            out.append(f"{name}: {told}.")
    return out


def report(
    layup: Layup,
    catalogue: Catalogue,
    on: dt.date,
    *,
    region: str | None = None,
    guess: bool = False,
    system: str = "metric",
) -> Report:
    """Check a layup. guess: work out from its weight what is not known of a wood, marked (--estimates).

    Raises UnknownName, SharedName or BadLayup with the line of the file.
    """
    say = Say(system)
    pack = pack_of(layup, catalogue, on, region, guess)
    wet = moist(pack, say)
    pressed, finished = (solid(pack, state, wet) for state in (PRESSED, FINISHED))
    pairs, moved, bent = mirror(pack, say), shape(pack, wet), curve(pack, wet, say)
    classes, spread = bends(pack), spreading(pack, wet, say)
    press, law = pressing(pack, wet, say), lawful(pack, wet, catalogue, on, say)
    cut = cutting(layup, [s.name for s in pack.sheets], say)
    found: Sequence[Finding] = [
        *wet.findings,
        *pairs.findings,
        *bend_findings(classes, say),
        *(bent.findings if bent else ()),
        *shape_findings(pack, moved, say),
        *warp_findings(pack, wet, moved, say),
        *weight_findings(pack, finished, say),
        *spread.findings,
        *press.findings,
        *cut.findings,
        *law.findings,
        *surface(pack, catalogue, say),
    ]
    told = (*catalogue.notices, *(n for n in pack.notices if n.code != "shared-name"))
    sounds = sounding(pack, finished, wet, catalogue, on, say, region)
    return Report(
        pack, say, wet, pressed, finished, pairs, moved, bent, classes, spread, press, cut, law, sounds,
        ordered(list(found)), tuple(cautions(pack)), told, catalogue.stamp,
    )  # fmt: skip
