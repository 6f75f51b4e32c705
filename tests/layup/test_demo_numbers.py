"""Every number of the four demo layups, worked out a second time in plain loops.

Nothing of the package is used here but the report that is judged: the files of data/ are read as plain YAML,
the equations are written out again with their sources, the six equations of a laminate are solved by
elimination. Sources: WH = USDA Wood Handbook, FPL-GTR-190 (2010) and FPL-GTR-282 (2021); Kaw = A. K. Kaw,
Mechanics of Composite Materials, 2nd ed. What has no source is a rule of the trade and says so.
Axes: x along the panel, y across, z out of the show face; plies are listed from the show face inward.
"""

from __future__ import annotations

import datetime as dt
import functools
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from woodref.catalogue.reader import Catalogue
from woodref.layup.reader import read_layup
from woodref.layup.report import report

DATA = Path(__file__).resolve().parents[2] / "data"
DEMOS = ("seat-shell", "tray-unbalanced", "drum-shell", "lamp-shade-two-radii")
#: the two trade names that the demos use
TRADE_NAMES = {"black walnut": "juglans-nigra", "yellow-poplar": "liriodendron-tulipifera"}
EVIDENCE = ("quoted", "recalled", "estimated", "common-practice")
TOLD = dict(zip(EVIDENCE, ("read in table", "from memory", "worked out", "shop rule"), strict=True))
#: property -> hardwood, softwood: means of WH Tables 5-1 and 5-2 without balsa, where a wood has none
MEANS = {
    "ratio_er_el": (0.119, 0.096),
    "ratio_et_el": (0.060, 0.057),
    "ratio_glr_el": (0.092, 0.082),
    "ratio_glt_el": (0.069, 0.077),
    "ratio_grt_el": (0.020, 0.009),
    "poisson_lr": (0.38, 0.36),
    "poisson_lt": (0.48, 0.39),
    "poisson_rt": (0.67, 0.43),
}
FSP = 30.0  # fibre saturation, about 30 % on average (WH ch. 4)
ALONG_SHRINKAGE = 0.15  # %, green to oven-dry along the grain: 0.1 to 0.2 % (WH ch. 4), its middle
HEATED_SET = 6.5  # % when a heated pack has set, the middle of 5 to 8 (common practice, no source)
USUAL_TRIM = 20.0  # mm on every edge (common practice, no source)
PLATE_LAID = 8.0  # % at which a solid plate was thicknessed if nothing is said (common practice, no source)
DIFFUSIVITY = 1.5e-7  # m2/s, heat across the grain (common practice, no source)
ACTIVATION = 73_000.0  # J/mol: 6 h at 20 C and 10 min at 60 C (common practice, no source)

Matrix = list[list[float]]
Ply = dict[str, Any]


# --- the files ----------------------------------------------------------------------------------------------


def preferred(doc: dict[str, Any], name: str) -> tuple[float, str] | None:
    """Value and evidence of a property: in the reference condition, then evidence, narrower range, order."""
    key: str = "mc"
    wanted: float | str = 12
    if name.startswith("shrinkage"):
        key, wanted = "to", "oven-dry"
    elif name.startswith("movement"):
        key, wanted = "within", "service"
    best: tuple[int, float, int, float] | None = None
    for i, row in enumerate(doc["figures"].get(name, [])):
        if row["condition"].get(key) != wanted:
            continue
        low, high = row.get("low", row.get("value")), row.get("high", row.get("value"))
        one = (EVIDENCE.index(row["evidence"]), high - low, i, row.get("value", (low + high) / 2))
        best = one if best is None else min(best, one)
    return None if best is None else (best[3], TOLD[EVIDENCE[best[0]]])


@functools.cache
def wood(name: str) -> dict[str, Any]:
    """Figures of a wood, property -> (value, how it is known), and its shrinkages worked out."""
    known = TRADE_NAMES.get(name, name.lower().replace(" ", "-"))
    doc = yaml.safe_load((DATA / "species" / f"{known}.yaml").read_text(encoding="utf-8"))
    group = doc["hardness_group"]
    out: dict[str, Any] = {"id": doc["id"], "figures": {}, "shrinkage": {}}
    for prop in ("density", "moe", *MEANS):
        mean = MEANS.get(prop)
        guess = None if mean is None else (mean[group == "softwood"], f"mean of {group}s")
        out["figures"][prop] = preferred(doc, prop) or guess
    for axis in ("radial", "tangential"):
        moved = preferred(doc, f"movement_{axis}")
        if moved:
            # WH Table 13-5 is Table 4-3 through Eq. 13-3 at 10 %: C = 1/(3000/S0 - 20), here turned round
            out["figures"][f"movement_{axis}"] = moved
            out["shrinkage"][axis] = 3000 / (100 / moved[0] + 20)
        else:
            shrunk = preferred(doc, f"shrinkage_{axis}")
            assert shrunk
            out["figures"][f"shrinkage_{axis}"] = shrunk
            out["shrinkage"][axis] = shrunk[0]
    volume, mor = preferred(doc, "shrinkage_volumetric"), preferred(doc, "mor")
    out["volumetric"] = volume[0] if volume else None
    out["mor"] = mor[0] if mor else None
    return out


def number(text: str | float) -> float:
    return float(str(text).split()[0])


def demo(name: str) -> dict[str, Any]:
    body: dict[str, Any] = yaml.safe_load((DATA / "demo" / f"{name}.yaml").read_text(encoding="utf-8"))
    return body


# --- wood and water -----------------------------------------------------------------------------------------


def emc(humidity: float, celsius: float) -> float:
    """Equilibrium moisture [%], WH Eq. 4-5."""
    w = 349 + 1.29 * celsius + 0.0135 * celsius**2
    k = 0.805 + 0.000736 * celsius - 0.00000273 * celsius**2
    k1 = 6.27 - 0.00938 * celsius - 0.000303 * celsius**2
    k2 = 1.91 + 0.0407 * celsius - 0.000293 * celsius**2
    x = k * humidity
    return 1800 / w * (x / (1 - x) + (k1 * x + 2 * k1 * k2 * x**2) / (1 + k1 * x + k1 * k2 * x**2))


def dry_density(figures: dict[str, Any], moisture: float) -> float:
    """Oven-dry mass on the volume at a moisture [kg/m3], WH Eq. 4-9 to 4-14, from the density at 12 %.

    Without a measured shrinkage in volume it is 26.5 Gb (WH Eq. 4-12)."""
    at_12 = figures["figures"]["density"][0] / 1120
    total = figures["volumetric"]
    if total is None:
        total = 26.5 * at_12 / (1 + 0.265 * at_12 * (1 - 12 / FSP))
    basic = at_12 * (1 - total / 100 * (1 - 12 / FSP))
    grown: float = 1000 * basic / (1 - total / 100 * (1 - moisture / FSP))
    return grown


def change(shrinkage: float, start: float, end: float) -> float:
    """Movement as a share, WH Eq. 13-3, both ends held at fibre saturation."""
    start, end = min(start, FSP), min(end, FSP)
    return (end - start) / (FSP * 100 / shrinkage - FSP + start)


# --- laminate theory, Kaw ch. 2 and 4 -----------------------------------------------------------------------


def ply(material: str, cut: str, thickness: float, grain: float, laid: float) -> Ply:
    """E_L is 1.10 times the bending modulus (WH note to Table 5-1); a crown or peeled leaf lies L-T, a
    quarter leaf L-R. Stiffness in N/mm2."""
    of = wood(material)
    fig, quarter = of["figures"], cut == "quarter"
    e1 = 1.10 * fig["moe"][0] * 1000
    return {
        "wood": of,
        "t": thickness,
        "grain": grain,
        "laid": laid,
        "e1": e1,
        "e2": e1 * fig["ratio_er_el" if quarter else "ratio_et_el"][0],
        "g": e1 * fig["ratio_glr_el" if quarter else "ratio_glt_el"][0],
        "nu": fig["poisson_lr" if quarter else "poisson_lt"][0],
        # what stress in the plane does through the thickness: S13 = -nu_L3/E_L, S23 = -nu_RT/E_R either way
        # round, by reciprocity (WH ch. 5)
        "s13": -fig["poisson_lt" if quarter else "poisson_lr"][0] / e1,
        "s23": -fig["poisson_rt"][0] / (e1 * fig["ratio_er_el"][0]),
        "across": of["shrinkage"]["radial" if quarter else "tangential"],
        "through": of["shrinkage"]["tangential" if quarter else "radial"],
    }


def stiffness(one: Ply) -> tuple[Matrix, Matrix, Matrix]:
    """Q of a ply, the turning of engineering strains from panel to ply, and Q seen from the panel."""
    d = 1 - one["nu"] ** 2 * one["e2"] / one["e1"]
    q12 = one["nu"] * one["e2"] / d
    q = [[one["e1"] / d, q12, 0.0], [q12, one["e2"] / d, 0.0], [0.0, 0.0, one["g"]]]
    c, s = math.cos(math.radians(one["grain"])), math.sin(math.radians(one["grain"]))
    turn = [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
    seen = [[0.0] * 3 for _ in range(3)]
    for i in range(3):
        for j in range(3):
            for k in range(3):
                for m in range(3):
                    seen[i][j] += turn[k][i] * q[k][m] * turn[m][j]
    return q, turn, seen


def heights(plies: list[Ply]) -> list[tuple[float, float]]:
    """Bottom and top of each ply from the mid-plane, in the order listed: the show face is at the top."""
    z = sum(p["t"] for p in plies) / 2
    out = []
    for p in plies:
        out.append((z - p["t"], z))
        z -= p["t"]
    return out


def abd(plies: list[Ply]) -> tuple[Matrix, Matrix, Matrix]:
    a, b, d = ([[0.0] * 3 for _ in range(3)] for _ in range(3))
    for p, (z0, z1) in zip(plies, heights(plies), strict=True):
        seen = stiffness(p)[2]
        for i in range(3):
            for j in range(3):
                a[i][j] += seen[i][j] * (z1 - z0)
                b[i][j] += seen[i][j] * (z1**2 - z0**2) / 2
                d[i][j] += seen[i][j] * (z1**3 - z0**3) / 3
    return a, b, d


def solved(matrix: Matrix, right: list[float]) -> list[float]:
    """Gauss-Jordan elimination with the largest pivot."""
    n = len(right)
    rows = [[*matrix[i], right[i]] for i in range(n)]
    for i in range(n):
        pivot = max(range(i, n), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for r in range(n):
            if r != i:
                factor = rows[r][i] / rows[i][i]
                for c in range(i, n + 1):
                    rows[r][c] -= factor * rows[i][c]
    return [rows[i][n] / rows[i][i] for i in range(n)]


def diagonal(matrix: Matrix) -> list[float]:
    """The diagonal of the inverse."""
    n = len(matrix)
    return [solved(matrix, [float(i == j) for i in range(n)])[j] for j in range(n)]


def whole(a: Matrix, b: Matrix, d: Matrix) -> Matrix:
    return [a[i] + b[i] for i in range(3)] + [b[i] + d[i] for i in range(3)]


def moduli(plies: list[Ply], free: bool) -> dict[str, float]:
    """GPa: Ex = 1/(h a11), Efx = 12/(h3 d11), of the whole inverse (free) or of A and D alone (held flat)."""
    a, b, d = abd(plies)
    h = sum(p["t"] for p in plies)
    inverse = diagonal(whole(a, b, d)) if free else diagonal(a) + diagonal(d)
    out = {name: 1 / (h * inverse[i]) / 1000 for i, name in enumerate(("Ex", "Ey", "Gxy"))}
    return out | {name: 12 / (h**3 * inverse[3 + i]) / 1000 for i, name in enumerate(("Efx", "Efy"))}


def moved(plies: list[Ply], start: float, end: float) -> tuple[list[float], list[float]]:
    """Strains and curvatures [1/mm] of the free pack; the greatest pull across each ply's grain [N/mm2]."""
    a, b, d = abd(plies)
    load = [0.0] * 6
    for p, (z0, z1) in zip(plies, heights(plies), strict=True):
        seen = stiffness(p)[2]
        own = free_strain(p, start, end)[1]
        for i in range(3):
            push = sum(seen[i][j] * own[j] for j in range(3))
            load[i] += push * (z1 - z0)
            load[3 + i] += push * (z1**2 - z0**2) / 2
    shape = solved(whole(a, b, d), load)
    pulls = []
    for p, ends in zip(plies, heights(plies), strict=True):
        q, turn, _ = stiffness(p)
        free = free_strain(p, start, end)[0]
        at = []
        for z in ends:
            here = [shape[i] + z * shape[3 + i] for i in range(3)]
            seen_by_ply = [sum(turn[i][j] * here[j] for j in range(3)) - free[i] for i in range(2)]
            at.append(q[1][0] * seen_by_ply[0] + q[1][1] * seen_by_ply[1])
        pulls.append(max(at))
    return shape, pulls


def thickened(plies: list[Ply], start: float, end: float) -> float:
    """Change of the pack's thickness: each ply's own, and what the plies that hold it in the plane press out
    of it, at its middle."""
    shape = moved(plies, start, end)[0]
    total = 0.0
    for p, (z0, z1) in zip(plies, heights(plies), strict=True):
        q, turn, _ = stiffness(p)
        free = free_strain(p, start, end)[0]
        here = [shape[i] + (z0 + z1) / 2 * shape[3 + i] for i in range(3)]
        strain = [sum(turn[i][j] * here[j] for j in range(3)) - free[i] for i in range(2)]
        along, across = (q[i][0] * strain[0] + q[i][1] * strain[1] for i in range(2))
        total += p["t"] * (change(p["through"], start, end) + p["s13"] * along + p["s23"] * across)
    return total / sum(p["t"] for p in plies)


def free_strain(p: Ply, start: float, end: float) -> tuple[tuple[float, float], list[float]]:
    """What a ply would do alone: along and across its grain, and seen from the panel."""
    along, across = change(ALONG_SHRINKAGE, start, end), change(p["across"], start, end)
    c, s = math.cos(math.radians(p["grain"])), math.sin(math.radians(p["grain"]))
    return (along, across), [
        along * c * c + across * s * s,
        along * s * s + across * c * c,
        2 * c * s * (along - across),
    ]


def rise(curvature: float, chord: float) -> float:
    """Height of an arc over its chord."""
    if abs(curvature * chord) < 1e-9:
        return 0.0
    return (1 - math.sqrt(1 - (curvature * chord / 2) ** 2)) / curvature


# --- one demo, shaped as the report -------------------------------------------------------------------------


def arrhenius(minutes: float, anchor: float, at: float) -> float:
    return minutes * math.exp(ACTIVATION / 8.314 * (1 / (at + 273.15) - 1 / (anchor + 273.15)))


class Own:
    """The numbers of a demo. Lengths in mm, forces in N, masses in g."""

    def __init__(self, name: str) -> None:
        self.file = file = demo(name)
        self.pressed: list[Ply] = []
        for row in file["plies"]:
            for _ in range(row.get("repeat", 1)):
                sheet = (row["cut"], number(row["thickness"]), row["grain"], number(row["moisture"]))
                self.pressed.append(ply(row["material"], *sheet))
        sanding = file.get("sanding", {})
        self.finished = [dict(p) for p in self.pressed]
        self.finished[0]["t"] -= number(sanding.get("face", 0))
        self.finished[-1]["t"] -= number(sanding.get("back", 0))
        glue = yaml.safe_load((DATA / "adhesives" / f"{file['glue']['adhesive']}.yaml").read_text("utf-8"))
        self.glue, self.spread = glue, number(file["glue"]["spread"])
        self.solids = (glue["solids_share"]["low"] + glue["solids_share"]["high"]) / 2
        self.lines = len(self.pressed) - 1
        room, press = file["room"], file["press"]
        celsius = number(room.get("temperature", 20))
        self.dry = emc(number(room["rh_low"]) / 100, celsius)
        self.damp = emc(number(room["rh_high"]) / 100, celsius)
        self.middle = (self.dry + self.damp) / 2
        # water of the glue over the dry wood (its definition), cold it stays in, heated it is driven off
        water = self.lines * self.spread * (1 - self.solids) if glue["water"] == "brings-in" else 0.0
        self.points = 100 * water / sum(dry_density(p["wood"], p["laid"]) * p["t"] for p in self.pressed)
        self.heat = number(press["heated"]) if "heated" in press else None
        self.at_set = min(self.pressed[0]["laid"] + self.points, FSP)
        if self.heat is not None:
            self.at_set = number(press.get("at_set", HEATED_SET))
        self.lie_in_mould()

    def lie_in_mould(self) -> None:
        """Where the plies lie in the bend: radii of their middles and of their hollow sides."""
        mould, panel = self.file["mould"], self.file["panel"]
        self.trim, self.width = number(panel.get("trim", USUAL_TRIM)), number(panel["width"])
        self.count = panel["count"]
        self.length = number(panel["length"]) if "length" in panel else None
        self.h = sum(p["t"] for p in self.pressed)
        self.ring, self.bent = bool(mould.get("closed")), "radius" in mould
        self.theta = 0.0
        self.middles, self.hollow = [0.0] * len(self.pressed), [0.0] * len(self.pressed)
        if not self.bent:
            return
        self.radius = number(mould["radius"])
        self.convex, away = mould["face"] == "convex", mould["show_side"] == "away"
        outward = self.convex != away  # the radius grows from the show face inward
        self.show = self.radius + (self.h if self.convex else -self.h) if away else self.radius
        r = self.show
        for i, p in enumerate(self.pressed):
            end = r + p["t"] if outward else r - p["t"]
            self.middles[i], self.hollow[i], r = (r + end) / 2, min(r, end), end
        self.mid_radius = (self.show + r) / 2
        if self.ring:
            self.theta = 2 * math.pi
        elif "angle" in mould:
            self.theta = math.radians(mould["angle"])
        else:
            assert self.length
            self.theta = self.length / self.show

    def own_length(self, i: int) -> float:
        """Of ply i in the trimmed part: the panel's length is measured on the show face."""
        if self.ring:
            return 2 * math.pi * self.middles[i]
        assert self.length
        return self.length + (self.theta * (self.middles[i] - self.show) if self.bent else 0.0)

    def blank(self, i: int) -> float:
        """A ring closes with a scarf of 1:8 and has no ends to trim (common practice, no source)."""
        return self.own_length(i) + (8 * self.pressed[i]["t"] if self.ring else 2 * self.trim)

    def bend_e(self, p: Ply, second: bool = False) -> float:
        along: bool = (p["grain"] == 0) != second
        return float(p["e1"] if along else p["e2"])

    def mass(self, plies: list[Ply]) -> float:
        """g/m2 at the middle of service: sheets as laid, dry, their water, and the solids of the glue."""
        dry = sum(dry_density(p["wood"], p["laid"]) * p["t"] for p in plies)
        return float(dry * (1 + self.middle / 100) + self.lines * self.spread * self.solids)

    def section(self, plies: list[Ply]) -> dict[str, Any]:
        h = sum(p["t"] for p in plies)
        a, b, d = abd(plies)
        free, face = moduli(plies, True), plies[0]
        target = self.file.get("target", {})
        span = number(target["span"]) if "span" in target else self.length
        sag = None
        if "load" in target:
            # a simple beam as wide as the part, F L3/(48 EI), EI = b/d11 of a narrow strip (Kaw ch. 4)
            assert span
            stiff = self.width * free["Efx"] * 1000 * h**3 / 12
            sag = number(target["load"]) * span**3 / (48 * stiff)
        return {
            "thickness_mm": h,
            "areal_mass_g_m2": self.mass(plies),
            "A": a,
            "B": b,
            "D": d,
            "moduli": free,
            "moduli_held_flat": moduli(plies, False),
            "bending_beside_solid_face": {
                "along": free["Efx"] * 1000 / face["e1"],
                "across": free["Efy"] * 1000 / face["e2"],
            },
            "sag_mm": sag,
            "span_mm": span,
        }

    def turned(self, end: float) -> tuple[float, float]:
        """Strain round the curve and through the thickness from the set to a moisture.

        A sector that grows by e round and by e' through its thickness keeps its radii in proportion:
        r' = (1 + e') r, and its angle goes as (1 + e)/(1 + e')."""
        return moved(self.finished, self.at_set, end)[0][0], thickened(self.finished, self.at_set, end)

    def spring(self) -> float:
        """Share of the curve lost: the moments bent into the single plies over the stiffness of the bonded
        pack about its elastic middle, E in the direction of the bend (elastic beams, worked out)."""
        ei = es = e0 = 0.0
        for p, (z0, z1) in zip(self.pressed, heights(self.pressed), strict=True):
            e = self.bend_e(p)
            e0, es = e0 + e * (z1 - z0), es + e * (z1**2 - z0**2) / 2
            ei += e * (z1**3 - z0**3) / 3
        own = sum(self.bend_e(p) * p["t"] ** 3 / 12 for p in self.pressed)
        return float(own / (ei - es**2 / e0))

    def movement(self) -> dict[str, Any]:
        ends = {"dry": self.dry, "damp": self.damp}
        shapes = {k: moved(self.finished, self.at_set, m) for k, m in ends.items()}
        turn = {k: self.turned(m) for k, m in ends.items()}
        whole_deg = math.degrees(self.theta)
        open_bend = self.bent and not self.ring
        length = self.length or 0.0
        out: dict[str, Any] = {
            "moisture_at_set_pct": self.at_set,
            "moisture_at_set_by_ply_pct": [self.at_set] * len(self.pressed),
            "service_pct": ends,
            "movement_pct": {
                axis: {k: 100 * shapes[k][0][i] for k in ends} for i, axis in enumerate(("along", "across"))
            },
            "curvature_1_per_m": {k: [1000 * c for c in shapes[k][0][3:]] for k in ends},
            "bow_mm": {k: rise(shapes[k][0][3], length) for k in ends},
            "cup_mm": {k: rise(shapes[k][0][4], self.width) for k in ends},
            # corner against corner: kappa_xy times length times width over 4
            "twist_mm": {k: shapes[k][0][5] * length * self.width / 4 for k in ends},
            "pull_across_mpa": {k: shapes[k][1] for k in ends},
            "bend_angle_deg": whole_deg if self.bent else None,
            "bend_angle_change_deg": None,
            "bend_curl_deg": None,
            "springback_pct": 100 * self.spring() if open_bend else None,
            "mould_radius_mm": None,
            "ring": None,
            "double_curve_too_long_mm": None,
        }
        if self.bent:
            # d(theta)/theta = (e_round - e_through)/(1 + e_through): see turned()
            out["bend_angle_change_deg"] = {
                k: None if self.ring else whole_deg * (e - t) / (1 + t) for k, (e, t) in turn.items()
            }
            out["bend_curl_deg"] = {
                k: None if self.ring else math.degrees(shapes[k][0][3] * length) for k in ends
            }
            out["mould_radius_mm"] = {"drawn": self.radius} | self.moulds(open_bend)
        if self.ring:
            out["ring"] = self.rings(turn)
        if "second_radius" in self.file["mould"]:
            # a parallel at w/2 from the middle of a ball is shorter by w2/(8 R1 R2) (geometry)
            both = 8 * self.radius * number(self.file["mould"]["second_radius"])
            out["double_curve_too_long_mm"] = {
                "long_edge": length * self.width**2 / both,
                "cross_edge": self.width * length**2 / both,
                # the blank with its trim is what has to lie down
                "blank_long_edge": (length + 2 * self.trim) * (self.width + 2 * self.trim) ** 2 / both,
                "blank_cross_edge": (self.width + 2 * self.trim) * (length + 2 * self.trim) ** 2 / both,
            }
        return out

    def moulds(self, open_bend: bool) -> dict[str, float | None]:
        """The mould's radius for a part that ends at the drawn one. The middle of the pack springs back to
        R/(1 - phi) and its radius then follows the thickness, R (1 + e_through), at the middle of service."""
        spring, through = self.spring(), self.turned(self.middle)[1]
        to_mould = self.radius - self.mid_radius
        asked = {
            "for_springback": self.mid_radius * (1 - spring),
            "for_drying": self.mid_radius / (1 + through),
            "for_both": self.mid_radius * (1 - spring) / (1 + through),
        }
        return {k: r + to_mould if open_bend else None for k, r in asked.items()}

    def rings(self, turn: dict[str, tuple[float, float]]) -> dict[str, Any]:
        """A closed ring keeps its 360 degrees: its middle line grows by e_round, its wall by e_through."""
        face = self.pressed[0]["t"] - self.finished[0]["t"]
        back = self.pressed[-1]["t"] - self.finished[-1]["t"]
        outer, inner = 2 * self.radius, 2 * (self.radius - self.h)
        wall = (outer - inner) / 2 - face - back
        middle = (outer - 2 * face + inner + 2 * back) / 2
        out: dict[str, Any] = {
            "diameter_pressed_mm": {"outer": outer, "inner": inner},
            "diameter_finished_mm": {"outer": middle + wall, "inner": middle - wall},
        }
        for k, (e, t) in turn.items():
            grown = middle * (1 + e), wall * (1 + t)
            out[f"diameter_{k}_mm"] = {"outer": grown[0] + grown[1], "inner": grown[0] - grown[1]}
        out["ply_length_mm"] = [self.own_length(i) for i in range(len(self.pressed))]
        out["scarf_length_mm"] = [8 * p["t"] for p in self.pressed]
        return out

    def bends(self) -> list[dict[str, Any]]:
        """Dry limits: along the grain the outer fibre at e = (t/2)/(r + t/2) reaches MOR/MOE (WH Table 5-3a),
        or 50 thicknesses; across 20 thicknesses; from twice the limit on it is easy (common practice)."""
        out: list[dict[str, Any]] = []
        for i, p in enumerate(self.pressed if self.bent else []):
            fig, half = p["wood"]["figures"], p["t"] / 2
            strain = p["wood"]["mor"] / fig["moe"][0] / 1000 if p["wood"]["mor"] else None
            along = half * (1 / strain - 1) if strain else 50 * p["t"]
            turns = [("bend", p["grain"] == 0, self.hollow[i])]
            if "second_radius" in self.file["mould"]:
                turns.append(("second bend", p["grain"] != 0, number(self.file["mould"]["second_radius"])))
            for direction, with_grain, r in turns:
                limit = along if with_grain else 20 * p["t"]
                judged = "easy" if r >= 2 * limit else "not easy"
                out.append(
                    {
                        "ply": i + 1,
                        "direction": direction,
                        "grain": "along the grain" if with_grain else "across the grain",
                        "radius_mm": r,
                        "dry_limit_mm": [limit, 2 * limit],
                        "class": judged,
                    }
                )
        return out

    def gluing(self) -> dict[str, Any]:
        """Grams are reckoned on the longest sheet, so that no line comes short. Of two sheets the long-grain
        one is spread, of two long-grain ones the lower as they lie: in the drum's mould that is the first."""
        longest = max(self.own_length(i) if self.ring else self.blank(i) for i in range(len(self.pressed)))
        area = longest * (self.width + 2 * self.trim) / 1e6
        press, at = self.file["press"], number(self.file["press"].get("cold", 20))
        low, high = (self.glue["open_assembly_min"][k] for k in ("low", "high"))
        # the air at sea level less what a poor and a good pump leave (common practice, no source)
        bag = [0.1013 - 0.021, 0.1013 - 0.006]
        pressure = bag if press.get("bag") else [number(press["pressure"])] * 2
        lifted = None
        if self.bent and not self.ring:
            # the end of a beam under an even pressure p lifts over the length where p a2/2 = M
            moment = sum(
                self.bend_e(p) * p["t"] ** 3 / 12 / r for p, r in zip(self.pressed, self.middles, strict=True)
            )
            lifted = math.sqrt(2 * moment / pressure[0])
        lines = []
        for i in range(self.lines):
            on = i + 1 if self.pressed[i]["grain"] == 0 else i + 2
            line = {"line": i + 1, "between": [i + 1, i + 2], "spread_g_m2": self.spread, "spread_on_ply": on}
            lines.append(line | {"area_m2": area, "grams": area * self.spread})
        return {
            "lines": lines,
            "total_g": self.lines * area * self.spread,
            "water_points": self.points,
            "working_time_min": [arrhenius(low, 20, at), arrhenius(high, 20, at)],
            "pressure_mpa": pressure,
            "ends_lifted_mm": lifted,
        }

    def cure(self) -> dict[str, Any]:
        """From the nearest time of the glue's file, exp(E/R (1/T - 1/T')); over 5 C off it a third either way
        (common practice, no source). The heat takes x2/(4a) to x2/a to the farthest line."""
        at = self.heat if self.heat is not None else number(self.file["press"]["cold"])
        anchors = self.glue["cure"]
        if self.heat is not None:
            anchors = [self.glue["cure_part_min_at"]]
        near = min(anchors, key=lambda a: abs(a["temperature_c"] - at))
        off = abs(near["temperature_c"] - at) > 5
        low, high = (arrhenius(near["minutes"][k], near["temperature_c"], at) for k in ("low", "high"))
        if low == high:  # the cure part alone is the least
            high *= 4 / 3
        cured = [low * 2 / 3, high * 4 / 3] if off else [low, high]
        out: dict[str, Any] = {"temperature_c": at, "minutes": cured, "cure_part_min": cured}
        out |= {"heat_up_min": None, "farthest_line_mm": None}
        if self.heat is not None:
            depth, way = 0.0, []
            for p in self.pressed[:-1]:
                depth += p["t"]
                way.append(depth)
            both = self.file["press"]["heated_from"] == "both"
            # from one side the farthest line is one thin sheet short of the other side, whichever is hot
            far = max(min(x, self.h - x) for x in way) if both else max(way[-1], self.h - way[0])
            slow = (far / 1000) ** 2 / DIFFUSIVITY / 60
            out |= {"heat_up_min": [slow / 4, slow], "farthest_line_mm": far}
            out["minutes"] = [slow / 4 + cured[0], slow + cured[1]]
        return out

    def cutting(self, counts: dict[int, dict[str, Any]]) -> list[dict[str, Any]]:
        out = []
        for i, p in enumerate(self.pressed):
            long, wide = self.blank(i), self.width + 2 * self.trim
            one = {
                "ply": i + 1,
                "blank_length_mm": long,
                "blank_width_mm": wide,
                "along_grain_mm": long if p["grain"] == 0 else wide,
                "across_grain_mm": wide if p["grain"] == 0 else long,
                "net_area_m2": self.own_length(i) * self.width * self.count / 1e6,
            }
            out.append(one | counts.get(i + 1, {}))
        return out

    def kilos(self) -> list[dict[str, Any]]:
        """Of each wood in the finished part, each ply at its own length, at the damp end: its greatest."""
        out: dict[str, dict[str, Any]] = {}
        for i, p in enumerate(self.finished):
            one = out.setdefault(p["wood"]["id"], {"plies": [], "kg": 0.0})
            one["plies"].append(i + 1)
            dry = dry_density(p["wood"], p["laid"]) * p["t"] * self.own_length(i) * self.width / 1e6
            one["kg"] += dry * (1 + self.damp / 100) / 1000
        return list(out.values())

    def sound(self) -> dict[str, Any] | None:
        """c = sqrt(E/rho), R = sqrt(E/rho3); the same stiffness wants h as E^-1/3, the same pitch h as
        sqrt(rho/E) (plate theory; definitions as in Wegst, Am. J. Bot. 93, 2006, 1439)."""
        row = self.file.get("plate")
        if row is None:
            return None
        plate = ply(row["material"], row["cut"], number(row["thickness"]), 0.0, PLATE_LAID)
        rho = self.mass(self.finished) / sum(p["t"] for p in self.finished)
        solid = dry_density(plate["wood"], PLATE_LAID) * (1 + self.middle / 100)
        free = moduli(self.finished, True)
        out: dict[str, Any] = {"density_kg_m3": rho}
        for axis, key, e_plate in (("along", "Efx", plate["e1"]), ("across", "Efy", plate["e2"])):
            e = free[key] * 1e9
            same = plate["t"] * math.sqrt(rho / solid * e_plate * 1e6 / e)
            out[axis] = {
                "E_GPa": free[key],
                "speed_m_s": math.sqrt(e / rho),
                "radiation_ratio": math.sqrt(e / rho**3),
                "same_stiffness_mm": plate["t"] * (e_plate * 1e6 / e) ** (1 / 3),
                "same_pitch_mm": same,
            }
        return out

    def pack(self) -> list[dict[str, Any]]:
        return [
            {
                "ply": i + 1,
                "id": p["wood"]["id"],
                "thickness_mm": p["t"],
                "grain_deg": p["grain"],
                "moisture_pct": p["laid"],
                "density_kg_m3": p["wood"]["figures"]["density"][0],
                "E_along_GPa": p["e1"] / 1000,
                "E_across_GPa": p["e2"] / 1000,
                "G_GPa": p["g"] / 1000,
                "poisson": p["nu"],
                "shrinkage_pct": {
                    "along": ALONG_SHRINKAGE,
                    "across": p["across"],
                    "through": p["through"],
                },
            }
            for i, p in enumerate(self.pressed)
        ]


#: leaves counted by hand, demo -> ply -> what is told
COUNTS: dict[str, dict[int, dict[str, Any]]] = {
    # 490.31 x 460 of leaves 180 x 2400: 460/180 = 2.6, so 3, and a book with a centre joint wants an even
    # number, 4; 2400/490.31 = 4.9, so 4 lengths; 4 parts x 4 = 16 pieces = 4 leaves whose 4 lengths make 4
    # like faces; joints 180 apart from the middle, 230. Back: 3 across, 12 pieces, 3 leaves, a centre leaf.
    "seat-shell": {
        1: {
            "lengths_per_leaf": 4, "leaves_across": 4, "lengths_along": 1, "pieces_per_part": 4,
            "pieces": 16, "leaves_in_sequence": 4, "leaves_needed": 4, "leaves_to_hand": 8,
            "leaves_left": 4, "joints_mm": [50.0, 230.0, 410.0], "bought_area_m2": 4 * 0.180 * 2.4,
        },
        7: {
            "lengths_per_leaf": 4, "leaves_across": 3, "lengths_along": 1, "pieces_per_part": 3,
            "pieces": 12, "leaves_needed": 3, "joints_mm": [140.0, 320.0],
            "bought_area_m2": 3 * 0.180 * 2.4,
        },
    },
    # 490 x 360 of leaves 170 x 2400: 3 across, 4 lengths; a face is one length of 3 leaves that follow one
    # another, so 3 leaves make 4 parts and 6 make the 6: all 6 to hand
    "tray-unbalanced": {
        1: {
            "lengths_per_leaf": 4, "leaves_across": 3, "lengths_along": 1, "pieces_per_part": 3,
            "pieces": 18, "leaves_in_sequence": 3, "leaves_needed": 6, "leaves_to_hand": 6,
            "leaves_left": 0, "joints_mm": [95.0, 265.0], "bought_area_m2": 6 * 0.170 * 2.4,
        },
    },
    # 1135.35 x 110 of leaves 150 x 2500: one wide, 2 lengths, so one leaf makes the 2 parts
    "drum-shell": {
        1: {
            "lengths_per_leaf": 2, "leaves_across": 1, "lengths_along": 1, "pieces_per_part": 1,
            "pieces": 2, "leaves_needed": 1, "leaves_to_hand": 4, "leaves_left": 3, "joints_mm": [],
            "bought_area_m2": 0.150 * 2.5,
        },
    },
    # 489.91 x 460 of leaves 200 x 2000: 3 across, 4 lengths; the slip face takes 3 leaves that follow one
    # another, whose first two lengths make the 2 parts; the back needs no sequence: 6 pieces, 2 leaves
    "lamp-shade-two-radii": {
        1: {
            "lengths_per_leaf": 4, "leaves_across": 3, "lengths_along": 1, "pieces_per_part": 3,
            "pieces": 6, "leaves_in_sequence": 3, "leaves_needed": 3, "leaves_to_hand": 4,
            "leaves_left": 1, "joints_mm": [130.0, 330.0], "bought_area_m2": 3 * 0.200 * 2.0,
        },
        3: {
            "lengths_per_leaf": 4, "leaves_across": 3, "lengths_along": 1, "pieces_per_part": 3,
            "pieces": 6, "leaves_needed": 2, "leaves_to_hand": 4, "leaves_left": 2,
            "joints_mm": [130.0, 330.0], "bought_area_m2": 2 * 0.200 * 2.0,
        },
    },
}  # fmt: skip
FINDINGS = {
    # leaves narrower than the back; walnut on iron; two names that other woods share
    "seat-shell": [("mind", c) for c in ("joint-needed", "iron-stain", "shared-name", "shared-name")],
    "tray-unbalanced": [
        *[("mend", c) for c in ("unbalanced", "warps", "one-side-finish")],
        *[("mind", c) for c in ("face-may-check", "face-may-check", "no-repair-leaf", "iron-stain")],
    ],
    "drum-shell": [],
    "lamp-shade-two-radii": [("mend", "double-curve"), ("mind", "joint-needed")],
}
#: pairs of opposite plies that differ, and what balances
UNLIKE = {"tray-unbalanced": [[1, 5]]}
#: decimals that the report keeps, by the innermost key named here; matrices keep ten digits
PLACES = {
    "thickness_mm": 3, "areal_mass_g_m2": 2, "moduli": 6, "moduli_held_flat": 6,
    "bending_beside_solid_face": 4, "sag_mm": 3, "span_mm": 3, "pack": 4, "density_kg_m3": 1,
    "moisture_at_set_pct": 3, "moisture_at_set_by_ply_pct": 3, "service_pct": 3, "movement_pct": 4,
    "curvature_1_per_m": 6, "bow_mm": 3, "cup_mm": 3, "twist_mm": 3, "pull_across_mpa": 3,
    "bend_angle_deg": 3, "bend_angle_change_deg": 4, "bend_curl_deg": 4, "springback_pct": 4,
    "mould_radius_mm": 2, "ring": 3, "ply_length_mm": 2, "scarf_length_mm": 2,
    "double_curve_too_long_mm": 3, "radius_mm": 1, "dry_limit_mm": 1, "area_m2": 4, "grams": 1,
    "total_g": 1, "water_points": 3, "working_time_min": 2, "pressure_mpa": 4, "ends_lifted_mm": 1,
    "cure": 2, "cutting": 2, "net_area_m2": 4, "bought_area_m2": 4, "kg": 4, "E_GPa": 4, "speed_m_s": 1,
    "radiation_ratio": 4, "same_stiffness_mm": 3, "same_pitch_mm": 3,
}  # fmt: skip
TOP = (
    "thickness_mm", "areal_mass_g_m2", "A", "B", "D", "moduli", "moduli_held_flat",
    "bending_beside_solid_face", "sag_mm", "span_mm", "as_pressed", "pack", "moisture_at_set_pct",
    "moisture_at_set_by_ply_pct", "service_pct", "movement_pct", "curvature_1_per_m", "bow_mm", "cup_mm",
    "twist_mm", "pull_across_mpa", "bend_angle_deg", "bend_angle_change_deg", "bend_curl_deg",
    "springback_pct", "mould_radius_mm", "ring", "double_curve_too_long_mm", "bends", "glue", "cure",
    "cutting", "trade", "sound",
)  # fmt: skip
#: keys whose numbers are checked elsewhere, or are law, counts of rows or dates
ELSEWHERE = {"query", "pairs", "findings", "page", "short", "cautions", "notices", "catalogue"}

Where = tuple[str | int, ...]


def leaves(value: Any, path: Where = ()) -> Iterator[tuple[Where, float | str | None]]:
    """Every number, text and nothing of nested lists and objects."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from leaves(inner, (*path, i))
    elif not isinstance(value, bool):
        yield path, value


@functools.cache
def own(name: str) -> Own:
    return Own(name)


@functools.cache
def expected(name: str) -> dict[str, Any]:
    one = own(name)
    out = one.section(one.finished) | one.movement() | {"as_pressed": one.section(one.pressed)}
    out |= {"pack": one.pack(), "bends": one.bends(), "glue": one.gluing(), "cure": one.cure()}
    return out | {"cutting": one.cutting(COUNTS[name]), "trade": one.kilos(), "sound": one.sound()}


@pytest.fixture(scope="module")
def reported(catalogue: Catalogue) -> dict[str, dict[str, Any]]:
    """The JSON of each demo; of its pack the figures, of its trade the law are looked at elsewhere."""
    out = {}
    for name in DEMOS:
        shown = report(read_layup(DATA / "demo" / f"{name}.yaml"), catalogue, dt.date(2026, 6, 1))
        out[name] = json.loads(json.dumps(shown.as_dict()))
    return out


def judged(whole_report: dict[str, Any], key: str) -> Any:
    value = whole_report[key]
    if key == "pack":
        return [{k: v for k, v in row.items() if k != "figures"} for row in value]
    if key == "trade":
        return [{k: row[k] for k in ("plies", "kg")} for row in value]
    return value


def close(got: float, want: float, path: Where, scale: float) -> bool:
    """To a millionth, to half of the last decimal kept, and zero to a billionth of what it stands beside."""
    named = [PLACES[k] for k in path if isinstance(k, str) and k in PLACES]
    half = 0.5 * 10 ** -named[-1] * 1.000001 if named else 0.0
    return abs(got - want) <= max(half, 1e-6 * abs(want), 1e-9 * scale)


@pytest.mark.parametrize("key", TOP)
@pytest.mark.parametrize("name", DEMOS)
def test_every_number_is_found_again(reported: dict[str, dict[str, Any]], name: str, key: str) -> None:
    got = dict(leaves(judged(reported[name], key), (key,)))
    want = dict(leaves(expected(name)[key], (key,)))
    full = own(name).h * max(
        max(row) for row in expected(name)["A"]
    )  # N: zeros of A, B and D stand beside it
    unknown = [p for p, v in got.items() if isinstance(v, int | float) and p not in want]
    assert not unknown, f"numbers that nothing here works out: {unknown}"
    wrong = []
    for path, value in want.items():
        shown = got.get(path)
        if value is None or isinstance(value, str):
            same = shown == value
        elif shown is None:
            # a bow, cup or twist of nothing need not be told of a bent part
            same = key in {"bow_mm", "cup_mm", "twist_mm"} and abs(value) < 1e-9
        else:
            assert isinstance(shown, int | float)
            same = close(shown, value, path, full if {"A", "B", "D"} & set(path) else 0.0)
        if not same:
            wrong.append((path, f"report {shown}", f"worked out {value}"))
    assert not wrong


@pytest.mark.parametrize("name", DEMOS)
def test_no_number_of_the_report_is_left_out(reported: dict[str, dict[str, Any]], name: str) -> None:
    """A new key with numbers has to be worked out here as well."""
    with_numbers = {
        p[0] for p, v in leaves(reported[name]) if isinstance(v, int | float) and p[0] not in ELSEWHERE
    }
    assert with_numbers <= set(TOP)


@pytest.mark.parametrize("name", DEMOS)
def test_figures_are_those_of_the_files(reported: dict[str, dict[str, Any]], name: str) -> None:
    for row, p in zip(reported[name]["pack"], own(name).pressed, strict=True):
        told = {f["property"]: (f["value"], f["evidence"]) for f in row["figures"]}
        assert row["missing"] == []
        for prop, (value, evidence) in p["wood"]["figures"].items():
            assert told[prop][0] == pytest.approx(value, rel=1e-6), prop
            assert told[prop][1].startswith(evidence), prop


@pytest.mark.parametrize("name", DEMOS)
def test_findings_and_pairs(reported: dict[str, dict[str, Any]], name: str) -> None:
    shown = reported[name]
    assert sorted((f["severity"], f["code"]) for f in shown["findings"]) == sorted(FINDINGS[name])
    unlike = [pair["plies"] for pair in shown["pairs"] if pair["differ_in"]]
    assert unlike == UNLIKE.get(name, [])
    assert shown["balanced_construction"] is shown["balanced_as_pressed"] is (not unlike)
    assert shown["angles_paired"] is True
    n = len(own(name).pressed)
    assert [pair["plies"] for pair in shown["pairs"]] == [[i + 1, n - i] for i in range(n // 2)]


def test_the_good_seat_has_nothing_to_mend(reported: dict[str, dict[str, Any]]) -> None:
    assert {f["severity"] for f in reported["seat-shell"]["findings"]} == {"mind"}


def test_the_mend_of_the_tray_flattens_it() -> None:
    """What the finding promises: ply 5 as ply 1 brings the 5.6 mm under 1 mm."""
    tray = own("tray-unbalanced")
    assert tray.length == 450
    mended = [*tray.finished[:4], tray.finished[0]]
    assert abs(rise(moved(tray.finished, tray.at_set, tray.dry)[0][3], 450.0)) > 5
    assert abs(rise(moved(mended, tray.at_set, tray.dry)[0][3], 450.0)) < 1e-6


@pytest.mark.parametrize("name", DEMOS)
def test_the_short_answer_rounds_these_numbers(reported: dict[str, dict[str, Any]], name: str) -> None:
    lines = {row["asks"]: row["answer"] for row in reported[name]["short"]}
    said = {k: [float(x) for x in re.findall(r"(?<![\w.])\d[\d.]*", v)] for k, v in lines.items()}
    one, want = own(name), expected(name)
    mean = want["areal_mass_g_m2"] / 1000
    assert said["Weighs"] == [round(want["thickness_mm"], 1), round(mean, 2)]
    assert said["Sets"] == pytest.approx([one.at_set, one.dry, one.damp], abs=0.5)
    assert said["Spread"] == [one.lines, one.spread, round(want["glue"]["total_g"])]
    unit = 60.0 if re.search(r"\bh\b", lines["Press"]) else 1.0
    minutes = sorted(set(said["Press"][:-1]))
    assert [minutes[0] * unit, minutes[-1] * unit] == pytest.approx(
        want["cure"]["minutes"], abs=0.5 if unit == 1 else 15
    )
    assert said["Press"][-1] == want["cure"]["temperature_c"]
