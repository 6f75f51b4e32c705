"""Every bad input: what kind of fault, what its sentence says, and a head that has not moved.

Rows are those of data/bad_inputs.csv; the two about the explorer (B52, B53) and the two that need an item's
evidence belong to rooms of their own and are named in `ELSEWHERE`.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, text

from woodref.provenance import faults
from woodref.provenance.amounts import amount, thickness
from woodref.provenance.documents import inside, paper_of
from woodref.provenance.importing import events_of, record_placed
from woodref.provenance.lots import lot_of
from woodref.provenance.plots import plot_of
from woodref.provenance.shapes import event_of
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

Make = Callable[..., Any]
HERE = Path(__file__).resolve().parent
ROWS = {
    row["id"]: row
    for row in csv.DictReader((HERE / "data" / "bad_inputs.csv").read_text("utf-8").splitlines())
}
#: kinds of the rows -> our faults
KINDS = {
    "E-OVERDRAW": faults.Overdrawn, "E-QUANTITY": faults.BadAmount, "E-PRECISION": faults.NotWhole,
    "E-RANGE": faults.OutOfRange, "E-SCHEMA": faults.BadShape, "E-UNIT": faults.NoUnit,
    "E-UNKNOWN-LOT": faults.UnknownLot, "E-DUPLICATE-LOT": faults.LotExists, "E-CYCLE": faults.Cycle,
    "E-CONFLICT": faults.EventConflict, "E-ORDER": faults.BadOrder, "E-TIME": faults.BadTime,
    "E-BALANCE": faults.Unbalanced, "E-THICKNESS": faults.BadThickness, "E-CLOSED": faults.ItemClosed,
    "E-STATE": faults.BadState, "E-UNPROVEN": faults.NotProven, "E-UNKNOWN-EVENT": faults.UnknownEvent,
    "E-DEPENDENT": faults.InUse, "E-DOC-HASH": faults.DocumentDiffers, "E-PATH": faults.OutsideStore,
    "E-SPECIES": faults.UnknownSpecies, "E-COMPOSITION": faults.BadComposition, "E-GEO": faults.BadPlace,
    "E-PERMIT-OVERDRAW": faults.PermitOverdrawn, "E-PRELISTING": faults.NotBeforeListing,
    "E-IMPORT": faults.BadImport, "E-ENCODING": faults.BadEncoding, "E-DOC-NUMBER": faults.DocumentNumber,
    "E-DOC-OVERUSED": faults.DocumentOverused,
}  # fmt: skip
ELSEWHERE = {"B52": "explorer", "B53": "explorer", "B61": "verify", "B62": "verify", "B49": "no fault"}
CUT = "2025-10-07T08:00:00+02:00"


def veneer(**more: Any) -> dict[str, Any]:
    return {"form": "veneer", "thickness_um": 600, "species": "Fagus sylvatica"} | more


def attached(make: Make, **paper: Any) -> Any:
    return make("X", "attach-document", document={"id": "P", "kind": "invoice", "lot": "L-A"} | paper)


def permits(s: Store, make: Make) -> None:
    """A permit for 50,000 g, drawn on by two lots: 49,500 g and then 600 g."""
    file = {"kind": "permit", "sha256": "1" * 64, "covers_qty": 50_000, "covers_unit": "g"}
    for name, qty in (("M-1", 49_500_000), ("M-2", 600_000)):
        papers = [{"id": f"P-{name}", "lot": name, **file}]
        lots = {name: {"form": "sawn", "unit": "mg", "species": "Dalbergia latifolia"}}
        s.record([make(f"R-{name}", "receive", out=[(name, qty, "mg")], lots=lots, documents=papers)])


def one_file_twice(s: Store, make: Make) -> None:
    """One invoice over 4,320,000 mm2 for two lots that come to more."""
    file = {"kind": "invoice", "sha256": "2" * 64, "covers_qty": 4_320_000, "covers_unit": "mm2"}
    s.record([make("X1", "attach-document", document={"id": "P1", "lot": "L-B", **file})])
    s.record([make("X2", "attach-document", document={"id": "P2", "lot": "L-C", **file})])


def many(make: Make) -> bytes:
    """Forty lines, the 17th wrong."""
    lines = ["id,time,kind,in,out,waste,note"]
    lines += [f"M{k},2025-11-03T09:00:00Z,scrap,L-A {k} mm2,,," for k in range(2, 42)]
    lines[16] = "M17,2025-11-03T09:00:00,scrap,L-A 17 mm2,,,"
    return "\n".join(lines).encode()


GEO: dict[str, list[tuple[dict[str, Any], str]]] = {
    "B43": [
        ({"type": "Point", "coordinates": [48.1, 145.2]}, "longitude, latitude"),
        (
            {"type": "Polygon", "coordinates": [[[1, 1], [2, 1], [2, 2], [1, 2]]]},
            "first point differs from last",
        ),
    ],
    "B55": [
        (
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": [11.2, 48.1]},
                "properties": {"Area": a},
            },
            "Area",
        )
        for a in ("3", 4.0001)
    ],
    "B56": [
        ({"type": "LineString", "coordinates": [[1, 1], [2, 2]]}, "kind not accepted"),
        (
            {
                "type": "Polygon",
                "coordinates": [[[0, 0], [4, 0], [4, 4], [0, 0]], [[1, 1], [2, 1], [2, 2], [1, 1]]],
            },
            "hole",
        ),
        ({"type": "Polygon", "coordinates": [[[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]]]}, "cross"),
    ],
}


def _geo(row: str) -> Callable[[Store, Make], None]:
    def all_of(_: Store, __: Make) -> None:
        for shape, says in GEO[row]:
            with pytest.raises(faults.BadPlace, match=says):
                plot_of(shape)
        plot_of(GEO[row][-1][0])

    return all_of


#: row -> (what is done, words that its sentence holds)
CASES: dict[str, tuple[Callable[[Store, Make], Any], tuple[str, ...]]] = {
    "B01": (
        lambda s, m: s.record([m("X", "cut", in_=[("L-B", 3_600_001)], out=[("N", 1)])]),
        ("lot L-B: asked 3,600,001 mm2; on hand 3,600,000",),
    ),
    "B02": (
        lambda s, m: s.record([m("X", "cut", in_=[("L-B", -1000)], out=[("N", 1)])]),
        ("must be above zero",),
    ),
    "B04": (lambda s, m: amount("1.0000005 m2"), ("not a whole number of mm2",)),
    "B05": (lambda s, m: amount("1,5 m2"), ("write 1.5; nothing is guessed",)),
    "B07": (
        lambda s, m: s.record([m("X", "scrap", in_=[("L-B", 9223372036854775808)])]),
        ("largest allowed value",),
    ),
    "B08": (lambda s, m: s.record([m("X", "scrap", in_=[("L-B", True)])]), ("number expected",)),
    "B10": (lambda s, m: thickness("0.6"), ("unit missing", "mm or um")),
    "B11": (lambda s, m: s.record([m("X", "scrap", in_=[("L-Z", 1000)])]), ("L-Z", "such as L-")),
    "B13": (
        lambda s, m: s.record([m("X", "receive", out=[("L-A", 1)], lots={"L-A": veneer()})]),
        ("L-A exists since E01",),
    ),
    "B14": (
        lambda s, m: s.record([m("X", "cut", in_=[("L-F", 10)], out=[("L-F", 10)])]),
        ("cannot be made from itself",),
    ),
    "B16": (
        lambda s, m: s.record([m("E05", "scrap", in_=[("L-B", 1)])]),
        ("E05 exists with a different content hash",),
    ),
    "B17": (
        lambda s, m: s.record(
            [m("X", "edge-join", time="2025-10-06T08:19:59+02:00", in_=[("L-F", 10)], out=[("N", 10)])]
        ),
        ("L-F exists from 2025-10-06T06:20:00Z (E05)",),
    ),
    "B19": (lambda s, m: m("X", "scrap", time="2025-10-06T12:30:00", in_=[("L-B", 1)]), ("offset missing",)),
    "B20": (lambda s, m: m("X", "scrap", time="2025-02-30T10:00:00Z", in_=[("L-B", 1)]), ("no such date",)),
    "B22": (
        lambda s, m: s.record(
            [m("X", "cut", in_=[("L-B", 720000)], out=[("N", 552000)], waste=[("L-B", 167999)])]
        ),
        ("1 mm2 unaccounted",),
    ),
    "B23": (
        lambda s, m: s.record([m("X", "cut", in_=[("L-B", 720000)], out=[("N", 720001)])]),
        ("output exceeds input by 1 mm2",),
    ),
    "B25": (
        lambda s, m: s.record([m("X", "cut", in_=[("L-B", 720000)])]),
        ("720,000 mm2 unaccounted", "use scrap"),
    ),
    "B26": (
        lambda s, m: s.record(
            [m("X", "cut", in_=[("L-B", 10)], out=[("N", 10)], lots={"N": {"thickness_um": 900}})]
        ),
        ("cutting keeps thickness; use slice, sand or laminate",),
    ),
    "B28": (
        lambda s, m: s.record([m("X", "assemble", in_=[("F-1", 10, "mg")], out=[("STOOL-001", 1, "pcs")])]),
        ("closed by E17", "ecord a correction"),
    ),
    "B29": (lambda s, m: s.record([m("X", "ship", in_=[("STOOL-002", 1, "pcs")])]), ("close it first",)),
    "B31": (
        lambda s, m: s.record(
            [m("X", "close", item="STOOL-002", claim="all-proven")],
            prove=lambda item: ["68 g of Dalbergia latifolia from L-C has no document"],
        ),
        ("68 g of Dalbergia latifolia from L-C has no document",),
    ),
    "B32": (lambda s, m: s.record([m("X", "correct", corrects="E99", reason="did_not_occur")]), ("E99",)),
    "B34": (
        lambda s, m: s.record([m("X", "correct", corrects="E06", reason="did_not_occur")]),
        ("E08, E13, E15, E18 use its output",),
    ),
    "B35": (
        lambda s, m: s.record([attached(m, bytes="woodref fixture D-01!", sha256="a6c9f1c9d3e1" + "0" * 52)]),
        ("stored a6c9f1c9d3e1", "computed "),
    ),
    "B37": (lambda s, m: inside(Path("."), "../../secret.txt"), ("outside the document store",)),
    "B38": (
        lambda s, m: s.record(
            [m("X", "receive", out=[("N", 1)], lots={"N": veneer(species="Dalbergia latifola")})]
        ),
        ("not in the catalogue", "Did you mean Dalbergia latifolia", "not changed by itself"),
    ),
    "B40": (
        lambda s, m: lot_of(
            "N",
            {
                "form": "engineered-veneer",
                "thickness_um": 600,
                "composition": [
                    {"species": "Betula pendula", "permille": 930},
                    {"species": "Fagus sylvatica", "permille": 80},
                ],
            },
            "X",
        ),
        ("1,010 per mille",),
    ),
    "B41": (
        lambda s, m: lot_of("N", {"form": "engineered-veneer", "thickness_um": 600}, "X"),
        ("species list empty", "thin solid plies need a name"),
    ),
    "B43": (_geo("B43"), ()),
    "B44": (permits, ("500 g left",)),
    "B46": (
        lambda s, m: s.record(
            [attached(m, kind="pre-listing-claim", acquired_on="2017-01-02", listed_on="2017-01-02")]
        ),
        ("must be before 2017-01-02",),
    ),
    "B47": (
        lambda s, m: s.record([e for _, e in events_of(many(m), "many.csv")]),
        ("line 17", "offset missing", "Nothing was recorded"),
    ),
    "B50": (lambda s, m: events_of(b'{"events": ["\xe9"]}', "x.json"), ("byte 13", "UTF-8")),
    "B55": (_geo("B55"), ()),
    "B56": (_geo("B56"), ()),
    "B58": (
        lambda s, m: s.record([attached(m, kind="eudr-reference", number="A" * 15)]),
        ("15 characters", "1 to 14"),
    ),
    "B59": (one_file_twice, ("covers 4,320,000", "drawn 5,400,000", "L-B, L-C")),
}


def test_every_row_is_held_somewhere() -> None:
    assert set(CASES) | set(ELSEWHERE) == set(ROWS)
    assert not set(CASES) & set(ELSEWHERE)


@pytest.mark.parametrize("row", CASES)
def test_a_bad_input_is_refused_with_its_sentence(full: Store, make: Make, row: str) -> None:
    act, says = CASES[row]
    kind = KINDS[ROWS[row]["expected_error"]]
    before = full.head()
    with pytest.raises(kind) as caught:
        act(full, make)
    told = str(caught.value)
    for words in says:
        assert words in told, told
    moved = full.head()[0] - before[0]
    # two rows need a good event of their own first
    assert moved == {"B44": 1, "B59": 1}.get(row, 0)
    assert check_book(full).sound


def test_other_ways_out_of_the_document_store(tmp_path: Path) -> None:
    store = tmp_path / "papers"
    store.mkdir()
    (tmp_path / "secret.txt").write_text("x", "utf-8")
    (store / "link.pdf").symlink_to(tmp_path / "secret.txt")
    for name in ("/etc/passwd", "link.pdf", "a/../../secret.txt", ""):
        with pytest.raises(faults.OutsideStore):
            inside(store, name)
    (store / "good.pdf").write_text("x", "utf-8")
    assert inside(store, "good.pdf") == store / "good.pdf"


def test_a_verification_number_of_four_is_too_short() -> None:
    with pytest.raises(faults.DocumentNumber, match="5 to 35"):
        paper_of({"id": "P", "kind": "eudr-reference", "lot": "L-A", "verification": "1234"}, "X")


def test_a_nul_is_no_text() -> None:
    with pytest.raises(faults.BadEncoding, match="byte 2 is NUL"):
        events_of(b"{}\x00", "x.json")


def test_b49_a_formula_stays_text(full: Store, make: Make) -> None:
    full.record([make("X", "annotate", lot="L-A", note='=HYPERLINK("http://x")')])
    held = full.event("X")
    assert full.head()[0] == 21 and held is not None and held.more["note"] == '=HYPERLINK("http://x")'


def test_b62_events_that_were_signed_for_are_missed(full: Store, unguarded: Connection) -> None:
    seq, hash_ = full.head()
    unguarded.execute(
        text("INSERT INTO deposit VALUES (:seq, '2025-11-02T00:00:00Z', :hash, 'k', 's')"),
        {"seq": seq, "hash": hash_},
    )
    for table in ("event", "move"):
        unguarded.execute(text(f"DELETE FROM {table} WHERE seq > 17"))
    unguarded.commit()
    found = check_book(full)
    assert "20 events were signed for" in " ".join(found.sentences())
    assert "17 are found" in " ".join(found.sentences()) and not found.sound


def test_f9_a_book_written_anew_is_shown_by_the_signed_head(full: Store, make: Make, tmp_path: Path) -> None:
    seq, hash_ = full.head()
    other = [event_of(json.loads(p)) for (p,) in full.rows("SELECT payload FROM event ORDER BY seq LIMIT 0")]
    with Store(f"sqlite:///{tmp_path / 'anew.sqlite'}") as anew:
        lots = {"L": veneer()}
        anew.record([*other, make("A", "receive", out=[("L", 100)], lots=lots)])
        anew.record([make(f"A{k}", "annotate", note=str(k)) for k in range(30)])
        assert check_book(anew).sound
        with anew.engine.begin() as connection:
            connection.execute(
                text("INSERT INTO deposit VALUES (:seq, '2025-11-02T00:00:00Z', :hash, 'k', 's')"),
                {"seq": seq, "hash": hash_},
            )
        assert "written anew" in " ".join(check_book(anew).sentences())


FILES: dict[str, tuple[dict[str, Any], tuple[str, ...]]] = {
    "a kind that is a list": ({"events": [{"id": "X", "kind": ["cut"], "time": CUT}]}, ("no kind of event",)),
    "no offset": (
        {"events": [{"id": "X", "kind": "annotate", "time": CUT, "offset": "+2"}]},
        ("event 1", "\"+2\" is no offset", "such as +02:00"),
    ),
    "lots as a number": ({"events": [], "lots": 7}, ("lots is no list",)),
    "documents as a number": ({"events": [], "documents": 7}, ("documents is no list of mappings",)),
    "a lot left over": (
        {"events": [], "lots": [{"id": "L-Q", "form": "veneer"}]}, ("no event makes lot L-Q", "leave it out"),
    ),
    "a paper left over": (
        {"events": [], "documents": [{"id": "D-Q", "kind": "invoice", "lot": "L-A"}]},
        ("D-Q", "is of no lot that this file receives", "attach-document"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FILES)
def test_a_file_that_is_wrong_or_would_lose_something(full: Store, what: str) -> None:
    told, says = FILES[what]
    before = full.head()
    with pytest.raises(faults.BookFault) as caught:
        record_placed(full, events_of(json.dumps(told).encode(), "day.json"))
    for words in says:
        assert words in str(caught.value)
    assert full.head() == before


def test_of_ids_that_begin_alike_the_right_event_is_told(full: Store, make: Make) -> None:
    """X1 is sound, X10 asks for more than there is: the place told is that of X10."""
    events = [make("X1", "scrap", in_=[("L-B", 1)]), make("X10", "scrap", in_=[("L-B", 99_000_000)])]
    placed = [(f"day.json: event {n}", event) for n, event in enumerate(events, 1)]
    with pytest.raises(faults.BadImport, match="event 2: lot L-B: asked 99,000,000"):
        record_placed(full, placed)


def test_a_reservation_until_no_day(full: Store, make: Make) -> None:
    with pytest.raises(faults.BadTime, match="until"):
        full.record([make("X", "reserve", lot="L-B", qty=10, until="2026-99-99")])


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"form": "banana"}, 'form "banana" is not known'),
        ({"country": "FR"}, "country follows from them"),
        ({"leaf_mm": [490]}, "leaf_mm"),
        ({"leaf_mm": "490x180"}, "leaf_mm"),
        ({"unit": "mg"}, "comes out in mm2, not mg"),
        ({"shelf": 7}, 'shelf "7" is no text'),
    ],
)
def test_facts_that_a_cut_piece_cannot_have(full: Store, facts: dict[str, Any], says: str) -> None:
    told = {
        "id": "X", "kind": "cut", "time": "2025-11-03T09:00:00+01:00", "lots": {"N": facts},
        "in": [{"lot": "L-B", "qty": 10, "unit": "mm2"}], "out": [{"lot": "N", "qty": 10, "unit": "mm2"}],
    }  # fmt: skip
    with pytest.raises(faults.BookFault, match=says):
        full.record([event_of(told)])
