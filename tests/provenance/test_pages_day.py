"""A day's slips: read strictly, worked out one after the other, recorded all or none."""

from __future__ import annotations

import json
import random
import time
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from woodref.errors import WoodrefError
from woodref.provenance.dayfile import EXAMPLE, SHAPES, Slip, slips_of
from woodref.provenance.daywork import Day, day_of, event_of_slip
from woodref.provenance.receiving import received
from woodref.provenance.slips import slip
from woodref.provenance.stock import on_hand
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

BEFORE = "2026-01-02T09:00:00+01:00"
HEAD = '- day: {date: 2026-01-05, offset: "+01:00", who: qb}\n'


def stocked(url: str) -> Store:
    store = Store(url)
    said = (
        ("W-7", "12 leaves of 1800 x 200 mm, 0.6 mm", "veneer", "Juglans nigra"),
        ("BIRCH", "12 leaves of 490 x 360 mm, 1.5 mm", "veneer", "Betula pendula"),
        ("UF-2", "10 kg", "adhesive", None),
    )
    for lot, amount, form, species in said:
        store.record([received(lot, amount, form, time=BEFORE, species=species)[0]])
    return store


@pytest.fixture
def shelf(tmp_path: Path) -> Store:
    return stocked(f"sqlite:///{tmp_path / 'book.sqlite'}")


def read(text: str, **more: str) -> list[Slip]:
    return slips_of(text.encode(), "day.yaml", **more)


def test_the_example_is_a_day_that_holds(shelf: Store) -> None:
    day = day_of(shelf, read(EXAMPLE))
    assert shelf.head()[0] == 3  # worked out, not written
    recorded = day.record(shelf, "office")
    assert [r.seq for r in recorded] == [4, 5, 6, 7, 8]
    # by hand: 12 leaves of 360,000; 2 cut, 1 scrapped; FACE-1 4 x 490 x 180, 2 of them jointed
    assert [shelf.balance(lot) for lot in ("W-7", "FACE-1", "OFF-1", "FACE-S", "BIRCH", "UF-2", "P-1")] == [
        3_240_000, 176_400, 133_000, 0, 1_411_200, 9_940_000, 171_500,
    ]  # fmt: skip
    assert {lot: h.qty for lot, h in day.lots.items()} == {lot: shelf.balance(lot) for lot in day.lots}
    assert day.lots["W-7"].reserved == shelf.book().lot("W-7", "test").reserved == 360_000
    assert day.before == {
        "W-7": 4_320_000, "FACE-1": None, "OFF-1": None, "FACE-S": None, "BIRCH": 2_116_800,
        "UF-2": 10_000_000, "P-1": None,
    }  # fmt: skip
    payloads = [json.loads(p) for (p,) in shelf.rows("SELECT payload FROM event WHERE seq > 3 ORDER BY seq")]
    assert [p["actor"] for p in payloads] == ["qb", "qb", "qb", "qb", "mf"]
    assert [p["time"] for p in payloads] == [
        "2026-01-05T08:20:00Z", "2026-01-05T08:40:00Z", "2026-01-05T08:40:00Z", "2026-01-05T10:05:00Z",
        "2026-01-05T15:30:00Z",
    ]  # fmt: skip
    assert check_book(shelf).sound


def test_a_day_typed_in_twice_is_one_day(shelf: Store) -> None:
    day_of(shelf, read(EXAMPLE)).record(shelf)
    head = shelf.head()
    more = EXAMPLE + '- scrap: {lot: BIRCH, amount: 1 leaf, time: "17:00"}\n'
    again = day_of(shelf, read(EXAMPLE))
    assert [w.again for w in again.worked] == [True] * 5 and not again.fresh
    again.record(shelf)
    assert shelf.head() == head
    longer = day_of(shelf, read(more))
    longer.record(shelf)
    assert [w.again for w in longer.worked] == [True] * 5 + [False] and shelf.head()[0] == head[0] + 1
    assert longer.sentences() == ["Recorded 1 slip.", "5 slips stood in the book already."]


def test_who_is_told_nowhere_is_who_records(shelf: Store) -> None:
    text = "- day: 2026-01-05\n- scrap: {lot: W-7, amount: 1 leaf, time: '2026-01-05T09:40:00Z'}"
    day_of(shelf, read(text)).record(shelf, "office")
    (payload,) = shelf.rows("SELECT payload FROM event WHERE seq = 4")[0]
    assert json.loads(payload)["actor"] == "office" and check_book(shelf).sound


CUT = 'cut: {lot: W-7, amount: 2 leaves, into: {FACE-1: 4 leaves of 490 x 180 mm}, time: "09:20"'


@pytest.mark.parametrize(
    ("text", "says", "line"),
    [
        ("", "no slip", ""),
        ("cut: {}", "no slip", ""),
        ("- day: 2026-01-05", "no slip", ""),
        ("- {cut: {}, scrap: {}}", "one kind of work", ":1"),
        ("- W-7", "one kind of work", ":1"),
        (HEAD + "- weld: {lot: W-7}", '"weld" is no work', ":2"),
        (HEAD + "- cut: W-7", "cut is no mapping", ":2"),
        (HEAD + "- cut:", "things in day.yaml", ""),
        (HEAD + f"- {CUT}, lto: W-8}}", '"lto" is not known here', ":2"),
        (HEAD + f"- {CUT}, lot: W-8}}", "given twice", ":2"),
        (HEAD + "- scrap: {lot: W-7, time: '09:20'}", "scrap lacks amount", ":2"),
        (HEAD + "- scrap: {lot: W-7, amount: 1, time: '09:20'}", '"1" is no text', ":2"),
        (HEAD + "- scrap: {lot: W-7, amount: 1 leaf}", "first slip of a day needs a time", ":2"),
        (HEAD + "- scrap: {lot: W-7, amount: 1 leaf, time: noon}", '"noon" is no time', ":2"),
        (HEAD + "- scrap: {lot: W-7, amount: 1 leaf, time: '25:00'}", '"25:00" is no time', ":2"),
        (f"- {CUT}}}", "which day", ":1"),
        ("- day: 2026-02-30\n" + f"- {CUT}}}", "day", ":1"),
        ("- day: {date: 2026-01-05, offset: east}\n" + f"- {CUT}}}", "no offset", ":1"),
        (HEAD + "- joint: {sheet: S, size: 1 cm2, of: FACE-1, time: '09:20'}", "of names no lot", ":2"),
        (HEAD + "- joint: {sheet: S, size: 1 cm2, of: {}, time: '09:20'}", "of names no lot", ":2"),
        (
            HEAD + "- joint: {sheet: S, size: 1 cm2, of: {A=B: 1 leaf}, time: '09:20'}",
            "no lot that can",
            ":2",
        ),
        (
            HEAD + "- press: {panel: P, size: 1 cm2, plies: {BIRCH: yes, X: [1]}, time: '09:20'}",
            '"[1]"',
            ":2",
        ),
        (HEAD + "- scrap: {lot: &a W-7, amount: 1 leaf, note: *a}", "anchors and aliases", ":2"),
        (HEAD + "- scrap: {lot: W-7, amount: 1 leaf, time: '09:20', who: ''}", "no text", ":2"),
        # the first that the book refuses
        (HEAD + "- scrap: {lot: NO-1, amount: 1 leaf, time: '09:20'}", "there is no lot NO-1", ":2"),
        (HEAD + f"- {CUT}}}\n- scrap: {{lot: W-7, amount: 11 leaves}}", "asked 3,960,000 mm2", ":3"),
        (HEAD + f"- {CUT}}}\n\n\n- {CUT}}}", "the very same slip as day.yaml:2", ":5"),
        (HEAD + f"- {CUT}, waste: 1 cm2}}", "100 mm2 of waste, and 367,200 mm2 are left", ":2"),
        (
            HEAD + "- joint: {sheet: S, size: 1 cm2, of: {W-7: 1 leaf, BIRCH: 1 leaf}, time: '09:20'}",
            "",
            ":2",
        ),
        (HEAD + "- scrap: {lot: W-7, amount: 1 kg, time: '09:20'}", "is counted in mm2", ":2"),
        (HEAD + "- release: {reservation: no, time: '09:20'}", "no", ":2"),
        (HEAD + "- reserve: {lot: W-7, amount: 13 leaves, time: '09:20'}", "", ":2"),
        ("- day: 2025-12-01\n- scrap: {lot: W-7, amount: 1 leaf, time: '09:20'}", "exists from", ":2"),
        ("- day: 2126-01-05\n- scrap: {lot: W-7, amount: 1 leaf, time: '09:20'}", "lies in the future", ":2"),
    ],
)
def test_the_first_that_is_wrong_is_told_with_its_line(shelf: Store, text: str, says: str, line: str) -> None:
    head = shelf.head()
    with pytest.raises(WoodrefError) as told:
        day_of(shelf, read(text)).record(shelf)
    fault = str(told.value)
    assert says in fault and f"day.yaml{line}" in fault, fault
    assert told.value.code == "bad-import" and shelf.head() == head
    assert "Nothing was recorded" in fault or "no slip" in fault


def test_every_fault_of_the_writing_is_told_at_once() -> None:
    with pytest.raises(WoodrefError) as told:
        read(HEAD + "- cut: {lot: W-7, amount: 2, time: noon}\n- scrap: {lot: 7, amount: 1 leaf}")
    places = [c.name for c in told.value.candidates]
    assert places == ["day.yaml:2"] * 3 + ["day.yaml:3"], told.value.candidates


def test_waste_that_is_exactly_the_rest(shelf: Store) -> None:
    day_of(shelf, read(HEAD + f"- {CUT}, waste: 367200 mm2}}")).record(shelf)
    assert shelf.balance("W-7") == 3_600_000


def test_a_lot_is_split_and_a_cut_leaves_an_offcut(shelf: Store) -> None:
    text = HEAD + (
        "- split: {lot: W-7, amount: 6 leaves, into: {W-7-A: 4 leaves, W-7-B: 2 leaves}, time: '09:00'}\n"
        "- cut: {lot: W-7-B, amount: 2 leaves, into: {F: 2 leaves of 490 x 180 mm},\n"
        "    offcut: {O: 2 leaves of 1300 x 190 mm}}\n"
    )
    day_of(shelf, read(text)).record(shelf)
    # by hand: 720,000 taken, 2 x 490 x 180 and 2 x 1300 x 190 kept
    assert [shelf.balance(lot) for lot in ("W-7-A", "W-7-B", "F", "O")] == [1_440_000, 0, 176_400, 494_000]
    with pytest.raises(WoodrefError, match=r"day\.yaml:2.*splitting loses nothing"):
        day_of(shelf, read(HEAD + "- split: {lot: W-7, amount: 6 leaves, into: {X: 1 leaf}, time: '09:00'}"))


def test_what_to_mind_is_told_in_the_words_of_a_slip(shelf: Store) -> None:
    day = day_of(shelf, read(HEAD + f"- {CUT}}}"))
    assert [n.code for n in day.notices()] == ["low-yield", "offcut"]
    words = day.notices()[1].message
    assert words.startswith("day.yaml:2: ") and "offcut: {LOT: AMOUNT}" in words and "--" not in words
    told = day_of(shelf, read(HEAD + f"- {CUT}, waste: 367200 mm2}}"))
    assert not [n for n in told.notices() if n.code == "offcut"]


def test_slips_out_of_order_draw_on_what_was_there_at_the_time(shelf: Store) -> None:
    later = "- scrap: {lot: FACE-1, amount: 1 leaf, time: '11:00'}\n"
    text = HEAD + f"- {CUT}}}\n" + later + "- scrap: {lot: FACE-1, amount: 1 leaf, time: '10:00'}\n"
    day_of(shelf, read(text)).record(shelf)
    assert shelf.balance("FACE-1") == 2 * 88_200 and check_book(shelf).sound
    with pytest.raises(WoodrefError, match="exists from"):
        day_of(shelf, read(HEAD + "- scrap: {lot: FACE-1, amount: 1 leaf, time: '08:00'}"))


def test_a_lot_emptied_by_another_meanwhile(shelf: Store) -> None:
    day = day_of(shelf, read(HEAD + "- scrap: {lot: BIRCH, amount: 1 leaf, time: '09:00'}\n" + f"- {CUT}}}"))
    text = "- scrap: {lot: W-7, amount: 12 leaves, time: '2026-01-05T07:00:00Z'}"
    day_of(shelf, read(text)).record(shelf)
    head = shelf.head()
    with pytest.raises(WoodrefError, match=r"day\.yaml:3.*on hand 0.*Nothing was recorded"):
        day.record(shelf)
    assert shelf.head() == head and shelf.balance("BIRCH") == 2_116_800


def test_a_slip_that_is_refused_leaves_the_day_as_it_was(shelf: Store) -> None:
    day = Day(shelf)
    good, bad, next_ = read(
        HEAD
        + f"- {CUT}}}\n- scrap: {{lot: W-7, amount: 30 leaves}}\n- scrap: {{lot: W-7, amount: 10 leaves}}"
    )
    day.add(good)
    with pytest.raises(WoodrefError, match="3,600,000 left"):
        day.add(bad)
    day.add(next_)
    day.record(shelf)
    assert shelf.balance("W-7") == 0 and len(day.worked) == 2


@pytest.mark.parametrize(("zone", "utc"), [("UTC", "09:20:00Z"), ("Etc/GMT-5", "04:20:00Z")])
def test_a_clock_without_offset_is_this_machines(
    zone: str, utc: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        found = read("- scrap: {lot: W-7, amount: 1 leaf, time: '9:20'}", day="2026-01-05")
    finally:
        monkeypatch.undo()
        time.tzset()
    from woodref.provenance.times import moment

    assert moment(found[0].time).utc == f"2026-01-05T{utc}"


# --- any day: against one command after the other


def _some_slip(rnd: random.Random, number: int, known: list[str]) -> str:
    """A slip that may hold or not, of lots that there may be."""
    lot = rnd.choice([*known, "NO-1"] if rnd.random() < 0.1 else known)
    amount = rnd.choice(["1 leaf", "2 leaves", "5 leaves", "0.1 m2", "88200 mm2", "1 kg"])
    clock = f"{8 + number // 4:02}:{15 * (number % 4):02}" if rnd.random() < 0.9 else "08:00"
    kind = rnd.choice(["cut", "cut", "scrap", "joint", "press", "reserve"])
    new, size = f"N-{number}", rnd.choice(["490 x 180", "490 x 350", "300 x 90"])
    known.append(new if kind in ("cut", "joint", "press") else "W-7")
    told = {
        "cut": f"lot: {lot}, amount: {amount}, into: {{{new}: 1 leaf of {size} mm}}",
        "scrap": f"lot: {lot}, amount: {amount}, note: n{number}",
        "joint": f"sheet: {new}, size: 1 sheet of {size} mm, of: {{{lot}: {amount}}}",
        "press": f"panel: {new}, size: 1 sheet of {size} mm, plies: {{{lot}: 1}}, glue: {{UF-2: 5 g}}",
        "reserve": f"lot: {lot}, amount: {amount}, note: n{number}",
    }[kind]
    return f'- {kind}: {{{told}, time: "{clock}"}}'


def _balances(store: Store) -> dict[str, tuple[int, int]]:
    return {h.lot.id: (h.qty, h.reserved) for h in on_hand(store, everything=True).rows}


@pytest.mark.parametrize("seed", range(16))
def test_a_day_is_what_its_commands_are_one_by_one_or_nothing(seed: int, tmp_path: Path) -> None:
    rnd = random.Random(seed)
    held = refused = 0
    for round_ in range(3):
        known = ["W-7", "W-7", "BIRCH"]
        # short days often hold, long ones seldom do
        lines = [_some_slip(rnd, n, known) for n in range(rnd.choice([1, 2, 3, 6]))]
        slips = read(HEAD + "\n".join(lines))
        one_by_one = stocked(f"sqlite:///{tmp_path}/{round_}-one.sqlite")
        wrong = None
        for slip_ in slips:
            try:
                book = one_by_one.book()
                event = event_of_slip(slip_, lambda lot, book=book: book.lot(lot, "test")).event  # type: ignore[misc]
                one_by_one.record([event])
            except WoodrefError:
                wrong = slip_.where
                break
        store = stocked(f"sqlite:///{tmp_path}/{round_}-day.sqlite")
        before, head = _balances(store), store.head()
        if wrong is None:
            day_of(store, slips).record(store)
            assert _balances(store) == _balances(one_by_one)
            held += 1
        else:
            with pytest.raises(WoodrefError) as told:
                day_of(store, slips)
            assert str(told.value).startswith(f"{wrong}: ")
            assert _balances(store) == before and store.head() == head
            refused += 1
        assert check_book(store).sound
    assert held + refused == 3


# --- the blank slip


def test_the_blank_slip_asks_in_the_order_of_the_command(shelf: Store) -> None:
    from datetime import date

    soup = BeautifulSoup(slip(None, date(2026, 6, 1)), "html.parser")
    heads = [h2.get_text(" ", strip=True) for h2 in soup.find_all("h2")]
    assert [" ".join(head.split()[:2]) for head in heads] == [
        "1 Lot", "2 Taken", "3 Cut", "4 Waste", "5 Note", "6 Who", "7 Day",
    ]  # fmt: skip
    # what `stock cut` and a day file take for a cut, in that order
    assert [key for key, *_ in SHAPES["cut"]] == ["lot", "amount", "into", "offcut", "waste"]
    assert len(soup.select("table tbody tr")) == 5 and len(soup.select("table thead th[scope=col]")) == 4
    assert "@page { size: 210mm 297mm; margin: 0; }" in str(soup) and not soup.find_all("script")
    found = BeautifulSoup(slip(shelf.book().lot("W-7", "test"), date(2026, 6, 1)), "html.parser")
    words = found.get_text(" ", strip=True)
    assert "Free on 2026-06-01: 4.32 m2, the area of 12 leaves" in words and "0.6 mm" in words
    assert found.select_one(".code svg") is not None and found.title.get_text().endswith("for W-7")  # type: ignore[union-attr]


def test_hostile_words_on_a_slip_are_words(tmp_path: Path) -> None:
    from datetime import date

    bad = "<script>alert(1)</script>\"'&"
    store = Store(f"sqlite:///{tmp_path}/b.sqlite")
    told = {"shelf": bad, "words": bad, "price": ("98765", "QQD"), "supplier": "Marrowgate"}
    store.record([received(bad, "2 leaves of 900 x 200 mm, 0.6 mm", "veneer", time=BEFORE, **told)[0]])
    html = slip(store.book().lot(bad, "test"), date(2026, 6, 1), bad)
    assert "<script" not in html and BeautifulSoup(html, "html.parser").select_one(".id").get_text() == bad  # type: ignore[union-attr]
    assert "98765" not in html and "Marrowgate" not in html
