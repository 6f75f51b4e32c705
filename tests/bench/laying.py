"""Packs of plies: stiffness of many at once beside the library `composites`, and one whole report."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
from test_layup_time import NAMES, PLIES
from timing import TESTS, Row, absent, interleaved, missing

from woodref.catalogue.reader import open_catalogue
from woodref.layup.reader import load_layup
from woodref.layup.report import report
from woodref.science.laminate import matrices, rotated, shapes


def rows(runs: int, full: bool) -> list[Row]:
    """1, 100 and 1,000 packs; the seat shell of the invented workshop."""
    out = []
    for packs in (1, 100, 1_000):
        size, gone = f"{packs:,} {'pack' if packs == 1 else 'packs'} of {PLIES}", missing("composites")
        out.append(absent("layup", "A, B, D", size, gone) if gone else _beside(packs, size, runs))
    body = (TESTS.parent / "data" / "demo" / "seat-shell.yaml").read_bytes()
    with open_catalogue() as catalogue:

        def one() -> None:
            found = report(load_layup(body, "seat-shell.yaml"), catalogue, dt.date(2026, 6, 1))
            assert found.page() and found.as_dict()["thickness_mm"] == 8.5

        (took,) = interleaved(one, runs=runs)
    out.append(Row("layup", "file to sentences and JSON", "seat shell", took, "none does this", None, ""))
    return out


def _beside(packs: int, size: str, runs: int) -> Row:
    from composites import laminated_plate

    random, shape = np.random.default_rng(7), (packs, PLIES)
    e1 = random.uniform(6e9, 20e9, shape)
    ply = {"e1": e1, "e2": e1 * random.uniform(0.03, 0.15, shape), "nu12": random.uniform(0.2, 0.5, shape)}
    ply |= {"g12": e1 * random.uniform(0.04, 0.12, shape), "theta": random.uniform(-90, 90, shape)}
    t, free = random.uniform(0.4e-3, 3e-3, shape), random.uniform(-0.02, 0.02, (*shape, 3))
    told = []
    for k in range(packs):
        own = zip(*(ply[name][k].tolist() for name in ("e1", "e2", "nu12", "g12")), strict=True)
        told.append((ply["theta"][k].tolist(), t[k].tolist(), [(a, b, nu, g, g, g) for a, b, nu, g in own]))

    def ours() -> Any:
        q = rotated(*(ply[name] for name in NAMES))
        return matrices(q, t), shapes(q, t, free)

    def theirs() -> list[Any]:
        return [laminated_plate(stack=angles, plyts=thick, laminaprops=own) for angles, thick, own in told]

    (a, b, d, _), _ = ours()
    reach, h = np.abs(a).max(axis=(1, 2)), t.sum(axis=1)
    panels = theirs()
    for power, (name, mine) in enumerate(zip("ABD", (a, b, d), strict=True)):
        peer = np.array([np.asarray(getattr(panel, name)) for panel in panels])
        assert (np.abs(mine - peer).max(axis=(1, 2)) <= 1e-9 * reach * h**power).all(), name
    took = interleaved(ours, theirs, runs=runs if packs < 1_000 else max(3, runs // 6))
    return Row(
        "layup", "A, B, D (ours: free shape too)", size, took[0], "composites", took[1], "A, B, D to 1e-9"
    )
