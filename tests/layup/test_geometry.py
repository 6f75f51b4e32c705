"""Radii, own lengths and slip of a bent pack, worked by hand in the comments.

The pack: 1, 2 and 3 mm from the show face inward, 6 mm in all; the middles of its plies lie 0.5, 2 and 4.5 mm
below the show face. The mould's radius is 300 mm, the part turns 60 degrees, pi/3 = 1.0471976.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.layup import geometry
from woodref.layup.asked import Layup, Mould, Panel, PlyAsk


def pack(*thick: float, panel: Panel | None = None, **mould: Any) -> Layup:
    plies = tuple(PlyAsk("yellow-poplar", None, t, 0.0) for t in thick)
    return Layup("bent", plies, mould=Mould(**mould), panel=panel or Panel(450.0, 420.0))


#: convex, show face against the mould -> its radius; whether radii grow inward; radii of the ply boundaries
FOUR = [
    # over a round mould, show face away: 300 + 6 outside, the back lies on the mould
    (True, False, 306.0, False, (306.0, 305.0, 303.0, 300.0)),
    # over a round mould, show face on it: 300 on the hollow side, the back outside at 306
    (True, True, 300.0, True, (300.0, 301.0, 303.0, 306.0)),
    # in a hollow mould, show face away: the back lies in the hollow, the show face inside at 300 - 6
    (False, False, 294.0, True, (294.0, 295.0, 297.0, 300.0)),
    # in a hollow mould, show face in it: 300 outside, the back inside at 294
    (False, True, 300.0, False, (300.0, 299.0, 297.0, 294.0)),
]


@pytest.mark.parametrize(("convex", "against", "show", "grows", "radii"), FOUR)
def test_where_each_ply_of_a_bend_lies(
    convex: bool, against: bool, show: float, grows: bool, radii: tuple[float, ...]
) -> None:
    bent = pack(1, 2, 3, radius=300.0, convex=convex, show_against=against, angle=60.0)
    assert geometry.show_radius(bent) == show
    assert [geometry.radius_at(bent, depth) for depth in (0, 1, 3, 6)] == list(radii)
    # the hollow side of a ply is its smaller radius
    assert [geometry.inner_radius(bent, n) for n in (1, 2, 3)] == [
        min(radii[0:2]),
        min(radii[1:3]),
        min(radii[2:4]),
    ]
    assert geometry.middles(bent) == [0.5, 2.0, 4.5]
    assert geometry.turn(bent) == pytest.approx(1.0471976)
    # 306, 300 or 294 times 1.0471976
    assert geometry.arc_length(bent) == pytest.approx({306: 320.44245, 300: 314.15927, 294: 307.87608}[show])
    # 450 on the show face; pi/3 times 0.5, 2, 4.5 mm is 0.5235988, 2.0943951, 4.7123890: longer where the
    # radius grows, shorter where it falls
    own = [450.5235988, 452.0943951, 454.7123890] if grows else [449.4764012, 447.9056049, 445.2876110]
    assert geometry.own_lengths(bent) == pytest.approx(own, abs=1e-6)
    # middles 4 mm apart: 4 pi/3 = 4.1887902 in all, half of it at each end
    assert geometry.end_slip(bent) == pytest.approx(2.0943951, abs=1e-6)


@pytest.mark.parametrize(
    ("convex", "against", "show", "middles"),
    [
        # three plies of 1 mm and a mould of 150 mm: 153 outside, 150 inside, or 150 and 147
        (True, False, 153.0, (152.5, 151.5, 150.5)),
        (True, True, 150.0, (150.5, 151.5, 152.5)),
        (False, False, 147.0, (147.5, 148.5, 149.5)),
        (False, True, 150.0, (149.5, 148.5, 147.5)),
    ],
)
def test_a_closed_ring_is_two_pi_r_to_the_middle_of_each_ply(
    convex: bool, against: bool, show: float, middles: tuple[float, ...]
) -> None:
    ring = pack(
        1, 1, 1, radius=150.0, convex=convex, show_against=against, closed=True, panel=Panel(width=120.0)
    )
    assert geometry.own_lengths(ring) == pytest.approx([2 * math.pi * r for r in middles], rel=1e-12)
    assert geometry.arc_length(ring) == pytest.approx(2 * math.pi * show)
    assert geometry.turn(ring) == pytest.approx(6.2831853)
    # no ends, so nothing slips there
    assert geometry.end_slip(ring) == 0.0


def test_a_ring_in_figures() -> None:
    # 2 pi 152.5 = 958.18576, 2 pi 151.5 = 951.90257, 2 pi 150.5 = 945.61939
    ring = pack(1, 1, 1, radius=150.0, closed=True, panel=Panel(width=120.0))
    assert geometry.own_lengths(ring) == pytest.approx([958.18576, 951.90257, 945.61939], abs=5e-6)


def test_a_flat_part_has_no_radius_and_plies_of_one_length() -> None:
    flat = pack(1, 2, 3)
    assert geometry.show_radius(flat) is None
    assert geometry.radius_at(flat, 2.0) is None
    assert geometry.inner_radius(flat, 2) is None
    assert geometry.turn(flat) is None
    assert geometry.arc_length(flat) is None
    assert geometry.own_lengths(flat) == [450.0, 450.0, 450.0]
    assert geometry.end_slip(flat) == 0.0


def test_without_an_angle_the_whole_panel_is_bent() -> None:
    # 450 mm round 300 mm turn 1.5 radians; 1.5 times 0.5, 2, 4.5 is 0.75, 3, 6.75; slip 1.5 * 4 / 2 = 3
    bent = pack(1, 2, 3, radius=300.0, show_against=True)
    assert geometry.turn(bent) == 1.5
    assert geometry.arc_length(bent) == 450.0
    assert geometry.own_lengths(bent) == pytest.approx([450.75, 453.0, 456.75])
    assert geometry.end_slip(bent) == pytest.approx(3.0)


@pytest.mark.parametrize("bend", [90.0, -90.0])
def test_a_bend_across_takes_the_width(bend: float) -> None:
    # 420 mm round 300 mm turn 1.4 radians: 1.4 times 0.5, 2, 4.5 is 0.7, 2.8, 6.3
    bent = pack(1, 2, 3, radius=300.0, show_against=True, bend=bend)
    assert geometry.curved_size(bent) == 420.0
    assert geometry.turn(bent) == pytest.approx(1.4)
    assert geometry.own_lengths(bent) == pytest.approx([420.7, 422.8, 426.3])


@pytest.mark.parametrize(("bend", "size"), [(45.0, 450.0), (-45.0, 450.0), (45.5, 420.0), (-45.5, 420.0)])
def test_a_slanted_bend_runs_nearer_the_length_or_the_width(bend: float, size: float) -> None:
    assert geometry.curved_size(pack(1, 2, 3, radius=300.0, bend=bend)) == size


def test_a_slanted_bend_keeps_no_square_ends() -> None:
    bent = pack(1, 2, 3, radius=300.0, bend=30.0, angle=60.0)
    assert geometry.own_lengths(bent) is None
    assert geometry.end_slip(bent) is None
    assert geometry.show_radius(bent) == 306.0


def test_what_is_not_known_is_not_told() -> None:
    nothing = Panel()
    assert geometry.own_lengths(pack(1, 2, 3, panel=nothing)) is None
    bent = pack(1, 2, 3, radius=300.0, panel=nothing)
    assert (geometry.turn(bent), geometry.arc_length(bent)) == (None, None)
    assert (geometry.own_lengths(bent), geometry.end_slip(bent)) == (None, None)
    # the angle alone gives the arc, not the length of the panel
    bent = pack(1, 2, 3, radius=300.0, angle=60.0, panel=nothing)
    assert geometry.arc_length(bent) == pytest.approx(320.44245)
    assert geometry.own_lengths(bent) is None


@given(
    st.lists(st.floats(0.1, 5), min_size=1, max_size=9),
    st.floats(60, 2000),
    st.floats(1, 350),
    st.booleans(),
    st.booleans(),
)
def test_straight_ends_are_equally_long_in_every_ply(
    thick: list[float], radius: float, angle: float, convex: bool, against: bool
) -> None:
    # a ply is its arc, the turn times the radius of its middle, and two straight ends that all plies share
    size = 1.2 * (radius + sum(thick)) * math.radians(angle)
    bent = pack(
        *thick, radius=radius, convex=convex, show_against=against, angle=angle, panel=Panel(size, 400.0)
    )
    own = geometry.own_lengths(bent)
    assert own is not None
    show = geometry.show_radius(bent)
    assert show is not None
    ends = size - math.radians(angle) * show
    for length, depth in zip(own, geometry.middles(bent), strict=True):
        middle = show - depth if convex != against else show + depth
        assert geometry.radius_at(bent, depth) == middle
        assert length - math.radians(angle) * middle == pytest.approx(ends, rel=1e-9, abs=1e-6)
    # the pack lies on the mould: one of its two faces has the mould's radius
    faces = geometry.radius_at(bent, 0.0), geometry.radius_at(bent, bent.thickness)
    assert faces[0 if against else 1] == pytest.approx(radius)
    assert min(f for f in faces if f is not None) == pytest.approx(radius if convex else radius - sum(thick))
