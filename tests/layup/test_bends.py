"""Whether each ply follows the mould dry: classes at their edges, each way of the bend, what is not known."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.layup.findings import Finding
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)
COMMON = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
#: easiest first
CLASSES = ["easy", "at the dry limit", "damp or heat it", "thinner or split it"]
SEVERITY = {"damp or heat it": ["mend"], "thinner or split it": ["stop"]}


def ply(wood: str = "Betula pendula", cut: str = "rotary", mm: float = 1.5, grain: float = 0) -> str:
    return f"{{material: {wood}, cut: {cut}, thickness: {mm} mm, grain: {grain}, moisture: 7 %}}"


LONG, CROSS = ply(), ply(grain=90)


def of(catalogue: Catalogue, plies: list[str], mould: str, rest: str = "") -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + f"mould: {{{mould}}}\n{rest}"
    return report(load_layup(body.encode(), "x.yaml"), catalogue, ON)


def told(found: Report, code: str) -> list[Finding]:
    return [f for f in found.findings if f.code == code]


def sentences(found: Report) -> str:
    return " ".join(dict(found.page())["Will it bend?"])


# --- classes


@pytest.mark.parametrize(("grain", "limit"), [(0, 60), (90, 30), (44, 60), (-44, 60), (46, 30), (-90, 30)])
@pytest.mark.parametrize(
    ("share", "word"),
    [
        (2.002, "easy"), (2, "easy"), (1.998, "at the dry limit"), (1, "at the dry limit"),
        (0.998, "damp or heat it"), (0.5, "damp or heat it"), (0.498, "thinner or split it"),
    ],
)  # fmt: skip
def test_classes_change_at_twice_once_and_half_of_the_limit(
    catalogue: Catalogue, grain: int, limit: int, share: float, word: str
) -> None:
    # 40 thicknesses along and 20 across, as the file sets them, of 1.5 mm: 60 and 30 mm. Twice is easy, half
    # wants damp or heat (common practice, no source). A convex mould's radius is the ply's own hollow side.
    radius = limit * share
    found = of(catalogue, [ply(grain=grain)], f"radius: {radius} mm", "limits: {along: 40, across: 20}\n")
    (bend,) = found.bends
    assert bend.found == word and bend.radius == pytest.approx(radius)
    assert bend.limit == pytest.approx((limit, 2 * limit))
    assert bend.grain == ("along the grain" if limit == 60 else "across the grain")
    assert [f.severity for f in told(found, "too-tight")] == SEVERITY.get(word, [])


def test_the_limit_along_is_strength_over_stiffness(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG], "radius: 300 mm")
    held = {u.name: u.value for u in found.pack.sheets[0].used}
    # by hand: the outer fibre of a sheet t round a hollow side of R strains t/2 over R + t/2, and breaks at
    # MOR/MOE
    strain = held["mor"] / (1000 * held["moe"])
    assert found.bends[0].limit is not None and found.bends[0].basis == "its strength over its stiffness"
    limit = found.bends[0].limit[0]
    assert 0.75 / limit == pytest.approx(strain, rel=0.02)
    assert found.bends[0].limit[1] == pytest.approx(2 * limit)


def test_a_wood_without_strength_takes_fifty_thicknesses(catalogue: Catalogue) -> None:
    # common practice, no source
    bare = next(
        m for m in catalogue.materials()
        if m.kind == "species" and m.figure("moe") and not m.figure("mor") and m.figure("density")
    )  # fmt: skip
    found = of(catalogue, [ply(bare.id, "crown", 1)], "radius: 300 mm")
    assert found.bends[0].limit == (50, 100) and found.bends[0].basis == "50 thicknesses, a shop rule"


def test_limits_of_the_file_go_before_the_wood(catalogue: Catalogue) -> None:
    own = of(catalogue, [LONG, CROSS], "radius: 300 mm").bends
    along = of(catalogue, [LONG, CROSS], "radius: 300 mm", "limits: {along: 80}\n").bends
    across = of(catalogue, [LONG, CROSS], "radius: 300 mm", "limits: {across: 35}\n").bends
    assert own[1].limit == pytest.approx((30, 60))  # 20 thicknesses across (common practice, no source)
    assert along[0].limit == pytest.approx((120, 240)) and along[1].limit == own[1].limit
    assert along[0].basis == "80 thicknesses, as the file says"
    assert across[0].limit == own[0].limit and across[1].limit == pytest.approx((52.5, 105))


def test_a_limit_across_of_the_file_is_said_to_be_the_files(catalogue: Catalogue) -> None:
    found = of(catalogue, [CROSS], "radius: 300 mm", "limits: {across: 35}\n")
    assert found.bends[0].basis == "35 thicknesses, as the file says"


@COMMON
@given(radius=st.floats(10, 2000), grain=st.integers(-90, 90), mm=st.floats(0.2, 6))
def test_a_tighter_mould_or_a_thicker_sheet_is_never_easier(
    catalogue: Catalogue, radius: float, grain: int, mm: float
) -> None:
    def rank(r: float, t: float) -> int:
        found = of(catalogue, [ply(mm=round(t, 2), grain=grain)], f"radius: {r:.3f} mm").bends[0].found
        return CLASSES.index(found)

    here = rank(radius, mm)
    assert rank(1.5 * radius, mm) <= here <= rank(radius, 1.5 * mm)


# --- radius of each ply


@pytest.mark.parametrize(
    ("mould", "radii"),
    [
        # by hand: three plies of 1.5 mm on 300 mm; the radius of a ply is that of its hollow side
        ("radius: 300 mm, face: convex, show_side: away", [303, 301.5, 300]),
        ("radius: 300 mm, face: convex, show_side: against-mould", [300, 301.5, 303]),
        ("radius: 300 mm, face: concave, show_side: away", [295.5, 297, 298.5]),
        ("radius: 300 mm, face: concave, show_side: against-mould", [298.5, 297, 295.5]),
    ],
)
def test_each_ply_has_its_own_radius(catalogue: Catalogue, mould: str, radii: list[float]) -> None:
    assert [b.radius for b in of(catalogue, [LONG] * 3, mould).bends] == pytest.approx(radii)


def test_a_flat_part_is_not_bent(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG], "flat: true")
    assert found.bends == () and "Will it bend?" not in dict(found.page())


def test_a_bend_across_turns_the_grain_round(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG, CROSS], "radius: 300 mm, bend: 90")
    assert [b.grain for b in found.bends] == ["across the grain", "along the grain"]


def test_the_second_radius_tells_each_direction(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG, CROSS], "radius: 900 mm, second_radius: 40 mm")
    rows = [(b.ply, b.direction, b.grain, b.found) for b in found.bends]
    assert [row[:3] for row in rows] == [
        (1, "bend", "along the grain"), (1, "second bend", "across the grain"),
        (2, "bend", "across the grain"), (2, "second bend", "along the grain"),
    ]  # fmt: skip
    assert {row[3] for row in rows if row[1] == "bend"} == {"easy"}
    assert rows[1][3] == "at the dry limit"  # 40 mm across is between 30 and 60 mm
    assert rows[3][3] in ("damp or heat it", "thinner or split it")
    assert {f.ply for f in told(found, "too-tight")} == {2}
    text = sentences(found)
    assert (
        "Ply 1, silver birch, bent across the grain round the second radius, 40 mm: at the dry limit" in text
    )


# --- findings


def test_a_sheet_that_wants_damp_is_told_how_thin_it_may_be(catalogue: Catalogue) -> None:
    found = of(catalogue, [LONG], "radius: 80 mm", "limits: {along: 60}\n")
    (finding,) = told(found, "too-tight")
    assert finding.severity == "mend" and finding.ply == 1
    assert "80 mm along the grain, limit about 90 mm" in finding.message
    assert "Damp or heat it" in str(finding.mend) and "1.3 mm at most" in str(finding.mend)
    # and 1.3 mm is within it
    thin = of(catalogue, [ply(mm=1.3)], "radius: 80 mm", "limits: {along: 60}\n")
    assert thin.bends[0].found == "at the dry limit" and not told(thin, "too-tight")


@pytest.mark.parametrize(("radius", "sheets"), [(40, 3), (30.1, 3), (29, 4), (10, 9)])
def test_a_sheet_that_breaks_is_split_thin_enough(catalogue: Catalogue, radius: float, sheets: int) -> None:
    found = of(catalogue, [LONG], f"radius: {radius} mm", "limits: {along: 60}\n")
    (finding,) = told(found, "too-tight")
    assert finding.severity == "stop"
    # by hand: the limit of 1.5 mm is 90 mm; so many thinner sheets bring it down to the radius
    assert f"Lay it in {sheets} thinner sheets" in str(finding.mend)
    each = of(
        catalogue, [ply(mm=int(15000 / sheets) / 10000)], f"radius: {radius} mm", "limits: {along: 60}\n"
    )
    assert each.bends[0].found == "at the dry limit"


# --- no numbers


@pytest.mark.parametrize(
    "leaf",
    [
        ply("Juglans regia", "burr", 0.6), ply("Juglans regia", "crotch", 0.6),
        "{material: Juglans regia, cut: crown, thickness: 0.6 mm, grain: 0, figured: true}",
    ],
)  # fmt: skip
@pytest.mark.parametrize("radius", [20, 3000])
def test_figured_leaves_get_no_number(catalogue: Catalogue, leaf: str, radius: int) -> None:
    # common practice, no source: figured leaves are tried, at any radius
    found = of(catalogue, [leaf, CROSS], f"radius: {radius} mm", "limits: {along: 40}\n")
    bend = found.bends[0]
    assert bend.found == "try a strip first" and bend.limit is None and bend.basis == "a figured leaf"
    (finding,) = told(found, "try-first")
    assert finding.ply == 1 and finding.severity == "mind" and "try a strip" in str(finding.mend)
    assert 1 not in {f.ply for f in told(found, "too-tight")}
    assert "try a strip first." in sentences(found) and bend.as_dict()["dry_limit_mm"] is None


def test_an_unidentified_leaf_is_not_known(catalogue: Catalogue) -> None:
    attic = "{unidentified: attic leaf, thickness: 0.6 mm, grain: 0}"
    found = of(catalogue, [attic, CROSS], "radius: 300 mm", "limits: {along: 40}\n")
    bend = found.bends[0]
    assert bend.found == "not known" and bend.limit is None and bend.basis == "it is not identified"
    assert "not known, since it is not identified" in sentences(found)
    assert not told(found, "try-first") and found.bends[1].found == "easy"
