"""What a person may ask of a substitution, and what each wrong asking is told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from woodref.catalogue.material import Figures, Material
from woodref.catalogue.names import Matched
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadQuantity, BadRequest, CannotAnswer, WoodrefError
from woodref.selection import partslist
from woodref.selection.answer import Answer
from woodref.selection.request import Piece, Request, face_of, piece_of
from woodref.selection.roles import WEIGHTS, profile
from woodref.selection.substitutes import substitutes
from woodref.selection.wanted import of_description

MakeWood = Callable[..., Material]
Hold = Callable[[Sequence[Material]], None]
ON = dt.date(2026, 6, 1)


def ask(catalogue: Catalogue, target: str, role: str = "face", **more: Any) -> Answer:
    own = {k: more.pop(k) for k in ("like", "face_wood", "why_not") if k in more}
    request = Request(target, role, ON, **({"rows": 500} | more))
    matched = None if "like" in own else Matched(target, target, "id")
    return substitutes(
        request,
        matched,
        catalogue,
        like=own.get("like", ()),
        face=own.get("face_wood"),
        why_not=own.get("why_not"),
    )


@pytest.fixture
def shelf(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch, hold: Hold) -> Callable[..., Catalogue]:
    """The catalogue with these woods alone; the first is the target."""

    def put(*woods: Material) -> Catalogue:
        held = {m.id: m for m in woods}
        monkeypatch.setattr(catalogue, "material", lambda key: held[key])
        hold(list(woods))
        return catalogue

    return put


# --- weights, tolerances, limits ---------------------------------------------------------------------


def test_weights_tolerances_and_limits_are_taken_over() -> None:
    held = profile(
        "face", ("colour=7", "pores=0"), ("density=5%",), ("moe=10",), ("density=600", "moe=14 GPa")
    )
    assert held.weights["colour"] == 7
    assert "pores" not in held.weights
    assert held.weights["figure"] == WEIGHTS["face"]["figure"]
    assert held.tolerance("density") == 5
    assert (held.limits["moe"].low, held.limits["moe"].high) == (10, 14)
    assert (held.limits["density"].low, held.limits["density"].high) == (None, 600)


def test_a_limit_may_be_said_in_another_unit() -> None:
    # 37.46 lb/ft3 is 600 kg/m3 (16.01846 kg/m3 to the lb/ft3)
    held = profile("core", most=("density=37.46 lb/ft3",))
    assert held.limits["density"].high == pytest.approx(600.05, abs=0.01)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"weights": ("colour",)}, "lacks a value"),
        ({"weights": ("shine=3",)}, '"shine" is not something that is compared'),
        ({"weights": ("colour=-1",)}, "below 0"),
        ({"weights": tuple(f"{n}=0" for n in WEIGHTS["face"])}, "nothing counts"),
        ({"keep": ("pores=5%",)}, "Let it count more instead"),
        ({"keep": ("density=0%",)}, "above 0, up to 100"),
        ({"least": ("colour=3",)}, "only figures have limits"),
        ({"least": ("density=700",), "most": ("density=600",)}, "nothing can meet both limits of density"),
        ({"most": ("density=12 GPa",)}, "GPa"),
    ],
)
def test_what_contradicts_itself_is_named(given: dict[str, Any], told: str) -> None:
    with pytest.raises(WoodrefError) as fault:
        profile("face", **given)
    assert told in str(fault.value)
    assert isinstance(fault.value, BadRequest | BadQuantity)


def test_a_profile_file_holds_them_and_options_go_before_it(tmp_path: Path) -> None:
    file = tmp_path / "stool.yaml"
    file.write_text("counts: {colour: 1, density: 4}\nkeep: {moe: 8 %}\nmax: {density: 650 kg/m3}\n", "utf-8")
    held = profile("face", ("colour=9",), file=file)
    assert (held.weights["colour"], held.weights["density"]) == (9, 4)
    assert held.keep == {"moe": 8}
    assert held.limits["density"].high == 650


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("- 3\n", "is not a mapping"),
        ("wieght: {colour: 3}\n", "holds wieght"),
        ("counts: 3\n", "counts of the profile"),
        ("counts: {colour: [\n", "line 2"),
        ("counts: &a {colour: 3}\nkeep: *a\n", "line"),
    ],
)
def test_a_wrong_profile_file_says_where(text: str, told: str, tmp_path: Path) -> None:
    file = tmp_path / "p.yaml"
    file.write_text(text, "utf-8")
    with pytest.raises(BadRequest) as fault:
        profile("face", file=file)
    assert told in str(fault.value)
    with pytest.raises(BadRequest, match="cannot be read"):
        profile("face", file=tmp_path / "none.yaml")


def test_limits_bar_and_an_unknown_figure_cannot_be_judged(
    wood: MakeWood, shelf: Callable[..., Catalogue]
) -> None:
    target = wood("Target", density=600.0, moe=10.0)
    held = shelf(target, wood("Light", density=500.0), wood("Heavy", density=700.0), wood("Bare"))
    answer = ask(held, "target", "solid", profile=profile("solid", most=("density=600",)))
    assert [r.material.id for r in answer.ranked + answer.low_coverage] == ["light"]
    assert [(r.material.id, r.because) for r in answer.left_out] == [
        ("heavy", ("Its weight, 700 kg/m3, is above the 600 kg/m3 you set.",))
    ]
    assert answer.cannot_say[0].because == ("Its weight is not known, and you set a limit on it.",)


# --- the piece ---------------------------------------------------------------------------------------


def test_a_piece_is_read_along_the_grain_first() -> None:
    assert piece_of("490x460", 2) == Piece(490, 460, 2)
    assert piece_of("490 mm x 18 in", 0) == Piece(490, pytest.approx(457.2), 0)
    for text, told in (("490", "LENGTHxWIDTH"), ("490x", "LENGTHxWIDTH"), ("0x5", "side of 0")):
        with pytest.raises(WoodrefError, match=told):
            piece_of(text, 0)
    with pytest.raises(BadRequest, match="needs --piece"):
        piece_of(None, 1)


@pytest.mark.parametrize(
    ("width", "joints", "group", "said"),
    [
        ({"low": 240, "high": 300}, 1, "ranked", "2 leaves with 1 joint from the widest"),
        ({"low": 500, "high": 700}, 0, "ranked", "no joint from the widest"),
        ({"low": 150, "high": 300}, 0, "left_out", "460 mm takes 2 leaves and 1 joint, and you allow 0."),
        ({"low": 100, "high": 240}, 1, "ranked", "ask for wide ones, at least 230 mm, for 2 side by side"),
        ({}, 1, "cannot_say", "How wide its leaves come is not known"),
    ],
)
def test_leaves_must_cover_the_piece(
    width: dict[str, float],
    joints: int,
    group: str,
    said: str,
    wood: MakeWood,
    shelf: Callable[..., Catalogue],
) -> None:
    target = wood("Target", density=600.0)
    held = shelf(target, wood("Other", density=600.0, veneer={"leaf_width_mm": width}))
    answer = ask(held, "target", piece=Piece(490, 460, joints))
    row = getattr(answer, group)[0]
    assert row.material.id == "other"
    assert said in " ".join((*row.reasons, *row.because))


def test_a_piece_is_for_sheets(catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="--piece is for sheets, not for the role bow"):
        ask(catalogue, "juglans-nigra", "bow", piece=Piece(490, 460))


# --- a back for a face -------------------------------------------------------------------------------


def test_a_back_balances_at_the_thickness_worked_by_hand(
    wood: MakeWood, shelf: Callable[..., Catalogue]
) -> None:
    # face: 10 GPa, 0.25 % per % over 6 points = 1.5 mm, 0.6 mm thick: 10 * 1.5 * 0.6 = 9
    # back: 12 GPa, 0.20 * 6 = 1.2 mm: 14.4 per mm, so 9 / 14.4 = 0.625 mm balances; of the sold 0.6 and
    # 1.5 mm the 0.6 comes nearest: 14.4 * 0.6 = 8.64, 4 % less
    face = wood("Face", moe=10.0, movement_tangential=0.25, density=600.0)
    near = wood(
        "Near", moe=12.0, movement_tangential=0.20, density=600.0, veneer={"thickness_mm": [1.5, 0.6]}
    )
    # 12 GPa and 2.4 mm: 28.8 per mm, 0.3125 mm balances, at 0.6 mm 92 % harder
    wild = wood("Wild", moe=12.0, movement_tangential=0.40, density=600.0)
    held = shelf(face, near, wild)
    answer = ask(held, "face", "back", face=face_of("face@0.6mm", None, "back"), face_wood=face)
    rows = {r.material.id: r for r in answer.ranked}
    assert list(rows) == ["near", "wild"]
    pull = rows["near"].found.criterion("pull")
    assert pull is not None
    assert (pull.target, pull.difference) == (pytest.approx(9.0), pytest.approx(-4.0))
    assert (
        "At 0.6 mm it pulls about as hard across as a face of Face at 0.6 mm, crown cut."
        in rows["near"].reasons
    )
    assert pull.within is not None
    unsure = face.figures["moe"].preferred
    assert unsure is not None
    rough = replace(face, figures=face.figures | {"moe": Figures(replace(unsure, added_error=30.0))})
    again = ask(shelf(rough, near), "face", "back", face=face_of("face@0.6mm", None, "back"), face_wood=rough)
    less_sure = again.ranked[0].found.criterion("pull")
    assert less_sure is not None and less_sure.within is not None
    assert less_sure.within < pull.within  # an error of 30 % in the face's own stiffness
    assert any(
        "pulls 92 % harder across" in t and "0.31 mm would balance it" in t for t in rows["wild"].reasons
    )


def test_a_face_that_cannot_be_balanced_is_said(wood: MakeWood, shelf: Callable[..., Catalogue]) -> None:
    face = wood("Face", density=600.0, moe=10.0)
    held = shelf(face, wood("Other", moe=10.0, movement_tangential=0.2))
    with pytest.raises(CannotAnswer, match="the movement of the face Face is not known"):
        ask(held, "face", "back", face=face_of("face@0.6mm", None, "back"), face_wood=face)
    for text, cut, role, told in (
        ("walnut", None, "back", "lacks a name or a thickness"),
        ("walnut@60mm", None, "back", "a leaf of 0.1 to 10 mm"),
        ("walnut@0.6mm", None, "face", "is for --role back"),
        (None, "crown", "back", "--cut goes with --for-face"),
    ):
        with pytest.raises(BadRequest, match=told):
            face_of(text, cut, role)


def test_every_row_holds_together(catalogue: Catalogue) -> None:
    # difference, value and target of each number of each row are of one kind, the face's thickness included
    walnut = catalogue.material("juglans-nigra")
    plain = ask(catalogue, "juglans-nigra")
    back = ask(
        catalogue, "juglans-nigra", "back", face=face_of("walnut@0.6mm", None, "back"), face_wood=walnut
    )
    compared = 0
    for row in (*plain.ranked, *back.ranked):
        for c in row.found.criteria:
            if c.tolerance is not None and c.use is not None and c.difference is not None:
                assert c.difference == pytest.approx(100 * (c.value - c.target) / c.target)
                compared += 1
    assert compared > 500


def test_a_plank_is_asked_for_as_sawn_wood(catalogue: Catalogue) -> None:
    # Viet Nam lets no sawn wood of natural forest out (data/trade/bans.yaml); a leaf is another matter
    face, plank = (ask(catalogue, "tectona-grandis", role, origin="VN") for role in ("face", "solid"))
    sheets, planks = ({r.material.id for r in a.ranked + a.low_coverage} for a in (face, plank))
    assert "intsia-bijuga" in sheets or "toona-ciliata" in sheets
    assert not planks & {"intsia-bijuga", "toona-ciliata"}


def test_what_estimates_work_out_is_no_second_witness(catalogue: Catalogue) -> None:
    answer = ask(catalogue, "paubrasilia-echinata", "bow", estimates=True)
    assert any(n.code == "estimates" for n in answer.notices)
    assert any("take the order for little" in text for text in answer.opening)
    low, high = answer.ranked[0].found.interval
    assert low < answer.ranked[0].found.likeness <= high


def test_a_target_known_by_estimates_alone_says_so(wood: MakeWood, shelf: Callable[..., Catalogue]) -> None:
    held = shelf(wood("Target", shrinkage_volumetric=12.0), wood("Other", shrinkage_volumetric=12.0))
    told = ask(held, "target", "frame", estimates=True).opening
    assert told[1] == (
        "Of Target itself nothing that the role turns on is known but what is worked out: "
        "take the order for little."
    )


def test_a_role_that_turns_on_what_is_not_known_ranks_nothing_on_it(
    wood: MakeWood, shelf: Callable[..., Catalogue]
) -> None:
    target = wood("Target", density=700.0, moe=12.0, side_hardness=5000.0)
    blind = wood("Blind", density=700.0, side_hardness=5000.0)
    answer = ask(shelf(target, blind), "target", "drum-shell")
    assert not answer.ranked
    assert answer.low_coverage[0].because == ("Not known: stiffness. The role turns on stiffness.",)


def test_an_option_goes_before_the_profile_file(tmp_path: Path) -> None:
    file = tmp_path / "p.yaml"
    file.write_text("min: {density: 700}\n", "utf-8")
    assert profile("face", least=("density=600",), file=file).limits["density"].low == 600
    with pytest.raises(BadRequest, match="nothing can meet both limits"):
        profile("face", most=("density=600",), file=file)


@pytest.mark.parametrize("like", ["movement=0", "movement=-3", "movement=40"])
def test_no_wood_moves_so(like: str, catalogue: Catalogue) -> None:
    with pytest.raises(BadRequest, match="no wood moves so"):
        of_description((like,), catalogue)


def test_a_monstrous_parts_list_is_a_sentence() -> None:
    with pytest.raises(BadRequest, match="is no CSV"):
        partslist.read(Path("parts.csv"), "wood\n" + "x" * 200_000 + "\n")


# --- described, stained, why not ---------------------------------------------------------------------


def test_a_description_is_a_target(catalogue: Catalogue) -> None:
    answer = ask(catalogue, "", like=("colour=#3a2417", "density=850", "moe=14", "pores=diffuse"))
    assert answer.target is None
    assert answer.opening[0].startswith("What you describe: colour ")
    asked = {c.property for c in answer.ranked[0].found.criteria}
    assert asked == {"colour", "density", "moe", "pores", "had"}
    assert answer.as_dict()["target"]["id"] is None


@pytest.mark.parametrize(
    ("like", "told"),
    [
        ("density", "lacks a value"),
        ("density=85000", "no wood has that"),
        ("shine=3", '"shine" is not known'),
        ("colour=#12345", "is not a colour"),
        ("colour=plaid", "is not known"),
        ("pores=many", "is not known"),
        ("figure=plain,plaid", "is not known"),
        ("density=850 GPa", "GPa"),
    ],
)
def test_a_wrong_description_is_refused_with_what_is_known(
    like: str, told: str, catalogue: Catalogue
) -> None:
    with pytest.raises(WoodrefError) as fault:
        of_description((like,), catalogue)
    assert told in str(fault.value)
    with pytest.raises(CannotAnswer, match="nothing that the role bow asks for is described"):
        ask(catalogue, "", "bow", like=("pores=diffuse",))


def test_a_target_without_the_figures_a_tolerance_needs(
    wood: MakeWood, shelf: Callable[..., Catalogue]
) -> None:
    held = shelf(wood("Target", density=600.0), wood("Other", density=600.0))
    with pytest.raises(CannotAnswer) as fault:
        ask(held, "target", "solid", profile=profile("solid", keep=("moe=5%",)))
    assert "the stiffness of Target is not known" in str(fault.value)
    assert "--like moe=VALUE" in str(fault.value)


def test_a_target_of_which_little_is_known_says_so(wood: MakeWood, shelf: Callable[..., Catalogue]) -> None:
    # a bow asks stiffness 3, weight 3, hardness 1, texture 0.5: the weight alone is 3 of 7.5
    held = shelf(wood("Target", density=1000.0), wood("Other", density=1000.0))
    told = ask(held, "target", "bow").opening
    assert told[1] == (
        "Of Target itself only weight is known of what the role turns on: take the order for little."
    )
    full = {"density": 1000.0, "moe": 20.0}
    assert len(ask(shelf(wood("Target", **full), wood("Other", **full)), "target", "bow").opening) == 1


def test_why_not_says_where_a_wood_stands(catalogue: Catalogue) -> None:
    told = ask(catalogue, "dalbergia-nigra", why_not="dalbergia-latifolia").why_not
    assert "is not ranked: lawful only with papers" in told[0]
    assert any("CITES Appendix II" in text for text in told)
    far = ask(catalogue, "dalbergia-nigra", why_not="betula-pendula", rows=3)
    assert len(far.ranked) == 3
    assert "silver birch is ranked" in far.why_not[0] or "birch is ranked" in far.why_not[0]
    assert any(text.startswith("What costs it most: colour different") for text in far.why_not)
    same = ask(catalogue, "dalbergia-nigra", why_not="dalbergia-nigra").why_not
    assert same == [
        "Brazilian rosewood is the wood you want to replace. --natural asks for the same wood planted."
    ]


def test_what_would_change_in_use(wood: MakeWood, shelf: Callable[..., Catalogue]) -> None:
    target = wood("Target", density=400.0, moe=10.0)
    # equal E t^3: (10 / 8)^(1/3) = 1.0772: 8 % thicker; weight 1.0772 * 500 / 400 = 1.3465: 35 % heavier
    # the same pitch, t sqrt(E/rho): sqrt(10 * 500 / (8 * 400)) = 1.25: 25 % thicker, 1.5625: 56 % heavier
    held = shelf(target, wood("Other", density=500.0, moe=8.0))
    panel = ask(held, "target", "core")
    plate = ask(held, "target", "sounding-plate")
    (row,), (other,) = panel.ranked + panel.low_coverage, plate.ranked + plate.low_coverage
    assert row.use == ("To be as stiff in bending it must be 8 % thicker; it is then 35 % heavier.",)
    assert other.use == ("To sound at the same pitch it must be 25 % thicker; it is then 56 % heavier.",)


# --- a parts list ------------------------------------------------------------------------------------


def test_a_parts_list_answers_each_line_and_a_fault_stops_no_other(catalogue: Catalogue) -> None:
    parts = partslist.read(Path("-"), "part,wood,role\nseat,dalbergia-nigra,\n,,\nlamp,nonesuch,face\n")
    assert [(p.line, p.part, p.role) for p in parts] == [(2, "seat", "face"), (4, "lamp", "face")]

    def one(part: partslist.Part) -> Answer:
        if part.wood == "nonesuch":
            raise BadRequest("no such wood")
        return ask(catalogue, part.wood, part.role)

    told = [c.as_dict() for c in partslist.choose(parts, one)]
    assert told[0]["id"] and len(told[0]["then"]) == 2
    assert (told[1]["id"], told[1]["said"]) == (None, "no such wood")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "part,wood,role"),
        ("timber,where\noak,face\n", "part,wood,role"),
        ("part,wood,role\n", "names no part"),
        ("wood,role\n,face\n", "the wood is missing"),
        ("wood,role\noak,lid\n", "is not a role"),
        ("wood\n" + "oak\n" * 501, "at most 500"),
    ],
)
def test_a_wrong_parts_list_names_the_line(text: str, told: str) -> None:
    with pytest.raises(BadRequest) as fault:
        partslist.read(Path("parts.csv"), text)
    assert told in str(fault.value)
