"""What veneer and glue of a layup cost. Every sum is worked by hand beside it."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, CannotAnswer, WoodrefError
from woodref.layup.reader import load_layup
from woodref.provenance.correcting import correct
from woodref.provenance.costing import costs
from woodref.provenance.costs import Costs
from woodref.provenance.faults import NoUnit, UnknownLot
from woodref.provenance.joining import joint
from woodref.provenance.ownyields import own_yields
from woodref.provenance.prices import Purse, money
from woodref.provenance.receiving import received
from woodref.provenance.splitting import split
from woodref.provenance.store import Store
from woodref.provenance.working import Done, cut

ON = dt.date(2026, 6, 1)
WHEN = "2026-01-05T09:00:00+01:00"
LATER = "2026-02-05T09:00:00+01:00"
#: a flat tray of 500 x 400 mm: net 0.2 m2 a ply; with 20 mm on every edge the blank is 540 x 440 mm
TRAY = """
title: tray
plies:
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 0}
  - {material: Betula pendula, thickness: 1.5 mm, grain: 90}
  - {material: Juglans nigra, cut: crown, thickness: 0.6 mm, grain: 0}
glue: {adhesive: urea-formaldehyde, spread: 100 g/m2}
panel: {length: 500 mm, width: 400 mm, count: 10, trim: 20 mm}
face: {match: book}
"""


def take_in(store: Store, lot: str, amount: str, species: str | None = "Juglans nigra", **told: Any) -> None:
    form = told.pop("form", "veneer")
    store.record([received(lot, amount, form, time=WHEN, species=species, **told)[0]])


def do(store: Store, done: Done) -> None:
    store.record([done.event])


@pytest.fixture
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty book on either database, which takes every botanical name."""
    postgres = request.param == "postgres"
    url = request.getfixturevalue("postgres_url") if postgres else f"sqlite:///{tmp_path / 'book.sqlite'}"
    with Store(url) as opened:
        yield opened


@pytest.fixture
def shelf(store: Store) -> Store:
    """Walnut at 400 EUR for 8 m2 (50 EUR a m2), birch at 90 EUR for 15 m2 (6 EUR a m2), glue at 38 EUR for
    10 kg (3.80 EUR a kg)."""
    take_in(store, "W-7", "20 leaves of 2000 x 200 mm, 0.6 mm", price=("400", "EUR"), cut="crown")
    take_in(store, "BIRCH", "30 leaves of 1000 x 500 mm, 1.5 mm", "Betula pendula", price=("90", "EUR"))
    take_in(store, "UF-2", "10 kg", None, form="adhesive", price=("38.00", "EUR"))
    return store


def found(store: Store, catalogue: Catalogue, text: str = TRAY, **more: Any) -> Costs:
    return costs(store, catalogue, load_layup(text.encode(), "tray.yaml"), ON, **more)


def told(result: Costs) -> str:
    return " ".join(result.sentences())


def test_the_tray_by_hand(shelf: Store, catalogue: Catalogue) -> None:
    result = found(shelf, catalogue, glue=["UF-2"])
    # ten trays hold 10 x 0.5 x 0.4 = 2 m2 of each ply
    assert [(r.plies, r.kind, r.net) for r in result.veneer] == [
        ((1,), "matched", 2_000_000), ((2,), "plain", 2_000_000), ((3,), "plain", 2_000_000),
    ]  # fmt: skip
    # matched face 40 % on top, plain leaves 20 %
    assert [r.bought for r in result.veneer] == [2_800_000, 2_400_000, 2_400_000]
    assert [r.yield_ for r in result.veneer] == [Fraction(5, 7), Fraction(5, 6), Fraction(5, 6)]
    assert {r.basis for r in result.veneer} == {"usual-waste"}
    # 2.8 x 50 = 140, 2.4 x 6 = 14.40, 2.4 x 50 = 120
    assert [r.cost for r in result.veneer] == [140, Fraction("14.4"), 120]
    # 100 g/m2 x 0.54 x 0.44 m2 x 2 lines x 10 parts = 475.2 g, at 3.80 EUR a kg 1.80576 EUR
    assert [(g.lines, g.area, g.mass) for g in result.glue] == [((1, 2), 237_600, 475_200)]
    assert result.glue[0].cost == Fraction("1.80576")
    _, rows = result.table()
    assert [row[-2:] for row in rows] == [
        ["14.00 EUR", "140.00 EUR"], ["1.44 EUR", "14.40 EUR"], ["12.00 EUR", "120.00 EUR"],
        ["0.18 EUR", "1.81 EUR"],
    ]  # fmt: skip
    assert [row[4] for row in rows] == ["71 %", "83 %", "83 %", "-"]
    said = told(result)
    assert "Veneer: 27.44 EUR a part, 274.40 EUR for the job." in said
    assert "Glue: 0.18 EUR a part, 1.81 EUR for the job." in said
    # 274.40 + 1.80576 = 276.20576
    assert "Both: 27.62 EUR a part, 276.21 EUR for the job." in said
    assert "Ply 1, black walnut, out of W-7 (400.00 EUR for 8 m2, 50.00 EUR a square metre)" in said
    assert "40 % on top of the net area, usual for a matched face (common practice, no source; no cut" in said
    assert "100 g/m2 (as the layup says) x 0.238 m2 x 2 lines x 10 parts is 0.475 kg" in said
    assert "incomplete" not in said and "converted" not in said


def test_number_of_parts_is_told_or_the_layups(shelf: Store, catalogue: Catalogue) -> None:
    one, ten = found(shelf, catalogue, parts=1), found(shelf, catalogue)
    assert [10 * (r.cost or 0) for r in one.veneer] == [r.cost for r in ten.veneer]
    assert one.headline() == "tray, 1 part: what its veneer and its glue cost."
    assert "Veneer: 27.44 EUR a part." in told(one)


def test_plies_alike_stand_together_and_a_named_lot_goes_before_the_one_that_serves(
    shelf: Store, catalogue: Catalogue
) -> None:
    take_in(shelf, "OLD", "20 leaves of 2000 x 200 mm, 0.6 mm", price=("80", "EUR"), cut="crown")
    several = found(shelf, catalogue)
    assert [r.held.lot.id if r.held else None for r in several.veneer] == [None, "BIRCH", None]
    said = told(several)
    assert "The sum is incomplete: ply 1 may be out of OLD and W-7 (--ply 1=LOT); ply 3 may be out of" in said
    plain = TRAY.replace("face: {match: book}\n", "")
    result = found(shelf, catalogue, plain, plies=["1,3=OLD"])
    assert [(r.plies, r.kind) for r in result.veneer] == [((1, 3), "plain"), ((2,), "plain")]
    # 80 EUR for 8 m2 is 10 EUR a m2: 2 plies x 2.4 m2 x 10
    assert result.veneer[0].cost == 48
    with pytest.raises(UnknownLot):
        found(shelf, catalogue, plies=["1=NOWHERE"])
    with pytest.raises(NoUnit, match="UF-2 is counted in mg"):
        found(shelf, catalogue, plies=["1=UF-2"])
    with pytest.raises(BadRequest, match="there is no ply 4"):
        found(shelf, catalogue, plies=["4=OLD"])


def test_a_lot_that_is_another_wood_or_thickness_is_told(shelf: Store, catalogue: Catalogue) -> None:
    result = found(shelf, catalogue, plies=["3=BIRCH"])
    codes = {n.code for n in result.notices}
    assert {"other-wood", "other-thickness"} <= codes


def test_burr_and_the_waste_that_the_layup_writes(shelf: Store, catalogue: Catalogue) -> None:
    burr = TRAY.replace("cut: crown", "cut: burr", 1)
    result = found(shelf, catalogue, burr, plies=["1=W-7"])
    assert result.veneer[0].kind == "burr" and result.veneer[0].bought == 3_600_000  # 2 m2 and 80 %
    own = f"{TRAY}waste: {{plain: 12.5 %, matched: 0 %}}\n"
    result = found(shelf, catalogue, own)
    assert [r.bought for r in result.veneer] == [2_000_000, 2_250_000, 2_250_000]
    assert {r.basis for r in result.veneer} == {"file-waste"}
    assert "12.5 % on top of the net area, as the layup says" in told(result)
    assert "0 % on top of the net area, as the layup says" in told(result)


def test_whole_leaves_where_the_layup_tells_their_size(shelf: Store, catalogue: Catalogue) -> None:
    # blank 540 x 440: 1200 / 540 = 2 lengths; 440 / 250 = 2 leaves across; ten faces of 2 lengths: 5 x 2 = 10
    leaves = f"{TRAY}leaves: [{{ply: 1, width: 250 mm, length: 1200 mm}}]\n"
    result = found(shelf, catalogue, leaves)
    first = result.veneer[0]
    assert (first.basis, first.bought) == ("whole-leaves", 10 * 250 * 1200)
    assert first.cost == 150  # 3 m2 at 50 EUR
    assert "10 whole leaves of 1200 x 250 mm a ply, as the layup counts them" in told(result)
    assert (
        "Ply 1, black walnut: the layup counts leaves of 1200 x 250 mm, and those of W-7 are 2000 x 200 mm."
    ) in [n.message for n in result.notices]
    as_it_is = leaves.replace("width: 250 mm, length: 1200 mm", "width: 200 mm, length: 2000 mm")
    assert "other-leaves" not in {n.code for n in found(shelf, catalogue, as_it_is).notices}
    written = found(shelf, catalogue, f"{leaves}waste: {{matched: 10 %}}\n")
    assert written.veneer[0].bought == 2_200_000  # a waste that is written goes before


def _cuts(store: Store, lot: str, number: int, first: int = 0) -> None:
    """So many cuts of 0.4 m2, 0.3 m2 kept of each."""
    for n in range(first, first + number):
        held = store.book().lot(lot, "test")
        do(store, cut(held, "1 leaf of 2000 x 200 mm", [f"{lot}-C{n}=3 leaves of 500 x 200 mm"], time=LATER,
                      no_offcut=True))  # fmt: skip


def test_the_shops_own_yield_from_ten_cuts_on(shelf: Store, catalogue: Catalogue) -> None:
    plies = ["1,3=W-7"]
    _cuts(shelf, "W-7", 9)
    result = found(shelf, catalogue, plies=plies)
    assert result.veneer[2].bought == 2_400_000
    assert "9 cuts of this kind are in the book, and your own yield is taken from 10 on" in told(result)
    _cuts(shelf, "W-7", 1, 9)
    result = found(shelf, catalogue, plies=plies)
    # 0.3 of 0.4 m2 is 75 %, on blanks of 0.54 x 0.44 m2: 2.376 m2 for ten parts, 3.168 m2 bought
    assert [r.basis for r in result.veneer] == ["usual-waste", "own-yield", "own-yield"]
    assert [r.bought for r in result.veneer] == [2_800_000, 3_168_000, 3_168_000]
    assert (
        "your own yield of 75 % of plain leaves, from 10 cuts in the book, on the blanks with their trim "
        "(2.376 m2)"
    ) in told(result)
    # what the layup writes goes before the shop's cuts
    assert (
        found(shelf, catalogue, f"{TRAY}waste: {{plain: 1 %}}\n", plies=plies).veneer[2].bought == 2_020_000
    )


def test_cuts_whose_pieces_were_jointed_are_of_a_matched_face(shelf: Store, catalogue: Catalogue) -> None:
    _cuts(shelf, "W-7", 10)
    for n in range(10):
        # 3 pieces are 0.3 m2; the face takes 0.24 of them
        done = joint(lambda lot: shelf.book().lot(lot, "test"), f"FACE-{n}", "1 sheet of 500 x 480 mm",
                     [f"W-7-C{n}=3 leaves of 500 x 200 mm"], time="2026-02-06T09:00:00+01:00")  # fmt: skip
        do(shelf, done)
    own = own_yields(shelf)
    # 0.3 / 0.4 x 0.24 / 0.3
    assert (own["matched"].cuts, own["matched"].share, own["matched"].joints) == (10, Fraction(3, 5), 10)
    assert own["plain"].cuts == 0 and own["plain"].share is None and not own["plain"].enough
    result = found(shelf, catalogue, plies=["1,3=W-7"])
    assert result.veneer[0].bought == 3_960_000  # 2.376 / 0.6
    assert "60 % of a matched face, from 10 cuts and 10 jointings in the book" in told(result)


def test_only_leaves_count_and_what_did_not_occur_does_not(shelf: Store) -> None:
    take_in(shelf, "BURR", "4 leaves of 1000 x 500 mm, 0.6 mm", cut="burr")
    do(shelf, cut(shelf.book().lot("BURR", "t"), "1 leaf", ["B-1=1 leaf of 500 x 500 mm"], time=LATER,
                  no_offcut=True))  # fmt: skip
    _cuts(shelf, "W-7", 2)
    own = own_yields(shelf)
    assert (own["burr"].cuts, own["burr"].share) == (1, Fraction(1, 2))
    assert (own["plain"].cuts, own["plain"].share) == (2, Fraction(3, 4))
    event = shelf.book().lot("W-7-C0", "t").by
    done = correct(shelf.book(), event, True, (), (), (), "written down twice", None)
    do(shelf, done)
    assert own_yields(shelf)["plain"].cuts == 1
    # 0.3 m2 came out of 0.4 m2: in truth 0.36
    event = shelf.book().lot("W-7-C1", "t").by
    told_ = correct(shelf.book(), event, False, (), ("W-7-C1=3 leaves of 600 x 200 mm",),
                    ("W-7=400 cm2",), "measured again", None)  # fmt: skip
    do(shelf, told_)
    assert own_yields(shelf)["plain"].share == Fraction(9, 10)


def test_currencies_stand_side_by_side_and_are_never_converted(store: Store, catalogue: Catalogue) -> None:
    take_in(store, "W-7", "20 leaves of 2000 x 200 mm, 0.6 mm", price=("400", "EUR"), cut="crown")
    take_in(store, "BIRCH", "30 leaves of 1000 x 500 mm, 1.5 mm", "Betula pendula", price=("90", "GBP"))
    take_in(store, "UF-2", "10 kg", None, form="adhesive", price=("38.00", "EUR"))
    said = told(found(store, catalogue, glue=["UF-2"]))
    # 140 + 120 EUR of walnut, 14.40 GBP of birch, 1.80576 EUR of glue
    assert "Veneer: 26.00 EUR and 1.44 GBP a part, 260.00 EUR and 14.40 GBP for the job." in said
    assert "Both: 26.18 EUR and 1.44 GBP a part, 261.81 EUR and 14.40 GBP for the job." in said
    assert "Currencies are told side by side: nothing is converted." in said


def test_a_lot_without_a_price_makes_the_sum_incomplete(shelf: Store, catalogue: Catalogue) -> None:
    take_in(shelf, "GIFT", "20 leaves of 2000 x 200 mm, 0.6 mm", cut="crown")
    result = found(shelf, catalogue, plies=["1=W-7", "3=GIFT"])
    said = result.sentences()
    assert (
        "The sum is incomplete: lot GIFT has no price on record; no lot of urea-formaldehyde glue is named "
        "for lines 1 and 2 (--glue LOT)."
    ) in said
    assert "Veneer: 15.44 EUR a part, 154.40 EUR for the job." in said  # 140 + 14.40
    assert [row[-1] for row in result.table()[1]] == ["140.00 EUR", "14.40 EUR", "not known", "not known"]
    assert not result.as_dict()["complete"]
    # a lot that was given for nothing has a price
    take_in(shelf, "FREE", "20 leaves of 2000 x 200 mm, 0.6 mm", cut="crown", price=("0", "EUR"))
    free = found(shelf, catalogue, plies=["1=W-7", "3=FREE"], glue=["UF-2"])
    assert not free.wanting() and free.veneer[2].cost == 0


def test_what_was_made_of_other_lots_is_sent_back_to_these(shelf: Store, catalogue: Catalogue) -> None:
    do(shelf, split(shelf.book().lot("W-7", "t"), "5 leaves", ["W-7-A=3 leaves", "W-7-B=2 leaves"], LATER))
    said = told(found(shelf, catalogue, plies=["1,3=W-7-A"]))
    assert "lot W-7-A has no price on record, being made of others: name the one that was bought" in said


def test_the_price_is_for_what_came_and_not_for_what_is_left(shelf: Store, catalogue: Catalogue) -> None:
    _cuts(shelf, "W-7", 3)
    result = found(shelf, catalogue, plies=["1,3=W-7"], parts=30)
    assert result.veneer[0].paid is not None and result.veneer[0].paid.qty == 8_000_000
    assert result.veneer[0].cost == 420  # 6 m2 and 40 % at 50 EUR
    # 6.8 m2 are left, and 8.4 + 7.2 m2 are reckoned
    notice = next(n for n in result.notices if n.code == "too-little")
    assert notice.message.startswith("W-7: 15.6 m2 is reckoned of it, and 6.8 m2 is free.")


def test_glue_by_the_data_by_line_and_by_the_litre(shelf: Store, catalogue: Catalogue) -> None:
    usual = TRAY.replace(", spread: 100 g/m2", "")
    result = found(shelf, catalogue, usual, glue=["UF-2"])
    band = catalogue.adhesives["urea-formaldehyde"]["spread_g_m2"]
    assert (band["low"], band["high"]) == (100, 160)
    # 130 g/m2 x 0.2376 m2 x 2 x 10 = 617.76 g
    assert result.glue[0].mass == 617_760
    assert (
        "130 g/m2 (the middle of 100 to 160 for urea-formaldehyde, shop rule, no source) x 0.238 m2 x 2 lines"
    ) in told(result)
    lines = TRAY.replace("glue: {adhesive: urea-formaldehyde, spread: 100 g/m2}",
                         "glue: {lines: [{adhesive: epoxy, spread: 200 g/m2}, {adhesive: urea-formaldehyde, "
                         "spread: 100 g/m2}]}")  # fmt: skip
    take_in(shelf, "EPOXY", "5 l", None, form="adhesive", price=("110", "EUR"), density_kg_m3=1100)
    result = found(shelf, catalogue, lines, glue=["1=EPOXY", "2=UF-2"])
    # 200 x 0.2376 x 10 = 475.2 g; 475.2 g / 1.1 kg/l = 0.432 l; 22 EUR a litre: 9.504 EUR
    assert [(g.lines, g.mass, g.qty) for g in result.glue] == [
        ((1,), 475_200, 432_000_000), ((2,), 237_600, 237_600),
    ]  # fmt: skip
    assert result.glue[0].cost == Fraction("9.504")
    take_in(shelf, "EPOXY-2", "5 l", None, form="adhesive", price=("110", "EUR"))
    assert "lot EPOXY-2 is counted in litres and its density is not told" in told(
        found(shelf, catalogue, lines, glue=["1=EPOXY-2", "2=UF-2"])
    )
    with pytest.raises(BadRequest, match="W-7 is veneer, no glue"):
        found(shelf, catalogue, glue=["W-7"])
    with pytest.raises(BadRequest, match="there is no line 3"):
        found(shelf, catalogue, glue=["3=UF-2"])
    with pytest.raises(BadRequest, match="are each named for all lines"):
        found(shelf, catalogue, glue=["UF-2", "EPOXY"])
    none = TRAY.replace("glue: {adhesive: urea-formaldehyde, spread: 100 g/m2}\n", "")
    assert "The sum is incomplete: the layup names no glue." in told(found(shelf, catalogue, none))


def test_without_a_size_nothing_can_be_told(shelf: Store, catalogue: Catalogue) -> None:
    bare = TRAY.replace("panel: {length: 500 mm, width: 400 mm, count: 10, trim: 20 mm}\n", "")
    with pytest.raises(CannotAnswer, match="the file gives no panel size"):
        found(shelf, catalogue, bare)


def test_no_price_is_in_its_json(store: Store, catalogue: Catalogue) -> None:
    for lot, amount, more in (
        ("W-7", "20 leaves of 2000 x 200 mm, 0.6 mm", {}),
        ("BIRCH", "30 leaves of 1000 x 500 mm, 1.5 mm", {"species": "Betula pendula"}),
        ("UF-2", "10 kg", {"species": None, "form": "adhesive"}),
    ):
        take_in(store, lot, amount, **more, price=("918273.45", "QQD"))
    result = found(store, catalogue, glue=["UF-2"])
    assert "QQD" in told(result) and "918,273.45 QQD" in told(result)
    plain = json.dumps(result.as_dict())
    assert "QQD" not in plain and "918" not in plain and "EUR" not in plain
    assert [row["priced"] for row in result.as_dict()["rows"]] == [True, True, True]
    assert {n["code"] for n in result.as_dict()["notices"]} >= {"prices-in-words"}


@given(st.fractions(0, 10**12), st.integers(1, 500))
def test_money_is_exact_until_it_is_told(amount: Fraction, parts: int) -> None:
    said = money(amount, "EUR")
    number = Fraction(said.removesuffix(" EUR").replace(",", ""))
    assert abs(number - amount) <= Fraction(1, 200)
    purse = Purse()
    for _ in range(parts):
        purse.put(amount / parts, "EUR")
    assert purse.held == {"EUR": amount} and purse.said() == said


@pytest.mark.parametrize(
    ("amount", "said"),
    [("0", "0.00"), ("0.005", "0.01"), ("0.0049", "0.00"), ("1.995", "2.00"), ("1234567.5", "1,234,567.50")],
)
def test_halves_go_up(amount: str, said: str) -> None:
    assert money(Fraction(amount), "EUR") == f"{said} EUR"


def test_a_wood_that_is_not_identified_wants_a_lot(shelf: Store, catalogue: Catalogue) -> None:
    odd = TRAY.replace("material: Betula pendula", "unidentified: brown wood from the attic")
    said = told(found(shelf, catalogue, odd))
    assert "ply 2 has no lot on hand that serves (--ply 2=LOT names another)" in said
    assert found(shelf, catalogue, odd, plies=["2=BIRCH"]).veneer[1].cost == Fraction("14.4")
    with pytest.raises(WoodrefError):
        found(shelf, catalogue, TRAY.replace("Betula pendula", "no such wood at all"))
