"""Pieces out of a pile of leaves, counted by hand, and what must hold for any sizes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.layup.piececount import TOO_NARROW, TOO_SHORT, pieces_from


@pytest.mark.parametrize(
    ("leaf", "piece", "number", "joints", "matched", "leaves", "across", "strips", "lengths"),
    [
        # 460 / 200 = 2.3, so 3 leaves side by side; 1800 / 490 = 3.67, so 3 lengths: one group of 3 leaves
        # gives 3 pieces, the fourth takes a second group
        ((1800, 200), (490, 460), 4, 2, True, 6, 3, 1, 3),
        ((1800, 200), (490, 460), 3, 2, True, 3, 3, 1, 3),
        # any leaf beside any other: 4 pieces of 3 strips are 12 strips, 3 to a leaf
        ((1800, 200), (490, 460), 4, 2, False, 4, 3, 1, 3),
        # exactly wide enough is one leaf, exactly long enough three lengths
        ((1470, 460), (490, 460), 3, 0, True, 1, 1, 1, 3),
        ((1469, 460), (490, 460), 3, 0, True, 2, 1, 1, 2),
        # a sheet of 1200 x 1200: two side by side, two lengths, so four pieces to a sheet
        ((1200, 1200), (490, 460), 4, 0, True, 1, 1, 2, 2),
        ((1200, 1200), (490, 460), 5, 0, True, 2, 1, 2, 2),
        # 920 is twice 460 to the millimetre
        ((500, 920), (490, 460), 3, 0, True, 2, 1, 2, 1),
        ((500, 919), (490, 460), 3, 0, True, 3, 1, 1, 1),
    ],
)  # fmt: skip
def test_counted_by_hand(
    leaf: tuple[int, int], piece: tuple[int, int], number: int, joints: int, matched: bool,
    leaves: int, across: int, strips: int, lengths: int,
) -> None:  # fmt: skip
    found = pieces_from(leaf, piece, number, joints, matched)
    assert (found.leaves, found.across, found.strips, found.lengths) == (leaves, across, strips, lengths)
    assert found.why_not is None and found.joints == across - 1


def test_what_cannot_come_out_of_the_leaves() -> None:
    short = pieces_from((480, 600), (490, 460), 1, 5)
    assert (short.leaves, short.why_not) == (None, TOO_SHORT)
    narrow = pieces_from((1800, 200), (490, 460), 1, 1)
    assert (narrow.leaves, narrow.why_not, narrow.joints) == (None, TOO_NARROW, 2)
    assert pieces_from((1800, 200), (490, 460), 1, 2).leaves == 3


SIDE = st.integers(20, 3000)
COUNT = st.integers(1, 60)
JOINTS = st.integers(0, 12)


@given(SIDE, SIDE, SIDE, SIDE, COUNT, JOINTS, JOINTS, st.booleans())
def test_more_joints_never_take_more_leaves(
    length: int, width: int, along: int, across: int, number: int, few: int, more: int, matched: bool
) -> None:
    low, high = sorted((few, more))
    one = pieces_from((length, width), (along, across), number, low, matched)
    two = pieces_from((length, width), (along, across), number, high, matched)
    if one.leaves is not None:
        assert two.leaves is not None and two.leaves <= one.leaves


@given(
    SIDE, SIDE, SIDE, SIDE, COUNT, st.integers(0, 400), st.integers(0, 400), st.integers(0, 9), st.booleans()
)
def test_larger_or_more_pieces_never_take_fewer_leaves(
    length: int,
    width: int,
    along: int,
    across: int,
    number: int,
    longer: int,
    wider: int,
    more: int,
    matched: bool,
) -> None:
    small = pieces_from((length, width), (along, across), number, 12, matched)
    large = pieces_from((length, width), (along + longer, across + wider), number + more, 12, matched)
    if large.leaves is not None:
        assert small.leaves is not None and small.leaves <= large.leaves


@given(SIDE, SIDE, SIDE, SIDE, COUNT, JOINTS)
def test_leaves_in_sequence_are_never_fewer_and_never_less_than_the_area(
    length: int, width: int, along: int, across: int, number: int, joints: int
) -> None:
    matched = pieces_from((length, width), (along, across), number, joints)
    loose = pieces_from((length, width), (along, across), number, joints, matched=False)
    if matched.leaves is not None and loose.leaves is not None:
        assert loose.leaves <= matched.leaves
        assert loose.leaves * length * width >= number * along * across
