"""A book made by every earlier shape of the tables opens, has the same head and the same answers.

`ledger-v1.sqlite` is the workshop's scenario with what came later: a correction, a paper, a reservation, a
key, a deposit and two versions of a sheet. `python tests/faults/test_old_books.py FILE` wrote it once; it is
never written again, and a later version adds a file of its own.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest

from woodref.provenance.evidence import judge
from woodref.provenance.faults import StorageFault
from woodref.provenance.keys import new_signer
from woodref.provenance.shapes import event_of
from woodref.provenance.sheetdata import Asked, sheet_of
from woodref.provenance.sheets import give_out, kept
from woodref.provenance.signing import deposit, deposits_of, keys_of
from woodref.provenance.store import Store
from woodref.provenance.trace import went_into, whence
from woodref.provenance.verify import check_book

HERE = Path(__file__).resolve().parent
SCENARIO = json.loads((HERE.parent / "provenance" / "data" / "scenario.json").read_text("utf-8"))
BOOKS = sorted(HERE.glob("ledger-v*.sqlite"))
ANSWERS = (
    json.loads((HERE / "ledger-v1.json").read_text("utf-8")) if (HERE / "ledger-v1.json").exists() else {}
)
AFTER = [
    {"id": "C1", "kind": "correct", "time": "2025-11-03T09:00:00+01:00", "corrects": "E17",
     "reason": "incorrect_data", "in": [
         {"lot": "SEAT-1", "qty": 200000, "unit": "mm2"}, {"lot": "LEGS-1", "qty": 88000, "unit": "mm2"},
         {"lot": "F-1", "qty": 65000, "unit": "mg"}]},
    {"id": "P1", "kind": "attach-document", "time": "2025-11-04T09:00:00+01:00",
     "document": {"id": "D-12", "kind": "invoice", "lot": "L-C", "issued_on": "2010-03-02"}},
    {"id": "R1", "kind": "reserve", "time": "2025-11-04T10:00:00+01:00", "lot": "L-B", "qty": 360000},
    {"id": "N1", "kind": "annotate", "time": "2025-11-04T11:00:00+01:00", "lot": "L-B",
     "moisture": {"permille": 75, "by": "pin meter"}},
]  # fmt: skip


def answers(store: Store) -> dict[str, Any]:
    """What a later version has to answer alike."""
    seq, head = store.head()
    return {
        "events": seq, "head": head,
        "balances": dict(sorted((lot, int(q)) for lot, q in store.rows("SELECT lot, qty FROM balance"))),
        "items": sorted(list(row) for row in store.rows("SELECT id, state, closed_by FROM item")),
        "whence": {i: [[r.held.lot.id, str(r.net), str(r.gross)] for r in whence(store, i)]
                   for i in ("STOOL-001", "STOOL-002")},
        "went into": {lot: [h.lot.id for h in went_into(store, lot)] for lot in ("L-A", "L-B", "L-C")},
        "keys": [k.fingerprint for k in keys_of(store)],
        "deposits": [d.told for d in deposits_of(store)],
        "sheets": [
            [s.version, s.digest, s.told["wood_g"]] for v in (1, 2) if (s := kept(store, "STOOL-001", v))
        ],
    }  # fmt: skip


def make(path: Path) -> dict[str, Any]:
    """Write the book; returns its answers."""
    from woodref.provenance.importing import events_of, record_placed

    with tempfile.TemporaryDirectory() as folder, Store(f"sqlite:///{path}") as store:
        record_placed(store, events_of(json.dumps(SCENARIO).encode(), "scenario.json"))
        signer = new_signer(Path(folder) / "maker.key")
        store.record([event_of({"id": "K1", "kind": "key", "time": "2025-11-02T09:00:00+01:00",
                                "public_key": signer.public_key, "what": "first"})])  # fmt: skip
        asked = Asked(maker="Quillbeck Benders, Harrowmere")
        files = {"sheet.html": "<p>as it was</p>"}
        give_out(store, sheet_of(store, "STOOL-001", asked), signer, lambda told, signature: files)
        store.record([event_of(told) for told in AFTER])
        give_out(store, sheet_of(store, "STOOL-001", asked), signer, lambda told, signature: files)
        deposit(store, signer)
        told = answers(store)
    return told


@pytest.fixture(params=BOOKS, ids=lambda path: path.stem)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    copy = tmp_path / "old.sqlite"
    shutil.copy(request.param, copy)
    return copy


def test_there_is_an_old_book() -> None:
    assert [path.name for path in BOOKS] == ["ledger-v1.sqlite"]


def test_it_opens_with_the_same_head_and_answers(old: Path) -> None:
    with Store(f"sqlite:///{old}", read_only=True) as store:
        assert json.loads(json.dumps(answers(store))) == ANSWERS
        found = check_book(store)
        assert found.sound, found.sentences()


def test_it_is_written_on(old: Path) -> None:
    with Store(f"sqlite:///{old}") as store:
        told = {"id": "X", "kind": "scrap", "time": "2025-12-01T09:00:00Z",
                "in": [{"lot": "L-A", "qty": 1, "unit": "mm2"}]}  # fmt: skip
        store.record([event_of(told)])
        assert store.head()[0] == ANSWERS["events"] + 1
        assert check_book(store).sound


def test_a_book_of_a_later_woodref_is_not_touched(old: Path) -> None:
    import sqlite3

    connection = sqlite3.connect(old)
    connection.execute("UPDATE meta SET value = '2' WHERE key = 'schema'")
    connection.commit()
    connection.close()
    before = old.read_bytes()
    for read_only in (True, False):
        with pytest.raises(StorageFault, match=r"made by a later woodref \(tables 2"):
            Store(f"sqlite:///{old}", read_only=read_only)
    assert old.read_bytes() == before


def test_its_verdicts_stay(old: Path) -> None:
    """By a rule of its own, so that no change of the law's data moves it: every wood has a paper of purchase
    and a country. L-C has its late paper and no country."""
    import datetime as dt

    from woodref.provenance.proof import papers_of
    from woodref.provenance.questions import Case
    from woodref.trade.requirements import Asked as Wanted
    from woodref.trade.requirements import RuleSet

    asks = (Wanted("DOCUMENT", "document", "a paper"), Wanted("COUNTRY", "country", "the country"))
    rules = RuleSet("R", "1", "home", dt.date(2025, 1, 1), None, asks, "a rule of this test")
    with Store(f"sqlite:///{old}", read_only=True) as store:
        for item, gaps in (("STOOL-001", []), ("STOOL-002", [("L-C", "COUNTRY")])):
            roots = whence(store, item)
            case = Case(roots, {r.held.lot.id: papers_of(store, r.held.lot.id) for r in roots})
            found = judge(case, rules, dt.date(2026, 1, 1))
            assert [(gap.root, gap.key) for gap in found.gaps] == gaps


if __name__ == "__main__":
    target = Path(sys.argv[1])
    if target.exists():
        sys.exit(f"{target} is there already: an old book is never written again")
    target.with_suffix(".json").write_text(json.dumps(make(target), indent=1) + "\n", "utf-8")
