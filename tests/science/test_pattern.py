"""Which sheet the cut shows: points worked by hand, and what the geometry must do whatever the numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.science.pattern import (
    Cut,
    Mould,
    boundaries,
    levels,
    line_width,
    pressed,
    sheet_seen,
    shift,
)

FLAT = Mould()


def at(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)


def test_sheets_by_hand() -> None:
    """Sheets of 1, 2 and 3 mm: the faces lie at 0, 1, 3 and 6, where the repeat begins again."""
    levels_ = at(0.0, 0.99, 1.0, 2.99, 3.0, 5.99, 6.0, 7.0, -0.01, -3.01)
    assert sheet_seen(levels_, [1, 2, 3]).tolist() == [0, 0, 1, 1, 2, 2, 0, 1, 2, 1]


def test_a_level_a_hair_below_a_repeat_is_a_sheet_of_it() -> None:
    assert sheet_seen(at(-1e-18, 6 - 1e-18), [1, 2, 3]).max() <= 2


def test_a_flat_mould_and_a_level_cut_show_one_sheet() -> None:
    u, v = np.meshgrid(np.linspace(0, 500, 11), np.linspace(0, 300, 7))
    assert np.unique(sheet_seen(levels(FLAT, Cut(), u, v, 1.5), [1, 2, 3])).tolist() == [1]


@pytest.mark.parametrize(("angle", "pitch"), [(30.0, 2.0), (5.0, 1 / math.sin(math.radians(5)))])
def test_a_slanted_cut_through_flat_sheets_gives_straight_stripes(angle: float, pitch: float) -> None:
    """Sheets of 1 mm at 30 degrees: stripes of 1 / sin 30 = 2 mm on the face, the same all along the leaf."""
    v = np.linspace(0, 6 * pitch, 6001)[:-1]
    seen = sheet_seen(levels(FLAT, Cut(across=angle), np.zeros_like(v), v), [1.0, 1.0])
    changes = v[np.flatnonzero(np.diff(seen)) + 1]
    assert changes == pytest.approx([pitch * n for n in range(1, 6)], abs=0.01 * pitch)
    far = sheet_seen(levels(FLAT, Cut(across=angle), np.full_like(v, 777.0), v), [1.0, 1.0])
    assert (far == seen).all()


def test_a_cone_gives_rings_and_a_dome_gives_them_closer_outward() -> None:
    """A cone falling 1 mm in 10: a level cut meets a new sheet of 1 mm at every 10 mm from the top."""
    r = np.linspace(0.5, 49.5, 50)
    assert sheet_seen(r / 10, [1.0, 1.0, 1.0, 1.0, 1.0]).tolist() == [int(x // 10) for x in r]
    dome = sheet_seen(r**2 / 400, [1.0] * 7)  # faces at r = 20 sqrt(k)
    inner = [float(r[np.flatnonzero(dome == k)[-1]]) for k in range(4)]
    assert inner == pytest.approx([20 * math.sqrt(k + 1) for k in range(4)], abs=1.0)
    assert np.all(np.diff(np.diff(inner)) < 0)


def test_bumps_and_ridges_stand_where_the_pitch_says() -> None:
    bumps, ridges = Mould("bumps", 8, 40), Mould("ridges", 6, 100)
    assert bumps.at(at(0, 40, 20, 0, 20), at(0, 40, 0, 20, 20)).tolist() == pytest.approx([8, 8, 4, 4, 0])
    assert ridges.at(at(0, 100, 50), at(3, 7, 900)).tolist() == pytest.approx([6, 6, 0])
    assert FLAT.at(at(1, 2), at(3, 4)).tolist() == [0, 0]


def test_the_steepest_slope_is_that_of_the_wave() -> None:
    """A cosine of height H and pitch p is steepest at pi H / p; of bumps each way has half the height."""
    x = np.linspace(0, 100, 100001)
    for mould in (Mould("ridges", 6, 100), Mould("bumps", 6, 100)):
        steepest = np.abs(np.diff(mould.at(x, np.zeros_like(x)))).max() / (x[1] - x[0])
        assert mould.steepest[0] == pytest.approx(steepest, rel=1e-4)
    assert Mould("ridges", 6, 100).angle == pytest.approx(math.degrees(math.atan(0.06 * math.pi)))


def test_a_leaf_is_measured_square_to_its_face() -> None:
    """At 60 degrees the next cut of a 1 mm leaf lies 1 / cos 60 = 2 mm higher, straight up."""
    assert Cut(across=60).rise(1.0) == pytest.approx(2.0)
    assert Cut().rise(0.6) == pytest.approx(0.6)
    both = Cut(30, 40)
    a, b = both.slopes
    assert both.rise(1.0) == pytest.approx(math.sqrt(1 + a * a + b * b))


def test_the_next_leaf_moves_the_lines_by_rise_over_slope() -> None:
    """The level shown at a place is shown on the next leaf that far down the slope."""
    cut, leaf = Cut(across=20), 0.6
    rise = cut.rise(leaf)
    moved = shift(rise, cut.slopes[1])
    v = np.linspace(0, 50, 101)
    here = levels(FLAT, cut, np.zeros_like(v), v)
    there = levels(FLAT, cut, np.zeros_like(v), v - moved, rise)
    assert there == pytest.approx(here)
    assert moved == pytest.approx(rise / math.sin(math.radians(20)))


def test_over_a_wave_the_lines_move_by_rise_over_the_gradient() -> None:
    """Along a level cut over a ridge: d / |dh/dx| to first order."""
    mould, cut, d = Mould("ridges", 6, 100), Cut(), 1e-4
    x = at(20.0)
    slope = float((mould.at(x + 1e-6, x * 0) - mould.at(x - 1e-6, x * 0))[0]) / 2e-6
    level = float(levels(mould, cut, x, x * 0)[0])
    after = float(levels(mould, cut, x + d / slope, x * 0, d)[0])
    assert after == pytest.approx(level, abs=1e-8)


def test_a_repeat_brings_the_leaf_again() -> None:
    u, v = np.meshgrid(np.linspace(0, 90, 40), np.linspace(0, 60, 30))
    sheets = [0.644, 0.322, 0.644]
    mould, cut = Mould("bumps", 3, 40), Cut(1, 2)
    one = sheet_seen(levels(mould, cut, u, v, 0.1), sheets)
    two = sheet_seen(levels(mould, cut, u, v, 0.1 + sum(sheets)), sheets)
    assert np.mean(one == two) > 0.999  # a point on a face may fall either way


@given(
    st.floats(-40, 40), st.floats(-40, 40), st.floats(-500, 500), st.floats(-500, 500),
)  # fmt: skip
def test_the_face_is_measured_true(along: float, across: float, u: float, v: float) -> None:
    """A point u along and v across the face lies sqrt(u2 + v2) from the corner, and on the cut's plane."""
    cut = Cut(along, across)
    x, y, z = (float(part[0]) for part in cut.plan(at(u), at(v)))
    assert math.hypot(x, y, z) == pytest.approx(math.hypot(u, v), abs=1e-6)
    assert z == pytest.approx(x * cut.slopes[0] + y * cut.slopes[1], abs=1e-6)


@given(
    st.lists(st.floats(0.2, 3), min_size=1, max_size=8), st.floats(-20, 20), st.floats(0.01, 20),
)  # fmt: skip
def test_faces_part_what_is_seen(sheets: list[float], low: float, width: float) -> None:
    """Just above every face its own sheet is seen, and between two faces nothing changes."""
    found = boundaries(low, low + width, sheets)
    assert [level for level, _ in found] == sorted(level for level, _ in found)
    for level, index in found:
        assert low < level <= low + width
        assert int(sheet_seen(at(level + 1e-9), sheets)[0]) == index


def test_pressed_sheets_lose_their_share_and_gain_a_glue_line() -> None:
    assert pressed([0.7, 0.35], 0.08, 0.05) == pytest.approx([0.694, 0.372])


def test_line_width_is_the_sheet_over_the_sine() -> None:
    assert line_width(0.5, math.tan(math.radians(30))) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Mould("waves", 1, 10), lambda: Mould("ridges", 1), lambda: Mould("bumps", 1, 0),
        lambda: Mould("flat", -1), lambda: Cut(along=90), lambda: Cut(across=-120), lambda: pressed([]),
        lambda: pressed([0.7], 1.0),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(make: object) -> None:
    with pytest.raises(ValueError):
        make()  # type: ignore[operator]
