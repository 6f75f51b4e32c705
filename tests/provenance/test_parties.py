"""Persons stand apart from the book, can be erased from every file, and are kept out of what is recorded."""

from __future__ import annotations

import json
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from woodref.cli.main import main
from woodref.errors import BadRequest, WoodrefError
from woodref.provenance.backup import backup
from woodref.provenance.faults import Busy, PersonalData, StorageFault, UnknownParty
from woodref.provenance.parties import Parties, open_parties
from woodref.provenance.personal import personal
from woodref.provenance.restoring import restore_parties
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

SQLITE_ALONE = "what is looked for is the bytes of files, and backups"

#: twenty persons who do not exist: names, mails, phones
PERSONS = [
    (f"{first} {last}", f"{first.lower()}.{last.lower()}@{last.lower()}.example", f"+44 1632 96{n:04}")
    for n, (first, last) in enumerate(
        [("Odalind", "Thripple"), ("Bevis", "Quandrill"), ("Wendeline", "Ostrakov"), ("Caspian", "Mulverhay"),
         ("Ysolde", "Brackwater"), ("Tancred", "Fennimore"), ("Perpetua", "Zwielgeist"), ("Lubomir", "Hask"),
         ("Eudoxia", "Penhallick"), ("Gudrun", "Ammerschlag"), ("Florent", "Dubrovac"), ("Ianthe", "Skerrow"),
         ("Mordecai", "Vintner-Poole"), ("Sunniva", "Kjærstad"), ("Ottoline", "Garbrand"), ("Zebedee",
         "Crull"),
         ("Ludmila", "Przybylak"), ("Hyacinth", "Drumgoole"), ("Aurelio", "Santacroce"), ("Griselda",
         "Umfreville")]
    )
]  # fmt: skip
WORDS = [word for person in PERSONS for word in person]


@pytest.fixture
def parties(tmp_path: Path) -> Iterator[Parties]:
    with Parties(tmp_path / "own" / "parties.sqlite") as opened:
        yield opened


def found_in(folder: Path, words: list[str]) -> set[tuple[str, str]]:
    """(word, file) for every word in the bytes of any file below a folder."""
    out = set()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            body = path.read_bytes()
            out |= {(w, path.name) for w in words if w.encode() in body or w.encode("utf-16-le") in body}
    return out


def test_a_party_is_its_id_and_its_file_is_private(parties: Parties) -> None:
    one = parties.add("buyer", *PERSONS[0][:1], contact=PERSONS[0][1:], consent="repairs")
    assert one.id != parties.add("buyer", PERSONS[0][0]).id
    assert parties.one(one.id[:8]).name == "Odalind Thripple"
    for file in parties.path.parent.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    parties.path.chmod(0o644)
    parties.close()
    Parties(parties.path).close()
    assert stat.S_IMODE(parties.path.stat().st_mode) == 0o600


def test_who_is_not_there_is_told_without_what_was_asked(parties: Parties) -> None:
    with pytest.raises(UnknownParty) as told:
        parties.one("Odalind Thripple")
    assert "Odalind" not in str(told.value) and told.value.exit_code == 3
    ids = [parties.add("buyer", name).id for name, _, _ in PERSONS]
    with pytest.raises(UnknownParty):
        parties.one(ids[0][:3])
    with pytest.raises(BadRequest):
        parties.add("buyer", " ")
    with pytest.raises(BadRequest):
        parties.add("friend", "Bevis Quandrill")
    with pytest.raises(WoodrefError) as long:
        parties.add("buyer", "Bevis Quandrill" * 100)
    assert "Bevis" not in str(long.value)


def test_several_that_begin_so(parties: Parties) -> None:
    from sqlalchemy import text

    for n in (1, 2):
        with parties.engine.begin() as connection:
            connection.execute(
                text("INSERT INTO party VALUES (:id, 'buyer', 'x', NULL, NULL, '2026-01-01', NULL, NULL)"),
                {"id": f"abcd000{n}-0000-4000-8000-000000000000"},
            )
    with pytest.raises(UnknownParty) as told:
        parties.one("abcd")
    assert len(told.value.candidates) == 2
    assert parties.one("abcd0001").id.startswith("abcd0001")


def test_erased_twenty_times_and_not_to_be_found(tmp_path: Path, full: Store) -> None:
    """S9: item, chain and check unchanged; names, mails and phones not in the files, the log, exports, the
    next backup, what the commands print, or in a fault."""
    home = tmp_path / "own"
    path = home / "parties.sqlite"
    with Parties(path) as parties:
        ids = [
            parties.add("buyer", name, (mail, phone), f"asked by {name}").id for name, mail, phone in PERSONS
        ]
        # in the log or in the file: they are there, so that the search below can fail
        assert {w for w, _ in found_in(home, WORDS)} == set(WORDS)
    full.record(
        [event_of({"id": "C", "kind": "close", "time": "2025-11-03T09:00:00+01:00", "item": "STOOL-002"}),
         event_of({"id": "S", "kind": "ship", "time": "2025-11-04T09:00:00+01:00", "to": ids[0],
                   "in": [{"lot": "STOOL-002", "qty": 1, "unit": "pcs"}]})]
    )  # fmt: skip
    head = full.head()
    with Parties(path) as parties:
        for one in ids:
            gone = parties.erase(parties.one(one))
            assert gone.party.name is None and gone.party.erased_at
        # nowhere while the file is still open, nor in what is beside it
        assert found_in(home, WORDS) == set()
        assert not any(p.name or p.contact or p.consent for p in parties.all())
        assert [p.id for p in parties.all()] and len(parties.all()) == 20
    assert found_in(home, WORDS) == set()
    assert full.head() == head and check_book(full).sound
    assert full.rows("SELECT count(*) FROM event WHERE payload LIKE :id", id=f"%{ids[0]}%")[0][0] == 1
    # nothing of them was ever in the book's folder
    assert found_in(tmp_path, WORDS) == set()


def test_what_the_commands_print_and_write(
    tmp_path: Path, full: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WOODREF_PARTIES", str(tmp_path / "own" / "parties.sqlite"))
    monkeypatch.setenv("WOODREF_BOOK", full.url.removeprefix("sqlite:///"))
    printed: list[str] = []

    def run(*words: str, fails: bool = False, stdin: str | None = None) -> str:
        done = CliRunner().invoke(main, list(words), input=stdin)
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        assert (done.exit_code != 0) is fails, done.output
        printed.append(done.output)
        return done.stdout

    ids = []
    for name, mail, phone in PERSONS[:4]:
        made = run("book", "party", "add", "--role", "buyer", "--name", name, "--contact", mail, "--contact",
                   phone, "--json")  # fmt: skip
        ids.append(json.loads(made)["party"]["id"])
    assert PERSONS[0][0] in run("book", "party", "list")
    letter = tmp_path / "letter.txt"
    letter.write_text(f"From {PERSONS[0][0]}, {PERSONS[0][1]}")
    run(
        "document",
        "add",
        "STOOL-002",
        str(letter),
        "--kind",
        "affidavit",
        "--tier",
        "private",
        "--party",
        ids[0],
    )
    letter.unlink()
    printed.clear()
    name, mail, phone = PERSONS[0]
    # what a fault says and what is recorded: no name gets in, and none is told back
    for option in ("--note", "--actor"):
        run("stock", "scrap", "L-A", "1 m2", option, f"for {mail}", fails=True)
    run("stock", "scrap", "L-A", "1 m2", "--note", f"ring {phone}", fails=True)
    run("item", "ship", "STOOL-001", "--to", name, fails=True)
    run("book", "party", "show", name, fails=True)
    run("book", "party", "erase", ids[0], fails=True)
    for one in ids:
        run("book", "party", "erase", one, "--yes")
        run("book", "party", "erase", one, "--yes")  # safe to say twice
    run("item", "ship", "STOOL-001", "--to", ids[0], fails=True)
    run("book", "party", "link", ids[1], "STOOL-001", fails=True)
    for words in (
        ("book", "party", "list"), ("book", "party", "list", "--json"), ("book", "party", "show", ids[0]),
        ("book", "check"), ("document", "list"), ("document", "list", "--json"), ("item", "show",
        "STOOL-002"),
        ("whence", "STOOL-002", "--json"), ("book", "publish", str(tmp_path / "public.sqlite")),
        ("book", "backup", str(tmp_path / "stick"), "--with-parties"),
    ):  # fmt: skip
        run(*words)
    told = "\n".join(printed)
    words_ = [w for person in PERSONS[:4] for w in person]
    assert not [w for w in words_ if w in told]
    assert found_in(tmp_path, words_) == set()


def test_an_older_copy_put_back_brings_nobody_back(
    tmp_path: Path, full: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "own" / "parties.sqlite"
    monkeypatch.setenv("WOODREF_PARTIES", str(path))
    with open_parties() as parties:
        ids = [parties.add("buyer", name, (mail,)).id for name, mail, _ in PERSONS[:3]]
    stick = tmp_path / "stick"
    old = backup(full.url, stick, parties=True).parties
    assert old is not None and found_in(stick, WORDS)
    with open_parties() as parties:
        parties.erase(parties.one(ids[0]))
        late = parties.add("buyer", PERSONS[5][0]).id
    says, done = restore_parties(old, yes=False)
    assert not done and "1 of them is not in the copy and would be lost" in says[1]
    with open_parties() as parties:
        assert parties.one(late).name
    says, done = restore_parties(old, yes=True)
    assert done and "1 of them is erased" in says[-1]
    with open_parties() as parties:
        assert parties.one(ids[0]).name is None and parties.one(ids[1]).name == PERSONS[1][0]
    assert not found_in(path.parent, list(PERSONS[0]))
    # copied over by hand, without a command: the list beside it holds all the same
    path.write_bytes(old.read_bytes())
    with open_parties() as parties:
        assert parties.one(ids[0]).name is None
    assert not found_in(path.parent, list(PERSONS[0]))


def test_on_a_new_machine_the_list_of_the_backup_holds(
    tmp_path: Path, full: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WOODREF_PARTIES", str(tmp_path / "one" / "parties.sqlite"))
    with open_parties() as parties:
        gone = parties.add("buyer", PERSONS[0][0]).id
    stick = tmp_path / "stick"
    first = backup(full.url, stick, parties=True).parties
    assert first is not None
    first = first.rename(stick / "parties-20250101T000000Z.sqlite")
    with open_parties() as parties:
        parties.erase(parties.one(gone))
    backup(full.url, stick, parties=True)
    monkeypatch.setenv("WOODREF_PARTIES", str(tmp_path / "two" / "parties.sqlite"))
    assert restore_parties(first, yes=False)[1]
    with open_parties() as parties:
        assert parties.one(gone).name is None
    assert not found_in(tmp_path / "two", list(PERSONS[0]))


def test_a_spoilt_list_stops_everything(parties: Parties) -> None:
    parties.erase(parties.add("buyer", "Bevis Quandrill"))
    parties.close()
    parties.list_path.write_text("{")
    with pytest.raises(StorageFault, match="the list of erased parties"):
        Parties(parties.path)


def test_a_reader_that_holds_the_file_is_told_of(parties: Parties, monkeypatch: pytest.MonkeyPatch) -> None:
    import sqlite3

    monkeypatch.setattr("woodref.provenance.engine.BUSY_MS", 200)
    one = parties.add("buyer", "Bevis Quandrill")
    other = sqlite3.connect(parties.path)
    other.execute("BEGIN")
    other.execute("SELECT * FROM party").fetchall()
    parties.engine.dispose()
    with pytest.raises(Busy, match="may still be in its log"):
        parties.erase(one)
    other.close()
    parties.erase(parties.one(one.id))
    assert found_in(parties.path.parent, ["Bevis Quandrill"]) == set()


PERSONAL = [
    "write to odalind@thripple.example", "odalind.thripple+veneer@mail.thripple.example",
    "ODALIND@THRIPPLE.EXAMPLE",
    "her mail:o@a.example.", "+44 1632 960123", "+441632960123", "ring 01632 960123", "(01632) 960 123",
    "0171 1234567", "0171/1234567", "tel. 1632960", "phone: 555 0199 22", "06 12 34 56 78", "06.12.34.56.78",
    "(555) 010-0199", "555-010-0199", "0049 171 1234567", "asked on +1-555-010-0199 for two leaves",
    "mobile 07700 900123, evenings", "fax no. 1632 960 456", "020 7946 0958",
]  # fmt: skip
ORDINARY = [
    "490 x 460", "12 leaves of 1800 x 200 mm, 0.6 mm", "split from end to end", "2026-01-05", "05/01/2026",
    "2026-01-05T09:00:00+01:00", "lot W-7, bundle 0044, flitch 2025-118", "invoice 2025-131",
    "invoice no. 118-204-2025", "3 leaves @ 4.50 EUR", "rosewood@rack 3", "4,320,000 mm2", "1 080 000 mm2",
    "20000000 mm2", "+12000000 mm2 found", "permit 0123 456789", "leaves 004 005 006 007 split",
    "leaves 01 02 03 04 05 are sapwood", "leaf 12 to 14: knot", "moisture 8.5 % at 20 C, 45 % r.h.",
    "E05, E06 and E13", "R 350 mm, 7 layers of 1.5 mm", "48.123456, 14.567890", "-45/0/45/90/45/0/-45",
    "HS 4408.39.30", "TEST-DDS-0001", "W-7-A/B 0.6 0.6 0.7", "drum 14 x 6.5 in, 8 plies", "9 kg of 10 kg",
    "pressed 20 min at 0.7 MPa, 65 C", "pot life 30-45 min", "batch 20251118-07", "1234567890",
    "calls for 12 x 200",
    "ring porous, rings 1.5 mm", "cell 3", "0.6 0.6 0.6 0.6 0.6 0.6 0.6 0.6", "1/42 in, 0.024 in",
    "100 % of 20 000 000",
    "serial 555-010-0199", "shelf 2 / 3 / 14", "stool 7 of 12 (order 00123456)", "1:2:3 mix",
    "2 x 4 x 8 x 16 x 32 x 64",
    "old: 1990-1995, then 2004", "12 34 56 78", "GB-1234567 on the crate", "@ home", "a@b", "",
]  # fmt: skip


@pytest.mark.parametrize("text", PERSONAL)
def test_what_looks_personal_is_seen(text: str) -> None:
    assert personal(text)


@pytest.mark.parametrize(
    "text", ["0" * 10**6, "a." * 500_000 + "@", "01 " * 300_000, "(0123) " * 150_000, "a@b." * 250_000]
)
def test_a_megabyte_is_read_in_a_moment(text: str) -> None:
    from time import monotonic

    start = monotonic()
    personal(text)
    assert monotonic() - start < 10  # one go: under a second; every place against every other: hours


@pytest.mark.parametrize("text", ORDINARY)
def test_what_a_bench_writes_is_left_alone(text: str) -> None:
    assert personal(text) is None


MAIL = "odalind@thripple.example"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"kind": "annotate", "lot": "L-A", "note": f"asked by {MAIL}"}, "note"),
        ({"kind": "annotate", "lot": "L-A", "what": "ring 01632 960123"}, "what"),
        ({"kind": "annotate", "lot": "L-A", "leaf_notes": {"3": f"for {MAIL}"}}, "leaf_notes: 3"),
        ({"kind": "close", "item": "STOOL-002", "label": f"made for {MAIL}"}, "label"),
        ({"kind": "annotate", "lot": "L-A", "to": MAIL}, "to"),
        (
            {"kind": "receive", "out": [{"lot": "N", "qty": 1, "unit": "mm2"}],
             "lots": {"N": {"form": "veneer", "thickness_um": 600, "supplier": f"bought of {MAIL}"}}},
            "lot N: supplier",
        ),
        (
            {"kind": "receive", "out": [{"lot": MAIL, "qty": 1, "unit": "mm2"}],
             "lots": {MAIL: {"form": "veneer", "thickness_um": 600}}},
            "lot",
        ),
        (
            {"kind": "attach-document", "document": {"id": "X", "kind": "photo", "lot": "L-A",
            "about": MAIL}},
            "document: about",
        ),
        ({"kind": "attach-document", "document": {"id": "X", "kind": "photo", "lot": "L-A", "number": MAIL}},
         "document: number"),
    ],
)  # fmt: skip
def test_no_field_of_an_event_takes_it_and_the_fault_does_not_repeat_it(
    full: Store, more: dict[str, Any], field: str
) -> None:
    head = full.head()
    event = event_of({"id": "P", "time": "2025-11-03T09:00:00+01:00", **more})
    with pytest.raises(PersonalData) as told:
        full.record([event])
    assert full.head() == head
    assert f"{field}: " in str(told.value) and "woodref book party add" in str(told.value)
    assert MAIL not in str(told.value) and "960123" not in str(told.value)
    with pytest.raises(PersonalData):
        full.record([event_of({"id": "Q", "kind": "annotate", "time": "2025-11-03T09:00:00+01:00"})], MAIL)


def test_numbers_of_things_are_no_phones(full: Store, make: Callable[..., Event]) -> None:
    paper = {"id": "X", "kind": "permit", "lot": "L-A", "number": "01632 960123"}
    full.record([make("A1", "attach-document", document=paper)])
    full.record([make("A2", "close", item="STOOL-002", serial="+44 1632 960123")])


def test_it_ships_to_an_id_and_to_nothing_else(full: Store, make: Callable[..., Event]) -> None:
    full.record([make("A", "close", item="STOOL-002")])
    for to in ("Odalind Thripple", "3f2a", "", 7, "STOOL-002", ["x"]):
        with pytest.raises(PersonalData, match="to: a name or address") as told:
            full.record([make("B", "ship", in_=[("STOOL-002", 1, "pcs")], to=to)])
        assert "Odalind" not in str(told.value)
    full.record([make("B", "ship", in_=[("STOOL-002", 1, "pcs")], to="3f2a9c1e-6b7d-4e21-9c55-0d1f2a3b4c5d")])


def test_an_older_book_that_holds_such_a_note_is_not_called_broken(
    full: Store, make: Callable[..., Event], monkeypatch: pytest.MonkeyPatch
) -> None:
    from woodref.provenance import writer as module

    monkeypatch.setattr(module, "refuse_personal", lambda event, actor: None)
    full.record([make("OLD", "annotate", lot="L-A", note=f"for {MAIL}")])
    monkeypatch.undo()
    assert check_book(full).sound
