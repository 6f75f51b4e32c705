"""All leaves tried as a back at once, held against trying them one by one."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from woodref.catalogue.reader import Catalogue
from woodref.layup.asked import FIGURED, PlyAsk
from woodref.layup.backs import ABOUT_AS_THICK, MOST, PANEL, Back, suggest_backs
from woodref.layup.leaves import CONSTANTS, leaves
from woodref.layup.pack import Sheet, bottom_first, sheet_of
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report
from woodref.layup.solid import FINISHED, ply_of, thicknesses
from woodref.science import laminate, moisture
from woodref.selection import status

ON = dt.date(2026, 6, 1)
PACK = """
title: tray
plies:
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: GRAIN, moisture: 7 %}
  - {material: Liriodendron tulipifera, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}
  - {material: Liriodendron tulipifera, cut: rotary, thickness: 1.5 mm, grain: 0, moisture: 7 %}
glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}
panel: {length: 450 mm, width: 320 mm}
press: {cold: 20 C, pressure: 0.4 MPa}
"""
ROOM = "room: {temperature: 35 C, rh_low: 30 %, rh_high: 60 %}\n"


def shown(catalogue: Catalogue, grain: str, rest: str, guess: bool) -> Report:
    text = PACK.replace("GRAIN", grain) + rest
    return report(load_layup(text.encode(), "tray.yaml", []), catalogue, ON, guess=guess)


def candidates(found: Report, catalogue: Catalogue) -> list[Sheet]:
    """Every leaf that may be the back, each a sheet of its own."""
    pack, out = found.pack, []
    face, last = pack.sheets[0], pack.sheets[-1]
    for wood in catalogue.materials():
        if face.material is None or wood.id == face.material.id:
            continue
        if wood.veneer["sold"] not in ("common", "to-order", "rare"):
            continue
        if not status.origins(wood, ON, catalogue).free:
            continue
        for cut in wood.veneer["cuts"]:
            for thick in wood.veneer["thickness_mm"]:
                low, high = face.thickness / ABOUT_AS_THICK, face.thickness * ABOUT_AS_THICK
                if cut in FIGURED or thick <= pack.layup.sanding[1] or not low <= thick <= high:
                    continue
                ask = PlyAsk(wood.name, None, float(thick), face.ask.grain, cut, last.moisture)
                sheet = sheet_of(
                    last.number, ask, wood, len(pack.sheets), catalogue, pack.estimates, pack.layup
                )
                if sheet.leaf is not None and sheet.moves:
                    out.append(sheet)
    return out


def warp(found: Report, back: Sheet) -> float:
    """The most that the part rises in dry air with that back [mm], this pack alone."""
    pack, moist = found.pack, found.moist
    sheets = [*pack.sheets[:-1], back]
    thick = [*thicknesses(pack.layup, FINISHED)[:-1], back.thickness - pack.layup.sanding[1]]
    q, free = [], []
    for sheet, t, start in bottom_first(list(zip(sheets, thick, moist.at_set, strict=True))):
        q.append(laminate.in_panel(ply_of(sheet, t)))
        along, across, _ = sheet.strains(start, moist.dry)
        free.append(laminate.swelling(laminate.Ply(1, 1, 0, 1, sheet.ask.grain, 1, along, across)))
    high = np.array([t / 1000 for t in bottom_first(thick)])
    _, (bow, cup, twist) = laminate.shapes(np.array(q), high, np.array(free))
    length, width = ((size or PANEL) / 1000 for size in (pack.layup.panel.length, pack.layup.panel.width))
    return float(
        1000 * max(abs(bow) * length**2 / 8, abs(cup) * width**2 / 8, abs(twist) * length * width / 2)
    )


@pytest.mark.parametrize(
    ("grain", "rest", "guess"),
    [("0", "", False), ("0", ROOM, True), ("30", "sanding: {back: 0.1 mm}\n", False)],
)
def test_the_backs_are_those_found_one_by_one(
    grain: str, rest: str, guess: bool, catalogue: Catalogue
) -> None:
    found = shown(catalogue, grain, rest, guess)
    tried = candidates(found, catalogue)
    best: dict[str, tuple[float, Sheet]] = {}
    for sheet in tried:
        assert sheet.material is not None
        held = warp(found, sheet)
        if sheet.material.id not in best or held < best[sheet.material.id][0]:
            best[sheet.material.id] = (held, sheet)
    least = max(0.5, found.finished.thickness * 0.05)
    face = found.pack.sheets[0].leaf
    assert face is not None
    pull_of_face = face.e2 * face.beta2 * found.pack.sheets[0].thickness

    def row(held: float, sheet: Sheet) -> Back:
        assert sheet.leaf is not None and sheet.material is not None
        pull = sheet.leaf.e2 * sheet.leaf.beta2 * sheet.thickness / pull_of_face
        free = status.origins(sheet.material, ON, catalogue).share(sheet.material)
        return Back(sheet, held, pull, free, sheet.material.veneer["sold"])

    rows = [row(held, sheet) for held, sheet in best.values() if held <= least]
    easy = ("common", "to-order", "rare")
    rows.sort(key=lambda r: (easy.index(r.sold), round(r.warp, 1), abs(r.pull - 1), r.sheet.name))
    quick = suggest_backs(found, catalogue, ON)
    assert quick.tried == len(tried) > 20
    assert [r.as_dict() for r in quick.rows] == [r.as_dict() for r in rows[:MOST]]
    more = f"{len(rows) - MOST} more would do."
    assert (more in quick.sentences) == (len(rows) > MOST)
    assert quick.now == pytest.approx(warp(found, found.pack.sheets[-1]))


@pytest.mark.parametrize("guess", [False, True])
def test_the_columns_of_leaves_are_the_sheets(guess: bool, catalogue: Catalogue) -> None:
    every, woods = leaves(catalogue, guess), catalogue.materials()
    asked = load_layup(PACK.replace("GRAIN", "0").encode(), "tray.yaml", [])
    for k in range(0, len(every), 7):
        wood = woods[every.wood[k]]
        ask = PlyAsk(wood.name, None, float(every.thickness[k]), 0.0, every.cuts[k])
        sheet = sheet_of(1, ask, wood, 1, catalogue, guess, asked)
        assert sheet.leaf is not None and sheet.moves
        assert [every.constants[name][k] for name in CONSTANTS] == [
            getattr(sheet.leaf, name) for name in CONSTANTS
        ]
    assert len(every) > 400


def test_strains_of_many_are_those_of_each() -> None:
    totals = [0.0, 0.15, 4.2, 12.0]
    for start, end in ((9.0, 6.0), (35.0, 8.0), (6.0, 12.0)):
        found = moisture.strains(np.array(totals), start, end)
        assert found.tolist() == [moisture.strain(total, start, end) for total in totals]
