"""The plies of a layup file taken to lots: which lot serves, what is refused, what is told."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from woodref.errors import WoodrefError
from woodref.layup.reader import load_layup
from woodref.provenance import noting, working
from woodref.provenance.fromlayup import Pressing, kept_by_hand, named_plies, pressing
from woodref.provenance.receiving import received
from woodref.provenance.store import Store
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue

FILE = b"""title: serving tray
plies:
  - {material: European beech, cut: crown, thickness: 0.6 mm, grain: 0}
  - {repeat: 3, plies: [{material: silver birch, thickness: 1.5 mm, grain: 90, moisture: 7 %}]}
  - {material: European beech, cut: crown, thickness: 0.6 mm, grain: 22.5}
press: {heated: 70 C, at_set: 7 %}
mould: {radius: 300 mm}
panel: {length: 450 mm, width: 310 mm}
"""
SIZE = "1 sheet of 490 x 350 mm"
AREA = 490 * 350
ON = dt.date(2026, 1, 20)
WHEN = "2026-01-05T09:00:00Z"
PRESSED = "2026-01-20T09:00:00Z"
Do = Callable[..., Pressing]


def take(store: Store, lot: str, amount: str, form: str = "veneer", **more: Any) -> None:
    store.record([received(lot, amount, form, time=more.pop("time", WHEN), **more)[0]])


@pytest.fixture
def shelf(store: Store) -> Store:
    """One beech face, one birch, glue."""
    beech = {"species": "Fagus sylvatica", "cut": "crown", "shelf": "A1", "moisture": "7 %"}
    take(store, "BEECH", "2 sheets of 500 x 360 mm, 0.6 mm", **beech, time="2026-01-18T09:00:00Z")
    birch = {"species": "Betula pendula", "shelf": "B2", "moisture": "7.5 %"}
    take(store, "BIRCH", "6 leaves of 500 x 360 mm, 1.5 mm", **birch, time="2026-01-18T09:00:00Z")
    take(store, "UF", "10 kg", "adhesive")
    return store


@pytest.fixture
def plan(shelf: Store, catalogue: Catalogue) -> Do:
    """Takes FILE, or another, to the lots of the shelf."""

    def planned(body: bytes = FILE, size: str = SIZE, **more: Any) -> Pressing:
        layup = load_layup(body, "tray.yaml")
        return pressing(
            shelf, catalogue, layup, body, "P-1", size, ON, time=more.pop("time", PRESSED), **more
        )

    return planned


def refusal(plan: Do, **more: Any) -> WoodrefError:
    with pytest.raises(WoodrefError) as told:
        plan(**more)
    return told.value


def test_each_ply_finds_its_lot_and_the_panel_keeps_the_pack(shelf: Store, plan: Do) -> None:
    found = plan(glue=["UF=60 g"], more=kept_by_hand("tray mould 2", None))
    assert [p.held.lot.id for p in found.laid] == ["BEECH", "BIRCH", "BIRCH", "BIRCH", "BEECH"]
    assert shelf.balance("BIRCH") == 6 * 500 * 360 and not found.done.notices
    shelf.record([found.done.event])
    # by hand: three plies of 171,500 of 1,080,000 mm2; two of 360,000
    assert shelf.balance("BIRCH") == 1_080_000 - 3 * AREA and shelf.balance("BEECH") == 360_000 - 2 * AREA
    kept = shelf.event(found.done.event.id)
    assert kept is not None
    assert kept.more["layup"] == {"title": "serving tray", "sha256": hashlib.sha256(FILE).hexdigest()}
    assert kept.more["mould"] == {"name": "tray mould 2", "radius_um": 300_000}
    assert (kept.more["glue_lot"], kept.more["set_moisture_permille"]) == (["UF"], 70)
    stack = kept.more["stack"]
    assert [(s["ply"], s["lot"], s["grain_deg"]) for s in stack] == [
        (1, "BEECH", "0"), (2, "BIRCH", "90"), (3, "BIRCH", "90"), (4, "BIRCH", "90"), (5, "BEECH", "22.5")
    ]  # fmt: skip
    assert (stack[0]["material"], stack[1]["material"]) == ("fagus-sylvatica", "betula-pendula")
    assert {r.held.lot.id: r.net for r in whence(shelf, "P-1") if not r.used} == {"BEECH": 2, "BIRCH": 3}
    assert check_book(shelf).sound


def test_what_is_left_is_told_before_anything_is_written(shelf: Store, plan: Do) -> None:
    head, found = shelf.head(), plan()
    assert found.plan()[0] == (
        "To press as P-1: 1 sheet of 490 x 350 mm (171,500 mm2), 5 plies of the layup "
        '"serving tray", face to back.'
    )
    assert "BIRCH keeps 0.566 m2 (565,500 mm2)." in found.plan() and shelf.head() == head
    head_, rows = found.table()
    assert head_[0] == "ply" and rows[0][4:] == ["BEECH", "Fagus sylvatica", "7 %", "A1"]
    assert found.as_dict()["plies"][1]["moisture"]["permille"] == 75


def test_two_lots_that_could_serve_are_named_with_their_shelf(shelf: Store, plan: Do) -> None:
    take(shelf, "BIRCH-2", "6 leaves of 500 x 360 mm, 1.5 mm", species="Betula pendula", shelf="B3")
    fault = refusal(plan)
    assert (fault.code, fault.exit_code) == ("lot-unclear", 3)
    (group,) = fault.candidates
    assert group.name == "Plies 2, 3 and 4, silver birch, 1.5 mm"
    assert "BIRCH (shelf B2; 1.08 m2 free)" in group.says and "BIRCH-2 (shelf B3; 1.08 m2 free)" in group.says
    found = plan(plies=["2-3=BIRCH-2", "4=BIRCH"])
    assert [p.held.lot.id for p in found.laid] == ["BEECH", "BIRCH-2", "BIRCH-2", "BIRCH", "BEECH"]
    # what is kept back is not free
    shelf.record([working.reserve(shelf.book().lot("BIRCH-2", "t"), "4 leaves", time=PRESSED).event])
    assert [p.held.lot.id for p in plan().laid][1:4] == ["BIRCH"] * 3


def test_why_no_lot_serves(shelf: Store, plan: Do) -> None:
    thin = FILE.replace(b"1.5 mm", b"1.4 mm").replace(b"silver birch", b"teak")
    assert "no lot of it is on hand in this thickness" in refusal(plan, body=thin).candidates[0].says
    big = refusal(plan, size="1 sheet of 600 x 350 mm")
    assert all("its leaves are smaller than the panel" in c.says for c in big.candidates)
    other = refusal(plan, body=FILE.replace(b"cut: crown", b"cut: quarter"))
    assert "no lot of it" in other.candidates[0].says
    bare = refusal(plan, body=b"plies:\n  - {unidentified: rose, thickness: 0.6 mm, grain: 0}\n")
    assert "it is not identified" in bare.candidates[0].says
    many = refusal(plan, size="3 sheets of 490 x 350 mm")
    assert (
        "it takes 1.029 m2, and no one lot serves: BEECH (shelf A1; 0.36 m2 free)" in many.candidates[0].says
    )


def test_a_name_that_nobody_knows_tells_its_line(plan: Do) -> None:
    fault = refusal(plan, body=FILE.replace(b"silver birch", b"silver birhc"))
    assert fault.exit_code == 3 and str(fault.where).startswith("tray.yaml:")


def test_one_lot_is_not_given_out_twice(shelf: Store, plan: Do) -> None:
    # faces of two cuts, and one lot of beech whose cut nobody told: it holds one of them and not both
    take(shelf, "PLAIN", "1 sheet of 500 x 360 mm, 0.9 mm", species="Fagus sylvatica")
    two = FILE.replace(b"0.6 mm, grain: 0", b"0.9 mm, grain: 0").replace(
        b"crown, thickness: 0.6 mm, grain: 22", b"quarter, thickness: 0.9 mm, grain: 22"
    )
    assert "0.008 m2 free" in refusal(plan, body=two).candidates[0].says
    assert refusal(plan, plies=["1-4=BEECH"]).code in ("overdrawn", "lot-unclear")
    assert refusal(plan, plies=["1-5=BEECH"]).code == "overdrawn"


def test_sheets_of_the_catalogue_go_by_the_name_they_came_under(shelf: Store, plan: Do) -> None:
    sheet = FILE.replace(b"European beech, cut: crown", b"reconstituted-rosewood-figure")
    more = {"composition": "Populus x canadensis=930", "material": "reconstituted-rosewood-figure"}
    take(shelf, "DYED", "2 sheets of 1000 x 640 mm, 0.6 mm", "engineered-veneer", **more)
    take(
        shelf,
        "RED",
        "2 sheets of 500 x 640 mm, 0.6 mm",
        "engineered-veneer",
        composition="Populus x canadensis=930",
    )
    held = shelf.book().lot("DYED", "test")
    shelf.record(
        [working.cut(held, "2 sheets", ["D-1=4 sheets of 500 x 640 mm"], time="2026-01-06T09:00:00Z").event]
    )
    found = plan(body=sheet)
    assert found.laid[0].held.lot.id == "D-1"
    assert "other-wood" not in [n.code for n in found.done.notices]
    assert "other-wood" in [n.code for n in plan(body=sheet, plies=["1,5=RED"]).done.notices]


def test_a_dyed_sheet_is_not_taken_for_a_leaf_of_its_wood(shelf: Store, plan: Do) -> None:
    more = {"composition": "Betula pendula=930", "material": "dyed-birch"}
    take(shelf, "DYED", "9 sheets of 500 x 640 mm, 1.5 mm", "engineered-veneer", **more)
    take(
        shelf, "HEATED", "9 sheets of 500 x 640 mm, 1.5 mm", species="Betula pendula", material="thermo-birch"
    )
    assert plan().laid[1].held.lot.id == "BIRCH"


def test_a_lot_that_is_not_what_the_file_says_is_told(shelf: Store, plan: Do) -> None:
    odd = {"species": "Betula pendula", "cut": "rotary", "moisture": "8 %", "time": "2026-01-18T09:00:00Z"}
    take(shelf, "ODD", "2 leaves of 480 x 360 mm, 0.5 mm", **odd)
    notices = {n.code: n.message for n in plan(plies=["1,5=ODD"]).done.notices}
    assert notices == {
        "other-thickness": "Plies 1 and 5, ODD: its thickness is 0.5 mm, the layup says 0.6 mm. "
        "Check the pack again.",
        "other-wood": "Plies 1 and 5, ODD: on record as Betula pendula, the layup says European beech. "
        "The panel is told as its lots are.",
        "other-cut": "Plies 1 and 5, ODD: it is rotary cut, the layup says crown.",
        "small-leaves": "Plies 1 and 5, ODD: its leaves are smaller than the panel. Joint them first.",
    }


@pytest.mark.parametrize(
    ("moisture", "on", "codes"),
    [
        # the file says 7 % of birch and nothing of beech, for which 6 to 9 % are usual
        ("8 %", "2026-01-18", []),
        ("8.1 %", "2026-01-18", ["BIRCH moisture-off"]),
        ("6 %", "2026-01-18", []),
        ("5.9 %", "2026-01-18", ["BEECH moisture-off", "BIRCH moisture-off"]),
        ("9 %", "2026-01-18", ["BIRCH moisture-off"]),
        ("9.1 %", "2026-01-18", ["BEECH moisture-off", "BIRCH moisture-off"]),
        ("7 %", "2026-02-02", ["BEECH moisture-old", "BIRCH moisture-old"]),
        ("7 %", "2026-02-01", []),
    ],
)
def test_moisture_at_the_edges_of_the_shop_rules(
    shelf: Store, plan: Do, moisture: str, on: str, codes: list[str]
) -> None:
    # the reading is of 18 January; 14 days later is 1 February
    for lot in ("BEECH", "BIRCH"):
        held = shelf.book().lot(lot, "test")
        shelf.record([noting.moisture(held, moisture, "meter", time="2026-01-18T09:00:01Z").event])
    found = plan(time=f"{on}T09:00:01Z" if on > "2026-01-31" else PRESSED)
    assert [f"{n.message.split(':')[0]} {n.code}" for n in found.done.notices] == codes
    assert all("shop rule" in n.message for n in found.done.notices)


def test_no_reading_at_all_is_told_once_a_lot(store: Store, catalogue: Catalogue) -> None:
    take(store, "BEECH", "2 sheets of 500 x 360 mm, 0.6 mm", species="Fagus sylvatica")
    take(store, "BIRCH", "6 leaves of 500 x 360 mm, 1.5 mm", species="Betula pendula")
    found = pressing(store, catalogue, load_layup(FILE, "t.yaml"), FILE, "P-1", SIZE, ON, time=PRESSED)
    assert [n.code for n in found.done.notices] == ["moisture-missing"] * 2


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        ({"plies": ["BEECH=1"]}, "bad-request", "not understood beside --layup"),
        ({"plies": ["1"]}, "bad-request", "not understood"),
        ({"plies": ["6=BEECH"]}, "bad-request", "there is no ply 6"),
        ({"plies": ["0=BEECH"]}, "bad-request", "there is no ply 0"),
        ({"plies": ["1-3=BEECH", "2=BIRCH"]}, "bad-request", "ply 2 is told twice"),
        ({"plies": ["1=NONE"]}, "unknown-lot", "NONE"),
        ({"size": "3 kg"}, "no-unit", "no area"),
        ({"glue": ["BIRCH=1 cm2"]}, "bad-request", "no glue"),
        ({"glue": ["UF=11 kg"]}, "overdrawn", "UF"),
        ({"body": FILE.replace(b"at_set: 7 %", b"at_set: 7.25 %")}, "not-whole", "tenth of a percent"),
    ],
)
def test_what_cannot_be(plan: Do, more: dict[str, Any], code: str, says: str) -> None:
    fault = refusal(plan, **more)
    assert fault.code == code and says in str(fault)


def test_plies_are_named_singly_and_in_rows() -> None:
    assert named_plies(["1,7=F", "2-6=B"], 7) == {1: "F", 7: "F", 2: "B", 3: "B", 4: "B", 5: "B", 6: "B"}
    with pytest.raises(WoodrefError, match="runs backwards"):
        named_plies(["3-2=B"], 7)


def test_what_the_hand_says_goes_before_the_file(plan: Do) -> None:
    kept = plan(more=kept_by_hand(None, "8 %")).done.event.more
    assert kept["set_moisture_permille"] == 80 and kept["mould"] == {
        "name": "not named",
        "radius_um": 300_000,
    }
    with pytest.raises(WoodrefError, match="empty"):
        kept_by_hand(" ", None)
