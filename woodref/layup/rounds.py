"""Closed rings and moulds that curve both ways: diameters, lengths all round, how much too long a sheet
is."""

from __future__ import annotations

from typing import Any

from woodref.layup import geometry
from woodref.layup.findings import Finding
from woodref.layup.pack import Pack
from woodref.layup.saying import Say
from woodref.science import bending

#: length of a scarf over the thickness of its ply (common practice, no source)
SCARF = 8
#: a flat sheet that is so much too long along an edge still lies down [mm] (shop rule, no source)
LIES_DOWN = 0.5


Grown = tuple[float | None, float | None]


def ring_of(pack: Pack, dry: Grown, damp: Grown) -> dict[str, Any]:
    """Diameters [mm] as pressed, finished and in dry and damp air; length of each ply all round, and of its
    scarf. dry, damp: change round the ring and through its wall as shares, None where it is not known: the
    middle of the wall grows with the one, the wall itself with the other."""
    layup = pack.layup
    show = geometry.show_radius(layup) or 0.0
    thick = layup.thickness
    outer = show if layup.mould.show_outside else show + thick
    inner = outer - thick
    off_face, off_back = layup.sanding
    off_out, off_in = (off_face, off_back) if layup.mould.show_outside else (off_back, off_face)
    lengths = geometry.own_lengths(layup) or []
    finished = {"outer": 2 * (outer - off_out), "inner": 2 * (inner + off_in)}

    def there(grown: Grown) -> dict[str, float] | None:
        round_, through = grown
        if round_ is None or through is None:
            return None
        middle = (finished["outer"] + finished["inner"]) / 2 * (1 + round_)
        wall = (finished["outer"] - finished["inner"]) / 2 * (1 + through)
        return {"outer": round(middle + wall, 3), "inner": round(middle - wall, 3)}

    return {
        "diameter_pressed_mm": {"outer": round(2 * outer, 3), "inner": round(2 * inner, 3)},
        "diameter_finished_mm": {k: round(v, 3) for k, v in finished.items()},
        "diameter_dry_mm": there(dry),
        "diameter_damp_mm": there(damp),
        "ply_length_mm": [round(v, 2) for v in lengths],
        "scarf_length_mm": [round(SCARF * p.thickness, 2) for p in layup.plies],
    }


def double_of(pack: Pack) -> dict[str, float] | None:
    """How much too long a flat sheet is along each edge [mm]: the part's own size, and the blank with its
    trim, which is what has to lie down in the press."""
    mould, panel = pack.layup.mould, pack.layup.panel
    if mould.radius is None or mould.second_radius is None or not panel.length or not panel.width:
        return None
    first, second = mould.radius / 1000, mould.second_radius / 1000
    out = {}
    for prefix, more in (("", 0.0), ("blank_", 2 * panel.trim)):
        length, width = (panel.length + more) / 1000, (panel.width + more) / 1000
        out[f"{prefix}long_edge"] = round(1000 * bending.too_long(length, width, first, second), 3)
        out[f"{prefix}cross_edge"] = round(1000 * bending.too_long(width, length, first, second), 3)
    return out


def ring_sentences(ring: dict[str, Any] | None, say: Say) -> list[str]:
    if ring is None:
        return []
    pressed, done = ring["diameter_pressed_mm"], ring["diameter_finished_mm"]
    sanded = ""
    if pressed != done:
        sanded = f", sanded {say.mm(done['outer'], 1)} and {say.mm(done['inner'], 1)}"
    out = [
        f"Pressed it measures {say.mm(pressed['outer'], 1)} outside and {say.mm(pressed['inner'], 1)} "
        f"inside{sanded}."
    ]
    dry, damp = ring["diameter_dry_mm"], ring["diameter_damp_mm"]
    if dry and damp:
        out.append(
            f"From dry to damp its outside goes from {say.mm(dry['outer'], 2)} to {say.mm(damp['outer'], 2)}."
        )
    return out


def double_sentences(pack: Pack, double: dict[str, float] | None, say: Say) -> list[str]:
    mould = pack.layup.mould
    if mould.second_radius is None:
        return []
    head = (
        f"It curves both ways ({say.mm(mould.radius or 0)} and {say.mm(mould.second_radius)}): each "
        "direction is "
        "told alone, and that is not enough to say that it bends."
    )
    if double is None:
        return [head, "How much too long the sheets are is left out: the file gives no panel size."]
    return [
        head,
        f"A flat sheet of the part's size is about {say.mm(double['long_edge'], 1)} too long along the long "
        f"edges and {say.mm(double['cross_edge'], 1)} along the cross edges, with its trim "
        f"{say.mm(double['blank_long_edge'], 1)} and {say.mm(double['blank_cross_edge'], 1)}: it buckles or "
        "tears there unless it gives.",
    ]


def double_findings(pack: Pack, double: dict[str, float] | None, say: Say) -> list[Finding]:
    mould = pack.layup.mould
    if mould.second_radius is None:
        return []
    worst = max(double.values()) if double else None
    mild = worst is not None and worst <= LIES_DOWN
    told = "" if worst is None else f" Edges are up to {say.mm(worst, 1)} too long."
    return [
        Finding(
            "double-curve",
            "mind" if mild else "mend",
            f"A double curve: flat sheets do not lie down on it without giving.{told}",
            "Damp and pre-form the leaves, cut darts or lay narrow strips, take flatter radii or a "
            "smaller part; try "
            "one leaf dry on the mould first.",
        )
    ]
