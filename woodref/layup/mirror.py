"""Balanced construction: whether every ply has an equal opposite, as pressed and after sanding."""

from __future__ import annotations

from dataclasses import dataclass

from woodref.layup.asked import apart
from woodref.layup.findings import Finding
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say
from woodref.layup.solid import FINISHED, PRESSED, thicknesses
from woodref.science.elasticity import TANGENTIAL

#: two plies of one thickness differ by no more than this share (our rule)
SAME_THICKNESS = 0.05
#: another wood moves and pulls alike within this share (our rule)
ALIKE = 0.10
#: plies laid this many points of moisture apart are no pair (our rule)
SAME_MOISTURE = 1.5
#: degrees
SAME_GRAIN = 2.0


@dataclass(frozen=True)
class Pair:
    """Two opposite plies, upper nearer the show face, and in what they differ (empty: nothing)."""

    upper: int
    lower: int
    differ: tuple[str, ...]


@dataclass(frozen=True)
class Mirror:
    """balanced: as finished, None when it cannot be told; pressed: as pressed."""

    balanced: bool | None
    pressed: bool | None
    angles_paired: bool
    pairs: tuple[Pair, ...]
    findings: tuple[Finding, ...]
    sentences: tuple[str, ...]


def _differ(one: Sheet, two: Sheet, thick: tuple[float, float], say: Say) -> list[str]:
    out = []
    same_wood = one.material is not None and two.material is not None and one.material.id == two.material.id
    if not same_wood and not (one.material is two.material and one.ask.said == two.ask.said):
        if one.leaf is None or two.leaf is None or not (one.moves and two.moves):
            out.append(f"wood ({one.name}, {two.name})")
        else:
            moved, pull = _ratio(one.leaf.beta2, two.leaf.beta2), _ratio(one.leaf.e2, two.leaf.e2)
            if max(moved, pull, _ratio(one.leaf.e1, two.leaf.e1)) > 1 + ALIKE:
                out.append(f"wood ({one.name} and {two.name} do not move and pull alike)")
    if _lies(one.cut) != _lies(two.cut) and same_wood:
        out.append(f"cut ({one.cut}, {two.cut})")
    if abs(thick[0] - thick[1]) > SAME_THICKNESS * max(thick):
        out.append(f"thickness ({say.mm(thick[0])}, {say.mm(thick[1])})")
    if apart(one.ask.grain, two.ask.grain) > SAME_GRAIN:
        out.append(f"grain ({one.ask.grain:g} and {two.ask.grain:g} degrees)")
    if abs(one.moisture - two.moisture) > SAME_MOISTURE:
        out.append(f"moisture when laid ({one.moisture:g} and {two.moisture:g} %)")
    if one.no_direction != two.no_direction:
        out.append("figure")
    return out


def _lies(cut: str) -> str:
    """Cuts whose leaves lie the same way in the log are one: a peeled and a crown leaf move alike."""
    return "tangential" if cut in TANGENTIAL else cut


def _ratio(one: float, two: float) -> float:
    low, high = sorted((one, two))
    return high / low if low > 0 else 99.0


def _pairs(pack: Pack, state: str, say: Say) -> tuple[Pair, ...]:
    thick, n = thicknesses(pack.layup, state), len(pack.sheets)
    out = []
    for k in range(n // 2):
        one, two = pack.sheets[k], pack.sheets[n - 1 - k]
        out.append(Pair(one.number, two.number, tuple(_differ(one, two, (thick[k], thick[n - 1 - k]), say))))
    return tuple(out)


def angles_paired(pack: Pack) -> bool:
    """Whether each slanted ply has one of the same sheet at the opposite angle (for engineers: A16 = A26 =
    0)."""
    slanted: dict[tuple[str, str, float], float] = {}
    for s in pack.sheets:
        angle = s.ask.grain % 180
        if angle in (0, 90):
            continue
        off = angle if angle < 90 else angle - 180
        key = (s.name, s.cut, abs(off))
        slanted[key] = slanted.get(key, 0.0) + (s.thickness if off > 0 else -s.thickness)
    return all(abs(rest) < 1e-9 for rest in slanted.values())


def mirror(pack: Pack, say: Say) -> Mirror:
    """Hold each ply against its opposite. An unidentified or figured ply passes only with its very like."""
    pressed, finished = _pairs(pack, PRESSED, say), _pairs(pack, FINISHED, say)
    odd = len(pack.sheets) % 2 == 1
    slant = pack.sheets[len(pack.sheets) // 2].ask.grain % 90 if odd else 0.0
    ok_pressed, ok = (not any(p.differ for p in pairs) for pairs in (pressed, finished))
    findings: list[Finding] = []
    said = []
    if ok:
        said.append(
            "Balanced construction: every ply has an equal opposite."
            if len(pack.sheets) > 1
            else "A single ply: there is nothing to balance."
        )
    elif ok_pressed:
        bad = next(p for p in finished if p.differ)
        message = (
            f"Balanced as pressed, but not after sanding: ply {bad.upper} and ply {bad.lower} then differ in "
            f"{', '.join(bad.differ)}."
        )
        findings.append(
            Finding(
                "unbalanced-after-sanding",
                "mend",
                message,
                "Sand both sides alike, or lay the sanded face thicker by what comes off.",
                bad.upper,
            )
        )
        said.append(message)
    else:
        for p in pressed:
            if p.differ:
                message = (
                    f"Not balanced: ply {p.upper} and its opposite, ply {p.lower}, differ in "
                    f"{', '.join(p.differ)}."
                )
                findings.append(Finding("unbalanced", "mend", message, _mend(pack, p), p.upper))
        first = f"Not of balanced construction: {_count(findings)} no equal opposite."
        said.append(first)
    if slant:
        said.append(f"Its middle ply lies aslant ({pack.sheets[len(pack.sheets) // 2].ask.grain:g} degrees).")
    return Mirror(ok, ok_pressed, angles_paired(pack), finished, tuple(findings), tuple(said))


def _count(found: list[Finding]) -> str:
    return "one pair has" if len(found) == 1 else f"{len(found)} pairs have"


def _mend(pack: Pack, pair: Pair) -> str:
    upper = pack.sheets[pair.upper - 1]
    texts = pair.differ
    if pack.sheets[pair.lower - 1].is_board != upper.is_board:
        return "Lay the like of each leaf on the other side of the board."
    if any(t.startswith("grain") for t in texts) and len(texts) == 1:
        return f"Turn ply {pair.lower} to {upper.ask.grain:g} degrees."
    if pair.upper == 1 and any(t.startswith("wood") for t in texts):
        return "Lay a back that balances the face: woodref layup FILE --suggest-back names some."
    return f"Make ply {pair.lower} as ply {pair.upper}."
