"""What an item keeps when it is closed: read strictly, told again, carried over a repair."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from woodref.errors import WoodrefError
from woodref.provenance import closing, items
from woodref.provenance.closing import Keeping, close, following
from woodref.provenance.partroles import role_of, roles_of
from woodref.provenance.repairkit import kit_of
from woodref.provenance.shapes import event_of
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

LAYUP = Path(__file__).parents[1] / "cli" / "layups" / "stool-seat.yaml"
ROLES = ("face=L-H2", "crossband=L-I", "back=L-K", "leg=L-J")
WHOLE = Keeping(
    layup=LAYUP, mould="stool seat", radius="300 mm", glue_lots=("G-1",), finish="oil and wax, two coats",
    finish_lot="F-1", set_moisture="7 %", serial="002", roles=ROLES, emission="D-06=formaldehyde 0.03 ppm",
    care="Wipe it dry", repairable="yes: seat and legs come apart",
)  # fmt: skip


def test_everything_is_kept_and_told(full: Store) -> None:
    (done,) = close(full, "STOOL-002", WHOLE, label="contains unproven material")
    full.record([done.event])
    found = items.one_item(full, "STOOL-002")
    told = found.sentences()
    for line in (
        "Mould: stool seat, radius 300 mm.", "Glue: lot G-1.", "Moisture of the wood at set: 7 %.",
        "Finish: oil and wax, two coats (lot F-1).",
        "Which lot is what: face L-H2; crossband L-I; back L-K; leg L-J.",
        "Emissions: formaldehyde 0.03 ppm, by the emission report D-06 on L-D.", "Care: Wipe it dry.",
        "It can be repaired: seat and legs come apart.", "Its label says: contains unproven material.",
    ):  # fmt: skip
        assert line in told
    body = LAYUP.read_bytes()
    kept = found.as_dict()["kept"]
    assert kept["layup"] == {
        "title": "stool seat", "sha256": hashlib.sha256(body).hexdigest(), "text": body.decode(),
    }  # fmt: skip
    assert kept["mould"] == {"name": "stool seat", "radius_um": 300_000}
    assert kept["set_moisture_permille"] == 70 and found.item.serial == "002"
    # the file is drawn for another radius than the mould has: it says 250 mm
    assert "The layup is drawn for a radius of 250 mm; the mould is told with 300 mm." in done.sentences
    assert check_book(full).sound


def test_nothing_need_be_kept(full: Store) -> None:
    (done,) = close(full, "STOOL-002")
    full.record([done.event])
    assert items.one_item(full, "STOOL-002").kept.nothing
    assert len(done.sentences) == 1


def test_a_radius_in_inches_is_kept_exactly(full: Store) -> None:
    assert Keeping(mould="drum", radius="12 in").told()["mould"] == {
        "name": "drum", "radius_um": 304_800,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("said", "says"),
    [
        (Keeping(radius="300 mm"), "Name it: --mould"),
        (Keeping(mould="seat", radius="300"), "unit missing"),
        (Keeping(set_moisture="7"), "in percent"),
        (Keeping(set_moisture="7 mm"), "no percentage"),
        (Keeping(set_moisture="7.25 %"), "finer than a tenth"),
        (Keeping(set_moisture="0 %"), "above zero"),
        (Keeping(set_moisture="31 %"), "wetter wood is not glued"),
        (Keeping(repairable="perhaps"), "neither yes nor no"),
        (Keeping(roles=("L-H2",)), "face=L-H1"),
        (Keeping(roles=("face=L-H2", "face=L-H2")), "told twice"),
        (Keeping(roles=("face=L-G",)), ""),
        (Keeping(roles=("face=NOPE",)), "there is no lot NOPE"),
        (Keeping(roles=("face=L-H1",)), "L-H1 is not in STOOL-002"),
        (Keeping(glue_lots=("L-A",)), "L-A is veneer, no adhesive"),
        (Keeping(glue_lots=("G-1", "G-1")), "told twice"),
        (Keeping(finish_lot="G-1"), "G-1 is adhesive, no finish"),
        (Keeping(emission="D-99"), "there is no document D-99"),
        (Keeping(emission="D-01"), "an emission report"),
        (Keeping(care="two\nlines"), "one line"),
        (Keeping(care="x" * 1001), "1,000"),
        (Keeping(serial="\x07"), "is no id"),
        (Keeping(layup=Path("/nowhere.yaml")), "cannot be read"),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)  # fmt: skip
def test_what_cannot_be_kept_is_refused(full: Store, said: Keeping, says: str) -> None:
    head = full.head()
    if not says:  # L-G is one of the lots that the face was jointed of
        assert close(full, "STOOL-002", said)[0].event.more["part_roles"] == {"face": ["L-G"]}
        return
    with pytest.raises(WoodrefError) as told:
        full.record([d.event for d in close(full, "STOOL-002", said)])
    assert says in str(told.value)
    assert full.head() == head


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("layup", "seat.yaml"), ("layup", {"title": "seat"}), ("layup", {"sha256": "12"}),
        ("layup", {"sha256": "0" * 64, "text": "plies: []"}), ("layup", {"sha256": "0" * 64, "plies": 3}),
        ("mould", {"radius_um": 1}), ("mould", {"name": "m", "radius_um": 1.5}), ("mould", {"name": ""}),
        ("mould", {"name": "m", "radius_um": 0}), ("mould", {"name": "m", "radius_um": 10**9}),
        ("glue_lot", []), ("glue_lot", 3), ("finish", {}), ("finish", {"name": "oil"}), ("finish", "oil"),
        ("set_moisture_permille", True), ("set_moisture_permille", "70"), ("set_moisture_permille", 301),
        ("part_roles", {}), ("part_roles", {"face": "L-A"}), ("part_roles", {"face": []}),
        ("part_roles", {"": ["L-A"]}), ("part_roles", {"face": ["L-A", "L-A"]}), ("part_roles", ["L-A"]),
        ("emission", {"words": "low"}), ("emission", "D-06"), ("care", ["dry"]), ("care", " "),
        ("repairable", True), ("repairable", {"yes": "yes"}), ("repairable", {"words": "no"}),
        ("serial", 7), ("serial", "x" * 81),
    ],
)  # fmt: skip
def test_shapes_are_strict(key: str, value: Any) -> None:
    told = {"id": "X", "kind": "close", "time": "2026-01-05T09:00:00Z", "item": "STOOL-002", key: value}
    with pytest.raises(WoodrefError) as fault:
        event_of(told)
    assert "X" in str(fault.value) and (fault.value.expected or fault.value.next)


@pytest.mark.parametrize("key", ["part_roles", "emission", "care", "repairable"])
def test_what_an_item_keeps_has_no_place_elsewhere(key: str) -> None:
    told = {"id": "X", "kind": "annotate", "time": "2026-01-05T09:00:00Z", key: {"face": ["L-A"]}}
    with pytest.raises(WoodrefError, match="no place in an event annotate"):
        event_of(told)


def test_a_report_on_another_lot_is_refused(full: Store, make: Any) -> None:
    lots = {"UF": {"form": "adhesive", "unit": "mg"}}
    papers = [{"id": "D-20", "kind": "emission-report", "lot": "UF"}]
    full.record([make("X1", "receive", out=[("UF", 1000, "mg")], lots=lots, documents=papers)])
    with pytest.raises(WoodrefError, match="D-20 is about UF, which is not in STOOL-002"):
        close(full, "STOOL-002", Keeping(emission="D-20"))
    # told as the glue of it, its report may stand; that no event used it is said
    (done,) = close(full, "STOOL-002", Keeping(emission="D-20", glue_lots=("UF",)))
    assert any("That UF was used on it is kept as you tell it" in line for line in done.sentences)
    full.record([done.event])
    assert "Emissions: see the emission report D-20 on UF." in items.one_item(full, "STOOL-002").sentences()


def test_following_leaves_are_kept_back_with_it_or_not_at_all(full: Store) -> None:
    head = full.head()
    done = close(full, "STOOL-002", WHOLE, reserve=["L-B=2 leaves", "L-C=3 leaves"])
    with pytest.raises(WoodrefError, match="720,000"):  # of L-C two leaves are left
        full.record([d.event for d in done])
    assert full.head() == head and full.book().item("STOOL-002", "test").state == "open"
    done = close(full, "STOOL-002", WHOLE, reserve=["L-B=2 leaves", "L-C=1 leaf"])
    full.record([d.event for d in done])
    book = full.book()
    assert (book.lot("L-B", "test").reserved, book.lot("L-C", "test").reserved) == (720_000, 360_000)
    told = items.one_item(full, "STOOL-002")
    assert [(r.lot, r.qty) for r, _ in told.reserved] == [("L-B", 720_000), ("L-C", 360_000)]
    assert check_book(full).sound


def test_what_could_follow_is_offered_nearest_to_the_face_first(full: Store) -> None:
    offered = [f.held.lot.id for f in following(full, "STOOL-002", ROLES)]
    assert set(offered) == {"L-F", "L-G", "L-B", "L-C"}
    assert offered.index("L-F") < offered.index("L-B") and offered.index("L-G") < offered.index("L-C")
    # without a role the ply that was told first of each pressing is taken for the face
    assert {f.held.lot.id for f in following(full, "STOOL-002")} == {*offered, "L-A", "L-J"}
    questions = {f.held.lot.id: f.question() for f in following(full, "STOOL-002", ROLES)}
    assert questions["L-B"] == "L-B, Dalbergia latifolia: 10 leaves of 1800 x 200 mm are free."


def birch(store: Store, make: Any, *names: str) -> None:
    lots = {name: {"form": "veneer", "thickness_um": 600, "species": "Betula pendula"} for name in names}
    store.record([make("A", "receive", out=[(name, 9000) for name in names], lots=lots)])


def ply(lot: str, grain: str, **more: str) -> dict[str, str]:
    return {"lot": lot, "grain_deg": grain, **more}


def test_a_pressing_tells_which_lot_is_what(store: Store, make: Any) -> None:
    birch(store, make, "FACE", "CROSS", "CORE", "BACK")
    stack = [ply("FACE", "0"), ply("CROSS", "90"), ply("CORE", "-5.5"), ply("CROSS", "-90"), ply("BACK", "0")]
    inside = [("FACE", 1000), ("CROSS", 2000, "mm2", 2), ("CORE", 1000), ("BACK", 1000)]
    more = {"mould": {"radius_um": 800_000}, "layup": {"title": "tray", "sha256": "ab" * 32}}
    store.record([
        make("B", "laminate", in_=inside, out=[("P", 1000)], stack=stack, set_moisture_permille=75, **more),
        make("C", "assemble", in_=[("P", 1000)], out=[("TRAY", 1, "pcs")]),
    ])  # fmt: skip
    store.record([close(store, "TRAY")[0].event])
    found = items.one_item(store, "TRAY")
    assert found.as_dict()["roles"] == {
        "face": ["FACE"], "crossband": ["CROSS"], "core": ["CORE"], "back": ["BACK"],
    }  # fmt: skip
    assert "Which lot is what, as pressed: face FACE; crossband CROSS; core CORE; back BACK." in (
        found.sentences()
    )
    told = [line for part in kit_of(store, "TRAY").sections() for line in part.sentences]
    assert "2, 4. crossband, CROSS: Betula pendula, 0.6 mm, 2 plies, grain 90 and -90 degrees." in told
    assert "Its mould: radius 800 mm." in told and "Moisture of the wood at set: 7.5 %." in told
    assert "Not written down with the item: the glue lot and the finish." in told


def test_a_role_that_was_recorded_goes_before_the_place(store: Store, make: Any) -> None:
    birch(store, make, "ONE", "TWO")
    stack = [ply("ONE", "0", role="rim"), ply("TWO", "0")]
    store.record([
        make("B", "laminate", in_=[("ONE", 1000), ("TWO", 1000)], out=[("P", 1000)], stack=stack),
        make("L", "laminate", in_=[("ONE", 2000, "mm2", 2)], out=[("LEG", 1000)],
             stack=[ply("ONE", "0"), ply("ONE", "0")]),
        make("C", "assemble", in_=[("P", 1000), ("LEG", 1000)], out=[("TRAY", 1, "pcs")]),
    ])  # fmt: skip
    # a leg of one lot alone has neither face nor back
    assert roles_of(store, "TRAY") == {"rim": ["ONE"], "back": ["TWO"]}


def test_a_lot_that_is_two_things_is_told_with_both() -> None:
    roles = {"core": ["W"], "face": ["W", "F"], "arm": ["W"]}
    assert role_of(roles) == {"W": "face and core and arm", "F": "face"}


def test_a_lot_is_no_item(full: Store) -> None:
    with pytest.raises(WoodrefError, match="L-B is a lot, no item"):
        close(full, "L-B")


def test_a_layup_that_cannot_be_read_is_not_kept(tmp_path: Path) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text("plies: 3\n")
    with pytest.raises(WoodrefError):
        closing.layup_kept(path)


def test_a_text_that_would_change_is_kept_by_its_hash(tmp_path: Path) -> None:
    path = tmp_path / "seat.yaml"
    body = LAYUP.read_bytes() + "# scho\u0308n\n".encode()
    path.write_bytes(body)
    assert closing.layup_kept(path) == {"title": "stool seat", "sha256": hashlib.sha256(body).hexdigest()}


def test_a_paper_of_an_item_in_a_file_is_read_as_strictly(full: Store) -> None:
    told = {"id": "Z", "kind": "close", "time": "2025-11-03T09:00:00Z", "item": "STOOL-002",
            "glue_lot": "L-A"}  # fmt: skip
    with pytest.raises(WoodrefError, match="L-A is veneer"):
        full.record([event_of(json.loads(json.dumps(told)))])
