"""The bench rules of the report, each on the smallest pack that shows it.

A fact of the trade is marked common practice, no source."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup, BadRequest, SharedName
from woodref.layup.backs import suggest_backs
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report
from woodref.layup.warping import best_change, worst
from woodref.layup.whatif import beside, edits_of
from woodref.science.bending import springback

ON = dt.date(2026, 6, 1)
FACE = "{material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}"
CROSS = "{material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 90, moisture: 7 %}"
LONG = "{material: Betula pendula, cut: rotary, thickness: 1.5 mm, grain: 0, moisture: 7 %}"
UREA = "\nglue: {adhesive: urea-formaldehyde, spread: 110 g/m2}"
SIZE = "\npanel: {length: 400 mm, width: 300 mm}"


def of(
    catalogue: Catalogue, plies: list[str], rest: str = "", guess: bool = False, edits: Any = ()
) -> Report:
    body = "plies:\n" + "".join(f"  - {ply}\n" for ply in plies) + rest
    return report(load_layup(body.encode(), "x.yaml", edits), catalogue, ON, guess=guess)


def codes(found: Report) -> list[str]:
    return [f.code for f in found.findings]


def said(found: Report) -> str:
    return " ".join(s for _, lines in found.page() for s in lines)


# --- balanced construction


@pytest.mark.parametrize(
    ("back", "word"),
    [
        (FACE.replace("0.6", "0.7"), "thickness"),
        (FACE.replace("crown", "quarter"), "cut (crown, quarter)"),
        (FACE.replace("grain: 0", "grain: 90"), "grain"),
        (FACE.replace("7 %", "10 %"), "moisture when laid"),
        (FACE.replace("Juglans regia", "Betula pendula"), "wood"),
    ],
)
def test_each_way_of_being_no_pair(catalogue: Catalogue, back: str, word: str) -> None:
    found = of(catalogue, [FACE, CROSS, back])
    assert found.mirror.balanced is False and word in found.mirror.pairs[0].differ[0]
    assert (found.mirror.pairs[0].upper, found.mirror.pairs[0].lower) == (1, 3)


def test_what_counts_as_a_pair(catalogue: Catalogue) -> None:
    peeled = FACE.replace("crown", "rotary")  # both lie tangential in the log
    assert of(catalogue, [FACE, CROSS, peeled]).mirror.balanced
    assert of(catalogue, [CROSS, FACE, CROSS.replace("90", "-90")]).mirror.balanced
    mirrored = of(catalogue, [FACE, CROSS, LONG, CROSS, FACE], SIZE)
    assert mirrored.mirror.balanced and mirrored.shape.dry is not None
    assert abs(mirrored.shape.dry.bow or 0) < 1e-6 and mirrored.finished.stack is not None
    assert not mirrored.finished.stack.coupled
    sanded = of(catalogue, [FACE, CROSS, FACE], "\nsanding: {face: 0.15 mm}")
    assert (
        sanded.mirror.pressed and not sanded.mirror.balanced and "unbalanced-after-sanding" in codes(sanded)
    )


# --- gluing


def test_the_long_grain_sheet_is_spread(catalogue: Catalogue) -> None:
    # common practice, no source: of an alternating pack the long-grain plies are spread
    found = of(catalogue, [FACE, CROSS, LONG, CROSS, FACE], UREA + SIZE)
    assert [line.spread_on for line in found.spreading.lines] == [1, 3, 3, 5]
    # 440 x 340 mm of blank at 110 g/m2 a line
    assert found.spreading.total == pytest.approx(4 * 110 * 0.44 * 0.34)
    two_long = [FACE, LONG, FACE]
    assert [x.spread_on for x in of(catalogue, two_long, UREA).spreading.lines] == [2, 3]
    against = UREA + "\nmould: {radius: 900 mm, show_side: against-mould}"
    assert [x.spread_on for x in of(catalogue, two_long, against).spreading.lines] == [1, 2]
    assert "spread-cross" in codes(of(catalogue, [FACE, CROSS, CROSS, FACE], UREA))


def test_glue_that_brings_no_water(catalogue: Catalogue) -> None:
    for glue in ("epoxy", "polyurethane-one-part"):
        dry = of(catalogue, [FACE, CROSS, FACE], f"\nglue: {{adhesive: {glue}}}")
        assert dry.moist.points == 0 and dry.moist.mean == pytest.approx(7)
    wet = of(catalogue, ["{material: Betula pendula, thickness: 0.6 mm, grain: 0, moisture: 8 %}"] * 10,
             "\nglue: {adhesive: PVA D3, spread: 150 g/m2}")  # fmt: skip
    assert {"wet-set", "glue-water"} <= set(codes(wet))
    assert "The part sets at about" in wet.page()[0][1][0]


# --- press


def test_hours_and_minutes_of_urea_resin(catalogue: Catalogue) -> None:
    # common practice, no source: six hours cold in the clamps; ten minutes are the cure part at 60 C
    bent = UREA + "\nmould: {radius: 900 mm}"
    cold = of(catalogue, [FACE, CROSS, FACE], bent + "\npress: {cold: 20 C}")
    assert cold.pressing.cure is not None and cold.pressing.cure.minutes == (360, 720)
    assert "till next day" in said(cold)
    hot = of(catalogue, [FACE, CROSS, FACE], bent + "\npress: {heated: 60 C}")
    assert hot.pressing.cure is not None and hot.pressing.cure.cure is not None
    assert hot.pressing.cure.cure[0] == pytest.approx(10)
    one = of(catalogue, [FACE, CROSS, FACE], bent + "\npress: {heated: 60 C, heated_from: one}")
    assert one.pressing.cure is not None
    assert (one.pressing.cure.depth, hot.pressing.cure.depth) == pytest.approx((2.1, 0.6))


@pytest.mark.parametrize(
    ("press", "code", "severity"),
    [
        ("{cold: 8 C}", "too-cold", "stop"),
        ("{cold: 20 C, pressure: 0.05 MPa}", "pressure-low", "mend"),
        ("{cold: 20 C, bag: yes}", "pressure-low", "mend"),  # light pressure is for thin sheets alone
        ("{cold: 20 C, pressure: 2 MPa}", "pressure-high", "mend"),
        ("{heated: 150 C}", "cure-unknown", "mend"),
    ],
)
def test_what_the_press_gets_wrong(catalogue: Catalogue, press: str, code: str, severity: str) -> None:
    found = of(catalogue, [FACE, CROSS, FACE], UREA + f"\npress: {press}")
    assert [f.severity for f in found.findings if f.code == code] == [severity]


def test_a_bag_holds_thin_sheets_and_less_of_them_high_up(catalogue: Catalogue) -> None:
    thin = of(catalogue, [FACE, FACE.replace("grain: 0", "grain: 90"), FACE], UREA + "\npress: {bag: yes}")
    assert thin.pressing.verdict == "light" and "pressure-low" not in codes(thin)
    high = of(catalogue, [FACE, CROSS, FACE], UREA + "\npress: {bag: yes, altitude: 2000 m}")
    assert high.pressing.pressure is not None and thin.pressing.pressure is not None
    # 1.2 kPa less for every 100 m
    assert thin.pressing.pressure[0] - high.pressing.pressure[0] == pytest.approx(0.024)


def test_how_much_of_the_ends_the_press_leaves_up(catalogue: Catalogue) -> None:
    # one thickness 1.5 mm along at radius R: M = E t3/12 / R a width, sqrt(2 M/p); birch 14 GPa x 1.10
    found = of(catalogue, [LONG, LONG], UREA + "\nmould: {radius: 900 mm}\npress: {pressure: 0.5 MPa}")
    e = found.pack.sheets[0].leaf.e1  # type: ignore[union-attr]
    moment = sum(e * 0.0015**3 / 12 / r for r in (0.9, 0.9015))
    assert found.pressing.lifted == pytest.approx(1000 * (2 * moment / 0.5e6) ** 0.5)


# --- bends


@pytest.mark.parametrize(
    ("radius", "word"),
    [
        (2 * 75.1, "easy"), (2 * 74.9, "at the dry limit"), (75.1, "at the dry limit"),
        (74.9, "damp or heat it"), (37.6, "damp or heat it"), (37.4, "thinner or split it"),
    ],
)  # fmt: skip
def test_classes_change_at_their_edges(catalogue: Catalogue, radius: float, word: str) -> None:
    # limits: 50 thicknesses of 1.5 mm are 75 mm; twice is easy, half wants damp or heat (common practice)
    found = of(catalogue, [LONG], f"\nmould: {{radius: {radius} mm}}\nlimits: {{along: 50}}")
    assert found.bends[0].found == word
    severities = [f.severity for f in found.findings if f.code == "too-tight"]
    assert severities == {"damp or heat it": ["mend"], "thinner or split it": ["stop"]}.get(word, [])


def test_figured_leaves_get_no_number(catalogue: Catalogue) -> None:
    burr = "{material: Juglans regia, cut: burr, thickness: 0.6 mm, grain: 0}"
    found = of(catalogue, [burr, CROSS], "\nmould: {radius: 300 mm}")
    assert found.bends[0].found == "try a strip first" and found.bends[0].limit is None
    assert "try-first" in codes(found) and found.finished.stack is None
    assert "missing-figure" in codes(found) and "a figured leaf has no directions" in said(found)


def test_springback_is_one_over_n_squared() -> None:
    # boatbuilders' rule y = x/n2, read on a public forum
    for n in (1, 2, 4, 8):
        assert springback([0.002] * n, [11e9] * n) == pytest.approx(1 / n**2)


def test_glues_that_creep_are_told(catalogue: Catalogue) -> None:
    for glue, creeps in (
        ("PVA D3", True),
        ("hide glue", True),
        ("urea-formaldehyde", False),
        ("epoxy", False),
    ):
        found = of(
            catalogue,
            [FACE, CROSS, FACE],
            f"\nglue: {{adhesive: {glue}}}\nmould: {{radius: 400 mm, angle: 30}}",
        )
        assert ("creeps" in codes(found)) == creeps == ("opens further over months" in said(found))


def test_a_double_curve_is_never_a_plain_bend(catalogue: Catalogue) -> None:
    rest = "\nmould: {radius: 1200 mm, second_radius: 1200 mm}\npanel: {length: 450 mm, width: 420 mm}"
    found = of(catalogue, [FACE, CROSS, FACE], rest)
    assert found.curve is not None and found.curve.double is not None
    assert found.curve.double["long_edge"] == pytest.approx(6.9, abs=0.05)
    assert (
        "double-curve" in codes(found)
        and "both ways at once is another matter" in dict(found.short())["Bends"]
    )


# --- faces, law, what is not known


def test_faces(catalogue: Catalogue) -> None:
    bare = of(
        catalogue, [FACE, CROSS, FACE], UREA + "\nfinish: {face: oil, back: none}\nsanding: {face: 0.4 mm}"
    )
    assert {"one-side-finish", "thin-face", "iron-stain"} <= set(codes(bare))
    pale = "{material: Acer pseudoplatanus, cut: crown, thickness: 0.5 mm, grain: 0}"
    dark = "{material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 90}"
    assert "show-through" in codes(of(catalogue, [pale, dark, pale]))
    assert "oily-wood" in codes(
        of(catalogue, ["{material: Tectona grandis, thickness: 0.6 mm, grain: 0}"], UREA)
    )


def test_the_law_of_a_part(catalogue: Catalogue) -> None:
    journey = "\njourney: {from: GB, to: US, form: seat}"
    rose = "{material: Dalbergia nigra, thickness: 0.6 mm, grain: 0, origin: BR}"
    stop = of(catalogue, [rose, CROSS, FACE], journey + SIZE)
    assert stop.lawful.answer == "stop" and "restricted" in codes(stop)
    indian = "{material: Dalbergia latifolia, thickness: 0.6 mm, grain: 0, origin: IN}"
    both = of(catalogue, [indian, CROSS, FACE], journey + SIZE)
    assert "As finished" in said(both) and "As blank" in said(both)
    mends = [f.mend for f in both.findings if f.code == "restricted"]
    assert mends == ["Ship it finished, never as an untrimmed blank."]
    unknown = of(catalogue, [FACE, "{unidentified: attic, thickness: 0.6 mm, grain: 0}"], journey + SIZE)
    assert unknown.lawful.answer == "check" and "not identified, so for the whole part" in said(unknown)


def test_what_is_not_known_is_left_out_and_estimates_fill_it(catalogue: Catalogue) -> None:
    bare = next(
        m for m in catalogue.materials()
        if m.kind == "species" and m.figure("density") and m.figure("basic_density") and not m.figure("moe")
        and m.hardness_group == "hardwood"
    )  # fmt: skip
    ply = f"{{material: {bare.id}, thickness: 1 mm, grain: 0}}"
    found = of(catalogue, [ply, CROSS, ply])
    assert found.finished.stack is None and "left out" in said(found)
    assert any(f.code == "missing-figure" and "--estimates" in str(f.mend) for f in found.findings)
    filled = of(catalogue, [ply, CROSS, ply], guess=True)
    assert filled.finished.stack is not None
    assert any(u.grade == "worked out" and u.name == "moe" for u in filled.pack.sheets[0].used)


def test_every_section_that_is_left_out_says_why(catalogue: Catalogue) -> None:
    text = said(of(catalogue, [FACE, CROSS]))
    for why in ("the file names no glue", "the file gives no panel size", "the file gives none (journey"):
        assert why in text


def test_a_shared_name_is_told_once_and_a_loose_one_asks(catalogue: Catalogue) -> None:
    ply = "{material: yellow-poplar, thickness: 1 mm, grain: 0}"
    found = of(catalogue, [ply, ply, ply])
    assert codes(found).count("shared-name") == 1
    with pytest.raises(SharedName) as caught:
        of(catalogue, ["{material: rosewood, thickness: 1 mm, grain: 0}"])
    assert caught.value.where == "x.yaml:2"


# --- what-ifs


def test_a_change_changes_what_it_names(catalogue: Catalogue) -> None:
    plies = [FACE, CROSS, LONG, FACE]
    edits = edits_of(
        ["finish.back=none", "plies.3.grain=90"], ["2=Fagus sylvatica"], ["1=0.5mm"], ["rh=25..75"]
    )
    drawn, changed = of(catalogue, plies), of(catalogue, plies, edits=edits)
    one, other = drawn.layup, changed.layup
    assert (other.plies[0].thickness, other.plies[1].material, other.plies[2].grain) == (
        0.5,
        "Fagus sylvatica",
        90,
    )
    assert other.plies[3] == one.plies[3] and other.finish.back == "none"
    assert (other.room.rh_low, other.room.rh_high) == (25, 75)
    head, rows = beside(drawn, changed)
    assert head[1:] == ["as drawn", "with this change"] and len(rows) > 4
    for bad, kind in (
        ("plies.9.grain=0", BadRequest),
        ("plies.0.grain=0", BadRequest),
        ("mould=7", BadLayup),
    ):
        with pytest.raises(kind, match="--set"):
            of(catalogue, plies, edits=edits_of([bad]))


def test_the_mend_and_the_backs_really_flatten_it(catalogue: Catalogue) -> None:
    plies = [FACE, CROSS, LONG, CROSS, LONG]
    found = of(catalogue, plies, UREA + SIZE)
    (warps,) = [f for f in found.findings if f.code == "warps"]
    mended = best_change(found.pack, found.moist)
    assert mended is not None and mended[0] in str(warps.mend) and abs(worst(mended[1])[2]) < 1
    for row in suggest_backs(found, catalogue, ON).rows:
        name, cut, thick = row.sheet.name, row.sheet.cut, row.sheet.thickness
        assert name != "European walnut"
        assert row.sheet.material is not None
        wood = row.sheet.material.id
        back = f"{{material: {wood}, cut: {cut}, thickness: {thick} mm, grain: 0, moisture: 7 %}}"
        put_in = of(catalogue, [*plies[:4], back], UREA + SIZE)
        assert put_in.shape.dry is not None
        # the glue's water falls on another weight of wood, so a tenth or two may differ
        for rise in (put_in.shape.dry.bow, put_in.shape.dry.cup):
            assert abs(rise or 0) <= row.warp + 0.25


@pytest.mark.parametrize(
    ("face", "cut", "thickness", "glue", "where"),
    [
        # common practice, no source: a thin leaf of a coarse-pored wood or of a burr lets glue through;
        # flour in the glue, a thick leaf or a close wood hold it back
        ("Fraxinus excelsior", "crown", "0.6 mm", "urea-formaldehyde", [1]),
        ("Fraxinus excelsior", "crown", "0.6 mm", "urea-formaldehyde-extended", []),
        ("Fraxinus excelsior", "crown", "2.5 mm", "urea-formaldehyde", []),
        ("Acer saccharum", "crown", "0.6 mm", "urea-formaldehyde", []),
        ("Acer saccharum", "burr", "0.6 mm", "urea-formaldehyde", [1]),
    ],
)
def test_glue_comes_through_a_thin_open_leaf(
    catalogue: Catalogue, face: str, cut: str, thickness: str, glue: str, where: list[int]
) -> None:
    leaf = f"{{material: {face}, cut: {cut}, thickness: {thickness}, grain: 0, moisture: 7 %}}"
    back = "{material: Betula pendula, cut: crown, thickness: 0.6 mm, grain: 0, moisture: 7 %}"
    found = of(catalogue, [leaf, CROSS, back], f"\nglue: {{adhesive: {glue}, spread: 110 g/m2}}")
    assert [f.ply for f in found.findings if f.code == "bleed-through"] == where


@pytest.mark.parametrize("text", ["plies.².grain=1", "plies.1.grain=" + "9" * 5000])
def test_a_change_in_odd_digits_is_a_sentence(catalogue: Catalogue, text: str) -> None:
    with pytest.raises((BadRequest, BadLayup)):
        of(catalogue, [FACE, CROSS, FACE], edits=edits_of([text], [], []))
