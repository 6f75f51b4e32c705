"""What to cut, against arithmetic done by hand. All stands in the workshop of the Quillbeck Benders."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.layup import leafcount
from woodref.layup.asked import Face, Layup, LeafStock, Mould, Panel, PlyAsk
from woodref.layup.cutting import Cutting, cutting
from woodref.layup.findings import Finding
from woodref.layup.leafcount import PlyCut
from woodref.layup.saying import Say

#: the trade's allowance on every edge (common practice, no source)
TRIM = 20.0
LONG_LEAF = LeafStock(1, 180.0, 2400.0)


def layup(*grains: float, thickness: float | Sequence[float] = 1.0, **rest: Any) -> Layup:
    thick = thickness if isinstance(thickness, Sequence) else [thickness] * len(grains)
    plies = [PlyAsk("a wood", None, t, g) for t, g in zip(thick, grains, strict=True)]
    return Layup("part", tuple(plies), **{"panel": Panel(450.0, 420.0, 4), **rest})


def cut(part: Layup, names: Sequence[str] | None = None, units: str = "metric") -> Cutting:
    return cutting(part, names or ["alder"] * len(part.plies), Say(units))


def face(match: str = "slip", parts: int = 4, leaf: LeafStock = LONG_LEAF, **rest: Any) -> PlyCut:
    """The one face of a flat part of 450 x 420 mm."""
    about = Face(match, parts_to_match=parts, **rest)
    return cut(layup(0, panel=Panel(450.0, 420.0, parts), face=about, leaves=(leaf,))).rows[0]


def of(found: Sequence[Finding], code: str) -> list[Finding]:
    return [finding for finding in found if finding.code == code]


def text(out: Cutting) -> str:
    return " ".join(out.sentences)


# sizes


def test_every_edge_gets_its_allowance() -> None:
    row = cut(layup(0)).rows[0]
    assert (row.length, row.width) == (450 + 2 * TRIM, 420 + 2 * TRIM)  # 490 x 460, common practice
    wide = cut(layup(0, panel=Panel(450.0, 420.0, trim=5.0))).rows[0]
    assert (wide.length, wide.width) == (460, 430)


def test_each_ply_of_a_bend_has_its_own_length() -> None:
    # hollow mould of 300 mm, show face on the hollow side: it lies at 300 - 8.7 = 291.3 mm; 60 degrees are
    # 1.047198. Middles below it: 0.3 of ply 1, 0.6 + 1.5/2 = 1.35 of ply 2, 8.7 - 0.3 = 8.4 of ply 7.
    # 450 + 1.047198 x 0.3 = 450.314; 450 + 1.414 = 451.414; 450 + 8.796 = 458.796; and 40 mm on each.
    thick = [0.6, 1.5, 1.5, 1.5, 1.5, 1.5, 0.6]
    shell = layup(0, 90, 0, 90, 0, 90, 0, thickness=thick, mould=Mould(300.0, convex=False, angle=60.0))
    rows = cut(shell).rows
    assert rows[0].length == pytest.approx(490.314, abs=0.001)
    assert rows[1].length == pytest.approx(491.414, abs=0.001)
    assert rows[6].length == pytest.approx(498.796, abs=0.001)
    assert {row.width for row in rows} == {460.0}
    # (458.796 - 450.314) / 2 = 4.24 mm at each end
    assert "ply 7, on the round side, is longer than ply 1 by 4.2 mm at each end" in text(cut(shell))


def test_show_face_on_the_round_side_is_the_longest() -> None:
    # mould 300 mm, pack 4 mm: show face at 304; 450 / 304 = 1.480263; middle of ply 4 is 3.5 below:
    # 450 - 5.181 = 444.819, middle of ply 1 0.5 below: 449.260; half of 4.441 = 2.2
    out = cut(layup(0, 0, 0, 0, mould=Mould(300.0)))
    assert out.rows[3].length - 2 * TRIM == pytest.approx(444.819, abs=0.001)
    assert "ply 1, on the round side, is longer than ply 4 by 2.2 mm at each end" in text(out)


def test_a_bend_across_changes_the_width() -> None:
    # mould 200 mm, one ply of 2 mm: show face at 202; 420 / 202 rad; middle 1 mm below: 420 x 201 / 202
    row = cut(layup(0, thickness=2.0, mould=Mould(200.0, bend=90.0))).rows[0]
    assert row.length == 490
    assert row.width == pytest.approx(420 * 201 / 202 + 40)
    assert row.net_area == pytest.approx(4 * 450 * 420 * 201 / 202 / 1e6)


def test_grain_turns_the_blank() -> None:
    rows = cut(layup(0, 90, -90, 30, -30)).rows
    assert (rows[0].along, rows[0].across) == (490, 460)
    assert (rows[1].along, rows[1].across) == (460, 490) == (rows[2].along, rows[2].across)
    # 490 cos 30 + 460 sin 30 = 424.352 + 230 = 654.352; 490 sin 30 + 460 cos 30 = 245 + 398.372 = 643.372
    assert rows[3].along == pytest.approx(654.352, abs=0.001) == rows[4].along
    assert rows[3].across == pytest.approx(643.372, abs=0.001)
    assert "grain at 30 degrees to the length, out of a sheet 655 mm along the grain and 644" in rows[3].cut


def test_a_ring_goes_all_round() -> None:
    # mould 180 mm, two plies of 1.5 mm round it: middles at 180 + 2.25 and 180 + 0.75
    # 2 pi 182.25 = 1145.11, 2 pi 180.75 = 1135.69; 8 x 1.5 = 12 mm of scarf; width 360 + 40
    ring = layup(0, 90, thickness=1.5, mould=Mould(180.0, closed=True), panel=Panel(width=360.0, count=2))
    out = cut(ring)
    assert [row.length for row in out.rows] == pytest.approx([1157.11, 1147.69], abs=0.01)
    assert {row.width for row in out.rows} == {400.0}
    assert out.rows[0].net_area == pytest.approx(2 * 1.14511 * 0.36, rel=1e-5)
    said = text(out)
    assert "8 thicknesses more for a scarf of 1:8; for a butt joint cut those off" in said
    assert "180 degrees apart: ply 1 at 0, ply 2 at 180 degrees." in said
    assert "Both edges carry 20 mm" in said and "at each end" not in said


def test_closing_joints_go_once_round_the_ring() -> None:
    ring: dict[str, Any] = {"mould": Mould(300.0, closed=True), "panel": Panel(width=100.0)}
    # seven places 51.43 degrees apart, three places on from ply to ply: 0, 3, 6, 2 ... each once
    assert "neighbours 154 degrees apart: ply 1 at 0, ply 2 at 154, ply 3 at 309, ply 4 at 103" in text(
        cut(layup(*[0] * 7, **ring))
    )
    # six places: only one place on takes each once
    assert "neighbours 60 degrees apart: ply 1 at 0, ply 2 at 60" in text(cut(layup(*[0] * 6, **ring)))
    many = text(cut(layup(*[0] * 20, **ring)))
    # twenty places of 18 degrees, nine on each time: 162 degrees; ply 20 at 19 x 9 = 171, so place 11
    assert "162 degrees apart" in many and "and so on to ply 20 at 198 degrees." in many
    assert "closing joints" not in text(cut(layup(0, **ring)))


@pytest.mark.parametrize(
    ("rest", "words"),
    [
        ({"panel": Panel()}, "the file gives no panel size (panel: length and width)."),
        ({"panel": Panel(450.0)}, "the file gives no panel size (panel: length and width)."),
        ({"panel": Panel(), "mould": Mould(300.0, closed=True)}, "no width of the ring (panel: width)."),
        ({"mould": Mould(300.0, bend=30.0)}, "the bend runs at 30 degrees to the length"),
        ({"panel": Panel(width=90.0), "mould": Mould(300.0, closed=True, bend=90.0)}, "runs all round"),
    ],
)
def test_what_cannot_be_worked_out_is_left_out(rest: dict[str, Any], words: str) -> None:
    out = cut(layup(0, 90, leaves=(LONG_LEAF,), **rest))
    assert out.left_out and out.left_out.startswith("How much to cut is left out: ")
    assert words in out.left_out and out.left_out.endswith(".")
    assert (out.rows, out.sentences, out.findings, out.as_list()) == ((), (), (), [])


# leaves


def test_the_leaves_of_four_faces() -> None:
    # 2400 / 490 = 4.9: 4 lengths. 460 / 180 = 2.6: 3 across, on a centre joint 4. One group gives 4 faces.
    slip, book = face("slip").leaves, face("book").leaves
    assert slip and (slip.lengths_per_leaf, slip.leaves_across, slip.needed, slip.in_sequence) == (4, 3, 3, 3)
    assert book and (book.lengths_per_leaf, book.leaves_across, book.needed, book.in_sequence) == (4, 4, 4, 4)


def test_a_centre_leaf_asks_for_an_odd_number() -> None:
    # 460 / 180: 3 across already; 460 / 240: 2, so 3; 460 / 500: a leaf alone has no joint
    for width, number in ((180.0, 3), (240.0, 3), (500.0, 1)):
        row = face("book", leaf=LeafStock(1, width, 2400.0), centre_joint=False)
        assert row.leaves and row.leaves.leaves_across == number
    assert face("book", leaf=LeafStock(1, 500.0, 2400.0)).leaves == leafcount.LeafCount(
        LeafStock(1, 500.0, 2400.0), 4, 2, 1, 2, 2
    )


def test_end_and_four_way_halve_the_length() -> None:
    # pieces of 490 / 2 = 245 mm: 2400 / 245 = 9.8, 9 places a leaf; a face takes two rows of 3, or of 4
    end, four = face("end").leaves, face("four-way").leaves
    assert end and (end.lengths_per_leaf, end.group, end.needed, end.in_sequence) == (9, 6, 6, 6)
    assert four and (four.lengths_per_leaf, four.group, four.needed) == (9, 8, 8)
    assert face("end").end_joint == 245 and face("slip").end_joint is None
    # ten faces are one more than a group gives
    assert (ten := face("end", parts=10).leaves) and ten.needed == 12


def test_a_second_group_begins_with_the_fifth_face() -> None:
    assert (five := face("book", parts=5).leaves) and five.needed == 8
    # only two of the five have to match: one group has room for four
    about = Face("book", parts_to_match=2)
    part = layup(0, panel=Panel(450.0, 420.0, 5), face=about, leaves=(LONG_LEAF,))
    assert (two := cut(part).rows[0].leaves) and (two.needed, two.in_sequence) == (8, 4)


def test_hidden_plies_and_random_faces_use_every_length() -> None:
    # 5 sheets of 3 pieces are 15, 4 to a leaf: 3.75, so 4 leaves; a slip-matched face takes 2 groups of 3
    stock = (LONG_LEAF, LeafStock(2, 180.0, 2400.0))
    part: dict[str, Any] = {"panel": Panel(450.0, 420.0, 5), "leaves": stock}
    rows = cut(layup(0, 0, face=Face("random"), **part)).rows
    assert [(r.leaves.needed, r.leaves.in_sequence) for r in rows if r.leaves] == [(4, None), (4, None)]
    matched = cut(layup(0, 0, face=Face("book"), **part)).rows
    assert [r.leaves.needed for r in matched if r.leaves] == [8, 4]  # the match is that of the face alone


def test_a_ring_of_upright_grain_closes_its_book_match() -> None:
    # 2 pi 300.5 + 8 = 1896.1 across the grain, 450 to a leaf: 5, and every joint is between two hands: 6
    about = Face("book", centre_joint=False)
    ring: dict[str, Any] = {"mould": Mould(300.0, closed=True), "panel": Panel(width=100.0), "face": about}
    row = cut(layup(90, leaves=(LeafStock(1, 450.0, 2400.0),), **ring)).rows[0]
    assert row.leaves and row.leaves.leaves_across == 6
    along = cut(layup(0, leaves=(LeafStock(1, 90.0, 2400.0),), **ring)).rows[0]
    assert along.leaves and along.leaves.leaves_across == 3  # 140 / 90: 2, a leaf in the middle: 3


def test_areas_bought_and_net() -> None:
    row = face("book")
    assert row.bought_area == pytest.approx(4 * 0.18 * 2.4)  # 1.728 m2
    assert row.net_area == pytest.approx(4 * 0.45 * 0.42)  # 0.756 m2, without the allowance


def test_a_leaf_that_fits_to_the_hair_fits() -> None:
    # 5 x 490 = 2450 and 2 x 230 = 460, though 0.1 is no binary number
    row = face("slip", leaf=LeafStock(1, 230.0, 2450.0))
    assert row.leaves and (row.leaves.lengths_per_leaf, row.leaves.leaves_across) == (5, 2)
    assert 330 / 110.00000000000001 < 3 < 330.00000000000006 / 110
    assert leafcount.count(LeafStock(1, 110.0, 330.0), 110.00000000000001, 100.0, 1).lengths_per_leaf == 3
    assert leafcount.leaves_across(330.00000000000006, 110.0) == 3


def test_lots_of_hidden_plies_are_thrown_together_those_of_a_face_are_not() -> None:
    lots = tuple(LeafStock(ply, 180.0, 2400.0, 2) for ply in (1, 1, 2, 2))
    out = cut(layup(0, 90, face=Face("slip"), leaves=lots))
    # face: 3 of a sequence, 2 in each lot. Ply 2: 460 along: 5 lengths, 490 across: 3; 12 / 5: 3 of 4
    assert [(f.ply, f.code) for f in out.findings if f.severity == "mend"] == [(1, "too-few-leaves")]
    assert (two := out.rows[1].leaves) and (two.stock.count, two.needed, two.left) == (4, 3, 1)
    mixed = cut(layup(0, 90, face=Face("random"), leaves=lots))
    assert not of(mixed.findings, "too-few-leaves")  # 3 of 4
    second = cut(layup(0, leaves=(LeafStock(1, 180.0, 2400.0, 2), LeafStock(1, 200.0, 2400.0, 9)))).rows[0]
    assert second.leaves and second.leaves.stock.width == 200  # the first lot that is enough


# joints


def test_joints_lie_about_the_middle() -> None:
    # book, 4 of 180 on 460: middle 230, joints at 50, 230, 410; slip, 3: 140 and 320; a leaf alone: none
    assert face("book").joints == (50, 230, 410)
    assert face("slip").joints == (140, 320)
    assert face("slip", leaf=LeafStock(1, 460.0, 2400.0)).joints == ()
    assert cut(layup(0)).rows[0].joints is None


def _pair(first: float, second: float, grain: float = 0.0, about: Face | None = None) -> Cutting:
    stock = (LeafStock(1, first, 2400.0), LeafStock(2, second, 2400.0, where="seat.yaml:9"))
    return cut(layup(0, grain, leaves=stock, face=about or Face("slip")))


def test_joints_over_one_another_are_shifted_by_half_a_leaf() -> None:
    out = _pair(180.0, 180.0)
    (found,) = of(out.findings, "joints-over")
    assert (found.ply, found.severity, found.where) == (2, "mend", "seat.yaml:9")
    assert "Joints of plies 1 and 2 lie within 25 mm" in found.message
    assert found.mend and "Shift ply 2 by half a leaf, its first joint 50 mm from the edge" in found.mend
    # half a leaf is 90: from 140 and 320 to 50, 230, 410. No leaf more: the edges, 50 + 50, are one leaf
    assert out.rows[1].joints == (140, 320) and out.rows[1].joints_shifted == (50, 230, 410)
    assert (out.rows[1].leaves or pytest.fail()).needed == 3


def test_a_shift_that_helps_nothing_is_not_offered() -> None:
    # face of 4 leaves of 120: 110, 230, 350. Ply 2 of 240: 2 leaves, 230; shifted: 110 and 350
    out = _pair(120.0, 240.0)
    (found,) = of(out.findings, "joints-over")
    assert out.rows[1].joints_shifted is None and found.mend and "leaves of another width" in found.mend


def test_joints_apart_or_across_are_no_matter() -> None:
    assert not of(_pair(180.0, 180.0, 90.0).findings, "joints-over")
    # 3 of 220 on 600 mm and more: 110 from the middle, 20 from a joint of the face
    assert not of(_pair(180.0, 220.0, 21.0).findings, "joints-over")
    assert of(_pair(180.0, 220.0, 20.0).findings, "joints-over")
    assert not of(_pair(180.0, 180.0, about=Face("book")).findings, "joints-over")  # 50, 230, 410
    # 3 of 180: 90 from the middle; 3 of 230: 115 from it, just 25 apart; 3 of 228: 114, one less
    book = Face("book", centre_joint=False)
    assert not of(_pair(230.0, 180.0, about=book).findings, "joints-over")
    assert of(_pair(228.0, 180.0, about=book).findings, "joints-over")


def test_only_direct_neighbours_and_every_second_one_shifts() -> None:
    stock = tuple(LeafStock(ply, 180.0, 2400.0) for ply in (1, 2, 3, 4))
    out = cut(layup(0, 0, 0, 0, leaves=stock))
    assert [f.ply for f in of(out.findings, "joints-over")] == [2, 4]
    assert [row.joints_shifted is not None for row in out.rows] == [False, True, False, True]
    assert not of(cut(layup(0, 90, 0, leaves=stock[:3])).findings, "joints-over")


def test_upright_plies_of_a_ring_are_turned_and_not_shifted() -> None:
    stock = (LeafStock(1, 180.0, 2400.0), LeafStock(2, 180.0, 2400.0))
    ring: dict[str, Any] = {"mould": Mould(300.0, closed=True), "panel": Panel(width=420.0), "leaves": stock}
    assert not of(cut(layup(90, 90, **ring)).findings, "joints-over")
    assert of(cut(layup(0, 0, **ring)).findings, "joints-over")  # these run round it, side by side


def test_plus_and_minus_ninety_run_the_same_way() -> None:
    assert leafcount.same_way(90, -90) and leafcount.same_way(80, -85) and not leafcount.same_way(45, -45)


# what is found


def test_a_short_leaf_stops() -> None:
    out = cut(layup(0, leaves=(LeafStock(1, 180.0, 480.0, 9, "seat.yaml:7"),)))
    (found,) = of(out.findings, "short-leaf")
    assert (found.severity, found.ply, found.where) == ("stop", 1, "seat.yaml:7")
    assert "takes 490 mm along the grain, and the leaves are 480 mm long" in found.message
    assert found.mend == "Order leaves of 490 mm or longer, or match the face end to end."
    row = out.as_list()[0]
    assert (row["lengths_per_leaf"], row["leaves_needed"], row["bought_area_m2"]) == (0, None, None)
    assert not of(out.findings, "too-few-leaves")
    shorter = cut(layup(0, leaves=(LeafStock(1, 180.0, 240.0),)))  # 2 x 240 is not 490 either
    assert of(shorter.findings, "short-leaf")[0].mend == "Order leaves of 490 mm or longer."
    # at 245 mm and more an end match makes it up
    ended = cut(layup(0, face=Face("end"), leaves=(LeafStock(1, 180.0, 480.0, 9),)))
    assert not of(ended.findings, "short-leaf")


def test_a_joint_is_told_and_a_narrow_leaf() -> None:
    def codes(width: float) -> list[str]:
        found = cut(layup(0, leaves=(LeafStock(1, width, 2400.0),))).findings
        return [f.code for f in found]

    assert codes(460.0) == [] and codes(459.0) == ["joint-needed"]
    assert codes(80.0) == ["joint-needed"] and codes(79.9) == ["joint-needed", "narrow-leaf"]  # 6 across
    # 7 across though the leaf is broad: 1040 / 150
    broad = layup(0, panel=Panel(450.0, 1000.0), leaves=(LeafStock(1, 150.0, 2400.0),))
    assert of(cut(broad).findings, "narrow-leaf")
    (found,) = of(cut(layup(0, leaves=(LONG_LEAF,))).findings, "joint-needed")
    # nobody is sent for leaves of 460 mm; 340 mm can be had
    assert found.severity == "mind" and found.mend == "Joint the edges straight and tape them."
    narrower = cut(layup(0, panel=Panel(450.0, 300.0), leaves=(LONG_LEAF,))).findings
    assert "order leaves 340 mm wide" in str(of(narrower, "joint-needed")[0].mend)


def test_too_few_and_just_enough_leaves() -> None:
    def run(count: int | None, match: str = "book", parts: int = 8) -> Cutting:
        stock = (LeafStock(1, 180.0, 2400.0, count),)
        return cut(layup(0, panel=Panel(450.0, 420.0, parts), face=Face(match), leaves=stock))

    # 8 faces: two groups of 4
    (found,) = of(run(6).findings, "too-few-leaves")
    assert found.severity == "mend" and "takes 8 leaves for 8 parts, and 6 are to hand: 2 missing" in (
        found.message
    )
    assert found.mend == "Find 2 more of the same sequence, or press 4 parts."
    assert of(run(3).findings, "too-few-leaves")[0].mend == "Find 5 more of the same sequence."
    assert of(run(8).findings, "no-repair-leaf") and not of(run(8).findings, "too-few-leaves")
    assert not of(run(9).findings, "no-repair-leaf")
    assert "Keep the next leaf of the sequence for repairs." in text(run(9))
    assert "Keep the next 3 leaves of the sequence for repairs." in text(run(11))
    assert "Order one leaf of the sequence more than these 8" in text(run(None))
    # random: 8 x 3 / 4 = 6, and none has to be kept. 5 leaves give 20 pieces, 6 sheets of 3
    assert not run(6, "random").findings[1:]
    assert of(run(5, "random").findings, "too-few-leaves")[0].mend == "Find 1 more, or press 6 parts."


def test_every_finding_reads_as_sentences() -> None:
    stock = (LeafStock(1, 60.0, 2400.0, 2), LeafStock(2, 60.0, 2400.0, 2), LeafStock(3, 60.0, 100.0))
    out = cut(layup(0, 0, 0, leaves=stock))
    assert {f.code for f in out.findings} == {
        "joint-needed", "narrow-leaf", "too-few-leaves", "short-leaf", "joints-over",
    }  # fmt: skip
    for found in out.findings:
        assert found.message.endswith(".") and found.mend and found.mend.endswith(".")
        assert found.ply in (1, 2, 3)


# what is said


def test_plies_cut_alike_share_a_sentence() -> None:
    out = cut(layup(0, 90, 0, 90, 0, thickness=[0.6, 1.5, 1.5, 1.5, 0.6]), ["walnut", *["alder"] * 3, "oak"])
    assert out.sentences[:4] == (
        "Ply 1, the face, walnut 0.6 mm: 490 x 460 mm, grain along the length; 4 sheets.",
        "Plies 2 and 4, alder 1.5 mm, each: 490 x 460 mm, grain across; 4 sheets.",
        "Ply 3, alder 1.5 mm: 490 x 460 mm, grain along the length; 4 sheets.",
        "Ply 5, oak 0.6 mm: 490 x 460 mm, grain along the length; 4 sheets.",
    )
    assert "at each end" not in text(out)
    assert "Plies 2, 3 and 4, alder 1 mm, each:" in text(cut(layup(0, 0, 0, 0)))


def test_a_matched_face_is_told_in_the_words_of_the_bench() -> None:
    about = Face("book", same_flitch=True, parts_to_match=4)
    said = text(cut(layup(0, 90, face=about, leaves=(LONG_LEAF,))))
    for words in (
        "4 leaves side by side, 4 lengths to a leaf, 4 leaves for 4 parts.",
        "20 mm to trim after pressing: the edges bond worst.",
        "Widths of leaves are what is left once both edges are jointed.",
        "Lay the loose side of face and back to the glue, but for every second leaf of the book "
        "match: it shows "
        "its loose side and takes stain and light differently.",
        "lay the centre joint on the mark.",
        "Cut each face from one place along 4 leaves that follow one another.",
        "Number the leaves before they are cut, all of one flitch.",
        "The 4 parts that match take 4 leaves that follow one another.",
    ):
        assert words in said
    slip = text(cut(layup(0, 90, face=Face("slip"), leaves=(LONG_LEAF,))))
    assert (
        "every second leaf" not in slip and "the middle of the centre leaf" in slip and "flitch" not in slip
    )
    assert "follow one another" not in text(cut(layup(0, 90, face=Face("random"), leaves=(LONG_LEAF,))))
    four = text(cut(layup(0, 90, face=Face("four-way"), leaves=(LONG_LEAF,))))
    assert "the point where four pieces meet" in four and "2 end to end" in four


def test_narrow_outer_leaves_of_the_face_are_told() -> None:
    # 4 of 180 on 460: outer ones 50, less 20 trimmed 30; alike at (460 - 40) / 4 = 105
    said = text(cut(layup(0, 90, face=Face("book"), leaves=(LONG_LEAF,))))
    assert "the outer leaves of the face show 30 mm; joint the inner ones down to 105 mm" in said
    # 3 of 180: outer ones 140 - 20 = 120
    assert "outer leaves" not in text(cut(layup(0, 90, face=Face("slip"), leaves=(LONG_LEAF,))))
    # 3 of 90 on 270: outer ones 70, inner ones 90; alike would take outer ones of 230 / 3 + 20 = 97
    tight = layup(0, 90, panel=Panel(450.0, 230.0), leaves=(LeafStock(1, 90.0, 2400.0),))
    assert "outer leaves" not in text(cut(tight))
    # joints under them that run the same way were placed for the full width
    under = (LONG_LEAF, LeafStock(2, 180.0, 2400.0))
    assert "outer leaves" not in text(cut(layup(0, 0, face=Face("book"), leaves=under)))


def test_lengths_are_said_in_inches_and_never_too_short() -> None:
    said = text(cut(layup(0, 90, leaves=(LONG_LEAF,)), units="us"))
    # 490 mm are 19.2913 in, 460 mm are 18.1102 in: the last figure goes up
    assert "19.30 x 18.12 in" in said and " mm" not in said
    # 1037 mm are 40.827 in
    assert "40.9 in across" in " ".join(
        f.sentence for f in cut(layup(0, panel=Panel(450.0, 997.0), leaves=(LONG_LEAF,)), units="us").findings
    )


def test_no_allowance_and_two_curves_are_told() -> None:
    bowl = layup(0, 90, panel=Panel(450.0, 420.0, trim=0.0), mould=Mould(300.0, second_radius=900.0))
    assert "No edge carries anything to trim" in text(cut(bowl)) and "round both ways" in text(cut(bowl))
    assert "round both ways" not in text(cut(layup(0)))


def test_the_rows_for_json() -> None:
    unknown, known = cut(layup(0, 0, leaves=(LeafStock(2, 180.0, 2400.0, 5),))).as_list()
    assert set(unknown) == set(known) and json.dumps(unknown)
    nothing = {key for key, value in unknown.items() if value is None}
    assert nothing >= {"lengths_per_leaf", "leaves_needed", "joints_mm", "bought_area_m2", "pieces"}
    assert known == {
        "ply": 2, "name": "alder", "blank_length_mm": 490.0, "blank_width_mm": 460.0,
        "along_grain_mm": 490.0, "across_grain_mm": 460.0, "lengths_per_leaf": 4, "leaves_across": 3,
        "lengths_along": 1, "pieces_per_part": 3, "pieces": 12, "leaves_in_sequence": None,
        "leaves_needed": 3, "leaves_to_hand": 5, "leaves_left": 2, "joints_mm": [140.0, 320.0],
        "joints_shifted_mm": None, "end_joint_mm": None, "bought_area_m2": 1.296, "net_area_m2": 0.756,
        "cut": "490 x 460 mm, grain along the length; 3 leaves side by side, 4 lengths to a leaf, "
        "3 leaves for 4 parts",
    }  # fmt: skip


# whatever the numbers

sizes = st.floats(30, 3000)
matches = st.sampled_from(["book", "slip", "end", "four-way", "random"])
leaf_sizes = st.builds(
    LeafStock, st.just(1), st.floats(20, 1500), st.floats(50, 4000), st.none() | st.integers(1, 500)
)


@given(sizes, sizes, leaf_sizes, st.integers(1, 300), matches, st.booleans(), st.integers(1, 40))
def test_the_leaves_are_always_enough(
    along: float, across: float, stock: LeafStock, parts: int, match: str, joint: bool, alike: int
) -> None:
    out = leafcount.count(stock, along, across, parts, Face(match, joint, parts_to_match=alike))
    assert out.leaves_across * stock.width >= across - 0.01
    if out.needed is None:
        assert out.lengths_per_leaf == 0 and stock.length < along / out.lengths_along
        return
    assert out.lengths_per_leaf * along / out.lengths_along <= stock.length + 0.01
    assert out.needed * out.lengths_per_leaf >= parts * out.group
    assert out.in_sequence is None or out.group <= out.in_sequence <= out.needed
    assert out.needed * stock.width * stock.length >= 0.9999 * parts * along * across
    joints = leafcount.joints(across, stock.width, out.leaves_across)
    assert len(joints) == out.leaves_across - 1
    edges = [0.0, *joints, across]
    assert all(b - a <= stock.width + 0.01 for a, b in itertools.pairwise(edges))


@given(sizes, sizes, leaf_sizes, st.integers(1, 300), st.booleans())
def test_a_book_match_takes_no_fewer_than_a_slip_match(
    along: float, across: float, stock: LeafStock, parts: int, joint: bool
) -> None:
    book = leafcount.count(stock, along, across, parts, Face("book", joint))
    slip = leafcount.count(stock, along, across, parts, Face("slip"))
    hidden = leafcount.count(stock, along, across, parts)
    assert book.leaves_across % 2 == (0 if joint else 1) and 0 <= book.leaves_across - slip.leaves_across <= 1
    assert (book.needed or 0) >= (slip.needed or 0) >= (hidden.needed or 0)


@given(sizes, sizes, leaf_sizes, st.integers(1, 300), matches)
def test_one_part_more_never_takes_fewer(
    along: float, across: float, stock: LeafStock, parts: int, match: str
) -> None:
    one, more = (leafcount.count(stock, along, across, n, Face(match)) for n in (parts, parts + 1))
    assert (more.needed or 0) >= (one.needed or 0) and more.missing >= one.missing
    if one.parts_from_stock is not None and one.needed is not None:
        assert (one.parts_from_stock >= parts) == (one.missing == 0)


@given(st.floats(30, 3000), st.floats(20, 1500))
def test_a_shift_takes_no_leaf_more(across: float, width: float) -> None:
    number = leafcount.leaves_across(across, width)
    if number == 1:
        return
    there = leafcount.shifted(across, width, number)
    assert there[0] + across - there[-1] <= width + 0.01  # both edges out of one leaf
    was = leafcount.joints(across, width, number)
    assert all(abs(a - b) >= width / 2 - 0.01 for a in there for b in was)


@st.composite
def parts(draw: st.DrawFn) -> Layup:
    number = draw(st.integers(1, 6))
    mould = draw(
        st.just(Mould())
        | st.builds(
            Mould,
            st.floats(100, 5000),
            convex=st.booleans(),
            show_against=st.booleans(),
            bend=st.sampled_from([0.0, 90.0, -90.0, 37.0]),
            closed=st.booleans(),
        )
    )
    stock = st.builds(
        LeafStock, st.integers(1, number), st.floats(10, 5000), st.floats(10, 20000),
        st.none() | st.integers(1, 100),
    )  # fmt: skip
    return layup(
        *draw(st.lists(st.floats(-90, 90), min_size=number, max_size=number)),
        thickness=draw(st.lists(st.floats(0.1, 10), min_size=number, max_size=number)),
        mould=mould,
        panel=Panel(draw(st.none() | sizes), draw(st.none() | sizes), draw(st.integers(1, 99)),
                    draw(st.floats(0, 200))),
        face=draw(st.builds(Face, matches, st.booleans(), st.booleans(), st.integers(1, 99))),
        leaves=tuple(draw(st.lists(stock, max_size=5))),
    )  # fmt: skip


@settings(max_examples=200)
@given(parts(), st.sampled_from(["metric", "us"]))
def test_any_part_gets_rows_or_a_reason(part: Layup, units: str) -> None:
    out = cut(part, units=units)
    assert bool(out.rows) != bool(out.left_out)
    assert len(out.rows) in (0, len(part.plies))
    said = json.dumps([out.as_list(), out.sentences, [f.as_dict() for f in out.findings]], allow_nan=False)
    assert "nan" not in said.lower()
    for sentence in out.sentences:
        assert sentence.endswith(".") and "  " not in sentence
    for row, ply in zip(out.rows, part.plies, strict=False):
        # the turned blank fits into the sheet it is cut from
        turn = math.radians(ply.grain)
        assert row.along >= abs(row.length * math.cos(turn)) - 0.01
        assert row.along * row.across >= row.length * row.width * 0.999
        assert row.bought_area is None or row.bought_area >= row.net_area * 0.999
